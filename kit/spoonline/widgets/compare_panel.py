"""Notebook 3: what changed between two versions, and what did it do?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.recipes import Version, changes
from spoonline.trials import batch_thickness, compare_pots
from spoonline.widgets.panel import Line, Panel, choice, escaped, fill_versions, heading, shown, table

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


class ComparePanel(Panel):
    """Two versions side by side: the recipe, then the pots."""

    purpose = "the panel that compares two versions"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self._busy = False
        titles = book.titles()
        self.answer = Line("status", "sl-answer")
        self.title = choice("Recipe", titles)
        self.old = choice("From version", [])
        self.new = choice("To version", [])
        self.recipe_changes = w.HTML()
        self.pots = w.HTML()
        super().__init__(
            [self.answer, self.title, self.old, self.new, heading("What changed in the recipe"), self.recipe_changes,
             heading("What the pots did"), self.pots]
        )  # fmt: skip
        self.title.observe(self._title_changed, "value")
        self.old.observe(self._show, "value")
        self.new.observe(self._show, "value")
        if titles:
            self._title_changed()
        else:
            self.say_wrong("This logbook holds no recipe yet; save one in notebook 0 first.")

    @shown
    def _title_changed(self, _change: Any = None) -> None:
        versions = self.book.all_versions(self.title.value)
        self._busy = True
        for field, start in ((self.old, versions[max(len(versions) - 2, 0)]), (self.new, versions[-1])):
            fill_versions(field, versions, start.number)
        self._busy = False
        self._show()

    @shown
    def _show(self, _change: Any = None) -> None:
        if self._busy or self.old.value is None or self.new.value is None:
            return
        old, new = (self.book.version(self.title.value, field.value) for field in (self.old, self.new))
        found = changes(old.recipe, new.recipe)
        self.recipe_changes.value = found._repr_html_()
        groups = [self._viscosities(version, new) for version in (old, new)]
        comparison = compare_pots([value for _, value in groups[0]], [value for _, value in groups[1]])
        invented = " <b>Invented data.</b>" if new.recipe.invented else ""
        self.answer.say(f"{found.text} Pots: {comparison.text}", markup=invented)
        rows = [
            (batch, version.number, f"{value:.2g}")
            for version, group in zip((old, new), groups, strict=True)
            for batch, value in group
        ]
        aim = new.recipe.target
        at = f" at {aim.shear_rate_per_s} 1/s and {aim.temperature_c} C" if aim else " at 1 1/s and 60 C"
        self.pots.value = f"<p class='sl-said'>{escaped(comparison.text)}</p>" + table(
            [("Batch", True), ("Version", True), ("Viscosity, Pa s", True)], rows, f"Pots that were read{at}"
        )

    def _viscosities(self, version: Version, as_in: Version) -> list[tuple[int, float]]:
        """Viscosity of each pot of a version [Pa s], all at the conditions of one target so that they can be compared."""
        found = []
        for batch in self.book.all_batches(self.title.value):
            thickness = (
                batch_thickness(batch, as_in.recipe.target)
                if batch.version == version.number and not batch.left_out
                else None
            )
            if thickness is not None:
                found.append((batch.number, thickness.viscosity_pa_s))
        return found
