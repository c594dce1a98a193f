"""The card on paper: tagged PDF/UA-1 through typst, which carries its own fonts and needs nothing of the system."""

import json
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import asdict
from functools import cache
from importlib.resources import files
from typing import Any

from spoonline.card.content import TURNS, CardContent
from spoonline.card.page import FIGURES, lay_out
from spoonline.card.words import said, words
from spoonline.flow.mat import FONTS, fonts
from spoonline.recipes.fates import singular

# Each with its size as style sheets write it; the sizes of a PDF page stand in the template.
PAPERS = {"a4": "A4", "letter": "letter", "a5": "A5", "5x8": "5in 8in"}


def known_paper(paper: str) -> str:
    """The paper asked for, if there is such; a RecipeError if not."""
    said.refuse(paper not in PAPERS, "no paper", came=paper, known=", ".join(PAPERS))
    return paper


def to_pdf(contents: Sequence[CardContent], *, paper: str = "a4", booklet: str | None = None) -> bytes:
    """One card, or a booklet of several with contents and an index of ingredients, as one PDF.

    Parameters
    ----------
    contents : sequence of CardContent
    paper : {"a4", "letter", "a5", "5x8"}
    booklet : str, optional
        Title of the booklet; without it the first card is printed alone.

    Returns
    -------
    bytes
        The same for the same cards.

    Raises
    ------
    RecipeError
        If there is no card, no such paper, or the picture cannot be printed.

    Notes
    -----
    A character that no font here has (an emoji) is printed as its Unicode name in brackets, so that it is read and not lost.
    """
    return bytes(_compiled(_data(contents, paper, booklet)))


def to_pictures(content: CardContent, paper: str = "a4", kind: str = "png") -> list[bytes]:
    """The leaves of a card as pictures (png or svg), just as they print."""
    made: bytes | list[bytes] = _compiled(_data([content], paper, None), kind)
    return [made] if isinstance(made, bytes) else made


def _data(contents: Sequence[CardContent], paper: str, booklet: str | None) -> dict[str, Any]:
    said.refuse(not contents, "no card")
    wording = words(contents[0].language, contents[0].variant)
    index: dict[str, tuple[str, list[int]]] = {}
    cards = []
    for number, content in enumerate(contents):
        page = lay_out(content)
        # typst reads no base64: a picture travels as its bytes in figures.
        photo = list(content.photo.data) if content.photo else []
        cards.append(asdict(page) | {"photo": photo})
        for item in {line.item: 0 for line in content.lines}:  # singular and plural are one entry, under the longer
            longest, numbers = index.get(key := " ".join(map(singular, item.split())), ("", []))
            index[key] = (max(longest, item, key=len), list(dict.fromkeys([*numbers, number])))
    return {
        "book": booklet is not None, "title": contents[0].title if booklet is None else booklet, "lang": wording.lang,
        "paper": known_paper(paper), "cards": cards, "contents": wording.say("contents"), "index_title": wording.say("index"),
        "figures": FIGURES, "overleaf": wording.say("overleaf"),
        "index": sorted(index.values(), key=lambda each: each[0].casefold()),
    }  # fmt: skip


def _compiled(data: dict[str, Any], picture: str = "") -> Any:
    import typst

    template = (files("spoonline.card") / "templates" / "card.typ").read_bytes()

    def made(text: str) -> Any:
        how: dict[str, Any] = {"format": picture, "ppi": 96} if picture else {"pdf_standards": ["ua-1"]}
        return typst.compile(template, sys_inputs={"data": text}, font_paths=fonts(), timestamp=0, **how)

    text = TURNS.sub("", json.dumps(data, ensure_ascii=False))
    try:
        try:
            return made(text)
        except typst.TypstError as err:
            if not re.search("displayed|codepoint", str(err)):
                raise
            return made(_with_names(text))
    except (typst.TypstError, RuntimeError) as err:
        why = " ".join(str(err).split())[:160]
        raise said.error("not set", why=why) from err


@cache
def _shown() -> frozenset[int]:
    """Characters that the fallback font has."""
    import matplotlib
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(f"{matplotlib.get_data_path()}{FONTS}/DejaVuSans.ttf").get_charmap()) - {0xFEFF}


def _with_names(text: str) -> str:
    """The same JSON text with every character that cannot be shown written as its name."""
    return "".join(each if ord(each) in _shown() else _named(each) for each in text)


def _named(character: str) -> str:
    if unicodedata.category(character) in ("Cf", "Mn", "Cc") or 0xFE00 <= ord(character) <= 0xFE0F:
        return ""
    return f"[{unicodedata.name(character, f'U+{ord(character):04X}').lower()}]"
