"""A logbook that somebody else wrote: hostile text in every field of every record, and records that are damaged, on every form and face."""

from __future__ import annotations

import html
import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import ipywidgets as w
import pytest

import spoonline as sl
from poisoned import ELSEWHERE, HOSTILE, OLD, poison
from spoonline import widgets
from spoonline.card import RecipeCard
from spoonline.logbook.rows import seal_of
from spoonline.widgets.parts.batch_table import photos_html
from spoonline.widgets.parts.markup import tag
from spoonline.widgets.parts.panel import LOOK
from tiers import again_in_long, examples

PANELS = [
    widgets.StartPanel, widgets.StovePanel, widgets.DosePanel, widgets.ComparePanel, widgets.CardPanel, widgets.IngredientsPanel,
    widgets.TastersPanel, widgets.MakeAheadPanel, widgets.PlanPanel, widgets.ImportPanel,
]  # fmt: skip


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A logbook with one of every kind of record, closed."""
    path = tmp_path / "kitchen.sqlite"
    sl.Logbook.restore(OLD, path).close()
    return path


class Live(HTMLParser):
    """What a page would run: scripts, handlers, addresses that are code, frames."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("script", "iframe", "object", "embed", "base", "form"):
            self.found.append(tag)
        for name, value in attrs:
            address = "".join((value or "").split()).lower()
            if name.startswith("on") or (
                name in ("href", "src", "action", "xlink:href") and address.startswith("javascript:")
            ):
                self.found.append(f"{tag} {name}")
            if tag == "img" and not address.startswith("data:image/") and name == "src":
                self.found.append(f"img {address[:40]}")


def markup_in(widget: w.Widget) -> Iterator[str]:
    """All markup that a form shows."""
    if isinstance(widget, (w.HTML, w.HTMLMath)):
        yield widget.value
    assert not getattr(widget, "description_allow_html", False)
    for child in getattr(widget, "children", ()):
        yield from markup_in(child)


def choices_in(widget: w.Widget) -> Iterator[w.Dropdown]:
    if isinstance(widget, w.Dropdown):
        yield widget
    for child in getattr(widget, "children", ()):
        yield from choices_in(child)


def walked(book: sl.Logbook, kind: Any, most: int) -> Iterator[str]:
    """The markup of a form with so many of the first choices of each of its lists; all in chromium: experiments/lab_poison.py."""
    panel = kind(book)
    yield from markup_in(panel)
    for field in list(choices_in(panel)):
        for at in (1, 0, 2)[:most]:
            if at < len(field.options):
                field.index = at
                yield from markup_in(panel)
    panel.close_all()


def test_the_check_itself_can_fail() -> None:
    assert Live(HOSTILE).found == ["script", "img x", "img onerror", "a href", f"img {ELSEWHERE}/i", "img onerror"]
    assert Live(tag("p", HOSTILE, title=HOSTILE)).found == []


@again_in_long
def test_hostile_text_in_every_field_of_every_record_stays_text(old: Path) -> None:
    """By way of the database: each field that this release still reads with it, sealed as if it had been kept so."""
    assert poison(old) > 600
    with closing(sl.open_logbook(old)) as book:
        assert book.damaged() == []
        seen = 0
        for kind in PANELS:
            for markup in walked(book, kind, examples(3, 1)):
                assert "Traceback" not in markup, (kind, markup[-3000:])
                live = [each for each in Live(markup.replace(LOOK, "")).found if each != "iframe"]
                assert live == [], (kind, live)
                for frame in re.findall(r"<iframe[^>]* srcdoc=\"([^\"]*)\"", markup):
                    assert "sandbox" in markup and Live(html.unescape(frame)).found == ["script"], (
                        "its data for machines"
                    )
                seen += "window.ran" in markup
        assert seen > 50
        for title in book.titles():
            card = RecipeCard.from_logbook(book, title)
            assert Live(card.html()).found == ["script"]
            data = json.loads(card.json_ld())
            assert HOSTILE in data["name"]
            assert "<script>window" not in re.sub(r"\\(.)", "", card.html() + str(card.markdown()).replace("\\<", ""))
            assert Live(photos_html(book, title)).found == []


def test_a_kind_of_photo_that_is_none_is_set_apart(old: Path) -> None:
    """It would stand in an address; the pattern of the field holds for what is read back, too."""
    with closing(sqlite3.connect(old)) as raw:
        raw.row_factory = sqlite3.Row
        found = dict(raw.execute("select * from kept where kind = 'picture'").fetchone())
        found["body"] = found["body"].replace("image/png", "image/png;x' onerror='window.ran=1")
        found["seal"] = seal_of("kept", found)
        raw.execute("update kept set body = :body, seal = :seal where seq = :seq", found)
        raw.commit()
    with closing(sl.open_logbook(old)) as book:
        title = found["title"]
        assert book.pictures(title) == [] and photos_html(book, title) == ""


HARM = {
    "what belongs to no dish": (
        "update kept set body = substr(body, 1, 20) where seq % 2",
        "update kept set body = x'ff00ff' where not seq % 2",
        "insert into drafts values ('start', 'a', '2026-01-08T09:00:00Z', '{')",
        "insert into drafts values ('batch', 'a', '2026-01-08T09:00:00Z', '[1]')",
        """insert into drafts values ('batch', 'b', 'x', '{"title": [1], "before": 3}')""",
    ),
    "versions and pots": (
        "update versions set body = '{' where seq in (select max(seq) from versions group by title limit 2)",
        "update batches set body = '{'",
    ),
}


@again_in_long
@pytest.mark.parametrize("what", HARM)
def test_what_is_damaged_is_set_apart_and_said_and_every_form_goes_on(what: str, old: Path) -> None:
    with closing(sqlite3.connect(old)) as raw:
        for each in HARM[what]:
            raw.execute(each)
        raw.commit()
    with closing(sl.open_logbook(old)) as book:
        for kind in PANELS:
            for markup in walked(book, kind, examples(2, 1)):
                assert "Traceback" not in markup, (kind, markup[-3000:])
        start = widgets.StartPanel(book)
        assert "damaged and was set apart" in start.overview.value
        start.close_all()


@pytest.mark.parametrize(
    ("table", "old_word"),
    [("batches", '"stage":"hot"'), ("batches", '"tool":"spatula"'), ("versions", '"fate":"pours"')],
)
def test_a_word_that_only_a_later_release_knows_sets_its_record_apart(
    table: str, old_word: str, demo: sl.Logbook
) -> None:
    with demo.store.engine.begin() as connection:
        (row,) = connection.exec_driver_sql(
            f"select * from {table} where body like ? limit 1", (f"%{old_word}%",)
        ).mappings()
        new = dict(row) | {"body": row["body"].replace(old_word, old_word[:-1] + 'er"')}
        connection.exec_driver_sql(
            f"update {table} set body = ?, seal = ? where seq = ?", (new["body"], seal_of(table, new), row["seq"])
        )
    (said,) = demo.damaged()
    assert "was written by a newer release of spoonline and is kept as it is; update spoonline to see it." in said
