"""The finished recipe card; several at once: a booklet as one PDF, and files for all of them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from spoonline.card.content import CardContent, Photo
from spoonline.card.editor import Remark, read_through
from spoonline.card.gather import gather
from spoonline.card.pdf import known_paper, to_pdf, to_pictures
from spoonline.card.records import CardNote, SignOff
from spoonline.card.render import FACES, Face
from spoonline.card.words import said, words
from spoonline.dish import Dish
from spoonline.measures import Progress, takes_quantities
from spoonline.pots import Batch
from spoonline.recipes import Habits, Recipe, Version

if TYPE_CHECKING:
    from spoonline.dose.priors import Prior
    from spoonline.logbook import Logbook


@dataclass(frozen=True)
class RecipeCard:
    """A recipe with its evidence, ready to print: one content, five faces.

    Parameters
    ----------
    recipe : Recipe
    version : Version, optional
        The saved version; without one the card says "not saved yet".
    batches, versions : sequence of Batch, sequence of Version
        The dish's pots and versions: the pots of this version are the card's evidence, the pots of all versions its dose curve.
    habits : Habits, optional
        The house style: household measures beside the grams, names, decimal mark, unit of temperature, rounding, paper.
    printed_on : date, optional
        Date to print on the card.
    photo : tuple of (bytes, str, str), optional
        File, media type (image/png, image/jpeg or image/webp) and what it shows in words.
    note : CardNote, optional
        Short note, time for getting ready, credit.
    signoffs : sequence of SignOff
        Points of the gate that were signed off with a reason.
    kitchen : callable, optional
        What the kitchen's other dishes taught of a thickener; see :class:`spoonline.dish.Dish`.

    Examples
    --------
    >>> card = RecipeCard(Recipe(title="Mushroom gravy", ingredients=["1 l beef stock", "60 g wheat flour"]))
    >>> "60.0 g of wheat flour per litre of liquid" in card.text(), card.finished
    (True, False)
    """

    recipe: Recipe
    version: Version | None = None
    batches: Sequence[Batch] = ()
    habits: Habits = field(default_factory=Habits)
    printed_on: date | None = None
    photo: tuple[bytes, str, str] | None = None
    note: CardNote | None = None
    signoffs: Sequence[SignOff] = ()
    versions: Sequence[Version] = ()
    kitchen: Callable[[str], Prior] | None = None

    @classmethod
    def from_logbook(
        cls, book: Logbook, title: str, version: int | None = None, *, habits: Habits | None = None, picture: str = "",
        printed_on: date | None = None,
    ) -> RecipeCard:  # fmt: skip
        """The card of a dish with everything that a logbook keeps of it.

        Parameters
        ----------
        book : Logbook
        title : str
        version : int, optional
            The latest unless given.
        habits : Habits, optional
            The kitchen's own unless given.
        picture : str, optional
            Id of the kept photo to print.
        printed_on : date, optional

        Returns
        -------
        RecipeCard
        """
        dish, notes = book.dish(title, version), book.kept(CardNote, title)
        photos = ((book.picture_data(it), it.media, it.caption) for it in book.pictures(title) if it.id == picture)
        photo = next(photos, None)
        return cls(
            dish.recipe, dish.version, dish.batches, habits or book.habits, printed_on, photo, notes[-1] if notes else None,
            book.kept(SignOff, title), dish.versions, dish.kitchen,
        )  # fmt: skip

    @cached_property
    def dish(self) -> Dish:
        """The dish that the card is of."""
        return Dish(self.recipe, self.version, tuple(self.versions), tuple(self.batches), self.kitchen)

    @cached_property
    def content(self) -> CardContent:
        """What the card says, as data."""
        photo = None if self.photo is None else _photo(*self.photo)
        note = self.note or CardNote(title=self.recipe.title)
        return gather(self.dish, self.habits, note, printed_on=self.printed_on, photo=photo, signoffs=self.signoffs)

    @property
    def finished(self) -> bool:
        """Whether no point of the gate is open."""
        return self.content.is_finished

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """What an editor would say of the text."""
        return read_through(self.recipe, self.habits)

    def html(self, paper: str | None = None) -> str:
        """One self-contained page with its own print style; the machine-readable card is inside it."""
        return self.face("html", paper).decode()

    def markdown(self) -> str:
        """The same card as Markdown."""
        return self.face("markdown").decode()

    def json_ld(self) -> str:
        """The same card as JSON-LD (schema.org/Recipe)."""
        return self.face("json_ld").decode()

    def text(self) -> str:
        """The same card as plain text."""
        return self.face("text").decode()

    def leaves(self, paper: str | None = None, kind: str = "png") -> list[bytes]:
        """The leaves of the PDF as pictures (png or svg), just as they print."""
        return to_pictures(self.content, self._paper(paper), kind)

    def pdf(self, path: str | Path, paper: str | None = None) -> Path:
        """Write the card as a tagged PDF (PDF/UA-1), fonts inside.

        Raises
        ------
        RecipeError
            If there is no such paper, or the file cannot be written.
        """
        return write(Path(path), self.face("pdf", paper))

    def face(self, form: str, paper: str | None = None) -> bytes:
        """One face as the bytes of its file: html, pdf, markdown, json_ld, text, or another of ``FACES``.

        Raises
        ------
        RecipeError
            If there is no such face.
        """
        made = known_face(form).make(self.content, self._paper(paper))
        return made.encode() if isinstance(made, str) else made

    def _paper(self, paper: str | None) -> str:
        return known_paper(self.habits.paper if paper is None else paper)


MEDIA = {b"\x89PNG": "image/png", b"\xff\xd8\xff": "image/jpeg", b"RIFF": "image/webp"}


def _photo(data: bytes, media: str, alt: str) -> Photo:
    kinds = [kind for start, kind in MEDIA.items() if data.startswith(start)]
    said.refuse(media not in kinds, "no photo", came=media)
    return Photo(data, media, " ".join(alt.split()))


@takes_quantities
def booklet(
    cards: Sequence[RecipeCard], *, title: str = "", paper: str | None = None, progress: Progress | None = None
) -> bytes:
    """A booklet of cards with contents and an index of ingredients, as one tagged PDF.

    Parameters
    ----------
    cards : sequence of RecipeCard
    title : str
        Title of its first page; "Recipe cards" unless given.
    paper : {"a4", "letter", "a5", "5x8"}, optional
        That of the first card's house style unless given.
    progress : callable, optional
        Called with the number gathered, the number of all, and the title, after each card; setting the pages comes last.

    Returns
    -------
    bytes

    Raises
    ------
    RecipeError
        If there is no card, or no such paper.

    Examples
    --------
    >>> from spoonline.card import RecipeCard
    >>> from spoonline.recipes import Recipe
    >>> gravy = RecipeCard(Recipe(title="Mushroom gravy", ingredients=["1 l beef stock", "60 g wheat flour"]))
    >>> booklet([gravy], title="The winter lunch club")[:5]
    b'%PDF-'
    """
    contents = []
    for done, card in enumerate(cards, start=1):
        contents.append(card.content)
        if progress is not None:
            progress(done, len(cards), card.recipe.title)
    if contents:
        paper = paper or cards[0].habits.paper
        title = title or words(contents[0].language, contents[0].variant).say("booklet")
    return to_pdf(contents, paper=paper or "a4", booklet=title)


def export(
    cards: Sequence[RecipeCard], folder: str | Path, *, formats: Iterable[str] = FACES, paper: str | None = None, among: Sequence[str] = (),
    progress: Progress | None = None,
) -> list[Path]:  # fmt: skip
    """Write the files of many cards into a folder.

    Parameters
    ----------
    cards : sequence of RecipeCard
    folder : str or Path
    formats : iterable of str
        Of html, pdf, markdown, json_ld, text; all of them unless given.
    paper : {"a4", "letter", "a5", "5x8"}, optional
        That of each card's house style unless given.
    among : sequence of str, optional
        All dishes of the logbook, where these cards are some of them, so that each dish keeps its file name.
    progress : callable, optional
        Called with the number done, the number of all, and the title, after each card.

    Returns
    -------
    list of Path
        Files are named after the titles; a second dish of the same file name gets a number.

    Raises
    ------
    RecipeError
        If there is no such format or paper, or the folder cannot be written.
    """
    written: list[Path] = []
    titles = list(among) or [card.recipe.title for card in cards]
    names = [file_name(each) for each in titles]
    chosen = {each: known_face(each).ending for each in formats}
    for done, card in enumerate(cards, start=1):
        name = file_name(card.recipe.title)
        before = names[: titles.index(card.recipe.title) if among else done - 1].count(name)
        name += f"-{before + 1}" if before else ""
        written += [write(Path(folder) / f"{name}.{ending}", card.face(each, paper)) for each, ending in chosen.items()]
        if progress is not None:
            progress(done, len(cards), card.recipe.title)
    return written


def known_face(name: str) -> Face:
    """The face of this name; a RecipeError if there is none."""
    said.refuse(name not in FACES, "no face", came=name, known=", ".join(FACES))
    return FACES[name]


def write(path: Path, data: bytes) -> Path:
    """Write one file, its folder too; a RecipeError if it cannot be written."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as err:
        raise said.error("not written", folder=path.parent.name, why=err.strerror) from err
    return path


def file_name(title: str) -> str:
    """A harmless file name from a title: letters, digits and dashes, at most 60; no name that Windows keeps for a device.

    Examples
    --------
    >>> file_name("Roast parsnip & pear soup"), file_name("../.."), file_name("Con")
    ('roast-parsnip-pear-soup', 'recipe', 'con-recipe')
    """
    name = re.sub(r"[\W_]+", "-", title.casefold()).strip("-")[:60].strip("-") or "recipe"
    return f"{name}-recipe" if re.fullmatch(r"con|prn|aux|nul|(com|lpt)\d", name) else name
