"""The kitchen's own measures: weigh a spoonful, a trimming, a pan, and keep it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.measures.errors import AmountError, KitchenError
from spoonline.recipes import Kept, OwnSpoon, OwnTrim, Pan
from spoonline.widgets.parts.panel import Line, button, choice, heading, table, text_field
from spoonline.widgets.parts.typed import figure, figures

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


class OwnPart(w.VBox):
    """Weigh it once, and it rules over every table.

    Parameters
    ----------
    book : Logbook
    done : callable
        Told what was kept or taken back, in one sentence.
    guard : callable
        Wraps what a button does, so that a wrong input is said in the form.
    """

    def __init__(self, book: Logbook, done: Callable[[str], Any], guard: Callable[[Callable[[], Any]], Any]) -> None:
        self.book, self._done = book, done
        self.item = text_field("What is spooned or trimmed", "", "corn starch")
        self.measure = text_field("One measure of it", "", "1 heaped tbsp, a splash")
        self.masses = text_field("Weigh five single ones, g", "", "12; 15; 11; 9; 13")
        self.said = Line("status", "sl-said")
        self.whole = text_field("Before trimming, whole, g", "", "800")
        self.trimmed = text_field("Once trimmed, g", "", "660")
        self.pan = text_field("A pan, jug or tin", "", "28 cm pot")
        self.tare = text_field("Pan empty, without lid, g", "", "2150")
        self.wide = text_field("Pan inside, cm (28, or 20 x 30)", "", "28")
        self.deep = text_field("Pan inner depth, cm", "", "18")
        self.mine = w.HTML()
        self.which = choice("Take back", [("nothing", "")], "")
        self.back = button("Take it back", lambda _b: guard(self._take_back))
        super().__init__(
            [
                heading("Weigh your own spoon, trimming or pan"), self.item, self.measure, self.masses, self.said,
                button("Keep this spoon", lambda _b: guard(self._keep_spoon)),
                self.whole, self.trimmed, button("Keep this trimming", lambda _b: guard(self._keep_trim)),
                self.pan, self.tare, self.wide, self.deep, button("Keep this pan", lambda _b: guard(self._keep_pan)),
                self.mine, self.which, self.back,
            ]
        )  # fmt: skip
        for field in (self.item, self.measure, self.masses):
            field.observe(self._say, "value")
        self.show()

    def _spoon(self) -> OwnSpoon:
        return OwnSpoon(
            item=self.item.value, measure=self.measure.value, masses_g=figures(self.masses.value, "Weighings", "g")
        )

    def _say(self, _change: Any = None) -> None:
        if not (self.item.value and self.measure.value and self.masses.value):
            self.said.say("")
            return
        try:
            spoon = self._spoon()
            self.said.say(f"= {spoon.text}. {spoon.spoon}.")
        except KitchenError as err:
            self.said.wrong(str(err))

    def _keep_spoon(self) -> None:
        if not self.masses.value.strip():
            raise AmountError("No weighing came; weigh five single spoonfuls and type them, such as 12; 15; 11; 9; 13.")
        self._keep(self._spoon(), self.masses)

    def _keep_trim(self) -> None:
        whole, trimmed = figure(self.whole.value, "Whole", "g"), figure(self.trimmed.value, "Trimmed", "g")
        if whole is None or trimmed is None:
            raise AmountError("Type both masses: whole, and once trimmed, in g.")
        self._keep(OwnTrim(item=self.item.value, whole_g=whole, trimmed_g=trimmed), self.whole, self.trimmed)

    def _keep_pan(self) -> None:
        size: dict[str, float | None] = {}
        if "x" in self.wide.value.lower():
            length, _, width = self.wide.value.lower().partition("x")
            size = {"length_cm": figure(length, "Length", "cm"), "width_cm": figure(width, "Width", "cm")}
        else:
            size = {"diameter_cm": figure(self.wide.value, "Diameter", "cm")}
        pan = Pan(
            name=self.pan.value, tare_g=figure(self.tare.value, "Empty", "g"), depth_cm=figure(self.deep.value, "Depth", "cm"), **size
        )  # fmt: skip
        self._keep(pan, self.pan, self.tare, self.wide, self.deep)

    def _keep(self, record: Kept, *fields: w.Text) -> None:
        kept = self.book.keep(record)
        for field in fields:
            field.value = ""
        self.show()
        self._done(f"Kept: {describe(kept)}. It rules over the tables from now on.")

    def _take_back(self) -> None:
        record = next((each for each in self.records() if each.id == self.which.value), None)
        if record is None:
            raise AmountError("Nothing is chosen; choose what to take back in the list above.")
        self.book.take_back(record)
        self.show()
        self._done(f"Taken back: {describe(record)}. The table counts again; the logbook keeps the weighing.")

    def records(self) -> list[Kept]:
        """Everything of the kitchen's own, as it stands."""
        return [each for kind in (OwnSpoon, OwnTrim, Pan) for each in self.book.kept(kind)]

    def show(self) -> None:
        """Show what is kept."""
        records = self.records()
        rows = [[each.kind, describe(each)] for each in records]
        for part in (self.which, self.back):
            part.layout.display = "" if records else "none"
        self.mine.value = table([("Kind", False), ("Your own", False)], rows, "Kept in this logbook") if rows else ""
        self.which.options = [("nothing", ""), *[(describe(each)[:60], each.id) for each in records]]
        self.which.value = ""


def describe(record: Kept) -> str:
    """One kept thing in words."""
    if isinstance(record, OwnSpoon):
        return f"{record.item}, {record.text}"
    if isinstance(record, OwnTrim):
        return f"{record.item}: {100 * record.left:.0f} % left of {record.whole_g} g"
    assert isinstance(record, Pan)
    sizes = [
        f"{record.tare_g} g empty" if record.tare_g is not None else "",
        f"{record.diameter_cm} cm wide" if record.diameter_cm is not None else "",
        f"{record.length_cm} x {record.width_cm} cm" if record.length_cm is not None else "",
        f"{record.depth_cm} cm deep" if record.depth_cm is not None else "",
    ]
    return f"{record.name} ({', '.join(each for each in sizes if each) or 'no size yet'})"
