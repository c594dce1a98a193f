"""Would the pots of two versions say that they differ: when they are one, and when they are not, each cooked on its own days or not?

    python tests/experiments/trials_compare.py [pairs]

Pots of one version differ by 12 % within a day (ln sd), days by 10 or 20 %, and each is read to 10 %. The kitchen has cooked six other versions
three times each, by which its spread is known; beside it stand Welch's test and the t of these pots alone.
"""

from __future__ import annotations

import sys

import numpy as np
from scipy import stats

from spoonline.dose.compare import compare_pots, pooled_spread

PLANS = {
    "a day each": ([1, 1, 1], [2, 2, 2]), "three days, both on each": ([1, 2, 3], [1, 2, 3]), "six days": ([1, 2, 3], [4, 5, 6]),
}  # fmt: skip


def called_different(
    ratio: float, days: tuple[list[int], list[int]], day_sd: float, pairs: int
) -> tuple[float, float, float, float]:
    """Share called different, and the same, with the kitchen's spread; different by Welch's test; mean ratio said to be detectable."""
    rng = np.random.default_rng([1, int(1000 * ratio), int(100 * day_sd), len(set(days[0]))])
    own = float(np.hypot(0.12, 0.10))
    ours, same, welch, said = [], [], [], []
    for _ in range(pairs):
        on = {day: day_sd * rng.normal() for day in {*days[0], *days[1]}}
        first, second = (
            [float(np.exp(shift + on[day] + own * rng.normal())) for day in each]
            for each, shift in zip(days, (0.0, np.log(ratio)), strict=True)
        )
        history = [np.exp(float(np.hypot(own, day_sd)) * rng.normal(size=3)).tolist() for _ in range(6)]
        found = compare_pots(first, second, days=days, spread=pooled_spread([first, second, *history]))
        ours.append(found.different)
        same.append(found.same and not found.different)
        welch.append(stats.ttest_ind(np.log(first), np.log(second), equal_var=False).pvalue <= 0.05)
        said.append(found.detectable or np.nan)
    return float(np.mean(ours)), float(np.mean(same)), float(np.mean(welch)), float(np.nanmean(said))


if __name__ == "__main__":
    pairs = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    for day_sd in (0.0, 0.1, 0.2):
        for name, days in PLANS.items():
            for ratio in (1.0, 1.5):
                ours, same, welch, said = called_different(ratio, days, day_sd, pairs)
                shares = f"different {100 * ours:.0f} of 100 (Welch {100 * welch:.0f}), the same {100 * same:.0f}"
                print(
                    f"days differ by {day_sd:.0%}, {name}, truly x{ratio:g}: called {shares}, "
                    f"cannot tell {100 * (1 - ours - same):.0f}; said to show x{said:.2f} in 8 of 10"
                )
