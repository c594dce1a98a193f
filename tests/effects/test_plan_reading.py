"""Reading a two-factor plan: its figures against published ones, and ranges that hold."""

from __future__ import annotations

import numpy as np
import pytest

from spoonline.effects.plan_reading import invent_readings, read_plan
from spoonline.effects.two_factor_plan import Factor, plan_pots
from spoonline.effects.two_factors import fit_surface
from spoonline.measures.errors import BatchError
from spoonline.recipes import Target

DOSE, TIME = Factor("corn starch", "g/L", 25, 36), Factor("simmering", "min", 2, 8)
TARGET = Target(viscosity_pa_s="0.35")


def test_the_rsm_example_is_an_established_maximum() -> None:
    """Table 7.6 of Myers, Montgomery & Anderson-Cook 2009: both eigenvalues negative, many standard errors from 0."""
    from witness.test_statistics_two_factors import DAY_1, DAY_2

    u, v, y = np.array(DAY_1 + DAY_2).T
    found = fit_surface(u, v, y, [1] * 7 + [2] * 7)
    assert found.kind == ("maximum", True)
    assert fit_surface(u, v, -y, [1] * 7 + [2] * 7).kind == ("minimum", True)
    # on its axes the eigenvalues are the coefficients, so that their ranges are those of a regression (computed)
    plain = fit_surface(u, v, y - 0.125 * u * v, [1] * 7 + [2] * 7)
    half = (
        1.894579 * np.sqrt(np.diag(plain.line.noise_variance * plain.line.shape))[-2:]
    )  # Student's t, 0.95, 7 degrees of freedom (tables)
    assert np.all(np.abs(plain.line.mean[-2:]) > half)
    bare = fit_surface(u, v, y + 0.933442 * v * v, [1] * 7 + [2] * 7)
    assert bare.kind[1] is False, "a ridge: one curvature is nothing"


def test_a_twisted_plane_is_the_mean_of_its_corners() -> None:
    pots = plan_pots(DOSE, TIME, centres=0)
    u, v = np.array([pot.coded for pot in pots]).T
    y = np.array([{(-1, -1): 1.0, (1, -1): 2.0, (-1, 1): 1.5, (1, 1): 3.5}[pot.coded] for pot in pots])
    found = fit_surface(u, v, y, second_order=False, noise_sd=0.2, interaction=True)
    assert found.average(u, v).best == pytest.approx(y)
    assert found.average(0, 0).best == pytest.approx(2.0)
    assert found.kind[0] == "saddle"
    at = found.stationary
    steps = [(0.01, 0), (-0.01, 0), (0, 0.01), (0, -0.01)]
    here = float(found.average(*at).best)
    assert [float(found.average(at[0] + a, at[1] + b).best) for a, b in steps] == pytest.approx([here] * 4)
    with pytest.raises(BatchError, match="level nowhere"):
        fit_surface(u, v, u, second_order=False, noise_sd=0.2, interaction=True).stationary  # noqa: B018  # asking for it is what is refused


def test_the_mean_of_the_days_lies_between_them() -> None:
    pots = plan_pots(DOSE, TIME, stars=True)
    found = read_plan(DOSE, TIME, pots, invent_readings(pots)).surface
    one, two, both = (float(found.average(0.3, -0.2, block=day).best) for day in (0, 1, None))
    assert both == pytest.approx((one + two) / 2)
    assert two - one == pytest.approx(found.line.mean[1])


def test_ranges_of_invented_plans_hold_what_was_put_in() -> None:
    """The four true ratios of the invented law lie inside their 90 % ranges in about nine of ten plans."""
    pots = plan_pots(DOSE, TIME, stars=True)
    truth = [3 * np.log(36 / 25), -0.10 * np.log(8 / 2), 0.0, 0.35 * np.log(2) ** 2]
    held = [
        [
            ratio.low <= np.exp(true) <= ratio.high
            for ratio, true in zip(read_plan(DOSE, TIME, pots, invent_readings(pots, seed)).ratios, truth, strict=True)
        ]
        for seed in range(200)
    ]
    # the spread that is known beforehand (20 %) is wider than the invented one (8 %), so the ranges are on the wide side
    assert np.all(np.mean(held, axis=0) >= 0.87)


def test_next_pot_is_the_best_inside_the_plan() -> None:
    pots = plan_pots(DOSE, TIME, stars=True)
    found = read_plan(DOSE, TIME, pots, invent_readings(pots))
    step = found.next_pot(TARGET)
    low, high = np.log((TARGET.low_pa_s, TARGET.high_pa_s))
    for pot in pots:
        assert found.surface.chance(*pot.coded, low, high, block=None) <= step.chance + 1e-9
    assert step.viscosity.low < step.viscosity.best < step.viscosity.high
    assert DOSE.setting(step.coded[0]) == pytest.approx(step.first)


def test_what_matters_little_is_told_from_what_is_still_open() -> None:
    pots = plan_pots(DOSE, TIME, centres=6)
    law = [0.35 * (pot.first / 30) ** 3 for pot in pots]
    wide, narrow = Target(viscosity_pa_s="0.35", band="1.5"), Target(viscosity_pa_s="0.35", band="1.05")
    found = read_plan(DOSE, TIME, pots, law)
    assert any("Set simmering where it suits" in each for each in found.next_steps(wide))
    assert any("Whether simmering matters is still open" in each for each in found.next_steps(narrow))
    assert not any("corn starch matters" in each for each in found.next_steps(narrow))


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda pots: read_plan(DOSE, TIME, pots, [0.3]), "7 pots and 1 viscosities"),
        (lambda pots: read_plan(DOSE, TIME, pots, [float("nan")] * 7), "Pot 1: nan"),
        (lambda pots: read_plan(DOSE, TIME, pots, [None] * 7), "at a corner of the plan is not read yet"),
    ],
)
def test_bad_input_gets_one_sentence(ask, words: str) -> None:
    with pytest.raises(BatchError, match=words):
        ask(plan_pots(DOSE, TIME))
