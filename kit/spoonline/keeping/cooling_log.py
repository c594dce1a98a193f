"""The probe readings of a pot that cools: typed or from a logger, held against both stages, and forecast from two of them."""

import csv
import io
import math
import re
from collections.abc import Sequence
from datetime import date, datetime
from itertools import pairwise
from typing import ClassVar, NamedTuple

from dateutil import parser  # type: ignore[import-untyped]  # dateutil has no types
from pydantic import Field

from spoonline.keeping.places import USUAL_RULE, CoolingRule, cooling_rules
from spoonline.measures import KitchenError, ReadingError, Sayings, parse_minutes, patterns, read_table, told_as
from spoonline.recipes import Kept, MaybeNumber, Number, Record, fault

said = Sayings("said.csv", "keeping", ReadingError)
LONG_GAP_MIN = 720  # a clock time before the one above it is the next day's, or a slip
DAY_0 = datetime(1900, 1, 1)  # of times without a day
_WORDS = patterns("log_words.csv", "keeping")


class ProbeReading(Record):
    """One reading of the probe at the slowest point."""

    wrong: ClassVar[type[KitchenError]] = ReadingError

    minutes: Number = Field(ge=0, le=20160, description="since the first reading [min]")
    temperature_c: Number = Field(ge=-40, le=120, description="at the slowest point [C]")
    typed_f: MaybeNumber = Field(None, description="as it was typed, where that was in F [F]")


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
    found: list[tuple[float, float, str, bool]] = []
    days = 0
    lines = [(number, line.strip()) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    for number, line in lines:
        read = _WORDS["reading"].fullmatch(line)
        if read is None or _WORDS["clock alone"].fullmatch(line) or _WORDS["two times"].search(read["time"]):
            raise ReadingError(said("no reading", number=number, line=line[:40]))
        time = read["time"].strip(" ,;=:")
        with told_as(ReadingError(said("no time", number=number, time=time)), ValueError):
            minutes, clock = _minutes(time)
        value = float(read["value"].replace(",", ".").replace("\u2212", "-"))
        days += clock and bool(found) and minutes + 1440 * days < found[-1][0]
        found.append((minutes + 1440 * days, value, read["unit"] or unit, clock))
    said.refuse(not found, "no readings")
    said.refuse(len({clock for *_, clock in found}) > 1, "mixed times")
    return tuple(_reading(minutes - found[0][0], value, scale) for minutes, value, scale, _ in found)


def _reading(minutes: float, value: float, unit: str) -> ProbeReading:
    """A reading in C; what was typed in F stays as it was typed, for a limit of 70 F is not 21 C to the digit."""
    if unit.upper() == "C":
        return ProbeReading(minutes=round(minutes, 3), temperature_c=round(value, 2))
    return ProbeReading(minutes=round(minutes, 3), temperature_c=round((value - 32) / 1.8, 2), typed_f=value)


def _minutes(text: str, *, stamp: bool = False) -> tuple[float, bool]:
    """Minutes of a time of day, a time stamp or a count of minutes, and whether it says when; ValueError if it is none."""
    # 14.05, as clocks are written in many kitchens
    if not stamp and re.fullmatch(r"(?i)\d{1,2}[.,][0-5]\d(\s*[ap]m)?", text):
        text = re.sub("[.,]", ":", text)
    if _WORDS["plain"].fullmatch(text):
        return float(text.replace(",", ".")), False
    if not stamp and ":" not in text:
        return parse_minutes(text), False
    try:
        at = datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        at = parser.parse(text, dayfirst=True, default=DAY_0, ignoretz=True)
    return (at - DAY_0).total_seconds() / 60, True


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
    time = next((name for name in heads if _WORDS["time"].search(name)), None)
    warm = [name for name in heads if name != time and _WORDS["degrees"].search(name)]
    if time is None or len(warm) != 1:
        raise ReadingError(said("which columns", heads=", ".join(map(str, heads)) or "no rows"), warm)
    (chosen,) = warm
    named = _WORDS["scale"].search(chosen)
    scale = named[1] if named else unit
    said.refuse(scale not in ("C", "F"), "no scale", column=chosen)
    found: list[Point] = []
    for number, row in enumerate(rows, start=2):
        stamp, value = (row[time] or "").strip(), (row[chosen] or "").strip().replace(",", ".")
        if not stamp or not value:
            continue
        with told_as(ReadingError(said("bad row", number=number, stamp=stamp, value=value)), ValueError):
            found.append((_minutes(stamp, stamp=True)[0], float(value)))
    said.refuse(not found, "empty file")
    return tuple(_reading(at - found[0][0], each, scale) for at, each in found)


_NEXT = {row["verdict"]: row["step"] for row in read_table("next_steps.csv", "keeping")}
Point = tuple[float, float]  # minutes and temperature [C]
RISE_C = 2.0  # a probe that rises by more was moved, or the pot was reheated


class CoolingLog(Kept):
    """The cooling of one pot, kept with its batch.

    Examples
    --------
    >>> from spoonline.keeping.cooling_log import read_readings
    >>> log = CoolingLog(title="Mushroom gravy", batch=3, readings=read_readings("0 57\\n114 21\\n354 5"))
    >>> log.verdict
    'meets both stages'
    """

    wrong: ClassVar[type[KitchenError]] = ReadingError
    kind: ClassVar[str] = "cooling log"
    # a longer log takes the shorter one's place
    key_fields: ClassVar[tuple[str, ...]] = ("title", "batch", "started_on")

    title: str = Field("", max_length=300, description="the recipe")
    batch: int = Field(0, ge=0, description="number of the batch; 0 for a pot that is no test batch")
    started_on: date | None = Field(None, description="day of the first reading")
    readings: tuple[ProbeReading, ...] = Field(min_length=1, max_length=20000)
    around_c: Number = Field(default=3, ge=-40, le=40, description="air or water around it [C]", validate_default=True)
    jurisdiction: str = Field("US model Food Code", description="whose limits it is held against")
    note: str = Field("", max_length=2000)

    def hold(self) -> None:
        """Readings in order, under limits that are known."""
        back = any(later.minutes <= earlier.minutes for earlier, later in pairwise(self.readings))
        fault(back, "two readings have one time or stand in the wrong order; write them as they were taken")
        strange = self.jurisdiction not in cooling_rules()
        fault(strange, f"{self.jurisdiction!r} came; choose of {', '.join(cooling_rules())}")

    @property
    def rule(self) -> CoolingRule:
        """The limits it is held against."""
        return cooling_rules()[self.jurisdiction]

    @property
    def points(self) -> list[Point]:
        """Minutes and temperature [C] of each reading."""
        return [(float(each.minutes), float(each.temperature_c)) for each in self.readings]

    @property
    def verdict(self) -> str:
        """What the readings show against the limits; of readings all in F, against the limits in F."""
        typed = [(float(each.minutes), float(each.typed_f)) for each in self.readings if each.typed_f is not None]
        if len(typed) == len(self.readings):
            return verdict(typed, self.rule.fahrenheit)
        return verdict(self.points, self.rule)

    @property
    def flags(self) -> tuple[str, ...]:
        """What is doubtful about the readings, one sentence each."""
        points, start = self.points, self.rule.start_c
        late = all(temperature < start for _, temperature in points)
        found = [said("late start", first=points[0][1], start=start)] if late else []
        for (earlier, before), (minutes, after) in pairwise(points):
            found += [said("long gap", hours=(minutes - earlier) / 60)] if minutes - earlier > LONG_GAP_MIN else []
            found += [said("rose", before=before, after=after, minutes=minutes)] if after > before + RISE_C else []
        return tuple(found)

    @property
    def next_step(self) -> str:
        """What to do now, deferring to the local code."""
        return f"{_NEXT[self.verdict]} Your local code or inspector decides."


def verdict(points: Sequence[Point], rule: CoolingRule) -> str:
    """Hold readings against the limits, and claim nothing that lies between two readings.

    ``points``: minutes and temperature, in order and in the unit of the rule.

    Notes
    -----
    The clock starts somewhere between the last reading at or above the start and the first below it; a stage that is counted
    apart, where the one before was reached. A stage is met when it was reached in time even on the earliest start, and nothing
    rose above it since; it is missed when it was not reached in time even on the latest. A pot that is reheated starts anew, but
    not after its last stage was missed.

    Examples
    --------
    >>> rule = cooling_rules()["US model Food Code"]
    >>> verdict([(0, 57), (114, 21), (354, 5)], rule), verdict([(0, 57), (120, 30)], rule), verdict([(0, 57), (60, 40)], rule)
    ('meets both stages', 'misses stage 1', 'not enough readings')
    """
    one = len(rule.stages) == 1
    again = [n for n, (before, now) in enumerate(pairwise(points), 1) if before[1] < rule.start_c <= now[1]]
    *_, found = parts = [_stages(points[:end], rule) for end in (*again, len(points))]
    if any(stages[-1][0] for stages in parts):
        return "misses the limit" if one else "misses stage 2"
    if found[0][0]:
        return "misses stage 1"
    if not all(met for _, met in found):
        return "not enough readings"
    return "meets the limit" if one else "meets both stages"


def _stages(points: Sequence[Point], rule: CoolingRule) -> list[tuple[bool, bool]]:
    """Of each stage whether it was surely missed, and whether it was surely met, since the pot was last at the start or above."""
    hot = [number for number, (_, at) in enumerate(points) if at >= rule.start_c]
    after = points[hot[-1] if hot else 0 :]
    earliest = after[0][0] if hot else -math.inf
    latest = next((minutes for minutes, at in after if at <= rule.start_c), math.inf)
    found = []
    for limit, hours in rule.stages:
        reached = next((n for n, (_, at) in enumerate(after) if at <= limit), len(after))
        minutes, at = after[reached] if reached < len(after) else (math.inf, math.inf)
        # Cooling past a limit, a pot that stands right on it was above it a moment before.
        late = at == limit and minutes > latest + 60 * hours
        late |= any(above > limit and then >= latest + 60 * hours for then, above in after)
        kept = all(later <= limit for _, later in after[reached:])
        found.append((late, kept and minutes <= earliest + 60 * hours))
        if rule.apart:
            earliest = minutes if at == limit or not reached else after[reached - 1][0]
            latest = minutes
    return found


class TwoPoint(NamedTuple):
    """An early forecast: rate [log10 per h], hours of each stage as the rule counts them (infinite: never), and both in words."""

    rate_log10_per_h: float
    hours: tuple[float, ...]
    text: str


def two_point(first: Point, second: Point, around_c: float, rule: CoolingRule = USUAL_RULE) -> TwoPoint:
    """Forecast from two readings.

    Parameters
    ----------
    first, second : (float, float)
        Minutes and temperature [C]; ReadingError if it did not cool between the two, or is not warmer than what is around it.
    around_c : float
        Temperature of the air or water around the pot [C].
    rule : CoolingRule, optional
        The US model Food Code unless given.

    Notes
    -----
    rate = (log10(T1 - Ta) - log10(T2 - Ta))/time: Hedeen, Schaffner and Brown 2022. Most curves of 29 foods in 25 kitchens were
    straight on that scale (R2 above 0.90); the first half hour of a thick pot is not, and forecasts too slow a pot then.

    Examples
    --------
    >>> fahrenheit = lambda f: (f - 32) / 1.8
    >>> found = two_point((0, fahrenheit(135)), (120, fahrenheit(70)), fahrenheit(37))
    >>> round(found.rate_log10_per_h, 3)
    0.236
    """
    apart_h = (second[0] - first[0]) / 60
    known = {"first": first[1], "second": second[1], "minutes": 60 * apart_h, "around": around_c}
    said.refuse(not (apart_h > 0 and first[1] > second[1] > around_c), "two points", **known)
    rate = math.log10((first[1] - around_c) / (second[1] - around_c)) / apart_h
    parts, hours = [], []
    for begin, celsius, limit in rule.spans:
        over = begin - around_c
        hours.append(math.log10(over / (celsius - around_c)) / rate if celsius > around_c else math.inf)
        when = f"about {hours[-1]:.1f} h" if celsius > around_c else "never"
        parts.append(f"{celsius:g} C {when} after {begin:g} C (limit {limit:g} h)")
    late = any(took > limit for took, (_, limit) in zip(hours, rule.stages, strict=True))
    text = said("two point rate", rate=rate, parts="; ".join(parts), act=said("act now") if late else "")
    return TwoPoint(rate, tuple(hours), text)
