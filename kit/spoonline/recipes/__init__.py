"""A recipe and its versions: lines, steps, ratios, scaling, and what changed between two.

Uses ``measures`` and ``facts``; knows nothing of batches or storage.
"""

from spoonline.recipes.base import MaybeNumber, Number, Record, as_decimal, content_id
from spoonline.recipes.changes import Change, Changes, changes
from spoonline.recipes.records import PARTS, Ingredient, Recipe, Step, Target, density_g_per_ml
from spoonline.recipes.versions import Version

__all__ = [
    "PARTS", "Change", "Changes", "Ingredient", "MaybeNumber", "Number", "Recipe", "Record", "Step", "Target", "Version",
    "as_decimal", "changes", "content_id", "density_g_per_ml",
]  # fmt: skip
