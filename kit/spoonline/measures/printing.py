"""Rounding for print, with the error of the rounding kept in sight."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from spoonline.measures.amounts import number, parse_amount
from spoonline.measures.errors import AmountError
from spoonline.measures.weights import weighed

# What people own and fill more than once. A third spoonful of tsp is a tbsp, a fourth of tbsp a cup: the next spoon up takes
# over, but for an Australian tbsp of four tsp; a UK kitchen has spoons, a jug and a scale.
_SPOONS = {
    "us": "1/8 tsp, 1/4 tsp, 1/2 tsp, 1 tsp, 2 tsp, 1/2 tbsp, 1 tbsp, 2 tbsp, 3 tbsp",
    "metric": "1/4 tsp, 1/2 tsp, 1 tsp, 2 tsp, 1/2 tbsp, 1 tbsp, 2 tbsp, 3 tbsp",
    "uk": "1/4 tsp, 1/2 tsp, 1 tsp, 2 tsp, 1/2 tbsp, 1 dsp, 1 tbsp, 2 tbsp, 3 tbsp, 4 tbsp, 5 tbsp, 6 tbsp, 7 tbsp, 8 tbsp",
    "au": "1/4 tsp, 1/2 tsp, 1 tsp, 2 tsp, 3 tsp, 1/2 tbsp, 1 tbsp, 2 tbsp, 3 tbsp",
}
_RANK = ("tsp", "dsp", "tbsp", "cup")


@dataclass(frozen=True, slots=True)
class Rounded:
    """A volume in spoons and cups: the words, the volume they hold [mL] and the error of the rounding [%], positive if they hold more."""

    text: str
    volume_ml: float
    error_percent: float


@lru_cache(maxsize=8)
def _ladder(system: str) -> tuple[tuple[float, str, int], ...]:
    """Every sum of at most two steps that people measure, as (mL, words, number of steps)."""
    steps = _SPOONS[system].split(", ")
    if system != "uk":
        figures = [
            f"{whole or ''} {part}".strip() for whole in range(9) for part in ("", "1/4", "1/3", "1/2", "2/3", "3/4")
        ]
        steps += [f"{figure} {'cup' if number(figure) <= 1 else 'cups'}" for figure in figures if figure]
    read = [(words, parse_amount(words, system)) for words in steps]
    single = [(words, each.unit, each.value * (each.measure.size or 0.0)) for words, each in read]
    out = {words: (ml, words, 1) for words, _, ml in single}
    for words, name, ml in single:
        for words2, name2, ml2 in single:
            joined = f"{words} and {words2}"
            if name == name2 and name != "cup" and words[0] in "123" and words[1] == " " and "/" in words2:
                joined = f"{words[0]} {words2}"
            elif _RANK.index(name) <= _RANK.index(name2):
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
    if system not in _SPOONS:
        raise AmountError(f"There is no household set for {system!r}; write one of {', '.join(_SPOONS)}.", system)
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
