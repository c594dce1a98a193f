"""What differs between two versions of a recipe, once its size is taken out; and the new version from the old by it."""

from __future__ import annotations

import html
import math
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from spoonline.measures import parse_amount
from spoonline.measures.errors import AmountError, RecipeError
from spoonline.recipes.matching import match_lines, match_steps, moved
from spoonline.recipes.records import Ingredient, Recipe, Step

if TYPE_CHECKING:
    import pandas as pd

Basis = Literal["litre", "finished", "flour"]

# A difference below this is rounding, whatever the scale could show; seasoning is tasted coarser.
LEAST_RATIO, LEAST_SEASONING = 0.02, 0.10
# A pure re-scaling repeats every ratio to the rounding of the written masses.
SAME_RATIO = 0.003
# Scaling leaves its factor beside an amount that nobody could read.
_FACTOR = re.compile(r" x [\d.e+-]+$")
_BASES = {
    "litre": ("g/L", "per litre of liquid"),
    "finished": ("g/100 g", "per 100 g of the finished dish"),
    "flour": ("% of flour", "in per cent of the flour (baker's percent)"),
    "all": ("g/kg", "per 1000 g put in"),
}
_KINDS = {
    "scaled": "whole recipe scaled", "amount": "amount", "added": "added", "removed": "left out", "written": "as written",
    "words": "only in words", "servings": "servings", "yield": "yield", "target": "target", "title": "title", "time": "time",
    "heat": "temperature", "later": "when it goes in", "step": "method", "moved": "order",
}  # fmt: skip


@dataclass(frozen=True)
class Change:
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
        tail = "" if self.real else ", within the measuring spread"
        if self.kind == "scaled":
            return f"scaled x{self.new}"
        if self.kind == "added":
            return f"{self.item} added ({self.new})"
        if self.kind == "removed":
            return f"{self.item} left out (was {self.old})"
        if self.kind == "amount" and self.percent is not None:
            word = "more" if self.percent > 0 else "less"
            return f"{abs(self.percent):.0f} % {word} {self.item} ({self.old} to {self.new}{tail})"
        if self.kind == "later":
            return f"{self.item} {self.new}"
        if self.kind == "step":
            return f"{self.item} {'re-written' if self.old and self.new else 'added' if self.new else 'left out'}"
        if self.kind == "moved":
            return f"{self.item} moved"
        return f"{self.item}: {self.old or 'nothing'} to {self.new or 'nothing'}"


@dataclass(frozen=True)
class Changes:
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
    _lines: tuple[int | Ingredient, ...] = field(default=(), repr=False)
    _steps: tuple[int | Step, ...] = field(default=(), repr=False)
    _fields: tuple[tuple[str, Any], ...] = field(default=(), repr=False)

    @property
    def text(self) -> str:
        """All changes of the dish in one sentence; words, order and what is within the spread are left to the table."""
        phrases = [row.text for row in self.rows if row.real and row.kind not in ("words", "moved", "title")]
        if not phrases:
            return "No change in the dish." if not self.rows else "No change in the dish, only in how it is written."
        sentence = "; ".join(phrases)
        return sentence[0].upper() + sentence[1:] + "."

    @property
    def table(self) -> pd.DataFrame:
        """One row a change: kind, item, was, now (amounts in the unit of the basis), change [%], real."""
        import pandas as pd

        return pd.DataFrame(
            [(row.kind, row.item, row.old, row.new, row.percent, row.real) for row in self.rows],
            columns=["kind", "item", "was", "now", "change_percent", "beyond_measuring_spread"],
        )

    def applied(self, old: Recipe) -> Recipe:
        """The new version, made from the old one by these changes.

        Raises
        ------
        RecipeError
            If these are changes of another recipe.
        """
        try:
            scaled = old.scaled(self.factor) if self.factor != 1 else old
            lines = tuple(scaled.ingredients[each] if isinstance(each, int) else each for each in self._lines)
            steps = tuple(old.steps[each] if isinstance(each, int) else each for each in self._steps)
        except IndexError as err:
            raise RecipeError(f"These changes do not begin at {old.title!r}; take those of this very version.") from err
        return scaled.model_copy(update={"ingredients": lines, "steps": steps, **dict(self._fields)})

    def _repr_html_(self) -> str:
        if not self.rows:
            return "<p>No change in the dish.</p>"
        cells = "".join(
            "<tr>"
            + f"<th scope='row'>{html.escape(row.item)}</th><td>{html.escape(_KINDS[row.kind])}</td>"
            + f"<td style='text-align:right'>{html.escape(row.old)}</td><td style='text-align:right'>{html.escape(row.new)}</td>"
            + f"<td style='text-align:right'>{_percent(row)}</td></tr>"
            for row in self.rows
        )
        head = "".join(f"<th scope='col'>{name}</th>" for name in ("What", "Change", "Was", "Now", "Difference"))
        return (
            f"<table class='spoonline-changes'><caption>Changes, {html.escape(self.basis)}</caption>"
            f"<thead><tr>{head}</tr></thead><tbody>{cells}</tbody></table>"
        )


def _percent(row: Change) -> str:
    if row.percent is None:
        return ""
    return f"{row.percent:+.1f} %" + ("" if row.real else " (within the measuring spread)")


def changes(old: Recipe, new: Recipe, per: Basis = "litre") -> Changes:
    """Compare two versions, amounts per litre of liquid, so that a mere re-scaling shows as one change.

    Parameters
    ----------
    old, new : Recipe
        The two versions. Where the basis is missing in one, amounts are compared per 1000 g put in.
    per : {"litre", "finished", "flour"}, optional
        Per litre of liquid, per 100 g of the finished dish (needs the weighed yield), or in per cent of all flours.

    Returns
    -------
    Changes
        ``.table``, ``.text``, an HTML form, and ``.applied(old)``, which gives the new version. ``percent`` is the change of
        the amount on the basis [%]; a change is marked real if it exceeds twice the combined measuring spread (propagated from
        each line's ``sd_g``) and 2 % (seasoning 10 %).

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
    if per not in ("litre", "finished", "flour"):
        raise RecipeError(f"There is no basis {per!r}; choose litre, finished or flour.")
    amounts = [_basis(each, per) for each in (old, new)]
    chosen: str = per
    if min(amounts) <= 0:
        chosen, amounts = "all", [each.mass_g / 1000 or 1.0 for each in (old, new)]
    per_old, per_new = amounts
    unit, basis = _BASES[chosen]
    factor = per_new / per_old
    rows: list[Change] = []
    if abs(factor - 1) <= SAME_RATIO:
        factor = 1.0
    else:
        rows.append(Change("scaled", "whole recipe", "1", f"{factor:.3g}"))
    line_rows, line_edits = _lines(old, new, (per_old, per_new, unit), factor)
    order = list(_KINDS)
    rows += sorted(line_rows, key=lambda row: (order.index(row.kind), -abs(row.percent or 0)))
    step_rows, step_edits = _steps(old, new)
    field_rows, fields = _fields(old, new, factor)
    return Changes(tuple(rows + field_rows + step_rows), basis, factor, line_edits, step_edits, fields)


def _basis(recipe: Recipe, per: str) -> float:
    """How much of the basis there is: litres, 100 g of dish, or 1 % of the flours [g]."""
    if per == "litre":
        return recipe.liquid_l
    if per == "finished":
        return float(recipe.yield_g or 0) / 100
    return sum(float(line.mass_g or 0) for line in recipe.ingredients if "flour" in (line.fact_name or line.item)) / 100


def _lines(
    old: Recipe, new: Recipe, per: tuple[float, float, str], factor: float
) -> tuple[list[Change], tuple[int | Ingredient, ...]]:
    pairs = match_lines(old, new)
    scaled = old.scaled(factor) if factor != 1 else old
    rows: list[Change] = []
    edits: list[int | Ingredient] = list(new.ingredients)
    for m, n in pairs:
        was = old.ingredients[m] if m is not None else None
        now = new.ingredients[n] if n is not None else None
        if m is not None and n is not None and scaled.ingredients[m] == new.ingredients[n]:
            edits[n] = m
            continue
        change = _line_change(was, now, *per)
        if change is None and was is not None and now is not None and _words(scaled.ingredients[m or 0]) != _words(now):
            change = Change("words", now.item, was.line, now.line)
        if change is not None:
            rows.append(change)
    rows += [Change("moved", new.ingredients[n].item, "", f"line {n + 1}", real=False) for n in moved(pairs)]
    return rows, tuple(edits)


def _words(line: Ingredient) -> tuple[str, ...]:
    """How a line is written, without its figures: item, preparation, group, unit and filling."""
    try:
        amount = parse_amount(line.amount)
    except AmountError:
        return (line.item, line.preparation, line.group, _FACTOR.sub("", line.amount))
    return (line.item, line.preparation, line.group, amount.unit, amount.fill)


def _line_change(
    was: Ingredient | None, now: Ingredient | None, per_old: float, per_new: float, unit: str
) -> Change | None:
    if was is None and now is not None:
        return Change("added", now.item, "", _per(now, per_new, unit))
    if now is None and was is not None:
        return Change("removed", was.item, _per(was, per_old, unit), "")
    assert was is not None and now is not None
    if was.mass_g is None or now.mass_g is None or was.mass_g == 0 or now.mass_g == 0:
        if _FACTOR.sub("", was.amount) == _FACTOR.sub("", now.amount) and (was.mass_g is None) == (now.mass_g is None):
            return None
        return Change("written", now.item, was.amount or "to taste", now.amount or "to taste")
    log_ratio = math.log(float(now.mass_g) / per_new) - math.log(float(was.mass_g) / per_old)
    if abs(log_ratio) <= SAME_RATIO:
        return None
    spread = math.hypot(_relative_sd(was), _relative_sd(now))
    least = LEAST_SEASONING if now.part == "seasoning" else LEAST_RATIO
    real = abs(log_ratio) > least and abs(log_ratio) > 2 * spread
    return Change(
        "amount", now.item, _per(was, per_old, unit), _per(now, per_new, unit), 100 * math.expm1(log_ratio), real
    )  # fmt: skip


def _relative_sd(line: Ingredient) -> float:
    if not line.mass_g or line.sd_g is None:
        return 0.0
    return float(line.sd_g / line.mass_g)


def _per(line: Ingredient, per: float, unit: str) -> str:
    if line.mass_g is None:
        return line.amount or "to taste"
    amount = float(line.mass_g) / per
    return f"{amount:.1f} {unit}" if amount >= 9.95 else f"{amount:.2f} {unit}"


def _fields(old: Recipe, new: Recipe, factor: float) -> tuple[list[Change], tuple[tuple[str, Any], ...]]:
    """Title, servings, yields and target; what merely follows the size is no change."""
    rows, kept = [], []
    scaled = old.scaled(factor) if factor != 1 else old
    for name in ("title", "servings", "yield_g", "yield_l", "target", "invented"):
        was, follows, now = getattr(old, name), getattr(scaled, name), getattr(new, name)
        if follows == now:
            continue
        kept.append((name, now))
        if name == "target":
            rows.append(Change("target", "thickness aimed at", _target(old), _target(new)))
        elif name == "title":
            rows.append(Change("title", "title", was, now, real=False))
        elif name != "invented" and not (now and follows and abs(float(now) / float(follows) - 1) < 0.02):
            unit = {"yield_g": " g", "yield_l": " L"}.get(name, "")
            before, after = (f"{each}{unit}" if each is not None else "not said" for each in (was, now))
            rows.append(Change("servings" if name == "servings" else "yield", name.partition("_")[0], before, after))
    return rows, tuple(kept)


def _target(recipe: Recipe) -> str:
    if recipe.target is None:
        return ""
    aim = recipe.target
    return f"{aim.viscosity_pa_s} Pa s at {aim.temperature_c} C and {aim.shear_rate_per_s} 1/s (band x{aim.band})"


def _steps(old: Recipe, new: Recipe) -> tuple[list[Change], tuple[int | Step, ...]]:
    pairs = match_steps(old, new)
    edits: list[int | Step] = list(new.steps)
    rows: list[Change] = _when(old, new, pairs)
    for m, n in pairs:
        was, now = (old.steps[m] if m is not None else None), (new.steps[n] if n is not None else None)
        if was is not None and now is not None:
            if was == now:
                edits[n or 0] = m or 0
                continue
            place = f"step {(n or 0) + 1}"
            told = [
                Change(kind, place, _figure(a, unit), _figure(b, unit))
                for kind, unit, a, b in (("time", "min", was.minutes, now.minutes), ("heat", "C", was.temperature_c, now.temperature_c))
                if a != b
            ]  # fmt: skip
            rest = _bare(was.text) != _bare(now.text) or was.group != now.group
            rows += told + ([Change("step", place, was.text, now.text)] if rest or not told else [])
        elif now is not None:
            rows.append(Change("step", f"step {(n or 0) + 1}", "", now.text))
        elif was is not None:
            rows.append(Change("step", f"step {(m or 0) + 1} of before", was.text, ""))
    rows += [Change("moved", f"step {n + 1}", "", new.steps[n].text) for n in moved(pairs)]
    return rows, tuple(edits)


def _figure(value: object, unit: str) -> str:
    return f"{value} {unit}" if value is not None else ""


def _bare(text: str) -> str:
    """A step's words without its figures, which are compared on their own."""
    return re.sub(r"\d+(?:[.,]\d+)?", "#", " ".join(text.casefold().split()))


def _when(old: Recipe, new: Recipe, pairs: list[tuple[int | None, int | None]]) -> list[Change]:
    """Ingredients that go in before a step where they went in after it, or the other way round."""
    twins = [(m, n) for m, n in pairs if m is not None and n is not None]
    rows = []
    for m, n in match_lines(old, new):
        if m is None or n is None:
            continue
        word = _word(new.ingredients[n])
        first = [
            next((k for k, step in enumerate(each.steps) if word in step.text.casefold()), None) for each in (old, new)
        ]
        if first[0] is None or first[1] is None:
            continue
        passed = [(a, b) for a, b in twins if (first[0] - a) * (first[1] - b) < 0]
        if passed:
            later = first[1] > passed[0][1]
            _, step = passed[0] if later else passed[-1]  # the step next to where it went in before
            verb = re.split(r"\W+", new.steps[step].text.casefold())[0]
            rows.append(
                Change(
                    "later",
                    new.ingredients[n].item,
                    f"in step {first[0] + 1}",
                    f"added {'after' if later else 'before'} {verb}",
                )
            )
    return rows


def _word(line: Ingredient) -> str:
    """The word by which a method names an ingredient: the last of its name, in the singular."""
    return line.item.casefold().split()[-1].rstrip("s") if line.item.split() else "\0"
