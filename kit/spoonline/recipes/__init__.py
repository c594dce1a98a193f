"""A recipe and its versions: lines, steps, ratios, scaling, and what changed between two.

Uses ``measures`` and ``facts``; knows nothing of batches or storage.
"""

from spoonline.recipes.aims import Aim, by_ratio, column_of, dimension_of, in_unit
from spoonline.recipes.base import Kept, MaybeNumber, Number, Record, content_id, fault, stored
from spoonline.recipes.changes import Basis, Changes, changes, three_way
from spoonline.recipes.check import check
from spoonline.recipes.fates import FATES, WORDS, Fate, is_starchy, judged, juice_row, part_of, sentences, singular
from spoonline.recipes.own import Habits, OwnSpoon, OwnTrim, Pan, own_weight, with_own
from spoonline.recipes.pot_scaling import boil_off_g_per_min_m2, scaled_for_pan, scaled_for_pot
from spoonline.recipes.records import MOST_DOSE_G_PER_L, Ingredient, Recipe, Step, Target, Version
from spoonline.recipes.shopping import ShoppingList, shopping_list
