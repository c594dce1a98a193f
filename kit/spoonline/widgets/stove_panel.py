"""Notebook 1: what is in the pot, how thick is it, and what do I do now?"""

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from typing import Any

import ipywidgets as w

from spoonline.dish import Dish
from spoonline.dose import PotNow, aim_of
from spoonline.logbook import Logbook
from spoonline.measures.errors import BatchError, KitchenError, or_none
from spoonline.pots import Batch, Moment, Reading, read_inside
from spoonline.pots.records import GIVEN
from spoonline.recipes import Recipe, Version
from spoonline.widgets.parts import batch_table, came_out, drafts, here, pot_lines, pot_story, slips, tools
from spoonline.widgets.parts.fields import FORMS, appear, declared, fill_versions, laid_out, watch
from spoonline.widgets.parts.markup import tag
from spoonline.widgets.parts.moments import moment_cells
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import day, degrees, figure, said, size_typed, wanted

SAVE = FORMS["buttons of the stove"]["save"]["button"]
# Fields of plain text that a draft keeps and a new pot begins without.
TYPED = ("size", "cook", "pan", "tare", "before", "after", "minutes", "note", "left_out", "caption", "felt")


class StovePanel(Panel):
    """The pot on the stove: what went in, what it read, what to do now; only what differed from the recipe is typed."""

    _answers_as = ""  # seen, not announced: each field says its own, and the save is announced

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        # The pot that is being corrected.
        self.opened: Batch | None = None
        self.version: Version | None = None
        self.dish: Dish | None = None
        self.now = PotNow()
        self.kitchen = book.habits.kitchen
        self.title = here.dish_choice(book)
        declared(self, "a pot on the stove")
        _, self.cooked_on, *told = declared(self, "a pot, rarely said")
        self.cooked_on.value = date.today().isoformat()
        self.lines = pot_lines.PotLines(book, self._laid)
        self.story = pot_story.PotStory(self, self.tare)
        self.reading, self.event, self.many = self.story.reading, self.story.event, self.story.many
        self.doubt = slips.Doubt(self, self._so_far)
        self.came = came_out.CameOut()
        self.planned = came_out.FromPlan(self, self.lines, self.came)
        declared(self, "buttons of the stove")
        self._was_right: Batch | None = None
        appear(False, self.right)
        self._saved: dict[str, Any] = {}  # what stood in the fields when the last pot was saved
        self.draft = drafts.DraftPart(self, "batch", self._drafted, _from_older)
        self.foot = self.bar(self.save, self.back, self.right)
        answer, buttons, *said_below = self.foot.children
        # what is wrong lies over what follows it, never over its cure
        self.foot.children = answer, buttons, self.doubt, *said_below
        self.lay(*laid_out(self, "stove"))
        self.watch(self._open, self.which)
        self.watch(self._version_changed, self.number)
        self.watch(self._sized, self.size)
        self.watch(lambda: self.pot_message.tell(self._pot_words, self.before, self.after), self.before, self.after)
        self.watch(self._rows_changed, self.many, self.came.outcomes, self.came.varied, trait="rows")
        self.watch(self._rows_changed, self.tare)  # every weighing of the story stands in it
        self.watch(self._plan_chosen, self.planned)
        told += self.cooked_on, self.before, self.after, self.felt, self.note
        self.watch(self._so_far, *told, *self.reading.fields.values(), *self.event.fields.values())
        self.draft.watch(*drafts.named(self, *TYPED).values(), self.reading.temperature, self.reading.values, self.many)
        self.draft.watch(self.event.what, self.event.much)
        watch(self.draft.keep, self.cooked_on, self.reading.tool, self.reading.stage, *self.event.fields.values())
        self.begin(self.title, self._title_changed, self._show_saved)

    def _drafted(self) -> dict[str, Any]:
        """The fields that a draft keeps."""
        found = drafts.named(self, "title", "which", "number", "cooked_on", *TYPED, "planned")
        found |= {f"line {n}": field for n, (field, _) in enumerate(self.lines.fields)}
        found |= self.reading.fields | self.event.fields | {"rows": self.many}
        return found | {"outcomes": self.came.outcomes, "varied": self.came.varied}

    def _title_changed(self) -> None:
        """Begin blank with another dish, or go on with what was typed for it before; what was typed so far stays with its own dish."""
        self._was_right = self.version = self.dish = None
        self.batches.value = ""
        self._so_far()  # nothing of the dish before stands where this one is gone
        before = self.draft.turn_to(self.title.value)
        self.number.options = ()  # begins with the last one
        self._show_batches()
        self.photo.value = ()
        cold = tools.served_cold_c(self._recipe())
        self.reading.temperature.value, self.reading.stage.value = cold, "served" if cold else "hot"
        self.draft.begin(self.reading.temperature)
        self._open()
        drafts.put_back(self._drafted, _from_older(before))

    def _show_saved(self) -> None:
        """The pots of the dish that were saved since; what is typed stays."""
        with self.filling_in():
            self.planned.offer(self.title.value, self.opened, self.planned.value)
            fill_versions(self.number, self.book.all_versions(self.title.value), self.number.value)
        self._list_batches()

    def _list_batches(self) -> None:
        of = self.book, self.title.value
        self.batches.value = batch_table.batches_html(*of) + batch_table.photos_html(*of)

    def _open(self) -> None:
        """Lay a recorded pot open, to be corrected; or begin a new one."""
        batches = {each.id: each for each in self.book.dish(self.title.value).batches}
        self.opened = batch = batches.get(self.which.value)
        self.save.description = f"Save the correction of batch {batch.number}" if batch else SAVE
        self.story.as_told, says, lines = (), "", dict[int, str]()
        told: Sequence[Moment] = ()
        plain = dict.fromkeys(TYPED, "") | {"cooked_on": date.today().isoformat()}
        if batch is not None:
            if batch.version not in [number for _, number in self.number.options]:
                self.which.value = ""
                raise said.error("version gone", batch=batch.number, version=batch.version)
            self.number.value = batch.version
            told = batch.moments or tuple(Moment(kind="read", reading=each) for each in batch.readings)
            figures: dict[str, Any] = {"before": batch.pot_before_g, "after": batch.pot_after_g}
            figures |= {"minutes": batch.minutes, "cooked_on": batch.cooked_on}
            # a weighing that is put right still stands in its pot
            figures["tare"] = next((each.tare_g for each in told if each.tare_g is not None), None)
            plain |= {name: str(value) for name, value in figures.items() if value is not None}
            plain |= {name: getattr(batch, name) for name in ("cook", "pan", "note", "left_out", "felt")}
            lines = {each.line - 1: each.typed for each in batch.weighed}
            says = said("as recorded", batch=batch.number)
        self.story.as_told, fields = told, self._drafted()
        for name, value in plain.items():
            fields[name].value = value
        self.lines.put(lines)
        self.story.clear([moment_cells(each) for each in told])
        self._begin_outcomes()
        self.doubt.begin(recorded=self.opened is not None)
        self.say(says)

    def _begin_outcomes(self) -> None:
        """What earlier pots of the dish had is asked again, and its planned pots are offered."""
        with self.filling_in():
            self.came.begin(self.book.all_batches(self.title.value), self.opened)
            own = (self.opened.plan, self.opened.plan_pot) if self.opened else came_out.NO_PLAN[1]
            self.planned.offer(self.title.value, self.opened, own)
        if self.opened is None:
            self.draft.begin(self.came.outcomes, self.came.varied, self.planned)

    def _plan_chosen(self) -> None:
        """What the chosen pot of a plan asks stands in the fields; of a pot that is laid open, what was recorded stays."""
        if self.opened is None and self.version is not None:
            tonight = size_typed(self.size.value, self.version.recipe)
            if self.planned.fill_in(self.title.value, tonight):
                self.came_fold.selected_index = 0
        self.draft.keep()
        self._so_far()

    def _version_changed(self) -> None:
        chosen = (self.title.value, self.number.value)
        if self.number.value is None or (self.version and chosen == (self.version.title, self.version.number)):
            return
        before = self.version
        version = self.book.version(*chosen)
        # Both or neither: the fields below belong to the version, and the dish may hold one that is damaged.
        self.dish, self.version = self.book.dish(version.title, version.number), version
        dough = version.recipe.kind == "dough"
        self.reading.target = version.recipe.target
        appear(not dough, self.story, self.felt)
        self.came_fold.selected_index = 0 if self.dish.aims or dough else None
        self.lines.lay(version.recipe, before is not None and before.title == version.title)
        self._sized()
        self.reading.show()

    def _laid(self, field: w.Text, say: Callable[[], Any]) -> None:
        self.watch(say, field)
        self.watch(self._so_far, field)
        self.draft.watch(field)

    def _sized(self) -> None:
        """Tonight's amounts beside the fields."""
        self.size_message.tell(self._size_words, self.size)
        self.lines.show(self._tonight())
        if self.planned.value[1] and self.opened is None:
            self.attempt(self._plan_chosen)
        self._so_far()

    def _tonight(self) -> Recipe:
        """The recipe in tonight's size; as written where the size cannot be read."""
        return or_none(size_typed, self.size.value, self._recipe()) or self._recipe()

    def _size_words(self) -> str:
        tonight = size_typed(self.size.value, self._recipe())
        same = tonight is self._recipe()
        return "" if same else f"= {tonight.mass_g:.0f} g in all, {tonight.liquid_l:.3g} L of liquid."

    def _so_far(self) -> None:
        """The pot as typed so far: where it stands and what to do now, on top; what cannot be read yet is said."""
        self.now, wrong, batch = PotNow(), "", None
        try:
            batch = self._batch()
        except KitchenError as err:  # not every field has a place of its own to say it
            self.answer.say("Something typed cannot be read yet.", markup=tag("div", err, class_="sl-note"))
        else:
            if self.dish and not self.opened:
                try:
                    self.now = self.dish.now(batch)
                except KitchenError as err:  # the pot stands, only no remedy does
                    wrong = str(err)
            begun = "Not saved" if self.draft.typed() else "As the recipe says"
            if self.opened and not self.opened.changes(batch):
                begun = f"Batch {self.opened.number} as recorded"
            small = f"{begun}: {batch_table.batch_sentence(batch, self._recipe())}"
            large = self.now.text or wrong
            self.answer.say(large or small, markup=tag("div", small, class_="sl-note") if large else "")
        self.story.show(batch, self.now.remedies)
        self.doubt.ask(self._slips(batch))
        self.save.disabled = not self._may_save()
        # only beside the pot that it speaks of
        appear(self._was_right and self._saved == self._held(), self.right)

    def _slips(self, batch: Batch | None) -> Iterator[slips.Slip]:
        """What is likely a slip in what was typed; what a plan put in is none."""
        if self.version is None:
            return
        recipe, tonight = self.version.recipe, self._tonight()
        pot_g = 1.3 * (batch.cooked(recipe) if batch else tonight).mass_g  # with an empty pot of a third
        lines = self.lines.expected(tonight)
        pots = (self.before, "The pot with everything in"), (self.after, "The pot at the end")
        asked = slips.slips(lines, pots, self.reading, batch, recipe, pot_g, tonight)
        yield from (each for each in asked if (each.field, each.field and each.field.value) not in self.planned.filled)

    def _may_save(self) -> bool:
        """Whether there is something to save: something was typed, and not saved yet."""
        return bool(self.title.options and (self.photo.value or (self.draft.typed() and self._saved != self._held())))

    def _pot_words(self) -> str:
        before, after = figure(self.before.value, "Pot before", "g"), figure(self.after.value, "Pot after", "g")
        if before is None or after is None:
            return ""
        _, inside = read_inside(self._batch(), self._recipe())
        return f"= {before - after:.0f} g evaporated, {100 * inside.loss:.1f} % of what went in."

    def _recipe(self) -> Recipe:
        return wanted(self.version, "no recipe").recipe

    def _batch(self) -> Batch:
        """The pot as typed so far, with its story."""
        told = self.story.moments()
        # neither is kept where nothing was read or weighed, but a slip in it is said
        degrees(self.reading.temperature.value, "Temperature of the food")
        figure(self.tare.value, "The pot empty", "g")
        recipe, tonight = self._recipe(), size_typed(self.size.value, self._recipe())
        # A story of readings alone is told the short way.
        short = not (self.opened and self.opened.moments) and all(each.kind == "read" for each in told)
        readings = tuple(each.reading for each in told if each.reading) if short else ()
        return Batch(
            title=self.title.value, version=self.number.value, cooked_on=day(self.cooked_on.value, self.kitchen), cook=self.cook.value,
            pan=self.pan.value, weighed=self.lines.weighed(recipe, tonight, self.opened),
            pot_before_g=figure(self.before.value, "Pot before", "g"), pot_after_g=figure(self.after.value, "Pot after", "g"),
            minutes=figure(self.minutes.value, "Minutes", "min"),
            readings=readings, moments=() if short else tuple(told), note=self.note.value, felt=self.felt.value,
            left_out=self.left_out.value.strip(), plan=self.planned.value[0], plan_pot=self.planned.value[1], **self.came.typed(),
        )  # fmt: skip

    def _rows_changed(self) -> None:
        self.story.message.tell(self.story.moments)
        self.came.message.tell(self.came.typed)
        self.draft.keep()
        self._so_far()

    def _save(self) -> None:
        batch = self._batch()
        cooked = batch.cooked(self._recipe())
        if cooked.too_much_thickener:
            raise BatchError(cooked.too_much_thickener)
        self.doubt.answered()
        if batch.version not in [each.number for each in self.book.all_versions(batch.title)]:
            self._show_versions()
            raise said.error("version gone since", version=batch.version)
        photo = bytes(self.photo.value[0]["content"]) if self.photo.value else b""
        said.refuse(self.caption.value.strip() and not photo, "caption alone")
        said.refuse(not photo and self._saved == self._held(), "nothing typed")
        what = "batch"
        if self.opened is not None:
            new = {name: getattr(batch, name) for name in Batch.model_fields if name not in GIVEN}
            told = [each.reading for each in self.opened.moments]
            beside = [
                each for each in self.opened.readings if told and each not in told
            ]  # no row of the story shows these
            new["readings"] = (*beside, *batch.readings)
            batch = self.opened.changed(**new)
            said.refuse(not photo and not self.opened.changes(batch), "nothing changed", batch=self.opened.number)
            batch = batch.changed(replaces=self.opened.id, id="", recorded_at=None)
            what = "the correction of batch"
        saved = self.book.record(batch, photo=photo, caption=self.caption.value.strip())
        self.photo.value, self.caption.value = (), ""
        self.back.offer(saved, f"{what} {saved.number} of {saved.title}")
        self.story.clear()
        self._show_batches()
        self.planned.forget()
        self._begin_outcomes()
        self.draft.done()
        done = "Corrected" if saved.replaces else "Saved"
        sentence = f"{done} batch {saved.number} of {saved.title}, {batch_table.batch_sentence(saved, self._recipe())}"
        leads_on = self.dish is not None and (self._recipe().main_thickener or self.dish.aims)
        self.say(f"{sentence} Next: {self.dish.next_text}" if self.dish and leads_on else sentence)
        self.answer.say(sentence)
        self._was_right = saved if saved.felt == "right" and saved.readings else None
        appear(self._was_right, self.right)
        self._saved = self._held()
        self.save.disabled = not self._may_save()

    def _aim_for(self) -> None:
        """The pot that was saved as right says how thick the dish is meant to be."""
        if self._was_right is None or self.version is None:
            return
        recipe = self._recipe()
        aim = aim_of(self._was_right, now=recipe.target)
        note = f"as thick as batch {self._was_right.number}, which was right"
        version = self.book.save(recipe.model_copy(update={"target": aim}), note, parent=self.version.number)
        self.back.offer(version, version.name)
        self._was_right = None
        appear(False, self.right)
        self._title_changed()
        self.say(f"Saved {version.name}: it should show {self.dish.wanted if self.dish else ''}.")

    def _held(self) -> dict[str, Any]:
        return {name: field.value for name, field in self._drafted().items()}

    def _again(self) -> None:
        self._saved = {}
        self._show_batches()
        self._so_far()

    def _show_versions(self) -> None:
        """What was saved or taken back elsewhere since can be chosen, or not."""
        versions, chosen = self.book.all_versions(self.title.value), self.number.value
        numbers = [each.number for each in versions]
        with self.filling_in():
            fill_versions(self.number, versions, chosen if chosen in numbers else numbers[-1])
        self._version_changed()

    def _show_batches(self) -> None:
        title = self.title.value
        self._show_versions()
        if self.version is not None:
            self.dish = self.book.dish(title).at(self.version)
        self._list_batches()
        batches = reversed(self.book.dish(title).batches)
        recorded = [(f"correct batch {each.number} of {each.cooked_on}", each.id) for each in batches]
        self.which.options = [*self.which.always, *recorded]


def _from_older(draft: dict[str, Any]) -> dict[str, Any]:
    """A draft as release 0.1.0 kept it: lines by number, readings as records, sizes by name."""
    lines = {f"line {n}": text for n, text in draft.get("lines", {}).items()}
    sizes = {f"size {name}": text for name, text in draft.get("settings", {}).items()}
    kept = [tools.reading_cells(Reading(**each)) for each in draft.get("kept", [])]
    return draft | lines | sizes | ({"rows": kept} if kept else {})
