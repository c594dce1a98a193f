"""Notebook 0, last parts: how this kitchen writes, and looking after its logbook."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as w

from spoonline.card import style_from, style_text
from spoonline.logbook.care import Checked, backup, check
from spoonline.measures.errors import RecipeError
from spoonline.measures.local import write_decimals_with
from spoonline.recipes import Habits
from spoonline.widgets.parts.drafts import put_back, values_of
from spoonline.widgets.parts.fields import choice, file_field, heading
from spoonline.widgets.parts.here import SIZES, SYSTEMS
from spoonline.widgets.parts.markup import download
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.work import LongWork

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

# Label and choices of each habit that a cook may change; the fields are those of the record.
ASKED: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "kitchen": ("Spoons and cups", SYSTEMS),
    "names": ("Names on the card", [("as written", ""), ("US", "us"), ("UK", "uk")]),
    "decimal": ("Decimal mark", [("point, 1.5", "."), ("comma, 1,5", ",")]),
    "first_degrees": ("Degrees written first", [("C", "C"), ("F", "F")]),
    "rounding": ("Grams on the card", [("rounded by size", "usual"), ("to a tenth", "tenths")]),
    "paper": ("Paper of the cards", SIZES),
}


class HabitsPart(w.VBox):
    """How this kitchen writes; saved in the logbook, and as a file to pass on."""

    def __init__(self, book: Logbook, panel: Panel) -> None:
        self.book, self._panel = book, panel
        now = book.habits
        self.fields = {name: choice(label, among, getattr(now, name)) for name, (label, among) in ASKED.items()}
        self.keep = panel.button("Save these habits", self._keep)
        self.file = file_field("Read a house style from a file", ".json")
        panel.watch(self._take, self.file)
        self.link = w.HTML()
        self._offer(now)
        super().__init__([heading("How this kitchen writes"), *self.fields.values(), self.keep, self.link, self.file])

    def _offer(self, habits: Habits) -> None:
        label = "Download this house style (a file to change or pass on)"
        self.link.value = download("house-style.json", "application/json", style_text(habits), label)

    def _keep(self) -> None:
        self._use(self.book.habits.model_copy(update=values_of(self.fields)))

    def _take(self) -> None:
        if not self.file.value:
            return
        sent = self.file.value[0]
        try:
            text = bytes(sent["content"]).decode("utf-8")
        except UnicodeDecodeError as err:
            raise RecipeError(f"{sent['name']!r} is no text file; give the JSON file of a house style.") from err
        habits = style_from(text, sent["name"])
        put_back(lambda: self.fields, {name: getattr(habits, name) for name in self.fields})
        self._use(habits)

    def _use(self, habits: Habits) -> None:
        saved = self.book.keep(Habits(**habits.model_dump(exclude={"id", "recorded_at"})))
        write_decimals_with(saved.decimal)
        self._offer(saved)
        self._panel.say("Saved. Forms and cards are written this way from now on; run the cell again to see it here.")


class CarePart(w.VBox):
    """Copy the logbook, look through it, write it out as tables; each with a bar and a Stop."""

    def __init__(self, book: Logbook, panel: Panel) -> None:
        self.book, self._panel = book, panel
        self.copy = panel.button("Back this logbook up", self._copy)
        self.look = panel.button("Check every record", self._look)
        self.out = panel.button("Export everything as tables", self._out)
        self.work = LongWork(panel, self.copy, self.look, self.out)
        super().__init__([heading("Looking after the logbook"), w.HBox([self.copy, self.look, self.out]), self.work])

    def _copy(self) -> None:
        target = Path(f"backup-{_stamp()}.sqlite")
        self.work.start(
            lambda told: backup(self.book.where, target, told),
            lambda made: self._panel.say(f"{made.name} holds the same records; it was compared with the logbook."),
            "Stopped; no backup was made, and the logbook is as it was.",
        )

    def _look(self) -> None:
        def done(found: Checked) -> None:
            (self._panel.say_wrong if found.faults else self._panel.say)(found.text)

        self.work.start(lambda told: check(self.book, told), done, "Stopped before the end; nothing was changed.")

    def _out(self) -> None:
        folder = Path(f"logbook-{_stamp()}")
        words = f"Written to the folder {folder.name}: tables (CSV), and the files to restore it from."
        self.work.start(
            lambda told: self.book.export(folder, progress=told),
            lambda _made: self._panel.say(words),
            f"Stopped; the folder {folder.name} is not complete, so throw it away.",
        )


def _stamp() -> str:
    return datetime.now().strftime("%Y-%m-%d-%H%M%S")
