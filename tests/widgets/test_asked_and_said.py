"""What is asked at the stove and said on other pages: readings and masses far off, butter beside a flour, an empty kitchen's habits."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

import spoonline as sl
from spoonline.recipes import Habits
from spoonline.widgets import StartPanel, StovePanel
from spoonline.widgets.dose_panel import DosePanel

SOUP = "Roast parsnip and pear soup"


def words(markup: str) -> str:
    return html.unescape(re.sub(r"<[^>]*>", "", markup))


@pytest.fixture
def stove(demo: sl.Logbook):
    panel = StovePanel(demo)
    panel.title.value, panel.reading.temperature.value = SOUP, "60"
    yield panel
    panel.close_all()


@pytest.mark.parametrize(("typed", "asked"), [("20,5", True), ("4,1", False), ("1,2", False), ("0,2", True)])
def test_a_reading_far_from_what_the_aim_shows_is_asked(stove: StovePanel, typed: str, asked: bool) -> None:
    stove.reading.values.value = typed
    said = words(stove.doubt.asked.value)
    assert ("at the aim the spatula shows some" in said) is asked
    stove.save.click()
    assert ("Put it right" in words(stove.alert.value)) is asked
    if asked:
        stove.doubt.as_typed.click()
        stove.save.click()
    assert "Saved batch" in words(stove.status.value)


@pytest.mark.parametrize(
    ("what", "much", "asks"),
    [
        ("butter", "600 g", "600 g of butter was put in; was 60 g meant?"),
        ("water", "30 kg", "30000 g of water was put in, more than all the rest of the pot"), ("corn starch", "5 g", ""), ("water", "300 g", ""),
        ("double cream", "1 l", ""),
    ],
)  # fmt: skip
def test_what_was_put_in_is_doubted_like_every_other_mass(stove: StovePanel, what: str, much: str, asks: str) -> None:
    stove.story.event.event.value = "put something in"
    stove.story.event.what.value, stove.story.event.much.value = what, much
    said = words(stove.doubt.asked.value)
    assert asks in said if asks else "put in" not in said


def test_a_line_that_is_not_there_is_asked_in_words_and_may_not_stand(stove: StovePanel) -> None:
    stove.story.event.event.value = "put something in"
    stove.story.event.what.value, stove.story.event.much.value = "line 99", "40 g"
    assert "line 99 came; the recipe has" in words(stove.doubt.asked.value)
    stove.save.click()
    assert "Saved" not in words(stove.status.value) and "no fault of yours" not in stove.alert.value


def test_what_is_wrong_lies_below_the_question_that_mends_it(stove: StovePanel) -> None:
    """The alert lies over what follows it; the doubt and its buttons come before."""
    bar = next(each.children for each in stove.children if stove.doubt in getattr(each, "children", ()))
    assert bar.index(stove.doubt) < bar.index(stove.alert)


def test_the_butter_of_a_roux_is_said_to_stay(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value, panel.dose.value = "Mushroom gravy", "40"
    assert "The butter stays 60 g: in a roux, change it with the flour" in words(panel.dose_message.value)
    panel.title.value, panel.dose.value = SOUP, "40"
    assert "stays" not in words(panel.dose_message.value)
    panel.close_all()


def test_an_empty_kitchen_says_which_habits_it_reads_by(tmp_path: Path) -> None:
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    panel = StartPanel(book)
    said = words(panel.answer.value)
    assert "US spoons and cups, a date with the month first, C before the other degrees" in said
    assert "Change it under 'How this kitchen writes' below first" in said
    book.keep(Habits(kitchen="uk", first_degrees="F"))
    panel.look()
    assert "UK spoons and cups, a date with the day first, F before" in words(panel.answer.value)
    panel.close_all()
    book.close()


def test_an_aim_read_at_0_c_is_kept_and_answered(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value, panel.how.temperature.value = SOUP, "0"
    assert "1 1/s and 0 C" in words(panel.how.message.value) and "Cook the next pot at" in words(panel.answer.value)
    panel.aim_only.click()
    target = demo.recipe(SOUP).target
    assert target is not None and target.temperature_c == 0
    panel.close_all()


def test_soft_butter_is_butter_and_mint_does_not_melt() -> None:
    text = "Green butter sauce\n\n1 l stock\n3 oz soft butter\n10 g mint leaves\n10 g parsley, chopped\n5 g fine salt\n\n1. Simmer 10 minutes."
    butter, mint, parsley, salt = sl.Recipe.from_text(text).ingredients[1:]
    assert (butter.fact_name, butter.fate) == ("butter", "melts")
    assert [mint.fate, parsley.fate, salt.fate] == ["whole", "whole", "melts"]
    blended = sl.Recipe.from_text(text.replace("Simmer 10 minutes.", "Simmer 10 minutes, then blend until smooth."))
    assert blended.ingredients[2].fate == "blended"
