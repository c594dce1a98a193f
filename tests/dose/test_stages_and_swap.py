"""Chill and reheat, another thickener, several thickeners in one pot."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from scipy.stats import norm

from pots.pots import contents
from spoonline import flow
from spoonline.dose import dish_curve, reheating, stage_ratio, swap, through_stages
from spoonline.facts.equivalences import trade_ratios
from spoonline.measures.errors import BatchError, ItemError
from spoonline.pots import Batch, Reading
from spoonline.pots.thickness import SOUP_DENSITY_KG_M3, later_over_fresh
from spoonline.recipes import Recipe, Target

SOUP = Recipe(
    title="Roast parsnip and pear soup",
    ingredients=["700 g parsnips", "250 g pears", "1.4 l vegetable stock", "50 g corn starch", "100 ml double cream"],
    target=Target(viscosity_pa_s="1.7", band="1.25"),
)  # fmt: skip


def reading(tool: str, stage: str, viscosity: float, celsius: float) -> Reading:
    """What a tool would show for a fluid of n = 0.5 with this viscosity at 1/s."""
    shown = float(flow.usual(tool).reading(flow.Fluid(viscosity, 0.5, SOUP_DENSITY_KG_M3)))
    settings = {name: str(value) for name, value in flow.usual_settings(tool).items()}
    return Reading(tool=tool, settings=settings, values=[f"{shown:.6g}"], temperature_c=celsius, stage=stage)


def pot(number: int, *readings: Reading, **more: object) -> Batch:
    return Batch(title=SOUP.title, version=1, number=number, cooked_on=date(2026, 1, 8), readings=readings, **more)


def test_the_learned_ratio_agrees_with_a_grid_over_the_same_beliefs() -> None:
    pots = [(0.20, 0.08), (0.31, 0.15), (0.05, 0.06)]
    found = stage_ratio("corn starch", "reheated", pots)
    grid = np.linspace(-1.5, 1.5, 60_001)
    logs = norm.logpdf(grid, -0.05, 0.15)
    for value, error in pots:
        logs = logs + norm.logpdf(value, grid, math.hypot(error, 0.10))
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    mean = float(weight @ grid)
    assert found.ln_mean == pytest.approx(mean, abs=1e-6)
    assert found.ln_sd == pytest.approx(math.sqrt(float(weight @ (grid - mean) ** 2)), rel=1e-5)
    assert found.pots == 3 and "3 pots" in found.basis


def test_a_reading_cold_is_no_reading_of_a_fresh_pot_and_a_pair_needs_both() -> None:
    alone = pot(1, reading("spatula", "reheated", 2.0, 60))
    assert later_over_fresh(alone, "reheated") is None
    both = pot(2, reading("spatula", "hot", 2.0, 60), reading("spatula", "reheated", 2.4, 60))
    ratio, error = later_over_fresh(both, "reheated") or (0.0, 0.0)
    assert ratio == pytest.approx(math.log(1.2), abs=0.02)
    assert 0 < error < 0.25
    # Read 20 K apart, the same figures are another ratio: 17 kJ/mol between 80 and 60 C.
    warmer = pot(3, reading("spatula", "hot", 2.0, 80), reading("spatula", "reheated", 2.4, 60))
    apart, wider = later_over_fresh(warmer, "reheated") or (0.0, 0.0)
    kelvin = 1 / 333.15 - 1 / 353.15
    assert apart == pytest.approx(ratio - 17 / 8.314462618e-3 * kelvin, abs=1e-3)
    assert wider > error


def test_life_keeps_the_order_of_the_stages_and_says_what_each_rests_on() -> None:
    batches = [
        pot(1, reading("spatula", "hot", 1.8, 60), reading("spatula", "reheated", 2.3, 60)),
        pot(2, reading("spatula", "hot", 1.6, 60), reading("spatula", "reheated", 2.1, 60)),
    ]
    dish = dish_curve(SOUP, batches, {1: SOUP})
    hot, served, chilled, again = through_stages(dish, 33.3)
    assert hot.viscosity.best < served.viscosity.best < chilled.viscosity.best
    assert again.viscosity.best > served.viscosity.best
    assert "2 pots" in again.basis and "no pot" in chilled.basis
    for view in (hot, served, chilled, again):
        assert view.viscosity.low < view.viscosity.best < view.viscosity.high
    # A stage can be no surer than the dose curve that it stands on.
    assert math.log(again.viscosity.high / again.viscosity.low) > math.log(served.viscosity.high / served.viscosity.low)


def test_the_advised_liquid_really_brings_the_pot_back() -> None:
    """Cooked anew with the advised water in it, the pot's starch is thinner by the ratio it had come back thicker by."""
    batches = [
        pot(number, reading("spatula", "hot", 0.45, 60), reading("spatula", "reheated", 0.75, 60))
        for number in (1, 2, 3)
    ]
    dish = dish_curve(SOUP, batches, {1: SOUP})
    dose = 50 / 1.5
    advice = reheating(dish, dose)
    assert "Loosen with" in advice.text and "vegetable stock" in advice.text
    litres = SOUP.mass_g * (1 - dish.loss) / SOUP_DENSITY_KG_M3
    lost = dish.loss * SOUP.mass_g
    dry = contents(SOUP, lost)
    wet = contents(SOUP, lost - advice.loosen_ml.best * litres)
    # percent of starch and water against percent of the water alone: a per cent or two apart at such doses
    thinner = (wet.percent / dry.percent) ** dish.curve.exponent.best
    assert thinner * advice.ratio.next_pot.best == pytest.approx(1, abs=0.03)
    more = dish.curve.viscosity(dose * (1 - 0.1))
    assert more.best < dish.curve.viscosity(dose).best


def test_a_curve_that_is_flat_gives_no_grams() -> None:
    """Three pots of one dose far thicker than the trade expects: the puree may do it all, so no grams are promised."""
    batches = [
        pot(number, reading("spatula", "hot", 1.7, 60), reading("spatula", "reheated", 1.0, 60)) for number in (1, 2, 3)
    ]
    advice = reheating(dish_curve(SOUP, batches, {1: SOUP}), 50 / 1.5)
    assert advice.thicken_g is None and "a little corn starch" in advice.text


def test_thinner_after_reheating_asks_for_thickener_not_for_stock() -> None:
    batches = [
        pot(number, reading("spatula", "hot", 0.5, 60), reading("spatula", "reheated", 0.3, 60)) for number in (1, 2, 3)
    ]
    dish = dish_curve(SOUP, batches, {1: SOUP})
    advice = reheating(dish, 50 / 1.5)
    assert advice.thicken_g is not None and advice.thicken_g.best > 0 > advice.loosen_ml.best
    assert "then whisk in" in advice.text and "slaked" in advice.text


def test_what_the_trade_says_of_starch_for_flour_disagrees_by_a_factor_two() -> None:
    """Ratios by weight 0.34, 0.50, 0.51, 0.67: c. 1939 book, common practice, AHEA handbook (memory), McGee; and 0.72 computed."""
    ratios = sorted(round(each.low_g, 2) for each in trade_ratios("wheat flour", "corn starch"))
    assert ratios == [0.34, 0.5, 0.51, 0.67, 0.72]
    trade = [
        each.low_g for each in trade_ratios("wheat flour", "corn starch") if each.kind in ("published", "memory")
    ] + [0.5]
    assert math.exp(np.mean(np.log(trade))) == pytest.approx(0.49, abs=0.01)
    assert np.std(np.log(trade), ddof=1) == pytest.approx(0.28, abs=0.01)


def test_a_swap_there_and_back_is_the_same_dose_and_its_range_holds_both_strengths() -> None:
    dish = dish_curve(SOUP, [], {})
    there = swap(dish, "arrowroot", 33.3)
    soup = dish.with_dose(there.dose.best, "arrowroot")
    back = swap(dish_curve(soup, [], {}), "corn starch", there.dose.best)
    assert back.dose.best == pytest.approx(33.3, rel=2e-3)
    wide = math.log(there.dose.high / there.dose.low) / (2 * 1.6449)
    assert wide == pytest.approx(0.30, abs=0.01)  # strength of arrowroot, ln sd (judged)
    assert there.held_dose is not None and there.held_dose > there.dose.best
    assert "Looks" in {trait for trait, _, _ in there.traits}


def test_flour_and_roux_share_their_flour_so_the_swap_is_nearly_sure() -> None:
    gravy = Recipe(title="Mushroom gravy", ingredients=["1 l vegetable stock", "80 g wheat flour"])
    found = swap(dish_curve(gravy, [], {}), "white roux", 80)
    assert found.dose.best == pytest.approx(160, rel=0.02)  # half of a roux is flour: common practice, no source
    assert found.dose.high / found.dose.low < 1.25
    assert any("fat" in note for note in found.notes)


def test_a_gum_is_swapped_by_its_own_curve() -> None:
    found = swap(dish_curve(SOUP, [], {}), "xanthan gum", 33.3)
    assert found.dose.best < 10 and found.dose.high / found.dose.low > 3
    assert found.trade == ()


def test_a_swap_says_what_it_cannot_do() -> None:
    dish = dish_curve(SOUP, [], {})
    with pytest.raises(BatchError, match="already"):
        swap(dish, "cornflour")
    with pytest.raises(ItemError):
        swap(dish, "moonlight")


def test_wheat_joins_the_allergens_in_words() -> None:
    assert any("wheat" in note for note in swap(dish_curve(SOUP, [], {}), "wheat flour", 33.3).notes)


def test_two_thickeners_in_one_pot_are_dosed_as_one() -> None:
    """Both lines move in their own ratio, whichever is larger, and the blend works as its parts do: flour 0.58, starch 1."""
    blend = Recipe(
        title="Blend", ingredients=["1 l vegetable stock", "30 g corn starch", "15 g wheat flour", "15 g wheat flour"],
        target=Target(viscosity_pa_s="1.7"),
    )  # fmt: skip
    dish = dish_curve(blend, [], {})
    assert dish.shares == {"corn starch": 0.5, "wheat flour": 0.5} and dish.dose_g_per_l == pytest.approx(60)
    assert dish.curve.prior.strength == pytest.approx((1 + 0.58) / 2)
    more = dish.with_dose(80.0)
    assert [line.line for line in more.ingredients] == ["1 l vegetable stock", "40 g corn starch", "40 g wheat flour"]
    alone = dish_curve(blend.model_copy(update={"ingredients": blend.ingredients[:2]}), [], {})
    wanted, dose = (each.curve.dose_for(1.7).best for each in (alone, dish))
    assert dose == pytest.approx(wanted / 0.79, rel=0.03)
    swapped = dish.with_dose(50.0, "arrowroot")
    assert [line.line for line in swapped.ingredients] == ["1 l vegetable stock", "50 g arrowroot"], "one line is kept"
    words, chance = dish.spoons(60.0)
    assert "corn starch and" in words and words.endswith("wheat flour") and chance is not None
