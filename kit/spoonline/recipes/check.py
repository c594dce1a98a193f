"""Does a recipe agree with itself? Two measures on one line, spoons where only a scale will do, counts without a size."""

import math
from typing import NamedTuple

from spoonline import facts
from spoonline.measures import SYSTEMS, Amount, DataFrame, frame_html, frame_of, or_none, takes_quantities
from spoonline.recipes.base import said
from spoonline.recipes.records import Ingredient, Recipe

FILLS = ("level", "scant", "rounded", "heaped")
# A reading that comes this near to the surer measure explains the line.
EXPLAINS = 0.06


class Finding(NamedTuple):
    """One thing to mend or to know of a line (its number from 1): its kind, and in words what is the matter and what to do.

    The kind is two measures, by volume, no size, by feel, or not understood. Of two measures: how much more the coarser one
    holds than the surer one [%], its standard uncertainty [%], and its readings under which the two agree.
    """

    line: int
    written: str
    kind: str
    said: str
    apart_percent: float | None = None
    spread_percent: float | None = None
    readings: tuple[str, ...] = ()


class RecipeCheck(NamedTuple):
    """What was found in a recipe, and the one reading under which most of its double measures agree."""

    title: str
    lines: int
    findings: tuple[Finding, ...]
    common: str = ""

    @property
    def text(self) -> str:
        """All of it in plain sentences."""
        if not self.findings:
            return said("all agree", title=self.title, lines=self.lines)
        few, common = len(self.findings), self.common
        head = said("want a look", title=self.title, few=few, lines=self.lines, common=common).rstrip()
        return "\n".join([head, *(f"- Line {each.line}, {each.written!r}: {each.said}" for each in self.findings)])

    @property
    def table(self) -> DataFrame:
        """One row a finding: line, written, matter, apart_percent, spread_percent, agrees_when, what_to_do."""
        heads = ["line", "written", "matter", "what_to_do", "apart_percent", "spread_percent", "agrees_when"]
        rows = [(*row[:-1], "; ".join(row.readings)) for row in self.findings]
        return frame_of(rows, *heads).set_index("line")[[*heads[1:3], *heads[4:], heads[3]]]

    def _repr_html_(self) -> str:
        head, *rest = self.text.splitlines()
        return frame_html(None, head, [line.removeprefix("- ") for line in rest])


@takes_quantities
def check(recipe: Recipe) -> RecipeCheck:
    """Check every line of a recipe against itself.

    A line whose two measures differ by more than the spread of the coarser one is named with the difference and the readings
    under which it agrees; so is a thickener, salt or flour given by volume only, a count without a size, a measure by feel,
    and a line that was not understood.

    Parameters
    ----------
    recipe : Recipe

    Notes
    -----
    Spread of a measure: one standard uncertainty (levelled spoon 10 %, cup 13 %, heaped 25 %; judged, see `grams`). Kitchens
    that were tried for a common reading: US customary, US label, metric, UK, Australian.

    Examples
    --------
    >>> found = check(Recipe(title="Soup", ingredients=["1 l vegetable stock", "1/4 cup (57 g) corn starch", "2 onions"]))
    >>> list(found.table["matter"]), round(found.table["apart_percent"].iloc[0])
    (['two measures', 'no size'], -44)
    """
    findings: list[Finding] = []
    pairs: list[tuple[Amount, Amount, str]] = []
    for number, line in enumerate(recipe.ingredients, start=1):
        read = facts.read_line(line.line, recipe.measures)
        pair = _pair(read)
        pairs += [pair] if pair else []
        found = (pair and _two_measures(number, line, *pair)) or _single(number, line, read)
        findings += [found] if found else []
    return RecipeCheck(recipe.title, len(recipe.ingredients), tuple(findings), _common(pairs))


def _pair(read: facts.LineReading) -> tuple[Amount, Amount, str] | None:
    """The surest measure of a line, the coarsest one, and the item; None where there are no two that can be weighed."""
    if read.item is None:
        return None
    tried = [(or_none(facts.grams, each, read.item), each) for each in read.measures]
    weighed = [(mass.relative_sd, _by_kitchen(each, read.item), each) for mass, each in tried if mass]
    weighed.sort(key=lambda each: each[:2])
    return (weighed[0][2], weighed[-1][2], read.item) if len(weighed) > 1 else None


def _by_kitchen(amount: Amount, item: str) -> bool:
    """Whether kitchens differ in this measure: a pint is not one size, a litre is."""
    masses = (or_none(facts.grams, amount._replace(system=each), item) for each in SYSTEMS)
    return len({mass.mass_g for mass in masses if mass}) > 1


def _two_measures(number: int, line: Ingredient, fine: Amount, coarse: Amount, item: str) -> Finding | None:
    """What is the matter with two measures that differ by more than the spread of the coarser one."""
    sure, loose = facts.grams(fine, item), facts.grams(coarse, item)
    apart, spread = 100 * (loose.mass_g / sure.mass_g - 1), 100 * loose.relative_sd
    if abs(sure.mass_g - loose.mass_g) <= loose.sd_g:
        return None
    readings = tuple(_explained(fine, coarse, item))
    agree = f"They agree if it is read as {' or '.join(readings)}."
    agree = agree if readings else "No usual reading of it makes them agree."
    far = {"apart": abs(apart), "spread": spread, "times": abs(sure.mass_g - loose.mass_g) / loose.sd_g}
    more = "more" if apart > 0 else "less"
    text = said("two measures", fine=fine, coarse=coarse, sure=sure, loose=loose, agree=agree, more=more, **far)
    return Finding(number, line.line, "two measures", text, apart, spread, readings)


def _explained(fine: Amount, coarse: Amount, item: str) -> list[str]:
    """Other readings of the coarse measure that come near the fine one, the nearest first."""
    wanted = facts.grams(fine, item).mass_g
    unit, written = coarse.measure, (coarse.system, coarse.fill or "level")
    tries: list[tuple[str, Amount, str]] = []
    if unit.kind == "volume":
        tries = [(f"{name} ({unit.name})", coarse._replace(system=each), "") for each, name in SYSTEMS.items()]
        tries += [(f"{fill} {unit.name}", coarse._replace(fill=fill), "") for fill in FILLS]
        tries = [each for each in tries if (each[1].system, each[1].fill or "level") != written]
    if unit.kind == "piece":
        tries = [(f"{size} ones", coarse, size) for size in ("small", "medium", "large")]
    masses = [(or_none(facts.grams, each, item, size=size), name) for name, each, size in tries]
    found = sorted((abs(math.log(mass.mass_g / wanted)), name) for mass, name in masses if mass)
    return [name for off, name in found if off <= EXPLAINS]


def _single(number: int, line: Ingredient, read: facts.LineReading) -> Finding | None:
    """What is the matter with a line that gives one measure."""
    amount = read.amount
    if amount is not None and amount.measure.kind == "feel":
        return Finding(number, line.line, "by feel", said("by feel", measure=amount.text or amount))
    if read.item is None or line.mass_g is None:
        return Finding(number, line.line, "not understood", " ".join(read.notes) or said("no mass"))
    row = facts.ingredient(read.item)
    if amount is None or any(each.measure.kind == "mass" for each in read.measures):
        return None
    mass, sd = float(line.mass_g), float(line.sd_g or 0)
    spread = 100 * sd / mass if mass > 0 else 0.0
    if amount.measure.kind == "volume" and (line.part == "thickener" or row.is_salt or "flour" in row.name):
        why = "a spoon of salt differs twofold between kinds" if row.is_salt else "flour packs"
        if line.part == "thickener":
            why = "a tenth of starch changes the thickness by about a third"
        text = said("by volume", mass=mass, sd=sd, spread=spread, why=why)
        return Finding(number, line.line, "by volume", text, None, spread)
    sizes = [row.pieces[size] for size in ("small", "medium", "large") if size in row.pieces]
    if amount.measure.kind == "piece" and amount.unit == "" and not read.size and len(sizes) > 1:
        text = said("no size", low=amount.middle * min(sizes), high=amount.middle * max(sizes))
        return Finding(number, line.line, "no size", text, None, spread)
    return None


def _common(pairs: list[tuple[Amount, Amount, str]]) -> str:
    """The kitchen whose spoons and cups make most of the double measures agree, where that is not the one assumed."""
    spooned = [(fine, coarse, item) for fine, coarse, item in pairs if coarse.measure.kind == "volume"]
    if len(spooned) < 2:
        return ""

    def agreeing(system: str | None) -> tuple[int, float]:
        """How many agree, and less how far apart all of them are."""
        tried = [(each, coarse._replace(system=system or coarse.system), item) for each, coarse, item in spooned]
        read = [(facts.grams(fine, item).mass_g, or_none(facts.grams, coarse, item)) for fine, coarse, item in tried]
        both = [(sure, loose.mass_g, loose.sd_g) for sure, loose in read if loose]
        agree = sum(abs(sure - loose) <= sd for sure, loose, sd in both)
        return agree, -sum(abs(math.log(sure / loose)) for sure, loose, _ in both)

    assumed, now = spooned[0][1].system, agreeing(None)[0]
    best = max(sorted(SYSTEMS), key=agreeing)
    most = agreeing(best)[0]
    if most <= now or best == assumed:
        return ""
    names = {"best": SYSTEMS[best], "assumed": SYSTEMS[assumed]}
    return said("another kitchen", most=most, now=now, every=len(spooned), **names)
