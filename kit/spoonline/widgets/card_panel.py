"""Notebook 4: is it ready to hand over?"""

from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

import ipywidgets as w
from markupsafe import Markup

from spoonline.card import FACES, CardNote, Point, RecipeCard, SignOff, booklet, data_uri, export, file_name
from spoonline.logbook import Logbook
from spoonline.measures.errors import KitchenError, RecipeError
from spoonline.widgets.parts import here, sheets, work
from spoonline.widgets.parts.fields import FORMS, blank, declared, fill, fill_versions, laid_out, put_in
from spoonline.widgets.parts.markup import bullets, download, escaped, fold, for_screen, link, notes
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import figure, said

NO_POINT = ("none is open", "")


class CardPanel(Panel):
    """What is missing first, then the card as it will print, then the files."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        self.card: RecipeCard | None = None
        self.rows = w.VBox()
        self.title, (self.number,) = here.dish_choice(book), declared(self, "a card")
        noted = declared(self, "notes on a card")
        declared(self, "a point signed off", "files of a card", system=here.SYSTEMS, paper=here.SIZES)
        self.system.value, self.paper.value = book.habits.kitchen, book.habits.paper
        self._asked = ""  # the point that was chosen before a note could not be read
        self._stored: CardNote | None = None  # what the logbook holds of the notes in the fields
        self.work = work.LongWork(self, self.hand_over, self.all_cards, self.make_booklet)
        bar = self.bar(self.hand_over, self.printer("Print this card", lambda: sheets.leaves_html(self._handed())))
        self.lay(*laid_out(self, "card"), bar)
        self.preview.add_class("sl-leaves")
        self.watch(self._show, self.number, self.system, self.paper, *noted)
        self.watch(self._blank_reason, self.point)
        self.begin(self.title, self._title_changed, self._show)

    def _title_changed(self) -> None:
        self.undo.offer(None)
        self._blank_reason()
        self._stored = None
        with self.filling_in():
            self.number.options, self.photo.value = [], ""
        self.attempt(self._show)

    def _blank_reason(self) -> None:
        blank(self.reason, self.names, self.may)

    def _noted(self) -> CardNote:
        """The notes as they stand in the form."""
        said.refuse(not self.title.value, "no dish")
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
            fill(self.photo, named)
            if before is None or _typed(before) == [field.value for field in fields]:
                for field, value in zip(fields, _typed(now), strict=True):
                    field.value = value
        self._stored = now

    def card_of(self, title: str, number: int | None = None, day: date | None = None) -> RecipeCard:
        """The card of a dish as this form now prints it: with the notes and the photo that stand in it, where it is the one chosen."""
        habits = self.book.habits.model_copy(update={"kitchen": self.system.value, "paper": self.paper.value})
        own = title == self.title.value
        photo = self.photo.value if own else ""
        card = RecipeCard.from_logbook(self.book, title, number, habits=habits, picture=photo, printed_on=day)
        return replace(card, note=self._noted()) if own else card

    def _show(self) -> None:
        """All of it, of the version that is chosen and the notes as they are typed."""
        self.card = None
        blank(self.answer, *self.places)
        put_in(self.rows, [])
        point = self._asked = self.point.value or self._asked
        with self.filling_in():
            fill(self.point, [NO_POINT])
        self._offer()
        card = self.card = self.card_of(self.title.value, self.number.value)
        left = card.content.open_points
        self.answer.say(said("unfinished" if left[1:] else "one left" if left else "finished", points=len(left)))
        self._list(left)
        self._asked = ""
        open_now = [(each.text[:90], each.key) for each in left if not each.refuses]
        with self.filling_in():
            fill(self.point, open_now or [NO_POINT], point)
        if self.point.value != point:
            self._blank_reason()
        listed = bullets([f"{each.where}: {each.text}" for each in card.remarks] or [said("no remark")])
        self.remarks.value = listed + notes(self.book.dish(card.recipe.title).rests_on)
        self.preview.value = _preview(card)

    def _list(self, points: tuple[Point, ...]) -> None:
        """The open points: each with a link to the notebook that mends it, and a button that leads to its signing off."""
        rows = []
        for number, point in enumerate(points, start=1):
            notebook = FORMS["mended in"].get(point.mend_by, "")  # what this form mends itself has no link
            mend = f" {link(notebook, f'Mend it in {notebook}'.replace('_', ' '))}" if notebook else ""
            jump = self.button(f"Sign point {number} off", partial(self._jump, point.key))
            text = w.HTML(f"<div>{number}. {for_screen(point.text)}{mend}</div>")
            rows.append(w.HBox([text] if point.refuses else [text, jump]).add_class("sl-point"))
        put_in(self.rows, rows)

    def _jump(self, key: str) -> None:
        self.point.value = key
        (self.names if key.startswith("label:") else self.reason).focus()

    def _signed(self) -> SignOff:
        self._noted()  # beside notes that cannot be read no point is shown
        said.refuse(not self.point.value, "no point")
        said.refuse(len(self.reason.value.strip()) < 3, "no reason")
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
        said.refuse(not own, "none signed")
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
        said.refuse(self.card is None, "no card")
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
        self.links.value += notes([said("no photo")] if card.photo is None else [])
        what = "Handed over" if card.finished else "Handed over as a draft"
        try:
            paths = export([card], self._folder())
        except KitchenError as err:
            raise RecipeError(f"{err} The links below give the same files to the browser.") from err
        self.say(f"{what}. Written to the folder {paths[0].parent.name}: {', '.join(path.name for path in paths)}.")

    def _cards(self) -> list[RecipeCard]:
        said.refuse(not self.book.titles(), "no dish")
        return [self.card_of(title, day=date.today()) for title in self.book.titles()]

    def _all_cards(self) -> None:
        folder = self._folder()

        def done(paths: list[Path]) -> None:
            self.say(f"{len(paths)} files written to the folder {paths[0].parent.name}, {len(FACES)} a dish.")

        stopped = said("cards stopped", folder=folder)
        self.work.start(lambda progress: export(self._cards(), folder, progress=progress), done, stopped)

    def _booklet(self) -> None:
        def done(made: bytes) -> None:
            self.links.value = download("recipe-cards.pdf", "application/pdf", made, "Download the booklet (PDF)")
            self.say(said("booklet", cards=len(self.book.titles())))

        self.work.start(lambda progress: booklet(self._cards(), progress=progress), done, said("booklet stopped"))


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
        source = data_uri("image/png", leaf)
        message += Markup(f'<img alt="{alt}" src="{source}">')
    page = f'<iframe title="The card of {title} as a page" sandbox srcdoc="{escaped(card.html())}"></iframe>'
    return message + fold("The same as a page, to read or to hear", Markup(page))
