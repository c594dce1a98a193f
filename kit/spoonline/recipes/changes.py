"""What differs between two versions of a recipe, per litre of liquid."""

from __future__ import annotations

import difflib
import html
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from spoonline.recipes.records import Ingredient, Recipe

if TYPE_CHECKING:
    import pandas as pd

# A difference below this is rounding, whatever the scale could show.
LEAST_RATIO = 0.02
# A pure re-scaling repeats every ratio to the rounding of the written masses.
SAME_RATIO = 0.003


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
        if self.kind == "scaled":
            return f"scaled x{self.new}"
        if self.kind == "added":
            return f"{self.item} added ({self.new})"
        if self.kind == "removed":
            return f"{self.item} left out (was {self.old})"
        if self.kind == "amount" and self.percent is not None:
            word = "more" if self.percent > 0 else "less"
            tail = "" if self.real else ", within the measuring spread"
            return f"{abs(self.percent):.0f} % {word} {self.item} ({self.old} to {self.new}{tail})"
        if self.kind == "step":
            word = "changed" if self.old and self.new else "added" if self.new else "left out"
            return f"{self.item} {word}"
        return f"{self.item}: {self.old or 'nothing'} to {self.new or 'nothing'}"


@dataclass(frozen=True)
class Changes:
    """All differences between two versions, largest part of the dish first in each kind."""

    rows: tuple[Change, ...]
    basis: str

    @property
    def text(self) -> str:
        """All real changes in one sentence."""
        phrases = [row.text for row in self.rows if row.real]
        if not phrases:
            return "No change in the dish."
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
        head = "".join(
            f"<th scope='col'>{name}</th>" for name in ("What", "Change", "Was", "Now", "Difference")
        )
        return (
            f"<table class='spoonline-changes'><caption>Changes, {html.escape(self.basis)}</caption>"
            f"<thead><tr>{head}</tr></thead><tbody>{cells}</tbody></table>"
        )


_KINDS = {
    "scaled": "whole recipe scaled", "added": "added", "removed": "left out", "amount": "amount", "written": "as written",
    "step": "method", "servings": "servings", "target": "target",
}  # fmt: skip


def _percent(row: Change) -> str:
    if row.percent is None:
        return ""
    return f"{row.percent:+.1f} %" + ("" if row.real else " (within the measuring spread)")


def changes(old: Recipe, new: Recipe) -> Changes:
    """Compare two versions, amounts per litre of liquid, so that a mere re-scaling shows as one change.

    Parameters
    ----------
    old, new : Recipe
        The two versions. Without liquid in both, amounts are compared per 1000 g put in.

    Returns
    -------
    Changes
        ``.table``, ``.text`` and an HTML form. ``percent`` is the change of the amount per litre [%]; a change is marked
        real if it exceeds twice the combined measuring spread and 2 % (propagated from each line's ``sd_g``).

    Examples
    --------
    >>> four = Recipe(title="Soup", ingredients=["1 l vegetable stock", "30 g corn starch"], servings=4)
    >>> changes(four, four.scaled(1.5)).text
    'Scaled x1.5.'
    >>> five = Recipe(title="Soup", ingredients=["1 l vegetable stock", "33 g corn starch"], servings=4)
    >>> changes(four, five).text
    '10 % more corn starch (30.0 g/L to 33.0 g/L).'
    """
    by_litre = old.liquid_l > 0 and new.liquid_l > 0
    per_old, per_new = (
        (old.liquid_l, new.liquid_l) if by_litre else (old.mass_g / 1000 or 1.0, new.mass_g / 1000 or 1.0)
    )
    unit, basis = ("g/L", "per litre of liquid") if by_litre else ("g/kg", "per 1000 g put in")
    rows: list[Change] = []
    factor = per_new / per_old
    if abs(factor - 1) > SAME_RATIO:
        rows.append(
            Change("scaled", "whole recipe", f"{per_old:.3g} {unit[-2:].strip('/')}", f"{factor:.3g}")
        )
    pairs = match_lines(old, new)
    for was, now in pairs:
        change = _line_change(was, now, per_old, per_new, unit)
        if change is not None:
            rows.append(change)
    order = {"scaled": 0, "amount": 1, "added": 2, "removed": 3, "written": 4}
    rows.sort(key=lambda row: (order[row.kind], -abs(row.percent or 0)))
    rows += _servings(old, new, factor)
    if old.target != new.target:
        rows.append(Change("target", "thickness aimed at", _target(old), _target(new)))
    rows += _step_changes(old, new)
    return Changes(tuple(rows), basis)


def match_lines(old: Recipe, new: Recipe) -> list[tuple[Ingredient | None, Ingredient | None]]:
    """Pair the lines of two versions by what they are, duplicates in their order; near spellings as a last resort."""

    def key(line: Ingredient) -> str:
        return (line.fact_name or line.item).casefold()

    left = list(new.ingredients)
    pairs: list[tuple[Ingredient | None, Ingredient | None]] = []
    unmatched: list[Ingredient] = []
    for line in old.ingredients:
        twin = next(
            (other for other in left if key(other) == key(line) and other.preparation == line.preparation),
            None,
        )
        twin = twin or next((other for other in left if key(other) == key(line)), None)
        if twin is None:
            unmatched.append(line)
        else:
            left.remove(twin)
            pairs.append((line, twin))
    for line in unmatched:
        # Only unknown items are matched by spelling: two known ones of like name (wheat and rice flour) are different.
        names = [key(other) for other in left if other.fact_name is None]
        near = difflib.get_close_matches(key(line), names, n=1, cutoff=0.8) if line.fact_name is None else []
        twin = next((other for other in left if near and key(other) == near[0]), None)
        if twin is not None:
            left.remove(twin)
        pairs.append((line, twin))
    return pairs + [(None, line) for line in left]


def _line_change(
    was: Ingredient | None, now: Ingredient | None, per_old: float, per_new: float, unit: str
) -> Change | None:
    if was is None and now is not None:
        return Change("added", now.item, "", _per(now, per_new, unit))
    if now is None and was is not None:
        return Change("removed", was.item, _per(was, per_old, unit), "")
    assert was is not None and now is not None
    if was.mass_g is None or now.mass_g is None or was.mass_g == 0 or now.mass_g == 0:
        if (was.amount, was.mass_g) == (now.amount, now.mass_g):
            return None
        return Change("written", now.item, was.amount or "to taste", now.amount or "to taste")
    log_ratio = math.log(float(now.mass_g) / per_new) - math.log(float(was.mass_g) / per_old)
    if abs(log_ratio) <= SAME_RATIO:
        return None
    spread = math.hypot(_relative_sd(was), _relative_sd(now))
    real = abs(log_ratio) > LEAST_RATIO and abs(log_ratio) > 2 * spread
    return Change(
        "amount",
        now.item,
        _per(was, per_old, unit),
        _per(now, per_new, unit),
        100 * math.expm1(log_ratio),
        real,
    )


def _relative_sd(line: Ingredient) -> float:
    if not line.mass_g or line.sd_g is None:
        return 0.0
    return float(line.sd_g / line.mass_g)


def _per(line: Ingredient, per: float, unit: str) -> str:
    return f"{float(line.mass_g) / per:.1f} {unit}" if line.mass_g is not None else line.amount or "to taste"


def _servings(old: Recipe, new: Recipe, factor: float) -> list[Change]:
    """A changed number of servings, unless it just follows the scale."""
    if old.servings is None or new.servings is None:
        same = old.servings == new.servings
    else:
        same = abs(float(new.servings) / (float(old.servings) * factor) - 1) < 0.02
    if same:
        return []
    return [Change("servings", "servings", f"{old.servings or 'not said'}", f"{new.servings or 'not said'}")]


def _target(recipe: Recipe) -> str:
    if recipe.target is None:
        return ""
    aim = recipe.target
    return f"{aim.viscosity_pa_s} Pa s at {aim.temperature_c} C and {aim.shear_rate_per_s} 1/s (band x{aim.band})"


def _step_changes(old: Recipe, new: Recipe) -> list[Change]:
    before, after = [step.text for step in old.steps], [step.text for step in new.steps]
    matcher = difflib.SequenceMatcher(a=before, b=after, autojunk=False)
    rows: list[Change] = []
    for tag, i1, i2, j1, j2 in matcher.get_opcodes():
        if tag == "equal":
            continue
        for offset in range(max(i2 - i1, j2 - j1)):
            was = before[i1 + offset] if i1 + offset < i2 else ""
            now = after[j1 + offset] if j1 + offset < j2 else ""
            number = (j1 if now else i1) + offset + 1
            rows.append(Change("step", f"step {number}", was, now))
    return rows
