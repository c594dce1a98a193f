"""The panel that brings in old notes: nothing saved unseen, only what is clear, and all of it back."""

from __future__ import annotations

import threading
import time
from datetime import datetime
from pathlib import Path

import ipywidgets as w
import pytest

import spoonline as sl
from spoonline.widgets import ImportPanel

SOUP = "Roast parsnip and pear soup"
SHEET = f"""Dish;Date;Corn starch g;Stock L;Ring radius cm;Temp C;Seen
{SOUP};23/01/2025;42;1,5;6,7 6,8;62;invented
{SOUP};24/01/2025;42;1,5;6,6 6,8;62;invented
Celery soup;25/01/2025;30;1;too thin;60;invented
Celery soup;03/02/2025;33;1;;;invented
Celery soup;26/01/2025;some;1;;;invented
"""


@pytest.fixture
def panel(demo: sl.Logbook):
    made = ImportPanel(demo)
    yield made
    made.close_all()
    w.Widget.close_all()


def upload(panel: ImportPanel, text: str = SHEET, name: str = "old.csv") -> None:
    panel.upload.value = (
        {"name": name, "type": "text/csv", "size": len(text), "content": memoryview(text.encode()), "last_modified": datetime(2026, 1, 1)},
    )  # fmt: skip


def ready(panel: ImportPanel, text: str = SHEET, name: str = "old.csv") -> None:
    upload(panel, text, name)
    panel._tools["ring"][1].value = True


def asked_sizes(panel: ImportPanel) -> set[str]:
    return {name for name, (_, right) in panel._tools.items() if right.layout.display != "none"}


def test_it_shows_before_it_saves(panel: ImportPanel) -> None:
    assert panel.save.disabled and panel.sheet_fields.layout.display == "none"
    before = len(panel.book.all_batches())
    upload(panel)
    assert [field.value for field in panel._roles] == [
        "dish", "date", "amount g", "liquid L", "ring cm", "temperature C", "note",
    ]  # fmt: skip
    assert "Proposed as dish" in panel.choices.children[2].value
    assert "1 of 5 rows are clear" in panel.answer.value and "Which sizes did the ring have?" in panel.asked.value
    assert panel.first_rows.value.count("<tr>") == 6 and panel.rows.value.count("<tr>") == 6
    panel._tools["ring"][1].value = True
    assert "3 of 5 rows are clear" in panel.answer.value
    panel.date_order.value = "day first"
    assert "4 of 5 rows are clear" in panel.answer.value
    assert len(panel.book.all_batches()) == before and "Celery soup" not in panel.book.titles()


def test_only_clear_rows_are_saved_and_all_come_back(panel: ImportPanel) -> None:
    book = panel.book
    before, titles = len(book.all_batches()), book.titles()
    latest = book.version(SOUP).number
    ready(panel)
    panel.save.click()
    panel.work.wait()
    assert "3 rows saved as batches of 2 versions. Not saved: row 5: " in panel.status.value
    assert "row 6: Corn starch g: &#x27;some&#x27;" in panel.status.value
    apart = f"{SOUP} (old trials)"
    assert book.version(SOUP).number == latest, "a known dish keeps its latest version"
    assert [each.version for each in book.all_batches(apart)] == [1, 1]
    assert book.version(apart).note.startswith("Imported from old.csv")
    assert "too thin" in book.all_batches("Celery soup")[0].note
    panel.save.click()
    panel.work.wait()
    assert (
        "0 rows saved" in panel.status.value
        and "In the logbook already, so not saved again: row 2, 3, 4." in panel.status.value
    )
    panel.back.click()
    assert "3 batches" in panel.status.value and panel.back.disabled
    assert len(book.all_batches()) == before and book.titles() == titles


def test_saved_bit_by_bit(panel: ImportPanel) -> None:
    ready(panel)
    panel.save.click()
    panel.work.wait()
    panel.date_order.value = "day first"
    panel.save.click()
    panel.work.wait()
    assert "1 row saved as batches of 1 version." in panel.status.value
    assert [each.version for each in panel.book.all_batches("Celery soup")] == [1, 2]


def test_under_the_same_title_if_asked(panel: ImportPanel) -> None:
    ready(panel)
    latest = panel.book.version(SOUP).number
    panel.apart.value = False
    assert "the last as the latest" in panel.asked.value
    panel.save.click()
    panel.work.wait()
    assert panel.book.version(SOUP).number == latest + 1
    panel.back.click()
    assert panel.book.version(SOUP).number == latest


def test_columns_may_be_changed(panel: ImportPanel) -> None:
    ready(panel)
    panel._roles[4].value = "spatula g"
    assert asked_sizes(panel) == {"spatula"}
    panel._roles[4].value = "note"
    assert asked_sizes(panel) == set()
    panel._roles[5].value = "date"
    assert "both taken as the date" in panel.alert.value and panel.save.disabled
    panel._roles[5].value = "note"
    assert not panel.save.disabled and "both taken" not in panel.alert.value
    panel.save.click()
    panel.work.wait()
    notes = [each.note for each in panel.book.all_batches(f"{SOUP} (old trials)")]
    assert notes[0] == "Ring radius cm: 6,7 6,8; Temp C: 62; Seen: invented; imported from old.csv, row 2"


def test_a_sheet_in_grams_per_litre_shows_its_litre(panel: ImportPanel) -> None:
    upload(panel, "Dish;Date;dose g/L\nCelery soup;2025-01-23;30\n")
    assert panel.litres.value == "1" and "which thickener is not said" in panel.rows.value
    panel.thickener.value = "corn starch"
    assert "1 of 1 rows are clear" in panel.answer.value and "Liquid taken as 1 L" in panel.rows.value


def test_bad_files_and_fields_are_said(panel: ImportPanel, tmp_path: Path) -> None:
    panel.path.value = str(tmp_path / "none.csv")
    assert "cannot be opened" in panel.alert.value and "Traceback" not in panel.alert.value
    upload(panel, "\x89PNG not really", "photo.csv")
    assert "photo.csv" in panel.alert.value and panel.save.disabled
    (tmp_path / "old.csv").write_text(SHEET, encoding="utf-8")
    panel.path.value = str(tmp_path / "old.csv")
    assert "rows are clear" in panel.answer.value and "came" not in panel.alert.value
    panel.litres.value = "lots"
    assert "Litres a pot" in panel.alert.value and panel.save.disabled
    panel.litres.value = ""
    assert not panel.save.disabled


def test_what_a_cell_says_is_shown_harmless(panel: ImportPanel) -> None:
    upload(panel, "Dish;Date;Corn starch g;Stock L\n<b onclick=x>;2025-01-23;30;1\n")
    shown = panel.first_rows.value + panel.rows.value + panel.answer.value
    assert "<b onclick" not in shown and "&lt;b onclick" in shown


def test_a_stop_keeps_whole_rows_and_they_go_back_together(panel: ImportPanel, monkeypatch: pytest.MonkeyPatch) -> None:
    before = len(panel.book.all_batches())
    ready(panel)
    record = type(panel.book).record
    done: list[int] = []

    def stopping(book, batch):
        kept = record(book, batch)
        done.append(kept.number)
        panel.work.halt.click()
        return kept

    monkeypatch.setattr(type(panel.book), "record", stopping)
    panel.save.click()
    panel.work.wait()
    assert len(done) == 1 and "Stopped; the rows saved so far are whole" in panel.status.value
    assert len(panel.book.all_batches()) == before + 1 and not panel.back.disabled
    panel.back.click()
    assert len(panel.book.all_batches()) == before


def bring(panel: ImportPanel, text: str = SHEET, name: str = "old.csv") -> str:
    ready(panel, text, name)
    panel.save.click()
    panel.work.wait()
    return panel.status.value


def pots(panel: ImportPanel, title: str = "Celery soup") -> list[tuple[int, str, float]]:
    """Number, day and thickener [g] of the pots of a dish that stand."""
    found = panel.book.all_batches(title)
    return [
        (each.number, str(each.cooked_on), float(panel.book.recipe(title, each.version).thickener_g)) for each in found
    ]


CELERY = "Dish;Date;Corn starch g;Stock L;Seen\nCelery soup;2025-01-25;30;1;a\nCelery soup;2025-01-26;33;1;b\nCelery soup;2025-01-27;36;1;c\n"


def test_a_corrected_sheet_corrects_the_batch_that_came_from_the_row(panel: ImportPanel) -> None:
    bring(panel, CELERY)
    first = panel.book.all_batches("Celery soup")
    upload(panel, CELERY.replace(";33;", ";38;"))
    assert "Row 3 has changed since it came in as batch 2 of Celery soup" in panel.asked.value
    assert panel.rows.value.count("it is there already") == 2 and panel.rows.value.count(">yes<") == 1
    panel.save.click()
    panel.work.wait()
    assert "1 row saved as batches of 1 version. Row 3 has changed since it came in as batch 2" in panel.status.value
    assert "In the logbook already, so not saved again: row 2, 4." in panel.status.value
    assert pots(panel) == [(1, "2025-01-25", 30), (2, "2025-01-26", 38), (3, "2025-01-27", 36)]
    assert panel.book.all_batches("Celery soup")[1].replaces == first[1].id
    assert "0 rows saved" in bring(panel, CELERY.replace(";33;", ";38;"))
    panel.back.click()
    assert "Celery soup" not in panel.book.titles()


def test_a_row_is_known_by_its_content_wherever_it_stands(panel: ImportPanel) -> None:
    bring(panel, CELERY)
    head, *rows = CELERY.splitlines(keepends=True)
    moved = head + "Celery soup;2025-01-24;28;1;new\n" + "".join(reversed(rows))
    assert "1 row saved" in bring(panel, moved) and len(pots(panel)) == 4
    assert "0 rows saved" in bring(panel, moved, "the same under another name.csv")
    # a row that moved and changed is still the pot of its day
    assert "batch 1 of Celery soup, and corrects it" in bring(panel, moved.replace(";30;", ";31;"))
    assert sorted(pots(panel)) == [
        (1, "2025-01-25", 31),
        (2, "2025-01-26", 33),
        (3, "2025-01-27", 36),
        (4, "2025-01-24", 28),
    ]


def test_a_corrected_day_and_a_note(panel: ImportPanel) -> None:
    bring(panel, CELERY)
    assert "batch 2 of Celery soup" in bring(panel, CELERY.replace("2025-01-26", "2025-01-28"))
    assert "batch 3 of Celery soup" in bring(
        panel, CELERY.replace("2025-01-26", "2025-01-28").replace(";c\n", ";smooth\n")
    )
    assert [day for _, day, _ in pots(panel)] == ["2025-01-25", "2025-01-28", "2025-01-27"]


def test_another_sheet_of_the_same_name_simply_comes_in(panel: ImportPanel) -> None:
    bring(panel, CELERY)
    other = CELERY.replace("2025-01", "2025-02").replace(";30;", ";20;")
    assert "3 rows saved" in bring(panel, other) and "corrects" not in panel.status.value
    assert "3 rows saved" in bring(panel, CELERY.replace("Celery", "Leek"))
    assert len(pots(panel)) == 6 and len(pots(panel, "Leek soup")) == 3


def test_a_changed_row_may_be_a_new_pot(panel: ImportPanel) -> None:
    bring(panel, CELERY)
    upload(panel, CELERY.replace(";33;", ";38;"))
    panel.correct.value = False
    assert "has changed since" not in panel.asked.value
    panel.save.click()
    panel.work.wait()
    assert [grams for _, _, grams in pots(panel)] == [30, 33, 36, 38]


def test_a_correction_stays_with_its_dish_kept_apart(panel: ImportPanel) -> None:
    apart = f"{SOUP} (old trials)"
    bring(panel)
    bring(panel, SHEET.replace(";24/01/2025;42;", ";24/01/2025;45;"))
    assert [grams for _, _, grams in pots(panel, apart)] == [42, 45]


def test_equal_rows_that_are_pots_come_in_once_each(panel: ImportPanel) -> None:
    head, row, *_ = CELERY.splitlines(keepends=True)
    for times, saved in ((2, 2), (3, 1), (3, 0)):
        upload(panel, head + row * times)
        panel.equal_rows_are_pots.value = True
        panel.save.click()
        panel.work.wait()
        assert f"{saved} row" in panel.status.value
    assert len(pots(panel)) == 3


def test_take_back_while_it_still_saves_takes_all_back(panel: ImportPanel, monkeypatch: pytest.MonkeyPatch) -> None:
    before, titles = len(panel.book.all_batches()), panel.book.titles()
    rows = "".join(f"Celery soup;2025-01-25;{30 + at / 10};1;{at}\n" for at in range(60))
    ready(panel, CELERY.splitlines(keepends=True)[0] + rows)
    record, began = type(panel.book).record, threading.Event()

    def slowly(book, batch):
        began.set()
        time.sleep(0.01)
        return record(book, batch)

    monkeypatch.setattr(type(panel.book), "record", slowly)
    panel.save.click()
    assert began.wait(30) and panel.work.busy
    panel.back.click()
    assert not panel.work.busy and "All of it is taken back" in panel.status.value
    time.sleep(0.1)
    assert (len(panel.book.all_batches()), panel.book.titles()) == (before, titles)
    panel.save.click()
    panel.work.wait()
    assert "60 rows saved" in panel.status.value


def test_the_decimal_mark_is_asked_once_for_the_sheet(panel: ImportPanel) -> None:
    upload(panel, "Dish;Date;Corn starch;Stock L\nCelery soup;2025-01-25;1.250 g;4\nCelery soup;2025-01-26;2.500 g;4\n")
    assert "0 of 2 rows are clear" in panel.answer.value and panel.asked.value.count("thousands or decimals") == 1
    panel.decimal.value = "."
    assert "2 of 2 rows are clear" in panel.answer.value and panel.asked.value == ""
    upload(panel, CELERY)
    assert panel.decimal.value == "", "what was said of one sheet is not said of the next"


def test_a_long_cell_is_shown_short(panel: ImportPanel) -> None:
    upload(panel, CELERY.replace(";a\n", f";{'so long ' * 12_000}\n"))
    assert len(panel.first_rows.value) < 10_000 and len(panel.rows.value) < 10_000
    assert "2 of 3 rows are clear" in panel.answer.value
