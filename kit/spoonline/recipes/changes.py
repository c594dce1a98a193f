"""What differs between two versions of a recipe, once its size is taken out."""

import math
import re
from typing import Literal, NamedTuple

from spoonline.measures import DataFrame, frame_html, frame_of, or_none, parse_amount, read_table, takes_quantities
from spoonline.recipes.base import said
from spoonline.recipes.matching import match_lines, match_steps, moved, twins
from spoonline.recipes.records import Ingredient, Recipe

Basis = Literal["", "litre", "finished", "flour", "all"]

# A difference below this is rounding, whatever the scale could show; seasoning is tasted coarser.
LEAST_RATIO, LEAST_SEASONING = 0.02, 0.10
JUG = {"ml", "cl", "dl", "l"}
# A pure re-scaling repeats every ratio to the rounding of the written masses.
SAME_RATIO = 0.003
# Scaling leaves its factor beside an amount that nobody could read.
_FACTOR = re.compile(r" x [\d.e+-]+$")
_BASES = {row["basis"]: (row["unit"], row["said"]) for row in read_table("bases.csv", "recipes")}
# Every kind of change in the order of a table, what a table calls it, and how it is told where it is more than from old to new.
_KINDS = {row["kind"]: row for row in read_table("changes.csv", "recipes")}


class Change(NamedTuple):
    """One difference: where, what it was, what it is, and whether it is more than the measuring spread."""

    kind: str
    item: str
    old: str
    new: str
    percent: float | None = None
    real: bool = True

    @property
    def text(self) -> str:
        """The change as a short phrase."""
        if self.kind == "amount" and self.percent is not None:
            word, tail = "more" if self.percent > 0 else "less", "" if self.real else ", within the measuring spread"
            return f"{abs(self.percent):.0f} % {word} {self.item} ({self.old} to {self.new}{tail})"
        if self.kind == "step":
            return f"{self.item} {'re-written' if self.old and self.new else 'added' if self.new else 'left out'}"
        phrase = _KINDS[self.kind]["phrase"] or "{item}: {old} to {new}"
        return phrase.format(item=self.item, old=self.old or "nothing", new=self.new or "nothing")


class Changes(NamedTuple):
    """All differences between two versions, largest part of the dish first in each kind.

    Attributes
    ----------
    rows : tuple of Change
    basis : str
        What amounts are compared per, in words.
    factor : float
        Size of the new version over the old.
    """

    rows: tuple[Change, ...]
    basis: str
    factor: float = 1.0

    @property
    def text(self) -> str:
        """All changes of the dish in one sentence; words, order and what is little and within the spread are left to the table."""
        large = 100 * LEAST_SEASONING  # told even where a spoon may hold as much
        told = [row for row in self.rows if row.real or abs(row.percent or 0) > large]
        phrases = [row.text for row in told if row.kind not in ("words", "moved", "title")]
        if not phrases:
            spread = any(row.kind == "amount" for row in self.rows)
            only = " beyond the measuring spread" if spread else ", only in how it is written" if self.rows else ""
            return f"No change in the dish{only}."
        sentence = "; ".join(phrases)
        return sentence[0].upper() + sentence[1:] + "."

    @property
    def table(self) -> DataFrame:
        """One row a change: kind, item, was, now (amounts in the unit of the basis), change [%], real."""
        return frame_of(self.rows, "kind", "item", "was", "now", "change_percent", "beyond_measuring_spread")

    @property
    def shown(self) -> DataFrame:
        """The table as a screen shows it, in words."""
        rows = [(row.item, _KINDS[row.kind]["shown"], row.old, row.new, _percent(row)) for row in self.rows]
        return frame_of(rows, "What", "Change", "Was", "Now", "Difference")

    def _repr_html_(self) -> str:
        return frame_html(self.shown, f"Changes, {self.basis}" if self.rows else "No change in the dish.")


def _percent(row: Change) -> str:
    if row.percent is None:
        return ""
    return f"{row.percent:+.1f} %" + ("" if row.real else " (within the measuring spread)")


def basis_of(recipe: Recipe) -> Basis:
    """What amounts of a dish are compared per: its flour if it is a dough, its liquid if something is dosed, else all that went in."""
    return "flour" if recipe.kind == "dough" else "litre" if recipe.dose_g_per_l > 0 else "all"


@takes_quantities
def changes(old: Recipe, new: Recipe, per: Basis = "") -> Changes:
    """Compare two versions, amounts per what suits the kind of dish, so that a mere re-scaling shows as one change.

    Parameters
    ----------
    old, new : Recipe
        The two versions. Where the basis is missing in one, amounts are compared per 1000 g of the old version,
        the new one brought to the size of the old by the line that has grown like most.
    per : {"litre", "finished", "flour", "all"}, optional
        Per litre of liquid, per 100 g of the finished dish (needs the weighed yield), in per cent of all flours, or per 1000 g of the old
        version.
        By the kind of dish unless given: a dough by its flour, what is dosed by its liquid, anything else by what went in.

    Returns
    -------
    Changes
        ``.table``, ``.text`` and an HTML form. ``percent`` is the change of the amount on the basis [%]; a change is marked
        real if it exceeds twice the combined measuring spread (propagated from each line's ``sd_g``; none where one jug reads both) and
        2 % (seasoning 10 %).

    Raises
    ------
    RecipeError
        If there is no such basis.

    Examples
    --------
    >>> four = Recipe(title="Soup", ingredients=["1 l vegetable stock", "30 g corn starch"], servings=4)
    >>> changes(four, four.scaled(1.5)).text
    'Scaled x1.5.'
    >>> five = Recipe(title="Soup", ingredients=["1 l vegetable stock", "33 g corn starch"], servings=4)
    >>> changes(four, five).text
    '10 % more corn starch (30.0 g/L to 33.0 g/L).'
    """
    chosen = per or max(basis_of(old), basis_of(new), key=["all", "litre", "flour"].index)
    said.refuse(chosen not in _BASES, "no basis", per=per)
    per_old, per_new = (_basis(each, chosen) for each in (old, new))
    if chosen == "all" or min(per_old, per_new) <= 0:
        chosen, per_old = "all", old.mass_g / 1000 or 1.0
        per_new = per_old * _grown(old, new)
    unit, basis = _BASES[chosen]
    factor = per_new / per_old
    rows: list[Change] = []
    if abs(factor - 1) <= SAME_RATIO:
        factor, scaled = 1.0, old
    else:
        scaled = old.scaled(factor)
        rows.append(Change("scaled", "whole recipe", "1", f"{factor:.3g}"))
    order = list(_KINDS)
    lines = _lines(old, new, scaled, (per_old, per_new, unit))
    rows += sorted(lines, key=lambda row: (order.index(row.kind), -abs(row.percent or 0)))
    return Changes((*rows, *_fields(old, new, scaled), *_steps(old, new)), basis, factor)


def _basis(recipe: Recipe, per: str) -> float:
    """How much of the basis there is: litres, 100 g of dish, or 1 % of the flours [g]."""
    if per == "litre":
        return recipe.liquid_l
    if per == "finished":
        return float(recipe.yield_g or 0) / 100
    return sum(float(line.mass_g or 0) for line in recipe.ingredients if "flour" in (line.fact_name or line.item)) / 100


def _grown(old: Recipe, new: Recipe) -> float:
    """How much larger a version is: what the middle one of its lines has grown by, so that more of one line is no other size."""
    both = ((old.ingredients[m], new.ingredients[n]) for m, n in twins(match_lines(old, new)))
    logs = sorted(math.log(now.mass_g / was.mass_g) for was, now in both if was.mass_g and now.mass_g)
    middle = logs[(len(logs) - 1) // 2 : len(logs) // 2 + 1]
    return math.exp(min(middle, key=abs, default=0.0))


def _lines(old: Recipe, new: Recipe, scaled: Recipe, per: tuple[float, float, str]) -> list[Change]:
    pairs = match_lines(old, new)
    per_old, per_new, unit = per
    come = [new.ingredients[n] for m, n in pairs if m is None and n is not None]
    gone = [old.ingredients[m] for m, n in pairs if n is None and m is not None]
    rows = [Change("added", line.item, "", _per(line, per_new, unit)) for line in come]
    rows += [Change("removed", line.item, _per(line, per_old, unit), "") for line in gone]
    for m, n in twins(pairs):
        was, now, resized = old.ingredients[m], new.ingredients[n], scaled.ingredients[m]
        change = None if resized == now else _line_change(was, now, *per)
        if change is None and _words(resized) != _words(now):
            change = Change("words", now.item, was.line, now.line)
        rows += [change] if change else []
    return rows + [Change("moved", new.ingredients[n].item, "", f"line {n + 1}", real=False) for n in moved(pairs)]


def _words(line: Ingredient) -> tuple[str, ...]:
    """How a line is written, without its figures: item, preparation, group, unit and filling."""
    amount = or_none(parse_amount, line.amount)
    unit = (amount.unit, amount.fill) if amount else (_FACTOR.sub("", line.amount),)
    return (line.item, line.preparation, line.group, *unit)


def _line_change(was: Ingredient, now: Ingredient, per_old: float, per_new: float, unit: str) -> Change | None:
    if not was.mass_g or not now.mass_g:
        if _FACTOR.sub("", was.amount) == _FACTOR.sub("", now.amount) and (was.mass_g is None) == (now.mass_g is None):
            return None
        return Change("written", now.item, was.amount or "to taste", now.amount or "to taste")
    log_ratio = math.log(float(now.mass_g) / per_new) - math.log(float(was.mass_g) / per_old)
    if abs(log_ratio) <= SAME_RATIO:
        return None
    # one jug reads both, and what it is off it is off twice
    jug = {_words(was)[3], _words(now)[3]} <= JUG
    spread = 0.0 if jug else math.hypot(_relative_sd(was), _relative_sd(now))
    least = LEAST_SEASONING if now.part == "seasoning" else LEAST_RATIO
    real = abs(log_ratio) > max(least, 2 * spread)
    percent = 100 * math.expm1(log_ratio)
    return Change("amount", now.item, _per(was, per_old, unit), _per(now, per_new, unit), percent, real)


def _relative_sd(line: Ingredient) -> float:
    return float(line.sd_g / line.mass_g) if line.mass_g and line.sd_g is not None else 0.0


def _per(line: Ingredient, per: float, unit: str) -> str:
    if line.mass_g is None:
        return line.amount or "to taste"
    amount = float(line.mass_g) / per
    return f"{amount:.1f} {unit}" if amount >= 9.95 else f"{amount:.2f} {unit}"


def _fields(old: Recipe, new: Recipe, scaled: Recipe) -> list[Change]:
    """Title, servings, yields and target; what merely follows the size is no change."""
    rows = [Change("title", "title", old.title, new.title, real=False)] if old.title != new.title else []
    for name, unit in (("servings", ""), ("yield_g", " g"), ("yield_l", " L")):
        was, follows, now = (getattr(each, name) for each in (old, scaled, new))
        if follows == now or (now and follows and abs(float(now) / float(follows) - 1) < 0.02):
            continue
        before, after = (f"{each}{unit}" if each is not None else "not said" for each in (was, now))
        kind = name.partition("_")[0]
        rows.append(Change(kind, kind, before, after))
    if old.target != new.target:
        rows.append(Change("target", "thickness aimed at", _target(old), _target(new)))
    if old.aims != new.aims:
        was, now = ("; ".join(aim.text for aim in each.aims) for each in (old, new))
        rows.append(Change("target", "also aimed at", was, now))
    return rows


def _target(recipe: Recipe) -> str:
    return "" if recipe.target is None else said("target", aim=recipe.target)


def _steps(old: Recipe, new: Recipe) -> list[Change]:
    pairs = match_steps(old, new)
    rows: list[Change] = _when(old, new, pairs)
    for m, n in pairs:
        if n is None and m is not None:
            rows.append(Change("step", f"step {m + 1} of before", old.steps[m].text, ""))
        elif m is None and n is not None:
            rows.append(Change("step", f"step {n + 1}", "", new.steps[n].text))
        elif m is not None and n is not None and old.steps[m] != new.steps[n]:
            was, now, place = old.steps[m], new.steps[n], f"step {n + 1}"
            figures = (("time", "min", was.minutes, now.minutes), ("heat", "C", was.temperature_c, now.temperature_c))
            told = [Change(kind, place, _figure(a, unit), _figure(b, unit)) for kind, unit, a, b in figures if a != b]
            rest = _bare(was.text) != _bare(now.text) or was.group != now.group
            rows += told + ([Change("step", place, was.text, now.text)] if rest or not told else [])
    return rows + [Change("moved", f"step {n + 1}", "", new.steps[n].text) for n in moved(pairs)]


def _figure(value: object, unit: str) -> str:
    return f"{value} {unit}" if value is not None else ""


def _bare(text: str) -> str:
    """A step's words without its figures, which are compared on their own."""
    return re.sub(r"\d+(?:[.,]\d+)?", "#", " ".join(text.casefold().split()))


def _when(old: Recipe, new: Recipe, pairs: list[tuple[int | None, int | None]]) -> list[Change]:
    """Ingredients that go in before a step where they went in after it, or the other way round."""
    rows = []
    for _, n in twins(match_lines(old, new)):
        word = _word(new.ingredients[n])
        named = [[k for k, step in enumerate(each.steps) if word in step.text.casefold()] for each in (old, new)]
        if not all(named):
            continue
        before, after = (places[0] for places in named)
        passed = [(a, b) for a, b in twins(pairs) if (before - a) * (after - b) < 0]
        if passed:
            later = after > passed[0][1]
            _, step = passed[0] if later else passed[-1]  # the step next to where it went in before
            verb = re.split(r"\W+", new.steps[step].text.casefold())[0]
            now = f"added {'after' if later else 'before'} {verb}"
            rows.append(Change("later", new.ingredients[n].item, f"in step {before + 1}", now))
    return rows


def _word(line: Ingredient) -> str:
    """The word by which a method names an ingredient: the last of its name, in the singular."""
    return line.item.casefold().split()[-1].rstrip("s") if line.item.split() else "\0"


class ThreeWay(NamedTuple):
    """What two versions changed since their common parent.

    ``rows`` hold item, what it was, in the first, in the second, and a verdict: only the first, only the second, both alike,
    or both differently.
    """

    rows: tuple[tuple[str, str, str, str, str], ...]

    @property
    def table(self) -> DataFrame:
        """The rows as a DataFrame."""
        return frame_of(self.rows, "item", "was", "first", "second", "verdict")


VERDICTS = ("only the first", "only the second", "both alike", "both differently")


def three_way(parent: Recipe, first: Recipe, second: Recipe, per: Basis = "") -> ThreeWay:
    """Compare two versions with their common parent, amounts per what :func:`changes` compares them.

    >>> soup = [Recipe(title="Soup", ingredients=["1 l water", f"{g} g corn starch", s]) for g, s in
    ...         ((30, "8 g salt"), (33, "8 g salt"), (36, "6 g salt"))]
    >>> three_way(*soup).table["verdict"].tolist()
    ['both differently', 'only the second']
    """

    def told(version: Recipe) -> dict[tuple[str, str], Change]:
        rows = [row for row in changes(parent, version, per).rows if row.real and row.kind != "words"]
        return {(row.kind if row.kind not in ("added", "removed") else "amount", row.item): row for row in rows}

    a, b, lines = told(first), told(second), []
    for key in dict.fromkeys((*a, *b)):
        one, two = a.get(key), b.get(key)
        place = 0 if two is None else 1 if one is None else 2 if one.new == two.new else 3
        was = (one or two).old  # type: ignore[union-attr]  # one of the two changed
        said = [was if change is None else change.new or "left out" for change in (one, two)]
        lines.append((key[1], was, said[0], said[1], VERDICTS[place]))
    return ThreeWay(tuple(lines))
