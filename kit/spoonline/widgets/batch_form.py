"""Notebook 1: what did I cook, and how thick was it?"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.logbook.pictures import cleaned
from spoonline.measures import print_grams
from spoonline.measures.errors import BatchError, KitchenError, RecipeError
from spoonline.pots import Batch, Reading, Weighed, contents
from spoonline.recipes import OwnSpoon, Recipe, Version
from spoonline.widgets.parts.batch_table import batch_sentence, batches_html, photos_html, saved_sentence
from spoonline.widgets.parts.drafts import DraftPart
from spoonline.widgets.parts.here import dish_choice
from spoonline.widgets.parts.panel import SAID, Line, Panel, button, choice, fill_versions, heading, shown, text_field
from spoonline.widgets.parts.rows_table import RowsTable
from spoonline.widgets.parts.tools import ReadingFields, reading_of
from spoonline.widgets.parts.typed import day, figure, grams_typed

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


# Fields of one line that a draft keeps by their own name.
PLAIN = ("cooked_on", "cook", "pan", "before", "after", "minutes", "note", "caption")


class BatchForm(Panel):
    """Record a batch: only what differed from the recipe is typed."""

    purpose = "the form that records a cooked batch"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.saved: Batch | None = None
        # Seen, not announced: each field says its own, and the save is announced.
        self.answer = Line("", "sl-answer")
        self.title = dish_choice(book)
        self.number = choice("Version", [])
        self.cooked_on = text_field("Cooked on", date.today().isoformat(), "year-month-day")
        self.cook = text_field("Cook")
        self.pan = text_field("Pan", "", "such as 24 cm pot, no lid")
        self.lines = w.VBox()
        self.before = text_field("Pot with everything in, g")
        self.after = text_field("The same pot at the end, g")
        self.minutes = text_field("Minutes in between")
        self.pot_said = Line("status", "sl-said")
        self.reading = ReadingFields()
        self.many = RowsTable(label="Readings", columns=["Stage", "Tool", "Temperature, C", "What it showed"], rows=[])
        self.many.rows = self.many.blank(2)
        self.many_said = Line("status", "sl-said")
        many = w.VBox([self.many, self.many_said])
        self.many_fold = w.Accordion([many], titles=("Or several readings as a table; paste from a spreadsheet",))
        self.more = button("Keep this reading, take another", self._keep)
        self.kept_said = w.HTML()
        self.note = text_field("Note")
        self.save = button("Save this batch", self._save, primary=True)
        self.back = button("Take back", self._take_back)
        self.back.disabled = True
        self.batches = w.HTML()
        self.kept: list[Reading] = []
        self._fields: list[tuple[w.Text, Line]] = []
        self.version: Version | None = None
        self.spoons = book.kept(OwnSpoon)
        self.photo = w.FileUpload(accept=".png,.jpg,.jpeg,.webp", multiple=False, description="Photo of the pot or plate",
                                  layout=w.Layout(width="auto", align_self="flex-start"))  # fmt: skip
        self.caption = text_field("What it shows")
        self.draft = DraftPart(book, "batch", self._typed, self._take_up, self._guarded)
        super().__init__(
            [
                self.answer, self.draft, heading("1. Which recipe"), self.title, self.number, self.cooked_on, self.cook, self.pan,
                heading("2. What went in (blank: as written; a bare figure is grams; 0 means none)"), self.lines,
                heading("3. The pot"), self.before, self.after, self.minutes, self.pot_said,
                heading("4. How thick"), self.reading, self.more, self.many_fold, self.kept_said,
                heading("5. Save"), self.photo, self.caption, self.note, w.HBox([self.save, self.back]), SAID, self.batches,
            ]
        )  # fmt: skip
        self.title.observe(self._title_changed, "value")
        self.number.observe(self._version_changed, "value")
        self.before.observe(self._say_pot, "value")
        self.after.observe(self._say_pot, "value")
        self.many.observe(self._say_many, "rows")
        for field in (self.before, self.after, *self.reading.watched):
            field.observe(self._so_far, "value")
        self.draft.watch(*(getattr(self, name) for name in PLAIN), *self.reading.watched)
        self.begin(self.title, self._title_changed)
        self.save.disabled = not self.title.options

    def _typed(self) -> dict[str, Any]:
        """Everything typed so far, by field."""
        plain = {name: getattr(self, name).value for name in PLAIN if getattr(self, name).value}
        lines = {str(place): field.value for place, (field, _) in enumerate(self._fields) if field.value}
        kept = [each.model_dump(mode="json") for each in self.kept]
        reading = self.reading.typed
        if not (plain.keys() - {"cooked_on"} or lines or kept or reading):
            return {}
        return plain | reading | {"title": self.title.value, "number": self.number.value, "lines": lines, "kept": kept}

    def _take_up(self, fields: dict[str, Any]) -> None:
        if fields["title"] in self.title.options:
            self.title.value = fields["title"]
            if fields["number"] in [value for _, value in self.number.options]:
                self.number.value = fields["number"]
        for name in PLAIN:
            getattr(self, name).value = fields.get(name, getattr(self, name).value if name == "cooked_on" else "")
        for place, value in fields["lines"].items():
            if int(place) < len(self._fields):
                self._fields[int(place)][0].value = value
        self.kept = [Reading(**each) for each in fields["kept"]]
        self._show_kept()
        self.reading.take_up(fields)
        self.say("Taken up again as it was typed. Save it when it is whole.")

    @shown
    def _guarded(self, act: Callable[[], Any]) -> None:
        act()

    @shown
    def _title_changed(self, _change: Any = None) -> None:
        versions = self.book.all_versions(self.title.value)
        fill_versions(self.number, versions, versions[-1].number)
        self._version_changed()
        self._show_batches()

    @shown
    def _version_changed(self, _change: Any = None) -> None:
        if self.number.value is None:
            return
        if self.version is not None and (self.version.title, self.version.number) == (
            self.title.value,
            self.number.value,
        ):
            return
        self.version = self.book.version(self.title.value, self.number.value)
        self.reading.target = self.version.recipe.target
        for field, said in self._fields:
            field.close()
            said.close()
        self._fields = []
        rows = []
        for line in self.version.recipe.ingredients:
            says = (
                print_grams(float(line.mass_g), fine=line.part in ("thickener", "seasoning"))
                if line.mass_g is not None
                else line.amount or "to taste"
            )
            field, said = text_field(f"{line.item} ({says})", "", "as written"), Line("status", "sl-said")
            field.observe(self._say_line, "value")
            field.observe(self._so_far, "value")
            self.draft.watch(field)
            self._fields.append((field, said))
            rows.append(w.HBox([field, said], layout=w.Layout(flex_flow="row wrap")))
        self.lines.children = rows
        self.kept = []
        self._show_kept()
        self.reading._say()
        self._so_far()

    @shown
    def _so_far(self, _change: Any = None) -> None:
        """The pot as typed so far, on top; what cannot be read yet is said beside its own field."""
        try:
            readings = [*self.kept, *([] if self.reading.blank else [self.reading.reading()])]
            told = batch_sentence(self._batch(tuple(readings)), self._recipe())
        except KitchenError:
            return
        self.answer.say(f"Not saved: {told}" if self._typed() else f"As the recipe says: {told}")

    @shown
    def _say_line(self, change: Any) -> None:
        for (field, said), line in zip(self._fields, self._recipe().ingredients, strict=True):
            if field is change["owner"]:
                try:
                    weight = grams_typed(field.value, line, self.spoons)
                    said.say(
                        ""
                        if weight is None
                        else f"= {weight.mass_g:.4g} g, give or take {weight.sd_g:.2g} g ({weight.basis})"
                    )
                except KitchenError as err:
                    said.wrong(str(err))

    @shown
    def _say_pot(self, _change: Any = None) -> None:
        try:
            before, after = (figure(self.before.value, "Pot before", "g"), figure(self.after.value, "Pot after", "g"))
            if before is None or after is None:
                self.pot_said.say("")
                return
            batch = self._batch(readings=())
            inside = contents(batch.cooked(self._recipe()), batch.evaporated_g)
        except KitchenError as err:
            self.pot_said.wrong(str(err))
        else:
            self.pot_said.say(f"= {before - after:.0f} g evaporated, {100 * inside.loss:.1f} % of what went in.")

    def _recipe(self) -> Recipe:
        if self.version is None:
            raise RecipeError("No recipe is chosen; save one in notebook 0 first.")
        return self.version.recipe

    def _batch(self, readings: tuple[Reading, ...]) -> Batch:
        """The batch as typed so far, with these readings."""
        recipe = self._recipe()
        weighed = []
        for place, ((field, _), line) in enumerate(zip(self._fields, recipe.ingredients, strict=True), start=1):
            weight = grams_typed(field.value, line, self.spoons)
            if weight is not None:
                weighed.append(
                    Weighed(
                        line=place, item=line.item, typed=field.value.strip(), mass_g=weight.mass_g, sd_g=weight.sd_g
                    )
                )
        return Batch(
            title=self.title.value, version=self.number.value, cooked_on=day(self.cooked_on.value), cook=self.cook.value,
            pan=self.pan.value, weighed=tuple(weighed), pot_before_g=figure(self.before.value, "Pot before", "g"),
            pot_after_g=figure(self.after.value, "Pot after", "g"), minutes=figure(self.minutes.value, "Minutes", "min"),
            readings=readings, note=self.note.value,
        )  # fmt: skip

    @shown
    def _keep(self, _button: Any = None) -> None:
        self.kept.append(self.reading.reading())
        self.reading.clear()
        self._show_kept()
        self.draft.keep()
        self.say(f"{len(self.kept)} reading kept; it is saved with the batch.")

    def _many(self) -> list[Reading]:
        """The readings of the table, each with its tool's usual sizes."""
        return [reading_of(*row, number=number) for number, row in enumerate(self.many.filled, start=1)]

    @shown
    def _say_many(self, _change: Any = None) -> None:
        try:
            found = self._many()
        except KitchenError as err:
            self.many_said.wrong(str(err))
            return
        self.many_said.say(
            " ".join(f"Row {n}: {self.reading.describe(each)[0]}" for n, each in enumerate(found, start=1))
        )

    def _show_kept(self) -> None:
        self.kept_said.value = "".join(
            f"<div class='sl-said'>{each.stage}, {each.tool}: {self.reading.describe(each)[0]}</div>"
            for each in self.kept
        )

    @shown
    def _save(self, _button: Any = None) -> None:
        readings = list(self.kept)
        if not self.reading.blank:
            readings.append(self.reading.reading())
        readings += self._many()
        batch = self._batch(tuple(readings))
        cooked = batch.cooked(self._recipe())
        if cooked.too_much_thickener:
            raise BatchError(cooked.too_much_thickener)
        photo = bytes(self.photo.value[0]["content"]) if self.photo.value else b""
        if photo:
            cleaned(photo)  # a file that is no photo is said before anything is saved
        self.saved = self.book.record(batch)
        if photo:
            self.book.attach(self.saved, photo, self.caption.value.strip())
            self.photo.value, self.caption.value = (), ""
        self.back.disabled = False
        self.kept = []
        self.reading.clear()
        self.many.rows = self.many.blank(2)
        self._show_kept()
        self._show_batches()
        self.draft.done()
        self.say(saved_sentence(self.saved, self._recipe()))
        self.answer.say(saved_sentence(self.saved, self._recipe()))

    @shown
    def _take_back(self, _button: Any = None) -> None:
        if self.saved is not None:
            self.book.take_back(self.saved, "taken back in the form")
            self.say(
                f"Batch {self.saved.number} of {self.saved.title} was taken back; it stays in the history of the logbook."
            )
            self.saved = None
            self.back.disabled = True
            self._show_batches()

    def _show_batches(self) -> None:
        self.batches.value = batches_html(self.book, self.title.value) + photos_html(self.book, self.title.value)
