"""Sheets to print, from the templates beside this file: ballots, their key, a checklist, the leaves of a card. Every text is escaped."""

from itertools import groupby

from markupsafe import Markup

from spoonline.card import PAPERS, RecipeCard
from spoonline.card.render import render
from spoonline.keeping import COOLING, LOCAL_CODE, Plan, cautions_for, use_by
from spoonline.recipes import ShoppingList
from spoonline.tasters import JUST, LIKING, Session, power_sentence


def _sheet(template: str, title: str, **what: object) -> str:
    return render(template, "spoonline.widgets.parts", title=title, **what)


def ballots_html(session: Session) -> str:
    """Ballots to print on A4 and cut apart, two or four a leaf: one self-contained page; no name of a sample stands on them."""
    points, just = list(enumerate(reversed(LIKING), 1)), list(enumerate(JUST, 1))
    return _sheet("ballots.html", f"Ballots, {session.title}", session=session, liking=points, just=just)


def key_html(session: Session) -> str:
    """The key sheet, for whoever serves and not for tasters: what each code is, who gets what when, how to type the answers."""
    warm_c = [float(each.temperature_c) for each in session.samples if each.temperature_c is not None]
    level = len(warm_c) == len(session.samples) and max(warm_c) - min(warm_c) <= 2
    samples = list(zip(session.samples, session.codes, strict=True))
    power = power_sentence(session)
    return _sheet("key.html", f"Key, {session.title}", session=session, samples=samples, power=power, level=level)


def leaves_html(card: RecipeCard) -> str:
    """The leaves of a card to print, as its PDF has them: one picture a page, the paper's own margins inside it."""
    leaves = [Markup(each.decode()) for each in card.leaves(kind="svg")]
    return _sheet("leaves.html", card.recipe.title, page=PAPERS[card.habits.paper], leaves=leaves)


def shopping_html(listed: ShoppingList) -> str:
    """What to buy, as a page to print with a box before each line."""
    return _sheet("shopping.html", "What to buy", lines=_boxed(listed))


def _boxed(listed: ShoppingList) -> list[str]:
    """The lines of a shopping list, each with its box to tick, under their shelves."""
    return listed.text.replace("- [ ]", "\u2610").replace("- [x]", "\u2611").splitlines()


def checklist_html(plan: Plan, shopping: ShoppingList | None = None) -> str:
    """The checklist of a dinner that fits, a page a day with the cautions of its steps; what to buy is the first page."""
    dinner, days = plan.dinner, []
    for day, group in groupby(plan.tasks, key=lambda task: task.start.date()):
        tasks, before = list(group), (dinner.serve_at.date() - day).days
        away = f"{before} {'day' if before == 1 else 'days'} before" if before else "the day itself"
        care = dict.fromkeys(text for task in tasks for text in cautions_for(task.stage.text))
        days.append(
            {"name": f"{day:%A %d %B %Y}, {away}", "tasks": tasks, "serves": before == 0, "care": (*care, LOCAL_CODE),
             "probe": COOLING in care}
        )  # fmt: skip
    lines = [] if shopping is None else _boxed(shopping)
    title = f"{dinner.name}: {dinner.serve_at:%A %d %B %Y, %H:%M}"
    return _sheet("checklist.html", title, dinner=dinner, days=days, shopping=lines, kept=use_by(plan))
