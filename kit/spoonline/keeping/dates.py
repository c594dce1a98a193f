"""How long it keeps, what freezing does to its thickener, and how to bring it back hot."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import NamedTuple

from spoonline import facts
from spoonline.keeping.places import jurisdiction_of, said

KEPT_COLD = "at 5 C (41 F) or below all the while"


class UseBy(NamedTuple):
    """The last day by one authority: how many days, the day of preparation being day 1."""

    authority: str
    days: int
    last: date
    source: str


class LastDays(NamedTuple):
    """Last days of a dish by each authority, the shortest first."""

    limits: tuple[UseBy, ...]

    @property
    def last(self) -> date:
        """The last day to use it, by the shorter limit."""
        return self.limits[0].last

    @property
    def text(self) -> str:
        """All limits with their authority, in words."""
        limits = "; ".join(f"{each.last} by {each.authority} (day {each.days})" for each in self.limits)
        return said("use by", last=self.last, limits=limits, cold=KEPT_COLD)


def last_days(made_on: date, jurisdiction: str = "us") -> LastDays:
    """The last days of a chilled dish by home limits and by those of a kitchen's jurisdiction; the day it was made is day 1.

    ``made_on``: the day it was made; of a dish with parts made ahead, that of its oldest part. Where a law counts no days, home
    advice alone stands.

    Notes
    -----
    Home: University of Illinois Extension, 3 to 4 days. Retail: US model Food Code 3-501.17, 7 days, a mix by its earliest part.

    Examples
    --------
    >>> soup = last_days(date(2024, 10, 1))
    >>> [(each.authority, each.last.isoformat()) for each in soup.limits]
    [('US home advice', '2024-10-03'), ('US home advice, at most', '2024-10-04'), ('US model Food Code', '2024-10-07')]
    """
    rows, own = [], jurisdiction_of(jurisdiction).figures["keeping"]
    home, longest = facts.limit("keeping home"), facts.limit("keeping home longest")
    for limit, words in ((home, ""), (longest, ", at most"), *([(own, "")] if own is not longest else [])):
        last = made_on + timedelta(days=int(limit.value) - 1)
        rows.append(UseBy(limit.jurisdiction + words, int(limit.value), last, limit.source))
    return LastDays(tuple(sorted(rows, key=lambda each: each.last)))


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
    whose, source = months.jurisdiction, months.source.split(":")[0]
    return said("freezing", head=head, months=months.value, whose=whose, source=source)
