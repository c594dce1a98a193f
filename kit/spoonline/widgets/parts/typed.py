"""What a person types into a field, read by the grammar of ``measures``: decimal comma, fractions, units."""

import re
from collections.abc import Sequence
from datetime import date

from spoonline import facts
from spoonline.measures import Weight, known_as, parse_amount, parse_temperature, weighed
from spoonline.measures.errors import AmountError, KitchenError, told_as
from spoonline.measures.units import unit as measure
from spoonline.recipes import Ingredient, OwnSpoon, Recipe, own_weight

_BARE = re.compile(r"[\d.,]+")
_SPLIT = re.compile(r"\s*[;/]\s*|,?\s+")
# Thousands parted by spaces, thin ones too.
_THOUSANDS = re.compile(r"(?<=\d)[ \u00a0\u2009\u202f](?=\d{3}(?!\d))")
# What a slip of unit or of a comma multiplies by.
_SLIPS = (1000.0, 10.0, 0.1, 0.001)


def figure(text: str, what: str, unit: str = "") -> float | None:
    """One figure; blank is None, 0 is 0. A unit may be typed if it is the expected one, or a thousand of it.

    Raises
    ------
    AmountError
        If it is no figure, or negative.
    """
    plain = _THOUSANDS.sub("", text.strip())
    if not plain:
        return None
    if plain.startswith(("-", "\u2212")):
        raise AmountError(f"{what}: {plain!r} came; a figure of 0 or more is wanted.")
    bare, wanted = _BARE.fullmatch(plain), f"a figure{' in ' + unit if unit else ''} is wanted, such as 12,5 or 12.5"
    try:
        # a bare figure is in the field's unit, and is asked like one: 1.250 g can be thousands
        amount = parse_amount(f"{plain} {unit}" if bare and known_as(unit) else plain)
    except AmountError as err:
        raise AmountError(f"{what}: {err}" if bare else f"{what}: {plain!r} came; {wanted}.") from err
    if amount.high is None and amount.unit not in ("", known_as(unit)) and known_as(unit):
        came, own = measure(amount.unit), measure(known_as(unit))
        if came.kind == own.kind and came.size and own.size:  # kg for g
            return round(amount.value * came.size / own.size, 6)
    if amount.high is not None or amount.unit not in ("", known_as(unit)):
        raise AmountError(f"{what}: {plain!r} came; {wanted}.")
    return amount.value


def likelier(value: float, expected: float) -> float | None:
    """What was likely meant where a figure lies far from what is expected: kg for g, or a comma one place off; None where nobody can say.

    >>> likelier(5.2, 5000), likelier(0.05, 50), likelier(48, 50), likelier(210, 50)
    (5200.0, 50.0, None, None)
    """
    if min(value, expected) <= 0 or 0.25 <= value / expected <= 4:
        return None
    return next((round(value * slip, 6) for slip in _SLIPS if 0.6 <= value * slip / expected <= 1.7), None)


# One figure to a cook, two to a table: 1/2, and 5 200.
_TWO_WAYS = re.compile(r"(?<![\d.,/])\d{1,2}/\d{1,2}(?![\d.,/])|(?<![\d.,])\d{1,3}[ \u00a0\u2009\u202f]\d{3}(?![\d.,])")


def figures(text: str, what: str, unit: str) -> list[float]:
    """Several figures, parted by spaces, semicolons or strokes (a comma is a decimal comma).

    Raises
    ------
    AmountError
        If one of them is no figure.
    """
    if _TWO_WAYS.search(text):
        came = f"{what}: {text.strip()!r} came: one figure or several?"
        raise AmountError(f"{came} Write 6.5 or 5200, or several parted by semicolons.")
    parts = _SPLIT.split((text.replace(unit, " ") if unit else text).strip())
    found = (figure(part, what, unit) for part in parts if part.strip(", "))
    return [value for value in found if value is not None]


def degrees(text: str, what: str = "Temperature") -> float | None:
    """A temperature [C]; a bare figure is Celsius, blank is None.

    Raises
    ------
    AmountError
        If it is no temperature.
    """
    plain = text.strip()
    if not plain:
        return None
    if _BARE.fullmatch(plain):
        return figure(plain, what, "C")
    return parse_temperature(plain).celsius


def grams_typed(text: str, line: Ingredient, spoons: Sequence[OwnSpoon] = (), system: str = "us") -> Weight | None:
    """What was put in of one line, in the kitchen's own spoons; a bare figure is grams on a scale, blank is None (as the recipe says),
    0 is none.

    Raises
    ------
    KitchenError
        If it cannot be turned into grams.
    """
    plain = text.strip()
    if not plain:
        return None
    if plain.startswith(("-", "\u2212")):
        raise AmountError(f"{line.item}: {plain!r} came; an amount of 0 or more is wanted.")
    try:
        amount = parse_amount(f"{plain} g" if _BARE.fullmatch(plain) else plain, system)
        if amount.unit in ("", "g") and amount.high is None:
            return weighed(amount.value)
        mine = own_weight(amount, line.item, spoons) if spoons else None
        return mine or facts.grams(amount, line.item)
    except KitchenError as err:
        raise type(err)(f"{line.item}: {err}") from err


def size_typed(text: str, recipe: Recipe) -> Recipe:
    """The recipe in tonight's size: blank as written, a bare figure servings, ``x2`` or ``2x`` times.

    Raises
    ------
    KitchenError
        If it is no size, or the recipe does not say its servings.
    """
    plain = text.strip().casefold()
    if not plain:
        return recipe
    value = figure(plain.strip("x\u00d7 ").removesuffix("servings"), "Tonight's size")
    if not value:
        raise AmountError(f"Tonight's size: {text!r} came; servings such as 12, or times such as x2, are wanted.")
    times = plain.startswith(("x", "\u00d7")) or plain.endswith(("x", "\u00d7"))
    return recipe.scaled(value) if times else recipe.scaled(servings=value)


_DAY = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})")


def day(text: str, kitchen: str = "us") -> date:
    """A day as year-month-day, or in the kitchen's own order (27/11/2026); blank is today.

    Raises
    ------
    AmountError
        If it is no day, or lies ahead.
    """
    plain = text.strip()
    if not plain:
        return date.today()
    wrong = AmountError(f"Date: {plain!r} came; write it as year-month-day, such as 2026-01-22.")
    with told_as(wrong, ValueError):
        if other := _DAY.fullmatch(plain):
            first, second, year = map(int, other.groups())
            month_first = first <= 12 and (second > 12 or kitchen == "us")
            found = date(year, first, second) if month_first else date(year, second, first)
        else:
            found = date.fromisoformat(plain)
    if found > date.today():
        raise AmountError(f"Date: {plain} is in the future; write the day it was cooked.")
    return found


def in_store(text: str) -> dict[str, str]:
    """What is there already, one item a line, such as ``onions: 500 g``.

    Raises
    ------
    AmountError
        If a line has no amount.
    """
    found = {}
    for line in filter(str.strip, text.splitlines()):
        name, _, amount = (part.strip() for part in line.partition(":"))
        if not amount:
            raise AmountError(f"What you have already: {name!r} came; write one item a line, such as 'onions: 500 g'.")
        found[name] = amount
    return found
