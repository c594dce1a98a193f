"""Amounts, units, what a spoon weighs, rounding for print."""

from __future__ import annotations

from spoonline.measures.amounts import Amount, number, parse_amount, split_line, written
from spoonline.measures.doors import plain, settle, takes_quantities, unit_in
from spoonline.measures.errors import AmountError, ItemError
from spoonline.measures.printing import kitchen_amount, print_grams, round_volume
from spoonline.measures.ranges import Range
from spoonline.measures.temperatures import parse_minutes, parse_temperature
from spoonline.measures.units import SYSTEMS, unit
from spoonline.measures.weights import Spoon, Weight, scale_sd_g, spoon_from_weighings, weigh, weighed
