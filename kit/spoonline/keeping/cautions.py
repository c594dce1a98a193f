"""What can hurt: a line beside the step it belongs to, the box on what is made ahead, and limits that a cook's own step goes against.

Words, patterns and whose figures they are stand in ``cautions.toml``, with how to read and write them at its head.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.resources import files
from typing import Any

from spoonline import facts
from spoonline.flow import NOT_CLINICAL as NOT_CLINICAL
from spoonline.keeping.places import usual_rule
from spoonline.recipes import Recipe
from spoonline.recipes.cues import cues

_ALL: dict[str, dict[str, Any]] = tomllib.loads(
    (files("spoonline.keeping") / "cautions.toml").read_text(encoding="utf-8")
)
_SENTENCE = re.compile(r"[.;:!?](?:\s|$)|\n|\bthen\b", re.IGNORECASE)
_GAPS = {"...": r"(?:\w+\W+)*?", "..": r"(?:\w+\W+){0,2}?"}
US = usual_rule().jurisdiction
COLD_C = 15.0  # from here down a fridge is meant, no heat
BOX = ("COOLING", "KEEPING", "REHEATING", "LOCAL_CODE")


@lru_cache(maxsize=None)
def _pattern(written: str) -> re.Pattern[str]:
    """A pattern of the table as an expression; its signs are explained at the table's head."""
    parts = []
    for word in written.split():
        sign = word[0] if word[0] in "!-" else ""
        either = "/".join(_ALL["words"].get(each, each) for each in word.removeprefix(sign).split("/")).split("/")
        exact = [re.escape(each).replace(r"\*", r"\w*").replace("_", r"\W+") for each in either]
        if word in _GAPS:
            parts.append(_GAPS[word])
        elif sign == "-":
            parts += [rf"(?<!\b{each}\W)" for each in exact]
        elif sign:
            parts.append(rf"(?!(?:{'|'.join(exact)})\b)")
        else:
            parts.append(rf"\b(?:{'|'.join(exact)})(?!\w)\W*+")
    return re.compile("".join(parts), re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of the table; its columns are explained at the table's head."""

    text: str
    source: str
    kind: str
    jurisdiction: str
    instead: Mapping[str, str] = field(default_factory=dict)
    step: tuple[str, ...] = ()
    last: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    needs_not: tuple[str, ...] = ()
    anywhere: tuple[str, ...] = ()
    nowhere: tuple[str, ...] = ()
    least: str = ""
    most: str = ""

    def words(self, dish: str, whose: str) -> str:
        """The line for a kind of dish, else for an authority."""
        found = (self.instead[each] for each in (dish, *_names(whose)) if each in self.instead)
        return next(found, self.text)

    def is_needed(self, text: str) -> bool:
        """Whether an ingredient line, or a sentence, has what this is about."""
        return _says(self.needs, text) and not _says(self.needs_not, text)

    def places(self, steps: list[tuple[int, str]], lines: tuple[str, ...], title: str) -> Iterator[tuple[int, str]]:
        """Each place where this is said, the best first: the step's number, and what stands between the commas around it."""
        whole = [title, *(sentence for _, sentence in steps)]
        off = self.anywhere and not any(_says(self.anywhere, each) for each in whole)
        if off or any(_says(self.nowhere, each) for each in whole):
            return
        wanted = not self.needs or any(map(self.is_needed, lines))
        unlisted = not any(_says(self.needs, line) for line in lines)
        for patterns, order in ((self.step, steps), (self.last, steps[::-1])):
            for number, sentence, found in (
                (number, sentence, found)
                for pattern in map(_pattern, patterns)
                for number, sentence in order
                for found in pattern.finditer(sentence)
            ):
                before, after = sentence.rfind(",", 0, found.start()) + 1, sentence.find(",", found.end())
                around = sentence[before : after if after >= 0 else None]
                if (wanted or (unlisted and self.is_needed(around))) and not _says(self.unless, around):
                    yield number, around

    def is_broken(self, said: str, whose: str) -> bool:
        """Whether the temperature or the hours that are said go against the limit of the table of limits."""
        minutes, celsius = cues(said)
        if self.least:
            return celsius is not None and COLD_C < celsius < _limit(self.least, "C", whose)
        return not self.most or (minutes is not None and minutes / 60 > _limit(self.most, "h", whose))


def _names(whose: str) -> tuple[str, str]:
    """An authority by its first word, and the one whose limits it goes by where it has none of its own."""
    first = whose.split()[0]
    return first, _ALL["like"].get(first, first)


def _says(patterns: tuple[str, ...], text: str) -> bool:
    return any(_pattern(each).search(text) for each in patterns)


def _limit(name: str, unit: str, whose: str) -> float:
    """A limit for an authority [C or h]; the strictest of all where it has none."""
    rows = [row for row in facts.limits().values() if row.name.startswith(name) and row.unit == unit]
    for own in _names(whose):
        if values := [row.value for row in rows if row.jurisdiction.startswith(own)]:
            return min(values)
    return max(row.value for row in rows) if unit == "C" else min(row.value for row in rows)


_ROWS = {
    part: {
        name: _Row(**{key: tuple(each) if isinstance(each, list) else each for key, each in row.items()})
        for name, row in _ALL[part].items()
    }
    for part in ("beside", "against")
}


def caution(name: str, kind: str = "", whose: str = US) -> str:
    """The words of a caution for a kind of dish and an authority; blank where it is none for that kind.

    Examples
    --------
    >>> caution("HOT_LIQUID", "blended")[:18], caution("HOT_LIQUID", "cold")
    ('Hot thick liquids ', '')
    """
    return _ROWS["beside"][name].words(kind, whose)


def made_ahead(kind: str = "", whose: str = US) -> tuple[str, ...]:
    """Cooling, keeping and reheating of a kind of dish made ahead, and whose word rules."""
    return tuple(filter(None, (caution(name, kind, whose) for name in BOX)))


COOLING, REHEATING, LOCAL_CODE, HOT_LIQUID, PRESSURE, HOT_SUGAR, YOLK, ALLERGENS = map(
    caution, ("COOLING", "REHEATING", "LOCAL_CODE", "HOT_LIQUID", "PRESSURE", "HOT_SUGAR", "YOLK", "ALLERGENS")
)
MADE_AHEAD = made_ahead()


def _sentences(steps: tuple[str, ...]) -> list[tuple[int, str]]:
    return [(number, each) for number, step in enumerate(steps) for each in _SENTENCE.split(step) if each.strip()]


@lru_cache(maxsize=256)
def _beside(
    steps: tuple[str, ...], kind: str, whose: str, lines: tuple[str, ...] = (), title: str = ""
) -> tuple[tuple[str, ...], ...]:
    found: list[list[str]] = [[] for _ in steps]
    sentences = _sentences(steps)
    for row in _ROWS["beside"].values():
        for number, _ in row.places(sentences, lines, title):
            found[number] += filter(None, [row.words(kind, whose)])
            break
    return tuple(map(tuple, found))


def cautions_for(step: str, kind: str = "", whose: str = US) -> tuple[str, ...]:
    """Find the cautions that belong beside a step of the method, for a kind of dish; an empty answer is no approval.

    Examples
    --------
    >>> cautions_for("Puree until smooth.") == (HOT_LIQUID,), cautions_for("Peel the pears.")
    (True, ())
    """
    return _beside((step,), kind, whose)[0]


def cautions_of(recipe: Recipe, note: str = "", whose: str = US) -> tuple[tuple[str, ...], ...]:
    """Find the cautions of a recipe, those of each step in order; each line stands once, beside the step it belongs to.

    Parameters
    ----------
    recipe : Recipe
    note : str
        What else is said of the dish, such as who eats it.
    whose : str
        The authority whose limits stand first, such as "UK".

    Returns
    -------
    tuple of tuple of str
        An empty answer is no approval.

    Examples
    --------
    >>> soup = Recipe(title="Soup", ingredients=["1 kg chicken thighs"], steps=["Peel.", "Simmer 40 minutes."])
    >>> [[line[:14] for line in each] for each in cautions_of(soup)]
    [[], ['Poultry: 74 C ']]
    """
    title = f"{recipe.title}. {recipe.makes}. {note}"
    return _beside(_texts(recipe), recipe.kind, whose, tuple(line.line for line in recipe.ingredients), title)


def against_limits(recipe: Recipe, whose: str = US) -> dict[tuple[int, str], str]:
    """Find steps that go against a limit: the limit and whose it is, by the step's number (from 1) and the row's name.

    Examples
    --------
    >>> against_limits(Recipe(title="Soup", steps=["Simmer.", "Cool on the counter overnight."]))
    {(2, 'OVERNIGHT'): 'no cooked food stands out overnight: 57 to 21 C within 2 h, to 5 C within 6 h in all (US model Food Code 3-501.14)'}
    """
    lines, sentences = tuple(line.line for line in recipe.ingredients), _sentences(_texts(recipe))
    return {
        (number + 1, name): row.words(recipe.kind, whose)
        for name, row in _ROWS["against"].items()
        for number, around in row.places(sentences, lines, recipe.title)
        if row.is_broken(around, whose)
    }


def _texts(recipe: Recipe) -> tuple[str, ...]:
    return tuple(step.text for step in recipe.steps)
