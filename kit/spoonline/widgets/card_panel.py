"""Notebook 4: is it ready to hand over?"""

import base64
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

import ipywidgets as w
from markupsafe import Markup

from spoonline.card import FACES, CardNote, Point, RecipeCard, SignOff, booklet, export, file_name
from spoonline.logbook import Logbook
from spoonline.measures.errors import KitchenError, RecipeError
from spoonline.widgets.parts.drafts import TakeBack
from spoonline.widgets.parts.fields import choice, fill, fill_versions, folded, heading, put_in, row, text_field, two
from spoonline.widgets.parts.here import SIZES, SYSTEMS, dish_choice
from spoonline.widgets.parts.markup import bullets, download, escaped, fold, for_screen, link, notes
from spoonline.widgets.parts.panel import Panel, blank
from spoonline.widgets.parts.sheets import leaves_html
from spoonline.widgets.parts.typed import figure
from spoonline.widgets.parts.work import LongWork

# Where a point is mended; what this form mends itself has no link.
MENDED_IN = {
    "write": "0_start_here", "cook": "1_at_the_stove", "dose": "2_set_the_thickness", "ingredients": "6_ingredients",
}  # fmt: skip

NO_POINT = ("none is open", "")


class CardPanel(Panel):
    """What is missing first, then the card as it will print, then the files."""

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.card: RecipeCard | None = None
        self.habits = book.habits
        self.rows = w.VBox()
        self.title = dish_choice(book)
        self.number = choice("Version", [])
        self.system = choice("Household measures", SYSTEMS, self.habits.kitchen)
        self.paper = choice("Paper", SIZES, self.habits.paper)
        self.point = choice("Point to sign off", [NO_POINT], "")
        self._asked = ""  # the point that was chosen before a note could not be read
        self.reason = text_field("Why it may stand", hint="label read: no celery, no gluten")
        self.cook = text_field("Signed by")
        self.names = text_field("Of a label: allergens it names", hint="celery, milk; or none")
        self.may = text_field("Of a label: may contain", hint="nuts, sesame; blank: it says nothing")
        self.sign = self.button("Sign this point off", self._sign, self._signed)
        self.unsign = self.button("Take the last sign-off back", self._take_back)
        self.note = text_field("Short note under the title")
        self.prep = text_field("Getting ready, min", hint="blank: not said")
        self.credit = text_field("Recipe by", hint="blank: nobody is named")
        self.photo = choice("Photo", [("none", "")], "")
        boxed = [("where the dish is kept", ""), ("always", True), ("never", False)]
        self.ahead = choice("The box on cooling, keeping and reheating", boxed, "")
        self.keep = self.button("Save these notes", self._keep_note, self._noted)
        self.undo = TakeBack(self, "Take these notes back")
        self._stored: CardNote | None = None  # what the logbook holds of the notes in the fields
        self.remarks, self.preview, self.links = w.HTML(), w.HTML(), w.HTML()
        self.folder = text_field("Folder for the files", "cards")
        self.hand_over = self.button("Hand over the card", self._hand_over, self._noted, primary=True)
        self.all_cards = self.button("Write the cards of all dishes", self._all_cards)
        self.make_booklet = self.button("Make a booklet of all dishes", self._booklet)
        self.work = LongWork(self, self.hand_over, self.all_cards, self.make_booklet)
        notes_kept = w.HBox([self.keep, self.undo])
        files = w.VBox([row(self.system, self.paper, self.folder), self.all_cards, self.make_booklet])
        form = [
            row(self.title, self.number), self.rows,
            heading("Sign off"), self.point, row(self.names, self.may), row(self.reason, self.cook), w.HBox([self.sign, self.unsign]),
            folded("Notes on the card, its photo and its box", row(self.note, self.prep, self.credit, self.photo, self.ahead), notes_kept),
            folded("Measures, paper, where the files go; all dishes", files), self.work, self.links,
            heading("What an editor would say"), self.remarks,
        ]  # fmt: skip
        bar = self.bar(self.hand_over, self.printer("Print this card", lambda: leaves_html(self._handed())))
        super().__init__([two(form, [heading("As it will print"), self.preview.add_class("sl-leaves")]), bar])
        notes_on_it = self.note, self.prep, self.credit, self.ahead
        self.watch(self._show, self.number, self.system, self.paper, self.photo, *notes_on_it)
        self.watch(self._blank_reason, self.point)
        self.begin(self.title, self._title_changed)

    def _title_changed(self) -> None:
        self.undo.offer(None)
        self._blank_reason()
        self._stored = None
        with self.filling_in():
            self.number.options, self.photo.value = [], ""
        self.attempt(self._show)

    def changed(self) -> None:
        """Versions, pots, photos, notes and sign-offs that were saved since; what is chosen and typed stays."""
        super().changed()
        self.habits = self.book.habits
        self.attempt(self._show)

    def _blank_reason(self) -> None:
        blank(self.reason, self.names, self.may)

    def _noted(self) -> CardNote:
        """The notes as they stand in the form."""
        held = {"title": self.title.value, "note": self.note.value, "credit": self.credit.value}
        minutes, ahead = figure(self.prep.value, "Getting ready", "min"), self.ahead.value
        return CardNote(**held, prep_minutes=minutes, made_ahead=None if ahead == "" else ahead)

    def _offer(self) -> None:
        """The versions and photos of the dish; its notes, where nobody has typed others."""
        title = self.title.value
        versions, photos = self.book.all_versions(title), self.book.pictures(title)
        named = [(f"{n}: {each.caption or 'no words yet'}"[:60], each.id) for n, each in enumerate(photos, start=1)]
        before, now = self._stored, [CardNote(title=title), *self.book.kept(CardNote, title)][-1]
        fields = self.note, self.prep, self.credit, self.ahead
        with self.filling_in():
            fill_versions(self.number, versions, self.number.value or versions[-1].number)
            fill(self.photo, [("none", ""), *named])
            if before is None or _typed(before) == [field.value for field in fields]:
                for field, value in zip(fields, _typed(now), strict=True):
                    field.value = value
        self._stored = now

    def card_of(self, title: str, number: int | None = None, printed_on: date | None = None) -> RecipeCard:
        """The card of a dish as this form now prints it: with the notes and the photo that stand in it, where it is the one chosen."""
        habits = self.habits.model_copy(update={"kitchen": self.system.value, "paper": self.paper.value})
        here = title == self.title.value
        picture = self.photo.value if here else ""
        card = RecipeCard.from_logbook(
            self.book, title, number, habits=habits, picture=picture, printed_on=printed_on
        )  # fmt: skip
        return replace(card, note=self._noted()) if here else card

    def _show(self) -> None:
        """All of it, of the version that is chosen and the notes as they are typed."""
        self.card = None
        blank(self.answer, self.remarks, self.preview, self.links)
        put_in(self.rows, [])
        point = self._asked = self.point.value or self._asked
        with self.filling_in():
            fill(self.point, [NO_POINT])
        self._offer()
        card = self.card = self.card_of(self.title.value, self.number.value)
        left = card.content.open_points
        points = f"{len(left)} point is" if len(left) == 1 else f"{len(left)} points are"
        finished = "Finished: nothing is left open. Ready to hand over."
        self.answer.say(f"Not finished: {points} open." if left else finished)
        self._list(left)
        self._asked = ""
        open_now = [(each.text[:90], each.key) for each in left if not each.refuses]
        with self.filling_in():
            fill(self.point, open_now or [NO_POINT], point)
        if self.point.value != point:
            self._blank_reason()
        remarks = [f"{each.where}: {each.text}" for each in card.remarks]
        said = bullets(remarks or ["Nothing: all is used, in order, and in both units."])
        self.remarks.value = said + notes(self.book.dish(card.recipe.title).rests_on)
        self.preview.value = _preview(card)

    def _list(self, points: tuple[Point, ...]) -> None:
        """The open points: each with a link to the notebook that mends it, and a button that leads to its signing off."""
        rows = []
        for number, point in enumerate(points, start=1):
            notebook = MENDED_IN.get(point.mend_by, "")
            mend = f" {link(notebook, f'Mend it in {notebook}'.replace('_', ' '))}" if notebook else ""
            jump = self.button(f"Sign point {number} off", partial(self._jump, point.key))
            text = w.HTML(f"<div>{number}. {for_screen(point.text)}{mend}</div>")
            rows.append(w.HBox([text] if point.refuses else [text, jump]).add_class("sl-point"))
        put_in(self.rows, rows)

    def _jump(self, key: str) -> None:
        self.point.value = key
        (self.names if key.startswith("label:") else self.reason).focus()

    def _signed(self) -> SignOff:
        if not self.point.value:
            raise RecipeError("No point is open, so there is nothing to sign off.")
        if len(self.reason.value.strip()) < 3:
            raise RecipeError("A reason is missing; write why this point may stand, such as what the label says.")
        signed = {"point": self.point.value, "reason": self.reason.value, "cook": self.cook.value}
        signed |= {"contains": self.names.value.strip(), "may_contain": self.may.value.strip()}
        return SignOff(title=self.title.value, version=self.number.value, **signed)

    def _sign(self) -> None:
        record = self.book.keep(self._signed())
        self._blank_reason()
        self.look()
        self.say(f"Signed off for version {record.version}: {record.reason} It is printed on the card.")

    def _take_back(self) -> None:
        own = [each for each in self.book.kept(SignOff, self.title.value) if each.version == self.number.value]
        if not own:
            raise RecipeError("No point of this version is signed off, so there is nothing to take back.")
        self.book.take_back(own[-1])
        self.look()
        self.say(f"Took back the sign-off {own[-1].reason!r}; the point is open again.")

    def _keep_note(self) -> None:
        kept = self.undo.keep(self._noted(), f"the notes on the card of {self.title.value}")
        self.look()
        self.say(f"Saved the notes on the card of {kept.title}.")

    def _folder(self) -> str:
        return self.folder.value.strip() or "cards"

    def _handed(self) -> RecipeCard:
        """The card as it leaves the kitchen: it carries the day it left."""
        if self.card is None:
            raise RecipeError("There is no card to hand over; mend what is said above first.")
        return self.card_of(self.title.value, self.number.value, date.today())

    def _hand_over(self) -> None:
        note = self._noted()
        card = self._handed()
        if _typed(note) != _typed(self._stored or CardNote(title=note.title)):
            self._keep_note()  # what leaves the kitchen is what its logbook holds
        name = file_name(card.recipe.title)
        self.links.value = Markup("").join(
            download(f"{name}.{face.ending}", face.media, card.face(form), f"Download the card {face.label}")
            for form, face in FACES.items()
        )
        if card.photo is None:
            none = "The card for machines has no photo; some search engines ask for one, and none is made up."
            self.links.value += notes([none])
        what = "Handed over" if card.finished else "Handed over as a draft"
        try:
            paths = export([card], self._folder())
        except KitchenError as err:
            raise RecipeError(f"{err} The links below give the same files to the browser.") from err
        self.say(f"{what}. Written to the folder {paths[0].parent.name}: {', '.join(path.name for path in paths)}.")

    def _cards(self) -> list[RecipeCard]:
        return [self.card_of(title, printed_on=date.today()) for title in self.book.titles()]

    def _all_cards(self) -> None:
        folder = self._folder()

        def done(paths: list[Path]) -> None:
            self.say(f"{len(paths)} files written to the folder {paths[0].parent.name}, {len(FACES)} a dish.")

        stopped = f"Stopped. The cards written so far are whole; they stay in the folder {folder}."
        self.work.start(lambda progress: export(self._cards(), folder, progress=progress), done, stopped)

    def _booklet(self) -> None:
        def done(made: bytes) -> None:
            self.links.value = download("recipe-cards.pdf", "application/pdf", made, "Download the booklet (PDF)")
            number = len(self.book.titles())
            self.say(f"A booklet of {number} cards, with contents and index. Its link is at the end of this form.")

        stopped = "Stopped; no booklet was made."
        self.work.start(lambda progress: booklet(self._cards(), progress=progress), done, stopped)


def _typed(note: CardNote) -> list[object]:
    """Notes as they stand in the fields."""
    minutes, ahead = note.prep_minutes, note.made_ahead
    return [note.note, "" if minutes is None else f"{minutes}", note.credit, "" if ahead is None else ahead]


def _preview(card: RecipeCard) -> str:
    """The leaves as they will print, and the page with the same text for whoever reads by ear or wants it larger."""
    title, message = escaped(card.content.title), Markup("")
    try:
        leaves = card.leaves()
    except KitchenError as err:  # what cannot be set on paper is said, and the page still stands
        leaves, message = [], notes([err], "sl-wrong")
    for number, leaf in enumerate(leaves, start=1):
        alt = f"Leaf {number} of {len(leaves)} of the card of {title}; its text is in the page below"
        message += Markup(f'<img alt="{alt}" src="data:image/png;base64,{base64.b64encode(leaf).decode()}">')
    page = f'<iframe title="The card of {title} as a page" sandbox srcdoc="{escaped(card.html())}"></iframe>'
    return message + fold("The same as a page, to read or to hear", Markup(page))
