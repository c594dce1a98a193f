"""Rounding for print, with the error of the rounding kept in sight."""

import math
import re
from contextlib import suppress
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from spoonline.measures.amounts import Amount, number, parse_amount, split_line
from spoonline.measures.errors import AmountError
from spoonline.measures.tables import read_table, refuse
from spoonline.measures.units import PIECES, unit
from spoonline.measures.weights import weighed

# What people own and fill more than once. A third spoonful of tsp is a tbsp, a fourth of tbsp a cup: the next spoon up takes
# over, but for an Australian tbsp of four tsp; a UK kitchen has spoons, a jug and a scale.
_SPOONS = {row["kitchen"]: row["spoons"].split(", ") for row in read_table("kitchens.csv", "measures") if row["spoons"]}
_RANK = ("tsp", "dsp", "tbsp", "cup")


class Rounded(NamedTuple):
    """A volume in spoons and cups: the words, the volume they hold [mL] and the error of the rounding [%], positive if they hold more."""

    text: str
    volume_ml: float
    error_percent: float


@lru_cache(maxsize=8)
def _ladder(system: str) -> tuple[tuple[float, str, int], ...]:
    """Every sum of at most two steps that people measure, as (mL, words, number of steps)."""
    steps = _SPOONS[system]
    if system != "uk":
        figures = [f"{whole or ''} {part}".strip() for whole in range(9) for part in ("", *_PARTS["cup"])]
        steps = [*steps, *(f"{figure} {'cup' if number(figure) <= 1 else 'cups'}" for figure in figures if figure)]
    read = [(words, parse_amount(words, system)) for words in steps]
    single = [(words, each.unit, each.value * (each.measure.size or 0.0)) for words, each in read]
    out = {words: (ml, words, 1) for words, _, ml in single}
    for words, name, ml in single:
        for words2, name2, ml2 in single:
            if words2 == "1/8 tsp":
                continue  # alone it is a pinch; nobody adds one to a spoon
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
    refuse(system not in _SPOONS, "household", came=system, known=", ".join(_SPOONS))
    refuse(not (volume_ml > 0 and math.isfinite(volume_ml)), "no volume", came=volume_ml)
    ladder = _ladder(system)
    nearest = min(abs(ml / volume_ml - 1) for ml, _, _ in ladder)
    close = [rung for rung in ladder if abs(rung[0] / volume_ml - 1) <= nearest + 0.015]
    ml, words, _ = min(close, key=lambda it: (it[2], " and " in it[1], len(it[1]), abs(it[0] / volume_ml - 1)))
    return Rounded(words, ml, 100 * (ml / volume_ml - 1))


def print_grams(mass_g: float, fine: bool = False) -> str:
    """Write a mass [g] as a card prints it: in steps of 1 g below 100 g, 5 g to 1000 g, 10 g above.

    ``fine`` is for thickener and salt: to 0.5 g (0.1 g below 5 g, 0.01 g below 1 g: a gum is weighed so). Others below 1 g to 0.1 g.
    Source: rounding steps, memory; ties go up.

    >>> print_grams(123.4), print_grams(1234.0), print_grams(12.3, fine=True), print_grams(0.85, fine=True)
    ('125 g', '1230 g', '12.5 g', '0.85 g')
    """
    mass_g = weighed(mass_g).mass_g  # refuses what is no mass
    steps = ((1, 0.01), (5, 0.1), (math.inf, 0.5)) if fine else ((1, 0.1), (100, 1.0), (1000, 5.0), (math.inf, 10.0))
    step = next(step for top, step in steps if mass_g < top)
    rounded = math.floor(mass_g / step + 0.5 + 1e-9) * step
    return f"{round(rounded, 2):g} g"


def print_dose(dose_g_per_l: float) -> str:
    """Write a dose [g/L] as every sentence and card writes it: to 0.1 g/L, below 1 g/L to two digits.

    >>> print_dose(54.1509), print_dose(60.0), print_dose(0.354)
    ('54.2', '60.0', '0.35')
    """
    return f"{dose_g_per_l:.2g}" if 0 < dose_g_per_l < 0.95 else f"{dose_g_per_l:.1f}"


# Parts of a whole that a kitchen measures: of a spoon, of a cup, of a piece, of a pound and the like; a step [mL] by size of a jug.
_QUARTERS = ("1/4", "1/2", "3/4")
_PARTS = {"cup": ("1/4", "1/3", "1/2", "2/3", "3/4"), "": ("1/2",)}
_JUG = ((10, 0.5), (50, 1.0), (250, 5.0), (1000, 10.0), (math.inf, 50.0))
_PLURALS = {"leaf": "leaves", "loaf": "loaves", "bunch": "bunches", "box": "boxes"}
_SMALLER = {"gallon": "quart", "quart": "cup", "pint": "fl oz", "cup": "tbsp", "dsp": "tsp", "tbsp": "tsp", "lb": "oz"}
_LARGER = {"tsp": ("tbsp", 6.0), "tbsp": ("cup", 12.0)}  # from so many on
# A rounding that is further off than this is said beside it.
SAID_FROM = 0.05


def kitchen_amount(
    text: str, factor: float = 1.0, system: str = "us", mass_g: float | None = None, *, fine: bool = False
) -> str:
    """Write an amount times a factor as a kitchen measures it.

    Parameters
    ----------
    text : str
        The amount as it was written; a second measure in brackets is scaled with it, a range stays a range.
    factor : float, optional
        What to multiply by.
    system : str, optional
        Whose spoons and cups where the text does not say.
    mass_g : float, optional
        What the new amount weighs [g]; said beside a rounding that is more than 5 % off.
    fine : bool, optional
        Round grams as for thickener and salt.

    Raises
    ------
    AmountError
        If the text is no amount.

    Notes
    -----
    Pieces to halves, spoons to quarters, cups to quarters and thirds, grams and millilitres by size; a smaller spoon where that
    comes nearer. Source: common practice, no source.

    Examples
    --------
    >>> kitchen_amount("4-5 tbsp", 1.36), kitchen_amount("7", 1.1667)
    ('5 1/2-6 3/4 tbsp', '8')
    >>> kitchen_amount("1 large", 0.37, mass_g=55.5)
    '1/2 large (56 g)'
    """
    text, *in_all = re.split(r"\s*\(([^()]+) in all\)", text)[:2]
    head = split_line(text, system)
    if head.amount is None or head.rest:
        raise AmountError(f"{text[:60]!r} is no amount; write a figure and a unit, such as 2 tbsp or 30 g.", text)
    also = [parse_amount(each, system) for each in in_all]
    measures = [each.scaled(factor) for each in (head.amount, *head.others, *also)]
    first, *others = [_measured_out(each, head.size if n == 0 else "", fine) for n, each in enumerate(measures)]
    weighed_there = any(each.measure.kind == "mass" for each in measures)
    if mass_g and abs(first[1]) > SAID_FROM and not weighed_there:
        others = [(print_grams(mass_g, fine), 0.0)]
    return first[0] + "".join(f" ({words}{' in all' if in_all else ''})" for words, _ in others)


def _measured_out(amount: Amount, size: str, fine: bool, *, larger: bool = True) -> tuple[str, float]:
    """The words for an amount, and how far off the lower end of them is as a share."""
    if amount.unit in ("kg", "l") and (amount.high or amount.value) < 1:
        amount = amount.scaled(1000)._replace(unit="g" if amount.unit == "kg" else "ml")
    if larger and amount.unit in _LARGER and amount.system != "uk" and amount.value >= _LARGER[amount.unit][1]:
        if amount.high is None and not amount.fill and amount.system in _SPOONS:
            near = round_volume(amount.value * (amount.measure.size or 1.0), amount.system)
            return near.text, near.error_percent / 100
        next_up = unit(_LARGER[amount.unit][0], amount.system)
        amount = amount.scaled((amount.measure.size or 1.0) / (next_up.size or 1.0))._replace(unit=next_up.name)
    name, kind = amount.unit, amount.measure.kind
    low, *high = (_rounded(each, amount, fine) for each in (amount.value, amount.high) if each is not None)
    off = low[1] / amount.value - 1 if amount.value else 0.0
    if abs(off) > SAID_FROM and kind in ("mass", "volume") and name in _SMALLER and amount.high is None:
        with suppress(AmountError):  # a kitchen may lack the smaller one
            finer = unit(_SMALLER[name], amount.system)
            other = amount.scaled((amount.measure.size or 0.0) / (finer.size or 1.0))
            smaller = _measured_out(other._replace(unit=finer.name), size, fine, larger=False)
            if abs(smaller[1]) < abs(off):
                return smaller
    figures = low[0] if not high or high[0][0] == low[0] else f"{low[0]}-{high[0][0]}"
    most = high[0][1] if high else low[1]
    if name in PIECES and most > 1:
        name = _PLURALS.get(name, f"{name}s")
    elif name in ("cup", "pint", "quart") and most > 1:
        name += "s"
    return " ".join(part for part in (figures, size, amount.fill, name) if part), off


def _rounded(value: float, amount: Amount, fine: bool) -> tuple[str, float]:
    """A figure as a kitchen measures it in this unit, and its value."""
    kind, name, size = amount.measure.kind, amount.unit, amount.measure.size or 0.0
    if value <= 0:
        return "0", 0.0
    if kind == "mass" and name in ("g", "kg", "mg"):
        grams = float(print_grams(value * size, fine).removesuffix(" g")) or value * size
        return f"{grams / size:.6g}", grams / size
    if name in ("ml", "cl", "dl", "l"):
        step = next(step for top, step in _JUG if value * size < top)
        ml = max(step, math.floor(value * size / step + 0.5) * step)
        return f"{ml / size:.6g}", ml / size
    parts = _PARTS.get(name, ("1/2",) if kind == "piece" else _QUARTERS)
    parts = ("1/8",) if kind == "volume" and value < 0.2 else parts
    parts = () if value >= 10 and kind in ("piece", "feel") else parts
    whole = math.floor(value)
    grid = [Fraction(whole), Fraction(whole + 1), *(whole + Fraction(part) for part in parts)]
    best = min((each for each in grid if each > 0), key=lambda each: (abs(each - value), each))
    ones, rest = divmod(best, 1)
    return " ".join(part for part in (f"{ones}" if ones else "", f"{rest}" if rest else "") if part), float(best)
