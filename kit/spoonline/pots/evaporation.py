"""What boils away, forecast from the kind of cooking that the steps tell and its minutes; the figures stand in ``evaporation.csv``."""

import re
from functools import lru_cache

from spoonline.measures import cues, read_table
from spoonline.recipes import WORDS, Recipe, sentences

# A pot on a low simmer, when nobody weighed it (judged; common practice, no source).
USUAL_LOSS = 0.06
# How far the share that boils away strays from pot to pot of one dish (judged).
LOSS_SD = 0.03
# Bread loses 10 % in the oven, cake 8 % (Bognar 2002, as transcribed).
BAKED_LOSS = 0.10
# A cook who watches a pot lets no more of its liquid boil away than this share (judged).
MOST_LOSS = 0.4
# Every figure of the table is good to half of it either way (judged).
SPREAD = 0.5
# Words of a step, loss once a cook [g] and loss a minute [g/min]; the first that fit are taken.
_TABLE = map(dict.values, read_table("evaporation.csv", "pots"))
_ROWS = [(re.compile(words, re.IGNORECASE), float(once), float(rate)) for _, words, once, rate, *_ in _TABLE]


@lru_cache(maxsize=256)
def _heats(told_in: tuple[str, ...]) -> list[tuple[float, float, float]]:
    """Loss once [g], loss a minute [g/min] and minutes of each sentence of the method that cooks in liquid or an oven.

    Of a sentence that softens first, only what comes after counts.
    """
    found = []
    for sentence in told_in:
        wet = WORDS["wet heat"].search(sentence)
        fries = WORDS["dry heat"].search(sentence)
        row = next((row for row in _ROWS if row[0].search(sentence)), None)
        if row is not None and WORDS["cooks"].search(sentence) and (wet or not fries):
            told = sentence[wet.start() :] if wet and fries else sentence
            found.append((row[1], row[2], cues(told).minutes or 0.0))
    return found


def forecast(recipe: Recipe, minutes: float | None = None) -> tuple[float, float]:
    """What a dish loses while it cooks [g], and its standard uncertainty [g].

    From the steps (frying counts for nothing), two fifths of the liquid at most. Where they tell no minutes it is a share of what went
    in: none if nothing is heated, else the usual 6 %; a dough loses 10 %. ``minutes`` [min] from a batch stand for those of a stew.

    >>> stew = Recipe(title="Stew", ingredients=["1 kg beef", "400 g stock"], steps=["Cover and simmer for 2 h."])
    >>> forecast(stew)[0]
    204.0
    """
    heats, kind = _heats(tuple(sentences(recipe))), recipe.kind
    once, told = sum({each for each, *_ in heats}), sum(each for *_, each in heats)
    if kind == "dough":
        lost = BAKED_LOSS * recipe.mass_g
    elif told or once:
        factor = minutes / told if minutes is not None and told and kind == "stew" else 1.0
        boiled = once + sum(rate * each * factor for _, rate, each in heats)
        lost = min(boiled, MOST_LOSS * 1000 * recipe.liquid_l)
    else:
        heated = not recipe.steps or any(WORDS["cooks"].search(step.text) for step in recipe.steps)
        lost = USUAL_LOSS * recipe.mass_g if heated else 0.0
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
    once, rate, _ = max(_heats(tuple(sentences(recipe))), key=lambda heat: heat[2], default=(*_ROWS[-2][1:], 0.0))
    if temperature_c is not None and temperature_c < 90:
        once, rate = 0.0, _ROWS[-1][2] if temperature_c >= 40 else 0.0
    return once + rate * minutes, SPREAD * (once + rate * minutes)
