"""Dishes without a bought starch through the whole job: an aim, pots, what to cook next, tested, the card."""

from __future__ import annotations

from pathlib import Path

import pytest

import spoonline as sl
from dishes import DISHES as TEXTS
from spoonline.card.gather import gather
from spoonline.card.records import CardNote
from spoonline.card.render import plain
from spoonline.dish import Dish
from spoonline.logbook import Logbook
from spoonline.pots.records import Weighed
from spoonline.recipes import Habits, Recipe

# Dish: the line that is varied, what is judged, its unit, its aim, and an invented kitchen's law (share of the line as written).
DISHES = {
    "fish_and_sweetcorn_chowder": ("sweetcorn", "sweetness", "score", (5, 6), lambda share: 3.0 + 2.0 * share),
    "red_lentil_dal": ("lemon", "sourness", "score", (5.5, 6.5), lambda share: 2.5 + 2.5 * share),
    "chilled_cucumber_yoghurt_soup": ("yoghurt", "minutes to pour", "min", (1.2, 1.5), lambda share: share**1.4),
    "tomato_soup_with_oats": ("oats", "body", "score", (5, 6), lambda share: 2.0 + 2.5 * share),
    "carrot_soup": ("carrot", "sweetness", "score", (5, 6), lambda share: 2.0 + 2.5 * share),
    "rhubarb_galette": ("butter", "crispness", "score", (6, 7), lambda share: 2.5 + 3.0 * share),
}  # fmt: skip


def cook(
    book: Logbook, recipe: Recipe, version: int, place: int, share: float, day: int, name: str, unit: str, value: float
) -> None:
    line = recipe.ingredients[place]
    grams = float(line.mass_g or 0) * share
    weighed = (
        [Weighed(line=place + 1, item=line.item, typed=f"{grams:.0f} g", mass_g=round(grams), sd_g=0.3)]
        if share != 1
        else []
    )
    values = [value - 0.04, value + 0.04, value] if unit == "score" else [value]
    outcome = sl.Outcome(name=name, unit=unit, values=[round(each, 2) for each in values])
    book.record(
        sl.Batch(
            title=recipe.title, version=version, cooked_on=f"2026-01-{day:02}", weighed=weighed, outcomes=[outcome]
        )
    )


def card_of(dish: Dish):
    return gather(dish, Habits(), CardNote(title=dish.title))


@pytest.mark.parametrize("name", DISHES)
def test_a_dish_without_starch_goes_through_the_whole_job(name: str, tmp_path: Path) -> None:
    word, outcome, unit, (low, high), law = DISHES[name]
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    recipe = Recipe.from_text(TEXTS[name], aims=[(outcome, unit, low, high)])
    book.save(recipe)
    place = next(n for n, line in enumerate(recipe.ingredients) if word in line.item.casefold() and line.mass_g)

    dish = book.dish(recipe.title)
    assert not dish.tested.enough and f"record {outcome}" in dish.next_text
    points = {point.key for point in card_of(dish).points}
    assert "untested" in points and "target" not in points, "an aim of another kind is an aim"

    for number, share in enumerate((0.8, 1.0, 1.2)):
        off = (0.02, -0.02, 0.01)[number] * (1 if unit == "score" else 0.3)
        cook(book, recipe, 1, place, share, 5 + number, outcome, unit, law(share) + off)
    dish = book.dish(recipe.title)
    read, setting = dish.next_setting()
    assert not read.cannot_tell and setting is not None, read.text
    assert setting.text in dish.next_text and not dish.tested.enough
    share = setting.settings[0] / float(read.points["x"].sort_values().iloc[1])
    assert low - 0.3 <= law(share) <= high + 0.3, "the kitchen's own answer at what is suggested"

    line = recipe.ingredients[place]
    grams = round(float(line.mass_g or 0) * share)
    lines = [*recipe.ingredients[:place], line.reweighed(f"{grams} g", grams, 0.3), *recipe.ingredients[place + 1 :]]
    second = recipe.model_copy(update={"ingredients": tuple(lines)})
    book.save(second)
    assert book.recipe(recipe.title).aims == recipe.aims
    for number, off in enumerate((0.03, -0.03, 0.0)):
        cook(
            book,
            second,
            2,
            place,
            1.0,
            10 + number // 2,
            outcome,
            unit,
            law(share) + off * (1 if unit == "score" else 0.3),
        )
    dish = book.dish(recipe.title)
    (aim,) = dish.aims
    # an earlier pot within 5 % of this setting is one of its pots too
    assert aim.count.inside == aim.count.read >= 3 and aim.count.days >= 2 and dish.tested.enough, aim.text
    assert dish.tested_text == aim.text and dish.next_text == "Keep it as it is: every aim is met."
    assert "0.0 g/L" not in dish.text or recipe.thickener_g
    content = card_of(dish)
    said = (
        f"Tested for {aim.aim.text}: {aim.count.inside} of the last {aim.count.read} batches, on {aim.count.days} days."
    )
    (goal,) = content.aims
    assert goal.good == said and goal.reading.casefold() == aim.aim.text.casefold()
    page = sl.RecipeCard.from_logbook(book, recipe.title).markdown()
    for words in (f"## What it should come to\n\n{plain(goal.reading)}\n\n{plain(goal.how)}\n", plain(said)):
        assert words in page
    assert "untested" not in {point.key for point in content.points}
    book.close()


def test_every_aim_is_asked_thickness_too(tmp_path: Path) -> None:
    aims = [("sweetness", "score", 5, 6), ("salt", "%", "0.5", "0.9")]
    recipe = Recipe(title="Soup", ingredients=["1 l water", "300 g carrots [blended]", "8 g salt"], aims=aims)
    version = sl.open_logbook(tmp_path / "kitchen.sqlite").save(recipe)

    def dish(scores: list[float], *, salt: float = 8.0) -> Dish:
        weighed = [] if salt == 8.0 else [Weighed(line=3, item="salt", typed=f"{salt} g", mass_g=salt, sd_g=0.1)]
        pots = tuple(
            sl.Batch(title="Soup", version=1, number=n, cooked_on=f"2026-01-0{n}", weighed=weighed,
                     outcomes=[sl.Outcome(name="sweetness", unit="score", values=[score])]) for n, score in enumerate(scores, 1)
        )  # fmt: skip
        return Dish(recipe, version, (version,), pots)

    good = dish([5.2, 5.6, 5.5])
    assert good.tested.enough and [each.count.enough for each in good.aims] == [True, True]
    assert not dish([5.2, 7.0, 6.5]).tested.enough, "too sweet"
    salty = dish([5.2, 5.6, 5.5], salt=16.0)
    assert [each.count.read for each in salty.aims] == [0, 0], "seasoned otherwise, so another dish here"
    thick = good.aiming(sl.Target(viscosity_pa_s="0.3"))
    assert not thick.tested.enough and thick.tested_text.count("ested") == 3, "nobody read how thick it was"


def test_a_quantity_that_was_typed_makes_another_dish_where_the_steps_say_otherwise(tmp_path: Path) -> None:
    recipe = Recipe(title="Biscuits", ingredients=["200 g wheat flour", "100 g butter"], steps=["Bake at 180 C for 12 minutes."],
                    aims=[("spread", "cm", 6, 7)])  # fmt: skip
    version = sl.open_logbook(tmp_path / "kitchen.sqlite").save(recipe)
    pots = tuple(
        sl.Batch(title="Biscuits", version=1, number=n, cooked_on=f"2026-01-0{n}", outcomes=[sl.Outcome(name="spread", unit="cm", values=[6.5])],
                 quantities=[sl.Quantity(name="oven", unit="C", value=oven)]) for n, oven in enumerate((180, 182, 200), 1)
    )  # fmt: skip
    found = Dish(recipe, version, (version,), pots)
    assert found.aims[0].count.read == 2
    assert found.frame["oven_c"].tolist() == [180, 182, 200] and found.frame.attrs["quantities"]["oven_c"] == "C"
