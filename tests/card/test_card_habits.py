"""A card in the words and figures of the kitchen it is for."""

from __future__ import annotations

import spoonline as sl
from spoonline.card import CardNote
from spoonline.recipes import Habits, Recipe, Target

SOUP = Recipe.from_text(
    """Roast parsnip and pear soup
Serves 8
1.5 l vegetable stock
50.5 g corn starch
100 ml double cream

1. Simmer 1.5 minutes.""",
    target=Target(viscosity_pa_s="1.7", band="1.25"),
)


def test_names_of_the_country_and_a_decimal_comma() -> None:
    us = sl.RecipeCard(SOUP, habits=Habits(kitchen="us", names="us")).content
    uk = sl.RecipeCard(SOUP, habits=Habits(kitchen="uk", names="uk", decimal=",")).content
    assert [line.item for line in us.lines] == ["vegetable stock", "cornstarch", "double cream"], (
        "another food than heavy cream"
    )
    assert [line.item for line in uk.lines] == ["vegetable stock", "cornflour", "double cream"]
    assert us.lines[1].grams == "50.5 g" and uk.lines[1].grams == "50,5 g"
    assert "1,7 Pa s" in uk.target and [step.text for step in uk.method] == ["Simmer 1.5 minutes."]
    assert uk.title == us.title


def test_as_written_unless_asked() -> None:
    assert [line.item for line in sl.RecipeCard(SOUP).content.lines] == [
        "vegetable stock",
        "corn starch",
        "double cream",
    ]


def test_the_limits_of_the_kitchens_jurisdiction_stand_first_on_the_card() -> None:
    ahead = CardNote(title=SOUP.title, made_ahead=True)
    us, scotland = (
        " ".join(sl.RecipeCard(SOUP, note=ahead, habits=Habits(jurisdiction=each)).content.cautions)
        for each in ("us", "scotland")
    )
    assert not any(each in us for each in ("SSI 2006/3", "852/2004", "82 C", "refrigerator"))
    assert all(each in scotland for each in ("SSI 2006/3", "852/2004", "82 C (180 F)", "a refrigerator"))
    for own, other in (
        ("63 to 8 C (145 to 46 F) within 90 minutes", "57 to 21 C (135 to 70 F) within 2 hours"),
        ("82 C (180 F)", "US 74 C (165 F)"),
    ):
        assert 0 <= scotland.index(own) < scotland.index(other), "its own first, the others beside it"
    for text in (us, scotland):
        assert text.count("local food code or inspector decides") == 1 and "safe" not in text.lower()
