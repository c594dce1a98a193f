"""The figures of the balance by hand, each with its sentence: a figure that is changed by mistake is noticed here."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from spoonline.pots import Batch
from spoonline.pots.balance import AT, PotBalance, along, per_gram, states
from spoonline.pots.evaporation import forecast, held, usual_loss
from spoonline.recipes import Ingredient, Recipe

NO_HEAT = {"kind": "held", "minutes": 0, "temperature_c": 95}


def found(lines: list[str], *moments: dict[str, Any], steps: tuple[str, ...] = ("Simmer.",)) -> Any:
    recipe = Recipe(title="Pot", ingredients=lines, steps=steps)
    batch = Batch(title="Pot", version=1, cooked_on="2026-01-08", moments=moments or [NO_HEAT])
    return states(batch, recipe)[-1]


def test_juice_of_meat_is_broth_of_three_per_cent() -> None:
    """A kilogram of chuck gives 340 g of juice, of which 10.2 g is no water (purees_and_stews 3a: 4 % of the nutrients in a third)."""
    before, after = (found(["500 g water", *more]) for more in ([], ["1 kg beef chuck [whole]"]))
    assert after.of("rest") - before.of("rest") == pytest.approx(0.03 * 340)
    assert after.of("water") - before.of("water") == pytest.approx(0.97 * 340)
    assert after.of("solids") == pytest.approx(660) and after.of("liquid") - before.of("liquid") == pytest.approx(340)


def test_melted_fat_is_no_liquid_and_good_to_half_of_it() -> None:
    """Lamb shoulder gives 0.07 g/g of fat (SR28, lean and fat, protein kept), judged good to a half."""
    lamb = found(["500 g water", "1 kg lamb shoulder [whole]"])
    assert lamb.of("fat") == pytest.approx(70) == lamb.of("no_liquid")
    assert lamb.sum(along(fat=1))[1] == pytest.approx(35, rel=1e-3)


@pytest.mark.parametrize(
    ("part", "share"), [("liquid", 1.0), ("vegetable", 0.9), ("fruit", 0.86), ("meat", 0.7), ("other", 0.0)]
)
def test_what_nobody_knows_holds_water_by_its_part(part: Any, share: float) -> None:
    line = Ingredient(amount="100 g", item="moonbloom", part=part)
    recipe = Recipe(title="x", ingredients=[line])
    each, _ = per_gram(line, recipe.fates[0])
    assert each[AT["water_put_in"]] == share


def test_a_piece_that_is_lifted_takes_a_twentieth_of_its_mass_as_sauce() -> None:
    """Judged: 5 g of 100 g is sauce that clings, give or take 2 g; where there is less sauce, that is all of it."""
    pot = PotBalance()
    pot.x = along(water=1000, solids=500, put_in=1500)
    pot.take(100, "solids")
    assert (pot.x[AT["water"]], pot.x[AT["solids"]], pot.x[AT["taken_out"]]) == pytest.approx((995, 405, 100))
    assert np.sqrt(pot.cov[AT["solids"], AT["solids"]]) == pytest.approx(2)
    dry = PotBalance()
    dry.x = along(water=1, solids=500, put_in=501)
    dry.take(100, "solids")
    assert (dry.x[AT["water"]], dry.x[AT["solids"]]) == pytest.approx((0, 401))


def test_millilitres_of_sauce_weigh_1_03_grams() -> None:
    sauce = found(["600 g water", "20 g corn starch"], NO_HEAT, {"kind": "strained", "volume_ml": 580})
    assert sauce.row()["sauce_g"] == pytest.approx(580 * 1.03) and sauce.row()["sauce_l"] == pytest.approx(0.58)


def test_dry_goods_take_up_no_more_than_there_is() -> None:
    """300 g of rice would take up 594 g (yield 2.98); of 200 g of water it takes 200 g."""
    short = found(["300 g long-grain rice [whole]", "200 g water"])
    assert short.of("water") == pytest.approx(0, abs=0.5) and short.of("solids") == pytest.approx(500, abs=0.5)
    ample = found(["100 g long-grain rice [whole]", "1 kg water"])
    assert ample.of("solids") == pytest.approx(298)


def test_a_mass_that_was_put_in_is_read_to_the_gram() -> None:
    """A scale that shows whole grams is good to 0.289 g (one over the root of twelve)."""
    line = found(["1 kg water"], NO_HEAT, {"kind": "put in", "item": "butter", "mass_g": 30})
    assert line.sum(along(put_in=1))[1] == pytest.approx(np.hypot(0.289, 0.289), rel=1e-2)


# Plenty of liquid, so that no forecast meets its end; 24 cm across, purees_and_stews 3c.
@pytest.mark.parametrize(
    ("step", "grams"),
    [
        ("Cook at high pressure for 40 minutes.", 30),  # 30 g, sd 15, per cook, before the valve shuts
        ("Cover and simmer for 1 hour.", 102),  # 0.10 kg/h with the lid on
        ("Simmer for 20 minutes.", 150),  # 10 kg/m2h at a bare shimmer: 0.45 kg/h
        ("Boil for 20 minutes.", 300),  # 20 kg/m2h when lively: 0.9 kg/h
        ("Bake at 150 C for 1 hour.", 174),  # 50-90 g/h from the top, two to three times that with the walls
        ("Cover and bake at 150 C for 1 hour.", 54),  # 30-80 g/h with the lid on
        ("Fry in butter for 20 minutes.", 0),  # before there is any liquid
    ],
)
def test_what_boils_away_by_kind_of_cooking(step: str, grams: float) -> None:
    """Each is good to half of it either way (judged)."""
    stew = Recipe(title="Stew", ingredients=["1 kg stewing beef", "2 kg beef stock"], steps=[step, "Serve."])
    if grams:
        assert forecast(stew) == pytest.approx((grams, grams / 2))


def test_a_pot_held_hot_loses_less_than_one_that_simmers() -> None:
    """4 g/min per m2 at 60 to 70 C are 0.18 g/min of 24 cm; from 90 C it simmers, below 40 C nothing goes."""
    stew = Recipe(title="Stew", ingredients=["1 kg stewing beef", "2 kg beef stock"], steps=["Simmer for 1 hour."])
    for celsius, rate in ((None, 7.5), (98, 7.5), (90, 7.5), (89, 0.18), (65, 0.18), (40, 0.18), (39, 0.0), (20, 0.0)):
        assert held(60, celsius, stew) == pytest.approx((60 * rate, 30 * rate)), celsius


def test_what_is_baked_loses_a_tenth_and_what_is_cold_nothing() -> None:
    """Bread loses 10 % in the oven, cake 8 % (Bognar 2002); a dish's own pots stray by 3 % of what goes in (judged)."""
    bread = Recipe(
        title="Bread", ingredients=["500 g plain flour", "300 g water"], steps=["Knead.", "Bake for 40 minutes."]
    )
    assert bread.kind == "dough" and forecast(bread) == pytest.approx((80, 40))
    cold = Recipe(
        title="Cold soup", ingredients=["500 g tomatoes", "500 g water"], steps=["Blend everything and chill."]
    )
    assert cold.kind == "cold" and forecast(cold)[0] == 0
    assert usual_loss(bread, 0.08) == (0.08, 0.03)


def test_all_pieces_lifted_say_how_much_juice_there_was() -> None:
    """665 g of 700 g lifted is meat, so 335 g of a kilogram is in the sauce (but 35 g that clings), whatever was forecast."""
    lifted = found(
        ["500 g water", "1 kg beef chuck [whole]"],
        NO_HEAT,
        {"kind": "taken out", "what": "solids", "mass_g": 700, "all_of_it": True},
    )
    assert lifted.of("solids") == pytest.approx(0, abs=1e-9)
    assert sum(lifted.of(name) for name in ("water", "rest", "fat")) == pytest.approx(500 + 335 - 35, abs=1e-6)
    assert lifted.of("liquid") == pytest.approx(500 + 335 - 35, abs=1), "and that is its liquid"


def test_starch_as_bought_is_89_per_cent_dry() -> None:
    """30 g of maize starch is 26.7 g dry; the rest of it is water (moisture 8 to 12 %)."""
    pot = found(["1 kg water", "30 g corn starch"])
    assert pot.of("starch") == pytest.approx(26.7) == pot.of("thickener")
