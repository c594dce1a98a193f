"""Every figure with no pot, one, three and forty; invented pots of the winter lunch club's soups."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from functools import cache, partial

import numpy as np
import pandas as pd

from figures.test_surface import AIM
from figures.test_surface import reading as plan_of
from pots.pots import SOUP, pot, reading
from spoonline import flow
from spoonline.dish import Dish
from spoonline.figures import (
    Drawn,
    cooling_figure,
    dinner_figure,
    dose_figure,
    effect,
    flow_figure,
    session_figure,
    surface_figure,
    tree_figure,
)
from spoonline.keeping import (
    SURROUNDINGS,
    Container,
    CoolingLog,
    Dinner,
    Food,
    cooling_rules,
    forecast,
    plan,
    read_dishes,
)
from spoonline.keeping.dinner import DinnerStage
from spoonline.keeping.schedule import Plan, Task
from spoonline.measures import Range
from spoonline.pots import Batch
from spoonline.recipes import Recipe, Version
from spoonline.tasters import Sample, Session, plan_session
from spoonline.widgets.make_ahead_panel import EXAMPLE, HOURS, read_hours

JUST = ("too thin", "just right", "just right", "too thick")
COUNTS = (0, 1, 3, 40)
NOTES = (
    "",
    "less stock, the pears riper",
    "as the club liked it: a little thinner, and warmed again in the large pot " * 3,
)


def version(number: int, grams: float, parent: int | None = None) -> Version:
    recipe = Recipe(
        title=SOUP.title, ingredients=["1 l vegetable stock", f"{grams:g} g corn starch"], target=SOUP.target
    )
    return Version(
        title=SOUP.title, number=number, id=f"{number:064d}", saved_at="2026-01-08T00:00:00Z", recipe=recipe,
        parent=parent, note=NOTES[number % 3],
    )  # fmt: skip


@cache
def dish(pots: int, versions: int = 2, *, aim: bool = True, far: bool = False) -> Dish:
    """So many pots of so many versions, spread as a kitchen's are; with ``far`` one of them ten times too thick for its axis."""
    draw = np.random.default_rng(7)
    made = [version(each, 24 + 3 * each % 13, each // 2 or None) for each in range(1, versions + 1)]
    batches = []
    for number in range(1, pots + 1):
        chosen = made[draw.integers(versions)]
        shown = (chosen.recipe.dose_g_per_l / 30) ** 3 * np.exp(draw.normal(0, 0.2))
        if far and number == pots:
            shown *= 40
        day = date(2026, 1, 1) + timedelta(days=number)
        more: dict[str, object] = {"left_out": "scorched"} if number == 2 else {}
        more |= {"number": number, "cooked_on": day}
        batches.append(Batch(**dict(pot(1, float(shown), version=chosen.number)) | more))
    recipe = made[-1].recipe if aim else made[-1].recipe.model_copy(update={"target": None})
    return Dish(recipe, made[-1], tuple(made), tuple(batches))


def ladder() -> Dish:
    """A pot that was read three times while starch went in, and one that was read once."""
    recipe = version(1, 24).recipe
    moments = [
        {"kind": "read", "reading": reading(0.4)},
        {"kind": "put in", "item": "corn starch", "mass_g": 3}, {"kind": "read", "reading": reading(0.62)},
        {"kind": "put in", "item": "corn starch", "mass_g": 3}, {"kind": "read", "reading": reading(0.95)},
    ]  # fmt: skip
    rung = Batch(title=SOUP.title, version=1, number=1, cooked_on=date(2026, 1, 1), moments=moments)
    return Dish(recipe, version(1, 24), (version(1, 24),), (rung, pot(2, 0.5, version=1)))


def dose(made: Dish) -> Drawn:
    assert made.curve is not None
    return dose_figure(made.curve, None, made.next)


def tree(versions: int, pots: int, **more: bool) -> Drawn:
    made = dish(pots, max(versions, 1), **more)
    kept = made.versions[:versions]
    words = {each.number: each.recipe.dose_text for each in kept}
    marked = [each.number for each in kept[-2:]]
    return tree_figure(kept, words, marked, made.viscosities if versions else None, made.aim)


def fluid(tools: int) -> Drawn:
    thick = flow.Fluid(2.4, 0.44, 1030.0)
    rates = {name: float(flow.usual(name).shear_rate(thick)) for name in list(flow.TOOLS)[:tools]}
    rates |= {f"tool {each}": 0.05 * 1.25**each for each in range(len(rates), tools)}
    ranges = {rate: thick.viscosity(rate) for rate in (0.1, 1, 10, 100)} if tools else {}
    return flow_figure(thick, rates, {rate: Range(best, best / 1.4, best * 1.4) for rate, best in ranges.items()})


def cooling(readings: int, whose: str) -> Drawn:
    rule = cooling_rules()[whose]
    planned = (
        forecast(Food(0.56, 1000.0, 4000.0), Container(6.0), [(next(iter(SURROUNDINGS.values())), None)], rule=rule)
        if readings != 1
        else None
    )
    log = None
    if readings:
        lines = [
            {"minutes": 9 * each, "temperature_c": round(5 + 60 * float(np.exp(-each / 25)), 1)}
            for each in range(readings)
        ]
        log = CoolingLog(title=SOUP.title, readings=lines, jurisdiction=whose)
    return cooling_figure(planned, log)


@cache
def session(kind: str, samples: int, tasters: int) -> Session:
    cups = [Sample(label=f"version {each}", version=each) for each in range(1, samples + 1)]
    made = plan_session(SOUP.title, kind, cups, tasters, invented=True)
    draw, lines = np.random.default_rng(3), []
    for taster, order in enumerate(made.orders, start=1):
        codes = list(order)
        if kind in ("pair", "triangle", "duo-trio"):
            said = made.right_code(taster) if draw.random() < 0.7 else codes[-1]
        elif kind == "ranking":
            said = " ".join(draw.permutation(codes))
        elif kind == "liking":
            said = " ".join(f"{code} {draw.integers(3, 9)}" for code in codes)
        else:
            said = "; ".join(f"{code} {draw.integers(4, 9)} {JUST[draw.integers(4)]}" for code in codes)
        lines.append(f"{taster}: {said}")
    return made.with_answers("\n".join(lines))


def dinner(tasks: int) -> Plan:
    if tasks == 3:
        given = {"tools": {"burner": 2, "oven": 1, "large pot": 1}, "guests": 24}
        return plan(
            Dinner(
                name="Winter lunch",
                serve_at="2026-01-22T12:30",
                dishes=read_dishes(EXAMPLE),
                free=read_hours(HOURS),
                **given,
            )
        )
    made = dinner(3)
    stage, start = made.tasks[0].stage, datetime(2026, 1, 21, 8)
    more = [
        Task("Roast parsnip and pear soup", stage.model_copy(update={"text": f"stage {each} of a long list, with all its words"}),
             start + timedelta(minutes=20 * each), start + timedelta(minutes=20 * each + 10), start + timedelta(minutes=20 * each + 45))
        for each in range(tasks)
    ]  # fmt: skip
    assert isinstance(stage, DinnerStage)
    return Plan(made.dinner, tuple(more))


def surface(stars: bool, law: str) -> Drawn:
    laws = {
        "slope": lambda u, v: np.log(0.35) + 0.5 * u - 0.2 * v + 0.1 * u * v,
        "top": lambda u, v: -1 - 0.8 * (u - 0.3) ** 2 - 0.9 * (v + 0.2) ** 2,
        "saddle": lambda u, v: -1 + 0.8 * u**2 - 0.9 * v**2,
    }
    return surface_figure(plan_of(laws[law], stars), AIM, "Invented data.")


@cache
def effects(pots: int) -> Drawn:
    """So many biscuits by their butter, on three days, with an aim."""
    draw = np.random.default_rng(3)
    butter = np.linspace(40, 62, max(pots, 1))[:pots]
    spread = 6.5 * (butter / 50) ** 0.5 * np.exp(draw.normal(0, 0.03, pots))
    days = [f"2026-01-{8 + n % 3:02}" for n in range(pots)]
    frame = pd.DataFrame({"cooked_on": days, "butter_g_per_100g_flour": butter, "spread_cm": spread})
    return effect(frame, "butter", "spread", aim=("spread", "cm", 6.3, 6.7)).figure("Invented data.")


def every() -> Iterator[tuple[str, Callable[[], Drawn]]]:
    """The name of each, and what draws it."""
    for count in COUNTS:
        yield f"dose {count}", lambda count=count: dose(dish(count))
        yield f"dose {count} no aim", lambda count=count: dose(dish(count, aim=False))
        yield f"tree {count}", lambda count=count: tree(min(count, 12), count)
        yield f"flow {count}", lambda count=count: fluid(count)
        yield f"cooling {count}", lambda count=count: cooling(count, "US model Food Code")
        yield f"effect {count}", lambda count=count: effects(count)
        if count:
            yield f"dinner {count}", lambda count=count: dinner_figure(dinner(count))
    for whose in list(cooling_rules())[1:]:
        yield f"cooling {whose}", lambda whose=whose: cooling(3, whose)
    yield "dose 11", lambda: dose(dish(11))
    yield "dose far 5", lambda: dose(dish(5, far=True))
    yield "dose far 40", lambda: dose(dish(40, far=True))
    yield "dose ladder", lambda: dose(ladder())
    yield "tree far", lambda: tree(3, 6, far=True)
    yield "tree 40 versions", lambda: tree(40, 40)
    for kind, samples, tasters in (
        ("pair", 2, 12), ("triangle", 2, 3), ("ranking", 3, 12), ("ranking", 6, 40), ("liking", 3, 40), ("just right", 1, 3),
        ("just right", 3, 40), ("just right", 5, 40),
    ):  # fmt: skip
        made = partial(session, kind, samples, tasters)
        yield f"session {kind} {samples} {tasters}", lambda made=made: session_figure(made())
    for law in ("slope", "top", "saddle"):
        for stars in (False, True):
            yield f"surface {law} {'stars' if stars else 'corners'}", partial(surface, stars, law)
