"""What a planned dinner hands out: days by which to use it, what freezing does, a calendar file, one shopping list."""

import hashlib
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple

from spoonline import facts
from spoonline.keeping.cautions import LOCAL_CODE, cautions_for
from spoonline.keeping.places import jurisdiction_of, said
from spoonline.keeping.schedule import Plan
from spoonline.recipes import OwnTrim, Recipe, ShoppingList, shopping_list


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
        return said("use by", last=self.last, limits=limits)


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


def use_by(plan: Plan) -> tuple[str, ...]:
    """Say by when the dishes made ahead must be used, counted from the day of their first stage, with the authorities."""
    made: dict[date, list[str]] = {}
    for dish in plan.dinner.dishes:
        first = min(task.start.date() for task in plan.tasks if task.dish == dish.title)
        if first < plan.dinner.serve_at.date():
            made.setdefault(first, []).append(dish.title)
    days = ((last_days(day, plan.jurisdiction), titles) for day, titles in sorted(made.items()))
    return tuple(f"{', '.join(titles)}: {last.text}" for last, titles in days)


def calendar(plan: Plan, made_at: datetime | None = None) -> str:
    """Write the plan as an iCalendar file (RFC 5545).

    One event a stage and one for serving, in local ("floating") time; equal plans have equal event ids.

    Parameters
    ----------
    plan : Plan
        RecipeError if it does not fit.
    made_at : datetime, optional
        Time stamp of the file (UTC); now unless given.
    """
    from icalendar import Calendar, Event

    said.refuse(not plan.fits, "not planned")
    dinner, stamp, made = plan.dinner, made_at or datetime.now(UTC), Calendar()
    made.add("prodid", "-//spoonline//made ahead//EN")
    made.add("version", "2.0")
    rows: list[tuple[datetime, datetime, str, list[str]]] = []
    for task in plan.tasks:
        tools = [f"With: {', '.join(task.stage.tools)}"] if task.stage.tools else []
        notes = [*tools, *cautions_for(task.stage.text)]
        rows.append((task.start, task.end, f"{task.dish}: {task.stage.text}", notes))
    rows.append((dinner.serve_at, dinner.serve_at, f"{dinner.name}: serve {dinner.guests} guests", []))
    for start, end, what, notes in rows:
        mark = hashlib.sha256(f"{dinner.name}\n{what}\n{start.isoformat()}".encode()).hexdigest()[:32]
        told: dict[str, Any] = {"summary": what, "description": "\n".join([*notes, LOCAL_CODE])}
        told |= {"stamp": stamp, "start": start, "end": end if end > start else None}
        made.add_component(Event.new(uid=f"{mark}@spoonline", **told))
    return str(made.to_ical().decode())


def shopping_for(
    plan: Plan, recipes: Iterable[Recipe], trims: Iterable[OwnTrim] = (), in_store: Mapping[str, float | str] | None = None
) -> ShoppingList:  # fmt: skip
    """One list for the dinner: every recipe of one of its dishes scaled to the guests, trimmed, less what is there.

    RecipeError if a recipe does not say how many it serves.
    """
    titles = {dish.title for dish in plan.dinner.dishes}
    wanted = [recipe for recipe in recipes if recipe.title in titles]
    for recipe in wanted:
        said.refuse(recipe.servings is None, "serves none", title=recipe.title)
    scaled = [recipe.scaled(servings=float(plan.dinner.guests)) for recipe in wanted]
    return shopping_list(scaled, trims, in_store)
