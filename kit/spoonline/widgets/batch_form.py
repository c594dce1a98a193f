"""Notebook 1: what did I cook, and how thick was it?"""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from typing import Any

import ipywidgets as w
from markupsafe import Markup

from spoonline.logbook import Logbook
from spoonline.measures import Weight, print_grams
from spoonline.measures.errors import BatchError, KitchenError, RecipeError
from spoonline.pots import Batch, Moment, Reading, Weighed, contents
from spoonline.recipes import Ingredient, OwnSpoon, Recipe, Version
from spoonline.widgets.parts.batch_table import batch_sentence, batches_html, photos_html
from spoonline.widgets.parts.drafts import DraftPart, TakeBack, named, put_back
from spoonline.widgets.parts.fields import choice, file_field, fill_versions, heading, put_in, text_field, watch
from spoonline.widgets.parts.here import dish_choice
from spoonline.widgets.parts.markup import bullets, fold
from spoonline.widgets.parts.panel import MESSAGES, Message, Panel
from spoonline.widgets.parts.rows_table import RowsTable
from spoonline.widgets.parts.tools import ReadingFields, reading_cells, served_cold_c, typed_reading
from spoonline.widgets.parts.typed import day, figure, grams_typed

NEW, SAVE = ("a new pot", ""), "Save this batch"
READING_COLUMNS = [
    "Stage", "Tool", "Temperature, C", "What it showed", "Sizes, if not the usual", "Does not count, because",
]  # fmt: skip
# Fields of plain text that a draft keeps and a new pot begins without.
TYPED = ("cook", "pan", "before", "after", "minutes", "note", "left_out", "caption")


class BatchForm(Panel):
    """Record a batch: only what differed from the recipe is typed."""

    def __init__(self, book: Logbook) -> None:
        self.book = book
        # The batch that is being corrected, and its readings as they stand in the table.
        self.opened: Batch | None = None
        self._as_read: dict[tuple[str, ...], Reading] = {}
        self.version: Version | None = None
        self.spoons, self.kitchen = book.kept(OwnSpoon), book.habits.kitchen
        # Seen, not announced: each field says its own, and the save is announced.
        self.answer = Message("", "sl-answer")
        self.title = dish_choice(book)
        self.which = choice("Pot", [NEW])
        self.number = choice("Version", [])
        self.cooked_on = text_field("Cooked on", date.today().isoformat(), "year-month-day")
        self.cook = text_field("Cook")
        self.pan = text_field("Pan", "", "such as 24 cm pot, no lid")
        self.lines = w.VBox()
        self._fields: list[tuple[w.Text, Message]] = []
        self.before = text_field("Pot with everything in, g")
        self.after = text_field("The same pot at the end, g")
        self.minutes = text_field("Minutes in between")
        self.pot_message = Message("status", "sl-note")
        self.reading = ReadingFields()
        self.many = RowsTable(label="Readings", columns=READING_COLUMNS, rows=[[""] * 6] * 2)
        self.many_message = Message("status", "sl-note")
        self.story = w.HTML()
        titles = ("Several readings as a table; paste from a spreadsheet",)
        self.many_fold = w.Accordion([w.VBox([self.many, self.many_message])], titles=titles)
        self.more = self.button("Keep this reading, take another", self._keep)
        self.photo = file_field("Photo of the pot or plate", ".png,.jpg,.jpeg,.webp")
        self.caption = text_field("What it shows")
        self.note = text_field("Note")
        self.left_out = text_field("The pot does not count, because", "", "blank: it counts")
        self.save = self.button(SAVE, self._save, primary=True)
        self.back = TakeBack(self, "Take back", self._again)
        self._saved: dict[str, Any] = {}  # what stood in the fields when the last pot was saved
        self.batches = w.HTML()
        self.draft = DraftPart(self, "batch", self._drafted, _from_older)
        super().__init__([
            self.answer, self.draft, heading("1. Which recipe"), self.title, self.which, self.number, self.cooked_on, self.cook, self.pan,
            heading("2. What went in (blank: as written; a number alone is grams; 0 means none)"), self.lines,
            heading("3. The pot"), self.before, self.after, self.minutes, self.pot_message,
            heading("4. How thick"), self.reading, self.more, self.many_fold, self.story,
            heading("5. Save"), self.photo, self.caption, self.note, self.left_out, w.HBox([self.save, self.back]), MESSAGES, self.batches,
        ])  # fmt: skip
        self.watch(self._open, self.which)
        self.watch(self._version_changed, self.number)
        self.watch(lambda: self.pot_message.tell(self._pot_words), self.before, self.after)
        self.watch(self._many_changed, self.many, trait="rows")
        self.watch(self._so_far, self.before, self.after, *self.reading.fields.values())
        self.draft.watch(*named(self, *TYPED).values(), self.reading.temperature, self.reading.values, self.many)
        watch(self.draft.keep, self.cooked_on, self.reading.tool, self.reading.stage)
        self.begin(self.title, self._title_changed)
        self.save.disabled = not self.title.options

    def _drafted(self) -> dict[str, Any]:
        """The fields that a draft keeps."""
        plain = named(self, "title", "which", "number", "cooked_on", *TYPED)
        lines = {f"line {n}": field for n, (field, _) in enumerate(self._fields)}
        return plain | lines | self.reading.fields | {"rows": self.many}

    def _title_changed(self) -> None:
        """Begin blank with another dish, or go on with what was typed for it before; what was typed so far stays with its own dish."""
        session = f"{self.draft.session.partition(' ')[0]} {self.title.value}"
        before = next((each.fields for each in self.book.drafts("batch") if each.session == session), {})
        self.draft.session = session
        versions = self.book.all_versions(self.title.value)
        fill_versions(self.number, versions, versions[-1].number)
        self._version_changed()
        self._show_batches()
        self.photo.value = ()
        cold = served_cold_c(self._recipe())
        self.reading.temperature.value, self.reading.stage.value = cold, "served" if cold else "hot"
        self.draft.begin(self.reading.temperature)
        self._open()
        put_back(self._drafted, before)

    def _open(self) -> None:
        """Lay a recorded batch open, to be corrected; or begin a new pot."""
        found = (each for each in self.book.all_batches(self.title.value) if each.id == self.which.value)
        self.opened = batch = next(found, None)
        self.save.description = f"Save the correction of batch {batch.number}" if batch else SAVE
        self._as_read = {}
        told = bullets(each.text for each in batch.moments) if batch and batch.moments else ""
        self.story.value = fold("Its story in order; a correction keeps it", told) if told else ""
        blank = dict.fromkeys(TYPED, "") | {"cooked_on": date.today().isoformat()}
        if batch is None:
            self._fill(blank, {}, [])
            self.say("")
            return
        if batch.version not in [number for _, number in self.number.options]:
            self.which.value = ""
            raise BatchError(
                f"Batch {batch.number} was cooked from version {batch.version}, which was taken back; bring that back first."
            )
        self.number.value = batch.version
        self._as_read = {tuple(reading_cells(each)): each for each in batch.readings}
        figures: dict[str, Any] = {"before": batch.pot_before_g, "after": batch.pot_after_g}
        figures |= {"minutes": batch.minutes, "cooked_on": batch.cooked_on}
        typed = {name: str(value) for name, value in figures.items() if value is not None}
        typed |= {name: getattr(batch, name) for name in ("cook", "pan", "note", "left_out")}
        lines = {each.line - 1: each.typed for each in batch.weighed}
        self._fill(blank | typed, lines, [list(cells) for cells in self._as_read])
        self.say(f"Batch {batch.number} as recorded. Put it right and save the correction; the history keeps both.")

    def _fill(self, plain: dict[str, str], lines: dict[int, str], rows: list[list[str]]) -> None:
        fields = self._drafted()
        for name, value in plain.items():
            fields[name].value = value
        for n, (field, _) in enumerate(self._fields):
            field.value = lines.get(n, "")
        self.reading.clear()
        self.many.value, self.many_fold.selected_index = rows, 0 if rows else None
        self._so_far()

    def _version_changed(self) -> None:
        chosen = (self.title.value, self.number.value)
        if self.number.value is None or (self.version and chosen == (self.version.title, self.version.number)):
            return
        before, typed = self.version, [field.value for field, _ in self._fields]
        self.version = self.book.version(*chosen)
        self.reading.target = self.version.recipe.target
        self._fields = [self._line_field(line) for line in self.version.recipe.ingredients]
        if before and before.title == self.version.title:  # another version of the dish: what was weighed still was
            weighed = dict(zip((line.item for line in before.recipe.ingredients), typed, strict=True))
            for (field, _), line in zip(self._fields, self.version.recipe.ingredients, strict=True):
                field.value = weighed.get(line.item, "")
        put_in(self.lines, [w.HBox(pair) for pair in self._fields])
        self.reading.show()
        self.many_message.tell(self._many_words)
        self._so_far()

    def _line_field(self, line: Ingredient) -> tuple[w.Text, Message]:
        """The field of one line, and beside it what was put in."""
        fine = line.part in ("thickener", "seasoning")
        written = print_grams(float(line.mass_g), fine=fine) if line.mass_g is not None else line.amount or "to taste"
        field, message = text_field(f"{line.item} ({written})", "", "as written"), Message("status", "sl-note")

        def words() -> str:
            return _weight_words(grams_typed(field.value, line, self.spoons, self.kitchen))

        self.watch(lambda: message.tell(words), field)
        self.watch(self._so_far, field)
        self.draft.watch(field)
        return field, message

    def _so_far(self) -> None:
        """The pot as typed so far, on top; what cannot be read yet is said beside its own field."""
        with suppress(KitchenError):
            batch = self._batch(self._readings())
            begun = "Not saved" if self.draft.typed() else "As the recipe says"
            if self.opened and not self.opened.changes(batch):
                begun = f"Batch {self.opened.number} as recorded"
            self.answer.say(f"{begun}: {batch_sentence(batch, self._recipe())}")

    def _pot_words(self) -> str:
        before, after = figure(self.before.value, "Pot before", "g"), figure(self.after.value, "Pot after", "g")
        if before is None or after is None:
            return ""
        batch = self._batch(readings=())
        inside = contents(batch.cooked(self._recipe()), batch.evaporated_g)
        return f"= {before - after:.0f} g evaporated, {100 * inside.loss:.1f} % of what went in."

    def _recipe(self) -> Recipe:
        if self.version is None:
            raise RecipeError("No recipe is chosen; save one in notebook 0 first.")
        return self.version.recipe

    def _batch(self, readings: tuple[Reading, ...]) -> Batch:
        """The batch as typed so far, with these readings."""
        weighed, old = [], {each.line: each for each in (self.opened.weighed if self.opened else ())}
        pairs = zip(self._fields, self._recipe().ingredients, strict=True)
        for number, ((field, _), line) in enumerate(pairs, start=1):
            typed, before = field.value.strip(), old.get(number)
            if before and (before.typed, before.item) == (typed, line.item):
                weighed.append(before)  # as it was weighed then, whatever spoons were weighed since
            elif weight := grams_typed(typed, line, self.spoons, self.kitchen):
                mass = {"mass_g": weight.mass_g, "sd_g": weight.sd_g}
                weighed.append(Weighed(line=number, item=line.item, typed=typed, **mass))
        return Batch(
            title=self.title.value, version=self.number.value, cooked_on=day(self.cooked_on.value), cook=self.cook.value,
            pan=self.pan.value, weighed=tuple(weighed), pot_before_g=figure(self.before.value, "Pot before", "g"),
            pot_after_g=figure(self.after.value, "Pot after", "g"), minutes=figure(self.minutes.value, "Minutes", "min"),
            readings=readings, moments=self._moments(readings), note=self.note.value, left_out=self.left_out.value.strip(),
        )  # fmt: skip

    def _moments(self, readings: tuple[Reading, ...]) -> tuple[Moment, ...]:
        """The story of the batch that is corrected, each reading in it as it stands in the form; a further one was read at the end."""
        if self.opened is None or not self.opened.moments:
            return ()
        story, further = [], [each for each in readings if each not in self.opened.readings]
        for moment in self.opened.moments:
            if (old := moment.reading) is not None and old not in readings:
                # what was put right stands for the one of its stage, or else of its row
                row = self.opened.readings.index(old)
                alike = [each for each in further if each.stage == old.stage]
                alike = alike or [each for each in readings[row : row + 1] if each in further]
                if not alike:
                    continue
                further.remove(alike[0])
                moment = moment.changed(reading=alike[0])
            story.append(moment)
        return (*story, *(Moment(kind="read", reading=each) for each in further))

    def _keep(self) -> None:
        """The reading goes into the table, where it can still be mended."""
        rows = [*self.many.value, reading_cells(self.reading.reading())]
        self.reading.clear()
        self.many.value, self.many_fold.selected_index = rows, 0
        self.say(f"Kept: {len(rows)} in the table now; they are saved with the batch.")

    def _many_changed(self) -> None:
        self.many_message.tell(self._many_words)
        self.draft.keep()

    def _many(self) -> list[Reading]:
        """The readings of the table."""
        found = []
        for number, cells in enumerate(self.many.value, start=1):
            try:
                found.append(self._as_read.get(tuple(cells)) or typed_reading(*cells))
            except KitchenError as err:
                raise type(err)(f"Row {number}: {err}") from err
        return found

    def _many_words(self) -> str:
        rows = (f"Row {n}: " + self.reading.describe(each) for n, each in enumerate(self._many(), start=1))
        return Markup(" ").join(rows)

    def _readings(self) -> tuple[Reading, ...]:
        """Every reading that is typed, in the order they were taken."""
        return (*self._many(), *([] if self.reading.blank else [self.reading.reading()]))

    def _save(self) -> None:
        batch = self._batch(self._readings())
        cooked = batch.cooked(self._recipe())
        if cooked.too_much_thickener:
            raise BatchError(cooked.too_much_thickener)
        photo = bytes(self.photo.value[0]["content"]) if self.photo.value else b""
        if self.caption.value.strip() and not photo:
            raise BatchError(
                "What it shows: a caption came without a photo; choose the photo with it, or clear the caption."
            )
        if not photo and self._saved == self._held():
            raise BatchError(
                "Nothing was typed since the last pot was saved; type what differed, or a note, then save the next one."
            )
        what = "batch"
        if self.opened is not None:
            if not photo and not self.opened.changes(batch):
                raise BatchError(f"Nothing of batch {self.opened.number} was changed, so there is nothing to save.")
            new = batch.model_dump(exclude={"id", "number", "recorded_at", "replaces"})
            batch = self.opened.changed(**new, replaces=self.opened.id, id="", recorded_at=None)
            what = "the correction of batch"
        saved = self.book.record(batch, photo=photo, caption=self.caption.value.strip())
        self.photo.value, self.caption.value = (), ""
        self.back.offer(saved, f"{what} {saved.number} of {saved.title}")
        self.reading.clear()
        self.many.value = []
        self._show_batches()
        self.draft.done()
        done = "Corrected" if saved.replaces else "Saved"
        sentence = f"{done} batch {saved.number} of {saved.title}, {batch_sentence(saved, self._recipe())}"
        self.say(sentence)
        self.answer.say(sentence)
        self._saved = self._held()

    def _held(self) -> dict[str, Any]:
        return {name: field.value for name, field in self._drafted().items()}

    def _again(self) -> None:
        self._saved = {}
        self._show_batches()
        self._so_far()

    def _show_batches(self) -> None:
        title = self.title.value
        self.batches.value = batches_html(self.book, title) + photos_html(self.book, title)
        batches = self.book.all_batches(title)
        recorded = [(f"correct batch {each.number} of {each.cooked_on}", each.id) for each in reversed(batches)]
        self.which.options = [NEW, *recorded]


def _from_older(draft: dict[str, Any]) -> dict[str, Any]:
    """A draft as release 0.1.0 kept it: lines by number, readings as records, sizes by name."""
    lines = {f"line {n}": text for n, text in draft.get("lines", {}).items()}
    sizes = {f"size {name}": text for name, text in draft.get("settings", {}).items()}
    rows = {"rows": [reading_cells(Reading(**each)) for each in draft["kept"]]} if "kept" in draft else {}
    return draft | lines | sizes | rows


def _weight_words(weight: Weight | None) -> str:
    return "" if weight is None else f"= {weight.mass_g:.4g} g, give or take {weight.sd_g:.2g} g ({weight.basis})"
