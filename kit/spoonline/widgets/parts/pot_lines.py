"""What went into a pot: a field for each line of the recipe."""

from collections.abc import Callable, Mapping
from typing import Any

import ipywidgets as w

from spoonline.card.gather import grams_text
from spoonline.logbook import Logbook
from spoonline.measures import Weight, in_digits
from spoonline.pots import Batch, Weighed
from spoonline.recipes import Ingredient, OwnSpoon, Recipe
from spoonline.widgets.parts.fields import Message, appear, folded, put_in, text_field
from spoonline.widgets.parts.typed import grams_typed


class PotLines(w.VBox):
    """A field for each line: what is dosed and what it goes into stand open, the others are folded.

    Parameters
    ----------
    book : Logbook
        It knows what the kitchen's spoons hold.
    laid : callable
        Given each new field and a function that says beside it what was put in.
    """

    def __init__(self, book: Logbook, laid: Callable[[w.Text, Callable[[], Any]], Any]) -> None:
        self._spoons, self._kitchen, self._laid = book.kept(OwnSpoon), book.habits.kitchen, laid
        self.fields: list[tuple[w.Text, Message]] = []
        self._names: list[tuple[str, int]] = []
        self._open, self._others = w.VBox(), w.VBox()
        self.fold = folded("The other lines, where they differed", self._others)
        for box in (self._open, self._others):
            box.add_class("sl-lines")
        super().__init__([self._open, self.fold])

    def lay(self, recipe: Recipe, same: bool) -> None:
        """The lines of another recipe; of another version of the same dish, what was weighed still was."""
        typed = dict(zip(self._names, self.values, strict=True)) if same else {}
        items = [line.item for line in recipe.ingredients]
        self._names = [(item, items[:n].count(item)) for n, item in enumerate(items)]
        self.fields = [self._field(line) for line in recipe.ingredients]
        first, rest = list[w.HBox](), list[w.HBox]()
        dosed = recipe.kind != "dough" and recipe.main_thickener is not None
        for (field, message), line, name in zip(self.fields, recipe.ingredients, self._names, strict=True):
            field.value = typed.get(name, "")
            leads = line.part in ("thickener", "liquid") or not dosed
            (first if leads else rest).append(w.HBox([field, message]))
        put_in(self._open, first)
        put_in(self._others, rest)
        appear(rest, self.fold)

    def _field(self, line: Ingredient) -> tuple[w.Text, Message]:
        """The field of one line, and beside it what was put in."""
        field, message = text_field("", "", "as written"), Message("status", "sl-note")
        self._laid(field, lambda: message.tell(lambda: _weight_words(self._weight(field.value, line)), field))
        return field, message

    def _weight(self, text: str, line: Ingredient) -> Weight | None:
        return grams_typed(text, line, self._spoons, self._kitchen)

    @property
    def values(self) -> list[str]:
        """What stands in the fields."""
        return [field.value for field, _ in self.fields]

    def put(self, typed: Mapping[int, str]) -> None:
        """Put these into the fields, by the place of their line; the others are blank."""
        for n, (field, _) in enumerate(self.fields):
            field.value = typed.get(n, "")
        self.fold.selected_index = 0 if typed else None

    def put_in(self, tonight: Recipe, made: Recipe) -> list[tuple[w.Text, str]]:
        """Type what another making of tonight's recipe weighs anew; the fields, and what stands there now."""
        filled = list[tuple[w.Text, str]]()
        for (field, _), line, other in zip(self.fields, tonight.ingredients, made.ingredients, strict=True):
            if other is not line:
                field.value = other.amount
                filled.append((field, field.value))
        return filled

    def show(self, tonight: Recipe) -> None:
        """Tonight's amounts beside the fields."""
        for (field, _), line in zip(self.fields, tonight.ingredients, strict=True):
            field.description = f"{line.item} ({grams_text(line) or line.amount or 'to taste'})"

    def weighed(self, recipe: Recipe, tonight: Recipe, opened: Batch | None) -> tuple[Weighed, ...]:
        """What went in where it differs from the recipe; what stands as it was recorded keeps what it weighed then."""
        found, old = [], {each.line: each for each in (opened.weighed if opened else ())}
        rows = zip(self.values, recipe.ingredients, tonight.ingredients, strict=True)
        for number, (value, line, larger) in enumerate(rows, start=1):
            typed, before = value.strip(), old.get(number)
            if before and (before.typed, before.item) == (typed, line.item):
                found.append(before)  # as it was weighed then, whatever spoons were weighed since
            elif weight := self._weight(typed, line):
                mass = {"mass_g": weight.mass_g, "sd_g": weight.sd_g}
                found.append(Weighed(line=number, item=line.item, typed=typed, **mass))
            elif larger.mass_g != line.mass_g and larger.mass_g is not None:
                sizes = {"mass_g": larger.mass_g, "sd_g": larger.sd_g or 0}
                found.append(Weighed(line=number, item=line.item, typed=f"{larger.mass_g:g} g", **sizes))
        return tuple(found)

    def expected(self, tonight: Recipe | None) -> list[tuple[w.Text, str, float]]:
        """Each field, its item, and what is expected there [g]."""
        pairs = zip(self.fields, tonight.ingredients if tonight else (), strict=False)
        return [(field, line.item, float(line.mass_g or 0)) for (field, _), line in pairs]


def _weight_words(weight: Weight | None) -> str:
    if weight is None:
        return ""
    return f"= {in_digits(weight.mass_g, 4)} g, give or take {in_digits(weight.sd_g, 2)} g ({weight.basis})"
