"""Which pots of a dish count: one function that the curve, the comparison, the card and every table ask."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from statistics import median
from typing import NamedTuple

from spoonline.measures import BatchError, totals
from spoonline.pots.contents import PotContents, read_inside
from spoonline.pots.records import STAGES, Batch, Reading
from spoonline.pots.thickness import Thickness, batch_thickness, bring_all, is_fresh
from spoonline.recipes import Recipe, Target

# So many of the last pots of one dose inside the band, on so many days, before a recipe is called tested (three, as the USDA words a
# standardised recipe; second-hand; that one of four may miss and that two days are wanted is judged).
TESTED_POTS, LAST_POTS, TESTED_DAYS = 3, 4, 2
# Pots are of one recipe where each quantity per litre is the same but for this (judged: less than a cook's weighing shows).
SAME_QUANTITY = 0.05
# A pot that was read only before anything thickened it: it tells the curve of the base, and is no pot of the dish.
BASE_ALONE = "no thickener went in: only its base was read"


class CookedPot(NamedTuple):
    """One pot of a dish: what went in, how thick it was when fresh, and why it does not count (blank where it does).

    ``recipe`` is what really went in, None where the pot's version is not there; ``inside`` is its water phase, None without a
    liquid; ``thickness`` is that of how it ended, None where nothing fresh was read; ``read`` is what was in it at each reading;
    ``fault`` is why none of its outcomes counts, blank where only its thickness was not read.
    """

    batch: Batch
    recipe: Recipe | None
    inside: PotContents | None
    thickness: Thickness | None
    left_out: str = ""
    read: tuple[tuple[Reading, PotContents], ...] = ()
    fault: str = ""

    @property
    def counts(self) -> bool:
        """Whether its thickness counts."""
        return not self.left_out

    @property
    def viscosity_pa_s(self) -> float:
        """Its viscosity [Pa s], NaN where it was not read."""
        return math.nan if self.thickness is None else self.thickness.viscosity_pa_s

    @property
    def dose_g_per_l(self) -> float:
        """Thickener that went in [g per L of liquid], NaN where its version is not there."""
        if self.inside is not None:
            return self.inside.dose_g_per_l
        return math.nan if self.recipe is None else self.recipe.dose_g_per_l


Versions = Mapping[int, Recipe]


def cooked_pot(batch: Batch, versions: Versions, target: Target | None, usual: float | None = None) -> CookedPot:
    """Say how thick one pot was, and whether it counts.

    Parameters
    ----------
    batch : Batch
    versions : mapping of int to Recipe
        The versions of the dish that stand, by number; one that was taken back, or is damaged, is not among them.
    target : Target or None
        Conditions of the viscosity.
    usual : float, optional
        Share of what goes in that evaporates from this dish, for a pot that was not weighed; as forecast unless said.

    Returns
    -------
    CookedPot
        Left out are pots that a cook left out, pots of a version that does not stand, pots whose two masses cannot be, pots without
        a fresh reading that stands, and pots that lack the thickener of their version. A pot of an earlier version counts, and so
        does one that stands out.
    """
    version = versions.get(batch.version)
    recipe = None if version is None else batch.cooked(version)
    own, held = batch.left_out, None
    read: list[tuple[Reading, PotContents]] = []
    try:
        if version is not None:
            read, held = read_inside(batch, version, usual)
    except BatchError as err:
        own = own or str(err).rstrip(".")
    thickness = batch_thickness(batch, target)
    fresh = [each for reading, each in read if is_fresh(reading.stage, target)]
    held = fresh[-1] if fresh else held
    held = held if held is not None and held.liquid_l > 0 else None
    fault = own or _what_lacks(batch, version, recipe)
    unread = "" if thickness is not None else _unread(batch)
    return CookedPot(batch, recipe, held, thickness, fault or unread, tuple(read), fault)


def weighed_loss(pots: Iterable[CookedPot]) -> float | None:
    """The share of what went in that evaporates: the median of the pots that were weighed before and after; None where none was."""
    losses = [pot.inside.loss for pot in pots if pot.inside is not None and pot.inside.weighed]
    return median(losses) if losses else None


def cooked_pots(batches: Iterable[Batch], versions: Versions, target: Target | None) -> tuple[CookedPot, ...]:
    """Every pot of a dish, see :func:`cooked_pot`; one that was not weighed lost what the others did."""
    every = list(batches)
    bring_all(every, target)
    return lost_as_usual(every, lambda batch, usual: cooked_pot(batch, versions, target, usual))


def lost_as_usual(batches: Sequence[Batch], cook: Callable[[Batch, float | None], CookedPot]) -> tuple[CookedPot, ...]:
    """Pots of one dish, each cooked anew with the usual loss of those that were weighed where it was not weighed itself."""
    first = {n: cook(each, None) for n, each in enumerate(batches) if _on_scale(each)}
    usual = weighed_loss(first.values())
    stands = {n: pot for n, pot in first.items() if usual is None or pot.inside is None or pot.inside.weighed}
    return tuple(stands.get(n) or cook(each, usual) for n, each in enumerate(batches))


def _on_scale(batch: Batch) -> bool:
    """Whether its pot was weighed at all; how often, its story says."""
    return batch.evaporated_g is not None or any(each.kind == "weighed" for each in batch.moments)


def _what_lacks(batch: Batch, version: Recipe | None, recipe: Recipe | None) -> str:
    if version is None or recipe is None:
        return f"its version {batch.version} is not there: taken back, or damaged"
    if any(moment.kind == "blended" for moment in batch.moments):
        return "some of it was blended to mend it, which the recipe does not say"
    return BASE_ALONE if recipe.thickener_g == 0 < version.thickener_g else ""


def _unread(batch: Batch) -> str:
    reasons = dict.fromkeys(filter(None, (reading.set_apart for reading in batch.readings)))
    bare = any(not STAGES[reading.stage].thickened for reading in batch.readings if not reading.set_apart)
    told = f"its reading is left out: {'; '.join(reasons)}" if reasons else "not read hot or served"
    return BASE_ALONE if bare else told


class BandCount(NamedTuple):
    """Of the last pots at one dose: how many were read, how many of them lay inside the band, and on how many days those were cooked."""

    read: int = 0
    inside: int = 0
    days: int = 0

    @property
    def enough(self) -> bool:
        """Whether that makes it tested: three of the last four pots inside the band, on two days or more."""
        return self.inside >= TESTED_POTS and self.days >= TESTED_DAYS

    @classmethod
    def of(cls, pots: Iterable[tuple[bool, Hashable]]) -> BandCount:
        """Count the last four of these pots, in the order cooked: whether each lay inside the band, and its day.

        >>> BandCount.of([(False, 1), (True, 1), (True, 2), (True, 2)])
        BandCount(read=4, inside=3, days=2)
        """
        last = list(pots)[-LAST_POTS:]
        days = {day for inside, day in last if inside}
        return cls(len(last), sum(inside for inside, _ in last), len(days))


def same_quantities(cooked: Recipe, recipe: Recipe, *, seasonings: bool = False) -> bool:
    """Whether what went into a pot is this recipe: each line that the recipe weighs, per litre of liquid (a
    dough per flour, else per kg), within 5 %.

    Seasonings do not count unless said.

    >>> old = Recipe(title="Gravy", ingredients=["1 l beef stock", "60 g wheat flour"])
    >>> same_quantities(old.scaled(2), old), same_quantities(old, Recipe(title="Gravy", ingredients=["1 l beef stock", "70 g wheat flour"]))
    (True, False)
    """

    every = (*recipe.ingredients, *cooked.ingredients)
    loose = {line.fact_name or line.item.casefold() for line in every if not line.mass_g}

    def per(of: Recipe) -> dict[str, float]:
        """Of the lines that the recipe weighs: a glug that was weighed once makes no other dish."""
        lines = [(line.fact_name or line.item.casefold(), line) for line in of.ingredients if line.mass_g]
        lines = [(name, line) for name, line in lines if name not in loose]
        kept = of.model_copy(update={"ingredients": tuple(line for _, line in lines)})
        flour = max((float(line.mass_g or 0) for name, line in lines if "flour" in name), default=0.0)
        base = (flour if of.kind == "dough" else 0.0) or kept.liquid_l or kept.mass_g / 1000 or 1.0
        told = (each for each in lines if seasonings or each[1].part != "seasoning")
        return totals((name, float(line.mass_g or 0) / base) for name, line in told)

    one, other = per(cooked), per(recipe)
    return one.keys() == other.keys() and all(abs(one[name] / other[name] - 1) < SAME_QUANTITY for name in one)
