"""How long it keeps, what freezing does to its thickener, and how to bring it back hot."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from spoonline import facts
from spoonline.measures.errors import RecipeError

KEPT_COLD = "at 5 C (41 F) or below all the while"


@dataclass(frozen=True)
class UseBy:
    """The last day by one authority: how many days, the day of preparation being day 1."""

    authority: str
    days: int
    last: date
    source: str


@dataclass(frozen=True)
class Keeping:
    """Last days of a dish by each authority, the shortest first, and the part whose earlier date rules it, if any."""

    made_on: date
    limits: tuple[UseBy, ...]
    ruled_by: str

    @property
    def last(self) -> date:
        """The last day to use it, by the shorter limit."""
        return self.limits[0].last

    @property
    def text(self) -> str:
        """All limits with their authority, in words."""
        limits = "; ".join(f"{each.last} by {each.authority} (day {each.days})" for each in self.limits)
        part = f" {self.ruled_by} is the oldest part and sets the date." if self.ruled_by else ""
        return (
            f"Use by {self.last}, the shorter of: {limits}. The day of preparation is day 1; {KEPT_COLD}.{part} "
            "Your local code or inspector decides; food businesses follow their date marks."
        )


def keeping(made_on: date, parts: Mapping[str, date] | None = None) -> Keeping:
    """Date a chilled dish by home and by retail limits; the day it was made is day 1.

    Parameters
    ----------
    made_on : date
        Day it was made.
    parts : mapping of str to date, optional
        Days on which its made-ahead parts were made; the earliest rules. RecipeError if one was made after the dish.

    Notes
    -----
    Home: University of Illinois Extension, 3 to 4 days. Retail: US model Food Code 3-501.17, 7 days, a mix by its earliest part.

    Examples
    --------
    >>> soup = keeping(date(2024, 10, 1))
    >>> [(each.authority, each.last.isoformat()) for each in soup.limits]
    [('US home advice', '2024-10-03'), ('US home advice, at most', '2024-10-04'), ('US model Food Code', '2024-10-07')]
    """
    days = {"": made_on, **(parts or {})}
    for name, day in days.items():
        if day > made_on:
            raise RecipeError(f"{name} was made on {day}, after the dish on {made_on}; check the days.")
    ruled_by, oldest = min(days.items(), key=lambda each: each[1])
    rows = []
    for name, words in (("keeping home", ""), ("keeping home longest", ", at most"), ("keeping retail", "")):
        limit = facts.limit(name)
        last = oldest + timedelta(days=int(limit.value) - 1)
        rows.append(UseBy(limit.jurisdiction + words, int(limit.value), last, limit.source))
    return Keeping(made_on, tuple(sorted(rows, key=lambda each: each.last)), ruled_by)


def freezing(thickeners: Iterable[str]) -> str:
    """Say what chilling, freezing and thawing do to a dish, by its thickeners; ItemError if one is none of this kit.

    Examples
    --------
    >>> print(freezing(["arrowroot"]).split(". ")[0])
    arrowroot: chilled, thins if held; add late; frozen and thawed, fair
    """
    rows = [facts.thickener(name) for name in thickeners]
    each = (f"{row.name}: chilled, {row.chill}; frozen and thawed, {row.freeze}" for row in rows)
    head = ". ".join(each) if rows else "No thickener to separate"
    months = facts.limit("freezing home")
    return (
        f"{head}. Thaw in the fridge, reheat while whisking, and read the thickness again; a native starch that weeps comes back with "
        f"whisking only in part. Frozen: {months.value:g} to 4 months ({months.jurisdiction}: {months.source.split(':')[0]}) for quality."
    )
