"""Which pots of a dish count, and when a recipe is tested: one function each, every rule with a pot that keeps it and one that breaks it."""

from __future__ import annotations

import pytest

from pots.pots import SOUP, pot, reading
from spoonline.pots import BandCount, Batch, CookedPot, Weighed, cooked_pot
from spoonline.pots.counted import same_quantities
from spoonline.recipes import Ingredient, Recipe

NO_STARCH = Weighed(line=2, item="corn starch", typed="0", mass_g=0, sd_g=0)
VERSIONS = {1: SOUP, 2: SOUP.model_copy(update={"ingredients": SOUP.ingredients[:1]})}


def seen(batch: Batch, **more: object) -> CookedPot:
    return cooked_pot(batch, VERSIONS, SOUP.target, **more)


def test_a_pot_that_was_read_fresh_counts_with_its_viscosity() -> None:
    found = seen(pot(1, 1.1))
    assert found.counts and found.left_out == ""
    assert found.viscosity_pa_s == pytest.approx(1.1, rel=1e-3) and found.dose_g_per_l == pytest.approx(30)


def test_a_pot_of_an_earlier_version_counts_and_so_does_one_that_stands_out() -> None:
    assert seen(pot(1, 1.0, version=2)).counts, "of a version that had no thickener"
    assert seen(pot(2, 40.0)).counts, "an odd pot is named, and it is the cook who leaves it out"


@pytest.mark.parametrize(
    ("batch", "reason"),
    [
        (pot(1, 1.0, left_out="boiled away a fifth"), "boiled away a fifth"),
        (pot(2, 1.0, version=3), "its version 3 is not there"),
        (pot(3), "not read hot or served"),
        (pot(4, reading(1.0, 5, stage="chilled"), reading(1.0, stage="reheated")), "not read hot or served"),
        (pot(5, reading(1.0, left_out="read cold")), "its reading is left out: read cold"),
        (pot(6, 0.01, weighed=(NO_STARCH,)), "no thickener went in"),
        (pot(8, 1.0, pot_before_g=3000, pot_after_g=2050), "950 g evaporated of 998 g of water; check the two masses"),
    ],
)
def test_a_pot_does_not_count_and_says_why(batch: Batch, reason: str) -> None:
    found = seen(batch)
    assert not found.counts and found.left_out.startswith(reason)


def test_a_reading_that_is_left_out_does_not_move_its_pot() -> None:
    found = seen(pot(1, 1.0, reading(9.0, left_out="a lump")))
    assert found.counts and found.viscosity_pa_s == pytest.approx(1.0, rel=1e-3)


def test_tested_is_three_of_the_last_four_on_two_days() -> None:
    def held(*pots: tuple[bool, int]) -> BandCount:
        return BandCount.of(pots)

    assert held((True, 1), (True, 1), (True, 2)) == BandCount(3, 3, 2) and held((True, 1), (True, 1), (True, 2)).enough
    assert not held((True, 1), (True, 1), (True, 1)).enough, "all on one day"
    assert not held((True, 1), (True, 2)).enough
    assert held((True, 1), (True, 2), (False, 2), (True, 3)).enough, "one of four may miss"
    assert not held((True, 1), (True, 2), (True, 3), (False, 4), (False, 4)).enough, "the last four count"
    assert held((False, 1), (False, 1), (True, 2), (True, 3), (True, 3)).enough, "an old miss is forgotten"
    assert held() == BandCount(0, 0, 0)
    assert held((True, 1), (True, 1), (True, 1), (False, 2)).days == 1, "a day whose pot missed is no day of landing"


def test_pots_of_other_versions_count_where_their_quantities_are_the_same() -> None:
    other = SOUP.model_copy(update={"steps": (), "title": "Celery soup, again", "target": None})
    assert same_quantities(other, SOUP) and same_quantities(SOUP.scaled(3), SOUP)
    line = SOUP.ingredients[-1]
    for factor, same in ((1.04, True), (1.06, False), (0.94, False)):
        moved = SOUP.model_copy(update={"ingredients": (*SOUP.ingredients[:-1], line.scaled(factor))})
        assert same_quantities(moved, SOUP) == same, factor
    more = SOUP.model_copy(update={"ingredients": (*SOUP.ingredients, Ingredient.model_validate("100 g cream"))})
    assert not same_quantities(more, SOUP) and not same_quantities(SOUP, more)


def test_the_ends_of_the_band_are_inside() -> None:
    assert SOUP.target is not None
    for viscosity, where in ((0.8, "inside"), (1.25, "inside"), (0.799, "thinner than"), (1.251, "thicker than")):
        assert SOUP.target.against_band(viscosity) == where


def test_a_version_without_thickener_is_no_forgotten_starch() -> None:
    broth = Recipe(title="Celery soup", ingredients=["1 l vegetable stock"], target=SOUP.target)
    assert cooked_pot(pot(1, 1.0), {1: broth}, broth.target).counts


def test_a_glug_that_was_weighed_once_makes_no_other_dish_and_a_dough_counts_by_its_flour() -> None:
    loose = Recipe(title="Leeks", ingredients=["1 l vegetable stock", "a glug of dry cider", "30 g corn starch"])
    stock, cider, starch = loose.ingredients
    assert cider.mass_g is None
    weighed = loose.model_copy(update={"ingredients": (stock, cider.reweighed("85 g", 85, 1), starch)})
    assert same_quantities(weighed, loose)
    biscuits = [
        Recipe(title="Biscuits", ingredients=["200 g plain flour", f"{grams} g butter", "100 g sugar"], steps=["Bake 12 minutes."])
        for grams in (113, 120)
    ]  # fmt: skip
    assert not same_quantities(biscuits[1], biscuits[0]), "6 % more butter per flour, 3 % more per kg"
