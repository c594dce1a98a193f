"""Rounding for print, with the error of the rounding kept in sight."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from spoonline.measures.amounts import number
from spoonline.measures.errors import AmountError
from spoonline.measures.units import unit
from spoonline.measures.weights import weighed

_SPOON_STEPS = {
    "us": "1/8 tsp, 1/4 tsp, 1/2 tsp, 1 tsp, 1/2 tbsp, 1 tbsp",
    "metric": "1/4 tsp, 1/2 tsp, 1 tsp, 1/2 tbsp, 1 tbsp",
    "uk": "1/4 tsp, 1/2 tsp, 1 tsp, 1/2 tbsp, 1 dsp, 1 tbsp",
    "au": "1/4 tsp, 1/2 tsp, 1 tsp, 1/2 tbsp, 1 tbsp",
}
_CUP_STEPS = (1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 4)
_GLYPHS = {1 / 8: "1/8", 1 / 4: "1/4", 1 / 3: "1/3", 1 / 2: "1/2", 2 / 3: "2/3", 3 / 4: "3/4"}


@dataclass(frozen=True, slots=True)
class Rounded:
    """A volume in spoons and cups: the words, the volume they hold [mL] and the error of the rounding [%], positive if they hold more."""

    text: str
    volume_ml: float
    error_percent: float


def _mixed(value: float) -> str:
    whole, part = divmod(value, 1)
    for fraction, glyph in _GLYPHS.items():
        if abs(part - fraction) < 1e-9:
            return f"{whole:.0f} {glyph}" if whole else glyph
    return f"{value:.0f}"


@lru_cache(maxsize=8)
def _ladder(system: str) -> tuple[tuple[float, str, int], ...]:
    """Every sum of at most two steps that people measure, as (mL, words, number of steps)."""
    # a third spoonful of tsp is a tbsp, a fourth of tbsp a cup: the next spoon up takes over
    most = {"1 tsp": 3 if system == "au" else 2, "1 tbsp": 3}
    steps: list[tuple[float, str]] = []
    for step in _SPOON_STEPS[system].split(", "):
        figure, name = step.split()
        steps += [(count * number(figure), name) for count in range(1, most.get(step, 1) + 1)]
    if system != "uk":
        steps += [(whole + part, "cup") for whole in range(9) for part in (0.0, *_CUP_STEPS) if whole + part]
    else:  # a UK kitchen has spoons, a jug and a scale
        steps += [(count, "tbsp") for count in range(4, 9)]
    single = [
        (
            value * (unit(name, system).size or 0),
            f"{_mixed(value)} {name}{'s' if name == 'cup' and value > 1 else ''}",
            name,
        )
        for value, name in steps
    ]
    out = {words: (ml, words, 1) for ml, words, _ in single}
    rank = {"tsp": 0, "dsp": 1, "tbsp": 2, "cup": 3}
    for ml, words, name in single:
        for ml2, words2, name2 in single:
            joined = f"{words} and {words2}"
            if name == name2 and ml > ml2 and name != "cup" and words.split()[0] in "1 2 3" and "/" in words2:
                joined = f"{words.split()[0]} {words2}"
            elif rank[name] <= rank[name2]:
                continue
            out.setdefault(joined, (ml + ml2, joined, 2))
    return tuple(sorted(out.values()))


def round_volume(volume_ml: float, system: str = "us") -> Rounded:
    """Find the nearest volume [mL] that can be measured with at most two fillings people own, and the error of that [%].

    A UK kitchen has spoons only. Raises `AmountError` if the volume is not above 0, or the system has no household set here.

    The usual sets of spoons and cups are common practice, no source. Steps within 1.5 % of the nearest count
    as equal and the fewest fillings win. Valid from 1/8 tsp up; far outside the sets the error says so.

    >>> round_volume(22.18, "us").text, round_volume(60, "au").text
    ('1 1/2 tbsp', '3 tbsp')
    """
    if system not in _SPOON_STEPS:
        raise AmountError(f"There is no household set for {system!r}; write one of {', '.join(_SPOON_STEPS)}.", system)
    if not (volume_ml > 0 and math.isfinite(volume_ml)):
        raise AmountError(f"{volume_ml} mL cannot be measured out; write a volume above 0.", volume_ml)
    ladder = _ladder(system)
    nearest = min(abs(ml / volume_ml - 1) for ml, _, _ in ladder)
    close = [rung for rung in ladder if abs(rung[0] / volume_ml - 1) <= nearest + 0.015]
    ml, words, _ = min(
        close, key=lambda rung: (rung[2], " and " in rung[1], len(rung[1]), abs(rung[0] / volume_ml - 1))
    )
    return Rounded(words, ml, 100 * (ml / volume_ml - 1))


def print_grams(mass_g: float, fine: bool = False) -> str:
    """Write a mass [g] as a card prints it: in steps of 1 g below 100 g, 5 g to 1000 g, 10 g above.

    ``fine`` is for thickener and salt: to 0.5 g (0.1 g below 5 g). Below 1 g every mass is written to 0.1 g.
    Source: rounding steps, memory; ties go up.

    >>> print_grams(123.4), print_grams(1234.0), print_grams(12.3, fine=True)
    ('125 g', '1230 g', '12.5 g')
    """
    mass_g = weighed(mass_g).mass_g  # refuses what is no mass
    steps = ((5, 0.1), (math.inf, 0.5)) if fine else ((1, 0.1), (100, 1.0), (1000, 5.0), (math.inf, 10.0))
    step = next(step for top, step in steps if mass_g < top)
    rounded = math.floor(mass_g / step + 0.5 + 1e-9) * step
    return f"{rounded:.1f} g" if step < 1 and abs(rounded - round(rounded)) > 1e-9 else f"{rounded:.0f} g"
