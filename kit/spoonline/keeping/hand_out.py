"""What a planned dinner hands out: days by which to use it, a calendar file, one shopping list."""

import hashlib
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any

from spoonline.keeping.cautions import LOCAL_CODE, cautions_for
from spoonline.keeping.dates import last_days
from spoonline.keeping.dinner import Plan
from spoonline.keeping.places import said
from spoonline.measures.errors import RecipeError
from spoonline.recipes import OwnTrim, Recipe, ShoppingList, shopping_list


def use_by(plan: Plan) -> tuple[str, ...]:
    """Say by when the dishes made ahead must be used, counted from the day of their first stage, with the authorities."""
    made: dict[date, list[str]] = {}
    for dish in plan.dinner.dishes:
        first = min(task.start.date() for task in plan.tasks if task.dish == dish.title)
        if first < plan.dinner.serve_at.date():
            made.setdefault(first, []).append(dish.title)
    return tuple(
        f"{', '.join(titles)}: {last_days(day, plan.jurisdiction).text}" for day, titles in sorted(made.items())
    )


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

    if not plan.fits:
        raise RecipeError("This dinner has no schedule yet; change what does not fit, and plan it again.")
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
    text: str = made.to_ical().decode()
    return text


def shopping_for(
    plan: Plan, recipes: Iterable[Recipe], trims: Iterable[OwnTrim] = (), in_store: Mapping[str, float | str] | None = None
) -> ShoppingList:  # fmt: skip
    """One list for the dinner: every recipe of one of its dishes scaled to the guests, trimmed, less what is there.

    RecipeError if a recipe does not say how many it serves.
    """
    titles = {dish.title for dish in plan.dinner.dishes}
    wanted = []
    for recipe in recipes:
        if recipe.title in titles:
            if recipe.servings is None:
                raise RecipeError(said("serves none", title=recipe.title))
            wanted.append(recipe.scaled(servings=float(plan.dinner.guests)))
    return shopping_list(wanted, trims, in_store)
