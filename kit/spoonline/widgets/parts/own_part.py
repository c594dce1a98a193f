"""The kitchen's own measures: weigh a spoonful, a trimming, a pan, and keep it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.measures.errors import AmountError
from spoonline.recipes import Kept, OwnSpoon, OwnTrim, Pan
from spoonline.widgets.parts.fields import appear, choice, heading, text_field
from spoonline.widgets.parts.markup import frame_table
from spoonline.widgets.parts.panel import Message, Panel
from spoonline.widgets.parts.typed import figure, figures

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


class OwnPart(w.VBox):
    """Weigh a spoonful, a trimming or a pan once; from then on that figure is used and no table's.

    Parameters
    ----------
    book : Logbook
    panel : Panel
        The form that says what is wrong.
    done : callable
        Told what was saved or taken back, in one sentence.
    """

    def __init__(self, book: Logbook, panel: Panel, done: Callable[[str], Any]) -> None:
        self.book, self._done = book, done
        self.item = text_field("What is spooned or trimmed", "", "corn starch")
        self.measure = text_field("One measure of it", "", "1 heaped tbsp, a splash")
        self.masses = text_field("Weights of five of them, g", "", "12; 15; 11; 9; 13")
        self.message = Message("status", "sl-note")
        self.whole = text_field("Before trimming, whole, g", "", "800")
        self.trimmed = text_field("After trimming, g", "", "660")
        self.pan = text_field("A pan, jug or tin", "", "28 cm pot")
        self.tare = text_field("Pan empty, without lid, g", "", "2150")
        self.wide = text_field("Pan inside, cm (28, or 20 x 30)", "", "28")
        self.deep = text_field("Pan inner depth, cm", "", "18")
        self.mine = w.HTML()
        self.which = choice("Take back", [("nothing", "")], "")
        self.back = panel.button("Take it back", self._take_back)
        super().__init__(
            [
                heading("Weigh your own spoon, trimming or pan"), self.item, self.measure, self.masses, self.message,
                panel.button("Save this spoon", self.keep_spoon),
                self.whole, self.trimmed, panel.button("Save this trimming", self.keep_trim),
                self.pan, self.tare, self.wide, self.deep, panel.button("Save this pan", self.keep_pan),
                self.mine, self.which, self.back,
            ]
        )  # fmt: skip
        panel.watch(lambda: self.message.tell(self._spoon_words), self.item, self.measure, self.masses)
        self.show()

    def _spoon(self) -> OwnSpoon:
        masses = figures(self.masses.value, "Weighings", "g")
        return OwnSpoon(item=self.item.value, measure=self.measure.value, masses_g=masses)

    def _spoon_words(self) -> str:
        if not (self.item.value and self.measure.value and self.masses.value):
            return ""
        spoon = self._spoon()
        return f"= {spoon.text}. {spoon.spoon}."

    def keep_spoon(self) -> None:
        """Save the spoon that was weighed."""
        if not self.masses.value.strip():
            raise AmountError(
                "The weights are missing; weigh five spoonfuls one by one and type them, such as 12; 15; 11; 9; 13."
            )
        self._keep(self._spoon(), self.masses)

    def keep_trim(self) -> None:
        """Save what trimming left."""
        whole, trimmed = figure(self.whole.value, "Whole", "g"), figure(self.trimmed.value, "Trimmed", "g")
        if whole is None or trimmed is None:
            raise AmountError("Type both weights in g: before trimming, and after.")
        self._keep(OwnTrim(item=self.item.value, whole_g=whole, trimmed_g=trimmed), self.whole, self.trimmed)

    def keep_pan(self) -> None:
        """Save the pan that was measured: one figure inside is a diameter, two are length and width."""
        inside = figures(self.wide.value.lower().replace("x", " "), "Pan inside", "cm")
        if len(inside) > 2:
            raise AmountError(f"Pan inside: {self.wide.value!r} came; a diameter or length x width is wanted.")
        size = dict(zip(["diameter_cm"] if len(inside) == 1 else ["length_cm", "width_cm"], inside, strict=False))
        tare, deep = figure(self.tare.value, "Empty", "g"), figure(self.deep.value, "Depth", "cm")
        pan = Pan(name=self.pan.value, tare_g=tare, depth_cm=deep, **size)
        self._keep(pan, self.pan, self.tare, self.wide, self.deep)

    def _keep(self, record: Kept, *fields: w.Text) -> None:
        saved = self.book.keep(record)
        for field in fields:
            field.value = ""
        self.show()
        self._done(f"Saved: {describe(saved)}. From now on this is used instead of the table.")

    def _take_back(self) -> None:
        record = next((each for each in self.records() if each.id == self.which.value), None)
        if record is None:
            raise AmountError("Nothing is chosen; choose what to take back in the list above.")
        self.book.take_back(record)
        self.show()
        self._done(
            f"Taken back: {describe(record)}. The table is used again; the weighing stays in the history of the logbook."
        )

    def records(self) -> list[Kept]:
        """Everything of the kitchen's own, as it stands."""
        return [each for kind in (OwnSpoon, OwnTrim, Pan) for each in self.book.kept(kind)]

    def show(self) -> None:
        """Show what was weighed."""
        records = self.records()
        for part in (self.which, self.back):
            appear(part, records)
        rows = [{"Kind": each.kind, "What you weighed": describe(each)} for each in records]
        self.mine.value = frame_table(rows, "Your own, in this logbook")
        self.which.options = [("nothing", ""), *[(describe(each)[:60], each.id) for each in records]]
        self.which.value = ""


def describe(record: Kept) -> str:
    """One thing that was weighed, in words."""
    if isinstance(record, OwnSpoon):
        return f"{record.item}, {record.text}"
    if isinstance(record, OwnTrim):
        return f"{record.item}: {100 * record.left:.0f} % left of {record.whole_g} g"
    assert isinstance(record, Pan)
    sizes = {"{} g empty": [record.tare_g], "{} cm wide": [record.diameter_cm], "{} x {} cm": [record.length_cm, record.width_cm],
             "{} cm deep": [record.depth_cm]}  # fmt: skip
    known = [words.format(*size) for words, size in sizes.items() if None not in size]
    return f"{record.name} ({', '.join(known) or 'no size yet'})"
