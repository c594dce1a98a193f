"""What an editor would say of a recipe's text; advice, never a gate."""

import re
from collections.abc import Iterator
from typing import NamedTuple

from spoonline import facts
from spoonline.card.mentions import first_uses, named
from spoonline.card.method import both_degrees
from spoonline.card.words import TEXT, Words, words
from spoonline.measures.temperatures import cues
from spoonline.recipes import Habits, Recipe, Step, check

_POINT, _COMMA = re.compile(r"\d\.\d"), re.compile(r"\d,\d(?!\d\d\b)")


class Remark(NamedTuple):
    """One remark: where (step or line, in words), its kind, and what to do."""

    where: str
    kind: str
    text: str


def read_through(recipe: Recipe, habits: Habits | None = None) -> tuple[Remark, ...]:
    """Read a recipe as an editor would.

    Parameters
    ----------
    recipe : Recipe
    habits : Habits, optional
        The house style: names, decimal mark, unit of temperature.

    Returns
    -------
    tuple of Remark
        Kinds: order, times, temperature, numeral, spelling, decimal mark, size, measure.

    Examples
    --------
    >>> soup = Recipe(title="Soup", ingredients=["1 l milk", "30 g corn starch"], steps=["5 min later add the corn starch to the milk."])
    >>> [each.kind for each in read_through(soup)]
    ['order', 'numeral']
    """
    style = habits or Habits()
    wording = words(style.language, style.names)
    steps = [
        Remark(f"step {number}", kind, text)
        for number, step in enumerate(recipe.steps, start=1)
        for kind, text in (*_times(step), *_figures(step.text, style, wording), *_spelling(step.text, style, wording))
    ]
    return (*_order(recipe, wording), *steps, *_measures(recipe))


def _order(recipe: Recipe, wording: Words) -> Iterator[Remark]:
    """Lines that go in before the line above them, group by group."""
    latest, group = (0, 0, ""), None
    for line, first in zip(recipe.ingredients, first_uses(recipe, wording), strict=True):
        if line.group != group:
            group, latest = line.group, (0, 0, "")
        if first is None:
            continue
        text = recipe.steps[first - 1].text.casefold()
        last = line.item.casefold().split()[-1].rstrip("s")
        at = (first, max(text.find(last), 0))
        if at < latest[:2] and (first < latest[0] or at[1] > 0):
            yield Remark(line.item, "order", f"{line.item}: used before {latest[2]}; list it in order of use.")
        else:
            latest = (*at, line.item)


def _times(step: Step) -> Iterator[tuple[str, str]]:
    """A time of the text that is not that of the record."""
    written = cues(step.text, nights=True).minutes
    if step.minutes is None:
        return
    minutes = float(step.minutes)
    if written is None:
        yield "times", f"The record says {minutes:g} min, the text no time: write it."
    elif abs(written - minutes) > 0.01:
        yield "times", f"The text says {written:g} min, the record {minutes:g} min: make them agree."


def _figures(text: str, style: Habits, wording: Words) -> Iterator[tuple[str, str]]:
    """Numerals at the start of a sentence, temperatures without a unit or in one unit only, the other decimal mark."""
    for start in TEXT["begins with a figure"].finditer(text):
        yield "numeral", f"A sentence starts with the numeral {start[1]!r}: turn it round, or write the number out."
    for bare in TEXT["bare heat"].finditer(text):
        if set(re.findall(r"[^\W\d_]+", text.casefold())) & set(wording.editor["heat_words"]):
            yield "temperature", f"{bare[0]!r} says neither C nor F: write the unit, and both will be printed."
    both = both_degrees(text, style.first_degrees)
    if both_degrees(both, style.first_degrees) != both:
        yield "temperature", "A temperature could not be written in both units: write it as 60 C."
    if wrong := (_POINT if style.decimal == "," else _COMMA).search(text):
        yield "decimal mark", f"The house writes {'1,5' if style.decimal == ',' else '1.5'}: change {wrong[0]!r}."


def _spelling(text: str, style: Habits, wording: Words) -> Iterator[tuple[str, str]]:
    """Names that this kitchen spells otherwise."""
    for name, can_mean in named(text, wording) if style.names else ():
        local = facts.local_name(name, style.names) if len(can_mean) == 1 else name
        if local != name and name.rstrip("s") not in local:
            yield "spelling", f"{name} is {local} in this kitchen."


def _measures(recipe: Recipe) -> Iterator[Remark]:
    """What the check of the lines says that is no matter for the gate."""
    for each in check(recipe).findings:
        if each.kind == "no size":
            yield Remark(f"line {each.line}", "size", each.said)
        elif each.kind == "by volume" and recipe.ingredients[each.line - 1].part != "thickener":
            yield Remark(f"line {each.line}", "measure", each.said)
