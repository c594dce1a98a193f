"""The regression: worked examples, and the same algebra done by brute force."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from spoonline.trials.line import expected_approach, fit_line, line_design, student_cdf, student_quantile

PRIOR_MEAN, PRIOR = [np.log(300), 2.5], np.diag([0.7**-2, 0.8**-2])
DOSE, ETA = np.array([20, 30, 40.0]), np.array([120, 400, 900.0])


def fitted(n: int, **more):
    x = np.log(DOSE[:n] / 30)
    return fit_line(line_design(x), np.log(ETA[:n]), PRIOR_MEAN, PRIOR, 0.15, 4, **more)


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
    _, least, most = (float(np.exp(each[0])) for each in line.next_one(line_design([x])))
    assert line.mean == pytest.approx(mean, abs=6e-7)
    assert np.sqrt(np.diag(line.covariance)) == pytest.approx(sd, abs=6e-7)
    assert (line.noise_df, float(np.sqrt(line.noise_variance))) == (df, pytest.approx(s, abs=6e-7))
    assert 30 * np.exp(x) == pytest.approx(dose, abs=6e-4)
    assert 30 * np.exp([low, high]) == pytest.approx(ends, abs=6e-3)
    assert (doses[chances.argmax()], chances.max()) == (pytest.approx(best), pytest.approx(chance, abs=6e-5))
    assert (least, most) == (pytest.approx(batch[0], abs=0.06), pytest.approx(batch[1], rel=3e-4))


def test_prior_held_in_its_own_units_after_three_passes() -> None:
    assert 30 * np.exp(fitted(3, passes=3).meets(np.log(500))) == pytest.approx((32.65, 31.19, 34.38), abs=6e-3)


def test_variance_cut_does_what_it_promises() -> None:
    line = fitted(3)
    aim = line_design(line.meets(np.log(500))[0])
    cut = line.variance_cut(line_design(np.log(np.array([15, 30, 40, 50]) / 30)), aim)
    assert cut == pytest.approx([0.001, 0.233, 0.343, 0.356], abs=1e-3)
    # one observation more at 50 g, whatever it says, leaves that much less relative variance at the aim
    x = np.log(np.append(DOSE, 50) / 30)
    more = fit_line(line_design(x), np.log(np.append(ETA, 1234.0)), PRIOR_MEAN, PRIOR, 0.15, 4)
    assert aim @ more.shape @ aim == pytest.approx((1 - cut[3]) * (aim @ line.shape @ aim))


def test_evidence_is_the_integral_it_stands_for() -> None:
    x, y = np.log(DOSE / 30), np.log(ETA)
    line = fitted(3)
    design = line_design(x)
    # marginal of y: multivariate t, straight from the model
    shape = 0.15**2 * (np.eye(3) + design @ np.linalg.inv(PRIOR * 0.15**2) @ design.T)
    expected = stats.multivariate_t(design @ PRIOR_MEAN, shape, df=4).logpdf(y)
    assert float(line.log_evidence) == pytest.approx(expected, abs=1e-10)


def test_known_noise_evidence_and_stacks() -> None:
    rng = np.random.default_rng(3)
    x, y = rng.normal(size=5), rng.normal(size=(4, 1, 5))
    variance = rng.uniform(0.1, 2.0, size=(6, 5))
    stack = fit_line(line_design(x), y, PRIOR_MEAN, PRIOR, 1.0, np.inf, 1 / variance)
    assert stack.mean.shape == (4, 6, 2)
    design = line_design(x)
    for i, j in [(0, 0), (3, 5), (2, 1)]:
        covariance = np.diag(variance[j]) + design @ np.linalg.inv(PRIOR) @ design.T
        expected = stats.multivariate_normal(design @ PRIOR_MEAN, covariance).logpdf(y[i, 0])
        assert stack.log_evidence[i, j] == pytest.approx(expected, abs=1e-10)
        alone = fit_line(design, y[i, 0], PRIOR_MEAN, PRIOR, 1.0, np.inf, 1 / variance[j])
        assert stack.mean[i, j] == pytest.approx(alone.mean, abs=1e-12)
        assert stack.covariance[i, j] == pytest.approx(alone.covariance, abs=1e-12)


def test_weights_are_repeats() -> None:
    x, y = np.array([0.0, 1.0, 2.0]), np.array([1.0, 2.5, 2.0])
    counts = [1, 3, 2]
    weighted = fit_line(line_design(x), y, PRIOR_MEAN, PRIOR, 0.3, np.inf, weights=counts)
    repeated = fit_line(line_design(np.repeat(x, counts)), np.repeat(y, counts), PRIOR_MEAN, PRIOR, 0.3, np.inf)
    assert weighted.mean == pytest.approx(repeated.mean)
    assert weighted.covariance == pytest.approx(repeated.covariance)


def test_flat_prior_has_no_evidence_and_a_level_line_no_dose() -> None:
    line = fit_line(line_design([0.0, 1.0, 2.0, 3.0]), [1.0, 1.2, 0.9, 1.1])
    assert np.isnan(line.log_evidence)
    assert line.meets(5.0)[1:] == (-np.inf, np.inf)


def test_expected_approach_is_an_integral() -> None:
    for target, mean, sd, nearest in [(6.2, 6.0, 0.3, 0.15), (0.0, 1.0, 2.0, 0.5), (1.0, 1.0, 0.2, 1.0)]:
        better, _ = integrate.quad(
            lambda y: max(nearest - abs(y - target), 0) * stats.norm.pdf(y, mean, sd),  # noqa: B023
            target - nearest,
            target + nearest,
            points=[target],
        )
        assert expected_approach(target, mean, sd, nearest) == pytest.approx(better, abs=1e-9)


def test_normal_is_student_without_end() -> None:
    assert student_quantile(np.inf, 0.95) == pytest.approx(student_quantile(1e7, 0.95), abs=1e-6)
    assert student_cdf(np.inf, 1.0) == pytest.approx(stats.norm.cdf(1.0))
