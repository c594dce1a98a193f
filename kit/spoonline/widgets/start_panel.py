"""Notebook 0: where am I, and how do I begin?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as w
from markupsafe import Markup

from spoonline.widgets.parts.drafts import DraftPart, TakeBack
from spoonline.widgets.parts.fields import heading, text_field
from spoonline.widgets.parts.habits_part import CarePart, HabitsPart
from spoonline.widgets.parts.here import also_saved, remember
from spoonline.widgets.parts.markup import fold, frame_table, link, notes, tag
from spoonline.widgets.parts.panel import MESSAGES, Message, Panel
from spoonline.widgets.parts.recipe_text import RecipeText, summary

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

# The first page shows so many recipes; the list below it offers all.
MOST = 30


class StartPanel(Panel):
    """The logbook in one table, and a place to paste a recipe."""

    purpose = "the table of the logbook, and the form for a new recipe"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.answer = Message("status", "sl-answer")
        self.overview, self.history = w.HTML(), w.HTML()
        self.text = RecipeText(book, self, "an empty page", below=lambda recipe: notes([summary(recipe)]))
        self.load, self.paste, self.lines = self.text.load, self.text.paste, self.text.lines
        self.note = text_field("What changed, and why", width="54rem")
        drafted = {"began": self.text.began, "paste": self.paste, "note": self.note}
        self.draft = DraftPart(self, book, "recipe", lambda: drafted)
        self.save = self.button("Save this recipe", self._save, primary=True)
        self.back = TakeBack(self, book, "Take back", self._taken_back)
        self.habits, self.care = HabitsPart(book, self), CarePart(book, self)
        super().__init__(
            [
                self.answer, self.overview, self.history, heading("Begin a recipe, or change one"), self.draft, self.text, self.note,
                w.HBox([self.save, self.back]), MESSAGES, self.habits, self.care,
            ]
        )  # fmt: skip
        self.draft.watch(self.paste, self.note)
        self._show()

    def _show(self) -> None:
        self.text.offer()
        titles = self.book.titles()
        if not titles:
            self.answer.say(
                "This logbook is empty. Paste a recipe below: title, one ingredient a line, a blank line, the method."
            )
            self.overview.value = ""
            return
        latest = titles[-MOST:]
        forms = {"Dose, g/L": ".1f", "Last thickness, Pa s (90 % range)": ".2g"}
        caption = f"Logbook {self.book.name}" + (f", the last {MOST} recipes" if len(titles) > MOST else "")
        branches = [
            f"{title}: versions {' and '.join(str(child.number) for child in children)} were both made from version {parent}; "
            "compare them in notebook 3."
            for title in latest
            for parent, children in self.book.branches(title).items()
        ]
        self.overview.value = (
            frame_table([self._row(title) for title in latest], caption, forms)
            + notes(self.book.damaged(latest), "sl-wrong")
            + notes(branches)
        )
        events = (
            self.book.history(last=40)
            .iloc[::-1]
            .set_axis(["When (UTC)", "Who", "What", "Made from, or reason"], axis=1)
        )
        self.history.value = fold("What happened last", frame_table(events))
        note = " Invented data: the winter lunch club of a village hall that does not exist."
        invented = any(self.book.recipe(title).invented for title in latest)
        count = f"{len(titles)} {'recipe' if len(titles) == 1 else 'recipes'} in this logbook."
        self.answer.say(count, markup=tag("b", note) if invented else "")

    def _row(self, title: str) -> dict[str, object]:
        """A dish in the table: how far it has come, and what is next."""
        dish = self.book.dish(title)
        last = dish.last.thickness if dish.last else None
        where = dish.aim.against_band(last.viscosity_pa_s) if last and dish.aim else ""
        return {
            "Recipe": title, "Latest version": dish.number, "Dose, g/L": dish.recipe.dose_g_per_l, "Batches": len(dish.batches),
            "Last thickness, Pa s (90 % range)": last.range if last else "not read",
            "Against the band": f"{where} the band" if where else "no reading yet",
            "Next step": _next_step(title, len(dish.batches), where),
        }  # fmt: skip

    def went_to(self, dish: str) -> None:
        """The next notebook begins with the dish whose link was followed."""
        if dish in self.book.titles():
            remember(self.book, dish)

    def _save(self) -> None:
        recipe = self.text.recipe
        there = recipe.title in self.book.titles()
        held = {each.number for each in self.book.all_versions(recipe.title)} if there else set()
        # What began from a version stays its child, even if somebody saved another meanwhile.
        parent = self.text.began.value.get(recipe.title) if there else None
        version = self.book.save(recipe, self.note.value.strip(), parent=parent)
        self.back.offer(None if version.number in held else version, version.name)
        self.text.began.value[version.title] = version.number
        self.note.value = ""
        self.draft.done()
        self._show()
        questions = len(version.recipe.questions)
        asked = f" {questions} {'line needs' if questions == 1 else 'lines need'} weighing." if questions else ""
        self.say(
            f"Saved {version.name}: {version.recipe.dose_g_per_l:.1f} g/L.{asked} Next: cook it and record the batch in notebook 1."
            + also_saved(self.book, version)
        )

    def _taken_back(self) -> None:
        self.text.began.value.clear()
        self._show()


def _next_step(title: str, batches: int, where: str) -> Markup:
    """What to do next with a dish, as a link to the notebook where it is done."""
    if batches == 0:
        return Markup("cook a first pot; find ") + link("2_set_the_thickness", "its dose", title)
    if where == "inside":
        return Markup("repeat it, then ") + link("4_finish_the_card", "finish the card", title)
    return link("2_set_the_thickness", "set the next dose", title)
