"""The first page: habits and their file, looking after the logbook with a bar and a Stop, and the dish that goes along."""

from __future__ import annotations

import base64
import json
import re
import threading
from datetime import UTC, date, datetime
from pathlib import Path

import ipywidgets as w
import pytest

import spoonline as sl
from spoonline import flow
from spoonline.card import load_style
from spoonline.recipes import Habits
from spoonline.widgets import CardPanel, ComparePanel, DosePanel, StartPanel
from spoonline.widgets import start_panel as module
from spoonline.widgets.parts.markup import link
from spoonline.widgets.parts.recipe_text import liquid_words

GRAVY = "Mushroom gravy"


@pytest.fixture
def start(demo: sl.Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    # Another logbook that the folder names must not be taken for the one that is shown.
    monkeypatch.setenv("SPOONLINE_LOGBOOK", str(tmp_path / "another.sqlite"))
    panel = StartPanel(demo)
    yield panel
    panel.close_all()
    w.Widget.close_all()


def sent(text: str, name: str = "house-style.json") -> tuple[dict[str, object], ...]:
    data = text.encode()
    when = datetime(2026, 1, 8, tzinfo=UTC)
    return ({"name": name, "type": "", "size": len(data), "content": memoryview(data), "last_modified": when},)


def test_what_dry_goods_take_up_is_said() -> None:
    stew = sl.Recipe.from_text("Lentils\nServes 4\n300 g green lentils\n1.2 l water\n\n1. Simmer for 40 minutes.")
    assert stew.liquid_l < 1.2
    assert f"1.20 poured less {1.2 - stew.liquid_l:.2f} taken up by what swells" in liquid_words(stew)
    assert "of which 1.00 poured" in liquid_words(
        sl.Recipe.from_text("Soup\n500 g mushrooms, sliced\n1 l water\n\n1. Simmer.")
    )


def test_one_habit_is_kept_without_losing_the_others(start: StartPanel) -> None:
    start.book.keep(Habits(language="en", first_degrees="F", paper="a5"))
    part = StartPanel(start.book).habits
    part.fields["kitchen"].value = "uk"
    part.keep.click()
    assert (now := start.book.habits).kitchen == "uk"
    assert (now.first_degrees, now.paper, now.rounding) == ("F", "a5", "usual")


def test_a_house_style_goes_out_and_comes_in_as_a_file(start: StartPanel, tmp_path: Path) -> None:
    part = start.habits
    assert "house-style.json" in part.link.value
    part.file.value = sent('{"kitchen": "au", "decimal": ",", "rounding": "tenths"}')
    assert part.fields["kitchen"].value == "au" and "Saved" in start.status.value
    assert start.book.habits.rounding == "tenths"
    part.fields["decimal"].value = "."
    part.keep.click()
    for wrong, said in (("{", "is no JSON"), ("[1]", "holds no habits"), ('{"kitchen": "mars"}', "kitchen")):
        part.file.value = ()
        part.file.value = sent(wrong)
        assert said in start.alert.value and start.book.habits.kitchen == "au"
    part.file.value = ()
    data = memoryview(b"\xff\xfe")
    part.file.value = ({**sent("")[0], "content": data},)
    assert "no text file" in start.alert.value
    file = tmp_path / "mine.json"
    file.write_text(json.dumps({"paper": "letter"}), encoding="utf-8")
    assert load_style(file).paper == "letter"


def test_the_logbook_is_looked_after_with_a_bar(start: StartPanel, tmp_path: Path) -> None:
    care = start.care
    for press, said in (
        (care.copy, "compared with the logbook"),
        (care.look, "every record has the content"),
        (care.out, "tables (CSV)"),
    ):
        press.click()
        care.work.wait()
        assert said in start.status.value, said
        assert care.work.halt.disabled and not press.disabled
    (copy,) = tmp_path.glob("backup-*.sqlite")
    (folder,) = (path for path in tmp_path.glob("logbook-*") if path.is_dir())
    for again in (sl.open_logbook(copy), sl.Logbook.restore(folder, tmp_path / "again.sqlite")):
        assert again.all_batches() == start.book.all_batches()
        again.close()


def test_an_export_is_stopped_at_its_tables_and_leaves_nothing(start: StartPanel, tmp_path: Path) -> None:
    care, told = start.care, []

    def press(change: dict[str, str]) -> None:
        told.append(change["new"])
        if "dishes as tables" in change["new"]:
            care.work.halt.click()

    care.work.done.observe(press, "value")
    care.out.click()
    care.work.wait()
    assert "Stopped; nothing was written out" in start.status.value and "tables" in "".join(told)
    assert not [each for each in tmp_path.iterdir() if "logbook-" in each.name] and not care.out.disabled
    care.work.done.unobserve(press, "value")
    care.out.click()
    care.work.wait()
    assert "Written to the folder" in start.status.value


def test_a_stop_is_heard_while_it_works(start: StartPanel, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go_on = threading.Event(), threading.Event()
    whole = module.backup

    def slow(where, target, told):
        begun.set()
        assert go_on.wait(30)
        return whole(where, target, told)

    monkeypatch.setattr(module, "backup", slow)
    start.care.copy.click()
    assert begun.wait(30) and start.care.work.busy and start.care.out.disabled
    start.care.work.halt.click()
    go_on.set()
    start.care.work.wait()
    assert "Stopped; no backup was made" in start.status.value
    assert not list(tmp_path.glob("backup-*")) and not start.care.out.disabled


def test_the_next_notebook_begins_with_the_dish_one_works_on(start: StartPanel) -> None:
    book = start.book
    assert DosePanel(book).title.value == book.titles()[0]
    assert f'data-dish="{GRAVY}"' in start.overview.value and 'href="2_set_the_thickness.ipynb"' in start.overview.value
    start.went_to(GRAVY)
    assert DosePanel(book).title.value == CardPanel(book).title.value == GRAVY
    panel = ComparePanel(book)
    panel.title.value = book.titles()[2]
    assert DosePanel(book).title.value == book.titles()[2]
    start.went_to("<script>")  # nothing that is no dish
    assert DosePanel(book).title.value == book.titles()[2]


def test_a_link_is_harmless_whatever_the_dish_is_called() -> None:
    made = link("1_at_the_stove", "<b>", "\"'><script>")
    assert "<script>" not in made and "<b>" not in made and made.count("<a ") == 1


def test_cards_of_all_dishes_are_written_with_a_bar(
    demo: sl.Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    panel = CardPanel(demo)
    panel.folder.value = "out"
    panel.all_cards.click()
    panel.work.wait()
    assert "30 files written to the folder out" in panel.status.value
    assert len(list((tmp_path / "out").iterdir())) == 30
    (tmp_path / "file").write_text("x")
    panel.folder.value = "file"
    panel.all_cards.click()
    panel.work.wait()
    assert "could not be written" in panel.alert.value and not panel.all_cards.disabled
    panel.close_all()
    w.Widget.close_all()


def test_a_figure_is_taken_along_as_png_svg_and_words(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    box = panel.figure
    assert box.value.startswith('<div class="sl-place">') and box.take.layout.display == "" and box.files.value == ""
    box.take.click()
    png, svg = re.findall(r'download="([^"]+)" href="data:([^;]+);base64,([^"]+)"', box.files.value)
    assert (png[:2], svg[:2]) == (("dose-curve.png", "image/png"), ("dose-curve.svg", "image/svg+xml"))
    assert base64.b64decode(png[2]).startswith(b"\x89PNG") and b"<svg" in base64.b64decode(svg[2])[:600]
    assert "In words: Dose curve of" in box.files.value
    panel.title.value = GRAVY
    assert box.files.value == "", "an old figure's files do not stand under a new figure"


def test_what_leaves_the_kitchen_carries_its_day(
    demo: sl.Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    panel = CardPanel(demo)
    today = date.today().isoformat()
    assert today not in panel.preview.value
    panel.hand_over.click()
    assert f"printed {today}" in (tmp_path / "cards" / "roast-parsnip-and-pear-soup.txt").read_text(encoding="utf-8")
    assert "no photo" in panel.links.value
    panel.close_all()


def test_what_was_saved_is_said_with_its_aim(demo: sl.Logbook) -> None:
    form = StartPanel(demo)
    form.paste.value = "Leek gravy\n1 l chicken stock\n30 g corn starch\n\n1. Simmer 5 min."
    form.thick.value = "pouring custard"
    form.save.click()
    shown = sl.RecipeCard.from_logbook(demo, "Leek gravy").dish.wanted
    assert f"Saved Leek gravy, version 1: 30.0 g/L; it should show {shown}." in form.status.value
    form.paste.value = "Rice pot\n1 l milk\n80 g pudding rice\n\n1. Simmer 40 min."
    form.save.click()
    assert "Saved Rice pot, version 1: no thickener; no aim is set." in form.status.value


def test_one_pot_is_no_pots(demo: sl.Logbook) -> None:
    title = demo.save(
        sl.Recipe(title="Gravy", ingredients=["1 l stock", "30 g corn starch"], target={"viscosity_pa_s": 1})
    ).title
    read = {"tool": "spatula", "values": (3.1,), "temperature_c": 60, "settings": flow.usual_settings("spatula")}
    demo.record(sl.Batch(title=title, version=1, cooked_on="2026-01-08", readings=[read]))
    said = StartPanel(demo).overview.value + demo.dish(title).text
    assert (
        "1 of the last 1 pot" not in said.replace("the last 1 pot inside", "")
        and "1 pots" not in said
        and "1 of 1 pot counts" in said
    )
