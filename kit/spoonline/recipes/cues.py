"""Times and temperatures inside the text of a step."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from typing import NamedTuple

from spoonline.measures.amounts import number, tidy
from spoonline.measures.errors import AmountError

_NUMBER = r"(?<!\d)(?:(?:\d{1,9}\s)?\d/\d|\d{1,9}(?:[.,]\d{1,9})?)"
_TO = r"(?:\s*(?:-|to|or)\s*(?P<high>" + _NUMBER + "))?"
_TIME = re.compile(rf"(?P<low>{_NUMBER}|half an|an){_TO}\s*(?P<unit>h|hrs?|hours?|mins?|minutes?)\b", re.IGNORECASE)
_TEMPERATURE = re.compile(rf"(?P<low>-?(?:{_NUMBER})){_TO}\s*(?:\u00b0|degrees?)?\s*(?P<unit>[CF])\b")


class Cues(NamedTuple):
    """What a step's text says of time [min] and temperature [C]; None where it says nothing."""

    minutes: float | None
    temperature_c: float | None


def _figures(pattern: re.Pattern[str], text: str) -> Iterator[tuple[float, str]]:
    """Each figure, or the upper end of its range, and the first letter of its unit; one that could be two is left out."""
    for found in pattern.finditer(text):
        figure = found["high"] or found["low"]
        with suppress(AmountError):
            yield number(figure.lstrip("-")) * (-1 if figure.startswith("-") else 1), found["unit"][0].upper()


def cues(text: str) -> Cues:
    """Find the time and the temperature in a step.

    All times in it are added up [min], each range at its longer end (a plan must allow for it); of the temperatures [C] the
    highest counts. Seconds are not counted.

    >>> cues("Roast at 200 C for 35 to 40 minutes, turn, then 1 h more.")
    Cues(minutes=100.0, temperature_c=200.0)
    >>> cues("Puree until smooth.")
    Cues(minutes=None, temperature_c=None)
    """
    plain = tidy(text)
    minutes = [figure * (60 if unit == "H" else 1) for figure, unit in _figures(_TIME, plain)]
    degrees = [figure if unit == "C" else (figure - 32) / 1.8 for figure, unit in _figures(_TEMPERATURE, plain)]
    return Cues(sum(minutes) if minutes else None, round(max(degrees), 1) if degrees else None)
