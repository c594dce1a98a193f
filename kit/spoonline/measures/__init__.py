"""Amounts, units, what a spoon weighs, rounding for print; and what every room takes from here: errors, ranges, tables, doors."""

from spoonline.measures.amounts import CONTAINERS, FILLS, METRIC, Amount, Head
from spoonline.measures.amounts import number, parse_amount, split_line, tidy, written
from spoonline.measures.doors import as_pint, plain, settle, takes_quantities, unit_in
from spoonline.measures.errors import AmountError, BatchError, ItemError, KitchenError, Progress, ReadingError
from spoonline.measures.errors import RecipeError, as_said, one_of, or_none, told_as
from spoonline.measures.frames import DataFrame, frame_html, frame_of
from spoonline.measures.local import cached_by_mark, localised, write_decimals_with
from spoonline.measures.printing import kitchen_amount, print_dose, print_grams, round_volume
from spoonline.measures.ranges import Range, in_digits
from spoonline.measures.tables import Sayings, patterns, read_table, refuse, typed
from spoonline.measures.temperatures import cues, parse_minutes, parse_temperature
from spoonline.measures.units import PIECES, SYSTEMS, known_as, unit
from spoonline.measures.weights import Spoon, Weight, scale_sd_g, spoon_from_weighings, totals, weigh, weighed
