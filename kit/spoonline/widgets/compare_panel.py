"""Notebook 3: what changed between two versions, what did it do, can anyone tell?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.card import Decision, decide, file_name
from spoonline.dish import Dish
from spoonline.figures import tree_figure
from spoonline.pots.thickness import conditions
from spoonline.recipes import Version, three_way
from spoonline.tasters import Session, session_sentence
from spoonline.widgets.parts.batch_table import pots_html
from spoonline.widgets.parts.fields import choice, fill_versions, heading
from spoonline.widgets.parts.here import dish_choice
from spoonline.widgets.parts.markup import download, for_screen, table
from spoonline.widgets.parts.panel import Message, Panel, errors_on_screen

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

POTS = ["batch", "version", "cooked_on", "dose_g_per_l", "viscosity_pa_s", "band"]
BASES = [("a litre of liquid", "litre"), ("100 g finished", "finished"), ("the flour", "flour")]


class ComparePanel(Panel):
    """Two versions: the recipe, the pots, the tasters; then the page and the sentence for the card."""

    purpose = "the panel that compares two versions"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self._busy = False
        self.dish: Dish | None = None
        self.decision: Decision | None = None
        self.answer = Message("status", "sl-answer")
        self.title = dish_choice(book)
        self.old = choice("From version", [])
        self.new = choice("To version", [])
        self.per = choice("Amounts per", BASES, "litre")
        self.parent = choice("Both against", [])
        self.recipe_changes, self.tree, self.three, self.pots = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self.tasters, self.card, self.page = w.HTML(), Message(), w.HTML()
        super().__init__(
            [self.answer, self.title, self.old, self.new, heading("1. What changed in the recipe"), self.per, self.recipe_changes,
             self.tree, self.parent, self.three, heading("2. What the pots did"), self.pots,
             heading("3. Can anyone tell?"), self.tasters, heading("For the card"), self.card, self.page]
        )  # fmt: skip
        self.title.observe(self._title_changed, "value")
        for field in (self.old, self.new, self.per):
            field.observe(self._show, "value")
        self.parent.observe(self._show_three, "value")
        self.begin(self.title, self._title_changed)

    @errors_on_screen
    def _title_changed(self, _change: Any = None) -> None:
        versions = self.book.all_versions(self.title.value)
        self._busy = True
        for field, start in ((self.old, versions[max(len(versions) - 2, 0)]), (self.new, versions[-1])):
            fill_versions(field, versions, start.number)
        self.parent.options = [("no third version", 0), *[(f"version {each.number}", each.number) for each in versions]]
        self.parent.value = 0
        self._busy = False
        self._show()

    @errors_on_screen
    def _show(self, _change: Any = None) -> None:
        if self._busy or self.old.value is None or self.new.value is None:
            return
        self.dish = dish = self.book.dish(self.title.value)
        versions = {each.number: each for each in dish.versions}
        old, new = versions[self.old.value], versions[self.new.value]
        self.decision = found = decide(
            dish, old, new, tasters=self._sessions(old, new), history=self._history(), per=self.per.value
        )
        invented = " <b>Invented data.</b>" if new.recipe.invented else ""
        self.answer.say(f"{found.changed.text} Pots: {found.comparison.text}", markup=invented)
        self.recipe_changes.value = found.changed._repr_html_()
        doses = {number: f"{each.recipe.dose_g_per_l:.1f} g/L" for number, each in versions.items()}
        self.tree.value = tree_figure(dish.versions, doses, [old.number, new.number])._repr_html_()
        celsius, rate = conditions(new.recipe.target)
        remarks = "".join(
            f"<div class='sl-note'>{for_screen(text)}</div>"
            for text in (*(odd.text for odd in found.odd), found.spread.text)
        )
        pots = pots_html(found.pots, POTS, f"Pots that were read, at {rate:g} 1/s and {celsius:g} C")
        self.pots.value = f"<p>{for_screen(found.comparison.text)}</p>{pots}{remarks}"
        none = "<p class='sl-note'>No tasting of these two yet; plan one in notebook 7.</p>"
        self.tasters.value = "".join(f"<p>{for_screen(each)}</p>" for each in found.tasters) or none
        self.card.say(found.sentence)
        name = f"{file_name(self.title.value)}-{old.number}-{new.number}.html"
        self.page.value = download(name, "text/html", found.html(), "Download the decision page")
        self.say("")

    @errors_on_screen
    def _show_three(self, _change: Any = None) -> None:
        if self._busy or self.dish is None or not self.parent.value:
            self.three.value = ""
            return
        numbers = (self.parent.value, self.old.value, self.new.value)
        one, two, three = (self.dish.recipes[number] for number in numbers)
        found = three_way(one, two, three, self.per.value)
        names = {"only the first": f"version {numbers[1]}", "only the second": f"version {numbers[2]}"}
        rows = [(*row[:4], names.get(row[4], row[4])) for row in found.rows]
        heads = ["What", *(f"Version {number}" for number in numbers), "Changed by"]
        self.three.value = table([(head, False) for head in heads], rows, f"Two versions against version {numbers[0]}")

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
        others = (self.book.dish(title) for title in self.book.titles() if title != self.title.value)
        return [group for dish in others for group in dish.viscosities.values()]
