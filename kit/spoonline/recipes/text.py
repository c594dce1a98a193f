"""Reading a pasted recipe: title, how many it serves, ingredient lines, method."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

from spoonline.measures import parse_amount
from spoonline.measures.errors import AmountError, RecipeError
from spoonline.recipes.records import Ingredient, Recipe

_SERVES = re.compile(r"^\s*(?:serves|servings|for)\s*:?\s*(\d+(?:[.,]\d+)?)\b", re.IGNORECASE)
_MAKES = re.compile(r"^\s*(?:makes|yield|yields)\s*:?\s*(?:about\s+)?(.+?)\s*\.?\s*$", re.IGNORECASE)
_NUMBERED = re.compile(r"^\s*(?:step\s*)?\d+\s*[.):]\s+", re.IGNORECASE)
_BULLET = re.compile(r"^\s*[-*\u2022]\s+")


def fields_from_text(text: str) -> dict[str, Any]:
    """Split a pasted recipe into the fields of a ``Recipe``; see :meth:`Recipe.from_text`."""
    lines = [line.rstrip() for line in text.strip().splitlines()]
    if not lines or not lines[0].strip():
        raise RecipeError("No text came; paste a title, then one ingredient a line, a blank line, and the method.")
    fields: dict[str, Any] = {"title": lines[0].strip().lstrip("# ")}
    body = lines[1:]
    while body and (not body[0].strip() or _yield_of(body[0])):
        fields |= _yield_of(body.pop(0))
    split = next((place for place, line in enumerate(body) if not line.strip()), len(body))
    ingredients, method = body[:split], body[split:]
    if ingredients and all(_NUMBERED.match(line) for line in ingredients):
        ingredients, method = [], ingredients + method
    if not any(line.strip() for line in ingredients):
        raise RecipeError(f"Only the title {fields['title']!r} came; add one ingredient a line below it.")
    fields["ingredients"] = [
        Ingredient.fields_of(_BULLET.sub("", line)) | {"group": group}
        for group, line in _grouped(ingredients, "ingredients", longest=math.inf)
    ]
    fields["steps"] = [
        {"text": _BULLET.sub("", _NUMBERED.sub("", line)), "group": group}
        for group, line in _grouped(method, "method", "steps", "directions", longest=60)
    ]
    return fields


def _grouped(lines: list[str], *usual: str, longest: float) -> Iterator[tuple[str, str]]:
    """Lines with the heading that each stands under: a short line that ends with a colon; the usual ones say nothing."""
    group = ""
    for line in filter(None, map(str.strip, lines)):
        if line.endswith(":") and len(line) < longest:
            group = "" if line.rstrip(":").casefold() in usual else line.rstrip(":")
        else:
            yield group, line


def _yield_of(line: str) -> dict[str, Any]:
    if found := _SERVES.match(line):
        return {"servings": found.group(1).replace(",", ".")}
    if found := _MAKES.match(line):
        try:
            amount = parse_amount(found.group(1))
        except AmountError:
            return {}
        size = amount.middle * (amount.measure.size or 0.0)
        kinds = {"mass": {"yield_g": size}, "volume": {"yield_l": size / 1000}}
        return kinds.get(amount.measure.kind, {"servings": amount.middle})
    return {}


def to_text(recipe: Recipe) -> str:
    """Write a recipe as the text that :func:`fields_from_text` reads back."""
    out = [recipe.title]
    if recipe.servings is not None:
        out.append(f"Serves {recipe.servings}")
    if recipe.yield_g is not None:
        out.append(f"Makes {recipe.yield_g} g")
    elif recipe.yield_l is not None:
        out.append(f"Makes {recipe.yield_l} l")
    lines = []
    for line in recipe.ingredients:
        usual = Ingredient.fields_of(line.line).get("part", "other")
        part = f" [{line.part}]" if line.part != usual else ""
        fate = f" [{line.fate}]" if line.fate_from == "told" else ""
        lines.append((line.group, line.line + part + fate))
    steps = [(step.group, f"{number}. {step.text}") for number, step in enumerate(recipe.steps, start=1)]
    return "\n".join([*out, *_with_headings(lines, "Ingredients"), "", *_with_headings(steps, "Method")])


def _with_headings(lines: list[tuple[str, str]], usual: str) -> Iterator[str]:
    last = ""
    for group, line in lines:
        if group != last:
            yield f"{group or usual}:"
        yield line
        last = group
