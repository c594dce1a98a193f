"""Reading a pasted recipe: title, how many it serves, ingredient lines, method."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

from spoonline.measures import split_line
from spoonline.measures.errors import AmountError, RecipeError
from spoonline.recipes.records import Ingredient, Recipe

_FIGURE = r"(\d+(?:[.,]\d+)?)"
_SERVES = re.compile(
    rf"^\s*(?:serves|servings|for)\s*:?\s*{_FIGURE}(?:\s*(?:-|\u2013|to|or)\s*{_FIGURE})?\b", re.IGNORECASE
)
_MAKES = re.compile(r"^\s*(?:makes|yield|yields)\s*:?\s*(.+?)\s*\.?\s*$", re.IGNORECASE)
_MEASURES = re.compile(r"^\s*measures\s*:\s*(\w+)\s*$", re.IGNORECASE)
_NUMBERED = re.compile(r"^\s*(?:step\s*)?\d+\s*[.):]\s+", re.IGNORECASE)
_METHOD = ("method", "steps", "directions")
_BULLET = re.compile(r"^\s*[-*\u2022]\s+")


def fields_from_text(
    text: str, measures: str = "us", decimal: str | None = None, like: Recipe | None = None
) -> dict[str, Any]:
    """Split a pasted recipe into the fields of a ``Recipe``; see :meth:`Recipe.from_text`."""
    lines = [line.rstrip() for line in text.strip().splitlines()]
    if not lines or not lines[0].strip():
        raise RecipeError("No text came; paste a title, then one ingredient a line, a blank line, and the method.")
    fields: dict[str, Any] = {"title": lines[0].strip().lstrip("# ")}
    body = lines[1:]
    head = []
    while body and (not body[0].strip() or _head_of(body[0], measures, decimal)):
        head.append(body.pop(0).strip())
        fields |= _head_of(head[-1], measures, decimal)
        measures = fields.get("measures", measures)
    if like is not None and [line for line in head if line and not _MEASURES.match(line)] == _yield_lines(like):
        fields |= {name: getattr(like, name) for name in ("servings", "servings_high", "yield_g", "yield_l", "makes")}
    ingredients, method = _parted(body)
    if not any(line.strip() for line in ingredients):
        raise RecipeError(f"Only the title {fields['title']!r} came; add one ingredient a line below it.")
    before = {written_line(line, like.measures): line for line in like.ingredients} if like else {}

    def read(line: str, group: str) -> Ingredient | dict[str, Any]:
        plain = _BULLET.sub("", line)
        if plain in before:
            return before[plain].model_copy(update={"group": group})
        return Ingredient.fields_of(plain, measures, decimal) | {"group": group}

    fields["measures"] = measures
    fields["ingredients"] = [
        read(line, group) for group, line in _grouped(ingredients, "ingredients", longest=math.inf)
    ]
    fields["steps"] = [
        {"text": _BULLET.sub("", _NUMBERED.sub("", line)), "group": group}
        for group, line in _grouped(method, *_METHOD, longest=60)
    ]
    return fields


def _parted(body: list[str]) -> tuple[list[str], list[str]]:
    """Ingredient lines and method: the lines up to a blank one, and further blocks of them under headings of their own."""
    blocks: list[list[str]] = [[]]
    for line in body:
        if line.strip():
            blocks[-1].append(line)
        elif blocks[-1]:
            blocks.append([])
    blocks = [block for block in blocks if block]
    count = min(1, len(blocks))
    while count < len(blocks) - 1 and _heads(blocks[count]) and not any(map(_NUMBERED.match, blocks[count])):
        count += 1
    if count == 1 and all(map(_NUMBERED.match, blocks[0])):
        count = 0
    return [line for block in blocks[:count] for line in block], [line for block in blocks[count:] for line in block]


def _heads(block: list[str]) -> bool:
    """Whether a block begins with a heading that is not one of the method's."""
    return block[0].rstrip().endswith(":") and block[0].strip().rstrip(":").casefold() not in _METHOD


def _grouped(lines: list[str], *usual: str, longest: float) -> Iterator[tuple[str, str]]:
    """Lines with the heading that each stands under: a short line that ends with a colon; the usual ones say nothing."""
    group = ""
    for line in filter(None, map(str.strip, lines)):
        if line.endswith(":") and len(line) < longest:
            group = "" if line.rstrip(":").casefold() in usual else line.rstrip(":")
        else:
            yield group, line


def _head_of(line: str, measures: str, decimal: str | None) -> dict[str, Any]:
    """What a line between title and ingredients says: whose measures, how many it serves, what it makes; nothing on any other line."""
    if found := _MEASURES.match(line):
        return {"measures": found[1].lower()}
    if found := _SERVES.match(line):
        low, high = (float((each or "0").replace(",", ".")) for each in found.groups())
        return {"servings": low} if high <= low else {"servings": (low + high) / 2, "servings_high": high}
    if not (found := _MAKES.match(line)):
        return {}
    try:
        head = split_line(found[1], measures, decimal)
    except AmountError:
        return {}
    if head.amount is None:
        return {}
    size = head.amount.middle * (head.amount.measure.size or 0.0)
    kinds = {"mass": {"yield_g": size}, "volume": {"yield_l": size / 1000}}
    return kinds.get(head.amount.measure.kind, {"servings": head.amount.middle}) | {"makes": found[1]}


def written_line(line: Ingredient, measures: str = "us") -> str:
    """A line as it stands in a text, with its part in the dish where that is not what the words say."""
    usual = Ingredient.fields_of(line.line, measures).get("part", "other")
    told = f" [{line.fate}]" if line.fate_from == "told" else ""
    return line.line + (f" [{line.part}]" if line.part != usual else "") + told


def to_text(recipe: Recipe, usual: str = "us") -> str:
    """Write a recipe as the text that :func:`fields_from_text` reads back; whose measures it is in, where they are not the ``usual``."""
    out = [recipe.title, *([f"Measures: {recipe.measures}"] if recipe.measures != usual else []), *_yield_lines(recipe)]
    lines = [(line.group, written_line(line, recipe.measures)) for line in recipe.ingredients]
    steps = [(step.group, f"{number}. {step.text}") for number, step in enumerate(recipe.steps, start=1)]
    return "\n".join([*out, *_with_headings(lines, "Ingredients"), "", *_with_headings(steps, "Method")])


def _yield_lines(recipe: Recipe) -> list[str]:
    """How many it serves and what it makes, a line each."""
    out = []
    by_count = recipe.makes and recipe.yield_g is None and recipe.yield_l is None
    if recipe.servings is not None and not by_count:
        out.append(f"Serves {recipe.serves}")
    if recipe.makes:
        out.append(f"Makes {recipe.makes}")
    elif recipe.yield_g is not None:
        out.append(f"Makes {recipe.yield_g} g")
    elif recipe.yield_l is not None:
        out.append(f"Makes {recipe.yield_l} l")
    return out


def _with_headings(lines: list[tuple[str, str]], usual: str) -> Iterator[str]:
    last = ""
    for group, line in lines:
        if group != last:
            yield f"{group or usual}:"
        yield line
        last = group
