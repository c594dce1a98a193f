"""When to do what for a dinner made ahead, by a constraint solver: its tasks and probe checks, or what does not fit."""

import math
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime, time, timedelta
from typing import Any, NamedTuple

from spoonline import facts
from spoonline.keeping.dinner import COLD, HOT, MOST_DAYS, Dinner, DinnerStage, refusals, too_warm
from spoonline.keeping.places import CODE, Jurisdiction, jurisdiction_of, said

STEP_MIN = 5
PROBE_MIN = 5  # a cook with a probe at a pot (judged)
EFFORT = 20.0  # of the solver, in its own machine-independent seconds


class Task(NamedTuple):
    """One stage or probe check at its time; hands are in it until ``hands_until``."""

    dish: str
    stage: DinnerStage
    start: datetime
    hands_until: datetime
    end: datetime
    probes: bool = False


class Plan(NamedTuple):
    """A dinner with its tasks and probe checks in order of time; without them where it is refused, or nothing fits."""

    dinner: Dinner
    tasks: tuple[Task, ...]
    does_not_fit: str = ""
    refused: tuple[str, ...] = ()
    jurisdiction: str = "us"

    @property
    def fits(self) -> bool:
        """Whether a schedule was found."""
        return bool(self.tasks)

    @property
    def text(self) -> str:
        """The answer in a sentence or two."""
        if self.refused:
            return f"Refused. {' '.join(self.refused)} {CODE}"
        if not self.fits:
            return f"Nothing fits: {self.does_not_fit}."
        hands = sum(float(task.stage.active_min) for task in self.tasks)
        days, checks = len({task.start.date() for task in self.tasks}), sum(task.probes for task in self.tasks)
        stages, probes = len(self.tasks) - checks, f" and {checks} probe checks" if checks else ""
        unit = "day" if days == 1 else "days"
        return said("it fits", stages=stages, probes=probes, days=days, unit=unit, hands=hands, first=self.tasks[0])


def plan(dinner: Dinner, *, step_min: int = STEP_MIN, jurisdiction: str = "us") -> Plan:
    """Plan a dinner backward from the time it is served: every stage as late as it can be.

    Parameters
    ----------
    dinner : Dinner
    step_min : int
        Times are multiples of this [min], 1 to 60, or a RecipeError; lengths are rounded up to it.
    jurisdiction : str
        Whose limits it keeps, as in a kitchen's habits.

    Notes
    -----
    Stages of a dish follow one another; hands never overlap; no tool is used more than there are; all but what waits alone lies in
    the free hours; what must follow soon does. Food that was hot, or taken from the fridge, is chilled, heated, held hot or served
    within 2 h; what is chilled hot is probed at each limit of the code, and what is reheated at its end, in somebody's hours; a
    dish is eaten within the days that it keeps. None of this is ever relaxed, and none of it is an approval.
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
    said.refuse(not 1 <= step_min <= 60, "steps", came=step_min)
    place = jurisdiction_of(jurisdiction)
    refused = tuple(dict.fromkeys(why for dish in dinner.dishes for why in refusals(dish, place)))
    tasks = () if refused else _solve(dinner, step_min, place)
    why, warm = ("", refused) if tasks or refused else _why_not(dinner, step_min, place)
    return Plan(dinner, tasks, why, warm, jurisdiction)


def _why_not(dinner: Dinner, step: int, place: Jurisdiction) -> tuple[str, tuple[str, ...]]:
    """Why nothing fits, and which dishes are refused because their food would stand warm or nobody would probe it."""
    alone = {dish.title: dinner.model_copy(update={"dishes": (dish,)}) for dish in dinner.dishes}
    lost = [title for title, one in alone.items() if not _solve(one, step, place)]
    if warm := [title for title in lost if _solve(alone[title], step, place, kept=False)]:
        return "", tuple(too_warm(title, place) for title in warm)
    if lost:
        return f"{lost[0]} alone does not fit into the free hours of its days", ()
    firsts = (dinner.model_copy(update={"dishes": dinner.dishes[:count]}) for count in range(2, len(dinner.dishes) + 1))
    *others, last = (dish.title for dish in next(each for each in firsts if not _solve(each, step, place)).dishes)
    return said("not beside", last=last, others=" and ".join(others)), ()


class _Placed(NamedTuple):
    """A stage or a probe check in steps: its start, hands and whole length; of a check what it looks for, and until when."""

    dish: str
    stage: DinnerStage
    start: Any
    active: int
    whole: int
    due: Any = None

    @property
    def end(self) -> Any:
        return self.start + self.whole


def _solve(dinner: Dinner, step: int, place: Jurisdiction, *, kept: bool = True) -> tuple[Task, ...]:
    """The tasks in order of time, none where nothing fits; not ``kept`` leaves the rules of warm food out, to say what is wrong."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    midnight = datetime.combine(dinner.day(MOST_DAYS), time())
    day_steps = math.ceil(1440 / step)
    minute = 60 * dinner.serve_at.hour + dinner.serve_at.minute
    serve, served = (MOST_DAYS * day_steps + each for each in (minute // step, math.ceil(minute / step)))
    windows = _windows(dinner, step, day_steps)
    placed: list[_Placed] = []
    late: list[Any] = []  # what is wanted as late as can be

    def put(dish: str, stage: DinnerStage, days: Iterable[int]) -> _Placed:
        active = math.ceil(float(stage.active_min) / step)
        whole = max(active + math.ceil(float(stage.waiting_min) / step), 1)
        # What needs the cook lies in one of the stretches.
        needs = max(active if stage.alone else whole, 1)
        spans = [[first, last - needs] for day, first, last in windows if day in days and first <= last - needs]
        start = model.new_int_var_from_domain(cp_model.Domain.from_intervals(spans), "")
        placed.append(_Placed(dish, stage, start, active, whole))
        return placed[-1]

    def check(dish: str, words: str, soonest: Any, due: Any) -> Any:
        each = put(dish, DinnerStage(text=words, active_min=PROBE_MIN, does="prepare"), range(MOST_DAYS + 1))
        placed[-1] = each._replace(due=due)
        model.add(each.start >= soonest)
        model.add(each.end <= due)
        return each.start

    for dish in dinner.dishes:
        days = [range(each.latest_day, min(each.earliest_day, dish.days(each, place) - 1) + 1) for each in dish.stages]
        line = [put(dish.title, stage, among) for stage, among in zip(dish.stages, days, strict=True)]
        late += (each.start for each in line)
        # One after the other, and soon where it must be.
        afters = [*(each.start for each in line[1:]), serve]
        for each, after in zip(line, afters, strict=True):
            model.add(each.end <= after)
            if each.stage.within_min is not None:
                model.add(after - each.end <= math.floor(float(each.stage.within_min) / step))
        if dish.frozen:
            first, into, out = (model.new_int_var(0, MOST_DAYS, "") for _ in range(3))
            for day, number in zip((first, into, out), (0, *dish.frozen), strict=True):
                model.add_division_equality(day, line[number].start, day_steps)
            model.add(MOST_DAYS - first + 1 - (out - into) <= dish.keeps)
        if kept:
            late += _keep_cold_or_hot(model, line, afters, served, place, step, check)
    hands = [model.new_fixed_size_interval_var(each.start, each.active, "") for each in placed if each.active]
    model.add_no_overlap(hands)
    for tool, count in dinner.tools.items():
        need = [each for each in placed if tool in each.stage.tools]
        uses = [model.new_fixed_size_interval_var(each.start, each.whole, "") for each in need]
        model.add_cumulative(uses, [1] * len(uses), count)
    model.maximize(sum(late))
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
    for title, stage, start, active, whole, due in placed:
        begin = solver.value(start)
        if due is not None:
            stage = stage.model_copy(update={"text": f"{stage.text} by {at(solver.value(due)):%H:%M}"})
        tasks.append(Task(title, stage, at(begin), at(begin + active), at(begin + whole), due is not None))
    return tuple(sorted(tasks, key=lambda task: (task.start, task.end, task.dish)))


def _keep_cold_or_hot(
    model: Any, line: list[_Placed], afters: list[Any], served: int, place: Jurisdiction, step: int,
    check: Callable[..., Any],
) -> Iterator[Any]:  # fmt: skip
    """Bind a dish to the fridge or to heat, with the checks that show it; what is wanted late, and less what is wanted soon."""

    def steps(hours: float) -> int:
        return math.floor(60 * hours / step)

    probe, warm = math.ceil(PROBE_MIN / step), steps(facts.limit("refrigerate home").value)
    since: Any = None  # when its food left the fridge or the heat
    hot = heated = False
    for each, after in zip(line, afters, strict=True):
        kind = each.stage.kind
        if kind not in (*HOT, *COLD):
            since = each.start if since is None else since
            continue
        if since is not None:
            model.add(each.start - since <= warm)
        if kind == "chill" and hot:
            begun, before = since, each.start
            for number, (celsius, hours) in enumerate(place.cooling.stages, 1):
                last = number == len(place.cooling.stages)
                soonest = each.end if last else each.start + min(each.whole, steps(hours / 2))
                words = f"Probe the centre: {celsius:g} C or below ({place.cooling.jurisdiction})"
                at = check(each.dish, words, soonest, begun + steps(hours))
                model.add(at >= before)
                model.add(at + probe <= after)  # before anything else is done with it
                begun, before = (at if place.cooling.apart else begun), at + probe
                yield -at if last else at
        if kind == "reheat" or (kind == "heat" and heated and not hot):
            words = f"Probe the centre: {place.figures['reheating'].value:g} C or more ({place.figures['reheating'].jurisdiction})"
            yield check(each.dish, words, each.end - (probe if each.whole - each.active >= probe else 0), after)
        since, hot = (None, False) if kind in COLD else (each.end, True)
        heated |= hot
    if since is not None:
        model.add(served - since <= warm)


def _windows(dinner: Dinner, step: int, day_steps: int) -> list[tuple[int, int, int]]:
    """Days before, first and last step of every stretch of free hours."""
    found = []
    for each in dinner.free:
        begin, end = (60 * at.hour + at.minute for at in (each.start, each.end))
        end += end == 1439  # 23:59 means midnight
        base = (MOST_DAYS - each.day) * day_steps
        found.append((each.day, base + math.ceil(begin / step), base + end // step))
    return found
