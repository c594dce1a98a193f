"""Temperatures and times as cooks write them, alone or in the text of a step."""

import re
from collections.abc import Iterator
from contextlib import suppress
from typing import NamedTuple

from spoonline.measures.amounts import number, tidy
from spoonline.measures.errors import AmountError
from spoonline.measures.tables import patterns, refuse

NIGHT_MINUTES = 720.0  # "overnight" is 8 to 12 h (common practice, no source): a plan allows for the longer
FAN_C = 20.0  # a fan oven is set this much lower: charts say 20 to 25 (common practice, no source)
_WORDS = patterns("heat_and_time.csv", "measures")


class Temperature(NamedTuple):
    """A temperature as read: exact Celsius (of an oven without a fan), and what was written."""

    celsius: float
    text: str


def _one(text: str) -> Temperature:
    if mark := _WORDS["gas"].fullmatch(text):
        figure = number(mark[1])
        # n >= 1 is 250 + 25 n F, 1/2 is 250 F, 1/4 is 225 F (common practice, no source)
        fahrenheit = {0.25: 225.0, 0.5: 250.0}.get(figure, 250 + 25 * figure)
        refuse(not 0.25 <= figure <= 10, "gas", came=mark[1])
        return Temperature((fahrenheit - 32) / 1.8, text)
    found = _WORDS["degrees"].fullmatch(text)
    if not found or not found["unit"]:
        raise AmountError(f"{text[:40]!r} is no temperature; write for example 62 C, 350 F or gas mark 4.", text)
    value = number(found["value"].lstrip("-")) * (-1 if found["value"].startswith("-") else 1)
    celsius = value if found["unit"][0].lower() == "c" else (value - 32) / 1.8
    refuse(not -60 <= celsius <= 600, "kitchen heat", came=text[:40])
    return Temperature(celsius + (FAN_C if found["fan"] or found["fan2"] else 0.0), text)


def parse_temperature(text: str) -> Temperature:
    """Read a temperature: "180 C", "350 F", "gas mark 4", "160 C fan", "180C/160C fan/gas 4".

    It may stand in several scales, parted by "/", "," or brackets: the first counts, exact, of an oven without a fan [C].
    Raises `AmountError` if it is no temperature, says neither C nor F, or its scales differ by more than 15 C.

    C = (F - 32) / 1.8. Gas marks and the 20 C of a fan: common practice, no source. Valid from -60 to 600 C.

    >>> round(parse_temperature("425 F").celsius, 2), parse_temperature("180C/fan 160C/gas 4").celsius
    (218.33, 180.0)
    """
    plain = tidy(text)
    parts = [part.strip() for part in re.split(r"(?<!\d)/|/(?!\d)|,\s|\((?!fan)|\)\s*|;|\bor\b", plain) if part.strip()]
    refuse(not parts or len(plain) > 80, "heat", came=plain[:40])
    first, *others = (_one(part) for part in parts)
    for other in others:
        refuse(abs(other.celsius - first.celsius) > 15, "two heats", came=first.text, other=other.text)
    return Temperature(first.celsius, text)


def parse_minutes(text: str) -> float:
    """Read one time [min]: "10 min", "1 h 15 min", "1 1/2 hours", "half an hour", "90 s"; refuse a range of times.

    >>> parse_minutes("1 h 15 min"), parse_minutes("1 1/2 hours"), parse_minutes("half an hour")
    (75.0, 90.0, 30.0)
    """
    plain = tidy(text)
    found = _WORDS["time"].fullmatch(plain) if len(plain) <= 60 else None
    if not found or not any(found.groups()):
        raise AmountError(f"{plain[:40]!r} is no time; write one such as 10 min, 1 h 15 min or 90 s.", text)
    hours, minutes, seconds = (number(figure) if figure else 0.0 for figure in found.groups())
    return 60 * hours + minutes + seconds / 60


class Cues(NamedTuple):
    """What a step's text says of time [min] and temperature [C]; None where it says nothing."""

    minutes: float | None
    temperature_c: float | None


def _figures(pattern: re.Pattern[str], text: str, *, low: bool = False) -> Iterator[tuple[float, str]]:
    """Each figure, or the upper end of its range (or the lower), and the first letter of its unit; one that could be two is left out."""
    for found in pattern.finditer(text):
        figure = found["low"] if low else found["high"] or found["low"]
        with suppress(AmountError):
            yield number(figure.lstrip("-")) * (-1 if figure.startswith("-") else 1), found["unit"][0].upper()


def cues(text: str, *, low: bool = False, nights: bool = False) -> Cues:
    """Find the time and the temperature in a step.

    All times in it are added up [min], each range at its longer end (a plan must allow for it); of the temperatures [C] the
    highest counts, of a range its lower end where ``low``. Seconds are not counted; "overnight" is where ``nights``, as 12 h.

    >>> cues("Roast at 200 C for 35 to 40 minutes, turn, then 1 h more.")
    Cues(minutes=100.0, temperature_c=200.0)
    >>> cues("Puree until smooth."), cues("Chill overnight, then boil for 2 minutes.", nights=True).minutes
    (Cues(minutes=None, temperature_c=None), 722.0)
    """
    plain = tidy(text)
    minutes = [figure * (60 if unit == "H" else 1) for figure, unit in _figures(_WORDS["times"], plain)]
    if nights and re.search(r"\bovernight\b", plain, re.IGNORECASE):
        minutes.append(NIGHT_MINUTES)
    warm = _figures(_WORDS["temperature"], plain, low=low)
    degrees = [figure if unit == "C" else (figure - 32) / 1.8 for figure, unit in warm]
    return Cues(sum(minutes) if minutes else None, round(max(degrees), 1) if degrees else None)
