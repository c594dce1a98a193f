"""Times and temperatures inside the text of a step."""

from __future__ import annotations

import re
from typing import NamedTuple

_NUMBER = r"\d+(?:[.,]\d+)?(?:\s*[\u00bd\u00bc\u00be])?"
_TO = r"(?:\s*(?:-|\u2013|to|or)\s*(?P<{name}>" + _NUMBER + "))?"
_TIME = re.compile(
    rf"(?P<low>{_NUMBER}|half an|an)" + _TO.format(name="high") + r"\s*(?P<unit>h|hrs?|hours?|mins?|minutes?)\b",
    re.IGNORECASE,
)
_TEMPERATURE = re.compile(
    rf"(?P<low>-?{_NUMBER})" + _TO.format(name="high") + r"\s*(?:\u00b0|degrees?)?\s*(?P<unit>[CF])\b"
)


class Cues(NamedTuple):
    """What a step's text says of time [min] and temperature [C]; None where it says nothing."""

    minutes: float | None
    temperature_c: float | None


def _number(found: re.Match[str]) -> float:
    """The figure that was found, or the upper end of its range."""
    text = (found["high"] or found["low"]).strip().lower()
    if text in ("half an", "an"):
        return 0.5 if text == "half an" else 1.0
    halves = {"\u00bd": 0.5, "\u00bc": 0.25, "\u00be": 0.75}
    return float(text.rstrip("".join(halves)).strip().replace(",", ".")) + halves.get(text[-1], 0.0)


def cues(text: str) -> Cues:
    """Find the time and the temperature in a step.

    All times in it are added up [min], each range at its longer end (a plan must allow for it); of the temperatures [C] the
    highest counts. Seconds are not counted.

    >>> cues("Roast at 200 C for 35 to 40 minutes, turn, then 1 h more.")
    Cues(minutes=100.0, temperature_c=200.0)
    >>> cues("Puree until smooth.")
    Cues(minutes=None, temperature_c=None)
    """
    minutes = [_number(found) * (60 if found["unit"][0] in "hH" else 1) for found in _TIME.finditer(text)]
    degrees = [
        _number(found) if found["unit"] == "C" else (_number(found) - 32) / 1.8 for found in _TEMPERATURE.finditer(text)
    ]
    return Cues(sum(minutes) if minutes else None, round(max(degrees), 1) if degrees else None)
