"""The dose curve against an independent grid, its laws, and what it says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dose import oracle
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.priors import Prior, ln_concentration, prior_for
from spoonline.measures.errors import BatchError, ItemError, KitchenError
from spoonline.pots.water import Pot

CORN = prior_for("corn starch")
QUICK = settings(max_examples=40, deadline=None)

doses = st.floats(8, 90)
batches = st.lists(st.tuples(doses, st.floats(0.7, 1.4)), min_size=0, max_size=6)


def kitchen(pairs, base=0.002):
    """Batches of a starch that follows its law up to the factors given."""
    dose = np.array([pair[0] for pair in pairs])
    factor = np.array([pair[1] for pair in pairs])
    return dose, base + 0.2 * np.exp(3 * ln_concentration(dose, CORN, Pot())) * factor if dose.size else dose


# -- against the grid
# ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_agrees_with_brute_force(seed: int) -> None:
    case = oracle.random_case(np.random.default_rng([seed, 7]))
    points = oracle.cloud(case.dose, case.eta, CORN, case.pot, case.base, case.reading, case.dose_sd)
    curve = DoseCurve.fit(case.dose, case.eta, CORN, case.base, case.reading, dose_rel_sd=case.dose_sd, pot=case.pot)
    best, low, high = oracle.dose_quantiles(points, case.target, CORN, case.pot, [0.5, 0.05, 0.95])
    found = curve.dose_for(case.target)
    assert found.best == pytest.approx(best, rel=0.005)
    assert (found.low, found.high) == (pytest.approx(low, rel=0.02, abs=0.5), pytest.approx(high, rel=0.02))
    middle = float(np.exp(np.log(case.dose).mean()))
    expected = oracle.average_quantiles(points, middle, CORN, case.pot, [0.5, 0.05, 0.95])
    assert np.array(curve.viscosity(middle)) == pytest.approx(expected, rel=0.02)
    for chance, end in zip((0.5, 0.05, 0.95), curve.batch(middle), strict=True):
        assert oracle.batch_below(points, middle, end, CORN, case.pot) == pytest.approx(chance, abs=0.004)


def test_reading_errors_enter_as_variances_and_spoons_once_more() -> None:
    one = DoseCurve.fit([40], [0.25], base_pa_s=0.001)
    blurred = DoseCurve.fit([40], [0.25], base_pa_s=0.001, relative_error=0.4)
    spooned = DoseCurve.fit([40], [0.25], base_pa_s=0.001, dose_rel_sd=0.15)
    widths = [np.log(each.dose_for(0.25).high / each.dose_for(0.25).low) for each in (one, blurred, spooned)]
    assert widths[0] < widths[1]
    assert widths[0] < widths[2]
    # (b u)^2 with b about 3 is the same as a reading error of 0.45
    same = DoseCurve.fit([40], [0.25], base_pa_s=0.001, relative_error=0.45)
    assert widths[2] == pytest.approx(np.log(same.dose_for(0.25).high / same.dose_for(0.25).low), rel=0.06)


# -- laws
# ------------------------------------------------------------------------------------------------------------


@QUICK
@given(batches, doses, st.floats(1.02, 2.0))
def test_more_dose_is_thicker(pairs, dose, factor) -> None:
    curve = DoseCurve.fit(*kitchen(pairs))
    for less, more in (
        (curve.viscosity(dose), curve.viscosity(dose * factor)),
        (curve.batch(dose), curve.batch(dose * factor)),
    ):
        assert less.best < more.best
        assert less.low < less.best < less.high


@QUICK
@given(batches, st.floats(0.05, 0.8), st.floats(0.1, 10.0))
def test_another_unit_of_thickness_changes_nothing(pairs, target, factor) -> None:
    """Scaling every viscosity, the prior's too, leaves the dose as it is."""
    dose, eta = kitchen(pairs)
    plain = Prior("corn starch", level_pa_s=0.2)
    scaled = Prior("corn starch", level_pa_s=0.2 * factor)
    # a base thin enough that the ratio to water stays at its lower limit in both
    one = DoseCurve.fit(dose, eta, plain, base_pa_s=1e-5)
    two = DoseCurve.fit(dose, eta * factor, scaled, base_pa_s=1e-5 * factor)
    assert np.array(two.dose_for(target * factor)) == pytest.approx(np.array(one.dose_for(target)), rel=1e-6)
    assert two.chance(30.0, target * factor) == pytest.approx(one.chance(30.0, target), abs=1e-9)


@QUICK
@given(batches, doses)
def test_dose_and_viscosity_are_each_others_inverse(pairs, dose) -> None:
    curve = DoseCurve.fit(*kitchen(pairs), base_pa_s=0.001)
    assert curve.dose_for(curve.viscosity(dose).best).best == pytest.approx(dose, rel=1e-4)
    # where the average pot is at its upper end, the target is reached with that chance
    assert curve.dose_for(curve.viscosity(dose).low).low < dose < curve.dose_for(curve.viscosity(dose).high).high


@QUICK
@given(doses, st.integers(1, 5))
def test_identical_batches_narrow_the_ranges(dose, n) -> None:
    eta = float(kitchen([(dose, 1.0)])[1][0])
    few, more = (DoseCurve.fit([dose] * k, [eta] * k, base_pa_s=0.001) for k in (n, n + 1))
    for less, wide in (
        (more.viscosity(dose), few.viscosity(dose)),
        (more.batch(dose), few.batch(dose)),
        (more.dose_for(eta), few.dose_for(eta)),
    ):
        assert less.high / less.low < wide.high / wide.low


@QUICK
@given(st.permutations(range(5)))
def test_order_of_batches_does_not_matter(order) -> None:
    dose, eta = np.array([20, 30, 40, 25, 33.0]), np.array([0.05, 0.11, 0.3, 0.08, 0.2])
    one, two = DoseCurve.fit(dose, eta), DoseCurve.fit(dose[list(order)], eta[list(order)])
    assert np.array(two.dose_for(0.2)) == pytest.approx(np.array(one.dose_for(0.2)), rel=1e-6)


@QUICK
@given(batches, st.floats(0.05, 0.6), st.floats(1.05, 2.0), st.floats(0.0, 0.4))
def test_chance_is_a_chance_and_spoons_never_help_at_the_best_dose(pairs, target, band, spoon) -> None:
    curve = DoseCurve.fit(*kitchen(pairs))
    chosen = curve.next_batch(target, band)
    assert 0 <= chosen.chance <= 1
    assert curve.chance(chosen.dose_g_per_l, target, band, spoon) <= chosen.chance + 1e-6


def test_the_range_of_one_batch_holds_the_average_and_fills_the_stated_share() -> None:
    curve = DoseCurve.fit([25, 35, 45], [0.06, 0.15, 0.32], base_pa_s=0.002)
    average, single = curve.viscosity(35.0), curve.batch(35.0)
    assert single.low < average.low < average.high < single.high
    lines = curve.mixture.lines(ln_concentration(np.array([35.0]), CORN, Pot()), True)
    for end, share in ((single.low, 0.05), (single.best, 0.5), (single.high, 0.95)):
        assert curve.mixture.below(np.log(end), lines)[0] == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize("base", [None, 0.01])
def test_drawn_curves_are_the_same_as_single_answers(base) -> None:
    curve = DoseCurve.fit([20, 28, 36, 45], [0.03, 0.08, 0.16, 0.28], base_pa_s=base, relative_error=0.1)
    grid = np.geomspace(10, 80, 400)
    for drawn, single in ((curve.viscosity(grid), curve.viscosity), (curve.batch(grid), curve.batch)):
        some = np.array([single(float(each)) for each in grid[::19]]).T
        assert np.array(drawn)[:, ::19] == pytest.approx(some, rel=5e-4)
    assert curve.dose_for([0.1, 0.2]).best[1] == pytest.approx(curve.dose_for(0.2).best)
    assert curve.viscosity(grid.reshape(20, 20)).best.shape == (20, 20)
    assert curve.viscosity([]).best.shape == (0,)
    assert isinstance(curve.batch(30).low, float)


# -- prior, pot, conditions
# ------------------------------------------------------------------------------------------


def test_prior_arithmetic() -> None:
    """Check values of the model itself: 34 g maize, 66 g flour of strength 0.58, per kg of water at 60 C."""
    pot, flour = Pot(1000.0), prior_for("wheat flour")
    assert float(pot.percent(34.0)) == pytest.approx(2.93, abs=0.005)
    assert float(pot.percent(66.0, flour.strength)) == pytest.approx(3.27, abs=0.005)
    base = 0.00047  # water: nothing but starch thickens
    for prior, dose, expected, tolerance in ((CORN, 34.0, 0.079, 0.002), (flour, 66.0, 0.109, 0.003)):
        curve = DoseCurve.fit([], [], prior, base_pa_s=base, pot=pot)
        assert curve.viscosity(dose).best - base == pytest.approx(expected, abs=tolerance)


def test_prior_spread_is_that_of_its_parts() -> None:
    """A strength known to 20 % spreads the level by b times that, besides the level's own 0.7."""
    flour = prior_for("wheat flour")
    assert flour.level()[1] == pytest.approx(np.hypot(0.7, 3 * 0.2))
    assert CORN.level(20.0)[1] == pytest.approx(np.hypot(0.7, 6 / 17 * np.log(2.31)), abs=2e-3)
    assert CORN.level(60.0, 0.5) == (
        pytest.approx(np.log(0.2) + 0.5 * np.log(100)),
        pytest.approx(np.hypot(0.7, 0.1 * np.log(100))),
    )


def test_pot_goes_back_and_forth() -> None:
    pot = Pot(900.0, 6.0)
    dose = np.array([1.0, 30.0, 200.0])
    assert pot.dose(pot.percent(dose, 0.58), 0.58) == pytest.approx(dose)
    assert float(pot.dose(0.1)) == 0.0  # the vegetables bring more than that
    assert float(pot.dose(95.0)) == np.inf
    step = 1e-6
    slope = np.log(pot.percent(dose * (1 + step)) / pot.percent(dose)) / step
    assert pot.leverage(dose) == pytest.approx(slope, rel=1e-4)


def test_a_pot_with_starch_of_its_own_needs_less() -> None:
    dose, eta = [30.0, 40.0], [0.12, 0.25]
    vegetables = Pot(998.0, 8.0)
    # the same concentrations, as doses of the other pot
    plain, starchy = DoseCurve.fit(dose, eta), DoseCurve.fit(vegetables.dose(Pot().percent(dose)), eta, pot=vegetables)
    assert starchy.dose_for(0.2).best < plain.dose_for(0.2).best
    # the concentration at the target is the same
    assert float(starchy.pot.percent(starchy.dose_for(0.2).best)) == pytest.approx(
        float(plain.pot.percent(plain.dose_for(0.2).best)), rel=1e-6
    )


def test_gums_start_near_their_published_doses() -> None:
    """Guar 5.65 and 10.53, xanthan 5.30 and 22.16 g/L lie in the classes 51-350 and 351-1750 mPa s, 25 C."""
    for name, low, high in (("guar gum", 5.65, 10.53), ("xanthan gum", 5.30, 22.16)):
        curve = DoseCurve.fit([], [], name, base_pa_s=0.00089, temperature_c=25.0)
        assert 0.051 < curve.viscosity(low).best < 0.350 < curve.viscosity(high).best < 1.750


# -- what it says
# ----------------------------------------------------------------------------------------------------


def test_flags_of_an_empty_and_of_a_settled_curve() -> None:
    empty = DoseCurve.fit([], [])
    assert "No batch yet" in empty.flags[0]
    assert any("strength" in each for each in empty.flags)
    settled = DoseCurve.fit([25, 35, 45, 40], kitchen([(25, 1), (35, 1), (45, 1), (40, 1)])[1], base_pa_s=0.002)
    assert settled.flags == ()
    assert settled.is_near(60.0) and not settled.is_near(100.0)


def test_an_odd_batch_is_named_with_its_size() -> None:
    dose, eta = kitchen([(25, 1), (32, 1), (40, 1), (36, 3.0)])
    curve = DoseCurve.fit(dose, eta, base_pa_s=0.002)
    said = [each for each in curve.flags if each.startswith("Batch 4 ")]
    assert len(said) == 1
    assert "thicker" in said[0]
    assert curve.surprise(3)[1] == pytest.approx(3.0, rel=0.1)
    assert "check batch 4" in curve.next_batch(0.15).reason


def test_slope_not_established_is_said() -> None:
    curve = DoseCurve.fit(
        [20, 20, 60, 60, 60], [0.2, 0.22, 0.21, 0.19, 0.2], Prior("x", exponent_sd=3.0), base_pa_s=1e-3
    )
    assert any("Slope not established" in each for each in curve.flags)
    assert not np.isfinite(curve.dose_for(3.0).high)


def test_unknown_base_and_narrow_doses_are_said() -> None:
    curve = DoseCurve.fit([30, 33], [0.09, 0.13])
    assert any("was not read" in each for each in curve.flags)
    assert any("how steeply" in each for each in curve.flags)


def test_text_and_page_hold_the_batches() -> None:
    curve = DoseCurve.fit([20, 30], [0.05, 0.11], "wheat flour")
    text = curve._repr_html_()
    assert "wheat flour" in text
    assert "0.11" in text
    assert "Pa s" in text
    assert repr(curve) == "DoseCurve('wheat flour', 2 batches)"


# -- the next batch
# --------------------------------------------------------------------------------------------------


def test_first_pot_is_at_the_prior_dose() -> None:
    curve = DoseCurve.fit([], [])
    suggestion = curve.next_batch(0.2)
    assert suggestion.dose_g_per_l == pytest.approx(curve.dose_for(0.2).best)
    assert suggestion.reason.startswith("No batch yet")


def test_dose_is_the_likeliest_of_all() -> None:
    curve = DoseCurve.fit([30.0], [0.08], base_pa_s=0.001)
    suggestion = curve.next_batch(0.3)
    doses_tried = np.linspace(20, 90, 1401)
    chances = curve.chance(doses_tried, 0.3)
    assert suggestion.chance == pytest.approx(chances.max(), abs=1e-5)
    assert suggestion.dose_g_per_l == pytest.approx(doses_tried[chances.argmax()], rel=0.01)


def test_telling_alternative_is_eatable_and_narrows_more() -> None:
    curve = DoseCurve.fit([22.0, 22.0, 22.0], [0.05, 0.05, 0.05], Prior("x", exponent_sd=1.5), base_pa_s=0.001)
    suggestion = curve.next_batch(0.1)
    assert suggestion.alternative is not None
    assert suggestion.alternative > suggestion.dose_g_per_l
    assert curve.chance(suggestion.alternative, 0.1, 2.0) > 0.5

    def width_after(dose: float) -> float:
        eta = curve.viscosity(dose).best
        after = DoseCurve.fit([22.0, 22.0, 22.0, dose], [0.05, 0.05, 0.05, eta], curve.prior, base_pa_s=0.001)
        return np.log(after.dose_for(0.1).high / after.dose_for(0.1).low)

    assert width_after(suggestion.alternative) < width_after(suggestion.dose_g_per_l)


def test_good_dose_is_repeated_until_three_read_inside_the_band() -> None:
    sure = Prior("corn starch", batch_sd=0.08)
    dose, eta = [30.0, 40.0, 46.0], list(kitchen([(30, 1), (40, 1), (46, 1)])[1])
    target = eta[2] * 1.03
    for good in range(1, 4):
        suggestion = DoseCurve.fit(dose, eta, sure, base_pa_s=0.002).next_batch(target)
        assert suggestion.dose_g_per_l == pytest.approx(46.0)
        assert suggestion.good_batches == good
        assert suggestion.tested == (good == 3)
        dose.append(suggestion.dose_g_per_l)
        eta.append(eta[2])
    eta[-1] *= 1.5  # one bad pot of the final version: not tested any more
    assert not DoseCurve.fit(dose, eta, sure, base_pa_s=0.002).next_batch(target).tested


# -- bad input
# -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (([20, 30], [0.1]), "2 doses and 1 viscosities"),
        (([0.0, 30], [0.1, 0.2]), "dose of batch 1 is 0; a number above 0 in g/L is wanted (a pot without"),
        (([20, -30], [0.1, 0.2]), "dose of batch 2 is -30"),
        (([20, 30], [0.1, float("nan")]), "viscosity of batch 2 is nan"),
        (([20, 30], [0.1, float("inf")]), "viscosity of batch 2 is inf"),
        (([20, 30], ["a", 1]), "Viscosity: ['a', 1] came"),
        (([[20, 30]], [[0.1, 0.2]]), "a table of shape"),
        (([20, 600], [0.1, 0.2]), "Batch 2 has a dose of 600 g/L"),
        (([20, 30], [0.1, 0.2], "corn starch", 0.15), "Batch 1 reads 0.1 Pa s, no more than the base"),
        (([20, 30], [0.1, 0.2], "corn starch", -1), "The base is -1"),
        (([20, 30], [0.1, 0.2], "corn starch", None, -0.1), "Relative error of the reading"),
        (([20, 30], [0.1, 0.2], "corn starch", None, [0.1, 0.1, 0.1]), "one for each batch"),
    ],
)
def test_bad_batches_get_one_sentence(arguments, words) -> None:
    with pytest.raises(BatchError) as caught:
        DoseCurve.fit(*arguments)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_bad_questions_get_one_sentence() -> None:
    curve = DoseCurve.fit([20, 30], [0.05, 0.11])
    for ask, words in (
        (lambda: curve.viscosity(0.0), "The dose is 0"),
        (lambda: curve.dose_for(-1.0), "The target is -1"),
        (lambda: curve.next_batch(0.1, band=1.0), "The band is 1.0"),
        (lambda: curve.next_batch(float("nan")), "The target is nan"),
        (lambda: DoseCurve.fit([20], [0.1], temperature_c=300.0), "300.0 C"),
    ):
        with pytest.raises(KitchenError) as caught:
            ask()
        assert words in str(caught.value)
    with pytest.raises(ItemError):
        DoseCurve.fit([20], [0.1], "sawdust")


def test_moments_are_those_of_drawn_curves() -> None:
    curve = DoseCurve.fit([25, 35, 45, 30], [0.06, 0.15, 0.30, 0.11], base_pa_s=0.02, relative_error=0.1)
    x = ln_concentration(np.array([40.0, 28.0, 60.0]), CORN, Pot())
    rng, mixture = np.random.default_rng(8), curve.mixture
    which = rng.choice(mixture.weight.size, 40_000, p=mixture.weight)
    root = np.linalg.cholesky(mixture.covariance)[which]
    lines = mixture.mean[which] + np.einsum("nij,nj->ni", root, rng.normal(size=(which.size, 2)))
    eta = np.log(mixture.base[which, None] + np.exp(lines[:, :1] + lines[:, 1:] * x))
    covariance, variance, noise = mixture.moments(x)
    drawn = np.cov(eta.T)
    assert covariance == pytest.approx(drawn[0], rel=0.05)
    assert variance == pytest.approx(np.diag(drawn), rel=0.05)
    assert np.all(noise < mixture.noise.max())
