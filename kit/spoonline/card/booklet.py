"""Several cards at once: a booklet as one PDF, and files for all of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from spoonline.card.pdf import to_pdf
from spoonline.card.render import FACES, Face
from spoonline.card.words import words
from spoonline.measures.errors import Progress, RecipeError

if TYPE_CHECKING:
    from spoonline.card.card import RecipeCard


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
    if name not in FACES:
        raise RecipeError(f"There is no card as {name!r} here; choose of {', '.join(FACES)}.")
    return FACES[name]


def write(path: Path, data: bytes) -> Path:
    """Write one file, its folder too; a RecipeError if it cannot be written."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as err:
        raise RecipeError(
            f"The card could not be written to {path.parent.name!r} ({err.strerror}); choose another folder."
        ) from err
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
