"""Amounts, units, what a spoon weighs, rounding for print."""

from __future__ import annotations

from spoonline.measures.amounts import Amount, Head, number, parse_amount, split_line, tidy
from spoonline.measures.errors import AmountError, ItemError, KitchenError
from spoonline.measures.printing import Rounded, print_grams, round_volume
from spoonline.measures.ranges import Range
from spoonline.measures.temperatures import Temperature, parse_minutes, parse_temperature
from spoonline.measures.units import SYSTEMS, Unit, unit
from spoonline.measures.weights import Spoon, Weight, scale_sd_g, spoon_from_weighings, weigh, weighed

__all__ = [
    "SYSTEMS",
    "Amount",
    "AmountError",
    "Head",
    "ItemError",
    "KitchenError",
    "Range",
    "Rounded",
    "Spoon",
    "Temperature",
    "Unit",
    "Weight",
    "number",
    "parse_amount",
    "parse_minutes",
    "parse_temperature",
    "print_grams",
    "round_volume",
    "scale_sd_g",
    "split_line",
    "spoon_from_weighings",
    "tidy",
    "unit",
    "weigh",
    "weighed",
]
