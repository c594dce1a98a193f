"""The water phase of a pot by hand: starch that vegetables set free, evaporation, and what a dose means in another pot."""

from __future__ import annotations

import pytest

from pots.pots import SOUP, contents, pot
from spoonline import facts
from spoonline.dose import DoseCurve, dish_curve
from spoonline.measures.errors import BatchError
from spoonline.pots import pot_of
from spoonline.pots.contents import read_inside
from spoonline.pots.evaporation import USUAL_LOSS
from spoonline.pots.water import Pot
from spoonline.recipes import FATES, Recipe

POTATO = Recipe(
    title="Potato soup", ingredients=["500 g potatoes", "1 l water", "30 g corn starch"], steps=["Simmer, then blend until smooth."]
)  # fmt: skip


def test_vegetables_set_part_of_their_starch_free() -> None:
    row = facts.ingredient("potatoes")
    assert row.starch_g and row.water_g
    found = contents(POTATO, evaporated_g=0)
    assert FATES["blended"].starch_freed == 0.45, "judged, 0.3 to 0.6"
    assert found.other_starch_g == pytest.approx(0.45 * row.starch_g / 100 * 500)
    # 500 g of potatoes bring their water, a litre of water its own, and 30 g of starch as bought 11 % moisture.
    assert found.water_g == pytest.approx(row.water_g * 5 + 998.2 + 0.11 * 30, abs=2.5)
    assert found.starch_g == pytest.approx(0.89 * 30)
    dry = found.starch_g + found.other_starch_g
    assert found.percent == pytest.approx(100 * dry / (dry + found.water_g))
    assert contents(Recipe(title="x", ingredients=POTATO.ingredients[1:]), 0).other_starch_g == 0


def test_freed_starch_does_its_part_of_the_dose() -> None:
    dish = dish_curve(POTATO, [], {})
    freed = contents(POTATO, evaporated_g=0).other_starch_g
    assert dish.curve.pot.other_starch_g_per_l == pytest.approx(freed) and freed > 3
    plain = Pot(dish.curve.pot.water_g_per_l)
    bare, starchy = (
        DoseCurve.fit([], [], base_pa_s=0.001, pot=each, shear_rate_per_s=1.0) for each in (plain, dish.curve.pot)
    )
    less = bare.dose_for(1.0).best - starchy.dose_for(1.0).best
    assert less == pytest.approx(freed / 0.89, rel=0.02), "as much less starch as bought, which is 89 % dry"


def test_what_boils_away_makes_the_rest_thicker() -> None:
    dry, wet = contents(SOUP, evaporated_g=200), contents(SOUP, evaporated_g=0)
    assert wet.water_g - dry.water_g == pytest.approx(200) and dry.percent > wet.percent
    assert contents(SOUP).loss == pytest.approx(USUAL_LOSS), "not weighed: the usual loss"
    with pytest.raises(BatchError, match="check the two masses"):
        read_inside(pot(1, 1.0, pot_before_g=3000, pot_after_g=2050), SOUP)
    with pytest.raises(BatchError, match="no liquid"):
        pot_of(Recipe(title="Dry", ingredients=["30 g corn starch"]), 0.06)


def test_a_pot_that_boiled_away_more_lies_further_right_on_the_curve() -> None:
    usual = [pot(n, 1.0, pot_before_g=2000, pot_after_g=1940) for n in (1, 2, 3)]
    dish = dish_curve(SOUP, [*usual, pot(4, 1.6, pot_before_g=2000, pot_after_g=1740)], {1: SOUP})
    *same, boiled = [point.dose_g_per_l for point in dish.pots]
    assert same == pytest.approx([30, 30, 30]) and boiled > 36
