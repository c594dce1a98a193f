"""Notebook 3: what changed between two versions, what did it do, can anyone tell?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.card import Decision, decide, file_name
from spoonline.dose import steadiness
from spoonline.figures import steady_figure, tree_figure
from spoonline.pots import batch_thickness
from spoonline.recipes import Version, three_way
from spoonline.tasters import Session, session_sentence
from spoonline.widgets.parts.here import dish_choice
from spoonline.widgets.parts.panel import Line, Panel, choice, download, fill_versions, heading, said, shown, table

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

BASES = [("a litre of liquid", "litre"), ("100 g finished", "finished"), ("the flour", "flour")]


class ComparePanel(Panel):
    """Two versions: the recipe, the pots, the tasters; then the page and the sentence for the card."""

    purpose = "the panel that compares two versions"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self._busy = False
        self.decision: Decision | None = None
        self.answer = Line("status", "sl-answer")
        self.title = dish_choice(book)
        self.old = choice("From version", [])
        self.new = choice("To version", [])
        self.per = choice("Amounts per", BASES, "litre")
        self.tree = w.HTML()
        self.recipe_changes = w.HTML()
        self.parent = choice("Both against", [])
        self.three = w.HTML()
        self.pots = w.HTML()
        self.steady = w.HTML()
        self.tasters = w.HTML()
        self.card = Line("", "")
        self.page = w.HTML()
        super().__init__(
            [self.answer, self.title, self.old, self.new, heading("1. What changed in the recipe"), self.per, self.recipe_changes,
             self.tree, self.parent, self.three, heading("2. What the pots did"), self.pots, self.steady,
             heading("3. Can anyone tell?"), self.tasters, heading("For the card"), self.card, self.page]
        )  # fmt: skip
        self.title.observe(self._title_changed, "value")
        for field in (self.old, self.new, self.per):
            field.observe(self._show, "value")
        self.parent.observe(self._show_three, "value")
        self.begin(self.title, self._title_changed)

    @shown
    def _title_changed(self, _change: Any = None) -> None:
        versions = self.book.all_versions(self.title.value)
        self._busy = True
        for field, start in ((self.old, versions[max(len(versions) - 2, 0)]), (self.new, versions[-1])):
            fill_versions(field, versions, start.number)
        self.parent.options = [("no third version", 0), *[(f"version {each.number}", each.number) for each in versions]]
        self.parent.value = 0
        self._busy = False
        self._show()

    @shown
    def _show(self, _change: Any = None) -> None:
        if self._busy or self.old.value is None or self.new.value is None:
            return
        versions = {each.number: each for each in self.book.all_versions(self.title.value)}
        old, new = versions[self.old.value], versions[self.new.value]
        recipes = {number: each.recipe for number, each in versions.items()}
        batches = [batch for batch in self.book.all_batches(self.title.value) if batch.version in versions]
        self.decision = found = decide(
            old, new, batches, recipes, tasters=self._sessions(old, new), history=self._history(), per=self.per.value
        )
        invented = " <b>Invented data.</b>" if new.recipe.invented else ""
        self.answer.say(f"{found.changed.text} Pots: {found.comparison.text}", markup=invented)
        self.recipe_changes.value = found.changed._repr_html_()
        doses = {number: f"{each.recipe.dose_g_per_l:.1f} g/L" for number, each in versions.items()}
        self.tree.value = tree_figure(list(versions.values()), doses, [old.number, new.number])._repr_html_()
        rows = [(pot.batch, pot.version, pot.day, pot.dose, pot.viscosity, pot.place) for pot in found.pots]
        heads = [("Batch", True), ("Version", True), ("Cooked on", False), ("Dose, g/L", True), ("Viscosity, Pa s (90 %)", True),
                 ("Against the band", False)]  # fmt: skip
        aim = new.recipe.target
        at = f" at {aim.shear_rate_per_s} 1/s and {aim.temperature_c} C" if aim else " at 1 1/s and 60 C"
        odd = "".join(f"<div class='sl-said'>{said(each.text)}</div>" for each in found.odd)
        self.pots.value = (
            f"<p>{said(found.comparison.text)}</p>" + table(heads, rows, f"Pots that were read{at}") + odd
            + f"<div class='sl-said'>{said(found.spread.text)}</div>"
        )  # fmt: skip
        steady = steadiness(batches, aim)
        drawn = steady_figure(steady)._repr_html_() if len(steady.ratios) >= 4 else ""
        self.steady.value = f"{drawn}<div class='sl-said'>{said(steady.text)}</div>"
        self.tasters.value = (
            "".join(f"<p>{said(each)}</p>" for each in found.tasters)
            or "<p class='sl-said'>No tasting of these two yet; plan one in notebook 7.</p>"
        )
        self.card.say(found.sentence)
        self.page.value = download(
            f"{file_name(self.title.value)}-{old.number}-{new.number}.html",
            "text/html",
            found.html(),
            "Download the decision page",
        )
        self.say("")

    @shown
    def _show_three(self, _change: Any = None) -> None:
        if self._busy or not self.parent.value:
            self.three.value = ""
            return
        parent, old, new = (
            self.book.recipe(self.title.value, field.value) for field in (self.parent, self.old, self.new)
        )
        found = three_way(parent, old, new, self.per.value)
        heads = [("What", False), (f"Version {self.parent.value}", False), (f"Version {self.old.value}", False),
                 (f"Version {self.new.value}", False), ("Changed by", False)]  # fmt: skip
        names = {"only the first": f"version {self.old.value}", "only the second": f"version {self.new.value}"}
        rows = [(*row[:4], names.get(row[4], row[4])) for row in found.rows]
        self.three.value = table(heads, rows, f"Two versions against version {self.parent.value}")

    def _sessions(self, old: Version, new: Version) -> list[str]:
        """What tasting sessions said of these two versions."""
        both = {old.number, new.number}
        return [
            session_sentence(session)
            for session in self.book.kept(Session, self.title.value)
            if both <= {sample.version for sample in session.samples}
        ]

    def _history(self) -> list[list[float]]:
        """Repeated pots of the cook's other dishes, each at its own target."""
        groups: dict[tuple[str, int], list[float]] = {}
        for title in self.book.titles():
            if title == self.title.value:
                continue
            target = self.book.recipe(title).target
            for batch in self.book.all_batches(title):
                thickness = None if batch.left_out else batch_thickness(batch, target)
                if thickness is not None:
                    groups.setdefault((title, batch.version), []).append(thickness.viscosity_pa_s)
        return list(groups.values())
