"""The card's wording: one catalogue a language, with what a US or a UK kitchen words otherwise."""

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any, NamedTuple

from spoonline.measures import RecipeError, Sayings, patterns

said = Sayings("said.csv", "card", RecipeError)
TEXT = patterns("text_words.csv", "card")


class Words(NamedTuple):
    """One language's wording.

    Examples
    --------
    >>> words().say("serves", serves="8"), words("en", "us").say("fibre"), words("en", "uk").lang
    ('Serves 8', 'fiber', 'en-GB')
    """

    entries: Mapping[str, str]
    phrases: Mapping[str, str]
    collective: Mapping[str, list[str]]
    editor: Mapping[str, list[str]]
    measures: Mapping[str, str]

    def say(self, key: str, **figures: object) -> str:
        """One entry with its figures filled in; what is filled in is never read as wording."""
        return self.entries[key].format(**figures) if figures else self.entries[key]

    def phrase(self, text: str) -> str:
        """A whole sentence of another room, in this language where the catalogue has it."""
        return self.phrases.get(text, text)

    def measure(self, text: str) -> str:
        """A household measure, its words in this language where the catalogue has them."""
        return re.sub(r"[^\W\d_]+", lambda found: self.measures.get(found[0], found[0]), text)

    @property
    def lang(self) -> str:
        """BCP 47 tag."""
        return self.entries["lang"]


@cache
def words(language: str = "en", variant: str = "") -> Words:
    """Read a catalogue.

    Parameters
    ----------
    language : str
        Such as "en": the file ``words_en.toml``.
    variant : {"", "us", "uk"}
        Whose wording replaces the common one.

    Returns
    -------
    Words

    Raises
    ------
    RecipeError
        If there is no such catalogue.
    """
    path = files("spoonline.card") / f"words_{language}.toml"
    said.refuse(not language.isalpha() or not path.is_file(), "no wording", came=language)
    read: dict[str, Any] = tomllib.loads(path.read_text(encoding="utf-8"))
    entries = read["words"] | {f"gate_{key}": text for key, text in read["gate"].items()} | read.get(variant, {})
    return Words(entries, read["phrases"] | read["names"], read["collective"], read["editor"], read["measures"])
