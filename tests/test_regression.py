"""The regression: worked examples, and the same algebra done by brute force."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from spoonline.regression import fit_line, line_design, student_cdf, student_quantile

PRIOR_MEAN, PRIOR = [np.log(300), 2.5], np.diag([0.7**-2, 0.8**-2])
DOSE, ETA = np.array([20, 30, 40.0]), np.array([120, 400, 900.0])


def fitted(n: int):
    x = np.log(DOSE[:n] / 30)
    return fit_line(line_design(x), np.log(ETA[:n]), PRIOR_MEAN, PRIOR, 0.15, 4)


# After n batches: mean and sd of a and b, df, s, dose, its 90 % range, best dose, chance there, range of
# the next batch at "dose" (computed).
WORKED = [
    (0, (5.703782, 2.5), (0.7, 0.8), 4, 0.15,
     36.801, (18.66, 103.59), 35.95, 0.2046, (104.5, 2392)),
    (1, (5.781022, 2.459095), (0.285236, 0.653008), 5, 0.134421,
     35.7846, (28.850, 69.787), 34.40, 0.3667, (217.3, 1150.4)),
    (2, (5.953221, 2.808971), (0.115839, 0.370907), 6, 0.128058,
     32.9256, (30.334, 37.236), 32.55, 0.6779, (345.7, 723.2)),
    (3, (5.968576, 2.857240), (0.068656, 0.225510), 7, 0.118852,
     32.6977, (31.208, 34.455), 32.45, 0.8105, (383.6, 651.7)),
]  # fmt: skip


@pytest.mark.parametrize(("n", "mean", "sd", "df", "s", "dose", "ends", "best", "chance", "batch"), WORKED)
def test_worked_example(n, mean, sd, df, s, dose, ends, best, chance, batch) -> None:
    line = fitted(n)
    x, low, high = line.meets(np.log(500))
    doses = np.linspace(10, 60, 1001)
    chances = line.chance_between(np.log(400), np.log(600), line_design(np.log(doses / 30)))
    assert line.mean == pytest.approx(mean, abs=6e-7)
    assert np.sqrt(np.diag(line.covariance)) == pytest.approx(sd, abs=6e-7)
    assert (line.noise_df, float(np.sqrt(line.noise_variance))) == (df, pytest.approx(s, abs=6e-7))
    assert 30 * np.exp(x) == pytest.approx(dose, abs=6e-4)
    assert 30 * np.exp([low, high]) == pytest.approx(ends, abs=6e-3)
    assert (doses[chances.argmax()], chances.max()) == (pytest.approx(best), pytest.approx(chance, abs=6e-5))
    below = [float(line.chance_between(-np.inf, np.log(each), line_design([x]))[0]) for each in batch]
    assert below == pytest.approx([0.05, 0.95], abs=1e-4)


def test_a_level_line_has_no_dose() -> None:
    line = fit_line(line_design([0.0, 1.0, 2.0, 3.0]), [1.0, 1.2, 0.9, 1.1])
    assert line.meets(5.0)[1:] == (-np.inf, np.inf)


def test_normal_is_student_without_end() -> None:
    assert student_quantile(np.inf, 0.95) == pytest.approx(student_quantile(1e7, 0.95), abs=1e-6)
    assert student_cdf(np.inf, 1.0) == pytest.approx(stats.norm.cdf(1.0))
