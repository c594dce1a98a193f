"""The gate between a draft and a finished card: what is missing, each point with what mends it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from spoonline import facts
from spoonline.card.content import AGAINST, MendBy, Point, has_thickness
from spoonline.card.declared import Declared
from spoonline.card.mentions import first_uses, meant, unlisted
from spoonline.card.records import CardNote, SignOff
from spoonline.card.words import Words
from spoonline.recipes import Recipe, check

_KINDS = {"two measures": "measures", "by feel": "line", "not understood": "line"}


def points(
    recipe: Recipe, words: Words, *, evidence: str, is_tested: bool, saved: bool, declared: Declared, note: CardNote
) -> tuple[Point, ...]:
    """List what keeps a card from being finished.

    Parameters
    ----------
    recipe : Recipe
    words : Words
    evidence : str
        What the card says of its batches.
    is_tested, saved : bool
        Whether enough batches landed in the band; whether it is a saved version.
    declared : Declared
        Its allergens, with the labels that must be read.
    note : CardNote
        The note under the title, and whether the card carries cooling advice.

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
    for item in declared.labels:
        add(f"label:{item}", "label", "card", item=item)
    for key, entry, mend_by, figures in _said(recipe, note.note, words, declared):
        add(key, entry, mend_by, **figures)
    if not note.made_ahead:
        add("cooling", "cooling", "card")
    return tuple(found)


def _texts(recipe: Recipe, note: str) -> Iterator[tuple[str, dict[str, int], str]]:
    """Where a cook speaks of the dish, and what is said there."""
    yield "title", {}, recipe.title
    yield "note", {}, note
    for number, step in enumerate(recipe.steps, start=1):
        yield "step", {"step": number}, f"{step.group}: {step.text}"


def _claims(recipe: Recipe, note: str) -> dict[str, tuple[str, dict[str, int], tuple[str, ...], bool]]:
    """What is claimed of the dish, once each: where, the groups against it, and whether it may be told to machines once signed off."""
    items = " ".join(line.item.casefold() for line in recipe.ingredients)
    return {
        said.casefold(): (place, step, against, may)
        for place, step, text in reversed([*_texts(recipe, note)])
        for said, against, may in facts.claims(text)
        if place != "step" or said.casefold() not in items  # "the low-fat yogurt" is the name of what goes in
    }


def _said(
    recipe: Recipe, note: str, words: Words, declared: Declared
) -> Iterator[tuple[str, str, MendBy, dict[str, str]]]:
    """Claims on the dish, and allergens that its title, note or steps name and no line carries."""
    there = (*declared.contains, *declared.may_contain)
    made = _claims(recipe, note)
    for said, (place, step, against, _) in made.items():
        where = words.say(f"gate_in_{place}", **step)
        names = ", ".join(words.phrase(group) for group in against if any(each.group == group for each in there))
        key, entry = (AGAINST, "against") if names else ("claim:", "claim")
        yield f"{key}{said}", entry, "write", {"where": where, "claim": said, "names": names}
    carried = {each.group for each in there}.union(*declared.labels.values())
    for place, step, text in _texts(recipe, note):
        for said in made:
            text = text.casefold().replace(said, " . ")
        for name, found in facts.named_allergens(text):
            new = [
                each.group
                for each in found
                if each.sure and declared.by.name in each.lists and each.group not in carried
            ]
            # A step that names what the tables have figures for is a point of its own already.
            if new and name not in words.editor["not_an_ingredient"] and (place != "step" or not meant(name)):
                figures = {
                    "where": words.say(f"gate_in_{place}", **step),
                    "name": name,
                    "names": ", ".join(map(words.phrase, new)),
                }
                yield f"named:{name}", "named", "write", figures


def unproved(recipe: Recipe, note: str, found: Iterable[Point]) -> tuple[str, ...]:
    """Claims that no machine may read: those that are open, and those that nothing here can prove."""
    left = {
        point.key.partition(":")[2] for point in found if point.key.startswith(("claim:", AGAINST)) and not point.reason
    }
    return tuple(said for said, (*_, may) in _claims(recipe, note).items() if said in left or not may)


def signatures(signoffs: Iterable[SignOff], title: str, version: int | None) -> dict[str, SignOff]:
    """What was signed off for this very version, the last one of each; a label only where it was told what it names."""
    mine = (each for each in signoffs if each.title == title and each.version == version)
    return {each.point: each for each in mine if each.contains is not None or not each.point.startswith("label:")}


def signed(found: Iterable[Point], own: Mapping[str, SignOff]) -> tuple[Point, ...]:
    """The points with their reasons; no reason stands against what the card contains."""
    reasons = {
        key: {"reason": each.reason, "cook": each.cook} for key, each in own.items() if not key.startswith(AGAINST)
    }
    return tuple(replace(point, **reasons.get(point.key, {})) for point in found)
