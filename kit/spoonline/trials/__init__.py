"""Cooked batches: their readings, the dose curve, and what to cook next."""

from spoonline.trials.compare import Comparison, Spread, compare_pots, pooled_spread
from spoonline.trials.dish import DishCurve, dish_curve, doses, with_dose
from spoonline.trials.dose_curve import DoseCurve
from spoonline.trials.next_batch import NextBatch
from spoonline.trials.odd_pots import OddPot, odd_pots, steadiness
from spoonline.trials.old_columns import Choices
from spoonline.trials.old_sheet import Sheet, read_sheet
from spoonline.trials.old_trials import Understood, proposed_choices, to_records, understood
from spoonline.trials.pot import contents
from spoonline.trials.records import STAGES, Batch, Reading, Weighed
from spoonline.trials.stages import life, reheating, stage_ratio
from spoonline.trials.swap import Swap, swap
from spoonline.trials.table import batch_table, tested
from spoonline.trials.taster_plan import ballots_html, key_html, plan_session, power_said
from spoonline.trials.taster_reading import SessionReading, read_session, session_sentence
from spoonline.trials.tasters import TESTS, Sample, Session
from spoonline.trials.thickness import batch_thickness, own_thickness, thickness_at

__all__ = [
    "STAGES", "TESTS", "Batch", "Choices", "Comparison", "DishCurve", "DoseCurve", "NextBatch", "OddPot", "Reading", "Sample",
    "Session", "SessionReading", "Sheet", "Spread", "Swap", "Understood", "Weighed", "ballots_html", "batch_table", "batch_thickness",
    "compare_pots", "contents", "dish_curve", "doses", "key_html", "life", "odd_pots", "own_thickness", "plan_session", "pooled_spread",
    "power_said", "proposed_choices", "read_session", "read_sheet", "reheating", "session_sentence", "stage_ratio", "steadiness", "swap",
    "tested", "thickness_at", "to_records", "understood", "with_dose",
]  # fmt: skip
