"""The lists of allergens against the published ones, word by word.

Read: Regulation (EU) 1169/2011 Annex II (public copies, one of them a consolidated text in Polish); FD&C Act 201(qq) and table 1 of FDA's
questions and answers on food allergens, edition 5 of January 2025 (as three public pages quote it); Food Standards Code 1.2.3 and
schedule 9 (the pages of FSANZ and of the NSW Food Authority). From memory: that UK law kept Annex II.
"""

from __future__ import annotations

import pytest

import spoonline as sl
from spoonline.facts.allergens import allergen_list, allergen_lists
from spoonline.recipes import Habits

pytestmark = pytest.mark.kind("published")

# Each published name in the words of the text, and how this kit calls its group.
EU = {
    "cereals with gluten": "wheat; spelt; khorasan wheat; rye; barley; oats",
    "crustaceans": "crustaceans",
    "egg": "eggs",
    "fish": "fish",
    "peanut": "peanuts",
    "soy": "soybeans",
    "milk": "milk; lactose",
    "tree nuts": "almonds; hazelnuts; walnuts; cashews; pecan nuts; Brazil nuts; pistachio nuts; macadamia nuts; Queensland nuts",
    "celery": "celery",
    "mustard": "mustard",
    "sesame": "sesame seeds",
    "sulphites": "sulphur dioxide; sulphites",
    "lupin": "lupin",
    "molluscs": "molluscs",
}
US = {
    "milk": "milk",
    "egg": "eggs",
    "fish": "fish; bass; flounder; cod",
    "crustaceans": "Crustacean shellfish; crab; lobster; shrimp",
    "tree nuts": "almonds; black walnuts; Brazil nuts; cashews; filberts; hazelnuts; heartnuts; macadamia nuts; bush nuts; pecans;"
    "pine nuts; pinon nuts; pistachios; walnuts; English walnuts",
    "peanut": "peanuts",
    "wheat": "wheat",
    "soy": "soybeans",
    "sesame": "sesame",
}
ANZ = {
    "wheat": "wheat",
    "cereals with gluten": "barley; oats; rye",
    "tree nuts": "almond; Brazil nut; cashew; hazelnut; macadamia; pecan; pine nut; pistachio; walnut",
    "crustaceans": "crustacean",
    "egg": "egg",
    "fish": "fish",
    "lupin": "lupin",
    "milk": "milk",
    "molluscs": "mollusc",
    "peanut": "peanut",
    "sesame": "sesame",
    "soy": "soy; soya; soybean",
    "sulphites": "sulphites",
}
LISTS = {"england": EU, "scotland": EU, "eu": EU, "us": US, "australia": ANZ}
# No longer tree nuts in table 1 of edition 5, and none of Annex II or schedule 9.
NO_NUTS = "beech nuts; butternuts; chestnuts; chinquapins; coconut; cola nuts; ginkgo nuts; hickory nuts; palm nuts; pili nuts; shea nuts"


def card(item: str, place: str) -> sl.RecipeCard:
    recipe = sl.Recipe(title="x", ingredients=[{"item": item, "mass_g": 10}])
    return sl.RecipeCard(recipe, habits=Habits(jurisdiction=place))


@pytest.mark.parametrize("place", LISTS)
def test_every_published_name_is_on_its_list(place: str) -> None:
    published, ours = LISTS[place], allergen_list(place)
    assert set(ours["groups"]) == set(published) and len(published) == {"us": 9, "australia": 13}.get(place, 14)
    for group, names in published.items():
        for name in names.split(";"):
            contains = card(name.strip(), place).content.contains
            assert group in {each.partition(" (")[0] for each in contains}, (name, contains)


@pytest.mark.parametrize("place", LISTS)
def test_what_a_list_does_not_name_is_not_said_of_it(place: str) -> None:
    others = {group for published in LISTS.values() for group in published} - set(LISTS[place])
    for published in LISTS.values():
        for group, names in published.items():
            if group in others:
                for name in names.split(";"):
                    said = card(name.strip(), place).content.contains
                    assert group not in {each.partition(" (")[0] for each in said}, (name, said)
    assert (card("pine nuts", place).content.contains == ()) == (LISTS[place] is EU)
    for name in NO_NUTS.split(";"):
        content = card(name.strip(), place).content
        assert "nuts" not in " ".join((*content.contains, *content.beside)), name


def test_each_member_that_a_law_names_is_printed() -> None:
    """Annex II, FDA's table 1 and schedule 9 want the nut, and Annex II the cereal, by name."""
    for place, published in LISTS.items():
        for name in published["tree nuts"].split(";"):
            (said,) = (each for each in card(name.strip(), place).content.contains if each.startswith("tree nuts"))
            stem = {"filberts": "hazelnut", "heartnuts": "walnut", "bush nuts": "macadamia", "pinon nuts": "pine nut"}
            stem |= {"Queensland nuts": "macadamia"}
            wanted = stem.get(name.strip(), name.strip().split()[-1 if "alnut" in name else 0].rstrip("s"))
            assert wanted.casefold()[:5] in said.casefold(), (name, said)
    for name in ("spelt", "rye", "barley", "oats"):
        assert card(name, "eu").content.contains == (f"cereals with gluten ({name})",)


@pytest.mark.kind("own")
def test_each_list_has_its_source() -> None:
    assert set(allergen_lists()) == {"EU", "US", "ANZ"}
    for row in allergen_lists().values():
        assert row["source"] and row["kind"] == "published" and row["jurisdictions"]
