"""Another thickener for the dose that is chosen, and the pots that a curve rests on: two folds of notebook 2."""

from collections.abc import Callable
from typing import Any

import ipywidgets as w

from spoonline import facts
from spoonline.dish import Dish
from spoonline.dose import DishCurve, swap
from spoonline.recipes import Recipe
from spoonline.widgets.parts.batch_table import pots_html
from spoonline.widgets.parts.fields import FORMS, Message, appear, blank, declared, fill, laid_out
from spoonline.widgets.parts.markup import bullets, frame_table, notes
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import said

POTS = FORMS["the pots it rests on"]["columns"]


class OtherStarch(w.VBox):
    """What another thickener would mean for a dose.

    Parameters
    ----------
    panel : Panel
    keep : callable
        Given the recipe with the other thickener, and the note of its version.
    """

    def __init__(self, panel: Panel, keep: Callable[[Recipe, str], Any]) -> None:
        self._keep, self._dose = keep, 0.0
        self._curve: DishCurve | None = None
        declared(self, "another thickener")
        fill(self.name, facts.rows.thickeners())
        self.answer = Message("status")
        self.save = panel.button("Save with this thickener as the next version", self._save)
        super().__init__(laid_out(self, "other starch"))
        panel.watch(self._show, self.name)

    def show(self, curve: DishCurve | None, dose_g_per_l: float) -> None:
        """Show it for this dose [g/L]; without a curve, nothing."""
        self._curve, self._dose = curve, dose_g_per_l
        self._show()

    def _show(self) -> None:
        blank(self.answer, self.working)
        appear(False, self.save)
        if self._curve is None or not self.name.value:
            return
        found = swap(self._curve, self.name.value, self._dose)
        grams = f"{self._curve.grams(found.dose.best):.3g} g in {self._curve.liquid_l:.3g} L"
        self.answer.say(f"{found.text} That is {grams}.")
        traits = [dict(zip(("What changes", found.old, found.new), each, strict=True)) for each in found.traits]
        others = found.trade_text()
        trade = notes([said("equivalents" if others else "no equivalent")]) + bullets(others)
        self.working.value = frame_table(traits, "As handbooks say") + trade + notes(found.notes)
        appear(True, self.save)

    def _save(self) -> None:
        if self._curve is not None:
            found = swap(self._curve, self.name.value, self._dose)
            self._keep(self._curve.with_dose(found.dose.best, found.new), f"{found.new} instead of {found.old}")


class RestsOn(w.VBox):
    """The pots of a curve; one of them can be left out with its reason, and counted again."""

    def __init__(self, panel: Panel, again: Callable[[], Any]) -> None:
        self._panel, self._again = panel, again
        self._dish: Dish | None = None
        declared(self, "a pot that does not count")
        self.leave = panel.button("Leave this pot out", self._leave_out)
        self.count = panel.button("Count this pot again", lambda: self._correct("", "counts again"))
        super().__init__(laid_out(self, "rests on"))

    def show(self, dish: Dish | None) -> None:
        """Show the pots of a dish's curve; without one, none."""
        self._dish, self.pots.value = dish, ""
        curve = dish.curve if dish else None
        found = curve.pots if curve else ()
        self.pot.options = [("none", 0), *((f"batch {each.batch.number}", each.batch.number) for each in found)]
        if dish and curve:
            loss = f"the same starch to water when {100 * curve.loss:.0f} % evaporates, as usual here."
            on_curve = dish.table[dish.table["curve_dose_g_per_l"].notna()]
            caption = f"Dose on the curve: the dose that gives {loss}"
            none = notes([said("no pot on the curve", dosed=curve.dosed)])
            self.pots.value = pots_html(on_curve, POTS, caption) or none

    def _leave_out(self) -> None:
        reason = self.reason.value.strip()
        said.refuse(not reason, "no reason to leave out")
        self._correct(reason, "is left out here, on the card and in every comparison; the logbook keeps it")
        self.reason.value = ""

    def _correct(self, left_out: str, now: str) -> None:
        """Keep in the logbook whether the chosen pot counts, and why not."""
        batches = [each for each in self._dish.batches if each.number == self.pot.value] if self._dish else []
        said.refuse(not batches, "no pot chosen")
        self._panel.book.correct(batches[0], left_out=left_out)
        self._again()
        self._panel.say(f"Batch {batches[0].number} {now}.")
