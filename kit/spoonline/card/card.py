"""The finished recipe card."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from spoonline.card.booklet import known_face, write
from spoonline.card.content import CardContent, Photo
from spoonline.card.editor import Remark, read_through
from spoonline.card.gather import gather
from spoonline.card.pdf import known_paper, to_pictures
from spoonline.card.records import CardNote, SignOff
from spoonline.dish import Dish
from spoonline.measures.errors import RecipeError
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
    if media not in (kind for start, kind in MEDIA.items() if data.startswith(start)):
        raise RecipeError(
            f"The photo came as {media!r} and is no such file; give a PNG, JPEG or WebP file, or leave it out."
        )
    return Photo(data, media, " ".join(alt.split()))
