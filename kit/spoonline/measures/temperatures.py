"""Temperatures and times as cooks write them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from spoonline.measures.amounts import number
from spoonline.measures.errors import AmountError

# Gas mark to Fahrenheit: n >= 1 is 250 + 25 n (common practice, no source).
_GAS = {"1/4": 225.0, "1/2": 250.0, **{str(mark): 250.0 + 25 * mark for mark in range(1, 11)}}
FAN_C = 20.0  # a fan oven is set this much lower (charts say 20 to 25; common practice, no source)
_TEMPERATURE = re.compile(
    r"^\s*(?P<fan>fan\s+)?(?P<value>-?[\d.,]+)\s*(?:\u00b0|degrees?|deg\.?)?\s*(?P<unit>c|f|celsius|fahrenheit|centigrade)?(?P<fan2>\s*fan)?\s*$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature as read: Celsius (of a conventional oven), and what was written."""

    celsius: float
    text: str
    fan: bool = False

    @property
    def fahrenheit(self) -> float:
        """The same in Fahrenheit, exact."""
        return self.celsius * 1.8 + 32

    @property
    def printed(self) -> str:
        """As an oven is set: to 5 C and 25 F."""
        return f"{5 * round(self.celsius / 5)} C ({25 * round(self.fahrenheit / 25)} F)"


def parse_temperature(text: str) -> Temperature:
    """Read a temperature: "180 C", "350 F", "gas mark 4", "160 C fan".

    Raises
    ------
    AmountError
        If it is no temperature, or says neither C nor F.

    Examples
    --------
    >>> round(parse_temperature("425 F").celsius, 1), parse_temperature("gas mark 4").fahrenheit, parse_temperature("160 C fan").celsius
    (218.3, 350.0, 180.0)
    """
    plain = " ".join(text.split())
    if mark := re.fullmatch(r"(?i)gas(?: mark)? ?(\d{1,2}|1/4|1/2|\u00bc|\u00bd)", plain):
        key = mark[1].replace("\u00bc", "1/4").replace("\u00bd", "1/2")
        if key not in _GAS:
            raise AmountError(f"Gas mark {key} came; gas marks run from 1/4 to 10.")
        return Temperature((_GAS[key] - 32) / 1.8, text)
    found = _TEMPERATURE.match(plain)
    if not found or not found["unit"]:
        raise AmountError(f"{text!r} is no temperature; write for example 62 C, 350 F or gas mark 4.")
    minus = -1.0 if found["value"].startswith("-") else 1.0
    value = minus * number(found["value"].lstrip("-"))
    celsius = value if found["unit"][0].lower() == "c" else (value - 32) / 1.8
    if not -60 <= celsius <= 600:
        raise AmountError(f"{text!r} is no kitchen temperature; check the unit.")
    fan = bool(found["fan"] or found["fan2"])
    return Temperature(celsius + (FAN_C if fan else 0.0), text, fan)


_TIME = re.compile(
    r"^\s*(?:(?P<h>[\d.,/\u00bd\u00bc\u00be ]+?)\s*(?:h|hrs?|hours?)\b\.?)?\s*(?:and\s+)?(?:(?P<m>[\d.,/\u00bd ]+?)\s*(?:m|mins?|minutes?)\b\.?)?\s*$",
    re.IGNORECASE,
)


def parse_minutes(text: str) -> float:
    """Read a time as minutes: "10 min", "1 h 15 min", "1 1/2 hours".

    Raises
    ------
    AmountError
        If it is no time.

    Examples
    --------
    >>> parse_minutes("1 h 15 min"), parse_minutes("1 1/2 hours"), parse_minutes("90 min")
    (75.0, 90.0, 90.0)
    """
    found = _TIME.match(text)
    if not found or not (found["h"] or found["m"]):
        raise AmountError(f"{text!r} is no time; write for example 10 min or 1 h 15 min.")
    hours = number(found["h"]) if found["h"] else 0.0
    return 60 * hours + (number(found["m"]) if found["m"] else 0.0)
