"""What went into a pot: a field for each line of the recipe; what is likely a slip is asked."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from typing import Any, NamedTuple

import ipywidgets as w

from spoonline.card.gather import grams_text
from spoonline.measures import KitchenError, Weight
from spoonline.pots import Batch, Weighed
from spoonline.recipes import Ingredient, OwnSpoon, Recipe
from spoonline.widgets.parts.fields import appear, folded, put_in, text_field
from spoonline.widgets.parts.panel import Message
from spoonline.widgets.parts.tools import ReadingFields
from spoonline.widgets.parts.typed import degrees, figure, grams_typed, likelier

STIFF_G_PER_L = 135.0  # the concentration of a stiff paste of maize starch


class PotLines(w.VBox):
    """A field for each line: what is dosed and what it goes into stand open, the others are folded.

    Parameters
    ----------
    spoons, kitchen : sequence of OwnSpoon, str
        What the kitchen's spoons hold.
    laid : callable
        Given each new field and a function that says beside it what was put in.
    """

    def __init__(
        self, spoons: Sequence[OwnSpoon], kitchen: str, laid: Callable[[w.Text, Callable[[], Any]], Any]
    ) -> None:
        self._spoons, self._kitchen, self._laid = spoons, kitchen, laid
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
        appear(self.fold, rest)

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
            field.description = f"{line.item} ({_amount(line)})"

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


class Slip(NamedTuple):
    """What is likely a slip, in words; where it is known what was meant, its field and that value."""

    words: str = ""
    field: w.Text | None = None
    better: str = ""


def slip_of(
    rows: Iterable[tuple[w.Text, str, float]], reading: ReadingFields, batch: Batch | None, recipe: Recipe, pot_g: float
) -> Slip:  # fmt: skip
    """The first that is likely a slip: a comma or a unit off, a hot pot that is cold, Fahrenheit, a lid weighed only once.

    Parameters
    ----------
    rows : iterable of (field, what, expected)
        Fields that hold masses [g].
    reading : ReadingFields
    batch, recipe : Batch or None, Recipe
        The pot as it can be read so far.
    pot_g : float
        What the pot is expected to weigh with everything in [g].
    """
    with suppress(KitchenError):
        celsius = degrees(reading.temperature.value)
        if celsius is not None and celsius > 105:
            meant = (celsius - 32) / 1.8
            return Slip(f"{celsius:g} C came; were that F, {meant:.0f} C?", reading.temperature, f"{meant:.1f}")
    for field, what, expected in rows:
        with suppress(KitchenError):
            typed = figure(field.value, what, "g")
            better = likelier(typed, expected) if typed else None
            if better is not None:
                return Slip(f"{what}: {typed:g} g came; was {better:g} g meant?", field, f"{better:g} g")
    with suppress(KitchenError):
        celsius = degrees(reading.temperature.value)
        if celsius is not None and celsius < 40 and reading.stage.value == "hot":
            return Slip(
                f"{celsius:g} C is cold for a reading of the stage hot: choose served or chilled, or read it hot."
            )
    dose = batch.cooked(recipe).dose_g_per_l if batch else 0.0
    if dose > STIFF_G_PER_L:
        return Slip(f"{dose:.0f} g/L of starch is a stiff paste: check the grams that went in.")
    if batch and batch.evaporated_g and batch.evaporated_g > 0.3 * pot_g:
        gone = f"{batch.evaporated_g:.0f} g evaporated is much of this pot"
        return Slip(f"{gone}: were both masses with the same lid and spoon?")
    return Slip()


def _amount(line: Ingredient) -> str:
    return grams_text(line) or line.amount or "to taste"


def _weight_words(weight: Weight | None) -> str:
    return "" if weight is None else f"= {weight.mass_g:.4g} g, give or take {weight.sd_g:.2g} g ({weight.basis})"
