"""Reading a two-factor plan: its figures against published ones, a stopped rehearsal, and ranges that hold."""

from __future__ import annotations

import numpy as np
import pytest

from spoonline.dose.rehearsal import Habits, Rehearsal, invent_kitchen, rehearse
from spoonline.effects.plan_reading import invent_readings, read_plan
from spoonline.effects.two_factor_plan import Factor, plan_pots
from spoonline.effects.two_factors import fit_surface
from spoonline.measures.errors import BatchError, Stopped
from spoonline.recipes import Target

DOSE, TIME = Factor("corn starch", "g/L", 25, 36), Factor("simmering", "min", 2, 8)
TARGET = Target(viscosity_pa_s="0.35")


def test_share_of_kitchens_as_published() -> None:
    """Score range of 81/263 at 95 %: 0.2553 to 0.3662; of 0/20: 0 to 0.1611 (Newcombe, Stat. Med. 17, 1998, 857; memory)."""
    empty = np.zeros(2)
    for done, of, low, high in ((81, 263, 0.2553, 0.3662), (0, 20, 0.0, 0.1611)):
        found = Rehearsal(of, 1, 1.2, *[empty] * 6).share(done / of, level=0.95)
        assert (found.low, found.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


def test_the_rsm_example_is_an_established_maximum() -> None:
    """Table 7.6 of Myers, Montgomery & Anderson-Cook 2009: both eigenvalues negative, many standard errors from 0."""
    from witness.test_statistics_two_factors import DAY_1, DAY_2

    u, v, y = np.array(DAY_1 + DAY_2).T
    found = fit_surface(u, v, y, [1] * 7 + [2] * 7)
    assert found.kind == ("maximum", True)
    assert fit_surface(u, v, -y, [1] * 7 + [2] * 7).kind == ("minimum", True)
    # on its axes the eigenvalues are the coefficients, so that their ranges are those of a regression (computed)
    plain = fit_surface(u, v, y - 0.125 * u * v, [1] * 7 + [2] * 7)
    half = 1.894579 * plain.standard_errors[-2:]  # Student's t, 0.95, 7 degrees of freedom (tables)
    assert np.all(np.abs(plain.coefficients[-2:]) > half)
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
        fit_surface(u, v, u, second_order=False, noise_sd=0.2, interaction=True).stationary  # noqa: B018


def test_the_mean_of_the_days_lies_between_them() -> None:
    pots = plan_pots(DOSE, TIME, stars=True)
    found = read_plan(DOSE, TIME, pots, invent_readings(pots)).surface
    one, two, both = (float(found.average(0.3, -0.2, block=day).best) for day in (0, 1, None))
    assert both == pytest.approx((one + two) / 2)
    assert two - one == pytest.approx(found.coefficients[1])


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
    assert DOSE.coded(step.first) == pytest.approx(step.coded[0])


def test_what_matters_little_is_told_from_what_is_still_open() -> None:
    pots = plan_pots(DOSE, TIME, centres=6)
    law = [0.35 * (pot.first / 30) ** 3 for pot in pots]
    wide, narrow = Target(viscosity_pa_s="0.35", band="1.5"), Target(viscosity_pa_s="0.35", band="1.05")
    found = read_plan(DOSE, TIME, pots, law)
    assert any("Set simmering where it suits" in each for each in found.next_steps(wide))
    assert any("Whether simmering matters is still open" in each for each in found.next_steps(narrow))
    assert not any("corn starch matters" in each for each in found.next_steps(narrow))


def test_a_rehearsal_stops_when_told_and_covers_what_was_done() -> None:
    def enough(done: int, _of: int, _what: str) -> None:
        if done == 4:
            raise Stopped("Stopped.")

    stopped = rehearse(kitchens=50, pots=1, seed=3, progress=enough)
    whole = rehearse(kitchens=4, pots=1, seed=3)
    assert stopped.kitchens == 4 and "In 4 invented kitchens" in stopped.text
    assert stopped.lands.tolist() == whole.lands.tolist()
    assert rehearse(kitchens=3, pots=1, progress=lambda *_: False).kitchens == 3, "only Stopped stops"


def test_pots_needed_is_the_first_that_is_enough() -> None:
    shares = [np.array(each) for each in ([0.2, 0.5, 0.8, 0.9], [0.2, 0.3, 0.4, 0.79])]
    assert [Rehearsal(10, 3, 1.2, each, each, *[each] * 4).pots_needed for each in shares] == [2, None]


def test_kitchens_of_a_weaker_starch_use_more_of_it_for_the_same_dish() -> None:
    for seed in range(5):
        maize, flour = (invent_kitchen(np.random.default_rng(seed), Habits(), each) for each in (1.0, 0.58))
        assert flour.dose_g_per_l == pytest.approx(maize.dose_g_per_l / 0.58)
        # the flour itself takes up some water and thins the paste less, so the thickness is alike, not equal
        assert flour.target_pa_s == pytest.approx(maize.target_pa_s, rel=0.25)
    out = rehearse(kitchens=30, pots=2, thickener="wheat flour")
    assert out.range_holds[0] > 0.75 and out.lands[0] < out.lands[2]


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda pots: read_plan(DOSE, TIME, pots, [0.3]), "7 pots and 1 viscosities"),
        (lambda pots: read_plan(DOSE, TIME, pots, [float("nan")] * 7), "Pot 1: nan"),
        (lambda pots: read_plan(DOSE, TIME, pots, [None] * 7), "at a corner of the plan is not read yet"),
        (lambda pots: rehearse(kitchens=1, pots=1, band=1.0), "a factor above 1"),
    ],
)
def test_bad_input_gets_one_sentence(ask, words: str) -> None:
    with pytest.raises(BatchError, match=words):
        ask(plan_pots(DOSE, TIME))
