"""Two cooks on one logbook are told of each other; a photo is kept with its batch; damage and history stand on the first page."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image

import spoonline as sl
from spoonline.widgets import DosePanel, StartPanel, StovePanel

SOUP = "Roast parsnip and pear soup"


def png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (30, 20), "red").save(out, "PNG")
    return out.getvalue()


def upload(form: StovePanel, data: bytes) -> None:
    form.photo.value = (
        {
            "name": "a.png",
            "type": "image/png",
            "size": len(data),
            "content": memoryview(data),
            "last_modified": datetime(2026, 1, 8, tzinfo=UTC),
        },
    )


def test_two_cooks_who_save_at_once_are_both_told(demo: sl.Logbook) -> None:
    first, second = DosePanel(demo), DosePanel(demo)
    for panel, dose in ((first, "31"), (second, "36")):
        panel.title.value = SOUP
        panel.dose.value = dose
    first.save.click()
    assert "Also made" not in first.status.value
    second.save.click()
    assert "Also made from version 5: version 6" in second.status.value
    assert [each.parent for each in demo.all_versions(SOUP)][-2:] == [5, 5]
    start = StartPanel(demo)
    assert "versions 6 and 7 were both made from version 5" in start.overview.value
    assert f"saved {SOUP}, version 7" in start.history.value
    for panel in (first, second, start):
        panel.close_all()


def test_a_photo_is_kept_with_its_batch_and_shown(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    upload(form, b"no photo at all")
    before = len(demo.all_batches(SOUP))
    form.save.click()
    assert "no photo that can be read" in form.alert.value and len(demo.all_batches(SOUP)) == before
    upload(form, png())
    form.caption.value = "A <b>plate</b>"
    form.save.click()
    assert len(demo.pictures(SOUP)) == 1 and len(demo.all_batches(SOUP)) == before + 1
    assert "data:image/png;base64," in form.batches.value and "A &lt;b&gt;plate&lt;/b&gt;" in form.batches.value
    form.close_all()


@pytest.mark.parametrize("what", ["versions", "batches"])
def test_damage_is_named_on_the_first_page_and_the_rest_opens(tmp_path: Path, what: str) -> None:
    from spoonline.logbook import make_demo

    book = make_demo(tmp_path / "demo.sqlite")
    with book.store.engine.begin() as connection:
        connection.exec_driver_sql(f"update {what} set body = replace(body, 'a', 'b') where seq = 2")
    panel = StartPanel(book)
    assert "is damaged and was set apart" in panel.overview.value and "Mushroom gravy" in panel.overview.value
    panel.close_all()
    book.close()


def test_the_last_save_can_be_taken_back(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    panel.dose.value = "31"
    assert panel.back.disabled
    panel.save.click()
    assert demo.version(SOUP).number == 6 and not panel.back.disabled
    panel.back.click()
    assert demo.version(SOUP).number == 5 and "taken back" in panel.status.value and panel.back.disabled
    start = StartPanel(demo)
    start.load.value = SOUP
    start.save.click()
    assert start.back.disabled, "nothing new was saved, so there is nothing to take back"
    start.paste.value = start.paste.value.replace("8 g salt", "9 g salt")
    start.save.click()
    assert demo.version(SOUP).number == 7
    start.back.click()
    assert demo.version(SOUP).number == 5 and "stays in the history" in start.status.value
    for each in (panel, start):
        each.close_all()


def test_a_full_logbook_shows_its_last_recipes_and_offers_all(tmp_path: Path) -> None:
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    for n in range(33):
        book.save(sl.Recipe(title=f"Soup {n:02d}", ingredients=["1 l water", "30 g corn starch"]))
    panel = StartPanel(book)
    assert (
        panel.overview.value.count("<tr>") - 1 == 30
        and "Soup 02" not in panel.overview.value
        and "Soup 03" in panel.overview.value
    )
    assert "the last 30 recipes" in panel.overview.value and len(panel.load.options) == 34
    assert panel.history.value.count("<tr>") - 1 == 33
    panel.close_all()
    book.close()
