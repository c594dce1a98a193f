"""Nutrition as a label rounds it."""

import math
from typing import Literal

from spoonline.measures import read_table

Rule = Literal["us", "eu"]
# Below the first figure a label says 0; then pairs: up to this amount it is rounded to steps of that.
_ROWS = read_table("label_steps.csv", "card")
LABEL_STEPS = {(row["rule"], row["nutrient"]): [float(each) for each in row["steps"].split(";")] for row in _ROWS}


def label_round(key: str, value: float, rule: Rule = "us") -> float:
    """Round an amount as a nutrition label does.

    Parameters
    ----------
    key : str
        energy [kcal], fat, carbohydrate, sugars, fibre, protein, salt [g] or sodium [mg].
    value : float
    rule : {"us", "eu"}

    Returns
    -------
    float

    Notes
    -----
    US: FDA Food Labeling Guide, Appendix H (2009); for grams between 0.5 and 1 of carbohydrate, sugars, fibre and protein the
    "about 1 g" form. EU: guidance on tolerances and rounding of December 2012 (memory). Halves go up.

    Examples
    --------
    >>> label_round("energy", 127), label_round("energy", 47), label_round("sodium", 154), label_round("fat", 3.3)
    (130.0, 45.0, 150.0, 3.5)
    >>> label_round("fat", 3.34, "eu"), label_round("energy", 127.4, "eu")
    (3.3, 127.0)
    """
    least, *steps = LABEL_STEPS.get((rule, key), LABEL_STEPS[rule, "other"])
    if value < least:
        return 0.0
    step = next(step for top, step in zip(steps[::2], steps[1::2], strict=True) if value <= top)
    return float(round(step * math.floor(value / step + 0.5 + 1e-9), 6))
