"""The gate between a draft and a finished card: what is missing, each point with where it is mended."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from spoonline.card.content import Point
from spoonline.card.mentions import first_uses, unlisted
from spoonline.card.records import SignOff
from spoonline.card.words import Words
from spoonline.recipes import Recipe, check

WRITE, COOK, DOSE, CARD, LINES = (
    "0_start_here", "1_record_a_batch", "2_set_the_thickness", "4_finish_the_card", "6_ingredients",
)  # fmt: skip
_KINDS = {"two measures": "measures", "by feel": "line", "not understood": "line"}


def points(
    recipe: Recipe, words: Words, *, tested: str, is_tested: bool, saved: bool, labels: Iterable[str], cooling: bool
) -> tuple[Point, ...]:
    """List what keeps a card from being finished.

    Parameters
    ----------
    recipe : Recipe
    words : Words
    tested : str
        What the card says of its batches.
    is_tested, saved : bool
        Whether enough batches landed in the band; whether it is a saved version.
    labels : iterable of str
        Items whose label must be read, or that nobody knows.
    cooling : bool
        Whether the card carries cooling advice.

    Returns
    -------
    tuple of Point
        Keys stay the same while the recipe's line or step stays the same.
    """
    found: list[Point] = []

    def add(key: str, said: str, notebook: str) -> None:
        found.append(Point(key, said, notebook))

    if not saved:
        add("not saved", "This recipe is not saved as a version, so nothing can be proved of it: save it.", WRITE)
    if recipe.target is None:
        add("target", "No thickness target is set: set one.", DOSE)
    if not is_tested:
        add("untested", f"{tested} Cook and record.", COOK)
    if recipe.servings is None and recipe.yield_g is None and recipe.yield_l is None:
        add("yield", "It does not say how many it serves or what it makes: write 'Serves N' or 'Makes N g'.", WRITE)
    if not recipe.steps:
        add("method", "There is no method: add the steps.", WRITE)
    for each in check(recipe).findings:
        if each.kind in _KINDS:
            add(f"{_KINDS[each.kind]}:{each.written}", f"Line {each.line}, {each.written!r}: {each.said}", LINES)
        elif each.kind == "by volume" and recipe.ingredients[each.line - 1].part == "thickener":
            add(f"spooned:{each.written}", f"Spooned thickener, line {each.line}, {each.written!r}: {each.said}", LINES)
    if recipe.steps:
        for number, name in unlisted(recipe, words):
            add(f"unlisted:{number}:{name}", f"Step {number} uses {name}, which is not in the list: add the line, or word the step "
                "without it.", WRITE)  # fmt: skip
        for line, first in zip(recipe.ingredients, first_uses(recipe, words), strict=True):
            if first is None:
                add(f"unused:{line.item}", f"No step uses {line.item}: say when it goes in, or drop the line.", WRITE)
    for item in dict.fromkeys(labels):
        add(f"label:{item}", f"The label of {item} is unchecked: read it, and sign off what it says.", CARD)
    if not cooling:
        add("cooling", "There is no cooling advice: let the card carry its box on made ahead.", CARD)
    return tuple(found)


def signed(found: Iterable[Point], signoffs: Iterable[SignOff], title: str, version: int | None) -> tuple[Point, ...]:
    """The points with their reasons; only those signed off for this very version count, the last one of each."""
    own = {each.point: each for each in signoffs if each.title == title and each.version == version}
    return tuple(
        replace(point, reason=own[point.key].reason, cook=own[point.key].cook) if point.key in own else point
        for point in found
    )
