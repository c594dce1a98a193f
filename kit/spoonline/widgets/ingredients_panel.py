"""Notebook 6: what did they mean by that?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as w

from spoonline.measures.errors import AmountError, RecipeError
from spoonline.recipes import OwnTrim, Pan, Recipe, boil_off_g_per_min_m2, check, scaled_for_pot, shopping_list
from spoonline.widgets.parts.drafts import DraftPart
from spoonline.widgets.parts.fields import choice, fill, heading, text_area, text_field
from spoonline.widgets.parts.markup import bullets, download, frame_table, notes, tag
from spoonline.widgets.parts.own_part import OwnPart
from spoonline.widgets.parts.panel import MESSAGES, Message, Panel
from spoonline.widgets.parts.recipe_text import RecipeText, summary
from spoonline.widgets.parts.typed import figure, in_store

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

EXAMPLE = """Roast parsnip and pear soup
Serves 8
700 g parsnips, peeled and diced
2 pears
1 onion, chopped
1/2 cup (57 g) butter
1.4 l vegetable stock
4 heaped tbsp corn starch
a splash of double cream
1 tsp salt

1. Roast the parsnips, pears and onion in the butter at 200 C for 35 minutes.
2. Add the stock and simmer for 12 minutes."""


class IngredientsPanel(Panel):
    """Each line understood, asked or left; then your own spoons, the check, another size, and what to buy."""

    purpose = "the panel that reads ingredient lines"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.recipe: Recipe | None = None
        self.answer = Message("status", "sl-answer")
        self.text = RecipeText(book, self, "an example", EXAMPLE)
        self.load, self.paste, self.lines = self.text.load, self.text.paste, self.text.understood
        self.checked, self.scaled, self.shopping = w.HTML(), w.HTML(), w.HTML()
        self.own = OwnPart(book, self, self._own_changed)
        self.times = text_field("How many times, or 'for 20'", "2")
        self.pan = choice("Pan to cook it in", [])
        self.was_pan = choice("Pan it was cooked in", [])
        self.minutes = text_field("Boiling time to come, min", "12")
        self.was_minutes = text_field("Boiling time before, min", "12")
        self.rate = text_field("Boils off, g per min and m2", "", "blank: from your weighed batches")
        self.store = text_area("What you have already", "", "onions: 500 g\nbutter: 1 stick", rows=3, width="34rem")
        self.draft = DraftPart(self, book, "ingredients", {"paste": self.paste, "store": self.store})
        super().__init__(
            [
                self.answer, self.draft, self.text, MESSAGES, heading("Do the amounts agree?"), self.checked,
                self.own, heading("A larger or smaller batch"), self.times, self.pan, self.was_pan, self.minutes, self.was_minutes, self.rate,
                self.button("Scale the recipe", self._scale), self.scaled,
                heading("What to buy"), self.store, self.button("Write the list", self._buy), self.shopping,
            ]
        )  # fmt: skip
        self.watch(self._show, self.paste)
        self._show_pans()
        self.guarded(self.text.show)
        self.guarded(self._show)

    def _own_changed(self, text: str) -> None:
        self._show_pans()
        self.text.show()
        self._show()
        self.say(text)

    def _show_pans(self) -> None:
        pans = [(pan.name, pan.id) for pan in self.book.kept(Pan) if pan.surface_cm2 is not None]
        for field in (self.pan, self.was_pan):
            fill(field, [("no pan: by one factor", ""), *pans])

    def _show(self) -> None:
        """The answer, and whether the lines agree with themselves."""
        self.recipe = recipe = self.text.recipe
        found = check(recipe)
        self.answer.say(summary(recipe), markup=notes([found.common] if found.common else []))
        rows = [
            {
                "Message": each.line, "Matter": each.kind, "Apart, %": each.apart_percent, "Spread, %": each.spread_percent,
                "What it is, and what to do": each.said,
            }
            for each in found.findings
        ]  # fmt: skip
        self.checked.value = frame_table(rows, formats={"Apart, %": "+.0f", "Spread, %": ".0f"}) or notes([found.text])

    def _factor(self, recipe: Recipe) -> float:
        text = self.times.value.strip().lower()
        if text.startswith("for"):
            servings = figure(text.removeprefix("for"), "Servings")
            if recipe.servings is None or not servings:
                raise RecipeError(
                    "The recipe does not say how many it serves; add a line 'Serves 8', or type a number of times."
                )
            return servings / float(recipe.servings)
        times = figure(text, "Times")
        if not times:
            raise AmountError("Times: type how many times as much, such as 2 or 1/2, or 'for 20'.")
        return times

    def _boil_off(self, was: Pan) -> float:
        typed = figure(self.rate.value, "Boil-off", "g")
        if typed:
            return typed
        found = [
            (batch.evaporated_g, float(batch.minutes))
            for batch in self.book.all_batches()
            if batch.pan.startswith(was.name) and batch.evaporated_g and batch.minutes
        ]
        if not found:
            raise RecipeError(
                f"No batch cooked in {was.name!r} has both weights and its minutes; type how much boils off, or record such a batch first."
            )
        return boil_off_g_per_min_m2([lost for lost, _ in found], [time for _, time in found], was)

    def _scale(self) -> None:
        recipe = self.text.recipe
        factor = self._factor(recipe)
        pans = {pan.id: pan for pan in self.book.kept(Pan)}
        new, old = pans.get(self.pan.value), pans.get(self.was_pan.value)
        if new is None or old is None:
            made = recipe.scaled(factor)
            text = f"{recipe.title} times {factor:.3g}, every weight alike. Choose both pans, and what boils away is allowed for too."
        else:
            minutes, before = (figure(field.value, "Boiling", "min") or 0 for field in (self.minutes, self.was_minutes))
            rate = self._boil_off(old)
            found = scaled_for_pot(
                recipe, factor, new, boil_off_g_per_min_m2=rate, minutes=minutes, was_pan=old, was_minutes=before
            )
            made, text = found.recipe, found.text
        rows = [
            {"Amount": line.amount, "What": line.item, "Weight, g": None if line.mass_g is None else float(line.mass_g)}
            for line in made.ingredients
        ]
        self.scaled.value = tag("p", text) + frame_table(rows, formats={"Weight, g": ".4g"})
        self.say("Scaled. The times in the method are unchanged.")

    def _buy(self) -> None:
        listed = shopping_list(self.text.recipe, self.book.kept(OwnTrim), in_store(self.store.value))
        link = download("shopping-list.txt", "text/plain;charset=utf-8", listed.text, "Download the list")
        self.shopping.value = bullets(line[6:] for line in listed.text.splitlines()) + link
        self.say(f"{len(listed.rows)} items to buy, with what trimming takes; weights as bought.")
