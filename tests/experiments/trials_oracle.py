"""Compare the dose curve with brute force over many random sets of pots; print how far apart.

Run from the repository: ``python tests/experiments/trials_oracle.py [sets]``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from dose import oracle
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.priors import Prior, prior_for
from spoonline.measures.ranges import Range

CHANCES = [0.5, 0.05, 0.95]


def fitted(case: oracle.Case, prior: Prior) -> DoseCurve:
    """The curve of a case."""
    base = None
    if case.base is not None:
        base = Range(*(float(np.exp(case.base[0] + k * 1.645 * case.base[1])) for k in (0, -1, 1)))
    return DoseCurve.fit_pots(
        case.pots, prior, case.reading, base_pa_s=base, days=case.days, dose_rel_sd=case.dose_sd, pot=case.pot
    )


def compared(seed: int, prior: Prior, points: int = 2**16) -> tuple[list[float], list[float], bool]:
    """Differences of dose, its ends, the average pot and its ends [-], and of the chances below the ends of the batch range."""
    case = oracle.random_case(np.random.default_rng([seed, 11]))
    cloud, curve = oracle.cloud(case, prior, points), fitted(case, prior)
    expected = oracle.dose_quantiles(cloud, case.target, prior, case.pot, CHANCES)
    error = np.abs(np.array(curve.dose_for(case.target)) / expected - 1)
    # where the base alone may be as thick as the target the quantiles near that chance fall to 0 within a hair's breadth
    needless = float(cloud.weight[cloud.ln_base >= np.log(case.target)].sum())
    error[np.abs(np.array(CHANCES) - needless) < 0.05] = np.nan
    error[np.array(CHANCES) < needless] = np.nan
    middle = float(np.exp(np.mean([np.log(pot[-1][0]) for pot in case.pots])))
    average = oracle.average_quantiles(cloud, middle, prior, case.pot, CHANCES)
    error = [*error, *np.abs(np.array(curve.viscosity(middle)) / average - 1)]
    shares = [
        abs(oracle.batch_below(cloud, middle, end, prior, case.pot) - chance)
        for chance, end in zip(CHANCES, curve.batch(middle), strict=True)
    ]
    return error, shares, any(len(pot) > 1 for pot in case.pots)


def main(sets: int) -> None:
    prior = prior_for("corn starch")
    found = [compared(seed, prior) for seed in range(sets)]
    table, ladders = 100 * np.array([each[0] for each in found]), np.array([each[2] for each in found])
    print(
        f"{sets} sets of 1-6 pots, {ladders.sum()} of them ladders; difference in per cent: median, 95th of 100, worst"
    )
    for name, column in zip(
        ("dose", "dose low", "dose high", "average", "average low", "average high"), table.T, strict=True
    ):
        for words, which in (("once", ~ladders), ("ladder", ladders)):
            rows = column[which & np.isfinite(column)]
            if not rows.size:
                continue
            figures = [np.median(rows), np.quantile(rows, 0.95), rows.max()]
            print(
                f"{name:13s} {words:7s}",
                *(f"{each:7.3f}" for each in figures),
                f"({rows.size} sets, worst {np.flatnonzero(column == figures[2])})",
            )
    print(f"share below the ends of the batch range: worst off by {max(max(each[1]) for each in found):.4f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
