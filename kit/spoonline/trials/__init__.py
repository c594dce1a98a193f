"""Cooked batches: their readings, the dose curve, and what to cook next."""

from spoonline.trials.compare import Comparison, compare_pots
from spoonline.trials.dish import DishCurve, PotPoint, dish_curve, doses, with_dose
from spoonline.trials.dose_curve import DoseCurve
from spoonline.trials.next_batch import NextBatch
from spoonline.trials.pot import contents
from spoonline.trials.records import STAGES, Batch, Reading, Weighed
from spoonline.trials.table import batch_row, batch_table, tested
from spoonline.trials.thickness import Thickness, batch_thickness, own_thickness, thickness_at

__all__ = [
    "STAGES", "Batch", "Comparison", "DishCurve", "DoseCurve", "NextBatch", "PotPoint", "Reading", "Thickness", "Weighed",
    "batch_row", "batch_table", "batch_thickness", "compare_pots", "contents", "dish_curve", "doses", "own_thickness", "tested",
    "thickness_at", "with_dose",
]  # fmt: skip
