"""Cooked batches: their readings, the dose curve, and what to cook next."""

from spoonline.trials.compare import Comparison, compare_pots
from spoonline.trials.dish import DishCurve, PotPoint, dish_curve, doses, with_dose
from spoonline.trials.dose_curve import DoseCurve
from spoonline.trials.next_batch import NextBatch
from spoonline.trials.pot import contents
from spoonline.trials.records import STAGES, Batch, Reading, Weighed
from spoonline.trials.stages import Reheating, StageRatio, StageView, learned, life, reheating, stage_ratio
from spoonline.trials.swap import Swap, swap
from spoonline.trials.table import batch_row, batch_table, tested
from spoonline.trials.thickness import Thickness, batch_thickness, own_thickness, thickness_at

__all__ = [
    "STAGES",
    "Batch",
    "Comparison",
    "DishCurve",
    "DoseCurve",
    "NextBatch",
    "PotPoint",
    "Reading",
    "Reheating",
    "StageRatio",
    "StageView",
    "Swap",
    "Thickness",
    "Weighed",
    "batch_row",
    "batch_table",
    "batch_thickness",
    "compare_pots",
    "contents",
    "dish_curve",
    "doses",
    "learned",
    "life",
    "own_thickness",
    "reheating",
    "stage_ratio",
    "swap",
    "tested",
    "thickness_at",
    "with_dose",
]  # fmt: skip
