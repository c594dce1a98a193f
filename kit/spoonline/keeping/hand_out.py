"""What a planned dinner hands out: a checklist for each day, a calendar file, one shopping list."""

from __future__ import annotations

import hashlib
import html
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from itertools import groupby

from spoonline.keeping.cautions import COOLING, LOCAL_CODE, cautions_for
from spoonline.keeping.dates import keeping
from spoonline.keeping.dinner import DinnerStage
from spoonline.keeping.plan import Plan, Task
from spoonline.measures.errors import RecipeError
from spoonline.recipes import OwnTrim, Recipe, ShoppingList, shopping_list

_PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title><style>
body {{ font: 11pt/1.4 sans-serif; color: #1b1b1b; max-width: 46rem; margin: 1.5rem auto; padding: 0 1rem; }}
h1 {{ font-size: 1.4rem; }} h2 {{ font-size: 1.15rem; border-bottom: 1px solid #5a5a5a; }}
table {{ border-collapse: collapse; width: 100%; }} td, th {{ text-align: left; vertical-align: top; padding: .3rem .5rem .3rem 0; }}
td {{ border-bottom: 1px solid #d0d0d0; }} .box {{ font-size: 1.3rem; line-height: 1; }} .when {{ white-space: nowrap; }}
.soft {{ color: #5a5a5a; }} .care {{ border-left: 4px solid #d55e00; padding-left: .6rem; margin: .3rem 0; }}
@media print {{ body {{ margin: 0; max-width: none; font-size: 10pt; }} section {{ break-before: page; }}
  section:first-of-type {{ break-before: auto; }}  tr, .care {{ break-inside: avoid; }} }} @page {{ margin: 15mm; }}
</style></head><body><h1>{title}</h1>{body}</body></html>
"""


def _fitting(plan: Plan) -> None:
    if not plan.fits:
        raise RecipeError("This dinner has no schedule yet; relax what the plan names, and plan it again.")


def use_by(plan: Plan) -> tuple[str, ...]:
    """Say by when the dishes made ahead must be used, counted from the day of their first stage, with the authorities."""
    made: dict[date, list[str]] = {}
    for dish in plan.dinner.dishes:
        first = min(task.start.date() for task in plan.tasks if task.dish == dish.title)
        if first < plan.dinner.serve_at.date():
            made.setdefault(first, []).append(dish.title)
    return tuple(f"{', '.join(titles)}: {keeping(day).text}" for day, titles in sorted(made.items()))


def checklist(plan: Plan, shopping: ShoppingList | None = None) -> str:
    """Write the checklist, a page a day with the cautions of its steps, as HTML that prints.

    Parameters
    ----------
    plan : Plan
        RecipeError if it does not fit.
    shopping : ShoppingList, optional
        Printed as the first page.
    """
    _fitting(plan)
    dinner, parts = plan.dinner, []
    if shopping is not None:
        lines = shopping.text.replace("- [ ]", "\u2610").replace("- [x]", "\u2611").splitlines()
        parts.append(f"<section><h2>To buy</h2><ul style='list-style: none; padding: 0'>{_items(lines)}</ul></section>")
    for day, group in groupby(plan.tasks, key=lambda task: task.start.date()):
        tasks, before = list(group), (dinner.serve_at.date() - day).days
        away = f"{before} {'day' if before == 1 else 'days'} before" if before else "the day itself"
        rows = "".join(_row(task) for task in tasks)
        if before == 0:
            rows += (
                f"<tr><td class='box'>\u2610</td><td class='when'>{dinner.serve_at:%H:%M}</td>"
                f"<td><b>Serve {dinner.guests} guests</b></td><td></td></tr>"
            )
        care = dict.fromkeys(text for task in tasks for text in cautions_for(task.stage.text))
        notes = "".join(f"<p class='care'>{html.escape(text)}</p>" for text in (*care, LOCAL_CODE))
        probe = (
            "<p>Probe at the centre: ____ C at ____, ____ C after 2 h, ____ C after 6 h.</p>" if COOLING in care else ""
        )
        parts.append(
            f"<section><h2>{day:%A %d %B %Y}, {away}</h2><table><tr><th></th><th>When</th><th>What</th><th>With</th></tr>"
            f"{rows}</table>{probe}{notes}</section>"
        )
    kept = use_by(plan)
    if kept:
        parts.append(f"<h2>Use by</h2><ul>{_items(kept)}</ul>")
    title = html.escape(f"{dinner.name}: {dinner.serve_at:%A %d %B %Y, %H:%M}")
    return _PAGE.format(title=title, body="".join(parts))


def _items(lines: Iterable[str]) -> str:
    return "".join(f"<li>{html.escape(line)}</li>" for line in lines)


def _row(task: Task) -> str:
    then = f", hands until {task.hands_until:%H:%M}" if task.start < task.hands_until < task.end else ""
    alone = ", alone" if task.stage.alone else ""
    end = f"{task.end:%H:%M}" if task.end.date() == task.start.date() else f"{task.end:%a %H:%M}"
    return (
        f"<tr><td class='box'>\u2610</td><td class='when'>{task.start:%H:%M} to {end}</td>"
        f"<td><b>{html.escape(task.dish)}</b>: {html.escape(task.stage.text)}<span class='soft'>{then}{alone}</span></td>"
        f"<td>{html.escape(', '.join(task.stage.tools))}</td></tr>"
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

    _fitting(plan)
    dinner, stamp, made = plan.dinner, made_at or datetime.now(UTC), Calendar()
    made.add("prodid", "-//spoonline//made ahead//EN")
    made.add("version", "2.0")
    rows: list[tuple[datetime, datetime, str, DinnerStage | None]] = [
        (task.start, task.end, f"{task.dish}: {task.stage.text}", task.stage) for task in plan.tasks
    ]
    rows.append((dinner.serve_at, dinner.serve_at, f"{dinner.name}: serve {dinner.guests} guests", None))
    for start, end, what, stage in rows:
        mark = hashlib.sha256(f"{dinner.name}\n{what}\n{start.isoformat()}".encode()).hexdigest()[:32]
        said = [f"With: {', '.join(stage.tools)}"] if stage and stage.tools else []
        event = Event()
        event.add("uid", f"{mark}@spoonline")
        event.add("dtstamp", stamp)
        event.add("dtstart", start)
        if end > start:
            event.add("dtend", end)
        event.add("summary", what)
        event.add("description", "\n".join([*said, *(cautions_for(stage.text) if stage else ()), LOCAL_CODE]))
        made.add_component(event)
    text: str = made.to_ical().decode()
    return text


def shopping_for(
    plan: Plan,
    recipes: Iterable[Recipe],
    trims: Iterable[OwnTrim] = (),
    in_store: Mapping[str, float | str] | None = None,
) -> ShoppingList:
    """One list for the dinner: every recipe of one of its dishes scaled to the guests, trimmed, less what is there.

    RecipeError if a recipe does not say how many it serves.
    """
    titles = {dish.title for dish in plan.dinner.dishes}
    wanted = []
    for recipe in recipes:
        if recipe.title in titles:
            if recipe.servings is None:
                raise RecipeError(
                    f"{recipe.title!r} does not say how many it serves; write 'Serves 8' below its title."
                )
            wanted.append(recipe.scaled(servings=float(plan.dinner.guests)))
    return shopping_list(wanted, trims, in_store)
