"""Cooked pots: what went in, what was read, the water phase, how thick that is, and which of them count."""

from spoonline.pots.balance import SAUCE_G_PER_ML, pot_states
from spoonline.pots.contents import cooked_pot_of, pot_of, read_inside
from spoonline.pots.counted import LAST_POTS, TESTED_DAYS, TESTED_POTS, BandCount, CookedPot, cooked_pot
from spoonline.pots.evaporation import usual_loss
from spoonline.pots.moments import Kind, Moment, as_moments
from spoonline.pots.records import STAGES, Batch, Outcome, Quantity, Reading, Weighed, known_stage
from spoonline.pots.table import batch_table, put_in, readings_table
from spoonline.pots.thickness import batch_thickness, is_fresh, own_thickness, read_at, shown_text, temperature_ratio
from spoonline.pots.thickness import FLOW_INDEX, FLOW_INDEX_SD, SOUP_DENSITY_KG_M3, conditions, mended, own_tool
from spoonline.pots.thickness import all_shown_as, shown_as, thickness_at, tool_ln_sd, tool_shows
from spoonline.pots.water import DRY_SHARE, Pot
