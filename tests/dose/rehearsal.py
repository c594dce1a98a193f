"""Rehearse the whole search in invented kitchens that do not follow the law the curve assumes.

The starch of these kitchens packs closely below a certain dose (Maron and Pierce 1956: (1 - phi/phi_m)^-2, memory) and is a
bed of rigid granules above it; pots differ, boil away, and are read with a ring to the millimetre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.next_batch import in_ten
from spoonline.dose.priors import Prior, prior_for, water_pa_s
from spoonline.measures.errors import BatchError, Progress, Stopped
from spoonline.measures.ranges import Range
from spoonline.pots.water import Pot

FloatArray = NDArray[np.float64]

FURTHER_POTS = 60  # by which the true chance of a dose is counted
READING = 0.10  # relative error of a ring reading to 1 mm at 6.5 cm: (3 n + 5) / 65 with flow index n = 0.5


@dataclass(frozen=True)
class Habits:
    """How the invented kitchens differ and work; spreads are on the ln scale, pairs are ranges.

    ``strength_sd``, ``level_sd`` and ``batch_sd`` are of the starch as bought, of the level at 4 %, and from pot to pot;
    ``base_pa_s`` is the liquid without thickener [Pa s], read with the relative error ``base_read_sd`` (None: not read); ``loss`` is
    the share that boils away, known to ``loss_sd`` from two weighings; ``dose_g_per_l`` are the doses that are right, as maize starch.
    """

    strength_sd: float = 0.25
    level_sd: float = 0.30
    batch_sd: float = 0.15
    base_pa_s: tuple[float, float] = (0.001, 0.300)
    base_read_sd: float | None = None
    loss: tuple[float, float] = (0.03, 0.15)
    loss_sd: float = 0.01
    dose_g_per_l: tuple[float, float] = (25.0, 60.0)


@dataclass(frozen=True)
class Kitchen:
    """One invented kitchen: its starch, its liquid, and the dose whose average pot has the thickness that it wants [g/L].

    ``level_pa_s`` is the starch part at 4 % of an average starch, ``base_pa_s`` the liquid without starch [Pa s], ``strength`` that of
    this starch over average maize starch. Close packing gives way to rigid granules at ``crossing_percent`` [%], where phi/phi_m is
    ``packing``; ``exponent`` is the slope above it. ``usual_loss`` is the share that boils away in the usual pot.
    """

    level_pa_s: float
    base_pa_s: float
    strength: float
    crossing_percent: float
    packing: float
    exponent: float
    dose_g_per_l: float
    usual_loss: float
    habits: Habits

    @property
    def pot(self) -> Pot:
        """The usual pot of this kitchen."""
        return Pot(998.0 * (1 - self.usual_loss))

    @property
    def target_pa_s(self) -> float:
        """The thickness that is wanted [Pa s]."""
        return self.average(float(self.pot.percent(self.dose_g_per_l)))

    def average(self, percent: float) -> float:
        """Viscosity of the average pot at a concentration of average starch [Pa s]."""
        return self.base_pa_s + self.level_pa_s * self._shape(percent * self.strength) / self._shape(4.0)

    def _shape(self, percent: float) -> float:
        ratio = percent / self.crossing_percent
        packed = (1 - self.packing * min(ratio, 1.0)) ** -2 - 1
        return float(packed * max(ratio, 1.0) ** self.exponent)

    def cook(self, dose_g_per_l: float, rng: np.random.Generator) -> tuple[float, float, float]:
        """Cook one pot: what the cook takes for its dose in the usual pot, its reading, and its true viscosity."""
        loss = rng.uniform(*self.habits.loss)
        weighed = float(np.clip(loss + self.habits.loss_sd * rng.normal(), 0.0, 0.5))
        true, seen = (float(Pot(998.0 * (1 - each)).percent(dose_g_per_l)) for each in (loss, weighed))
        starch = self.average(true) - self.base_pa_s
        eta = self.base_pa_s + starch * float(np.exp(self.habits.batch_sd * rng.normal()))
        reading = eta * float(np.exp(READING * rng.normal()))
        return float(self.pot.dose(seen)), reading, eta


def invent_kitchen(rng: np.random.Generator, habits: Habits, strength: float = 1.0) -> Kitchen:
    """Draw one kitchen, whose starch does on average ``strength`` times the work of maize starch."""
    base = float(np.exp(rng.uniform(*np.log(habits.base_pa_s))))
    # particles of a thick base may, or may not, carry the starch's thickness up with them, by a factor up to 2
    carried = float(np.exp(rng.uniform(0.0, np.log(np.clip(base / water_pa_s(60.0), 1.0, 2.0)))))
    return Kitchen(
        level_pa_s=0.20 * carried * float(np.exp(habits.level_sd * rng.normal())),
        base_pa_s=base,
        strength=strength * float(np.exp(habits.strength_sd * rng.normal())),
        crossing_percent=rng.uniform(1.9, 3.0),
        packing=rng.uniform(0.65, 0.85),
        exponent=rng.uniform(2.2, 4.0),
        # a weaker starch is used at a higher dose for the same dishes
        dose_g_per_l=float(np.exp(rng.uniform(*np.log(habits.dose_g_per_l)))) / strength,
        usual_loss=float(np.mean(habits.loss)),
        habits=habits,
    )


@dataclass(frozen=True, eq=False)
class Rehearsal:
    """What came out, by the number of pots cooked (rows 0, 1, ..., pots).

    Attributes
    ----------
    kitchens, pots, band : int, int, float
        How many, and the factor of the band.
    within_5, within_10 : ndarray
        Share of kitchens whose dose for the target is right within 5 and 10 %.
    range_holds : ndarray
        Share whose 90 % range of that dose holds the right one.
    lands, promised : ndarray
        Mean true chance that a pot at the suggested dose lands in the band, and mean of the chance that was stated for it.
    landed_by_then : ndarray
        Share of kitchens in which at least one cooked pot truly lay in the band.
    """

    kitchens: int
    pots: int
    band: float
    within_5: FloatArray
    within_10: FloatArray
    range_holds: FloatArray
    lands: FloatArray
    promised: FloatArray
    landed_by_then: FloatArray

    @property
    def pots_needed(self) -> int | None:
        """Fewest pots after which the dose is right within 10 % in at least 8 of 10 kitchens; None: more than cooked."""
        enough = np.flatnonzero(self.within_10 >= 0.8)
        return int(enough[0]) if enough.size else None

    def share(self, share: float, level: float = 0.90) -> Range:
        """A share of kitchens (0 to 1) with its range, which comes from having rehearsed in so few.

        Wilson's score range (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927, 209); for a mean of chances, as ``lands`` is, it is too
        wide rather than too narrow.
        """
        z2 = float(ndtri((1 + level) / 2)) ** 2 / self.kitchens
        half = math.sqrt(z2 * (share * (1 - share) + z2 / 4))
        return Range(share, *((share + z2 / 2 + each) / (1 + z2) for each in (-half, half)))

    @property
    def text(self) -> str:
        """The outcome in sentences."""
        return (
            f"In {self.kitchens} invented kitchens, {self.pots} pots brought at least one into the band "
            f"(target times or divided by {self.band:g}) in {in_ten(self.landed_by_then[-1])}; the dose was then right "
            f"within 10 % in {in_ten(self.within_10[-1])}, and the 90 % range held it in "
            f"{100 * self.range_holds[-1]:.0f} of 100."
        )


def rehearse(
    kitchens: int = 200, pots: int = 3, thickener: str | Prior = "corn starch", band: float = 1.2,
    habits: Habits | None = None, seed: int = 1, progress: Progress | None = None,
) -> Rehearsal:  # fmt: skip
    """Cook the suggested pots in many invented kitchens and count what comes out.

    Parameters
    ----------
    kitchens, pots : int, optional
        How many kitchens, and how many pots each cooks.
    thickener : str or Prior, optional
        The beliefs to rehearse; the kitchens hold a starch of that average strength, never a gum.
    band : float, optional
        Factor of the band, above 1.
    habits : Habits, optional
        How the kitchens differ and work.
    seed : int, optional
        The same seed gives the same kitchens and pots.
    progress : callable, optional
        Called with the kitchens done, the number of all, and a word for them, after each kitchen; when it raises `Stopped` the
        result covers the kitchens done.

    Raises
    ------
    BatchError
        If there is no kitchen to rehearse in, or no pot, or the band is no factor above 1.

    Examples
    --------
    >>> rehearse(kitchens=3, pots=1).within_10.shape
    (2,)
    """
    if kitchens < 1 or pots < 1:
        raise BatchError(f"{kitchens} kitchens and {pots} pots came; one or more of each is wanted.")
    if not 1 < band < np.inf:
        raise BatchError(f"A band of {band:g} came; a factor above 1 is wanted, such as 1.2.")
    habits, prior = habits or Habits(), prior_for(thickener)
    rows = []
    for number in range(kitchens):
        rows.append(_one(np.random.default_rng([seed, number]), pots, prior, band, habits))
        if progress is not None:
            try:
                progress(number + 1, kitchens, "kitchens")
            except Stopped:
                break
    return Rehearsal(len(rows), pots, band, *np.mean(rows, axis=0))


def _one(rng: np.random.Generator, pots: int, prior: Prior, band: float, habits: Habits) -> FloatArray:
    """One kitchen: six rows of answers by the number of pots cooked."""
    kitchen = invent_kitchen(rng, habits, prior.strength)
    read = habits.base_read_sd
    base = None if read is None else kitchen.base_pa_s * float(np.exp(read * rng.normal()))
    doses: list[float] = []
    readings: list[float] = []
    rows, landed, right, target = [], False, kitchen.dose_g_per_l, kitchen.target_pa_s
    for _ in range(pots + 1):
        given = None if base is None else min([base, *(0.95 * each for each in readings)])
        curve = DoseCurve.fit(doses, readings, prior, given, READING, pot=kitchen.pot)
        found, suggestion = curve.dose_for(target), curve.next_batch(target, band)
        off = abs(found.best / right - 1)
        # further pots at this dose say how many truly lie in the band; then one is cooked and read
        cooked = [kitchen.cook(suggestion.dose_g_per_l, rng) for _ in range(FURTHER_POTS + 1)]
        inside = np.abs(np.log([eta / target for *_, eta in cooked])) <= np.log(band)
        chance, holds = np.mean(inside[:-1]), found.low <= right <= found.high
        rows.append((off <= 0.05, off <= 0.10, holds, chance, suggestion.chance, landed))
        dose, reading, _ = cooked[-1]
        landed |= bool(inside[-1])
        doses.append(dose)
        readings.append(reading)
    return np.array(rows, dtype=float).T
