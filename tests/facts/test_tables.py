"""The tables hold together: sums, ranges, names, sources; and masses go to spoons and back."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spoonline import facts
from spoonline.facts import grams, household, ingredient, ingredients, limit, read_line, thickener
from spoonline.facts.rows import ambiguous, find, limits, thickeners
from spoonline.measures import AmountError, ItemError, parse_amount
from spoonline.measures.tables import read_table
from tiers import drawn

FOLDER = Path(facts.__file__).parent
KINDS = ("published", "computed", "common practice", "memory", "judged")
# The words of the laws for what must be named.
US_ALLERGENS = {"milk", "egg", "fish", "crustaceans", "tree nuts", "peanut", "wheat", "soy", "sesame"}
EU_ALLERGENS = US_ALLERGENS - {"wheat"} | {"cereals with gluten", "celery", "mustard", "sulphites", "lupin", "molluscs"}
PARTS = {"liquid", "thickener", "fat", "vegetable", "fruit", "dairy", "meat", "seasoning", "other"}
# SR28 counts no acetic acid, loses carbon dioxide of baking soda on ashing, and misses piperine.
NO_SUM = {
    "white vinegar",
    "cider vinegar",
    "wine vinegar",
    "balsamic vinegar",
    "baking soda",
    "black pepper",
    "white pepper",
}
NAMED = (
    "corn starch, wheat flour, white roux, brown roux, arrowroot, tapioca starch, potato starch, rice flour,"
    " waxy corn starch, xanthan gum, guar gum"
)


def test_there_are_enough_and_each_has_a_source() -> None:
    assert len(ingredients()) >= 700
    for row in ingredients().values():
        assert row.source and row.kind in {"published", "computed", "common practice", "memory"}, row.name
        assert row.part in PARTS, row.name
        if row.kind == "published":
            assert row.source.startswith(("USDA SR28 ", "USDA SR Legacy ")), row.name


def test_no_name_is_taken_twice() -> None:
    taken: dict[str, str] = {}
    for row in ingredients().values():
        for name in (row.name, *row.aliases, *row.assumed):
            key = name.casefold().replace("-", " ")
            assert taken.setdefault(key, row.name) == row.name, name
            assert key not in ambiguous() or key == row.name
    for name, several in ambiguous().items():
        assert len(several) > 1
        with pytest.raises(ItemError, match="which one"):
            find(name)


def test_what_is_in_a_food_adds_up() -> None:
    checked = 0
    for row in ingredients().values():
        parts = (row.water_g, row.protein_g, row.fat_g, row.carbohydrate_g, row.ash_g)
        if any(part is None for part in parts) or row.name in NO_SUM:
            continue
        checked += 1
        total = sum(part for part in parts if part is not None) + (row.alcohol_g or 0.0)
        assert total == pytest.approx(100, abs=1.0), row.name
    assert checked >= 200


def test_figures_lie_in_their_ranges() -> None:
    for row in ingredients().values():
        for part in (
            row.water_g,
            row.protein_g,
            row.fat_g,
            row.carbohydrate_g,
            row.starch_g,
            row.sugars_g,
            row.fibre_g,
        ):
            assert part is None or 0 <= part <= 100, row.name
        if row.starch_g is not None and row.carbohydrate_g is not None:
            assert row.starch_g <= row.carbohydrate_g + 0.01, row.name
            assert row.starch_kind, row.name
        assert row.energy_kcal is None or 0 <= row.energy_kcal <= 902, row.name
        assert row.sodium_mg is None or 0 <= row.sodium_mg <= 39340, row.name  # pure sodium chloride
        assert row.edible_percent is None or 30 <= row.edible_percent <= 100, row.name
        for measure in ("tsp", "tbsp", "cup"):
            density = row.density(measure)
            assert density is None or 0.03 <= density <= 1.5, row.name
        if row.part == "liquid":
            assert row.pours and 0.9 <= (row.density() or 0) <= 1.1, row.name
        assert all(value > 0 for value in row.pieces.values()), row.name
        sizes = [row.pieces[s] for s in ("small", "medium", "large") if s in row.pieces]
        assert sizes == sorted(sizes), row.name


def test_a_spoon_of_it_agrees_with_a_cup_of_it() -> None:
    """The two measures of a row may differ by rounding and packing, not by a slip of a column."""
    for row in ingredients().values():
        tsp, tbsp, cup = row.density("tsp"), row.density("tbsp"), row.density("cup")
        if tsp and tbsp and cup:
            assert max(tsp, tbsp, cup) / min(tsp, tbsp, cup) < 1.75, row.name


def test_allergen_prompts_use_the_words_of_the_laws() -> None:
    for row in ingredients().values():
        assert set(row.contains) | set(row.check_label) <= US_ALLERGENS | EU_ALLERGENS, row.name
        assert not set(row.contains) & set(row.check_label), row.name
        if "wheat" in row.contains:
            assert "cereals with gluten" in row.contains, row.name
    assert len(US_ALLERGENS) == 9 and len(EU_ALLERGENS) == 14
    assert "celery" in ingredient("celeriac").contains
    assert set(ingredient("white roux").contains) == {"wheat", "cereals with gluten", "milk"}


def test_what_pours_is_liquid_and_fat_is_not() -> None:
    for name in (
        "water",
        "vegetable stock",
        "whole milk",
        "double cream",
        "white wine",
        "lemon juice",
        "stock",
        "cream",
    ):
        assert ingredient(name).part == "liquid"
    for name, part in (
        ("butter", "fat"),
        ("olive oil", "fat"),
        ("tomato paste", "vegetable"),
        ("corn starch", "thickener"),
    ):
        assert ingredient(name).part == part


def test_every_thickener_is_an_ingredient_and_each_figure_has_a_source() -> None:
    assert set(NAMED.split(", ")) <= set(thickeners())
    for name, row in thickeners().items():
        food = ingredient(name)
        assert food.part == "thickener", name
        if food.starch_g is not None:
            assert food.starch_g == pytest.approx(row.starch_percent, abs=2.5), name
        if food.water_g is not None:
            assert food.water_g == pytest.approx(row.water_percent, abs=1.0), name
        assert set(row.sources) >= {
            "strength",
            "exponent",
            "stage",
            "starch_percent",
            "water_percent",
            "clarity",
            "add",
        }
        assert all(source.strip() and kind in KINDS for source, kind in row.sources.values()), name
        assert row.strength > 0 and row.exponent > 0 and row.stage_ln_sd > 0
        assert row.strength_held is None or row.strength_held < row.strength
    assert thickener("corn starch").strength == 1.0
    for other in ("parsnip", "moonlight", "starch"):
        with pytest.raises(ItemError):
            thickener(other)


def test_a_roux_counts_its_flour() -> None:
    roux, flour = thickener("white roux"), thickener("wheat flour")
    assert roux.strength == pytest.approx(roux.flour_share * flour.strength)
    assert ingredient("white roux").fat_g == pytest.approx(
        (float(ingredient("wheat flour").fat_g or 0) + float(ingredient("butter").fat_g or 0)) / 2, abs=0.01
    )


def test_limits_have_a_unit_and_a_source() -> None:
    assert len(limits()) >= 15
    for row in limits().values():
        assert row.value > 0 and row.unit and row.source and row.kind in {"published", "common practice"}, row.name
    start, stage, end = (limit(f"cooling {name}").value for name in ("start", "stage 1", "stage 2"))
    assert start > stage > end
    assert limit("cooling stage 1 time").value < limit("cooling total time").value
    with pytest.raises(ItemError, match="no limit"):
        limit("moonlight")


def test_trim_goes_both_ways() -> None:
    leek = ingredient("leek")
    assert leek.edible_g(500) == 220
    assert ingredient("corn starch").edible_g(500) is None


WITH_MEASURE = [row.name for row in ingredients().values() if row.density() is not None]


@drawn(300)
@given(st.sampled_from(WITH_MEASURE), st.floats(3, 1500), st.sampled_from(["us", "metric", "uk", "au"]))
def test_grams_to_household_and_back(name: str, mass_g: float, system: str) -> None:
    found = household(mass_g, name, system)
    assert found.mass_g == pytest.approx(mass_g * (1 + found.error_percent / 100))
    assert grams(parse_amount(str(found), system), name).mass_g == pytest.approx(found.mass_g, rel=1e-6)
    row = ingredient(name)
    if row.part == "thickener" or row.is_salt:
        assert abs(found.error_percent) <= 5
    else:
        assert abs(found.error_percent) <= 15


def test_household_refuses_with_a_sentence() -> None:
    for bad in (0, -3, math.nan, math.inf):
        with pytest.raises(AmountError, match=r"above 0|no mass"):
            household(bad, "corn starch")
    with pytest.raises(AmountError, match="household set"):
        household(10, "corn starch", "martian")
    with pytest.raises(ItemError, match="print it in grams"):
        household(100, "brie")
    assert household(12.0, "corn starch", system="us").text == "1 1/2 tbsp"
    assert str(household(19.0, "potato starch", "au")) == "19 g"
    assert str(household(330, "onion")) == "3 medium"


def test_a_name_that_means_another_food_elsewhere_has_its_own_row() -> None:
    """UK double cream holds 48 % fat or more and US heavy cream 36 (UK law, memory; SR28 01053); back bacon is leaner than streaky;
    US self-rising flour is salted; Dijon is stronger than yellow mustard; Greek yogurt is asked about (0 to 10 % fat in shops)."""
    for one, other, field in (
        ("double cream", "heavy cream", "fat_g"),
        ("streaky bacon", "back bacon", "fat_g"),
        ("self-rising flour", "self-raising flour", "sodium_mg"),
        ("dijon mustard", "yellow mustard", "sodium_mg"),
    ):
        assert getattr(ingredient(one), field) > 1.3 * getattr(ingredient(other), field), one
    assert ingredient("double cream").fat_g >= 48
    assert any("10 %" in note for note in read_line("500 g Greek yoghurt").notes)
    assert not read_line("500 g fat-free Greek yogurt").notes


@pytest.mark.parametrize(
    "name", sorted(p.name for p in FOLDER.iterdir() if p.suffix in (".csv", ".toml") and p.stem != "line_words")
)
def test_each_row_of_each_table_carries_its_source_and_kind(name: str) -> None:
    """All but the grammar by which a line is read, which holds no figure."""
    rows = read_table(name)
    for row in rows:
        assert row["source"].strip() and row["kind"] in KINDS, row
    assert rows


def test_a_jurisdiction_names_limits_that_have_a_source() -> None:
    for row in read_table("jurisdictions.csv"):
        for duty in ("hot holding", "cold holding", "reheating", "reheating time", "keeping"):
            assert row[duty] in limits(), (row["key"], duty)


def test_kinds_are_told_as_they_are() -> None:
    """Exponents of starch are judged, starch by difference is computed, what a gum does rests on a judged row and says so."""
    for name, row in thickeners().items():
        kinds = {figure: kind for figure, (_, kind) in row.sources.items()}
        if name != "corn starch":
            assert kinds["strength"] == "judged", name
        assert kinds["exponent"] == ("computed" if row.law else "judged"), name
        if row.law:
            assert kinds["law"] == "judged", name
        if "by difference" in row.sources["starch_percent"][0]:
            assert kinds["starch_percent"] == "computed", name
