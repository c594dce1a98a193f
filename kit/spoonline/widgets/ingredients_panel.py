"""Notebook 6: what did they mean by that?"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.measures.errors import AmountError, RecipeError
from spoonline.recipes import (
    OwnSpoon,
    OwnTrim,
    Pan,
    Recipe,
    boil_off_g_per_min_m2,
    check,
    scaled_for_pot,
    shopping_list,
    with_own,
)
from spoonline.widgets.parts.drafts import DraftPart
from spoonline.widgets.parts.own_part import OwnPart
from spoonline.widgets.parts.panel import (
    SAID,
    Line,
    Panel,
    button,
    choice,
    download,
    heading,
    said,
    shown,
    table,
    text_field,
)
from spoonline.widgets.parts.typed import figure

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
        self.answer = Line("status", "sl-answer")
        self.load = choice("Begin from", [("an example", ""), *[(title, title) for title in book.titles()]], "")
        self.paste = w.Textarea(
            description="Recipe", value=EXAMPLE, rows=14, continuous_update=False,
            style={"description_width": "13rem"}, layout=w.Layout(width="min(54rem, calc(100% - 6px))", height="20rem"),
        )  # fmt: skip
        self.lines = w.HTML()
        self.checked = w.HTML()
        self.own = OwnPart(book, self._kept, self._guarded)
        self.times = text_field("Times, or 'for 20'", "2")
        self.pan = choice("In which pan", [])
        self.was_pan = choice("Before, in which pan", [])
        self.minutes = text_field("Boiling, min", "12")
        self.was_minutes = text_field("Boiling before, min", "12")
        self.rate = text_field("Boil-off, g per min and m2", "", "from your weighed batches")
        self.scaled = w.HTML()
        self.store = w.Textarea(
            description="What is there", placeholder="onions: 500 g\nbutter: 1 stick", rows=3, continuous_update=False,
            style={"description_width": "13rem"}, layout=w.Layout(width="min(34rem, 100%)", height="5rem"),
        )  # fmt: skip
        self.shopping = w.HTML()
        self.draft = DraftPart.plain(book, "ingredients", {"paste": self.paste, "store": self.store}, self._guarded)
        super().__init__(
            [
                self.answer, self.draft, self.load, self.paste, self.lines, SAID, heading("Does it agree with itself?"), self.checked,
                self.own, heading("Another size"), self.times, self.pan, self.was_pan, self.minutes, self.was_minutes, self.rate,
                button("Scale the recipe", self._scale), self.scaled,
                heading("What to buy"), self.store, button("Write the list", self._buy), self.shopping,
            ]
        )  # fmt: skip
        self.load.observe(self._loaded, "value")
        self.paste.observe(self._read, "value")
        self._show_pans()
        self._read()

    @shown
    def _guarded(self, act: Callable[[], Any]) -> None:
        act()

    def _kept(self, text: str) -> None:
        self._show_pans()
        self._show(self._recipe())
        self.say(text)

    def _show_pans(self) -> None:
        pans = [(pan.name, pan.id) for pan in self.book.kept(Pan) if pan.surface_cm2 is not None]
        for field in (self.pan, self.was_pan):
            chosen = field.value
            field.options = [("no pan: plain scaling", ""), *pans]
            field.value = chosen if chosen in [each for _, each in pans] else ""

    @shown
    def _loaded(self, _change: Any = None) -> None:
        self.paste.value = self.book.recipe(self.load.value).text if self.load.value else EXAMPLE

    def _recipe(self) -> Recipe:
        return with_own(Recipe.from_text(self.paste.value), self.book.kept(OwnSpoon))

    @shown
    def _read(self, _change: Any = None) -> None:
        self._show(self._recipe())
        self.say("")

    def _show(self, recipe: Recipe) -> None:
        self.recipe = recipe
        rows = []
        for number, line in enumerate(recipe.ingredients, start=1):
            known = line.mass_g is not None
            mass, sd = float(line.mass_g or 0), float(line.sd_g or 0)
            rows.append(
                [
                    number, line.line, line.fact_name or "not known", f"{mass:.4g}" if known else "asked",
                    f"{sd:.2g}" if known else "", line.basis if known else " ".join(q for q in _asks(recipe, number)),
                ]
            )  # fmt: skip
        heads = [("Line", True), ("As written", False), ("Read as", False), ("Weight, g", True), ("Give or take, g", True),
                 ("Rests on, or asks", False)]  # fmt: skip
        self.lines.value = table(heads, rows, "What was understood")
        found = check(recipe)
        asked = sum(line.mass_g is None for line in recipe.ingredients)
        dose = (
            f", {recipe.dose_g_per_l:.1f} g of thickener per litre"
            if recipe.liquid_l > 0 and recipe.thickeners_g
            else ""
        )
        self.answer.say(
            f"{len(recipe.ingredients) - asked} of {len(recipe.ingredients)} lines can be weighed, {asked} ask. "
            f"{recipe.mass_g:.0f} g in all, {recipe.liquid_l:.3g} L of liquid{dose}.",
            markup=f"<div class='sl-said'>{said(found.common)}</div>" if found.common else "",
        )
        checks = [
            [
                each.line, each.kind, "" if each.apart_percent is None else f"{each.apart_percent:+.0f}",
                "" if each.spread_percent is None else f"{each.spread_percent:.0f}", each.said,
            ]
            for each in found.findings
        ]  # fmt: skip
        self.checked.value = (
            table(
                [
                    ("Line", True),
                    ("Matter", False),
                    ("Apart, %", True),
                    ("Spread, %", True),
                    ("What it is, and what to do", False),
                ],
                checks,
            )
            if checks
            else f"<p class='sl-said'>{said(found.text)}</p>"
        )

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
                f"No batch in {was.name!r} was weighed before and after with its minutes; type its boil-off, or record one batch so."
            )
        return boil_off_g_per_min_m2([lost for lost, _ in found], [time for _, time in found], was)

    @shown
    def _scale(self, _button: Any = None) -> None:
        recipe = self._recipe()
        factor = self._factor(recipe)
        pans = {pan.id: pan for pan in self.book.kept(Pan)}
        new, old = pans.get(self.pan.value), pans.get(self.was_pan.value)
        if new is None or old is None:
            made, text = (
                recipe.scaled(factor),
                f"{recipe.title} times {factor:.3g}, plainly: every mass by one factor.",
            )
            text += " Choose both pans and what boils away is counted too."
        else:
            minutes, before = (figure(field.value, "Boiling", "min") or 0 for field in (self.minutes, self.was_minutes))
            found = scaled_for_pot(
                recipe,
                factor,
                new,
                boil_off_g_per_min_m2=self._boil_off(old),
                minutes=minutes,
                was_pan=old,
                was_minutes=before,
            )
            made, text = found.recipe, found.text
        rows = [
            [line.amount, line.item, "" if line.mass_g is None else f"{float(line.mass_g):.4g}"]
            for line in made.ingredients
        ]
        self.scaled.value = f"<p>{said(text)}</p>" + table(
            [("Amount", False), ("What", False), ("Weight, g", True)], rows
        )
        self.say("Scaled; the method's times are left as they are.")

    def _in_store(self) -> dict[str, str]:
        found = {}
        for line in self.store.value.splitlines():
            name, colon, amount = line.partition(":")
            if not line.strip():
                continue
            if not colon or not amount.strip():
                raise AmountError(
                    f"What is there: {line.strip()!r} came; write one item a line, such as 'onions: 500 g'."
                )
            found[name.strip()] = amount.strip()
        return found

    @shown
    def _buy(self, _button: Any = None) -> None:
        listed = shopping_list(self._recipe(), self.book.kept(OwnTrim), self._in_store())
        self.shopping.value = (
            "<ul>"
            + "".join(f"<li>{said(line[6:])}</li>" for line in listed.text.splitlines())
            + "</ul>"
            + download("shopping-list.txt", "text/plain;charset=utf-8", listed.text, "Download the list")
        )
        self.say(f"{len(listed.rows)} items to buy, with what trimming takes; weights as purchased.")


def _asks(recipe: Recipe, number: int) -> list[str]:
    start = f"Line {number}, "
    return [question.partition(": ")[2] for question in recipe.questions if question.startswith(start)]
