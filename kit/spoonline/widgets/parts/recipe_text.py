"""A recipe as one pastes it: what was understood of each line, and its ingredients as a table to edit."""

from collections.abc import Sequence
from typing import Any, SupportsFloat

import ipywidgets as w

from spoonline.measures import KitchenError, RecipeError, in_digits
from spoonline.recipes import FATES, Ingredient, OwnSpoon, Recipe, judged, with_own
from spoonline.recipes.text import to_text
from spoonline.widgets.parts.fields import FORMS, appear, declared, fill, folded, text_area, two
from spoonline.widgets.parts.markup import frame_table, notes
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import said

EXAMPLE = FORMS["examples"]["gravy"]


class Began:
    """The version that each recipe of a form began from, by title; a draft keeps its ``value`` like that of a field."""

    def __init__(self) -> None:
        self.value: dict[str, int] = {}


class RecipeText(w.VBox):
    """The text of a recipe, begun from the logbook or pasted; ``began.value`` holds the version it began from, by title.

    Parameters
    ----------
    panel : Panel
        The form that says what is wrong.
    blank : str
        What the list of recipes calls a start without any.
    text : str
        What stands in the field at such a start.
    below : iterable of Widget, optional
        What stands below the text, beside what was understood; the sum of the recipe then stands there too.
    """

    def __init__(self, panel: Panel, blank: str, text: str = "", below: Sequence[w.Widget] = ()) -> None:
        self.book, self._panel, self._text, self._summed_up = panel.book, panel, text, below
        self.began = Began()
        self._from_lines = False  # what is typed into the table is not written over
        self._cannot = ""  # why what the table holds is no recipe
        declared(self, "what a recipe begins from", load=[(blank, "")])
        self.paste = text_area("Recipe", text, EXAMPLE)
        declared(self, "the lines of a recipe")
        self.lines.rows, self.lines.choices = [], list(FATES)
        self.fold = folded(said("edit the lines"), self.lines)
        appear(text, self.fold)
        self.understood = w.HTML()
        super().__init__([two([self.load, self.paste, *below], [self.understood]), self.fold])
        fill(self.load, self.book.titles())
        panel.watch(self._begin_from, self.load)
        panel.watch(self.show, self.paste)
        panel.watch(self._lines_changed, self.lines, trait="rows")

    def changed(self) -> None:
        """Recipes, spoons and habits that were saved since; what is typed stays, in a row of the table that cannot be read too."""
        with self._panel.filling_in():
            fill(self.load, self.book.titles())
        if not self._cannot:
            self._panel.attempt(self.show)

    def _begin_from(self) -> None:
        if self.load.value:
            version = self.book.version(self.load.value)
            self.began.value[version.title] = version.number
        self.paste.value = self._written(version.recipe) if self.load.value else self._text

    @property
    def recipe(self) -> Recipe:
        """The recipe as it reads in this kitchen's measures; what text cannot carry (the target) is taken from the latest version of
        that title, and a line that stands there in the same words stays as it was weighed. None is read past a row that cannot be."""
        if self._cannot:
            raise RecipeError(self._cannot)
        return self._read(self.paste.value)

    def _read(self, text: str) -> Recipe:
        fields: dict[str, Any] = {}
        title = text.strip().partition("\n")[0].strip()
        old, habits = None, self.book.habits
        if title in self.book.titles():
            old = self.book.recipe(title)
            fields = {"target": old.target, "invented": old.invented}
        read = Recipe.from_text(text, habits.kitchen, habits.decimal, like=old, **fields)
        return with_own(read, self.book.kept(OwnSpoon))

    def _written(self, recipe: Recipe) -> str:
        return to_text(recipe, usual=self.book.habits.kitchen)

    def show(self) -> None:
        """Show what was understood."""
        self.understood.value = self._cannot = ""
        appear(self.paste.value.strip(), self.fold)
        recipe = None
        try:
            recipe = self.recipe if self.paste.value.strip() else None
        finally:
            if not self._from_lines:
                with self._panel.filling_in():
                    self.lines.rows = [[*_cells(line), line.told] for line in (recipe.ingredients if recipe else ())]
        if recipe is None:
            return
        words = iter(f"judged: {_share(each.fate_share)}{each.fate}" for each in judged(recipe))
        filled = (any(cell.strip() for cell in row[:3]) for row in self.lines.rows)
        self.lines.unchosen = [next(words, "judged") if each else "judged" for each in filled]
        rows = [
            {
                "Line": number, "As written": line.line, "Weight, g": _weight(line), "In the pot": fate_words(line),
                "Read as; source, or question": ". ".join(filter(None, [line.fact_name or "not known", line.basis, _asks(recipe, number)])),
            }
            for number, line in enumerate(recipe.ingredients, start=1)
        ]  # fmt: skip
        summed = notes([summary(recipe)] if self._summed_up else [])
        self.understood.value = summed + frame_table(rows, "What was understood")

    def _lines_changed(self) -> None:
        """The table's rows become the recipe's lines; one that cannot be is said, and the text stays until it is mended."""
        self._cannot = ""
        recipe = self.recipe
        left = list(recipe.ingredients)
        try:
            lines = [self._line(row, left, recipe.measures) for row in self.lines.value if any(row[:3])]
            text = self._written(recipe.model_copy(update={"ingredients": tuple(lines)}))
            self._read(text)
        except KitchenError as err:
            self._cannot = str(err)
            raise
        self._from_lines = True
        if text == self.paste.value:  # a blank row came, went or moved
            self.show()
        self.paste.value = text
        self._from_lines = False

    def _line(self, row: list[str], left: list[Ingredient], measures: str) -> Ingredient:
        """A row as a line: one of those ``left``, as it was typed, where it reads as before; heading and part stay with the item."""
        *cells, fate = row
        text = "{} {}, {}".format(*cells).strip(" ,")
        # an amount that cannot be read stands in the item
        near = (line for line in left if line.item in (cells[1], text))
        was = min(near, key=lambda line: _cells(line) != cells, default=None)
        if was is not None:
            left.remove(was)
            if _cells(was) == cells:
                return was.telling(fate)
        kept = was.model_dump(include={"group", "part"}) if was else {}
        return Ingredient(**Ingredient.fields_of(text, measures, self.book.habits.decimal) | kept).telling(fate)


def _cells(line: Ingredient) -> list[str]:
    return [line.amount, line.item, line.preparation]


def _weight(line: Ingredient) -> str:
    if line.mass_g is None:
        return "not known"
    spread = "" if line.sd_g is None else f" \u00b1 {in_digits(float(line.sd_g), 2)}"
    return f"{in_digits(float(line.mass_g), 4)}{spread}"


def _share(share: SupportsFloat | None) -> str:
    return "" if share is None or float(share) == 1 else f"{100 * float(share):.0f} % "


def fate_words(line: Ingredient) -> str:
    """What becomes of a line, in words: its share where it is not all of it, and the juice it gives or the liquid it takes up."""
    juice = float(line.juice_g_per_g or 0) * float(line.mass_g or 0)
    gives = "" if abs(juice) < 0.5 else f", gives {juice:.0f} g" if juice > 0 else f", takes up {-juice:.0f} g"
    return f"{_share(line.fate_share)}{line.fate}{gives}" + (" (your word)" if line.fate_from == "told" else "")


def liquid_words(recipe: Recipe) -> str:
    """The liquid, with its range and what of it was poured where pieces give juice or take liquid up."""
    liquid = recipe.liquid
    if liquid.high - liquid.low < 0.005:
        return f"{recipe.liquid_l:.3g} L of liquid" if liquid.high else "no liquid"
    taken = recipe.poured_l - liquid.best
    what = "liquid taken up" if taken >= 0.005 else "liquid poured"
    return said(what, liquid=liquid, poured=recipe.poured_l, taken=taken)


def summary(recipe: Recipe) -> str:
    """How much of a recipe has a weight, and what it comes to."""
    count, asked = len(recipe.ingredients), sum(line.mass_g is None for line in recipe.ingredients)
    asks = f", {asked} {'needs' if asked == 1 else 'need'} an answer" if asked else ""
    known = {"weighed": count - asked, "lines": count, "mass": recipe.mass_g}
    text = said("a recipe", asks=asks, liquid=liquid_words(recipe), **known)
    if recipe.kind == "dough":
        return f"{text} A dough: nothing in it is dosed per litre."
    dosed = recipe.liquid_l > 0 and recipe.thickeners_g
    return f"{text} {recipe.dose_g_per_l:.1f} g of thickener per litre." if dosed else text


def _asks(recipe: Recipe, number: int) -> str:
    start = f"Line {number}, "
    return " ".join(question.partition(": ")[2] for question in recipe.questions if question.startswith(start))
