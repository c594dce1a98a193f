"""One quantity against one outcome: how often the 90 % ranges hold, and how often "cannot tell yet" is said.

    python tests/experiments/effects.py [trials]

Each trial has 2 to 6 pots at settings a cook might choose, on one day to three, of an outcome that is measured (ratios, a straight line
on the ln scale) or scored by five tasters (plain). Pots differ; pots of one day share a tenth to four tenths of that variance; tasters
scatter about each pot. A quarter of the trials are flat in truth. Then the same where what is told bends (an outcome that levels off or
takes off by up to half of its slope over the settings), which no law of the code does.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict

import numpy as np
import pandas as pd

from spoonline.effects import read_effect


def trial(
    rng: np.random.Generator, slope: float, scored: bool, count: int, bends: bool = False
) -> tuple[pd.DataFrame, float, float, float]:
    """Pots of one trial; the true outcome at 1.1 times the middle, one more pot there, and the setting that has it."""
    x = np.sort(np.round(rng.choice([rng.uniform(40, 80, count), np.resize([40, 55, 70], count)]), 1))
    rng.shuffle(x)
    spread, share = rng.uniform(0.04, 0.12), rng.uniform(0.1, 0.4)
    day = rng.integers(0, rng.integers(1, 4), count)
    on = rng.normal(0, spread * share**0.5, 4)
    own = rng.normal(0, spread * (1 - share) ** 0.5, count + 1)
    deviations, new = on[day] + own[:-1], on[3] + own[-1]
    where, bend = 60.5, (slope * rng.uniform(-1.2, 1.2) if bends else 0.0)

    def truth(at: np.ndarray | float) -> np.ndarray | float:
        x = at / 55 - 1 if scored else np.log(at / 55)
        told = slope * x + bend * x**2
        return 5 + 5 * told if scored else 7 * np.exp(told)

    frame = pd.DataFrame({"butter_g_per_100g_flour": x, "cooked_on": day})
    if scored:
        tasted = (truth(x) + 5 * deviations)[:, None] + rng.normal(0, 0.8, (count, 5))
        frame["sweetness_score"], frame["sweetness_score_sd"] = tasted.mean(1), tasted.std(1, ddof=1) / 5**0.5
        pot = truth(where) + 5 * new + rng.normal(0, 0.8 / 5**0.5)
    else:
        frame["spread_cm"] = np.round(truth(x) * np.exp(deviations), 2)
        pot = truth(where) * np.exp(new)
    return frame, float(truth(where)), float(pot), where


def run(trials: int, bends: bool = False) -> dict[str, tuple[float, int]]:
    """Shares by what they are of, in per cent, each with the number of cases."""
    rng, found = np.random.default_rng(23), defaultdict(Counter)
    for number in range(trials):
        slope = 0.0 if number % 4 == 0 else rng.uniform(0.3, 1.2)
        scored, count = bool(number % 2), int(rng.integers(2, 7))
        frame, average, pot, where = trial(rng, slope, scored, count, bends)
        read = read_effect(frame, "butter", "sweetness" if scored else "spread")
        told = "flat: cannot tell is said" if slope == 0 else "real: told"
        found[told][read.cannot_tell if slope == 0 else not read.cannot_tell] += 1
        if read.line is None:
            found["points only"][True] += 1
            continue
        found["points only"][False] += 1
        here, single = read.predict(where)
        for name, values, truth in (("average", here, average), ("next pot", single, pot)):
            for key in (name, f"{name}, {count} pots", f"{name}, {'scored' if scored else 'measured'}"):
                found[key][values.low <= truth <= values.high] += 1
        if slope and (best := read.best(average)) is not None:
            for key in ("setting for a target, where told", f"setting for a target, where told, {count} pots"):
                found[key][best.low <= where <= best.high] += 1
    return {name: (100 * each[True] / each.total(), each.total()) for name, each in sorted(found.items())}


if __name__ == "__main__":
    for bends in (False, True):
        print("what is told bends" if bends else "the code's own law")
        for name, (share, cases) in run(int(sys.argv[1]) if sys.argv[1:] else 1000, bends).items():
            print(f"  {name}: {share:.1f} % of {cases}")
