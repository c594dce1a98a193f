"""Random small dinners against a search that knows the rules by itself: is a plan found exactly when one can be, is none found where food
would stand warm, and how long does it take?

python tests/experiments/keeping_dinners.py [dinners]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from datetime import time as clock

import numpy as np

from spoonline.keeping import Dinner, DinnerDish, DinnerStage, FreeHours, Plan, plan

STEP = 30
SERVE = datetime(2026, 1, 22, 12, 30)
# The rules once more, by hand. Cooling: hours from the end of the heat to each probe check (Food Code 3-501.14, read: 2 h and 6 h in all;
# UK caterers' habit, no source: 90 min); holding 57 C (3-501.16, read) and 63 C (SI 2013/2996 sch. 4, read); two hours out of the fridge or off
# the heat (University of Illinois Extension, read); days: 7 (3-501.17, read), 4 (the longer home advice, read), 3 where nothing is typed.
CODES = {"us": ((2.0, 6.0), 57, 7), "england": ((1.5,), 63, 4)}
WARM = timedelta(hours=2)
HOME_DAYS = 3
CHECK = timedelta(minutes=STEP)  # five minutes, rounded up to a step

SHAPES = (
    ("heat",), ("prepare", "heat"), ("heat", "hold"), ("heat", "chill"), ("heat", "chill", "reheat"), ("heat", "chill", "prepare"),
    ("heat", "prepare", "chill"), ("cold",), ("heat", "prepare"),
)  # fmt: skip
TEXTS = {"heat": "Simmer", "prepare": "Slice", "chill": "Cool in an ice bath", "reheat": "Reheat", "cold": "Mix"}
# A hazard that no hours can mend, by name: what is done to the stages of a dish that is heated.
HAZARDS = {
    "held too cool": ("heat", "hold low"), "thawed on the counter": ("thaw wrong", "heat"), "reheated unheated": ("reheat",),
    "reheated twice": ("heat", "chill", "reheat", "chill", "reheat"), "nothing heats it": ("prepare",),
    "frozen hot": ("heat", "freeze", "reheat"), "warmed in the holder": ("heat", "chill", "hold"),
    "two things at once": ("heat and chill",),
}  # fmt: skip


def _stage(rng: np.random.Generator, kind: str, jurisdiction: str) -> DinnerStage:
    hot = CODES[jurisdiction][1]
    does = {"hold low": "hold", "thaw wrong": "thaw", "heat and chill": None}.get(kind, kind)
    texts = {
        "hold": f"Hold at {hot + int(rng.integers(0, 9))} C", "hold low": f"Hold at {hot - int(rng.integers(1, 9))} C",
        "thaw wrong": "Thaw on the counter", "heat and chill": "Simmer and chill", "freeze": "Freeze",
    }  # fmt: skip
    days = sorted(int(each) for each in rng.integers(0, 2, size=2))
    chill = kind == "chill"
    return DinnerStage(
        text=texts.get(kind) or TEXTS[kind], does=does, active_min=30, waiting_min=int(rng.integers(0, 3)) * 30,
        tools=tuple(str(each) for each in rng.choice(["burner", "oven"], size=int(rng.integers(0, 2)) * (not chill))),
        earliest_day=1 if rng.random() < 0.7 else days[1], latest_day=0 if rng.random() < 0.7 else days[0],
        alone=chill or bool(rng.random() < 0.2), keeps_days=int(rng.integers(1, 5)) if rng.random() < 0.2 else None,
        within_min=int(rng.integers(0, 9)) * 30 if rng.random() < 0.2 else None,
    )  # fmt: skip


def random_dinner(rng: np.random.Generator, jurisdiction: str, hazard: str = "") -> Dinner:
    """One to three dishes of one to three stages on two days, on one or two burners, times in half hours."""
    shapes = [SHAPES[int(each)] for each in rng.integers(0, len(SHAPES), size=int(rng.integers(1, 4)))]
    while sum(map(_size, shapes)) > 9:
        shapes.pop()
    if hazard:
        shapes[int(rng.integers(0, len(shapes)))] = HAZARDS[hazard]
    dishes = [
        DinnerDish(title=f"dish {number}", stages=tuple(_stage(rng, kind, jurisdiction) for kind in shape))
        for number, shape in enumerate(shapes)
    ]
    day = datetime(2026, 1, 1)
    free = [
        FreeHours(day=1, start=clock(14), end=(day.replace(hour=14) + STEP_OF * int(rng.integers(3, 15))).time()),
        FreeHours(
            day=0,
            start=(day.replace(hour=12, minute=30) - STEP_OF * int(rng.integers(2, 12))).time(),
            end=clock(12, 30),
        ),
    ]
    tools = {"burner": int(rng.integers(1, 3)), "oven": 1}
    return Dinner(name="random", serve_at=SERVE, guests=8, dishes=dishes, free=free, tools=tools)


STEP_OF = timedelta(minutes=STEP)
Item = tuple[str, int, str]  # dish, number of the stage, and "" for the stage itself or the name of its check


def _size(shape: tuple[str, ...]) -> int:
    return len(shape) + 2 * (shape.count("chill") and shape[0] == "heat") + shape.count("reheat")


def items(dinner: Dinner, jurisdiction: str) -> list[Item]:
    """What has to find a time: the stages of each dish, and behind each that is chilled hot or reheated its checks."""
    found = []
    for dish in dinner.dishes:
        hot = False
        for number, stage in enumerate(dish.stages):
            found.append((dish.title, number, ""))
            if stage.kind == "chill" and hot:
                found += [(dish.title, number, f"cold {n}") for n in range(len(CODES[jurisdiction][0]))]
            if stage.kind == "reheat":
                found.append((dish.title, number, "hot"))
            hot = stage.kind in ("heat", "reheat", "hold") or (hot and stage.kind != "chill")
    return found


def broken(
    dinner: Dinner, jurisdiction: str, at: dict[Item, datetime], *, whole: bool = True, check: timedelta = CHECK
) -> str:
    """The first rule that these starts break, from the record alone; without ``whole`` some may still be missing."""
    if whole and set(items(dinner, jurisdiction)) != set(at):
        return "missing"
    stretches = [
        (datetime.combine(dinner.day(e.day), e.start), datetime.combine(dinner.day(e.day), e.end)) for e in dinner.free
    ]
    busy: list[tuple[datetime, datetime]] = []
    used: list[tuple[str, datetime, datetime]] = []
    for dish in dinner.dishes:
        for number, stage in enumerate(dish.stages):
            start = at.get((dish.title, number, ""))
            if start is not None:
                hands = start + timedelta(minutes=float(stage.active_min))
                end = hands + timedelta(minutes=float(stage.waiting_min))
                before = (dinner.serve_at.date() - start.date()).days
                if not stage.latest_day <= before <= stage.earliest_day:
                    return "day"
                if not any(first <= start and (hands if stage.alone else end) <= last for first, last in stretches):
                    return "free hours"
                busy.append((start, hands))
                used += [(tool, start, end) for tool in stage.tools]
            for (title, where, name), begin in at.items():
                if title == dish.title and where == number and name:
                    if not any(first <= begin and begin + check <= last for first, last in stretches):
                        return "nobody checks"
                    busy.append((begin, begin + check))
        if fault := _dish(dinner, dish, jurisdiction, at, check):
            return fault
    for moment, _ in busy:
        if sum(start <= moment < end for start, end in busy) > 1:
            return "hands"
    for _, moment, _ in used:
        for tool, count in dinner.tools.items():
            if sum(name == tool and start <= moment < end for name, start, end in used) > count:
                return "tool"
    return ""


def _dish(dinner: Dinner, dish: DinnerDish, jurisdiction: str, at: dict[Item, datetime], check: timedelta) -> str:
    """Walk through a dish as far as it has times: its order, its days, and how long its food is neither hot nor in the fridge."""
    hours, _, code_days = CODES[jurisdiction]
    keeps = min([code_days, *([each.keeps_days for each in dish.stages if each.keeps_days] or [HOME_DAYS])])
    since: datetime | None = None  # when its food left the fridge or the heat
    hot, ended = False, datetime.min
    for number, stage in enumerate(dish.stages):
        start = at.get((dish.title, number, ""))
        if start is None:
            return ""
        end = start + timedelta(minutes=float(stage.active_min + stage.waiting_min))
        after = at.get((dish.title, number + 1, ""), dinner.serve_at if number == len(dish.stages) - 1 else None)
        if start < ended or (after is not None and after < end):
            return "order"
        if (
            after is not None
            and stage.within_min is not None
            and after - end > timedelta(minutes=float(stage.within_min))
        ):
            return "soon"
        if (dinner.serve_at.date() - start.date()).days + 1 > keeps:
            return "keeping"
        ended = end
        if stage.kind in ("prepare", "cold"):
            since = since or start
        else:
            if since is not None and start - since > WARM:
                return "stands warm"
            if stage.kind == "chill" and hot:
                assert since is not None
                earlier = start
                for n, due in enumerate(hours):
                    begun = at.get((dish.title, number, f"cold {n}"))
                    if begun is None:
                        continue
                    last = n == len(hours) - 1
                    soonest = end if last else start + min(end - start, timedelta(hours=due / 2))
                    ends = min(since + timedelta(hours=due), after or dinner.serve_at)
                    if begun < max(soonest, earlier) or begun + check > ends:
                        return "cooling check"
                    earlier = begun + check
            if stage.kind == "reheat" and (begun := at.get((dish.title, number, "hot"))) is not None:
                soonest = end - check if stage.waiting_min >= check.seconds // 60 else end
                if begun < soonest or (after is not None and begun + check > after):
                    return "reheating check"
            since, hot = (None, False) if stage.kind == "chill" else (end, True)
    return "stands warm" if since is not None and dinner.serve_at - since > WARM else ""


def brute(dinner: Dinner, jurisdiction: str) -> bool:
    """Whether any schedule on the half hours fits: every start of everything, given up as soon as a rule is broken."""
    wanted = items(dinner, jurisdiction)
    times = [
        datetime.combine(dinner.day(each.day), each.start) + STEP_OF * n
        for each in dinner.free for n in range(int((_minutes(each.end) - _minutes(each.start)) // STEP))
    ]  # fmt: skip

    def deeper(at: dict[Item, datetime]) -> bool:
        if len(at) == len(wanted):
            return broken(dinner, jurisdiction, at) == ""
        item = wanted[len(at)]
        return any(
            broken(dinner, jurisdiction, at | {item: moment}, whole=False) == "" and deeper(at | {item: moment})
            for moment in times
        )

    return deeper({})


def _minutes(at: clock) -> int:
    return 60 * at.hour + at.minute


def starts_of(made: Plan) -> dict[Item, datetime]:
    """The starts of a plan, each stage by its number, each check by the stage that it belongs to."""
    found: dict[Item, datetime] = {}
    for dish in made.dinner.dishes:
        wanted = [each for each in items(made.dinner, made.jurisdiction) if each[0] == dish.title and each[2]]
        tasks = [task for task in made.tasks if task.dish == dish.title and not task.probes]
        found |= {
            (dish.title, number, ""): task.start
            for number, task in enumerate(sorted(tasks, key=lambda t: (t.start, t.end)))
        }
        checks = sorted((task for task in made.tasks if task.dish == dish.title and task.probes), key=lambda t: t.start)
        found |= {item: task.start for item, task in zip(wanted, checks, strict=True)}
    return found


def faults_of(made: Plan, check_min: int = STEP) -> str:
    """The first rule a plan breaks, its checks taking so many minutes."""
    return broken(made.dinner, made.jurisdiction, starts_of(made), check=timedelta(minutes=check_min))


def warm_minutes(made: Plan) -> Iterator[tuple[str, int]]:
    """Minute by minute, of each dish of a plan: the longest its food is off the heat and out of the fridge before it is chilled, heated or
    served; and from the end of its heat until it is cold and was probed."""
    for dish in made.dinner.dishes:
        tasks = sorted((task for task in made.tasks if task.dish == dish.title), key=lambda t: (t.start, t.end))
        begin, counted, longest = tasks[0].start, 0, 0
        state = "raw"
        for n in range(int((made.dinner.serve_at - begin).total_seconds() // 60)):
            now = begin + timedelta(minutes=n)
            doing = next((t.stage.kind for t in tasks if t.start <= now < t.end and not t.probes), "")
            if doing:
                state = {"heat": "hot", "reheat": "hot", "hold": "hot", "chill": "cold"}.get(doing, "out")
            elif state == "hot":
                state = "out"
            counted = counted + 1 if state == "out" else 0
            longest = max(longest, counted)
        yield dish.title, longest


def compare(dinners: int, seed: int = 8) -> dict[str, float]:
    """Counts of agreement and the times [s]; one dinner in five carries a hazard that no hours can mend."""
    rng = np.random.default_rng(seed)
    plan(random_dinner(rng, "us"), step_min=STEP)  # the solver's library is loaded once
    found = dict.fromkeys(
        ("feasible", "disagree", "plans that break a rule", "too long warm", "hazards", "hazards not refused"), 0
    )
    took = []
    for number in range(dinners):
        jurisdiction = ("us", "england")[number % 2]
        hazard = list(HAZARDS)[number // 5 % len(HAZARDS)] if number % 5 == 4 else ""
        dinner = random_dinner(rng, jurisdiction, hazard)
        begin = time.perf_counter()
        made = plan(dinner, step_min=STEP, jurisdiction=jurisdiction)
        took.append(time.perf_counter() - begin)
        found["feasible"] += made.fits
        found["hazards"] += bool(hazard)
        found["hazards not refused"] += bool(hazard) and (made.fits or not made.refused)
        found["disagree"] += not hazard and made.fits != brute(dinner, jurisdiction)
        found["plans that break a rule"] += made.fits and faults_of(made) != ""
        found["too long warm"] += made.fits and any(longest > 120 for _, longest in warm_minutes(made))
    return {"dinners": dinners, **found, "median s": float(np.median(took)), "worst s": max(took)}


if __name__ == "__main__":
    result = compare(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
    for name, value in result.items():
        print(f"{name}: {value:.3g}")
