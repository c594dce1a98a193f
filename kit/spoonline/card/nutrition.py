"""Nutrition of one serving, summed from the ingredients, and rounded as a label is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from spoonline import facts
from spoonline.measures.errors import ItemError
from spoonline.recipes import Ingredient, Recipe

Rule = Literal["us", "eu"]
# Key of the catalogue, column of the ingredient table, unit.
NUTRIENTS = (
    ("energy", "energy_kcal", "kcal"), ("fat", "fat_g", "g"), ("carbohydrate", "carbohydrate_g", "g"), ("sugars", "sugars_g", "g"),
    ("fibre", "fibre_g", "g"), ("protein", "protein_g", "g"), ("sodium", "sodium_mg", "mg"),
)  # fmt: skip


# Below the first figure a label says 0; then pairs: up to this amount it is rounded to steps of that.
LABEL_STEPS: dict[Rule, dict[str, tuple[float, ...]]] = {
    "us": {"energy": (5, 50, 5, math.inf, 10), "sodium": (5, 140, 5, math.inf, 10), "fat": (0.5, 5, 0.5, math.inf, 1),
           "other": (0.5, math.inf, 1)},
    "eu": {"energy": (0, math.inf, 1), "sodium": (5, 1000, 10, math.inf, 100), "salt": (0.0125, 1, 0.01, math.inf, 0.1),
           "other": (0.5, 10, 0.1, math.inf, 1)},
}  # fmt: skip


@dataclass(frozen=True)
class Sum:
    """One nutrient of the whole dish, and the ingredients that have no figure for it."""

    key: str
    value: float
    unit: str
    missing: tuple[str, ...]


def summed(recipe: Recipe) -> tuple[Sum, ...]:
    """Sum the nutrients of all weighed lines.

    Parameters
    ----------
    recipe : Recipe

    Returns
    -------
    tuple of Sum
        Whole dish: energy [kcal], fat, carbohydrate, sugars, fibre, protein [g], sodium [mg].

    Notes
    -----
    EuroFIR recipe method: edible grams of each ingredient times its composition; the weight yield changes grams a serving, not
    the sum. Retention factors are taken as 1: none of these nutrients evaporates, and a soup keeps what leaches out.

    Examples
    --------
    >>> salted = Recipe(title="Brine", ingredients=["1 l water", "6 g salt"])
    >>> [round(each.value) for each in summed(salted) if each.key == "sodium"]
    [2366]
    """
    found = []
    for key, column, unit in NUTRIENTS:
        value, missing = 0.0, dict[str, None]()
        for line in recipe.ingredients:
            per_100 = _per_100(line, column)
            if per_100 is not None and line.mass_g is not None:
                value += float(line.mass_g) * per_100 / 100
            elif line.mass_g != 0:
                missing[line.item] = None
        found.append(Sum(key, value, unit, tuple(missing)))
    return tuple(found)


def _per_100(line: Ingredient, column: str) -> float | None:
    try:
        figure: float | None = getattr(facts.ingredient(line.item), column)
    except ItemError:
        return None
    return figure


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


def as_printed(key: str, value: float, unit: str, rule: Rule) -> tuple[str, dict[str, str]]:
    """How a label words one amount: entry of the catalogue, and its figures as text.

    Notes
    -----
    EU labels give energy in kJ beside kcal (1 kcal = 4.184 kJ) and salt, which is sodium times 2.5 (Regulation 1169/2011,
    Annex I; memory).

    Examples
    --------
    >>> as_printed("sodium", 930, "mg", "us"), as_printed("sodium", 930, "mg", "eu")
    (('sodium', {'amount': '930 mg'}), ('salt', {'amount': '2.3 g'}))
    >>> as_printed("energy", 220, "kcal", "eu")
    ('energy', {'kj': '920', 'kcal': '220'})
    """
    rounded = f"{label_round(key, value, rule):g}"
    if rule == "eu" and key == "energy":
        return key, {"kj": f"{4.184 * value:.0f}", "kcal": rounded}
    if rule == "eu" and key == "sodium":
        return "salt", {"amount": f"{label_round('salt', value * 2.5 / 1000, rule):g} g"}
    return key, {"amount": f"{rounded} {unit}"}


def rule_of(kitchen: str) -> Rule:
    """Whose label rules a kitchen prints by."""
    return "us" if kitchen == "us" else "eu"
