"""Notebook 4: is it ready to hand over?"""

from __future__ import annotations

import base64
from collections.abc import Callable
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.card import FACES, CardNote, Point, RecipeCard, SignOff, booklet, export, file_name
from spoonline.measures.errors import KitchenError, RecipeError
from spoonline.widgets.parts.drafts import TakeBack
from spoonline.widgets.parts.fields import button, choice, fill_versions, heading, text_field, tick
from spoonline.widgets.parts.here import SIZES, SYSTEMS, dish_choice
from spoonline.widgets.parts.markup import download, escaped, for_screen, link
from spoonline.widgets.parts.panel import MESSAGES, Message, Panel, errors_on_screen
from spoonline.widgets.parts.typed import figure
from spoonline.widgets.parts.work import LongWork

if TYPE_CHECKING:
    from pathlib import Path

    from spoonline.logbook import Logbook

# Where a point is mended; what this form mends itself has no link.
MENDED_IN = {
    "write": "0_start_here",
    "cook": "1_record_a_batch",
    "dose": "2_set_the_thickness",
    "ingredients": "6_ingredients",
}


class CardPanel(Panel):
    """What is missing first, then the card as it will print, then the files."""

    purpose = "the panel that finishes the recipe card"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.card: RecipeCard | None = None
        self.habits = book.habits
        self.answer = Message("status", "sl-answer")
        self.rows = w.VBox()
        self.title = dish_choice(book)
        self.number = choice("Version", [])
        self.system = choice("Household measures", SYSTEMS, self.habits.kitchen)
        self.paper = choice("Paper", SIZES, self.habits.paper)
        self.point = choice("Point to sign off", [("none is open", "")], "")
        self.reason = text_field("Why it may stand", hint="label read: no celery, no gluten")
        self.cook = text_field("Signed by")
        self.sign = button("Sign this point off", self._sign)
        self.unsign = button("Take the last sign-off back", self._take_back)
        self.note = text_field("Short note under the title")
        self.prep = text_field("Getting ready, min", hint="blank: not said")
        self.credit = text_field("Recipe by", hint="blank: nobody is named")
        self.photo = choice("Photo", [("none", "")], "")
        self.ahead = tick("Print the box on cooling, keeping and reheating", True)
        self.keep = button("Keep what stands beside it", self._keep_note)
        self.undo = TakeBack(book, "Take that back", self._guarded, self._note_back)
        self.remarks, self.preview, self.links = Message(), w.HTML(), w.HTML()
        self.folder = text_field("Folder for the files", "cards")
        self.hand_over = button("Hand over the card", self._hand_over, primary=True)
        self.all_cards = button("Write the cards of all dishes", self._all_cards)
        self.make_booklet = button("Make a booklet of all dishes", self._booklet)
        self.work = LongWork(self, self.hand_over, self.all_cards, self.make_booklet)
        form = w.VBox(
            [self.title, self.number, self.system, self.paper,
             heading("Sign off"), self.point, self.reason, self.cook, w.HBox([self.sign, self.unsign]),
             heading("Beside the recipe"), self.note, self.prep, self.credit, self.photo, self.ahead, w.HBox([self.keep, self.undo]),
             heading("What an editor would say"), self.remarks]
        )  # fmt: skip
        printed = w.VBox([heading("As it will print"), self.preview])
        beside = w.HBox([form, printed])
        for part, name in ((beside, "sl-beside"), (form, "sl-form"), (printed, "sl-leaves")):
            part.add_class(name)
        super().__init__(
            [self.answer, self.rows, MESSAGES, beside, heading("The files"), self.folder,
             w.HBox([self.hand_over, self.all_cards, self.make_booklet]), self.work, self.links]
        )  # fmt: skip
        self.add_class("sl-wide")
        self._busy = False
        self.title.observe(self._title_changed, "value")
        for field in (self.number, self.system, self.paper, self.photo):
            field.observe(self._show, "value")
        self.begin(self.title, self._title_changed)

    @errors_on_screen
    def _title_changed(self, _change: Any = None) -> None:
        title = self.title.value
        versions, note, photos = self.book.all_versions(title), self._note(), self.book.pictures(title)
        self._busy = True
        fill_versions(self.number, versions, versions[-1].number)
        named = [(f"{n}: {each.caption or 'no words yet'}"[:60], each.id) for n, each in enumerate(photos, start=1)]
        self.photo.options, self.photo.value = [("none", ""), *named], ""
        self.note.value, self.credit.value, self.ahead.value = note.note, note.credit, note.made_ahead
        self.prep.value = "" if note.prep_minutes is None else f"{note.prep_minutes}"
        self._busy = False
        self._show()

    def _note(self) -> CardNote:
        kept = self.book.kept(CardNote, self.title.value)
        return kept[-1] if kept else CardNote(title=self.title.value)

    def card_of(self, title: str, number: int | None = None, printed_on: date | None = None) -> RecipeCard:
        """The card of a dish as this form now prints it."""
        habits = self.habits.model_copy(update={"kitchen": self.system.value, "paper": self.paper.value})
        picture = self.photo.value if title == self.title.value else ""
        return RecipeCard.from_logbook(self.book, title, number, habits=habits, picture=picture, printed_on=printed_on)

    @errors_on_screen
    def _show(self, _change: Any = None) -> None:
        if self._busy or self.number.value is None:
            return
        card = self.card = self.card_of(self.title.value, self.number.value)
        left = card.content.open_points
        points = f"{len(left)} {'point is' if len(left) == 1 else 'points are'}"
        self.answer.say(
            f"Not finished: {points} open." if left else "Finished: nothing is left open. Ready to hand over."
        )
        self._list(left)
        self.point.options = [(point.text[:90], point.key) for point in left] or [("none is open", "")]
        listed = "".join(f"<li>{for_screen(each.where)}: {for_screen(each.text)}</li>" for each in card.remarks)
        nothing = "" if listed else "Nothing: all is used, in order, and in both units."
        self.remarks.say(nothing, markup=listed and f"<ul>{listed}</ul>")
        self.preview.value = _preview(card)
        self.links.value = ""
        self.say("")

    def _list(self, points: tuple[Point, ...]) -> None:
        """The open points: each with a link to the notebook that mends it, and a button that leads to its signing off."""
        old, rows = self.rows.children, []
        for number, point in enumerate(points, start=1):
            notebook = MENDED_IN.get(point.mend_by, "")
            mend = f" {link(notebook, f'Mend it in {notebook}'.replace('_', ' '))}" if notebook else ""
            jump = button(f"Sign point {number} off", partial(self._jump, point.key))
            rows.append(w.HBox([w.HTML(f"<div>{number}. {for_screen(point.text)}{mend}</div>"), jump]))
            rows[-1].add_class("sl-point")
        self.rows.children = rows
        for row in old:
            for each in (*row.children, row):
                each.close()

    @errors_on_screen
    def _jump(self, key: str, _button: Any = None) -> None:
        self.point.value = key
        self.reason.focus()

    @errors_on_screen
    def _sign(self, _button: Any = None) -> None:
        if not self.point.value:
            raise RecipeError("No point is open, so there is nothing to sign off.")
        if len(self.reason.value.strip()) < 3:
            raise RecipeError("A reason is missing; write why this point may stand, such as what the label says.")
        signed = {"point": self.point.value, "reason": self.reason.value, "cook": self.cook.value}
        record = self.book.keep(SignOff(title=self.title.value, version=self.number.value, **signed))
        self.reason.value = ""
        self._show()
        self.say(f"Signed off for version {record.version}: {record.reason} It stands on the card.")

    @errors_on_screen
    def _take_back(self, _button: Any = None) -> None:
        own = [each for each in self.book.kept(SignOff, self.title.value) if each.version == self.number.value]
        if not own:
            raise RecipeError("No point of this version is signed off, so there is nothing to take back.")
        self.book.take_back(own[-1])
        self._show()
        self.say(f"Took back the sign-off {own[-1].reason!r}; the point is open again.")

    @errors_on_screen
    def _guarded(self, act: Callable[[], Any]) -> None:
        act()

    def _note_back(self, text: str) -> None:
        self._title_changed()
        self.say(text)

    @errors_on_screen
    def _keep_note(self, _button: Any = None) -> None:
        minutes = figure(self.prep.value, "Getting ready", "min")
        beside = {"note": self.note.value, "credit": self.credit.value, "made_ahead": self.ahead.value}
        kept = self.book.keep(CardNote(title=self.title.value, prep_minutes=minutes, **beside))
        self._show()
        self.undo.offer(kept, f"what was kept beside {kept.title}")
        self.say(f"Kept beside {kept.title}.")

    def _folder(self) -> str:
        return self.folder.value.strip() or "cards"

    @errors_on_screen
    def _hand_over(self, _button: Any = None) -> None:
        if self.card is None:
            return
        # What leaves the kitchen carries the day it left.
        card = self.card_of(self.title.value, self.number.value, date.today())
        name = file_name(card.recipe.title)
        self.links.value = "".join(
            download(f"{name}.{face.ending}", face.media, card.face(form), f"Download the card {face.label}")
            for form, face in FACES.items()
        )
        if card.photo is None:
            self.links.value += "<p class='sl-note'>The machines' card has no photo, which some search engines ask for; none is invented.</p>"
        what = "Handed over" if card.finished else "Handed over as a draft"
        try:
            paths = export([card], self._folder())
        except KitchenError as err:
            raise RecipeError(f"{err} The links below give the same files to the browser.") from err
        self.say(f"{what}. Written to the folder {paths[0].parent.name}: {', '.join(path.name for path in paths)}.")

    def _cards(self) -> list[RecipeCard]:
        return [self.card_of(title, printed_on=date.today()) for title in self.book.titles()]

    @errors_on_screen
    def _all_cards(self, _button: Any = None) -> None:
        folder = self._folder()

        def done(paths: list[Path]) -> None:
            self.say(f"{len(paths)} files written to the folder {paths[0].parent.name}, {len(FACES)} a dish.")

        stopped = f"Stopped. The cards written so far are whole; they stay in the folder {folder}."
        self.work.start(lambda told: export(self._cards(), folder, progress=told), done, stopped)

    @errors_on_screen
    def _booklet(self, _button: Any = None) -> None:
        def done(made: bytes) -> None:
            self.links.value = download("recipe-cards.pdf", "application/pdf", made, "Download the booklet (PDF)")
            number = len(self.book.titles())
            self.say(f"A booklet of {number} cards, with contents and index. Its link is at the end of this form.")

        self.work.start(lambda told: booklet(self._cards(), progress=told), done, "Stopped; no booklet was made.")

    def close_all(self) -> None:
        """End what runs, then close the form."""
        self.work.stop()
        super().close_all()


def _preview(card: RecipeCard) -> str:
    """The leaves as they will print, and the page with the same text for whoever reads by ear or wants it larger."""
    title, told = escaped(card.content.title), ""
    try:
        leaves = card.leaves()
    except KitchenError as err:  # what cannot be set on paper is told, and the page still stands
        leaves, told = [], f"<p class='sl-wrong'>{for_screen(err)}</p>"
    pictures = "".join(
        f'<img alt="Leaf {number} of {len(leaves)} of the card of {title}; its text is in the page below" '
        f'src="data:image/png;base64,{base64.b64encode(leaf).decode()}">'
        for number, leaf in enumerate(leaves, start=1)
    )
    return (
        f"{told}{pictures}<details><summary>The same as a page, to read or to hear</summary>"
        f'<iframe title="The card of {title} as a page" sandbox srcdoc="{escaped(card.html())}"></iframe></details>'
    )
