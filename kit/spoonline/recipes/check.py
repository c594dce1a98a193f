"""Does a recipe agree with itself? Two measures on one line, spoons where only a scale will do, counts without a size."""

from __future__ import annotations

import html
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from spoonline import facts
from spoonline.measures import SYSTEMS, Amount
from spoonline.measures.errors import KitchenError
from spoonline.recipes.records import Ingredient, Recipe

if TYPE_CHECKING:
    import pandas as pd

FILLS = ("level", "scant", "rounded", "heaped")
# A reading that comes this near to the surer measure explains the line.
EXPLAINS = 0.06


@dataclass(frozen=True)
class Finding:
    """One thing to mend or to know.

    Attributes
    ----------
    line : int
        Number of the line, from 1.
    written : str
        The line as written.
    kind : str
        two measures, by volume, no size, by feel, or not understood.
    said : str
        What is the matter, and what to do.
    apart_percent : float or None
        How much more the coarser measure of the line holds than the surer one [%].
    spread_percent : float or None
        Standard uncertainty of the coarser one [%].
    readings : tuple of str
        Readings of the coarser measure under which the two agree.
    """

    line: int
    written: str
    kind: str
    said: str
    apart_percent: float | None = None
    spread_percent: float | None = None
    readings: tuple[str, ...] = ()


@dataclass(frozen=True)
class RecipeCheck:
    """What was found in a recipe, and the one reading under which most of its double measures agree."""

    title: str
    lines: int
    findings: tuple[Finding, ...]
    common: str = ""

    @property
    def text(self) -> str:
        """All of it in plain sentences."""
        if not self.findings:
            return f"{self.title}: all {self.lines} lines agree with themselves and can be weighed."
        head = f"{self.title}: {len(self.findings)} of {self.lines} lines want a look." + (
            f" {self.common}" if self.common else ""
        )
        return "\n".join([head, *(f"- Line {each.line}, {each.written!r}: {each.said}" for each in self.findings)])

    @property
    def table(self) -> pd.DataFrame:
        """One row a finding: line, written, matter, apart_percent, spread_percent, agrees_when, what_to_do."""
        import pandas as pd

        heads = ["line", "written", "matter", "apart_percent", "spread_percent", "agrees_when", "what_to_do"]
        rows = [
            (each.line, each.written, each.kind, each.apart_percent, each.spread_percent, "; ".join(each.readings), each.said)
            for each in self.findings
        ]  # fmt: skip
        return pd.DataFrame(rows, columns=heads).set_index("line")

    def _repr_html_(self) -> str:
        head, *rest = self.text.splitlines()
        items = "".join(f"<li>{html.escape(line.removeprefix('- '))}</li>" for line in rest)
        return f"<div><p>{html.escape(head)}</p>{f'<ul>{items}</ul>' if items else ''}</div>"


def check(recipe: Recipe) -> RecipeCheck:
    """Check every line of a recipe against itself.

    Parameters
    ----------
    recipe : Recipe

    Returns
    -------
    RecipeCheck
        ``.table`` (DataFrame), ``.text``; a line whose two measures differ by more than the spread of the coarser one is
        named with the difference and the readings under which it agrees; so is a thickener, salt or flour given by volume
        only, a count without a size, a measure by feel, and a line that was not understood.

    Notes
    -----
    Spread of a measure: one standard uncertainty (levelled spoon 10 %, cup 13 %, heaped 25 %; judged, see `grams`). Kitchens
    that were tried for a common reading: US customary, US label, metric, UK, Australian.

    Examples
    --------
    >>> found = check(Recipe(title="Soup", ingredients=["1 l vegetable stock", "1/4 cup (57 g) corn starch", "2 onions"]))
    >>> list(found.table["matter"])
    ['two measures', 'no size']
    >>> round(found.table["apart_percent"].iloc[0])
    -44
    """
    findings: list[Finding] = []
    pairs: list[tuple[Amount, Amount, str]] = []
    for number, line in enumerate(recipe.ingredients, start=1):
        read = facts.read_line(line.line)
        measures = [each for each in (read.amount, *read.others) if each is not None]
        found = _two_measures(number, line, measures, read.item)
        if found is not None:
            finding, pair = found
            pairs.append((*pair, read.item or ""))
            if finding is not None:
                findings.append(finding)
                continue
        single = _single(number, line, read)
        if single is not None:
            findings.append(single)
    return RecipeCheck(recipe.title, len(recipe.ingredients), tuple(findings), _common(pairs))


def _two_measures(
    number: int, line: Ingredient, measures: list[Amount], item: str | None
) -> tuple[Finding | None, tuple[Amount, Amount]] | None:
    """Compare the surest measure of a line with the coarsest one; None where there are no two that can be weighed."""
    if item is None or len(measures) < 2:
        return None
    weighed = []
    for each in measures:
        try:
            weighed.append((each, facts.grams(each, item)))
        except KitchenError:
            continue
    if len(weighed) < 2:
        return None
    weighed.sort(key=lambda pair: pair[1].relative_sd)
    (fine, sure), (coarse, loose) = weighed[0], weighed[-1]
    apart = 100 * (loose.mass_g / sure.mass_g - 1)
    spread = 100 * loose.relative_sd
    if abs(sure.mass_g - loose.mass_g) <= loose.sd_g:
        return None, (fine, coarse)
    readings = tuple(_explained(fine, coarse, item))
    times = abs(sure.mass_g - loose.mass_g) / loose.sd_g
    said = (
        f"{fine} is {sure.mass_g:.3g} g but {coarse} is about {loose.mass_g:.3g} g, {abs(apart):.0f} % "
        f"{'more' if apart > 0 else 'less'}; the measure's own spread is {spread:.0f} %, so they are {times:.1f} spreads apart."
    )
    said += (
        f" They agree if it is read as {' or '.join(readings)}."
        if readings
        else " No usual reading of it makes them agree."
    )
    said += " Weigh it once, write the grams, and drop the other."
    return Finding(number, line.line, "two measures", said, apart, spread, readings), (fine, coarse)


def _explained(fine: Amount, coarse: Amount, item: str) -> list[str]:
    """Other readings of the coarse measure that come near the fine one, the nearest first."""
    wanted = facts.grams(fine, item).mass_g
    tries: list[tuple[str, Amount, str]] = []
    unit = coarse.measure
    if unit.kind == "volume":
        tries += [
            (f"{name} ({unit.name})", replace(coarse, system=system), "")
            for system, name in SYSTEMS.items()
            if system != coarse.system
        ]
        tries += [
            (f"{fill} {unit.name}", replace(coarse, fill=fill), "")
            for fill in FILLS
            if fill != (coarse.fill or "level")
        ]
    if unit.kind == "piece":
        tries += [(f"{size} ones", coarse, size) for size in ("small", "medium", "large")]
    found = []
    for name, each, size in tries:
        try:
            off = abs(math.log(facts.grams(each, item, size=size).mass_g / wanted))
        except KitchenError:
            continue
        if off <= EXPLAINS:
            found.append((off, name))
    return [name for _, name in sorted(found)]


def _single(number: int, line: Ingredient, read: facts.LineReading) -> Finding | None:
    """What is the matter with a line that gives one measure."""
    amount = read.amount
    if amount is not None and amount.measure.kind == "feel":
        said = f"{amount.text or amount} has no size: weigh yours five times (notebook 6) and it counts from then on."
        return Finding(number, line.line, "by feel", said)
    if read.item is None or line.mass_g is None:
        said = " ".join(read.notes) or "Its mass is not known: weigh it and write grams."
        return Finding(number, line.line, "not understood", said)
    row = facts.ingredient(read.item)
    kinds = {each.measure.kind for each in (amount, *read.others) if each is not None}
    if "mass" in kinds or amount is None:
        return None
    mass, sd = float(line.mass_g), float(line.sd_g or 0)
    spread = 100 * sd / mass if mass > 0 else 0.0
    if amount.measure.kind == "volume" and (line.part == "thickener" or row.is_salt or "flour" in row.name):
        why = (
            "a tenth of starch changes the thickness by about a third"
            if line.part == "thickener"
            else "a spoon of salt differs twofold between kinds"
            if row.is_salt
            else "flour packs"
        )
        said = (
            f"Only by volume: {mass:.3g} g, give or take {sd:.2g} g ({spread:.0f} %); {why}. Weigh it and write grams."
        )
        return Finding(number, line.line, "by volume", said, None, spread)
    sizes = [row.pieces[size] for size in ("small", "medium", "large") if size in row.pieces]
    if amount.measure.kind == "piece" and amount.unit == "" and not read.size and len(sizes) > 1:
        low, high = amount.middle * min(sizes), amount.middle * max(sizes)
        said = f"No size: {low:.0f} to {high:.0f} g, small to large. Write the size, or weigh it."
        return Finding(number, line.line, "no size", said, None, spread)
    return None


def _common(pairs: list[tuple[Amount, Amount, str]]) -> str:
    """The kitchen whose spoons and cups make most of the double measures agree, where that is not the one assumed."""
    spooned = [(fine, coarse, item) for fine, coarse, item in pairs if coarse.measure.kind == "volume"]
    if len(spooned) < 2:
        return ""

    def off(system: str | None) -> tuple[int, float]:
        agree, total = 0, 0.0
        for fine, coarse, item in spooned:
            other = coarse if system is None else replace(coarse, system=system)
            try:
                sure, loose = facts.grams(fine, item), facts.grams(other, item)
            except KitchenError:
                continue
            agree += abs(sure.mass_g - loose.mass_g) <= loose.sd_g
            total += abs(math.log(sure.mass_g / loose.mass_g))
        return -agree, total

    as_written, (best, system) = off(None), min((off(each), each) for each in SYSTEMS)
    if -best[0] > -as_written[0] and system != spooned[0][1].system:
        return (
            f"Read with {SYSTEMS[system]} spoons and cups, {-best[0]} of {len(spooned)} double measures agree; "
            f"as {SYSTEMS[spooned[0][1].system]} ones, {-as_written[0]}."
        )
    return ""
