"""When to do what: a backward schedule by a constraint solver, and what to relax where none fits."""

from __future__ import annotations

import math
from collections.abc import Set
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from itertools import combinations, islice
from typing import TYPE_CHECKING, Any

from spoonline.keeping.dinner import MOST_DAYS, Dinner, DinnerStage
from spoonline.measures.errors import RecipeError

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

STEP_MIN = 5
EFFORT = 20.0  # of the solver, in its own machine-independent seconds
# One thing to relax: its kind, then which.
Relaxed = tuple[str, str, int]


@dataclass(frozen=True)
class Task:
    """One stage at its time; hands are in it until ``hands_until``."""

    dish: str
    stage: DinnerStage
    start: datetime
    hands_until: datetime
    end: datetime


@dataclass(frozen=True)
class Plan:
    """A dinner with its tasks in order of time; without tasks where nothing fits, and then what would help."""

    dinner: Dinner
    tasks: tuple[Task, ...]
    relax: tuple[str, ...] = ()

    @property
    def fits(self) -> bool:
        """Whether a schedule was found."""
        return bool(self.tasks)

    @property
    def text(self) -> str:
        """The answer in a sentence or two."""
        if not self.fits:
            ways = "; or ".join(self.relax)
            none = "no one or two relaxations of hours, tools, days or hands are enough: take a dish off"
            return f"Nothing fits. What would: {ways or none}."
        hands = sum(float(task.stage.active_min) for task in self.tasks)
        days = sorted({task.start.date() for task in self.tasks})
        first = self.tasks[0]
        return (
            f"It fits: {len(self.tasks)} stages on {len(days)} {'day' if len(days) == 1 else 'days'}, {hands:.0f} min of hands; begin on "
            f"{first.start:%A %d %B at %H:%M} with {first.dish}: {first.stage.text}."
        )


def plan(dinner: Dinner, *, step_min: int = STEP_MIN, relax: bool = True) -> Plan:
    """Plan a dinner backward from the time it is served: every stage as late as it can be.

    Parameters
    ----------
    dinner : Dinner
    step_min : int
        Times are multiples of this [min], 1 to 60, or a RecipeError; lengths are rounded up to it.
    relax : bool
        Whether to look for what to relax if nothing fits.

    Notes
    -----
    Stages of a dish follow one another; hands never overlap; no tool is used more than there are; all but what waits alone lies in
    the free hours; nothing is begun before its earliest day nor so early that it outlasts its keeping; what must follow soon does.
    Solver: CP-SAT of OR-Tools, one worker and a fixed seed, so that one dinner has one plan.
    If nothing fits, single relaxations are tried, then pairs.

    Examples
    --------
    >>> from spoonline.keeping.dinner import FreeHours, read_dishes
    >>> lunch = Dinner(name="Lunch", serve_at="2026-01-22T12:30", guests=24, tools={"burner": 1},
    ...                dishes=read_dishes("Mushroom gravy\\n- Simmer; 15+20; burner; day 0; within 10 min"),
    ...                free=[FreeHours(day=0, start="09:00", end="12:30")])
    >>> plan(lunch).tasks[0].start.isoformat()
    '2026-01-22T11:55:00'
    """
    if not 1 <= step_min <= 60:
        raise RecipeError(f"Steps of {step_min} min came; 1 to 60 min are wanted.")
    tasks = _solve(dinner, set(), step_min, best=True)
    if tasks or not relax:
        return Plan(dinner, tasks)
    ways = _ways(dinner)
    helps = [words for way, words in ways.items() if _solve(dinner, {way}, step_min)]
    if helps:
        return Plan(dinner, (), tuple(helps))
    for one, two in islice(combinations(ways, 2), 60):
        if _solve(dinner, {one, two}, step_min):
            return Plan(dinner, (), (f"{ways[one]}, and {ways[two]}",))
    return Plan(dinner, ())


def _ways(dinner: Dinner) -> dict[Relaxed, str]:
    """Everything that may be relaxed, with its words; how long a dish keeps is a limit and is never offered."""
    ways: dict[Relaxed, str] = {}
    for day in sorted({day for _, each in dinner.stages for day in range(each.latest_day, each.earliest_day + 1)}):
        hours = ", ".join(f"{each.start:%H:%M}-{each.end:%H:%M}" for each in dinner.free if each.day == day) or "none"
        ways["hours", "", day] = f"more free hours on {dinner.day(day):%A %d %B} (now {hours})"
    for tool in sorted({tool for _, stage in dinner.stages for tool in stage.tools}):
        ways["tool", tool, 0] = f"one more {tool}"
    ways["hands", "", 0] = "a second pair of hands"
    for dish in dinner.dishes:
        for number, stage in enumerate(dish.stages):
            if stage.earliest_day - stage.latest_day < MOST_DAYS:
                ways["days", dish.title, number] = f"{dish.title}, {stage.text!r}, on a day earlier or later"
            if stage.within_min is not None:
                held = f"longer than {stage.within_min} min after {stage.text!r}, held hot or cold"
                ways["within", dish.title, number] = f"{dish.title}: {held}"
    return ways


def _solve(dinner: Dinner, relaxed: Set[Relaxed], step: int, *, best: bool = False) -> tuple[Task, ...]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    midnight = datetime.combine(dinner.day(MOST_DAYS), time())
    day_steps = math.ceil(1440 / step)
    # Days are laid end to end on a grid of their own, so that a step need not divide a day.
    serve = MOST_DAYS * day_steps + (60 * dinner.serve_at.hour + dinner.serve_at.minute) // step
    windows = _windows(dinner, relaxed, step, day_steps)
    placed: list[tuple[str, DinnerStage, cp_model.IntVar, int, int]] = []
    hands: list[cp_model.IntervalVar] = []
    used: dict[str, list[cp_model.IntervalVar]] = {}
    for dish in dinner.dishes:
        for number, stage in enumerate(dish.stages):
            active = math.ceil(float(stage.active_min) / step)
            whole = max(active + math.ceil(float(stage.waiting_min) / step), 1)
            start = model.new_int_var(0, serve, "")
            model.add(start + whole <= serve)
            slack = ("days", dish.title, number) in relaxed
            earliest = min(stage.earliest_day + slack, stage.keeps - 1, MOST_DAYS)
            # What needs the cook lies in one of the stretches.
            chosen = []
            for day, first, last in windows:
                if max(stage.latest_day - slack, 0) <= day <= earliest:
                    here = model.new_bool_var("")
                    model.add(start >= first).only_enforce_if(here)
                    model.add(start + max(active if stage.alone else whole, 1) <= last).only_enforce_if(here)
                    chosen.append(here)
            model.add_exactly_one(chosen) if chosen else model.add_bool_or([])
            if active:
                hands.append(model.new_fixed_size_interval_var(start, active, ""))
            for tool in set(stage.tools):
                used.setdefault(tool, []).append(model.new_fixed_size_interval_var(start, whole, ""))
            placed.append((dish.title, stage, start, active, whole))
        # One after the other, and soon where it must be.
        line = placed[-len(dish.stages) :]
        followers: list[Any] = [*(start for _, _, start, _, _ in line[1:]), serve]
        for number, ((_, stage, start, _, whole), after) in enumerate(zip(line, followers, strict=True)):
            model.add(start + whole <= after)
            if stage.within_min is not None and ("within", dish.title, number) not in relaxed:
                model.add(after - start - whole <= math.floor(float(stage.within_min) / step))
    model.add_cumulative(hands, [1] * len(hands), 1 + (("hands", "", 0) in relaxed))
    for tool, uses in used.items():
        model.add_cumulative(uses, [1] * len(uses), dinner.tools[tool] + (("tool", tool, 0) in relaxed))
    if best:
        model.maximize(sum(start for _, _, start, _, _ in placed))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = EFFORT
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return ()

    def at(steps: int) -> datetime:
        day, within = divmod(steps, day_steps)
        return midnight + timedelta(days=day, minutes=within * step)

    tasks = []
    for title, stage, start, active, whole in placed:
        begin = solver.value(start)
        tasks.append(Task(title, stage, at(begin), at(begin + active), at(begin + whole)))
    return tuple(sorted(tasks, key=lambda task: (task.start, task.end, task.dish)))


def _windows(dinner: Dinner, relaxed: Set[Relaxed], step: int, day_steps: int) -> list[tuple[int, int, int]]:
    """Days before, first and last step of every stretch of free hours; a relaxed day is free all through."""
    found = []
    for day in range(MOST_DAYS + 1):
        base = (MOST_DAYS - day) * day_steps
        if ("hours", "", day) in relaxed:
            found.append((day, base, base + day_steps))
            continue
        for each in dinner.free:
            if each.day == day:
                begin, end = (60 * at.hour + at.minute for at in (each.start, each.end))
                end += end == 1439  # 23:59 counts as midnight
                found.append((day, base + math.ceil(begin / step), base + end // step))
    return found
