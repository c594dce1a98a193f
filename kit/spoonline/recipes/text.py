"""Reading a pasted recipe: title, how many it serves, ingredient lines, method."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from spoonline.measures import parse_amount
from spoonline.measures.errors import AmountError, RecipeError

if TYPE_CHECKING:
    from spoonline.recipes.records import Recipe

_SERVES = re.compile(r"^\s*(?:serves|servings|for)\s*:?\s*(\d+(?:[.,]\d+)?)\b", re.IGNORECASE)
_MAKES = re.compile(r"^\s*(?:makes|yield|yields)\s*:?\s*(?:about\s+)?(.+?)\s*\.?\s*$", re.IGNORECASE)
_NUMBERED = re.compile(r"^\s*(?:step\s*)?\d+\s*[.):]\s+", re.IGNORECASE)
_BULLET = re.compile(r"^\s*[-*\u2022]\s+")


def fields_from_text(text: str) -> dict[str, Any]:
    """Split a pasted recipe into the fields of a ``Recipe``.

    Parameters
    ----------
    text : str
        First line the title; an optional ``Serves N`` or ``Makes N g``; ingredient lines up to a blank line (headings
        end with a colon); then the method, one numbered or plain line a step.

    Returns
    -------
    dict
        Fields for ``Recipe``.

    Raises
    ------
    RecipeError
        If there is no title, or nothing below it.
    """
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
    group = ""
    read: list[dict[str, Any]] = []
    for line in ingredients:
        if line.rstrip().endswith(":"):
            group = line.strip().rstrip(":")
            if group.casefold() == "ingredients":
                group = ""
            continue
        from spoonline.recipes.records import Ingredient

        read.append(Ingredient.fields_of(_BULLET.sub("", line).strip()) | {"group": group})
    fields["ingredients"] = read
    fields["steps"] = _steps(method)
    return fields


def _yield_of(line: str) -> dict[str, Any]:
    if found := _SERVES.match(line):
        return {"servings": found.group(1).replace(",", ".")}
    if found := _MAKES.match(line):
        try:
            amount = parse_amount(found.group(1))
        except AmountError:
            return {}
        measure = amount.measure
        if measure.size is not None and measure.kind in ("mass", "volume"):
            size = amount.middle * measure.size
            return {"yield_g": size} if measure.kind == "mass" else {"yield_l": size / 1000}
        return {"servings": amount.middle}
    return {}


def _steps(method: list[str]) -> list[dict[str, Any]]:
    group, steps = "", []
    for line in method:
        text = line.strip()
        if not text:
            continue
        if text.endswith(":") and len(text) < 60:
            group = text.rstrip(":")
            if group.casefold() in ("method", "steps", "directions"):
                group = ""
            continue
        steps.append({"text": _BULLET.sub("", _NUMBERED.sub("", text)), "group": group})
    return steps


def to_text(recipe: Recipe) -> str:
    """Write a recipe as the text that :func:`fields_from_text` reads back.

    Returns
    -------
    str
        Title, servings or yield, the lines under their headings, a blank line, the method.
    """
    from spoonline.recipes.records import Ingredient

    out = [recipe.title]
    if recipe.servings is not None:
        out.append(f"Serves {recipe.servings}")
    if recipe.yield_g is not None:
        out.append(f"Makes {recipe.yield_g} g")
    elif recipe.yield_l is not None:
        out.append(f"Makes {recipe.yield_l} l")
    group = ""
    for line in recipe.ingredients:
        if line.group != group:
            group = line.group
            out.append(f"{group or 'Ingredients'}:")
        usual = Ingredient.fields_of(line.line).get("part", "other")
        out.append(line.line + (f" [{line.part}]" if line.part != usual else ""))
    out.append("")
    group = ""
    for number, step in enumerate(recipe.steps, start=1):
        if step.group != group:
            group = step.group
            out.append(f"{group or 'Method'}:")
        out.append(f"{number}. {step.text}")
    return "\n".join(out)
