"""Compare the dose curve with the brute-force grid over many random sets of batches; print how far apart.

Run from the repository: ``python tests/experiments/trials_oracle.py [sets]``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from dose import oracle
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.priors import ln_concentration, prior_for


def main(sets: int) -> None:
    prior = prior_for("corn starch")
    rows, shares, spoons, edges, nothing = [], [], [], [], []
    for seed in range(sets):
        case = oracle.random_case(np.random.default_rng([seed, 11]))
        points = oracle.cloud(case.dose, case.eta, prior, case.pot, case.base, case.reading, case.dose_sd)
        curve = DoseCurve.fit(
            case.dose, case.eta, prior, case.base, case.reading, dose_rel_sd=case.dose_sd, pot=case.pot
        )
        expected = oracle.dose_quantiles(points, case.target, prior, case.pot, [0.5, 0.05, 0.95])
        found = np.array(curve.dose_for(case.target))
        middle = float(np.exp(np.log(case.dose).mean()))
        average = oracle.average_quantiles(points, middle, prior, case.pot, [0.5, 0.05, 0.95])
        error = np.abs(found / expected - 1)
        # Where the base alone may be as thick as the target, the lower end falls to 0 within a hair's breadth:
        # there the chances below it are compared, not the doses.
        needless = points.weight[points.base >= case.target].sum()
        if needless >= 0.02:
            error[1] = np.nan
            if found[1] > 0:
                starch = np.exp(points.level + points.slope * ln_concentration(found[1], prior, case.pot))
                edges.append(points.weight[points.base + starch >= case.target].sum())
            else:
                nothing.append(needless)
        spoons.append(case.dose_sd)
        rows.append([*error, *np.abs(np.array(curve.viscosity(middle)) / average - 1)])
        shares += [
            abs(oracle.batch_below(points, middle, end, prior, case.pot) - chance)
            for chance, end in zip((0.5, 0.05, 0.95), curve.batch(middle), strict=True)
        ]
    table = 100 * np.array(rows)
    print(f"{sets} sets of 1-8 batches; difference in per cent: median, 95th of 100, worst")
    for name, column in zip(
        ("dose", "dose low", "dose high", "average", "average low", "average high"), table.T, strict=True
    ):
        column = column[np.isfinite(column)]
        figures = [np.median(column), np.quantile(column, 0.95), column.max()]
        print(f"{name:13s}", *(f"{each:7.3f}" for each in figures), f"({column.size} sets)")
    weighed = np.array(spoons) < 0.05
    print(
        f"worst dose with weighed thickener {table[weighed, 0].max():.3f}, with spoons {table[~weighed, 0].max():.3f}"
    )
    print(
        f"where the base alone may do: low end 0 in {len(nothing)} sets, where the grid gives that a chance of "
        f"{min(nothing, default=np.nan):.3f} or more (0.05 wanted); above 0 in {len(edges)}, chance below it "
        f"{min(edges, default=np.nan):.3f} to {max(edges, default=np.nan):.3f} (0.05 wanted)"
    )
    print(f"share below the ends of the batch range: worst off by {max(shares):.4f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
