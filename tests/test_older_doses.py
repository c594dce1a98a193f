"""Doses of versions that were saved before juice was counted: worked out anew, and said so where an earlier figure differed."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import spoonline as sl
from spoonline.dish import Dish
from spoonline.recipes import Recipe, Version, content_id
from spoonline.widgets import DosePanel

OLDER = Path(__file__).parent / "earlier" / "0.1.0" / "kitchen.sqlite"
GRAVY, SAID = "Mushroom gravy", "This version was saved before juice was counted: its dose is worked out anew, "
NEW = ("fate", "fate_from", "fate_share", "juice_g_per_g", "juice_sd_g_per_g")


@pytest.fixture
def older(tmp_path: Path) -> Iterator[sl.Logbook]:
    """A logbook as release 0.1.0 wrote it."""
    shutil.copy(OLDER, tmp_path / "kitchen.sqlite")
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    yield book
    book.close()


def dish_of(lines: list[str], *steps: str, stored: bool = True) -> Dish:
    """A dish whose version was stored without fates, or with them."""
    recipe = Recipe(title="Pot", ingredients=lines, steps=steps)
    data = recipe.model_dump(mode="json")
    if stored:
        bare = [{name: each for name, each in line.items() if name not in NEW} for line in data["ingredients"]]
        data["ingredients"] = bare
    read = Recipe.read(data)
    fields = {"title": "Pot", "number": 1, "id": content_id(recipe), "saved_at": "2025-01-08T12:00:00Z"}
    return Dish(read, Version.read(fields | {"recipe": read}))


def test_the_sentence_gives_both_doses(older: sl.Logbook) -> None:
    dish = older.dish(GRAVY)
    juicy, poured_l = dish.recipe.liquid_l, 1.0
    assert juicy == pytest.approx(1.1), "400 g of mushrooms give juice"
    assert dish.worked_out_anew == f"{SAID}{80 / juicy:.1f} g/L where it said {80 / poured_l:.1f} g/L."


def test_it_is_not_said_where_the_dose_is_as_it_was_or_was_stored_with_its_fates() -> None:
    juicy, plain = ["500 g mushrooms", "1 l stock", "40 g cornflour"], ["1 l stock", "40 g cornflour"]
    assert dish_of(juicy, "Simmer.").worked_out_anew.endswith("where it said 40.0 g/L.")
    for dish in (
        dish_of(plain, "Simmer."), dish_of(juicy, "Simmer, then blend."), dish_of(juicy, "Simmer.", stored=False),
        dish_of(["500 g carrots", "1 l stock"], "Simmer."), dish_of(["1 kg mushrooms", "10 g cornflour"], "Stew."),
        dish_of(["220 g plain flour", "110 g butter", "60 ml water"], "Roll out and bake."), Dish(Recipe(title="x", ingredients=juicy)),
    ):  # fmt: skip
        assert dish.worked_out_anew == "", dish.recipe.text


def test_notebook_2_says_it_until_a_newer_version_keeps_its_fates(older: sl.Logbook) -> None:
    panel = DosePanel(older)
    panel.title.value = GRAVY
    assert panel.answer.value.count(SAID) == 1 and "where it said 80.0 g/L." in panel.answer.value
    panel.dose.value = "70"
    panel.save.click()
    assert "Saved Mushroom gravy, version 3" in panel.status.value and SAID not in panel.answer.value
    panel.title.value = next(each for each in older.titles() if "soup" in each)
    assert SAID not in panel.answer.value, "this dish is blended: its dose is as it was"
    panel.title.value = GRAVY
    assert SAID not in panel.answer.value
    panel.back.click()
    panel.close_all()
