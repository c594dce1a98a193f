"""Nutrition of one serving, summed from the ingredients, and rounded as a label is."""

from __future__ import annotations

import math
from typing import Literal

from spoonline.facts.rows import IngredientFacts
from spoonline.recipes import Recipe

Rule = Literal["us", "eu"]
# Nutrients by the key of the catalogue; each is a column of the ingredient table, such as energy_kcal.
UNITS = {"energy": "kcal", "fat": "g", "carbohydrate": "g", "sugars": "g", "fibre": "g", "protein": "g", "sodium": "mg"}
# Below the first figure a label says 0; then pairs: up to this amount it is rounded to steps of that.
LABEL_STEPS: dict[Rule, dict[str, tuple[float, ...]]] = {
    "us": {"energy": (5, 50, 5, math.inf, 10), "sodium": (5, 140, 5, math.inf, 10), "fat": (0.5, 5, 0.5, math.inf, 1),
           "other": (0.5, math.inf, 1)},
    "eu": {"energy": (0, math.inf, 1), "sodium": (5, 1000, 10, math.inf, 100), "salt": (0.0125, 1, 0.01, math.inf, 0.1),
           "other": (0.5, 10, 0.1, math.inf, 1)},
}  # fmt: skip


def summed(recipe: Recipe) -> dict[str, tuple[float, tuple[str, ...]]]:
    """Sum the nutrients of all weighed lines.

    Parameters
    ----------
    recipe : Recipe

    Returns
    -------
    dict
        Of the whole dish: energy [kcal], fat, carbohydrate, sugars, fibre, protein [g], sodium [mg]; each its sum, and the
        ingredients that have no figure for it.

    Notes
    -----
    EuroFIR recipe method: edible grams of each ingredient times its composition; the weight yield changes grams a serving, not
    the sum. Energy that a row lacks follows from its protein, carbohydrate and fat. Retention factors are taken as 1: none of these
    nutrients evaporates, and a soup keeps what leaches out.

    Examples
    --------
    >>> salted = Recipe(title="Brine", ingredients=["1 l water", "6 g salt"])
    >>> round(summed(salted)["sodium"][0])
    2366
    """
    rows, found = [(line, line.row) for line in recipe.ingredients], {}
    for key, unit in UNITS.items():
        value, missing = 0.0, dict[str, None]()
        for line, row in rows:
            per_100: float | None = getattr(row, f"{key}_{unit}", None)
            if key == "energy" and per_100 is None and row is not None:
                per_100 = _energy_kcal(row)
            if per_100 is not None and line.mass_g is not None:
                value += float(line.mass_g) * per_100 / 100
            elif line.mass_g != 0:
                missing[line.item] = None
        found[key] = (value, tuple(missing))
    return found


def _energy_kcal(row: IngredientFacts) -> float | None:
    """Energy of 100 g by the general factors of labels: protein and carbohydrate 4, fat 9 kcal/g."""
    if row.protein_g is None or row.carbohydrate_g is None or row.fat_g is None:
        return None
    return 4 * (row.protein_g + row.carbohydrate_g) + 9 * row.fat_g


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
    least, *steps = LABEL_STEPS[rule].get(key, LABEL_STEPS[rule]["other"])
    if value < least:
        return 0.0
    step = next(step for top, step in zip(steps[::2], steps[1::2], strict=True) if value <= top)
    return float(round(step * math.floor(value / step + 0.5 + 1e-9), 6))
