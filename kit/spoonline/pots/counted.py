"""Which pots of a dish count: one function that the curve, the comparison, the card and every table ask."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from statistics import median

from spoonline.measures.errors import BatchError
from spoonline.pots.contents import PotContents, read_inside
from spoonline.pots.records import STAGES, Batch, Reading
from spoonline.pots.thickness import Thickness, batch_thickness
from spoonline.recipes import Recipe, Target

# So many pots of one version, all of them inside the band, before a recipe is called tested (three, as the USDA words a
# standardised recipe; second-hand).
TESTED_POTS = 3


@dataclass(frozen=True)
class CookedPot:
    """One pot of a dish: what went in, how thick it was when fresh, and why it does not count (blank where it does).

    ``recipe`` is what really went in, None where the pot's version is not there; ``inside`` is its water phase, None without a
    liquid; ``thickness`` is that of how it ended, None where nothing fresh was read; ``read`` is what was in it at each reading.
    """

    batch: Batch
    recipe: Recipe | None
    inside: PotContents | None
    thickness: Thickness | None
    left_out: str = ""
    read: tuple[tuple[Reading, PotContents], ...] = ()

    @property
    def counts(self) -> bool:
        """Whether it counts."""
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


def cooked_pot(
    batch: Batch, versions: Mapping[int, Recipe], target: Target | None, leave_out: Mapping[int, str] | None = None, usual: float | None = None,
) -> CookedPot:  # fmt: skip
    """Say how thick one pot was, and whether it counts.

    Parameters
    ----------
    batch : Batch
    versions : mapping of int to Recipe
        The versions of the dish that stand, by number; one that was taken back, or is damaged, is not among them.
    target : Target or None
        Conditions of the viscosity.
    leave_out : mapping of int to str, optional
        Batch number to the reason why it does not count now, beside what the record says itself.
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
    own, held, read = (leave_out or {}).get(batch.number, batch.left_out), None, []
    try:
        if version is not None:
            read, held = read_inside(batch, version, usual)
    except BatchError as err:
        own = own or str(err).rstrip(".")
    thickness = batch_thickness(batch, target)
    fresh = [each for reading, each in read if STAGES[reading.stage].fresh]
    held = fresh[-1] if fresh else held
    held = held if held is not None and held.liquid_l > 0 else None
    return CookedPot(batch, recipe, held, thickness, own or _what_lacks(batch, version, recipe, thickness), tuple(read))


def weighed_loss(pots: Iterable[CookedPot]) -> float | None:
    """The share of what went in that evaporates: the median of the pots that were weighed before and after; None where none was."""
    losses = [pot.inside.loss for pot in pots if pot.inside is not None and pot.inside.weighed]
    return median(losses) if losses else None


def cooked_pots(
    batches: Iterable[Batch], versions: Mapping[int, Recipe], target: Target | None, leave_out: Mapping[int, str] | None = None
) -> tuple[CookedPot, ...]:  # fmt: skip
    """Every pot of a dish, see :func:`cooked_pot`; one that was not weighed lost what the others did."""
    found = tuple(cooked_pot(each, versions, target, leave_out) for each in batches)
    usual = weighed_loss(found)
    return tuple(
        pot if pot.inside is None or pot.inside.weighed else cooked_pot(pot.batch, versions, target, leave_out, usual)
        for pot in found
    )


def _what_lacks(batch: Batch, version: Recipe | None, recipe: Recipe | None, thickness: Thickness | None) -> str:
    if version is None or recipe is None:
        return f"its version {batch.version} is not there: taken back, or damaged"
    if thickness is None:
        reasons = dict.fromkeys(reading.left_out for reading in batch.readings if reading.left_out)
        return f"its reading is left out: {'; '.join(reasons)}" if reasons else "not read hot or served"
    return "no thickener went in" if recipe.thickener_g == 0 < version.thickener_g else ""


@dataclass(frozen=True)
class BandCount:
    """How many pots were read, and how many of those lay inside the band."""

    read: int = 0
    inside: int = 0

    @property
    def enough(self) -> bool:
        """Whether that makes a recipe tested: three pots or more, all of them inside."""
        return self.inside >= TESTED_POTS and self.inside == self.read

    @classmethod
    def of(cls, pots: Iterable[CookedPot], target: Target | None, version: int | None) -> BandCount:
        """Hold the pots of one version that count against the band; no pot is held against an aim that is not set."""
        if target is None:
            return cls()
        read = [pot for pot in pots if pot.counts and pot.batch.version == version]
        return cls(len(read), sum(target.against_band(pot.viscosity_pa_s) == "inside" for pot in read))
