"""The look stands in one stylesheet; what was typed of one tasting stays with it; the start page says what to do next."""

from __future__ import annotations

import re
from contextlib import closing
from pathlib import Path

import pytest

import spoonline as sl
from spoonline.recipes import Recipe
from spoonline.tasters import Session
from spoonline.widgets import MakeAheadPanel, StartPanel, TastersPanel

SOUP, GRAVY = "Roast parsnip and pear soup", "Mushroom gravy"
WIDGETS = Path(sl.__file__).parent / "widgets"
LOOKS = re.compile(r"Layout\(|\blayout=|\bwidth=|\bheight=|\d(?:px|rem|em)\b|\bstyle=\"")


def test_no_size_stands_in_python() -> None:
    found = [
        f"{path.name}: {line.strip()}"
        for path in sorted(WIDGETS.rglob("*.py"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if LOOKS.search(line)
    ]
    assert found == []


def test_answers_typed_for_one_session_stay_with_it(demo: sl.Logbook) -> None:
    panel = TastersPanel(demo)
    panel.title.value = GRAVY
    panel.tasters.value = "6"
    panel.plan.click()
    panel.tasters.value = "8"
    panel.plan.click()
    first, second = sorted(panel.sessions())
    panel.session.value = first
    panel.answers.value = "1: -"
    panel.session.value = second
    assert panel.answers.value == ""
    panel.answers.value = "2: -"
    panel.session.value = first
    assert panel.answers.value == "1: -"
    panel.title.value = SOUP
    panel.title.value, panel.session.value = GRAVY, second
    assert panel.answers.value == "2: -"
    assert {each.number for each in demo.kept(Session, GRAVY)} == {first, second}, "nothing of it was saved"


def test_what_was_saved_is_no_draft(demo: sl.Logbook) -> None:
    panel = TastersPanel(demo)
    number = panel.session.value
    typed = panel.answers.value.replace("1: ", "1: -\n2: ", 1).splitlines()[0]
    panel.answers.value = typed
    panel.keep.click()
    panel.title.value = GRAVY
    panel.title.value = SOUP
    assert panel.session.value == number and demo.drafts("tasters") == []


def test_a_forecast_is_made_anew_only_of_what_it_is_made_of(demo: sl.Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    panel = MakeAheadPanel(demo)
    shown: list[int] = []
    monkeypatch.setattr(panel.cool, "show", lambda: shown.append(1))
    demo.save(Recipe(title="Barley broth", ingredients=["1 l beef stock", "20 g corn starch"]))
    panel.look()
    assert shown == [] and "Barley broth" in [title for _, title in panel.cool.title.options]
    own = demo.recipe(panel.cool.title.value)
    demo.save(own.model_copy(update={"ingredients": own.ingredients[:-1]}))
    panel.look()
    assert shown == [1]


def test_each_dish_says_in_one_line_what_to_do_next(demo: sl.Logbook) -> None:
    said = StartPanel(demo).overview.value
    assert said.count("<tr>") == 1 + len(demo.titles())
    for notebook, label, dish in (
        ("4_finish_the_card", "finish the card", SOUP), ("2_set_the_thickness", "set the next dose", GRAVY),
        ("1_at_the_stove", "cook it once more", "Blackcurrant sauce"),
    ):  # fmt: skip
        assert f'href="{notebook}.ipynb"' in said and f'aria-label="{label}: {dish}"' in said
    assert "3 of the last 3 pots inside: tested" in said


def test_an_empty_kitchen_pastes_a_dish_says_how_thick_and_cooks_it(tmp_path: Path) -> None:
    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        panel = StartPanel(book)
        assert "This logbook is empty" in panel.answer.value
        panel.paste.value = "Leek soup\n\n1 l vegetable stock\n30 g corn starch\n\n1. Boil."
        panel.thick.value = "pouring custard"
        panel.save.click()
        aim = book.recipe("Leek soup").target
        assert aim is not None and float(aim.viscosity_pa_s) == 0.2
        assert 'href="1_at_the_stove.ipynb"' in panel.status.value and 'data-dish="Leek soup"' in panel.status.value
        assert "cook a first pot" in panel.overview.value and panel.thick.value == ""
        panel.paste.value = "Pea soup\n\n1 l vegetable stock\n30 g corn starch\n\n1. Boil."
        panel.save.click()
        assert book.recipe("Pea soup").target is None, "we will see"
