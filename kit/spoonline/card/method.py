"""The method as a card prints it: temperatures in both units, times added up."""

import math
import re
from collections.abc import Sequence
from typing import SupportsFloat

from spoonline.card.content import Times
from spoonline.card.words import TEXT, Words
from spoonline.recipes import Recipe, Step

# From here up an oven or a fryer is meant, which is set in steps of 5 C and 25 F.
OVEN_C = 120.0


def both_degrees(text: str, first: str = "C") -> str:
    """Write every temperature in both units; one that has both already keeps its figures.

    Parameters
    ----------
    text : str
    first : {"C", "F"}
        The unit that is written first.

    Returns
    -------
    str

    Notes
    -----
    F = 1.8 C + 32, rounded to 1 degree; from 120 C up to what an oven is set to, 5 C and 25 F (common practice, no source).

    Examples
    --------
    >>> both_degrees("Roast at 200 C, then hold at 60 to 65 C.")
    'Roast at 200 C (400 F), then hold at 60 to 65 C (140 to 149 F).'
    >>> both_degrees("Reheat to 74 C (165 F).", "F")
    'Reheat to 165 F (74 C).'
    """

    def written(found: re.Match[str]) -> str:
        own, other = found[0], found["other"]
        if other:
            own, other = own.removesuffix(other).strip(), other.strip(" (/)")
        else:
            ends = [float(each.replace(",", ".")) for each in (found["low"], found["high"]) if each]
            other = f" {found['to'] or ''} ".join(_turned(each, found["unit"]) for each in ends).replace("  ", " ")
            other += " F" if found["unit"] == "C" else " C"
        pair = (own, other) if own.endswith(first) else (other, own)
        return f"{pair[0]} ({pair[1]})"

    return TEXT["degrees"].sub(written, text)


def _turned(degrees: float, unit: str) -> str:
    celsius = degrees if unit == "C" else (degrees - 32) / 1.8
    oven = celsius >= OVEN_C
    value, step = (celsius * 1.8 + 32, 25 if oven else 1) if unit == "C" else (celsius, 5 if oven else 1)
    return f"{step * math.floor(value / step + 0.5)}"


def waits(step: Step, words: Words) -> tuple[bool, bool]:
    """Whether a step's time is waiting, and whether it is cooking, by the verbs in it."""
    spoken = set(re.findall(r"[^\W\d_]+", step.text.casefold()))
    return bool(spoken & set(words.editor["waiting"])), not spoken & set(words.editor["not_cooking"])


def times(recipe: Recipe, words: Words, prep_minutes: SupportsFloat | None = None) -> Times:
    """Add up the times that the steps say.

    Parameters
    ----------
    recipe : Recipe
    words : Words
        Which verbs mean waiting.
    prep_minutes : float, optional
        Getting ready [min].

    Returns
    -------
    Times
    """
    timed = [(float(step.minutes), *waits(step, words)) for step in recipe.steps if step.minutes is not None]
    return Times(
        active=sum(minutes for minutes, wait, _ in timed if not wait),
        waiting=sum(minutes for minutes, wait, _ in timed if wait),
        cooking=sum(minutes for minutes, _, heat in timed if heat),
        timed=len(timed), steps=len(recipe.steps), prep=None if prep_minutes is None else float(prep_minutes),
    )  # fmt: skip


def clock(minutes: float) -> str:
    """Minutes as a cook reads them.

    Examples
    --------
    >>> clock(75), clock(12), clock(1440), clock(0.5)
    ('1 h 15 min', '12 min', '24 h', '0.5 min')
    """
    hours, rest = divmod(minutes, 60)
    return " ".join([f"{hours:.0f} h"] * bool(hours) + [f"{rest:g} min"] * bool(rest or not hours))


def times_text(found: Times, words: Words) -> Sequence[str]:
    """The times as a card's head says them: a total only where every step says one."""
    parts = [words.say("prep", time=clock(found.prep))] if found.prep is not None else []
    if 0 < found.steps == found.timed:
        parts += [words.say("waiting", time=clock(found.waiting))] if found.waiting else []
        parts.append(words.say("total", time=clock(found.total)))
    return parts
