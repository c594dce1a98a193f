"""What boils away is read from the steps of any dish that is cooked; where they tell no time, the usual share."""

from __future__ import annotations

import pytest

import spoonline as sl
from pots.pots import contents
from spoonline.pots import Batch
from spoonline.pots.evaporation import MOST_LOSS, USUAL_LOSS, forecast, held
from spoonline.recipes import Recipe

SOUP = ["600 g leeks", "1 l water", "20 g butter", "15 g corn starch"]
RICE = Recipe(
    title="Baked rice pudding",
    ingredients=["100 g pudding rice", "1 litre whole milk", "150 ml double cream", "50 g sugar"],
    steps=["Butter a dish, put in everything.", "Bake at 150 C for 2 hours, stirring twice."],
)


def lost(*steps: str, lines: list[str] = SOUP) -> float:
    return forecast(Recipe(title="Leeks", ingredients=lines, steps=steps))[0]


def test_a_pudding_loses_in_the_oven_what_its_hours_say() -> None:
    assert 250 < forecast(RICE)[0] < 400
    batch = Batch(title=RICE.title, version=1, cooked_on="2026-01-08")
    assert sl.pot_states(batch, RICE)["evaporated_g"].iloc[-1] == pytest.approx(forecast(RICE)[0])


@pytest.mark.parametrize(("steps", "grams"), [
    (["Boil for 3 minutes."], 45),
    (["Simmer 20 minutes, then blend."], 150),
    (["Cover and simmer 20 minutes, then blend."], 34),
    (["Soften the leeks in the butter for 10 minutes, add the water and simmer for 20 minutes, then blend."], 150),
    (["Sweat the leeks in the butter for 10 minutes. Add the water, bring to the boil and simmer for 20 minutes."], 150),
    (["Put in the oven at 160 C for 1 hour."], 174),
    (["Simmer 20 minutes.", "Cover and chill for 4 hours."], 150),
    (["Brown the stewing leeks for 15 minutes.", "Simmer 10 minutes."], 75),
])  # fmt: skip
def test_the_steps_tell_what_boils_away(steps: list[str], grams: float) -> None:
    assert lost(*steps) == pytest.approx(grams)


def test_without_minutes_it_is_the_usual_share_and_nothing_where_nothing_is_hot() -> None:
    usual = USUAL_LOSS * 1635.5
    for steps in ([], ["Simmer until soft, then blend."], ["Soften the leeks for 10 minutes, add the water and heat."]):
        assert lost(*steps) == pytest.approx(usual, rel=0.01), steps
    assert lost("Blend everything and chill for 2 hours.") == 0


def test_no_pot_is_foretold_to_boil_dry() -> None:
    sauce = Recipe(title="Sauce", ingredients=["200 g double cream", "5 g cornflour"], steps=["Boil for 40 minutes."])
    assert forecast(sauce)[0] == pytest.approx(MOST_LOSS * 1000 * sauce.liquid_l)
    assert contents(sauce).water_g > 0


def test_a_pot_that_is_held_loses_as_it_did_for_most_of_its_time() -> None:
    stew = Recipe(
        title="Stew",
        ingredients=SOUP,
        steps=["Simmer uncovered for 35 minutes.", "Stir in the starch and boil for 2 minutes."],
    )
    assert held(35, None, stew)[0] == pytest.approx(35 * 7.5) and held(60, 65, stew)[0] == pytest.approx(60 * 0.18)
    assert held(10, None, Recipe(title="x", ingredients=SOUP))[0] == pytest.approx(75)
