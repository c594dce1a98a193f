"""Random small dinners: is a plan found exactly when a brute-force search finds one, and how long does it take?

python tests/experiments/keeping_dinners.py [dinners]
"""

from __future__ import annotations

import sys
import time
from datetime import datetime, timedelta
from datetime import time as clock

import numpy as np

from spoonline.keeping import Dinner, DinnerDish, DinnerStage, FreeHours, Plan, plan

STEP = 30
SERVE = datetime(2026, 1, 22, 12, 30)


def random_dinner(rng: np.random.Generator) -> Dinner:
    """Two or three dishes of one or two stages on two days, on one or two burners, times in half hours."""
    dishes = []
    for number in range(int(rng.integers(2, 4))):
        stages = []
        for last in range(int(rng.integers(1, 3))):
            days = sorted(int(each) for each in rng.integers(0, 2, size=2))
            stages.append(
                DinnerStage(
                    text=f"stage {last}", active_min=int(rng.integers(1, 3)) * 30, waiting_min=int(rng.integers(0, 3)) * 30,
                    tools=tuple(str(each) for each in rng.choice(["burner", "oven"], size=int(rng.integers(0, 2)))),
                    earliest_day=days[1], latest_day=days[0], alone=bool(rng.random() < 0.3),
                    keeps_days=int(rng.integers(1, 4)), within_min=int(rng.integers(0, 4)) * 30 if rng.random() < 0.4 else None,
                )
            )  # fmt: skip
        dishes.append(DinnerDish(title=f"dish {number}", stages=tuple(stages)))
    free = [
        FreeHours(
            day=1,
            start=clock(14),
            end=(datetime(2026, 1, 1, 14) + timedelta(minutes=30 * int(rng.integers(4, 9)))).time(),
        ),
        FreeHours(
            day=0,
            start=(datetime(2026, 1, 1, 12, 30) - timedelta(minutes=30 * int(rng.integers(2, 8)))).time(),
            end=clock(12, 30),
        ),
    ]
    tools = {"burner": int(rng.integers(1, 3)), "oven": 1}
    return Dinner(name="random", serve_at=SERVE, guests=8, dishes=dishes, free=free, tools=tools)


def broken(dinner: Dinner, starts: list[tuple[str, int, datetime]], *, whole: bool = True) -> str:
    """The first rule that these starts break, from the record alone; with ``whole`` false stages may still be missing."""
    placed = []
    for title, number, start in starts:
        stage = next(dish for dish in dinner.dishes if dish.title == title).stages[number]
        hands = start + timedelta(minutes=float(stage.active_min))
        placed.append((title, number, stage, start, hands, hands + timedelta(minutes=float(stage.waiting_min))))
    for _, _, stage, start, hands, end in placed:
        before = (dinner.serve_at.date() - start.date()).days
        if not stage.latest_day <= before <= stage.earliest_day:
            return "day"
        if before + 1 > stage.keeps:
            return "keeping"
        busy = hands if stage.alone else end
        stretches = [
            (datetime.combine(dinner.day(each.day), each.start), datetime.combine(dinner.day(each.day), each.end))
            for each in dinner.free
        ]
        if not any(first <= start and busy <= last for first, last in stretches):
            return "free hours"
        if end > dinner.serve_at:
            return "serving"
    for moment in sorted({start for _, _, _, start, _, _ in placed}):
        if sum(start <= moment < hands for _, _, _, start, hands, _ in placed) > 1:
            return "hands"
        for tool, count in dinner.tools.items():
            if sum(tool in stage.tools and start <= moment < end for _, _, stage, start, _, end in placed) > count:
                return "tool"
    by_place = {(title, number): (stage, start, end) for title, number, stage, start, _, end in placed}
    for (title, number), (stage, _, end) in by_place.items():
        last = number == len(next(dish for dish in dinner.dishes if dish.title == title).stages) - 1
        after = dinner.serve_at if last else by_place[title, number + 1][1] if (title, number + 1) in by_place else None
        if after is None:
            if whole:
                return "missing"
            continue
        if after < end:
            return "order"
        if stage.within_min is not None and after - end > timedelta(minutes=float(stage.within_min)):
            return "soon"
    return ""


def brute(dinner: Dinner) -> bool:
    """Whether any schedule on the half hours fits: every start of every stage, given up as soon as a rule is broken."""
    stages = [(dish.title, number) for dish in dinner.dishes for number in range(len(dish.stages))]
    begin = datetime.combine(dinner.day(1), clock(14))
    times = [
        begin + timedelta(minutes=STEP * n) for n in range(int((dinner.serve_at - begin).total_seconds() // 60 // STEP))
    ]

    def deeper(starts: list[tuple[str, int, datetime]]) -> bool:
        if len(starts) == len(stages):
            return broken(dinner, starts) == ""
        title, number = stages[len(starts)]
        return any(
            broken(dinner, [*starts, (title, number, at)], whole=False) == "" and deeper([*starts, (title, number, at)])
            for at in times
        )

    return deeper([])


def faults_of(made: Plan) -> str:
    """The first rule a plan breaks."""
    starts = []
    for task in made.tasks:
        dish = next(each for each in made.dinner.dishes if each.title == task.dish)
        starts.append((task.dish, dish.stages.index(task.stage), task.start))
    return broken(made.dinner, starts)


def compare(dinners: int, seed: int = 8) -> dict[str, float]:
    """Counts of agreement and the times [s]."""
    rng = np.random.default_rng(seed)
    plan(random_dinner(rng), step_min=STEP)  # the solver's library is loaded once
    feasible = disagree = faulty = 0
    took = []
    for _ in range(dinners):
        dinner = random_dinner(rng)
        begin = time.perf_counter()
        made = plan(dinner, step_min=STEP)
        took.append(time.perf_counter() - begin)
        feasible += made.fits
        disagree += made.fits != brute(dinner)
        faulty += made.fits and faults_of(made) != ""
    return {
        "dinners": dinners, "feasible": feasible, "disagree": disagree, "plans that break a rule": faulty,
        "median s": float(np.median(took)), "worst s": max(took),
    }  # fmt: skip


if __name__ == "__main__":
    found = compare(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
    for name, value in found.items():
        print(f"{name}: {value:.3g}")
