"""The panel that brings in old notes: nothing saved unseen, only what is clear, and all of it back."""

from __future__ import annotations

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


def ready(panel: ImportPanel) -> None:
    upload(panel)
    panel._tools["ring"][1].value = True


def test_it_shows_before_it_saves(panel: ImportPanel) -> None:
    assert panel.save.disabled and panel.sheet_fields.layout.display == "none"
    before = len(panel.book.all_batches())
    upload(panel)
    assert [field.value for field in panel._roles] == [
        "dish", "date", "amount g", "liquid L", "ring cm", "temperature C", "note",
    ]  # fmt: skip
    assert "Proposed as dish" in panel.columns.children[0].children[1].value
    assert "1 of 5 rows are clear" in panel.answer.value and "Which sizes had the ring?" in panel.asked.value
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
    assert "0 rows saved" in panel.status.value and "Rows 2, 3, 4 are in the logbook already" in panel.status.value
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
    assert "ring" not in panel._tools and "spatula" in panel._tools
    panel._roles[4].value = "note"
    assert panel._tools == {}
    panel._roles[5].value = "date"
    assert "both taken for the date" in panel.alert.value and panel.save.disabled
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
