"""The kind of a dish chooses what its card shows: read as a cook would, over the fifteen dishes beside the repository."""

from __future__ import annotations

import re

import pytest

import spoonline as sl
from dishes import DISHES
from spoonline import facts, keeping
from spoonline.card import CardNote
from spoonline.recipes import Target

KINDS = {
    "swede_and_celery_soup": "blended", "pork_and_prune_pot_under_pressure": "stew", "lamb_shoulder_braise": "stew", "pan_gravy": "poured",
    "fish_and_sweetcorn_chowder": "stew", "red_lentil_dal": "blended", "chicken_and_sausage_dark_roux": "stew", "cheese_sauce": "poured",
    "pastry_cream": "custard", "warm_cherry_sauce": "poured", "onion_gravy_two_starches": "poured",
    "chilled_cucumber_yoghurt_soup": "cold", "rhubarb_galette": "dough", "tomato_soup_with_oats": "blended", "carrot_soup": "blended",
}  # fmt: skip
# What stands on the card of a kind, and what never does; each word is one that a cook of that dish would stop at.
SHOWS = {
    "poured": ["stirred ice bath", "Reheat until all parts", "swallowing"],
    "blended": ["stirred ice bath", "Reheat until all parts"],
    "stew": ["stirred ice bath", "Reheat until all parts"],
    "dough": ["Cool it on a rack", "middle of the filling"],
    "cold": ["Keep it cold from the start", "within 4 hours"],
    "custard": ["Egg yolk", "covered on the surface", "swallowing"],
}
NEVER = {
    "poured": ["rack"], "blended": ["rack"], "stew": ["rack"],
    "dough": ["swallowing", "ice bath", "whisk", "thickness", "per litre", "spatula", "in a pan", "batch could be held"],
    "cold": ["reheat", "hot thick", "74 C", "60 C", "57 to 21", "ice bath"],
    "custard": ["ice bath", "reheat"],
}  # fmt: skip


def dish(name: str) -> sl.Recipe:
    return sl.Recipe.from_text(DISHES[name], "uk")


def said_on(recipe: sl.Recipe) -> dict[str, str]:
    """What the kit says on both faces of a card, without the cook's own steps."""
    card = sl.RecipeCard(recipe, note=CardNote(title=recipe.title, made_ahead=True))
    found = {"html": re.sub(r"<style.*?</style>", "", card.html(), flags=re.DOTALL), "markdown": card.markdown()}
    for name, text in found.items():
        for step in card.content.method:
            text = text.replace(step.text, "")
        found[name] = " ".join(text.split())
    return found


@pytest.mark.parametrize("name", KINDS)
def test_each_card_says_what_suits_its_kind(name: str) -> None:
    recipe = dish(name)
    assert recipe.kind == KINDS[name]
    for text in said_on(recipe).values():
        for said in SHOWS[recipe.kind]:
            assert said in text, said
        assert ("lid vented" in text) == (recipe.kind == "blended" and name != "red_lentil_dal"), (
            "dal is whisked, with no blender"
        )
        for said in NEVER[recipe.kind]:
            assert said.casefold() not in text.casefold(), said
        assert not re.search(r"\bnan\b|\b0\.0 g of", text)
        # a section on thickness stands only where something is dosed or aimed at
        assert ("does not classify food" in text) == (recipe.dose_g_per_l > 0)


@pytest.mark.parametrize("name", ["rhubarb_galette", "chilled_cucumber_yoghurt_soup", "carrot_soup"])
def test_an_aim_brings_the_section_back_but_for_a_dough(name: str) -> None:
    recipe = dish(name).model_copy(update={"target": Target(viscosity_pa_s="1.5", temperature_c="6")})
    text = sl.RecipeCard(recipe).text()
    assert ("THICKNESS" in text) == ("Aim: 1.5 Pa s at 6 C" in text) == (recipe.kind != "dough")
    assert "60 C" not in text


def test_what_keeps_the_galette_a_draft_is_no_pot_and_no_starch() -> None:
    keys = {point.key.partition(":")[0] for point in sl.RecipeCard(dish("rhubarb_galette")).content.points}
    assert keys == {"not saved", "line", "label"}, "its pastry is a heading, its egg glazes"


def test_what_is_baked_has_no_litres_and_what_is_cold_loses_nothing() -> None:
    baked, cold = (dish(name) for name in ("rhubarb_galette", "chilled_cucumber_yoghurt_soup"))
    content = sl.RecipeCard(baked).content
    assert content.makes == "about 935 g" and content.makes_range.startswith("It makes 830 to 1040 g")
    assert sl.RecipeCard(cold).content.makes == f"{round(cold.mass_g, -1):.0f} g, {cold.mass_g / 1030:.2g} L"


def test_a_filling_with_meat_is_still_told_how_to_cool() -> None:
    for kind in ("dough", "custard", "cold", "stew"):
        said = " ".join(keeping.made_ahead(kind))
        assert "5 C (41 F)" in said and "local food code" in said, kind
    assert (
        "74 C (165 F)" in " ".join(keeping.made_ahead("dough")) and keeping.made_ahead("stew") == keeping.made_ahead()
    )


def test_browned_flour_is_not_passed_over_in_silence() -> None:
    """Strengths: white roux 0.29, brown 0.19, dark 0.11."""
    white, brown, dark = (facts.thickener(f"{shade} roux").strength for shade in ("white", "brown", "dark"))
    assert (brown / white, dark / white) == (pytest.approx(2 / 3, abs=0.03), pytest.approx(0.4, abs=0.03))
    for name, browned in (
        ("chicken_and_sausage_dark_roux", True),
        ("cheese_sauce", False),
        ("lamb_shoulder_braise", False),
    ):
        assert ("the darker it is cooked" in said_on(dish(name))["markdown"]) == browned, name


def test_what_it_makes_is_said_once() -> None:
    made = {name: sl.RecipeCard(dish(name)).content.makes for name in ("pastry_cream", "cheese_sauce", "carrot_soup")}
    assert made["pastry_cream"] == "700 g, 0.68 L" and made["cheese_sauce"] == "700 ml, 721 g, 0.7 L"
    assert made["carrot_soup"].startswith("about ")


def test_a_pot_under_pressure_loses_no_more_than_it_vents() -> None:
    """2 to 4 % (30 g a cook), where an open pot would lose 6 %."""
    pot = dish("pork_and_prune_pot_under_pressure")
    grams = float(sl.RecipeCard(pot).content.makes.split()[1])
    assert 0.97 * pot.mass_g < grams < pot.mass_g
