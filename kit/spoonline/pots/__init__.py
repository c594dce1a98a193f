"""Cooked pots: what went in, what was read, the water phase, how thick that is, and which of them count."""

from spoonline.pots.balance import pot_states
from spoonline.pots.contents import contents
from spoonline.pots.counted import LAST_POTS, TESTED_DAYS, TESTED_POTS, BandCount, CookedPot, cooked_pot
from spoonline.pots.moments import Moment
from spoonline.pots.records import STAGES, Batch, Outcome, Quantity, Reading, Weighed
from spoonline.pots.table import batch_table, readings_table
from spoonline.pots.thickness import batch_thickness, own_thickness, thickness_at
