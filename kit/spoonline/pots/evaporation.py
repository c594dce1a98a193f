"""What boils away, forecast from the kind of cooking that the steps tell and its minutes; the figures stand in ``evaporation.csv``."""

from __future__ import annotations

import csv
import re
from pathlib import Path

from spoonline.recipes import Recipe
from spoonline.recipes.cues import cues
from spoonline.recipes.fates import WORDS

# A pot on a low simmer, when nobody weighed it (judged; common practice, no source).
USUAL_LOSS = 0.06
# How far the share that boils away strays from pot to pot of one dish (judged).
LOSS_SD = 0.03
# What is not heated loses nothing; bread loses 10 % in the oven, cake 8 % (Bognar 2002, as transcribed).
LOSS_OF_KIND = {"cold": 0.0, "dough": 0.10}
# Every figure of the table is good to half of it either way (judged).
SPREAD = 0.5
with (Path(__file__).parent / "evaporation.csv").open(encoding="utf-8", newline="") as _file:
    # words of a step, loss once a cook [g] and loss a minute [g/min]; the first that fit are taken
    _ROWS = [
        (re.compile(row["words"], re.IGNORECASE), float(row["once_g"]), float(row["g_per_min"]))
        for row in csv.DictReader(_file)
    ]


def forecast(recipe: Recipe, minutes: float | None = None) -> tuple[float, float]:
    """What a dish loses while it cooks [g], and its standard uncertainty [g].

    For a stew from the steps (frying counts for nothing); for any other dish a share of what went in: none if cold, 10 % if baked, else
    the usual 6 %. ``minutes`` [min] from a batch stand for those of the steps.

    >>> stew = Recipe(title="Stew", ingredients=["1 kg beef", "400 g stock"], steps=["Cover and simmer for 2 h."])
    >>> forecast(stew)[0]
    204.0
    """
    if recipe.kind != "stew":
        lost = LOSS_OF_KIND.get(recipe.kind, USUAL_LOSS) * recipe.mass_g
        return lost, SPREAD * lost
    once, rates = set[float](), list[tuple[float, float]]()
    for sentence in (each for step in recipe.steps for each in re.split(r"[.;](?:\s|$)", step.text)):
        if not WORDS["dry heat"].search(sentence) and (
            row := next((row for row in _ROWS if row[0].search(sentence)), None)
        ):
            once.add(row[1])
            rates.append((row[2], cues(sentence).minutes or 0.0))
    told = sum(each for _, each in rates)
    factor = minutes / told if minutes is not None and told else 1.0
    lost = sum(once) + sum(rate * each * factor for rate, each in rates)
    return lost, SPREAD * lost


def usual_loss(recipe: Recipe, weighed: float | None) -> tuple[float, float]:
    """Share of what goes in that a dish loses, and its standard uncertainty: as its own pots were ``weighed``, else as forecast.

    >>> gravy = Recipe(title="Gravy", ingredients=["1 l beef stock", "60 g wheat flour"])
    >>> usual_loss(gravy, 0.12), round(usual_loss(gravy, None)[0], 3)
    ((0.12, 0.03), 0.06)
    """
    if weighed is not None:
        return weighed, LOSS_SD
    lost, sd = forecast(recipe)
    mass = recipe.mass_g or 1.0
    return lost / mass, sd / mass


def held(minutes: float, temperature_c: float | None, recipe: Recipe) -> tuple[float, float]:
    """What is lost in so many minutes [min] at a temperature [C], none: at a simmer; with its standard uncertainty [g]."""
    text = " ".join(step.text for step in recipe.steps)
    _, once, rate = next((row for row in _ROWS[:-1] if row[0].search(text)), _ROWS[-2])
    if temperature_c is not None and temperature_c < 90:
        once, rate = 0.0, _ROWS[-1][2] if temperature_c >= 40 else 0.0
    return once + rate * minutes, SPREAD * (once + rate * minutes)
