"""Regression and inverse prediction against certified and published results.

Straight lines go through spoonline's own ``fit_line``. For curves that are no straight line and for one-way tables
spoonline has no function of its own; there the library function that it relies on is checked, and said.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from spoonline.regression import fit_line

pytestmark = pytest.mark.kind("published")

# Norris, NIST Statistical Reference Datasets, linear regression; y,x (as printed in scipy's own test data)
NORRIS = """
.1,.2 338.8,337.4 118.1,118.2 888,884.6 9.2,10.1 228.1,226.5 668.5,666.3 998.5,996.3 449.1,448.6 778.9,777 559.2,558.2 .3,.4
.1,.6 778.1,775.5 668.8,666.9 339.3,338 448.9,447.5 10.8,11.6 557.7,556 228.3,228.1 998,995.8 888.8,887.6 119.6,120.2 .3,.3
.6,.3 557.6,556.8 339.3,339.1 888,887.2 998.5,999 778.9,779 10.2,11.1 117.6,118.3 228.9,229.2 668.4,669.1 449.2,448.9 .2,.5
"""


def standard_errors(line) -> np.ndarray:
    return np.sqrt(np.diag(line.noise_variance * line.shape))


def line_design(x) -> np.ndarray:
    return np.column_stack([np.ones_like(x), x])


def test_norris() -> None:
    """Check 5. NIST StRD, certified."""
    y, x = np.array([[float(each) for each in pair.split(",")] for pair in NORRIS.split()]).T
    assert x.size == 36
    line = fit_line(line_design(x), y)
    assert line.mean == pytest.approx([-0.262323073774029, 1.00211681802045], abs=1e-10)
    assert standard_errors(line) == pytest.approx([0.232818234301152, 0.429796848199937e-03], rel=1e-8)
    assert np.sqrt(line.noise_variance) == pytest.approx(0.884796396144373, rel=1e-9)
    assert line.noise_df == 34


def test_line_through_zero() -> None:
    """Check 6. NoInt2 and NoInt1, NIST StRD, certified."""
    line = fit_line(np.array([[4.0], [5.0], [6.0]]), [3.0, 4.0, 4.0])
    assert line.mean == pytest.approx([0.727272727272727], abs=1e-12)
    assert standard_errors(line) == pytest.approx([0.0420827318078432], abs=1e-13)
    assert np.sqrt(line.noise_variance) == pytest.approx(0.369274472937998, abs=1e-13)
    line = fit_line(np.arange(60.0, 71.0)[:, None], np.arange(130.0, 141.0))
    assert line.mean == pytest.approx([2.07438016528926], abs=1e-11)
    assert standard_errors(line) == pytest.approx([0.0165289256198347], abs=1e-12)
    assert np.sqrt(line.noise_variance) == pytest.approx(3.56753034006338, abs=1e-11)


def test_pooled_spread() -> None:
    """Check 7. SiRstv, NIST StRD one-way analysis of variance, certified: a regression on five group means, and scipy's F."""
    from scipy.stats import f_oneway

    groups = np.array(
        [
            [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
            [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
            [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
            [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
            [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
        ]
    )
    line = fit_line(np.repeat(np.eye(5), 5, axis=0), groups.ravel())
    assert np.sqrt(line.noise_variance) == pytest.approx(0.104076068334656, abs=1e-9)
    assert line.noise_df == 20
    between = 5 * np.sum((line.mean - groups.mean()) ** 2) / 4
    assert between / line.noise_variance == pytest.approx(1.18046237440255, abs=1e-8)
    # scipy's function, which comparisons of versions rely on
    assert f_oneway(*groups).statistic == pytest.approx(1.18046237440255, abs=1e-8)


# log10 of consumption, income, price: Theil's textile data, as printed in the tests of statsmodels
TEXTILE = """
1.99651,1.98543,2.00432 1.99564,1.99167,2.00043 2,2,2 2.04766,2.02078,1.95713 2.08707,2.02078,1.93702 2.07041,2.03941,1.95279
2.08314,2.04454,1.95713 2.13354,2.05038,1.91803 2.18808,2.03862,1.84572 2.18639,2.02243,1.81558 2.20003,2.00732,1.78746
2.14799,1.97955,1.79588 2.13418,1.98408,1.80346 2.22531,1.98945,1.72099 2.18837,2.0103,1.77597 2.17319,2.00689,1.77452
2.2188,2.0162,1.78746
"""


def test_several_coefficients() -> None:
    """Check 13. Theil's textile regression: Stata's result via statsmodels' tests."""
    data = np.array([[float(each) for each in row.split(",")] for row in TEXTILE.split()])
    y, design = data[:, 0], np.column_stack([data[:, 1:], np.ones(len(data))])
    plain = fit_line(design, y)
    assert plain.mean == pytest.approx([1.143175, -0.828862, 1.373921], abs=6e-7)
    assert plain.noise_variance == pytest.approx(0.00018334123641580, rel=1e-8)


# Curves that are no straight line. spoonline fits none; scipy's curve_fit is what one would fall back on, so
# it is held to the certified values here. NIST StRD nonlinear, as in the repository of lmfit
# (NIST_STRD/*.dat).
DANWOOD_X, DANWOOD_Y = [1.309, 1.471, 1.490, 1.565, 1.611, 1.680], [2.138, 3.421, 3.597, 4.340, 4.882, 5.660]
MISRA_X = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
MISRA_Y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]
BOXBOD_X, BOXBOD_Y = [1, 2, 3, 5, 7, 10], [109, 149, 149, 191, 213, 224]


def power(x, b1, b2):
    return b1 * x**b2


def rise(x, b1, b2):
    return b1 * -np.expm1(-b2 * x)


def saturation(x, b1, b2):
    return b1 * b2 * x / (1 + b2 * x)


CERTIFIED = [
    (power, DANWOOD_X, DANWOOD_Y, start, (7.6886226176e-1, 3.8604055871), (1.8281973860e-2, 5.1726610913e-2), 4.3173084083e-3)
    for start in ((1, 5), (0.7, 4))
] + [
    (rise, MISRA_X, MISRA_Y, (500, 1e-4), (2.3894212918e2, 5.5015643181e-4), (2.7070075241, 7.2668688436e-6), 1.2455138894e-1),
    (saturation, MISRA_X, MISRA_Y, (450, 3e-4), (4.3736970754e2, 3.0227324449e-4), (3.6489174345, 2.9334354479e-6), 5.6419295283e-2),
    (rise, BOXBOD_X, BOXBOD_Y, (100, 0.75), (2.1380940889e2, 5.4723748542e-1), (1.2354515176e1, 1.0455993237e-1), 1.1680088766e3),
]  # fmt: skip


@pytest.mark.parametrize(("curve", "x", "y", "start", "best", "errors", "left"), CERTIFIED)
def test_certified_curves(curve, x, y, start, best, errors, left) -> None:
    """Checks 1, 2 and 3. DanWood, Misra1a, Misra1d, BoxBOD, NIST StRD, through scipy's curve_fit."""
    from scipy.optimize import curve_fit

    x, y = np.array(x, float), np.array(y, float)
    found, covariance = curve_fit(curve, x, y, start, xtol=1e-14, ftol=1e-14, gtol=1e-14, maxfev=20000)
    assert found == pytest.approx(best, rel=1e-6)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(errors, rel=1e-4)
    assert np.sum((y - curve(x, *found)) ** 2) == pytest.approx(left, rel=1e-6)


@pytest.mark.kind("own")
def test_hard_start_ends_in_a_false_optimum() -> None:
    """BoxBOD from its hard start: plain curve_fit stops at the mean of y. Why spoonline fits by closed forms, from no start at all."""
    from scipy.optimize import OptimizeWarning, curve_fit

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", OptimizeWarning)
        found, _ = curve_fit(rise, np.array(BOXBOD_X, float), np.array(BOXBOD_Y, float), (1, 1))
    assert found[0] == pytest.approx(np.mean(BOXBOD_Y), abs=0.1)


@pytest.mark.kind("own")
def test_power_law_in_logs_is_another_error_model() -> None:
    """DanWood as a straight line in logs, spoonline's own error model: 0.749945 and 3.917206 (computed), not the certified pair."""
    line = fit_line(line_design(np.log(DANWOOD_X)), np.log(DANWOOD_Y))
    assert (np.exp(line.mean[0]), line.mean[1]) == (
        pytest.approx(0.749945, abs=1e-6),
        pytest.approx(3.917206, abs=1e-6),
    )
