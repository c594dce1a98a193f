"""Pots that stand out, with the reason where the record shows one; and whether a kitchen is steady over time."""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from spoonline.dose.compare import Spread
from spoonline.pots.contents import contents
from spoonline.pots.records import Batch
from spoonline.pots.thickness import batch_thickness, temperature_ratio
from spoonline.recipes import Recipe, Target

# A pot this many standard deviations from the others of its version is named.
ODD_SDS = 2.5
# The figures of an individuals and moving-range chart: 3/d2 and d2 for two (d2 = 1.128, as the usual tables).
D2 = 1.128379


@dataclass(frozen=True)
class OddPot:
    """One pot that stands out of its version: ratio to the others, how many SDs, and what the record shows."""

    batch: Batch
    ratio: float
    sds: float
    reasons: tuple[str, ...]

    @property
    def text(self) -> str:
        """One sentence."""
        times = f"{self.ratio:.2f} times as thick" if self.ratio > 1 else f"{1 / self.ratio:.2f} times thinner"
        why = "; ".join(self.reasons) or "the record shows no reason: look at its weights and its reading"
        return f"Batch {self.batch.number} is {times} than the others of version {self.batch.version} say ({abs(self.sds):.1f} SDs): {why}."


def odd_pots(
    batches: Sequence[Batch], recipes: Mapping[int, Recipe], target: Target | None, spread: Spread
) -> list[OddPot]:
    """Name the pots that lie more than 2.5 standard deviations from the others of their version.

    Parameters
    ----------
    batches, recipes : sequence of Batch, mapping of int to Recipe
        Pots of one dish, and its versions by number.
    target : Target or None
        Conditions to compare at.
    spread : Spread
        The kitchen's pot-to-pot spread.

    Returns
    -------
    list of OddPot
        With reasons from the record: more or less boiled away, read hot or cold, another amount put in, another tool.
    """
    found = []
    read = [(batch, thickness) for batch in batches if (thickness := batch_thickness(batch, target)) is not None]
    for batch, thickness in read:
        others = [(b, t) for b, t in read if b.version == batch.version and b is not batch]
        if not others:
            continue
        middle = statistics.fmean(math.log(t.viscosity_pa_s) for _, t in others)
        off = math.log(thickness.viscosity_pa_s) - middle
        sds = off / (spread.ln_sd * math.sqrt(1 + 1 / len(others)))
        if abs(sds) > ODD_SDS:
            reasons = _reasons(batch, [b for b, _ in others], recipes[batch.version], off)
            found.append(OddPot(batch, math.exp(off), sds, reasons))
    return found


def _reasons(batch: Batch, others: Sequence[Batch], recipe: Recipe, off: float) -> tuple[str, ...]:
    """What in the record points the way the pot strayed."""
    thicker = off > 0
    found = []
    here, *usual = (_percent(each, recipe) for each in (batch, *others))
    known = [each for each in usual if each]
    if here and known:
        middle = statistics.median(known)
        if (here > 1.03 * middle) == thicker and abs(here / middle - 1) > 0.03:
            lost, before = batch.evaporated_g or 0.0, statistics.median(other.evaporated_g or 0.0 for other in others)
            what = f"{'more' if lost > before else 'less'} boiled away ({lost:.0f} g against {before:.0f} g)"
            found.append(what if abs(lost - before) > 30 else f"starch to water is {100 * (here / middle - 1):+.0f} %")
    # every pot here was read, or it would not have been compared
    own, *warm = (statistics.fmean(float(r.temperature_c) for r in each.readings) for each in (batch, *others))
    rest = statistics.median(warm)
    # The usual allowance for temperature is made already; what is left can be a fifth of it either way.
    if abs(math.log(temperature_ratio(own, rest))) > 0.15 and (own < rest) == thicker:
        found.append(f"read at {own:.0f} C where the others were read at {rest:.0f} C")
    tools, usual_tools = {r.tool for r in batch.readings}, {r.tool for other in others for r in other.readings}
    if not tools & usual_tools:
        with_this, with_those = (" and ".join(sorted(each)) for each in (tools, usual_tools))
        found.append(f"read with the {with_this}, the others with the {with_those}")
    found += [flag for reading in batch.readings for flag in reading.flags]
    found += [f"left out because: {batch.left_out}"] if batch.left_out else []
    return tuple(dict.fromkeys(found))


def _percent(batch: Batch, recipe: Recipe) -> float:
    """Starch to starch and water [%]; 0 where the pot was not weighed or holds none."""
    weighed = batch.evaporated_g is not None and recipe.liquid_l > 0
    return contents(batch.cooked(recipe), batch.evaporated_g).percent if weighed else 0.0


@dataclass(frozen=True)
class Steadiness:
    """An individuals chart of ln(viscosity over its version's mean): limits as ratios, and the batches outside."""

    numbers: tuple[int, ...]
    ratios: tuple[float, ...]
    low: float
    high: float
    outside: tuple[int, ...]

    @property
    def text(self) -> str:
        """One sentence."""
        if len(self.ratios) < 4:
            return f"{len(self.ratios)} repeated pots say too little about steadiness; four are the least."
        outside = f"outside: batch {', '.join(map(str, self.outside))}" if self.outside else "none lies outside"
        run = f"usual run {self.low:.2f} to {self.high:.2f} times their version's mean"
        return f"{len(self.ratios)} pots over time, {run}; {outside}."


def steadiness(batches: Sequence[Batch], target: Target | None) -> Steadiness:
    """Judge over time whether pots of their versions stay in the usual run.

    Notes
    -----
    Individuals and moving-range chart: mean range of neighbours over 1.128 is one SD, limits at three. Versions of which one
    pot was cooked say nothing and are left out.

    Examples
    --------
    >>> steadiness([], None).text
    '0 repeated pots say too little about steadiness; four are the least.'
    """
    read: list[tuple[Batch, float]] = []
    groups: dict[int, list[float]] = {}
    for batch in sorted(batches, key=lambda each: (each.cooked_on, each.number)):
        if not batch.left_out and (found := batch_thickness(batch, target)) is not None:
            read.append((batch, math.log(found.viscosity_pa_s)))
            groups.setdefault(batch.version, []).append(read[-1][1])
    # Taking a version's own mean out makes its pots look steadier; n/(n-1) undoes that.
    run = [
        (batch.number, (value - statistics.fmean(groups[batch.version])) * math.sqrt(n / (n - 1)))
        for batch, value in read
        if (n := len(groups[batch.version])) > 1
    ]
    steps = [abs(b - a) for (_, a), (_, b) in pairwise(run)]
    limit = 3 * statistics.fmean(steps) / D2 if steps else math.inf
    outside = tuple(number for number, value in run if abs(value) > limit)
    numbers, ratios = tuple(n for n, _ in run), tuple(math.exp(v) for _, v in run)
    return Steadiness(numbers, ratios, math.exp(-limit), math.exp(limit), outside)
