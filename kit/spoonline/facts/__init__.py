"""Reference figures, each with its source: ingredients, thickeners, and what an amount of them weighs."""

from spoonline.facts.lines import LineReading, read_line
from spoonline.facts.local_names import local_name
from spoonline.facts.rows import (
    EU_ALLERGENS,
    US_ALLERGENS,
    IngredientFacts,
    Limit,
    ThickenerFacts,
    ingredient,
    ingredients,
    limit,
    limits,
    lookup,
    resolve,
    thickener,
    thickeners,
)
from spoonline.facts.weigh import Household, grams, household
from spoonline.measures.printing import print_grams

__all__ = [
    "EU_ALLERGENS",
    "US_ALLERGENS",
    "Household",
    "IngredientFacts",
    "Limit",
    "LineReading",
    "ThickenerFacts",
    "grams",
    "household",
    "ingredient",
    "ingredients",
    "limit",
    "limits",
    "local_name",
    "lookup",
    "print_grams",
    "read_line",
    "resolve",
    "thickener",
    "thickeners",
]
