"""Amounts, units, what a spoon weighs, rounding for print."""
