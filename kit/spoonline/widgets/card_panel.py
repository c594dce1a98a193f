"""Notebook 4: is it ready to hand over?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.card import FORMATS, PAPERS, CardNote, Point, RecipeCard, SignOff, booklet, file_name
from spoonline.measures.errors import KitchenError, RecipeError
from spoonline.widgets.here import SYSTEMS, dish_choice, habits_of
from spoonline.widgets.panel import (
    SAID,
    Line,
    Panel,
    button,
    choice,
    download,
    escaped,
    fill_versions,
    heading,
    said,
    shown,
    text_field,
)

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

FACES = {
    "html": ("text/html", "Download the card as a page (HTML)"),
    "pdf": ("application/pdf", "Download the card for paper (PDF)"),
    "markdown": ("text/markdown", "Download the card as Markdown"),
    "json_ld": ("application/ld+json", "Download the card for machines (JSON-LD)"),
    "text": ("text/plain", "Download the card as plain text"),
}
SIZES = {"a4": "A4", "letter": "US letter", "a5": "A5", "5x8": "card, 5 x 8 in"}


class CardPanel(Panel):
    """What is missing first, then the card as it will print, then the files."""

    purpose = "the panel that finishes the recipe card"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.card: RecipeCard | None = None
        titles = book.titles()
        self.habits = habits_of(book)
        self.answer = Line("status", "sl-answer")
        self.title = dish_choice(book)
        self.number = choice("Version", [])
        self.system = choice("Household measures", SYSTEMS, self.habits.kitchen)
        self.paper = choice("Paper", [(SIZES[each], each) for each in PAPERS], self.habits.paper)
        self.point = choice("Point to sign off", [("none is open", "")], "")
        self.reason = text_field("Why it may stand", hint="label read: no celery, no gluten")
        self.cook = text_field("Signed by")
        self.sign = button("Sign this point off", self._sign)
        self.unsign = button("Take the last sign-off back", self._take_back)
        self.note = text_field("Short note under the title")
        self.prep = text_field("Getting ready [min]", hint="blank: not said")
        self.photo = choice("Photo", [("none", "")], "")
        self.ahead = w.Checkbox(value=True, description="Print the box on cooling, keeping and reheating", indent=False)
        self.keep = button("Keep the note", self._keep_note)
        self.remarks = Line("", "")
        self.preview = w.HTML()
        self.folder = text_field("Folder for the files", "cards")
        self.hand_over = button("Hand over the card", self._hand_over, primary=True)
        self.make_booklet = button("Make a booklet of all dishes", self._booklet)
        self.links = w.HTML()
        super().__init__(
            [self.answer, self.title, self.number, self.system, self.paper, SAID,
             heading("Sign off"), self.point, self.reason, self.cook, w.HBox([self.sign, self.unsign]),
             heading("Beside the recipe"), self.note, self.prep, self.photo, self.ahead, self.keep,
             heading("What an editor would say"), self.remarks, heading("As it will print"), self.preview,
             heading("The files"), self.folder, w.HBox([self.hand_over, self.make_booklet]), self.links]
        )  # fmt: skip
        self._busy = False
        self.title.observe(self._title_changed, "value")
        for field in (self.number, self.system, self.paper, self.photo):
            field.observe(self._show, "value")
        if titles:
            self._title_changed()
        else:
            self.say_wrong("This logbook holds no recipe yet; save one in notebook 0 first.")

    @shown
    def _title_changed(self, _change: Any = None) -> None:
        title = self.title.value
        versions = self.book.all_versions(title)
        pictures = self.book.pictures(title)
        note = self._note()
        self._busy = True
        fill_versions(self.number, versions, versions[-1].number)
        named = [
            (f"{place}: {each.caption or 'no words yet'}"[:60], each.id) for place, each in enumerate(pictures, start=1)
        ]
        self.photo.options = [("none", ""), *named]
        self.photo.value = ""
        self.note.value, self.ahead.value = note.note, note.made_ahead
        self.prep.value = "" if note.prep_minutes is None else f"{note.prep_minutes}"
        self._busy = False
        self._show()

    def _note(self) -> CardNote:
        kept = self.book.kept(CardNote, self.title.value)
        return kept[-1] if kept else CardNote(title=self.title.value)

    def card_of(self, title: str, number: int | None = None) -> RecipeCard:
        """The card of a dish as this form now prints it."""
        version = self.book.version(title, number)
        notes = self.book.kept(CardNote, title)
        photo = None
        for each in self.book.pictures(title):
            if each.id == self.photo.value and title == self.title.value:
                photo = (self.book.picture_data(each), each.media, each.caption)
        return RecipeCard(
            version.recipe, version, self.book.all_batches(title),
            habits=self.habits.model_copy(update={"kitchen": self.system.value, "paper": self.paper.value}),
            photo=photo, note=notes[-1] if notes else None, signoffs=self.book.kept(SignOff, title),
        )  # fmt: skip

    @shown
    def _show(self, _change: Any = None) -> None:
        if self._busy or self.number.value is None:
            return
        card = self.card = self.card_of(self.title.value, self.number.value)
        left = card.content.open_points
        if left:
            text = f"Not finished: {len(left)} {'point is' if len(left) == 1 else 'points are'} open."
        else:
            text = "Finished: nothing is left open. Ready to hand over."
        self.answer.say(text, markup=_listed(left))
        self.point.options = [(point.said[:90], point.key) for point in left] or [("none is open", "")]
        remarks = card.remarks
        self.remarks.say(
            "" if remarks else "Nothing: all is used, in order, and in both units.",
            markup="<ul>" + "".join(f"<li>{said(each.where)}: {said(each.said)}</li>" for each in remarks) + "</ul>"
            if remarks
            else "",
        )
        page = escaped(card.html())
        self.preview.value = (
            f'<iframe title="Preview of the card of {escaped(card.content.title)}" sandbox srcdoc="{page}" '
            'style="width:100%;height:34rem;border:1px solid #bdbdbd;background:#fff"></iframe>'
        )
        self.links.value = ""
        self.say("")

    @shown
    def _sign(self, _button: Any = None) -> None:
        if not self.point.value:
            raise RecipeError("No point is open, so there is nothing to sign off.")
        if len(self.reason.value.strip()) < 3:
            raise RecipeError("A reason is missing; write why this point may stand, such as what the label says.")
        record = self.book.keep(
            SignOff(
                title=self.title.value, version=self.number.value, point=self.point.value, reason=self.reason.value,
                cook=self.cook.value,
            )
        )  # fmt: skip
        self.reason.value = ""
        self._show()
        self.say(f"Signed off for version {record.version}: {record.reason} It stands on the card.")

    @shown
    def _take_back(self, _button: Any = None) -> None:
        own = [each for each in self.book.kept(SignOff, self.title.value) if each.version == self.number.value]
        if not own:
            raise RecipeError("No point of this version is signed off, so there is nothing to take back.")
        self.book.take_back(own[-1])
        self._show()
        self.say(f"Took back the sign-off {own[-1].reason!r}; the point is open again.")

    @shown
    def _keep_note(self, _button: Any = None) -> None:
        old = self._note()
        self.book.keep(
            CardNote(
                title=self.title.value, note=self.note.value, prep_minutes=self.prep.value or None, credit=old.credit,
                made_ahead=self.ahead.value,
            )
        )  # fmt: skip
        self._show()
        self.say(f"Kept beside {self.title.value}.")

    @shown
    def _hand_over(self, _button: Any = None) -> None:
        if self.card is None:
            return
        name = file_name(self.card.recipe.title)
        files = {form: self.card.face(form) for form in FACES}
        self.links.value = "".join(
            download(f"{name}.{FORMATS[form]}", kind, files[form], label) for form, (kind, label) in FACES.items()
        )
        what = "Handed over" if self.card.finished else "Handed over as a draft"
        try:
            paths = self.card.write(self.folder.value.strip() or "cards", tuple(FACES))
        except KitchenError as err:
            raise RecipeError(f"{err} The links below give the same files to the browser.") from err
        self.say(f"{what}. Written to the folder {paths[0].parent.name}: {', '.join(path.name for path in paths)}.")

    @shown
    def _booklet(self, _button: Any = None) -> None:
        cards = []
        titles = self.book.titles()
        for done, title in enumerate(titles, start=1):
            cards.append(self.card_of(title))
            self.say(f"{done} of {len(titles)} cards gathered.")
        data = booklet(cards, paper=self.paper.value)
        self.links.value = download("recipe-cards.pdf", "application/pdf", data, "Download the booklet (PDF)")
        self.say(f"A booklet of {len(cards)} cards, with contents and index. Its link is at the end of this form.")


def _listed(points: tuple[Point, ...]) -> str:
    """The open points, each with a link to the notebook where it is mended."""
    rows = "".join(
        f"<li>{said(point.said)} "
        + (
            "Below."
            if point.notebook.startswith("4")
            else f"<a href='{point.notebook}.ipynb'>Open {escaped(point.notebook.replace('_', ' '))}</a>"
        )
        + "</li>"
        for point in points
    )
    return f"<ul class='sl-said'>{rows}</ul>" if rows else ""


def missing_points(card: RecipeCard) -> list[str]:
    """What keeps a card from being finished, one sentence a point."""
    return [point.said for point in card.content.open_points]
