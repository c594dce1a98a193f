"""Two-factor plans and response surfaces against published worked examples."""

from __future__ import annotations

import numpy as np
import pytest

from spoonline.effects.two_factor_plan import Factor, plan_pots
from spoonline.effects.two_factors import Surface, fit_effects, fit_surface
from spoonline.measures.errors import BatchError

pytestmark = pytest.mark.kind("published")


def test_two_by_two() -> None:
    """Check 47. Reactant x catalyst, Montgomery, Design and Analysis of Experiments, as in U. Alberta STAT368 notes; squares computed."""
    u = np.repeat([-1.0, 1.0, -1.0, 1.0], 3)
    v = np.repeat([-1.0, -1.0, 1.0, 1.0], 3)
    y = [28, 25, 27, 36, 32, 32, 18, 19, 23, 31, 30, 29]
    found = fit_effects(u, v, y)
    assert [each.best for each in found.effects] == pytest.approx([8.3333, -5.0, 1.6667], abs=1e-4)
    assert found.f_ratios * found.noise_sd**2 == pytest.approx([208.3333, 75.0, 8.3333], abs=1e-4)  # sums of squares
    assert found.f_ratios == pytest.approx([53.191, 19.149, 2.1277], abs=1e-3)
    assert found.noise_sd**2 * 8 == pytest.approx(31.3333, abs=1e-4)
    assert found.noise_df == 8
    assert found.effects[2].low < 0 < found.effects[2].high  # F 2.13 on 1 and 8 df is nothing to build on


# Central composite plan in two days: Myers, Montgomery & Anderson-Cook 2009, table 7.6, as in the article on
# R package rsm
DAY_1 = [(-1, -1, 80.5), (-1, 1, 81.5), (1, -1, 82.0), (1, 1, 83.5), (0, 0, 83.9), (0, 0, 84.3), (0, 0, 84.0)]
DAY_2 = [(0, 0, 79.7), (0, 0, 79.8), (0, 0, 79.5), (1.414, 0, 78.4), (-1.414, 0, 75.6), (0, 1.414, 78.5), (0, -1.414, 77.0)]  # fmt: skip


def left_over(found: Surface) -> float:
    """The sum of squares that the surface leaves; nothing is known of the noise beforehand here."""
    return found.line.noise_variance * found.line.noise_df


def test_first_order_on_the_first_day() -> None:
    """Check 48, first day: 82.81429, .875, .625 (standard error of the slopes .72386), R2 .3555."""
    u, v, y = np.array(DAY_1).T
    found = fit_surface(u, v, y, second_order=False)
    assert found.line.mean == pytest.approx([82.81429, 0.875, 0.625], abs=5e-6)
    assert np.sqrt(np.diag(found.line.noise_variance * found.line.shape))[1:] == pytest.approx(
        [0.72386, 0.72386], abs=5e-6
    )
    assert 1 - left_over(found) / np.sum((y - y.mean()) ** 2) == pytest.approx(0.3555, abs=5e-5)
    assert found.lack_of_fit[1] < 0.05  # so one goes up an order


def test_second_order_with_days() -> None:
    """Check 48. Coefficients, errors, lack of fit, stationary point and eigenvalues as printed by rsm."""
    u, v, y = np.array(DAY_1 + DAY_2).T
    found = fit_surface(u, v, y, ["first"] * 7 + ["second"] * 7)
    expected = [84.095427, -4.457530, 0.932541, 0.577712, 0.125, -1.308555, -0.933442]
    assert found.line.mean == pytest.approx(expected, abs=1e-6)
    errors = [0.079631, 0.087226, 0.057699, 0.057699, 0.081592, 0.060064, 0.060064]
    assert np.sqrt(np.diag(found.line.noise_variance * found.line.shape)) == pytest.approx(errors, abs=1e-6)
    assert 1 - left_over(found) / np.sum((y - y.mean()) ** 2) == pytest.approx(0.9981, abs=5e-5)
    assert (left_over(found), found.line.noise_df) == (pytest.approx(0.186, abs=5e-4), 7)
    assert found.lack_of_fit == (pytest.approx(0.5307, abs=5e-5), pytest.approx(0.6851, abs=5e-5))
    assert found.stationary == pytest.approx((0.3722954, 0.3343802), abs=1e-6)
    time, temperature = (Factor("time", "min", 80, 90, by_ratio=False), Factor("heat", "F", 170, 180, by_ratio=False))
    at = time.setting(found.stationary[0]), temperature.setting(found.stationary[1])
    assert at == (pytest.approx(86.86148, abs=1e-5), pytest.approx(176.67190, abs=1e-5))
    # stars exactly at the root of 2 move the fourth decimal (computed)
    star = (
        np.where(np.abs(u) == 1.414, np.sign(u) * np.sqrt(2), u),
        np.where(np.abs(v) == 1.414, np.sign(v) * np.sqrt(2), v),
    )
    exact = fit_surface(*star, y, ["first"] * 7 + ["second"] * 7)
    assert exact.line.mean[:3] == pytest.approx([84.095238, -4.457143, 0.932475], abs=1e-6)


def test_chance_of_the_band_is_that_of_students_t() -> None:
    from scipy.stats import t

    u, v, y = np.array(DAY_1 + DAY_2).T
    found = fit_surface(u, v, y, [1] * 7 + [2] * 7)
    chance = found.chance([[0.0], [1.0]], [0.0, 0.5, 1.0], 79.0, 80.0, block=1)
    assert chance.shape == (2, 3)
    level = found.line.mean[0] + found.line.mean[1]
    row = np.array([1.0, 1.0, 0, 0, 0, 0, 0])
    sd = np.sqrt(found.line.noise_variance * (1 + row @ found.line.shape @ row))
    assert chance[0, 0] == pytest.approx(t.cdf((80 - level) / sd, 7) - t.cdf((79 - level) / sd, 7))


def test_centre_pots_show_curvature() -> None:
    """Curvature = mean of the corners less mean of the centre, SS = nF nC diff^2/(nF + nC)."""
    u, v, y = np.array(DAY_1).T
    found = fit_effects(u, v, y, names=("starch", "minutes"))
    corners, centre = y[:4].mean(), y[4:].mean()
    assert found.names[-1] == "curvature"
    assert found.effects[-1].best == pytest.approx(corners - centre)
    assert found.f_ratios[-1] * found.noise_sd**2 == pytest.approx(4 * 3 * (corners - centre) ** 2 / 7)
    assert found.noise_df == 2


def test_four_pots_need_a_spread_from_elsewhere() -> None:
    u, v = np.array([-1, 1, -1, 1.0]), np.array([-1, -1, 1, 1.0])
    y = [1.0, 2.0, 1.1, 2.3]
    with pytest.raises(BatchError, match="repeat some, or give the spread"):
        fit_effects(u, v, y)
    found = fit_effects(u, v, y, noise_sd=0.2)
    assert (found.noise_sd, found.noise_df) == (pytest.approx(0.2), 4.0)
    assert found.effects[0].best == pytest.approx(1.1)
    assert found.effects[0].high - found.effects[0].best == pytest.approx(2.131847 * 0.2, rel=1e-5)  # t, 4 df


def test_plan_holds_what_the_fit_needs() -> None:
    dose, minutes = Factor("corn starch", "g/L", 25, 36), Factor("simmering", "min", 2, 8)
    pots = plan_pots(dose, minutes, stars=True)
    assert [sum(pot.day == day for pot in pots) for day in (1, 2)] == [7, 7]
    u, v = np.array([pot.coded for pot in pots]).T
    assert dose.setting(u) == pytest.approx([pot.first for pot in pots])
    assert minutes.setting(v) == pytest.approx([pot.second for pot in pots])
    truth = (
        3
        + 0.5 * u
        - 0.2 * v
        + 0.1 * u * v
        - 0.3 * u * u
        + 0.04 * v * v
        + 0.7 * np.array([pot.day == 2 for pot in pots])
    )
    found = fit_surface(u, v, truth, [pot.day for pot in pots])
    assert found.line.mean == pytest.approx([3, 0.7, 0.5, -0.2, 0.1, -0.3, 0.04], abs=1e-9)
    assert [pot.coded for pot in plan_pots(dose, minutes, seed=2)] != [pot.coded for pot in plan_pots(dose, minutes)]


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: Factor("x", "g", 0.0, 3.0), "a low one above 0"),
        (lambda: Factor("x", "g", 3.0, 3.0), "a higher one"),
        (lambda: plan_pots(Factor("x", "g", 1, 2), Factor("y", "g", 1, 2), centres=-1), "-1 centre pots"),
        (lambda: fit_effects([1, -1], [1, 1], [2, 3]), "all four corners"),
        (lambda: fit_surface([1, -1, 1], [1, 1], [2, 3, 4]), "differ in length"),
        (lambda: fit_surface([1, -1], [1, 1], [2, float("nan")]), "no number"),
        (lambda: fit_surface(*np.array(DAY_1).T), "cannot show 6 terms"),
        (lambda: fit_surface(*np.array(DAY_1).T, second_order=False).stationary, "no curvature"),
    ],
)  # fmt: skip
def test_bad_plans_get_one_sentence(ask, words) -> None:
    with pytest.raises(BatchError, match=words):
        ask()
