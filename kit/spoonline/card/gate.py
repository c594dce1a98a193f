"""The gate between a draft and a finished card: what is missing, each point with what mends it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from spoonline import keeping
from spoonline.card.content import MendBy, Point, has_thickness
from spoonline.card.mentions import first_uses, unlisted
from spoonline.card.records import SignOff
from spoonline.card.words import Words
from spoonline.recipes import Recipe, check

_KINDS = {"two measures": "measures", "by feel": "line", "not understood": "line"}


def points(
    recipe: Recipe, words: Words, *, evidence: str, is_tested: bool, saved: bool, labels: Iterable[str], cooling: bool,
    whose: str = "us",
) -> tuple[Point, ...]:  # fmt: skip
    """List what keeps a card from being finished.

    Parameters
    ----------
    recipe : Recipe
    words : Words
    evidence : str
        What the card says of its batches.
    is_tested, saved : bool
        Whether enough batches landed in the band; whether it is a saved version.
    labels : iterable of str
        Items whose label must be read, or that nobody knows.
    cooling : bool
        Whether the card carries cooling advice, or needs none.
    whose : str
        Whose limits a step is held against, as in `Habits.jurisdiction`.

    Returns
    -------
    tuple of Point
        Keys stay the same while the recipe's line or step stays the same.
    """
    found: list[Point] = []

    def add(key: str, entry: str, mend_by: MendBy, **figures: object) -> None:
        found.append(Point(key, words.say(f"gate_{entry}", **figures), mend_by))

    if not saved:
        add("not saved", "not_saved", "write")
    read = has_thickness(recipe)
    if recipe.target is None and read:
        add("target", "target", "dose")
    if not is_tested and read:
        add("untested", "untested", "cook", evidence=evidence)
    if recipe.servings is None and recipe.yield_g is None and recipe.yield_l is None:
        add("yield", "yield", "write")
    if not recipe.steps:
        add("method", "method", "write")
    for each in check(recipe).findings:
        figures = {"line": each.line, "written": each.written, "said": words.phrase(each.said)}
        if each.kind in _KINDS:
            add(f"{_KINDS[each.kind]}:{each.written}", "line", "ingredients", **figures)
        elif each.kind == "by volume" and read and recipe.ingredients[each.line - 1].part == "thickener":
            add(f"spooned:{each.written}", "spooned", "ingredients", **figures)
    if recipe.steps:
        for number, name in unlisted(recipe, words):
            add(f"unlisted:{number}:{name}", "unlisted", "write", step=number, item=name)
        for line, first in zip(recipe.ingredients, first_uses(recipe, words), strict=True):
            if first is None:
                add(f"unused:{line.item}", "unused", "write", item=line.item)
    for (number, name), limit in sorted(keeping.against_limits(recipe, whose).items()):
        add(f"limit:{number}:{name}", "limit", "write", step=number, limit=words.phrase(limit))
    for item in dict.fromkeys(labels):
        add(f"label:{item}", "label", "card", item=item)
    if not cooling:
        add("cooling", "cooling", "card")
    return tuple(found)


def signed(found: Iterable[Point], signoffs: Iterable[SignOff], title: str, version: int | None) -> tuple[Point, ...]:
    """The points with their reasons; only what was signed off for this very version, the last one of each."""
    mine = [each for each in signoffs if each.title == title and each.version == version]
    own: dict[str, dict[str, Any]] = {each.point: {"reason": each.reason, "cook": each.cook} for each in mine}
    return tuple(replace(point, **own.get(point.key, {})) for point in found)
