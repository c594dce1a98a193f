"""What boils away, forecast from the kind of cooking that the steps tell and its minutes."""

from __future__ import annotations

import re
from typing import NamedTuple

from spoonline.recipes import Recipe
from spoonline.recipes.cues import cues

# A pot on a low simmer, when nobody weighed it (judged; common practice, no source).
USUAL_LOSS = 0.06
RATE_SD = 0.5


class Cooking(NamedTuple):
    """One kind of cooking in a pot of 24 cm: loss once a cook [g] and a minute [g/min]; each is good to half of it either way."""

    name: str
    words: str
    once_g: float
    g_per_min: float
    source: str
    kind: str


# The first row whose words stand in a sentence is taken.
COOKINGS = (
    Cooking("pressure", r"\bpressure\b", 30, 0, "2 % electric to 4 % of 1 kg of water a cook, before the valve shuts", "published"),
    Cooking("oven, lid on", r"(?=.*\b(?:oven|bake|at \d+ ?C))(?=.*(?<!un)\b(?:cover|lid on|lidded))", 0, 0.9, "30-80 g/h", "memory"),
    Cooking("oven, open", r"\b(?:oven|bake|at \d{3} ?C)", 0, 2.9, "135 C: 50-90 g/h from the top, walls twice that", "computed"),
    Cooking("lid on", r"(?<!un)(?:\bcover|\blid on\b|\blidded\b|\blid\b(?! off))", 0, 1.7, "0.10 kg/h at a gentle simmer", "judged"),
    Cooking("rolling boil", r"\bboil", 0, 15.0, "20 kg/h per m2 open; home brewers' kettles 36-44", "judged"),
    Cooking("open simmer", r"\b(?:simmer|cook|stew|brais|poach)", 0, 7.5, "10 kg/h per m2 at a bare simmer", "judged"),
)  # fmt: skip
# Held hot below a simmer, open: 4 g/min per m2 (judged from 3 to 5).
HELD_G_PER_MIN = 0.18
_DRY = re.compile(
    r"\b(?:brown|fry|fried|sweat|soften|saut|sear|in the (?:oil|butter|ghee|fat)|melt|roast|deep brown)", re.IGNORECASE
)


def forecast(recipe: Recipe, minutes: float | None = None) -> tuple[float, float]:
    """What a dish loses while it cooks [g], and its standard uncertainty [g].

    For a stew from the steps (frying counts for nothing); for any other dish the usual 6 % of what went in. ``minutes`` [min]
    from a batch stand for those of the steps.

    >>> stew = Recipe(title="Stew", ingredients=["1 kg beef", "400 g stock"], steps=["Cover and simmer for 2 h."])
    >>> forecast(stew)[0]
    204.0
    """
    if recipe.kind != "stew":
        return USUAL_LOSS * recipe.mass_g, RATE_SD * USUAL_LOSS * recipe.mass_g
    found = []
    for step in recipe.steps:
        for sentence in re.split(r"[.;](?:\s|$)", step.text):
            row = next((each for each in COOKINGS if re.search(each.words, sentence, re.IGNORECASE)), None)
            if row is not None and not _DRY.search(sentence):
                found.append((row, cues(sentence).minutes or 0.0))
    told = sum(each for _, each in found)
    factor = minutes / told if minutes is not None and told else 1.0
    once = {row.once_g for row, _ in found}
    lost = sum(once) + sum(row.g_per_min * each * factor for row, each in found)
    return lost, RATE_SD * lost


def held(minutes: float, temperature_c: float | None, recipe: Recipe) -> tuple[float, float]:
    """What is lost in so many minutes [min] at a temperature [C], none: at a simmer; with its standard uncertainty [g]."""
    if temperature_c is not None and temperature_c < 90:
        rate = HELD_G_PER_MIN if temperature_c >= 40 else 0.0
    else:
        texts = " ".join(step.text for step in recipe.steps)
        row = next((each for each in COOKINGS if re.search(each.words, texts, re.IGNORECASE)), COOKINGS[-1])
        rate = row.g_per_min
    lost = rate * minutes + (COOKINGS[0].once_g if rate == 0 and temperature_c is None else 0.0)
    return lost, RATE_SD * lost
