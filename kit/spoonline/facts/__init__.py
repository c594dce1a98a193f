"""Reference figures, each with its source: ingredients, thickeners, and what an amount of them weighs."""

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
    "LineReading", "find", "grams", "household", "ingredient", "ingredients", "juice", "juices", "known", "limit", "limits", "local_name",
    "print_grams", "read_line", "resolve", "thickener", "thickeners",
]  # fmt: skip
