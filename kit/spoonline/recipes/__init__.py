"""A recipe and its versions: lines, steps, ratios, scaling, and what changed between two.

Uses ``measures`` and ``facts``; knows nothing of batches or storage.
"""

from spoonline.recipes.aims import Aim
from spoonline.recipes.base import Kept, MaybeNumber, Number, Record, as_decimal, content_id, stored
from spoonline.recipes.changes import Basis, Change, Changes, ThreeWay, changes, three_way
from spoonline.recipes.check import Finding, RecipeCheck, check
from spoonline.recipes.own import Habits, OwnSpoon, OwnTrim, Pan, own_weight, with_own
from spoonline.recipes.pot_scaling import PotScaling, boil_off_g_per_min_m2, scaled_for_pan, scaled_for_pot
from spoonline.recipes.records import Ingredient, Recipe, Step, Target, Version
from spoonline.recipes.shopping import ShoppingList, shopping_list

__all__ = [
    "Aim", "Basis", "Change", "Changes", "Finding", "Habits", "Ingredient", "Kept", "MaybeNumber", "Number", "OwnSpoon", "OwnTrim", "Pan",
    "PotScaling", "Recipe", "RecipeCheck", "Record", "ShoppingList", "Step", "Target", "ThreeWay", "Version", "as_decimal",
    "boil_off_g_per_min_m2", "changes", "check", "content_id", "own_weight", "scaled_for_pan", "scaled_for_pot",
    "shopping_list", "stored", "three_way", "with_own",
]  # fmt: skip
