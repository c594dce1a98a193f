"""Two-factor plans and response surfaces against published worked examples."""

from __future__ import annotations

import numpy as np
import pytest

from spoonline.dose.priors import Prior
from spoonline.effects import Factor, plan_pots
from spoonline.effects.two import fit_surface
from spoonline.measures.errors import BatchError
from spoonline.regression import Line

pytestmark = pytest.mark.kind("published")


def test_two_by_two() -> None:
    """Check 47. Reactant x catalyst, Montgomery, Design and Analysis of Experiments, as in U. Alberta STAT368 notes; squares computed."""
    u = np.repeat([-1.0, 1.0, -1.0, 1.0], 3)
    v = np.repeat([-1.0, -1.0, 1.0, 1.0], 3)
    y = np.array([28, 25, 27, 36, 32, 32, 18, 19, 23, 31, 30, 29.0])
    terms, line, _ = fit_surface(np.column_stack([u, v]), y, [1] * 12)
    assert terms == ("level", "u", "v", "uv")
    assert 2 * line.mean[1:] == pytest.approx([8.3333, -5.0, 1.6667], abs=1e-4)
    squares = line.mean[1:] ** 2 / np.diag(line.shape)[1:]
    assert squares == pytest.approx([208.3333, 75.0, 8.3333], abs=1e-4)
    assert squares / line.noise_variance == pytest.approx([53.191, 19.149, 2.1277], abs=1e-3)
    assert (line.noise_variance * 8, line.noise_df) == (pytest.approx(31.3333, abs=1e-4), 8)


# Central composite plan in two days: Myers, Montgomery & Anderson-Cook 2009, table 7.6, as in the article on
# R package rsm
DAY_1 = [(-1, -1, 80.5), (-1, 1, 81.5), (1, -1, 82.0), (1, 1, 83.5), (0, 0, 83.9), (0, 0, 84.3), (0, 0, 84.0)]
DAY_2 = [(0, 0, 79.7), (0, 0, 79.8), (0, 0, 79.5), (1.414, 0, 78.4), (-1.414, 0, 75.6), (0, 1.414, 78.5), (0, -1.414, 77.0)]  # fmt: skip


def left_over(line: Line) -> float:
    """The sum of squares that the surface leaves; nothing is known of the noise beforehand here."""
    return line.noise_variance * line.noise_df


def test_first_order_on_the_first_day() -> None:
    """Check 48, first day: 82.81429, .875, .625 (standard error of the slopes .72386), R2 .3555."""
    u, v, y = np.array(DAY_1).T
    terms, line, lack = fit_surface(np.column_stack([u, v]), y, [1] * 7, most=[()])
    assert terms == ("level", "u", "v")
    assert line.mean == pytest.approx([82.81429, 0.875, 0.625], abs=5e-6)
    assert np.sqrt(np.diag(line.noise_variance * line.shape))[1:] == pytest.approx([0.72386, 0.72386], abs=5e-6)
    assert 1 - left_over(line) / np.sum((y - y.mean()) ** 2) == pytest.approx(0.3555, abs=5e-5)
    assert lack is not None and lack[1] < 0.05  # so one goes up an order


def test_second_order_with_days() -> None:
    """Check 48. Coefficients, errors and lack of fit as printed by rsm; days are blocks."""
    u, v, y = np.array(DAY_1 + DAY_2).T
    terms, line, lack = fit_surface(np.column_stack([u, v]), y, ["first"] * 7 + ["second"] * 7)
    assert terms == ("level", "day 2", "u", "v", "uv", "u^2", "v^2")
    assert line.mean == pytest.approx([84.095427, -4.457530, 0.932541, 0.577712, 0.125, -1.308555, -0.933442], abs=1e-6)
    errors = [0.079631, 0.087226, 0.057699, 0.057699, 0.081592, 0.060064, 0.060064]
    assert np.sqrt(np.diag(line.noise_variance * line.shape)) == pytest.approx(errors, abs=1e-6)
    assert 1 - left_over(line) / np.sum((y - y.mean()) ** 2) == pytest.approx(0.9981, abs=5e-5)
    assert (left_over(line), line.noise_df) == (pytest.approx(0.186, abs=5e-4), 7)
    assert lack == (pytest.approx(0.5307, abs=5e-5), pytest.approx(0.6851, abs=5e-5))


def test_centre_pots_show_a_bend() -> None:
    """Curvature = mean of the corners less mean of the centre, SS = nF nC diff^2/(nF + nC)."""
    u, v, y = np.array(DAY_1).T
    terms, line, _ = fit_surface(np.column_stack([u, v]), y, [1] * 7)
    assert terms[-1] == "bend" and line.noise_df == 2
    difference = y[:4].mean() - y[4:].mean()
    assert line.mean[-1] == pytest.approx(difference)
    assert line.mean[-1] ** 2 / line.shape[-1, -1] == pytest.approx(4 * 3 * difference**2 / 7)


@pytest.mark.kind("own")
def test_four_pots_need_a_spread_from_elsewhere() -> None:
    coded, y = np.array([(-1, -1), (1, -1), (-1, 1), (1, 1.0)]), np.log([1.0, 2.0, 1.1, 2.3])
    assert fit_surface(coded, y, [1] * 4)[0] == ("level", "u", "v"), "the twist gives way to the spread"
    terms, line, _ = fit_surface(coded, y, [1] * 4, known=True)
    assert terms == ("level", "u", "v", "uv") and line.noise_df == Prior.batch_df
    with pytest.raises(BatchError, match="3 pots of this plan are read, too few"):
        fit_surface(coded[:3], y[:3], [1] * 3)


@pytest.mark.kind("own")
def test_plan_holds_what_the_fit_needs() -> None:
    dose, minutes = (
        Factor(name="corn starch", unit="g/L", low=25, high=36),
        Factor(name="simmering", unit="min", low=2, high=8),
    )
    plan = plan_pots("Gravy", [dose, minutes], "viscosity", "Pa s", stars=True)
    assert [sum(pot.day == day for pot in plan.pots) for day in (1, 2)] == [7, 7]
    u, v = (
        factor.coded([float(pot.settings[place]) for pot in plan.pots]) for place, factor in enumerate(plan.factors)
    )
    truth = (
        3
        + 0.5 * u
        - 0.2 * v
        + 0.1 * u * v
        - 0.3 * u * u
        + 0.04 * v * v
        + 0.7 * np.array([pot.day == 2 for pot in plan.pots])
    )
    _, line, _ = fit_surface(np.column_stack([u, v]), truth, [pot.day for pot in plan.pots])
    assert line.mean == pytest.approx([3, 0.7, 0.5, -0.2, 0.1, -0.3, 0.04], abs=1e-6)
    assert plan.pots != plan_pots("Gravy", [dose, minutes], "viscosity", "Pa s", stars=True, seed=2).pots


GRAMS, MINUTES = Factor(name="x", unit="g", low=1, high=2), Factor(name="y", unit="min", low=1, high=2)


@pytest.mark.kind("own")
@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: Factor(name="x", unit="g", low=-1, high=3, by_ratio=True), "a low one above 0"),
        (lambda: Factor(name="x", unit="g", low=3, high=3), "a higher one"),
        (lambda: Factor(name="x", unit="stones of old", low=1, high=3), "a unit that the kitchen knows is wanted"),
        (lambda: plan_pots("Soup", [GRAMS, MINUTES], "salt", "%", centres=-1), "-1 centre pots"),
        (lambda: plan_pots("Soup", [GRAMS, GRAMS], "salt", "%"), "one or two different ones"),
        (lambda: plan_pots("Soup", [GRAMS], "salt", "saltiness"), "The unit 'saltiness' came"),
        (lambda: plan_pots("Soup", [GRAMS], "salt", "%", stage="raw"), "There is no stage 'raw'"),
        (lambda: plan_pots("Soup", [Factor(name="salt", unit="score", low=1, high=9), MINUTES], "salt", "%", stars=True), "would lie at -0.656"),
    ],
)  # fmt: skip
def test_bad_plans_get_one_sentence(ask, words) -> None:
    with pytest.raises(ValueError, match=words):
        ask()
