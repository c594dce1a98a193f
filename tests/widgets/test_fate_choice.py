"""What becomes of each line, chosen beside it: judged, overruled by one choice, refused where it cannot be, kept with the version."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

import spoonline as sl
from spoonline.recipes.fates import FATES
from spoonline.widgets import IngredientsPanel, StartPanel

CHILLI = """Winter vegetable pot
Serves 12
Base:
500 g carrots, sliced
1.2 l vegetable stock
1 pinch salt
To finish:
45 g cornflour
1 pinch salt

1. Simmer the carrots in the stock for 20 minutes, then blend.
2. Slake the cornflour, stir it in and boil for 2 minutes."""
BATTER = """Winter batter
120 g plain flour
400 ml whole milk
1 egg

1. Whisk, and cook by the ladle."""


@pytest.fixture
def panel(demo: sl.Logbook) -> Iterator[StartPanel]:
    made = StartPanel(demo)
    made.paste.value = CHILLI
    yield made
    made.close_all()


def choose(panel: StartPanel, row: int, fate: str) -> None:
    rows = [list(each) for each in panel.lines.rows]
    rows[row] = [*rows[row][:3], fate]
    panel.lines.rows = rows


def test_each_row_offers_every_fate_and_says_what_was_judged(panel: StartPanel) -> None:
    assert panel.lines.columns[3] == "In the pot" and panel.lines.choices == list(FATES)
    assert panel.lines.unchosen == [f"judged: {each}" for each in ("blended", "pours", "melts", "thickens", "melts")]
    assert [row[3] for row in panel.lines.rows] == [""] * 5
    panel.paste.value = CHILLI.replace("then blend", "then blend half of it")
    assert panel.lines.unchosen[0] == "judged: 50 % blended"


def test_one_choice_goes_into_the_text_and_back_again(panel: StartPanel) -> None:
    choose(panel, 0, "whole")
    assert "500 g carrots, sliced [whole]\n" in panel.paste.value
    assert "whole, gives " in panel.text.understood.value and "(your word)" in panel.text.understood.value
    assert panel.lines.rows[0][3] == "whole" and panel.lines.unchosen[0] == "judged: blended", "the way back is named"
    choose(panel, 0, "")
    assert "[" not in panel.paste.value and "(your word)" not in panel.text.understood.value


def test_a_word_in_the_text_is_chosen_in_the_table(panel: StartPanel) -> None:
    panel.paste.value = CHILLI.replace("sliced", "sliced [melts]")
    assert panel.lines.rows[0] == ["500 g", "carrots", "sliced", "melts"]
    choose(panel, 0, "blended")
    assert "500 g carrots, sliced [blended]" in panel.paste.value, (
        "the judged fate as her own word holds against the method"
    )


def test_what_she_chose_is_kept_with_the_version_and_stands_when_it_is_begun_from(
    panel: StartPanel, demo: sl.Logbook
) -> None:
    choose(panel, 0, "whole")
    panel.save.click()
    line = demo.recipe("Winter vegetable pot").ingredients[0]
    assert (line.fate, line.fate_from) == ("whole", "told") and demo.recipe("Winter vegetable pot").liquid_l > 1.2
    again = StartPanel(demo)
    again.load.value = "Winter vegetable pot"
    assert again.lines.rows[0][3] == "whole"
    again.close_all()


@pytest.mark.parametrize(("row", "fate", "said"), [
    (0, "thickens", "&#x27;carrots&#x27; cannot be [thickens]: only thickeners of the table thicken"),
    (3, "pours", "&#x27;cornflour&#x27; cannot be [pours]: it is no liquid"),
    (0, "vanishes", "&#x27;vanishes&#x27; is no fate of a line; write one of pours, blended"),
])  # fmt: skip
def test_a_fate_that_cannot_be_is_said_and_nothing_is_saved_until_it_is_mended(
    panel: StartPanel, demo: sl.Logbook, row: int, fate: str, said: str
) -> None:
    choose(panel, row, fate)
    for press in (lambda: None, panel.save.click):
        press()
        assert said in panel.alert.value and panel.alert.value.count("cannot") <= 1
        assert panel.lines.rows[row][3] == fate and panel.paste.value == CHILLI, "what was typed stays"
    assert "Winter vegetable pot" not in demo.titles()
    choose(panel, row, "")
    panel.save.click()
    assert "Saved Winter vegetable pot, version 1" in panel.status.value


def test_a_slip_of_the_key_in_the_table_is_mended_in_the_table(panel: StartPanel) -> None:
    rows = [list(row) for row in panel.lines.rows]
    panel.lines.rows = [*rows[:3], ["4500 g", *rows[3][1:]], rows[4]]
    assert "Check the unit of the thickener line" in panel.alert.value
    panel.lines.rows = [*rows[:3], ["48 g", *rows[3][1:]], rows[4]]
    assert "48 g cornflour" in panel.paste.value and "Check the unit" not in panel.alert.value


def test_another_row_keeps_what_the_cook_told_of_this_one(panel: StartPanel) -> None:
    panel.paste.value = CHILLI.replace("500 g carrots, sliced", "1/2 kg (500g) hogget neck, diced [meat] [whole]")
    rows = [list(row) for row in panel.lines.rows]
    panel.lines.rows = [rows[0], ["1.4 l", *rows[1][1:]], *rows[2:]]
    assert "1/2 kg (500g) hogget neck, diced [meat] [whole]\n1.4 l vegetable stock" in panel.paste.value
    panel.lines.rows = [["600 g", *rows[0][1:]], *rows[1:]]
    assert "600 g hogget neck, diced [meat] [whole]\n" in panel.paste.value, "its amount changed; it is the same meat"


def test_two_lines_of_one_item_keep_their_own_headings(panel: StartPanel) -> None:
    choose(panel, 3, "thickens")
    assert "1 pinch salt\nTo finish:\n45 g cornflour [thickens]\n1 pinch salt\n" in panel.paste.value


def test_a_choice_changes_no_weight(demo: sl.Logbook) -> None:
    onion = sl.Recipe.from_text(CHILLI.replace("500 g carrots", "2 onions")).ingredients[0]
    lines = [onion.reweighed("2", 312, 1, typed=onion.typed), "1.2 l vegetable stock"]
    demo.save(sl.Recipe(title="Weighed pot", ingredients=lines, steps=["Simmer, then blend."]))
    panel = StartPanel(demo)
    panel.load.value = "Weighed pot"
    for fate, line in (("whole", "2 onions, sliced [whole]"), ("", "2 onions, sliced\n")):
        choose(panel, 0, fate)
        assert line in panel.paste.value
        read = panel.text.recipe.ingredients[0]
        assert read.mass_g == 312 and read.fate == (fate or "blended")
    panel.close_all()


@pytest.mark.parametrize(("fate", "kind"), [("dough", "dough"), ("thickens", "custard")])
def test_a_question_that_the_facts_leave_open_is_answered_by_the_choice(demo: sl.Logbook, fate: str, kind: str) -> None:
    panel = IngredientsPanel(demo)
    panel.paste.value = BATTER
    asked = "can be a thick sauce or a batter"
    assert asked in panel.lines.value and panel.text.lines.unchosen[0] == "judged: thickens"
    rows = [list(row) for row in panel.text.lines.rows]
    panel.text.lines.rows = [[*rows[0][:3], fate], *rows[1:]]
    assert asked not in panel.lines.value and panel.recipe is not None and panel.recipe.kind == kind
    rest = [each.removeprefix("judged: ") for each in panel.text.lines.unchosen[1:]]
    assert rest == [line.fate for line in panel.recipe.ingredients[1:]], "what is judged of the others is said anew"
    panel.close_all()


def test_the_words_follow_their_rows_where_a_blank_one_comes_between(panel: StartPanel) -> None:
    rows = [list(row) for row in panel.lines.rows]
    panel.lines.rows = [rows[0], ["", "", "", ""], *rows[1:]]
    assert panel.lines.unchosen[:3] == ["judged: blended", "judged", "judged: pours"]
    assert panel.paste.value == panel.text._written(panel.text.recipe), "a blank row is no line"
