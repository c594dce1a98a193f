"""Pots of wholly poured dishes give the dose, water and loss that they gave before the pot became a story: the old sum, written out."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import spoonline as sl
from pots.pots import contents, inside, pot
from spoonline import facts
from spoonline.measures.errors import BatchError
from spoonline.pots import Batch
from spoonline.pots.balance import strength_of
from spoonline.pots.contents import PotContents, read_inside
from spoonline.recipes import Ingredient, Recipe
from tiers import drawn

POURED = ("water", "whole milk", "vegetable stock", "chicken broth", "double cream", "red wine", "orange juice")
MELTED = ("butter", "salt", "sugar", "soy sauce", "olive oil")
THICKENERS = ("corn starch", "wheat flour", "arrowroot", "tapioca starch", "rice flour", "white roux")


def line(item: str, mass_g: float) -> Ingredient:
    return Ingredient(amount=f"{mass_g} g", item=item)


def masses(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda mass: round(mass, 1))


@st.composite
def poured(draw: st.DrawFn) -> Recipe:
    """A dish in which everything pours, melts or thickens."""
    lines = [
        line(item, draw(masses(200, 900))) for item in draw(st.sets(st.sampled_from(POURED), min_size=1, max_size=4))
    ]
    lines += [line(item, draw(masses(1, 80))) for item in draw(st.sets(st.sampled_from(MELTED)))]
    lines += [
        line(item, draw(masses(5, 35))) for item in draw(st.sets(st.sampled_from(THICKENERS), min_size=1, max_size=2))
    ]
    if sum(float(each.mass_g or 0) for each in lines if "flour" in each.item) > 20:
        lines.append(line("water", 800))  # with so little beside it flour would be a dough
    return Recipe(title="Poured", ingredients=draw(st.permutations(lines)), steps=["Whisk together and simmer."])


def as_before(recipe: Recipe, evaporated_g: float | None) -> tuple[float, ...]:
    """Liquid, water, starch, its spread, loss and dose, as release 0.2 summed them up."""
    water = starch = variance = 0.0
    for each in recipe.ingredients:
        mass = float(each.mass_g or 0)
        if each.part == "thickener":
            dry = 0.89 * strength_of(each.fact_name or each.item)
            water, starch = water + 0.11 * mass, starch + dry * mass
            variance += (dry * float(each.sd_g or 0)) ** 2
            continue
        known = facts.ingredient(each.fact_name).water_g if each.fact_name else None
        water += mass * (known / 100 if known is not None else 1.0 if each.part == "liquid" else 0.0)
    lost = 0.06 * recipe.mass_g if evaporated_g is None else evaporated_g
    litres = sum(float(each.volume_ml or 0) for each in recipe.ingredients if each.part == "liquid") / 1000
    thickener = sum(float(each.mass_g or 0) for each in recipe.ingredients if each.part == "thickener")
    rel = math.sqrt(variance) / starch if starch else 0.0
    return litres, water - lost, starch, rel, lost / recipe.mass_g, thickener / litres


def figures(found: PotContents) -> tuple[float, ...]:
    return found.liquid_l, found.water_g, found.starch_g, found.thickener_rel_sd, found.loss, found.dose_g_per_l


@drawn(400, 40)
@given(recipe=poured(), gone=st.none() | st.floats(0, 0.85), tare=st.floats(500, 4000))
def test_wholly_poured_pots_are_what_they_were(recipe: Recipe, gone: float | None, tare: float) -> None:
    assert recipe.kind == "poured"
    lost = None if gone is None else gone * as_before(recipe, 0.0)[1]  # a share of its water, which is little in cream
    weighed = {} if lost is None else {"pot_before_g": tare + recipe.mass_g, "pot_after_g": tare + recipe.mass_g - lost}
    batch = pot(1, 1.0, title="Poured", **weighed)
    found = inside(batch, recipe)
    assert found is not None
    expected = as_before(recipe, batch.evaporated_g)
    assert figures(found) == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert figures(contents(recipe, batch.evaporated_g)) == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert (recipe.liquid_l, recipe.dose_g_per_l) == pytest.approx((expected[0], expected[5]), rel=1e-9)
    assert recipe.poured_l == pytest.approx(recipe.liquid_l, rel=1e-9) and found.weighed == (lost is not None)


def test_the_pots_of_the_first_release_s_demo_are_what_they_were(repo: Path, tmp_path: Path) -> None:
    demo, held = sl.Logbook.restore(repo / "tests" / "earlier" / "0.1.0" / "export", tmp_path / "demo.sqlite"), 0
    for batch in demo.all_batches():
        recipe = demo.recipe(batch.title, batch.version)
        cooked = batch.cooked(recipe)
        if any(each.fate == "whole" for each in cooked.ingredients):
            continue
        found = inside(batch, recipe)
        assert found is not None and figures(found) == pytest.approx(as_before(cooked, batch.evaporated_g), rel=1e-9), (
            batch.title
        )
        held += 1
    demo.close()
    assert held >= 8


def test_more_steam_than_water_is_refused_as_before() -> None:
    soup = Recipe(title="x", ingredients=["1 l water", "30 g corn starch"])
    batch = Batch(title="x", version=1, cooked_on="2026-01-08", pot_before_g=3000, pot_after_g=2050)
    with pytest.raises(BatchError, match=r"950 g evaporated of 1\d\d\d g of water; check the two masses"):
        read_inside(batch, soup)
