"""Reading, scaling and comparing recipes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

import spoonline as sl
from spoonline.measures.temperatures import cues
from spoonline.recipes import Ingredient, Step, content_id
from tiers import drawn

SOUP = """Roast parsnip and pear soup
Serves 8

900 g parsnips, peeled and diced
60 g butter
For the pot:
1.4 l vegetable stock
52 g corn starch
100 ml double cream
a handful of parsley

1. Roast at 200 C for 35 minutes.
2. Simmer for 12 min and puree.
"""


def soup() -> sl.Recipe:
    return sl.Recipe.from_text(SOUP)


def test_from_text_reads_title_servings_groups_and_steps() -> None:
    recipe = soup()
    assert recipe.title == "Roast parsnip and pear soup"
    assert recipe.servings == 8
    assert [line.group for line in recipe.ingredients] == ["", "", *["For the pot"] * 4]
    assert [line.part for line in recipe.ingredients[:5]] == ["vegetable", "fat", "liquid", "thickener", "liquid"]
    assert [(step.minutes, step.temperature_c) for step in recipe.steps] == [(35, 200), (12, None)]


def test_liquid_mass_and_dose_have_one_definition() -> None:
    recipe = soup()
    assert recipe.liquid_l == pytest.approx(1.5, rel=1e-6)
    assert recipe.dose_g_per_l == pytest.approx(52 / 1.5)
    assert recipe.doses_g_per_l == {"corn starch": pytest.approx(52 / 1.5)}
    assert recipe.mass_g == pytest.approx(
        sum(float(line.mass_g) for line in recipe.ingredients if line.mass_g is not None)
    )
    assert sl.Recipe(title="Dry", ingredients=["50 g corn starch"]).dose_g_per_l != 0
    assert math.isnan(sl.Recipe(title="Dry", ingredients=["50 g corn starch"]).dose_g_per_l)
    assert sl.Recipe(title="Plain", ingredients=["1 l water"]).dose_g_per_l == 0


def test_what_was_not_understood_is_said_line_by_line() -> None:
    recipe = sl.Recipe.from_text("Soup\n1 l water\na handful of parsley\n2 glimmers of moonlight")
    assert len(recipe.questions) == 2
    assert recipe.questions[0].startswith("Line 2, 'a handful")
    assert recipe.questions[1].startswith("Line 3")
    assert [line.item for line in recipe.ingredients][1] == "parsley"


def test_a_part_can_be_told() -> None:
    recipe = sl.Recipe.from_text("Soup\n1 l whey of the hall [liquid]\n30 g corn starch")
    assert recipe.ingredients[0].part == "liquid"
    assert recipe.ingredients[0].item == "whey of the hall"


def test_text_reads_back() -> None:
    recipe = soup()
    again = sl.Recipe.from_text(recipe.text)
    assert again == recipe
    assert content_id(again) == content_id(recipe)


def test_scaling() -> None:
    recipe = soup()
    half = recipe.scaled(0.5)
    assert half.servings == 4
    assert half.liquid_l == pytest.approx(0.75, rel=1e-5)
    assert half.dose_g_per_l == pytest.approx(recipe.dose_g_per_l, rel=1e-5)
    assert half.ingredients[0].amount == "450 g"
    assert recipe.scaled(servings=12).liquid_l == pytest.approx(2.25, rel=1e-5)
    assert recipe.scaled(liquid_l=3).servings == pytest.approx(16, rel=1e-5)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf, 1e9])
def test_scaling_refuses(bad: float) -> None:
    with pytest.raises(sl.KitchenError, match="above 0"):
        soup().scaled(bad)


def test_scaling_needs_one_way() -> None:
    with pytest.raises(sl.KitchenError, match="one of"):
        soup().scaled()
    with pytest.raises(sl.KitchenError, match="one of"):
        soup().scaled(2, servings=3)
    with pytest.raises(sl.KitchenError, match="does not say how many"):
        sl.Recipe(title="Soup", ingredients=["1 l water"]).scaled(servings=3)
    with pytest.raises(sl.KitchenError, match="no liquid"):
        sl.Recipe(title="Soup", ingredients=["30 g butter"]).scaled(liquid_l=3)


@drawn(60)
@given(st.floats(0.05, 40))
def test_a_pure_rescaling_is_one_change(factor: float) -> None:
    recipe = soup()
    rows = sl.changes(recipe, recipe.scaled(factor)).rows
    kinds = [row.kind for row in rows]
    assert kinds in (["scaled"], []) or set(kinds) <= {"scaled", "written"}
    assert "amount" not in kinds and "servings" not in kinds


def test_changes_name_what_differs() -> None:
    old = soup()
    new = sl.Recipe.from_text(
        SOUP.replace("52 g corn starch", "57.2 g corn starch")
        .replace("60 g butter", "30 g olive oil")
        .replace("12 min", "15 min")
    )
    found = sl.changes(old, new)
    assert [row.kind for row in found.rows] == ["amount", "added", "removed", "time"]
    assert found.rows[0].percent == pytest.approx(10, abs=0.01)
    assert "10 % more corn starch" in found.text
    assert list(found.table.columns)[-2:] == ["change_percent", "beyond_measuring_spread"]
    assert "<table" in found._repr_html_() and "corn starch" in found._repr_html_()


def test_a_change_within_the_spread_is_not_called_real() -> None:
    def spooned(amount: str) -> sl.Recipe:
        return sl.Recipe(title="Soup", ingredients=["1 l water", f"{amount} corn starch"])

    change = sl.changes(spooned("4 heaped tbsp"), spooned("4 1/2 heaped tbsp")).rows[0]
    assert change.percent == pytest.approx(12.5, abs=0.1) and not change.real
    assert sl.changes(spooned("40 g"), spooned("45 g")).rows[0].real


def test_nothing_changed() -> None:
    assert sl.changes(soup(), soup()).rows == ()
    assert sl.changes(soup(), soup()).text == "No change in the dish."


@pytest.mark.parametrize(
    ("fields", "wanted"),
    [
        ({"title": ""}, "title"),
        ({"title": "Soup", "ingredients": ["2 l water", "12 kg corn starch"]}, "g/L"),
        ({"title": "Soup", "servings": 0}, "servings"),
        ({"title": "Soup", "servings": "many"}, "many"),
        ({"title": "Soup", "ingredients": [{"item": "x", "mass_g": -3}]}, "0 or more is wanted"),
        ({"title": "Soup", "ingredients": [{"item": "x", "mass_g": math.nan}]}, "finite"),
    ],
)
def test_bad_recipes_get_one_sentence(fields: dict, wanted: str) -> None:
    with pytest.raises(sl.KitchenError, match=wanted) as caught:
        sl.Recipe(**fields)
    assert "\n" not in str(caught.value)


def test_empty_text_gets_one_sentence() -> None:
    with pytest.raises(sl.KitchenError, match="No text came"):
        sl.Recipe.from_text("   ")
    with pytest.raises(sl.KitchenError, match="Only the title"):
        sl.Recipe.from_text("Soup\n\n1. Stir.")


def test_records_are_frozen_and_their_id_is_their_content() -> None:
    line = Ingredient(amount="30 g", item="corn starch")
    with pytest.raises(ValueError, match="frozen"):
        line.item = "flour"  # type: ignore[misc]  # wrong on purpose: a record is frozen
    assert content_id(line) == content_id(Ingredient(**line.model_dump()))
    assert content_id(line) != content_id(Ingredient(amount="31 g", item="corn starch"))


def test_cues() -> None:
    assert cues("Bake at 350 F for 1 1/2 hours").temperature_c == pytest.approx(176.7)
    assert cues("Simmer 20-25 min").minutes == 25
    assert Step(text="Cook for half an hour").minutes == 30


@drawn(200)
@given(st.text(max_size=400))
def test_any_text_gives_a_recipe_or_a_sentence(text: str) -> None:
    try:
        recipe = sl.Recipe.from_text(text)
    except sl.KitchenError as err:
        assert str(err)
    else:
        assert recipe.title


@pytest.mark.parametrize(
    "heading", ["For the dumplings:\n", "For the dumplings:\n\n", "For the dumplings\n", "Dumplings:\n"]
)
@pytest.mark.parametrize("mark", ["", "1. "])
def test_groups_survive_a_blank_line_and_flour_of_the_dumplings_is_no_thickener(heading: str, mark: str) -> None:
    stew = sl.Recipe.from_text(
        "Stew with dumplings\nServes 6\n800 g stewing beef\n1 l beef stock\n25 g corn starch\n\nTo finish:\nchopped parsley\n\n"
        f"{heading}150 g self-raising flour\n75 g suet\n90 ml cold water\n\n{mark}Simmer the beef in the stock for 2 h.\n"
        f"{mark}Whisk in the corn starch and boil for 2 minutes.\n{mark}Drop in the dumplings and simmer for 20 minutes."
    )
    groups = [line.group for line in stew.ingredients]
    assert groups == ["", "", "", "To finish", *[heading.strip().rstrip(":")] * 3] and len(stew.steps) == 3
    assert set(stew.doses_g_per_l) == {"corn starch"} and sl.Recipe.from_text(stew.text) == stew


def test_a_step_that_takes_a_night_says_its_time() -> None:
    soak, cook = sl.Recipe(title="Beans", steps=["Soak the beans overnight.", "Simmer for 1 h."]).steps
    assert (soak.minutes, cook.minutes) == (720, 60)
