"""A card in the words and figures of the kitchen it is for."""

from __future__ import annotations

import spoonline as sl
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
    assert [line.item for line in us.lines] == ["vegetable stock", "cornstarch", "heavy cream"]
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
    us = sl.RecipeCard(SOUP).content.cautions
    scotland = sl.RecipeCard(SOUP, habits=Habits(jurisdiction="scotland")).content.cautions
    assert not any("SSI 2006/3" in line for line in us) and set(us) < set(scotland)
    (own,) = set(scotland) - set(us)
    assert own.startswith("Scotland: hot holding 63 C") and "reheating 82 C" in own and "refrigerator or a cool" in own
    assert scotland.index(own) < next(n for n, line in enumerate(scotland) if line.startswith("Chill within 2 hours"))
    assert "local code or inspector decides" in own and "safe" not in own.lower()
