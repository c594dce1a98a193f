"""What a person types into a field, read by the grammar of ``measures``: decimal comma, fractions, units."""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from typing import TypeVar

from spoonline import facts
from spoonline.measures import Sayings, Weight, known_as, parse_amount, parse_temperature, patterns, weighed
from spoonline.measures.errors import AmountError, KitchenError, told_as
from spoonline.measures.units import unit as measure
from spoonline.old_sheets.columns import read_date
from spoonline.recipes import Ingredient, OwnSpoon, Recipe, own_weight

said = Sayings("said.csv", "widgets/parts", AmountError)
T = TypeVar("T")
WORDS = patterns("typed_words.csv", "widgets/parts")
# What a slip of unit or of a comma multiplies by.
_SLIPS = (1000.0, 10.0, 0.1, 0.001)


def wanted(value: T | None, what: str, /, **known: object) -> T:
    """What must be there; where it is not, an AmountError says this sentence."""
    if value is None:
        raise AmountError(said(what, **known))
    return value


@contextmanager
def about(what: str) -> Iterator[None]:
    """What is wrong is said with what it is about before it."""
    try:
        yield
    except KitchenError as err:
        raise type(err)(f"{what}: {err}") from err


def figure(text: str, what: str, unit: str = "") -> float | None:
    """One figure; blank is None, 0 is 0. A unit may be typed if it is the expected one, or a thousand of it.

    Raises
    ------
    AmountError
        If it is no figure, or negative.
    """
    plain = WORDS["thousands"].sub("", text.strip())
    plain = re.sub(rf"(?<=\d)\s*{re.escape(unit)}$", "", plain, flags=re.IGNORECASE) if unit else plain
    if not plain:
        return None
    said.refuse(plain.startswith(("-", "\u2212")), "below zero", what=what, came=plain)
    bare, own = WORDS["bare"].fullmatch(plain), known_as(unit)
    none = said("no figure", what=what, came=plain, of=f" in {unit}" if unit else "")
    try:
        # a bare figure is in the field's unit, and is asked like one: 1.250 g can be thousands
        amount = parse_amount(f"{plain} {unit}" if bare and own else plain)
    except AmountError as err:
        raise AmountError(f"{what}: {err}" if bare else none) from err
    if amount.high is None and amount.unit in ("", own):
        return amount.value
    came, asked = (measure(each) if each else None for each in (amount.unit, own))
    if amount.high is None and came and asked and came.kind == asked.kind and came.size and asked.size:
        return round(amount.value * came.size / asked.size, 6)  # kg for g
    raise AmountError(none)


def likelier(value: float, expected: float) -> float | None:
    """What was likely meant where a figure lies far from what is expected: kg for g, or a comma one place off; None where nobody can say.

    >>> likelier(5.2, 5000), likelier(0.05, 50), likelier(48, 50), likelier(210, 50)
    (5200.0, 50.0, None, None)
    """
    if min(value, expected) <= 0 or 0.25 <= value / expected <= 4:
        return None
    return next((round(value * slip, 6) for slip in _SLIPS if 0.6 <= value * slip / expected <= 1.7), None)


def figures(text: str, what: str, unit: str) -> list[float]:
    """Several figures, parted by spaces, semicolons or strokes (a comma is a decimal comma).

    Raises
    ------
    AmountError
        If one of them is no figure.
    """
    said.refuse(WORDS["two ways"].search(text), "one or several", what=what, came=text.strip())
    parts = WORDS["parts"].split((re.sub(rf"(?<![A-Za-z]){unit}\b", " ", text) if unit else text).strip())
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
    return figure(plain, what, "C") if WORDS["bare"].fullmatch(plain) else parse_temperature(plain).celsius


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
    said.refuse(plain.startswith(("-", "\u2212")), "an amount below zero", what=line.item, came=plain)
    with about(line.item):
        amount = parse_amount(f"{plain} g" if WORDS["bare"].fullmatch(plain) else plain, system)
        if amount.unit in ("", "g") and amount.high is None:
            return weighed(amount.value)
        mine = own_weight(amount, line.item, spoons) if spoons else None
        return mine or facts.grams(amount, line.item)


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
    typed = figure(plain.strip("x\u00d7 ").removesuffix("servings"), "Tonight's size")
    value = wanted(typed or None, "no size of tonight", came=text)
    times = plain.startswith(("x", "\u00d7")) or plain.endswith(("x", "\u00d7"))
    return recipe.scaled(value) if times else recipe.scaled(servings=value)


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
    found = wanted(_on(plain, kitchen), "no day", came=plain)
    said.refuse(found > date.today(), "a day ahead", came=plain)
    return found


def _on(text: str, kitchen: str) -> date | None:
    plain = WORDS["clock"].sub("", text)
    read = read_date(plain, "month first" if kitchen == "us" else "day first") or read_date(plain, "")
    return read if re.search(r"\d{4}", plain) else None


def moment(text: str, kitchen: str = "us") -> datetime:
    """A day, as :func:`day` reads it, and its time: 2026-01-22 12:30, 24.12.2026 12.30, 12/24/2026 6:30 pm.

    Raises
    ------
    AmountError
        If a day or a time is missing: no time is never taken for midnight.
    """
    came, plain = text.strip(), WORDS["hour"].sub(r"\1:00 \2", text.strip())
    on = wanted(_on(plain, kitchen), "no time", came=came)
    clock = wanted(WORDS["clock"].search(plain), "no time", came=came)
    with told_as(said.error("no time", came=came), ValueError):
        read = datetime.strptime(" ".join(clock.groups("")), "%I %M %p" if clock[3] else "%H %M ")
    return datetime.combine(on, read.time())


def whole(text: str, what: str) -> int:
    """A whole number from 1 up; an AmountError where it is none."""
    value = figure(text, what)
    said.refuse(not value or value % 1, "whole number", what=what, came=text)
    return int(value or 0)


def in_store(text: str) -> dict[str, str]:
    """What is there already, one item a line, such as ``onions: 500 g``.

    Raises
    ------
    AmountError
        If a line has no amount.
    """
    found = dict[str, str]()
    for line in filter(str.strip, text.splitlines()):
        name, _, amount = (part.strip() for part in line.partition(":"))
        said.refuse(not amount, "nothing in store", came=name)
        found[name] = f"{found[name]} plus {amount}" if name in found else amount  # it may stand in two places
    return found
