"""What an open form hears of: what others save, from this process or another; and what one sees while it works."""

from __future__ import annotations

import subprocess
import sys
import time

import ipywidgets as w
import pytest

import spoonline as sl
from spoonline.widgets import (
    CardPanel,
    DosePanel,
    IngredientsPanel,
    MakeAheadPanel,
    StartPanel,
    StovePanel,
    TastersPanel,
)
from spoonline.widgets.parts.panel import Panel

SOUP, GRAVY = "Roast parsnip and pear soup", "Mushroom gravy"
SAVES = """import sys, spoonline as sl
book = sl.open_logbook(sys.argv[1])
book.save(sl.Recipe(title="Barley broth", ingredients=["1 l beef stock", "20 g corn starch"]))
book.close()"""


@pytest.fixture(autouse=True)
def _close_all():
    yield
    w.Widget.close_all()


def asks(panel: Panel) -> None:
    """The page asks, as it does every few seconds and on coming back."""
    panel.guard._handle_custom_msg({"look": True}, [])


def test_every_form_hears_of_what_another_process_saved(demo: sl.Logbook) -> None:
    forms = [made(demo) for made in (StartPanel, StovePanel, DosePanel, CardPanel, TastersPanel, MakeAheadPanel)]
    stove = forms[1]
    stove.note.value = "windy"
    forms[2].dose.value = "37"
    subprocess.run([sys.executable, "-c", SAVES, demo.where], check=True)
    for each in forms:
        asks(each)
    start, stove, dose, card, tasters, ahead = forms
    assert "Barley broth" in start.overview.value and "Barley broth" in [title for _, title in start.load.options]
    for title in (stove.title, dose.title, card.title, tasters.title, ahead.cool.title, ahead.log_part.title):
        assert "Barley broth" in [value for _, value in title._options_full]
    assert stove.note.value == "windy" and dose.dose.value == "37", "what is typed stays"
    assert all(each.alert.value in ("", '<div role="alert"></div>') for each in forms)


def test_nothing_is_done_while_nothing_changed(demo: sl.Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    panel = StartPanel(demo)
    done: list[int] = []
    monkeypatch.setattr(panel, "changed", lambda: done.append(1))
    panel.note.value = "typed, and kept as a draft, which is no record"
    for _ in range(3):
        asks(panel)
    assert done == []
    demo.take_back(demo.version(SOUP))
    asks(panel)
    asks(panel)
    assert done == [1], "what was taken back is heard of too, once"


def test_a_dish_that_is_gone_makes_place_for_another(demo: sl.Logbook) -> None:
    card = CardPanel(demo)
    card.title.value = SOUP
    card.note.value = "For the winter lunch"
    for version in demo.all_versions(SOUP):
        demo.take_back(version)
    asks(card)
    assert card.title.value != SOUP and SOUP not in card.preview.value and card.note.value == ""


def test_what_a_form_says_stays_while_it_hears(demo: sl.Logbook) -> None:
    panel = IngredientsPanel(demo)
    own = panel.own
    own.item.value, own.measure.value, own.masses.value = "corn starch", "1 heaped tbsp", "lots"
    own.keep_spoon_button = next(
        each for each in own.children if isinstance(each, w.Button) and each.description == "Save this spoon"
    )
    own.keep_spoon_button.click()
    wrong = panel.alert.value
    assert "lots" in wrong
    demo.save(demo.recipe(SOUP).model_copy(update={"title": "Hall soup"}))
    asks(panel)
    assert panel.alert.value == wrong
    own.whole.value = "800"
    assert panel.alert.value == wrong, "another field is no cure"
    own.masses.value = "12; 15; 11"
    assert "lots" not in panel.alert.value, "its own is, at once"


def test_a_logbook_that_is_gone_is_said_and_comes_back(demo: sl.Logbook, tmp_path) -> None:
    panel = TastersPanel(demo)
    file = tmp_path / "demo.sqlite"
    away = file.rename(tmp_path / "away.sqlite")
    asks(panel)
    assert "was moved away" in panel.alert.value
    away.rename(file)
    asks(panel)
    assert "moved" not in panel.alert.value


def test_what_takes_long_shows_that_it_works(demo: sl.Logbook) -> None:
    class Slow(Panel):
        def __init__(self) -> None:
            super().__init__()
            self.seen: list[bool] = []
            self.quick, self.slow = self.button("Quick", lambda: None), self.button("Slow", self._slow)
            self.lay(self.quick, self.slow)
            self.guard.observe(lambda change: self.seen.append(change["new"]), "busy")

        def _slow(self) -> None:
            self.attempt(lambda: None)  # what is done within it does not end it
            time.sleep(0.45)
            assert self.guard.busy

    panel = Slow()
    panel.quick.click()
    assert panel.seen == []
    panel.slow.click()
    assert panel.seen == [True, False] and not panel.guard.busy
