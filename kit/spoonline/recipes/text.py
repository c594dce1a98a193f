"""Reading a pasted recipe: title, how many it serves, ingredient lines, method."""

import math
from collections.abc import Iterator
from typing import Any

from spoonline.measures import or_none, patterns, split_line
from spoonline.recipes.base import said
from spoonline.recipes.fates import FATES
from spoonline.recipes.ingredient import TOLD, Ingredient
from spoonline.recipes.records import Recipe

_WORDS = patterns("text_words.csv", "recipes")
_METHOD = ("method", "steps", "directions", "instructions")


def fields_from_text(
    text: str, measures: str = "us", decimal: str | None = None, like: Recipe | None = None
) -> dict[str, Any]:
    """Split a pasted recipe into the fields of a ``Recipe``; see :meth:`Recipe.from_text`."""
    lines = [line.rstrip() for line in text.strip().splitlines()]
    said.refuse(not lines or not lines[0].strip(), "no text")
    fields: dict[str, Any] = {"title": lines[0].strip().lstrip("# ")}
    body = lines[1:]
    head = []
    while body and (not body[0].strip() or _head_of(body[0], measures, decimal)):
        head.append(body.pop(0).strip())
        fields |= _head_of(head[-1], measures, decimal)
        measures = fields.get("measures", measures)
    yields = [line for line in head if line and not _WORDS["measures"].match(line)]
    if like is not None and yields == _yield_lines(like):
        fields |= {name: getattr(like, name) for name in ("servings", "servings_high", "yield_g", "yield_l", "makes")}
    fields |= {"aims": like.aims} if like is not None else {}
    ingredients, method = _parted(body)
    said.refuse(not any(line.strip() for line in ingredients), "only a title", title=fields["title"])
    before = {_told_apart(written_line(line, like.measures))[0]: line for line in like.ingredients} if like else {}

    def read(line: str, group: str) -> Ingredient | dict[str, Any]:
        plain = _WORDS["bullet"].sub("", line)
        words, fate = _told_apart(plain)
        if words in before:
            return before[words].model_copy(update={"group": group}).telling(fate)
        return Ingredient.fields_of(plain, measures, decimal) | {"group": group}

    fields["measures"] = measures
    written = _grouped(ingredients, "ingredients", longest=math.inf)
    fields["ingredients"] = [read(line, group) for group, line in written]
    steps = ((group, _WORDS["numbered"].sub("", line)) for group, line in _grouped(method, *_METHOD, longest=60))
    fields["steps"] = [{"text": _WORDS["bullet"].sub("", line), "group": group} for group, line in steps]
    return fields


def _told_apart(line: str) -> tuple[str, str]:
    """A line without the fate that stands at its end, and that fate: what a cook says of it changes no weight."""
    found = TOLD.search(line)
    fate = found[1].lower() if found else ""
    return (line[: found.start()], fate) if found and fate in FATES else (line, "")


def _parted(body: list[str]) -> tuple[list[str], list[str]]:
    """Ingredient lines and method.

    The method begins at its heading or at the first numbered line; without either at the first block that does not read as ingredients.
    """
    begins = next((n for n, line in enumerate(body) if _plain(line) in _METHOD or _WORDS["numbered"].match(line)), None)
    if begins is None:
        blanks = [n for n, line in enumerate(body) if not line.strip() and not (n and _heads(body[n - 1]))]
        ends = [*blanks[1:], len(body)]
        apart = (start for start, end in zip(blanks, ends, strict=False) if not _amounts(body[start:end]))
        begins = next(apart, len(body))
    return [line for line in body[:begins] if line.strip()], [line for line in body[begins:] if line.strip()]


def _amounts(block: list[str]) -> bool:
    """Whether half of the lines of a block or more begin with an amount; a block of nothing may stand anywhere.

    Under a heading a line in small letters without a full stop ("chopped parsley") is an ingredient too.
    """
    lines = [_WORDS["bullet"].sub("", line) for line in block if line.strip() and not _heads(line)]
    begins = _WORDS["in a group" if any(map(_heads, block)) else "amount"]
    return 2 * sum(bool(begins.match(line)) for line in lines) >= len(lines)


def _heads(line: str) -> bool:
    """Whether a line is the heading of a group of ingredients."""
    return line.rstrip().endswith(":") or bool(_WORDS["heading"].match(line))


def _plain(line: str) -> str:
    return line.strip().rstrip(":").casefold()


def _grouped(lines: list[str], *usual: str, longest: float) -> Iterator[tuple[str, str]]:
    """Lines with the heading that each stands under: a short line that ends with a colon, or of ingredients "For the dumplings"; the
    usual ones say nothing."""
    group = ""
    for line in filter(None, map(str.strip, lines)):
        heads = _heads(line) if longest == math.inf else line.endswith(":") and len(line) < longest
        if _plain(line) in usual or heads:
            group = "" if _plain(line) in usual else line.rstrip(":")
        else:
            yield group, line


def _head_of(line: str, measures: str, decimal: str | None) -> dict[str, Any]:
    """What a line between title and ingredients says: whose measures, how many it serves, what it makes; nothing on any other line."""
    if found := _WORDS["measures"].match(line):
        return {"measures": found[1].lower()}
    if found := _WORDS["serves"].match(line):
        low, high = (float((each or "0").replace(",", ".")) for each in found.groups())
        return {"servings": low} if high <= low else {"servings": (low + high) / 2, "servings_high": high}
    if not (found := _WORDS["makes"].match(line)):
        return {}
    head = or_none(split_line, found[1], measures, decimal)
    if head is None or head.amount is None:
        return {}
    size = head.amount.middle * (head.amount.measure.size or 0.0)
    kinds = {"mass": {"yield_g": size}, "volume": {"yield_l": size / 1000}}
    return kinds.get(head.amount.measure.kind, {"servings": head.amount.middle}) | {"makes": found[1]}


def written_line(line: Ingredient, measures: str = "us") -> str:
    """A line as it stands in a text, with its part in the dish where that is not what the words say."""
    usual = Ingredient.fields_of(line.line, measures).get("part", "other")
    told = f" [{line.told}]" if line.told else ""
    return line.line + (f" [{line.part}]" if line.part != usual else "") + told


def to_text(recipe: Recipe, usual: str = "us") -> str:
    """Write a recipe as the text that :func:`fields_from_text` reads back; whose measures it is in, where they are not the ``usual``."""
    out = [recipe.title, *([f"Measures: {recipe.measures}"] if recipe.measures != usual else []), *_yield_lines(recipe)]
    lines = [(line.group, written_line(line, recipe.measures)) for line in recipe.ingredients]
    steps = [(step.group, f"{number}. {step.text}") for number, step in enumerate(recipe.steps, start=1)]
    return "\n".join([*out, *_with_headings(lines, "Ingredients"), "", *_with_headings(steps, "Method")])


def _yield_lines(recipe: Recipe) -> list[str]:
    """How many it serves and what it makes, a line each."""
    by_count = recipe.makes and recipe.yield_g is None and recipe.yield_l is None
    sizes = ((recipe.yield_g, "g"), (recipe.yield_l, "l"))
    makes = recipe.makes or next((f"{size} {unit}" for size, unit in sizes if size is not None), "")
    said = (("Serves", "" if by_count else recipe.serves), ("Makes", makes))
    return [f"{word} {what}" for word, what in said if what]


def _with_headings(lines: list[tuple[str, str]], usual: str) -> Iterator[str]:
    last = ""
    for group, line in lines:
        if group != last:
            yield f"{group or usual}:"
        yield line
        last = group
