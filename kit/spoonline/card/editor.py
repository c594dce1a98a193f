"""What an editor would say of a recipe's text; advice, never a gate."""

from __future__ import annotations

import re
from dataclasses import dataclass

from spoonline import facts
from spoonline.card.mentions import first_uses, named
from spoonline.card.method import both_degrees
from spoonline.card.words import Words, words
from spoonline.recipes import Habits, Recipe, check
from spoonline.recipes.cues import cues

_START = re.compile(r"(?:^|[.!?:]\s+)(\d[\d.,/]*(?:\s?\S+)?)")
_SENTENCE = re.compile(r"[^.!?]+[.!?]?")
_BARE_HEAT = re.compile(
    r"\b(?:at|to)\s+(\d{2,3})(?!\s*(?:\u00b0|degrees?|[CF]\b|to\b|-|\d|g\b|ml\b|min|h\b|%|[a-z]))", re.IGNORECASE
)
_POINT, _COMMA = re.compile(r"\d\.\d"), re.compile(r"\d,\d(?!\d\d\b)")


@dataclass(frozen=True)
class Remark:
    """One remark: where (step or line, in words), its kind, and what to do."""

    where: str
    kind: str
    said: str


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
    return (*_order(recipe, wording), *_steps(recipe, style, wording), *_measures(recipe))


def _order(recipe: Recipe, wording: Words) -> list[Remark]:
    """Lines that go in before the line above them, group by group."""
    found, latest, group = [], (0, 0, ""), None
    for line, first in zip(recipe.ingredients, first_uses(recipe, wording), strict=True):
        if line.group != group:
            group, latest = line.group, (0, 0, "")
        if first is None:
            continue
        text = recipe.steps[first - 1].text.casefold()
        last = line.item.casefold().split()[-1].rstrip("s")
        at = (first, max(text.find(last), 0))
        if at < latest[:2] and (first < latest[0] or at[1] > 0):
            found.append(
                Remark(line.item, "order", f"{line.item} goes in before {latest[2]}: list it in order of use.")
            )
        else:
            latest = (*at, line.item)
    return found


def _steps(recipe: Recipe, style: Habits, wording: Words) -> list[Remark]:
    found = []
    for number, step in enumerate(recipe.steps, start=1):
        where, text = f"step {number}", step.text
        told = cues(text).minutes
        if told is not None and step.minutes is not None and abs(told - float(step.minutes)) > 0.01:
            found.append(
                Remark(
                    where,
                    "times",
                    f"The text says {told:g} min, the record {float(step.minutes):g} min: make them agree.",
                )
            )
        elif step.minutes is not None and told is None:
            found.append(
                Remark(where, "times", f"The record says {float(step.minutes):g} min, the text no time: write it.")
            )
        for start in _START.finditer(text):
            found.append(
                Remark(
                    where,
                    "numeral",
                    f"A sentence starts with the numeral {start[1]!r}: turn it round, or write the number out.",
                )
            )
        for bare in _BARE_HEAT.finditer(text):
            if set(re.findall(r"[^\W\d_]+", text.casefold())) & set(wording.editor["heat_words"]):
                found.append(
                    Remark(
                        where,
                        "temperature",
                        f"{bare[0]!r} says neither C nor F: write the unit, and both will be printed.",
                    )
                )
        both = both_degrees(text, style.first_degrees)
        if both_degrees(both, style.first_degrees) != both:
            found.append(
                Remark(where, "temperature", "A temperature could not be written in both units: write it as 60 C.")
            )
        if style.names:
            for name, can_mean in named(text, wording):
                local = facts.local_name(name, style.names) if len(can_mean) == 1 else name
                if local != name and name.rstrip("s") not in local:
                    found.append(Remark(where, "spelling", f"{name} is {local} in this kitchen."))
        wrong = _POINT if style.decimal == "," else _COMMA
        if found_mark := wrong.search(text):
            found.append(
                Remark(
                    where,
                    "decimal mark",
                    f"The house writes {'1,5' if style.decimal == ',' else '1.5'}: change {found_mark[0]!r}.",
                )
            )
    return found


def _measures(recipe: Recipe) -> list[Remark]:
    """What the check of the lines says that is no matter for the gate."""
    return [
        Remark(f"line {each.line}", "size" if each.kind == "no size" else "measure", each.said)
        for each in check(recipe).findings
        if each.kind == "no size"
        or (each.kind == "by volume" and recipe.ingredients[each.line - 1].part != "thickener")
    ]
