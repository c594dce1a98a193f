"""Reference figures, each with its source: ingredients, thickeners, and what an amount of them weighs."""

from spoonline.facts.lines import LineReading, read_line
from spoonline.facts.rows import ingredient, ingredients, juice, juices, known, limit, local_name, resolve, thickener
from spoonline.facts.weigh import grams, household
from spoonline.measures.printing import print_grams
