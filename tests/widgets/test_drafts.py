"""What was typed survives a restarted kernel and a closed tab; it is no record and never leaves the logbook."""

from __future__ import annotations

import re
import time
from datetime import datetime, timedelta
from pathlib import Path

import pytest

import spoonline as sl
from spoonline.keeping import CoolingLog
from spoonline.widgets import CardPanel, IngredientsPanel, MakeAheadPanel, StartPanel, StovePanel, TastersPanel

SOUP = "Roast parsnip and pear soup"


@pytest.fixture
def far_from_utc(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def test_a_half_typed_batch_is_offered_again_and_taken_up(demo: sl.Logbook, far_from_utc: None) -> None:
    form = StovePanel(demo)
    assert form.draft.layout.display == "none"
    form.title.value = SOUP
    form.before.value, form.cook.value, form.note.value = "5200", "M.", "a lump"
    form.lines.fields[5][0].value = "49,5"
    form.reading.temperature.value, form.reading.values.value = "61", "3,6 3,7"
    form.story.more.click()
    form.reading.temperature.value = "58"
    del form  # the kernel is gone; nothing was saved
    again = StovePanel(demo)
    typed = re.search(r"Typed on (\S+ \S+) and not saved", again.draft.message.value)
    assert typed and abs(datetime.now() - datetime.fromisoformat(typed[1])) < timedelta(minutes=2), (
        "the kitchen's own clock"
    )
    again.draft.take.click()
    assert (again.title.value, again.before.value, again.cook.value, again.note.value) == (SOUP, "5200", "M.", "a lump")
    assert (
        again.lines.fields[5][0].value == "49,5"
        and again.many.value == [["hot", "spatula", "61", "3.6 3.7", "", ""]]
        and again.reading.temperature.value == "58"
    )
    again.after.value = "4980"
    again.save.click()
    assert "Saved batch" in again.status.value
    assert StovePanel(demo).draft.layout.display == "none", "a saved form leaves no draft"


def test_two_tabs_keep_their_drafts_apart(demo: sl.Logbook) -> None:
    one, two = StovePanel(demo), StovePanel(demo)
    one.note.value, two.note.value = "first", "second"
    found = StovePanel(demo)
    assert {draft.fields["note"] for draft in found.draft.found} == {"first", "second"}
    found.draft.drop.click()
    assert len(StovePanel(demo).draft.found) == 1


def test_readings_typed_into_the_table_alone_are_a_draft(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = "Mushroom gravy"
    form.many.rows = [["hot", "", "61", "3,6"], ["", "", "", ""]]
    again = StovePanel(demo)
    again.draft.take.click()
    assert again.title.value == "Mushroom gravy" and again.many.value == [["hot", "", "61", "3,6", "", ""]]
    assert "Here it is again" in again.draft.message.value and again.draft.choice.layout.display == "none"
    form.many.rows = [["", "", "", ""]]
    again.many.value = []
    assert demo.drafts("batch") == []


def test_a_draft_comes_back_in_the_order_of_the_form(demo: sl.Logbook) -> None:
    """The dish before its batch: choosing a dish begins with no batch."""
    log = MakeAheadPanel(demo).log_part
    log.title.value = SOUP
    log.batch.value = 3
    log.readings.value = "14:05 71"
    again = MakeAheadPanel(demo).log_part
    again.draft.take.click()
    assert (again.title.value, again.batch.value, again.readings.value) == (SOUP, 3, "14:05 71")


def test_nothing_typed_is_no_draft(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = "Mushroom gravy"
    form.note.value = "x"
    form.note.value = ""
    assert demo.drafts("batch") == []


def test_a_recipe_being_written_is_kept_with_where_it_began(demo: sl.Logbook) -> None:
    panel = StartPanel(demo)
    panel.load.value = SOUP
    panel.paste.value = panel.paste.value.replace("50 g corn starch", "48 g corn starch")
    again = StartPanel(demo)
    again.draft.take.click()
    assert "48 g corn starch" in again.paste.value
    demo.save(demo.recipe(SOUP).scaled(2.0), "meanwhile")
    again.save.click()
    assert demo.version(SOUP).parent == 5, "what began from version 5 stays its child"


def test_drafts_never_leave_the_logbook(demo: sl.Logbook, tmp_path: Path) -> None:
    form = StovePanel(demo)
    form.note.value = "half a thought"
    folder = demo.export(tmp_path / "out")
    assert not [
        path.name
        for path in folder.rglob("*")
        if path.is_file() and "half a thought" in path.read_text(errors="ignore")
    ]


def test_a_log_read_over_hours_and_a_dinner_survive(demo: sl.Logbook) -> None:
    part = MakeAheadPanel(demo).log_part
    assert not part.draft.found
    part.title.value, part.on.value, part.readings.value, part.unit.value = (
        SOUP,
        "2026-01-21",
        "14:05 160\n14:35 135",
        "F",
    )
    again = MakeAheadPanel(demo)
    again.dinner.guests.value = "31"
    log = again.log_part
    log.draft.take.click()
    assert (log.title.value, log.on.value, log.unit.value) == (SOUP, "2026-01-21", "F") and "135" in log.readings.value
    log.readings.value += "\n15:20 100\n18:00 40"
    log.keep()
    last = MakeAheadPanel(demo)
    assert not last.log_part.draft.found and last.dinner.draft.found
    last.dinner.draft.take.click()
    assert last.dinner.guests.value == "31"


def test_answers_of_tasters_survive_with_their_session(demo: sl.Logbook) -> None:
    panel = TastersPanel(demo)
    panel.title.value = "Mushroom gravy"
    panel.plan.click()
    session = panel.sessions()[1]
    panel.answers.value = f"1: {session.right_code(1)}"
    again = TastersPanel(demo)
    again.title.value = SOUP
    again.draft.take.click()
    assert (again.title.value, again.session.value) == ("Mushroom gravy", 1) and session.right_code(
        1
    ) in again.answers.value
    again.keep.click()
    assert not TastersPanel(demo).draft.found


def test_pasted_lines_survive_and_a_dish_that_is_gone_is_left_out(demo: sl.Logbook) -> None:
    panel = IngredientsPanel(demo)
    panel.paste.value = "Celery soup\n1 l milk\n30 g corn starch"
    demo.draft("cooling log", "another", {"title": "No such dish", "readings": "14:05 71"})
    again = IngredientsPanel(demo)
    again.draft.take.click()
    assert again.paste.value.startswith("Celery soup")
    log = MakeAheadPanel(demo).log_part
    log.draft.take.click()
    assert log.readings.value == "14:05 71" and log.title.value != "No such dish"


def test_what_was_kept_last_is_taken_back(demo: sl.Logbook) -> None:
    panel = MakeAheadPanel(demo)
    log, dinner = panel.log_part, panel.dinner
    assert log.undo.disabled and dinner.undo.disabled
    log.readings.value = "14:05 71\n14:35 57\n15:20 38"
    log.keep()
    dinner.keep()
    assert len(demo.kept(CoolingLog)) == 1 and len(dinner.load.options) == 2
    log.undo.click()
    dinner.undo.click()
    assert (
        demo.kept(CoolingLog) == []
        and len(dinner.load.options) == 1
        and "The dinner" in panel.status.value
        and "was taken back" in panel.status.value
    )
    assert log.undo.disabled and len(demo.kept(CoolingLog, history=True)) == 1, "nothing is overwritten"
    card = CardPanel(demo)
    card.note.value = "For 40"
    card.keep.click()
    assert "For 40" in card.preview.value
    card.undo.click()
    assert card.note.value == "" and "For 40" not in card.preview.value and "was taken back" in card.status.value
