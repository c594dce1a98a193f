"""Probe readings as they come: typed one a line, or the CSV file of a logger."""

from __future__ import annotations

import csv
import io
import re
from datetime import datetime
from typing import ClassVar

from dateutil import parser  # type: ignore[import-untyped]  # dateutil has no types
from pydantic import Field

from spoonline.measures import parse_minutes
from spoonline.measures.errors import KitchenError, ReadingError, told_as
from spoonline.recipes import Number, Record

DAY_0 = datetime(1900, 1, 1)  # of times without a day
_PLAIN = r"\d+(?:[.,]\d+)?"
_LINE = re.compile(
    r"(?P<time>.+?)[\s,;:=]\s*(?P<value>[-\u2212]?\d+(?:[.,]\d+)?)\s*(?:\u00b0|deg\.?\s*)?(?P<unit>[CF])?\.?",
    re.IGNORECASE,
)


class ProbeReading(Record):
    """One reading of the probe at the slowest point."""

    wrong: ClassVar[type[KitchenError]] = ReadingError

    minutes: Number = Field(ge=0, le=20160, description="since the first reading [min]")
    temperature_c: Number = Field(ge=-40, le=120, description="at the slowest point [C]")


def read_readings(text: str, unit: str = "C") -> tuple[ProbeReading, ...]:
    """Read typed readings, one a line: a time of day or minutes, then the temperature.

    Parameters
    ----------
    text : str
        Such as ``"14:05 57"``, ``"1 h 10 min; 95 F"`` or ``"45 33,5"``. A time of day past midnight is the next day.
    unit : {"C", "F"}
        Of a temperature that says neither.

    Raises
    ------
    ReadingError
        If a line is no reading, or clock times and minutes are mixed.

    Examples
    --------
    >>> [(float(r.minutes), float(r.temperature_c)) for r in read_readings("23:30 57\\n0:30 95 F\\n1:24 21")]
    [(0.0, 57.0), (60.0, 35.0), (114.0, 21.0)]
    """
    found = []
    for number, line in enumerate((each.strip() for each in text.splitlines()), start=1):
        if not line:
            continue
        read = _LINE.fullmatch(line)
        if read is None:
            wanted = "a time and a temperature are wanted, such as 14:05 57 or 45 33,5 C."
            raise ReadingError(f"Line {number}, {line[:40]!r}: {wanted}")
        time = read["time"].strip(" ,;=:")
        none = f"Line {number}: {time!r} is no time of day or minutes; write 14:05, 45 or 1 h 10 min."
        with told_as(ReadingError(none), ValueError):
            minutes, clock = _minutes(time)
        value = float(read["value"].replace(",", ".").replace("\u2212", "-"))
        found.append((minutes, _celsius(value, read["unit"] or unit), clock))
    if not found:
        raise ReadingError("No reading came; write one a line, such as 14:05 57.")
    if len({clock for _, _, clock in found}) > 1:
        raise ReadingError("Times of day and minutes are mixed; write all of one kind.")
    days, last, out = 0, -1.0, []
    for minutes, celsius, clock in found:
        days += clock and minutes < last
        last = minutes
        out.append(_reading(minutes + 1440 * days - found[0][0], celsius))
    return tuple(out)


def _reading(minutes: float, celsius: float) -> ProbeReading:
    return ProbeReading(minutes=round(minutes, 3), temperature_c=round(celsius, 2))


def _minutes(text: str, *, stamp: bool = False) -> tuple[float, bool]:
    """Minutes of a time of day, a time stamp or a count of minutes, and whether it says when; ValueError if it is none."""
    if re.fullmatch(_PLAIN, text):
        return float(text.replace(",", ".")), False
    if not stamp and ":" not in text:
        return parse_minutes(text), False
    try:
        at = datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        at = parser.parse(text, dayfirst=True, default=DAY_0, ignoretz=True)
    return (at - DAY_0).total_seconds() / 60, True


def _celsius(value: float, unit: str) -> float:
    return value if unit.upper() == "C" else (value - 32) / 1.8


def read_logger(text: str, unit: str = "") -> tuple[ProbeReading, ...]:
    """Read the CSV file of a temperature logger; empty cells are left out.

    Parameters
    ----------
    text : str
        With a header. The time stands in a column named like time, date or minutes; commas, semicolons or tabs part the cells.
    unit : {"", "C", "F"}
        Where the header does not say it.

    Raises
    ------
    ReadingError
        If no column holds times or temperatures, or neither C nor F is given.

    Examples
    --------
    >>> rows = read_logger("Time;Probe (F)\\n2026-01-08 13:00;134,6\\n2026-01-08 14:54;69,8")
    >>> [(float(r.minutes), float(r.temperature_c)) for r in rows]
    [(0.0, 57.0), (114.0, 21.0)]
    """
    body = text.lstrip("\ufeff")
    rows = list(csv.DictReader(io.StringIO(body), delimiter=max(",;\t", key=body.partition("\n")[0].count)))
    heads = [name for name in (rows[0] if rows else ()) if name]
    time = next((name for name in heads if re.search(r"time|date|minute|min\b", name, re.IGNORECASE)), None)
    degrees = re.compile(r"temp|probe|\bC\b|\bF\b|\u00b0", re.IGNORECASE)
    warm = [name for name in heads if name != time and degrees.search(name)]
    if time is None or len(warm) != 1:
        raise ReadingError(
            f"A column of times and one of temperatures are wanted; the file has {', '.join(map(str, heads)) or 'no rows'}. "
            "Keep one of each: it is not clear which column holds the temperature.",
            warm,
        )
    (chosen,) = warm
    named = re.search(r"(?:\u00b0|\b)([CF])(?:\b|elsius|ahrenheit)", chosen)
    scale = named[1] if named else unit
    if scale not in ("C", "F"):
        raise ReadingError(f"The column {chosen!r} says neither C nor F; say which.")
    found: list[tuple[float, float]] = []
    for number, row in enumerate(rows, start=2):
        stamp, value = (row[time] or "").strip(), (row[chosen] or "").strip().replace(",", ".")
        if not stamp or not value:
            continue
        none = f"Row {number}: {stamp!r}, {value!r} is no time and temperature; mend or delete that row."
        with told_as(ReadingError(none), ValueError):
            found.append((_minutes(stamp, stamp=True)[0], _celsius(float(value), scale)))
    if not found:
        raise ReadingError("The file holds no reading; export it again with its times and temperatures.")
    return tuple(_reading(at - found[0][0], celsius) for at, celsius in found)
