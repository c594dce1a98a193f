"""Reference figures, each with its source: ingredients, thickeners, and what an amount of them weighs."""

from spoonline.facts.allergens import (
    Allergen,
    AllergenList,
    allergen_list,
    allergens,
    claims,
    is_known,
    longest_names,
    named_allergens,
)
from spoonline.facts.lines import LineReading, read_line
from spoonline.facts.rows import (
    find,
    ingredient,
    ingredients,
    juice,
    juices,
    known,
    limit,
    limits,
    local_name,
    resolve,
    thickener,
    thickeners,
)  # fmt: skip
from spoonline.facts.weigh import grams, household
from spoonline.measures.printing import print_grams

__all__ = [
    "Allergen", "AllergenList", "LineReading", "allergen_list", "allergens", "claims", "find", "grams", "household", "ingredient",
    "ingredients", "is_known", "juice", "juices", "known", "limit", "limits", "local_name", "longest_names", "named_allergens", "print_grams",
    "read_line", "resolve", "thickener", "thickeners",
]  # fmt: skip
