"""Notebook 6: what did they mean by that?"""

from collections.abc import Callable
from functools import partial
from typing import Any

import ipywidgets as w

from spoonline.logbook import Logbook
from spoonline.recipes import Kept, OwnSpoon, OwnTrim, Pan, Recipe, ShoppingList, check, shopping_list
from spoonline.recipes.pot_scaling import boil_off_g_per_min_m2, scaled_for_pan, scaled_for_pot
from spoonline.widgets.parts import drafts, recipe_text, sheets
from spoonline.widgets.parts.fields import FORMS, appear, blank, declared, fill, laid_out
from spoonline.widgets.parts.markup import columns_table, download, frame_table, notes, tag
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import figure, figures, in_store, said, wanted


class OwnPart(w.VBox):
    """Weigh a spoonful, a trimming or a pan once; from then on that figure is used and no table's.

    Parameters
    ----------
    panel : Panel
        The form that says what is wrong, and what happened.
    """

    def __init__(self, panel: Panel) -> None:
        self.book, self._panel = panel.book, panel
        spooned = declared(self, "a spoon of one's own")
        trimmed, panned = declared(self, "a trimming of one's own"), declared(self, "a pan of one's own")
        self.keep_spoon = partial(self._keep, self.weighed_spoon, self.masses)
        self.keep_trim = partial(self._keep, self.weighed_trim, *trimmed)
        self.keep_pan = partial(self._keep, self.measured_pan, *panned)
        declared(self, "what is one's own", "buttons of one's own")
        super().__init__(laid_out(self, "spoons"))
        panel.watch(lambda: self.message.tell(self._spoon_words, self.masses), *spooned)
        self.show()

    def _spoon_words(self) -> str:
        if not (self.item.value and self.measure.value and self.masses.value):
            return ""
        spoon = self.weighed_spoon()
        return f"= {spoon.text}. {spoon.spoon}."

    def weighed_spoon(self) -> OwnSpoon:
        """The spoon that was weighed."""
        said.refuse(not self.masses.value.strip(), "no weights")
        masses = figures(self.masses.value, "Weights of five of them", "g")
        return OwnSpoon(item=self.item.value, measure=self.measure.value, masses_g=masses)

    def weighed_trim(self) -> OwnTrim:
        """What trimming left."""
        whole = figure(self.whole.value, "Before trimming", "g")
        trimmed = figure(self.trimmed.value, "After trimming", "g")
        said.refuse(None in (whole, trimmed), "both weights")
        return OwnTrim(item=self.item.value, whole_g=whole, trimmed_g=trimmed)

    def measured_pan(self) -> Pan:
        """The pan that was measured: one figure inside is a diameter, two are length and width."""
        inside = figures(self.wide.value.lower().replace("x", " "), "Pan inside", "cm")
        said.refuse(len(inside) > 2, "pan inside", came=self.wide.value)
        size = dict(zip(["diameter_cm"] if len(inside) == 1 else ["length_cm", "width_cm"], inside, strict=False))
        tare, deep = figure(self.tare.value, "Pan empty", "g"), figure(self.deep.value, "Pan inner depth", "cm")
        return Pan(name=self.pan.value, tare_g=tare, depth_cm=deep, **size)

    def _keep(self, made: Callable[[], Kept], *fields: w.Text) -> None:
        saved = self.book.keep(made())
        blank(*fields)
        self._panel.look()
        self._panel.say(f"Saved: {describe(saved)}. From now on this is used instead of the table.")

    def _take_back(self) -> None:
        record = wanted(next((each for each in self.records() if each.id == self.which.value), None), "none chosen")
        self.book.take_back(record)
        self._panel.look()
        self._panel.say(f"Taken back: {describe(record)}. The table is used again; the history keeps the weighing.")

    def records(self) -> list[Kept]:
        """Everything of the kitchen's own, as it stands."""
        return [each for kind in (OwnSpoon, OwnTrim, Pan) for each in self.book.kept(kind)]

    def show(self) -> None:
        """Show what was weighed."""
        records = self.records()
        appear(records, self.which, self.back)
        rows = [{"Kind": each.kind, "What you weighed": describe(each)} for each in records]
        self.mine.value = frame_table(rows, "Your own, in this logbook")
        fill(self.which, [(describe(each)[:60], each.id) for each in records])


def describe(record: Kept) -> str:
    """One thing that was weighed, in words."""
    if isinstance(record, OwnSpoon):
        return f"{record.item}, {record.text}"
    if isinstance(record, OwnTrim):
        return f"{record.item}: {100 * record.left:.0f} % left of {record.whole_g} g"
    assert isinstance(record, Pan)
    empty = f"{record.tare_g} g empty" if record.tare_g else ""
    deep = f"{record.depth_cm} cm deep" if record.depth_cm else ""
    return f"{record.name} ({', '.join(filter(None, (empty, record.size, deep))) or 'no size yet'})"


class IngredientsPanel(Panel):
    """Each ingredient line understood, or asked about; then your own spoons, the check, another size, and what to buy."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        self.recipe: Recipe | None = None
        self.text = recipe_text.RecipeText(self, "an example", FORMS["examples"]["soup"])
        self.load, self.paste, self.lines = self.text.load, self.text.paste, self.text.understood
        self.own = OwnPart(self)
        sizes = declared(self, "another size")
        declared(self, "in store", "buttons of the ingredients")
        self.draft = drafts.DraftPart(self, "ingredients", {"paste": self.paste, "store": self.store})
        self.prints = self.printer("Print the list", lambda: sheets.shopping_html(self._listed()))
        self.lay(*laid_out(self, "ingredients"), self.bar())
        self.watch(self._show, self.paste)
        self.watch(lambda: blank(self.scaled), *sizes)
        self.watch(lambda: blank(self.shopping), self.store)
        self._show_pans()
        self.guarded(self.text.show)
        self.guarded(self._show)

    def changed(self) -> None:
        """Recipes, spoons, trimmings, pans and pots that were saved since; what is typed stays."""
        scaled, listed = self.scaled.value, self.shopping.value
        self.own.show()
        self._show_pans()
        self.text.changed()
        self.attempt(self._show)
        if scaled:
            self.attempt(self._scale)
        if listed:
            self.attempt(self._buy)

    def _show_pans(self) -> None:
        pans = [(pan.name, pan.id) for pan in self.book.kept(Pan) if pan.surface_cm2 is not None]
        for field in (self.pan, self.was_pan):
            fill(field, pans)

    def _show(self) -> None:
        """The answer, and whether the lines agree with themselves; what was worked out of other lines goes."""
        self.recipe = None
        blank(self.answer, *self.places)
        self.recipe = recipe = self.text.recipe
        found = check(recipe)
        appear(recipe.kind != "dough", self.minutes, self.was_minutes, self.rate)  # nothing boils off a dough
        self.answer.say(recipe_text.summary(recipe), markup=notes([found.common] if found.common else []))
        frame = found.table.reset_index()[["line", "matter", "apart_percent", "spread_percent", "what_to_do"]]
        self.checked.value = columns_table(frame) or notes([found.text])

    def _factor(self, recipe: Recipe) -> float:
        text = self.times.value.strip().lower()
        if text.startswith("for"):
            servings = wanted(figure(text.removeprefix("for"), "Servings") or None, "no servings")
            return servings / float(wanted(recipe.servings, "no servings"))
        return wanted(figure(text, "Times") or None, "no times")

    def _boil_off(self, was: Pan) -> float:
        if typed := figure(self.rate.value, "Boil-off", "g"):
            return typed
        pots = self.book.cooked_in(was.name)
        found = [(each.evaporated_g, float(each.minutes)) for each in pots if each.evaporated_g and each.minutes]
        said.refuse(not found, "no boil-off", pan=was.name)
        return boil_off_g_per_min_m2([lost for lost, _ in found], [minutes for _, minutes in found], was)

    def _larger(self) -> tuple[Recipe, str, str]:
        """The recipe in the size that is asked for, how it came to that, and how many times that is where the pans say it."""
        recipe = self.text.recipe
        pans = {pan.id: pan for pan in self.book.kept(Pan)}
        new, old = pans.get(self.pan.value), pans.get(self.was_pan.value)
        if new is None or old is None:
            factor = self._factor(recipe)
            made, what = recipe.scaled(factor), "a dough scaled" if recipe.kind == "dough" else "scaled"
            text = said(what, title=recipe.title, factor=factor)
        elif recipe.kind == "dough":
            made, text = scaled_for_pan(recipe, new, old)
            return made, text, f"{float(new.surface_cm2 or 0) / float(old.surface_cm2 or 1):.3g}"
        else:
            minutes, before = (figure(field.value, "Boiling", "min") or 0 for field in (self.minutes, self.was_minutes))
            rate = self._boil_off(old)
            boiled: dict[str, Any] = {"boil_off_g_per_min_m2": rate, "minutes": minutes, "was_minutes": before}
            found = scaled_for_pot(recipe, self._factor(recipe), new, was_pan=old, **boiled)
            made, text = found.recipe, found.text
        return made, text, ""

    def _scale(self) -> None:
        made, text, times = self._larger()
        with self.filling_in():
            self.times.value = times or self.times.value
        rows = [
            {"Amount": each.amount, "What": each.item, "mass_g": each.mass_g and float(each.mass_g)}
            for each in made.ingredients
        ]
        self.scaled.value = tag("p", text) + columns_table(rows)
        self.say("Scaled. The times in the method are unchanged.")

    def _listed(self) -> ShoppingList:
        return shopping_list(self.text.recipe, self.book.kept(OwnTrim), in_store(self.store.value))

    def _buy(self) -> None:
        listed = self._listed()
        link = download("shopping-list.txt", "text/plain;charset=utf-8", listed.text, "Download the list")
        self.shopping.value = f"{listed._repr_html_()}{link}"
        self.say(f"{len(listed.rows)} items to buy, weighed as bought, before trimming.")
