"""When to do what: a backward schedule by a constraint solver, and what does not fit where there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from spoonline.keeping.dinner import MOST_DAYS, Dinner, DinnerStage
from spoonline.measures.errors import RecipeError

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

STEP_MIN = 5
EFFORT = 20.0  # of the solver, in its own machine-independent seconds


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
    """A dinner with its tasks in order of time; without tasks where nothing fits, and then what does not."""

    dinner: Dinner
    tasks: tuple[Task, ...]
    does_not_fit: str = ""

    @property
    def fits(self) -> bool:
        """Whether a schedule was found."""
        return bool(self.tasks)

    @property
    def text(self) -> str:
        """The answer in a sentence or two."""
        if not self.fits:
            return f"Nothing fits: {self.does_not_fit}."
        hands = sum(float(task.stage.active_min) for task in self.tasks)
        days = len({task.start.date() for task in self.tasks})
        first = self.tasks[0]
        return (
            f"It fits: {len(self.tasks)} stages on {days} {'day' if days == 1 else 'days'}, {hands:.0f} min hands-on; begin on "
            f"{first.start:%A %d %B at %H:%M} with {first.dish}: {first.stage.text}."
        )


def plan(dinner: Dinner, *, step_min: int = STEP_MIN) -> Plan:
    """Plan a dinner backward from the time it is served: every stage as late as it can be.

    Parameters
    ----------
    dinner : Dinner
    step_min : int
        Times are multiples of this [min], 1 to 60, or a RecipeError; lengths are rounded up to it.

    Notes
    -----
    Stages of a dish follow one another; hands never overlap; no tool is used more than there are; all but what waits alone lies in
    the free hours; nothing is begun before its earliest day nor so early that it outlasts its keeping; what must follow soon does.
    Solver: CP-SAT of OR-Tools, one worker and a fixed seed, so that one dinner has one plan.

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
    tasks = _solve(dinner, step_min)
    return Plan(dinner, tasks, "" if tasks else _does_not_fit(dinner, step_min))


def _does_not_fit(dinner: Dinner, step_min: int) -> str:
    """The first dish that does not fit, alone or beside those before it."""
    for dish in dinner.dishes:
        if not _solve(dinner.model_copy(update={"dishes": (dish,)}), step_min):
            return f"{dish.title} alone does not fit into the free hours of its days"
    count = next(
        count for count in range(2, len(dinner.dishes) + 1)
        if not _solve(dinner.model_copy(update={"dishes": dinner.dishes[:count]}), step_min)
    )  # fmt: skip
    *others, last = (dish.title for dish in dinner.dishes[:count])
    return f"{last} does not fit beside {' and '.join(others)}: the cook's hands, the tools or the free hours run out"


def _solve(dinner: Dinner, step: int) -> tuple[Task, ...]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    midnight = datetime.combine(dinner.day(MOST_DAYS), time())
    day_steps = math.ceil(1440 / step)
    # Days are laid end to end on a grid of their own, so that a step need not divide a day.
    serve = MOST_DAYS * day_steps + (60 * dinner.serve_at.hour + dinner.serve_at.minute) // step
    windows = _windows(dinner, step, day_steps)
    placed: list[tuple[str, DinnerStage, cp_model.IntVar, int, int]] = []
    hands: list[cp_model.IntervalVar] = []
    used: dict[str, list[cp_model.IntervalVar]] = {}
    for dish in dinner.dishes:
        for stage in dish.stages:
            active = math.ceil(float(stage.active_min) / step)
            whole = max(active + math.ceil(float(stage.waiting_min) / step), 1)
            # What needs the cook lies in one of the stretches.
            days = range(stage.latest_day, min(stage.earliest_day, stage.keeps - 1) + 1)
            needs = max(active if stage.alone else whole, 1)
            spans = [[first, last - needs] for day, first, last in windows if day in days and first <= last - needs]
            if not spans:
                return ()
            start = model.new_int_var_from_domain(cp_model.Domain.from_intervals(spans), "")
            if active:
                hands.append(model.new_fixed_size_interval_var(start, active, ""))
            for tool in set(stage.tools):
                used.setdefault(tool, []).append(model.new_fixed_size_interval_var(start, whole, ""))
            placed.append((dish.title, stage, start, active, whole))
        # One after the other, and soon where it must be.
        line = placed[-len(dish.stages) :]
        followers: list[Any] = [*(start for _, _, start, _, _ in line[1:]), serve]
        for (_, stage, start, _, whole), after in zip(line, followers, strict=True):
            model.add(start + whole <= after)
            if stage.within_min is not None:
                model.add(after - start - whole <= math.floor(float(stage.within_min) / step))
    model.add_no_overlap(hands)
    for tool, uses in used.items():
        model.add_cumulative(uses, [1] * len(uses), dinner.tools[tool])
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


def _windows(dinner: Dinner, step: int, day_steps: int) -> list[tuple[int, int, int]]:
    """Days before, first and last step of every stretch of free hours."""
    found = []
    for each in dinner.free:
        begin, end = (60 * at.hour + at.minute for at in (each.start, each.end))
        end += end == 1439  # 23:59 means midnight
        base = (MOST_DAYS - each.day) * day_steps
        found.append((each.day, base + math.ceil(begin / step), base + end // step))
    return found
