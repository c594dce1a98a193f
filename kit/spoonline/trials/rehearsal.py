"""Rehearse the whole search in invented kitchens that do not follow the law the curve assumes.

The starch of these kitchens packs closely below a certain dose (Maron and Pierce 1956: (1 - phi/phi_m)^-2,
memory) and is a bed of rigid granules above it; pots differ, boil away, and are read with a ring to the
millimetre.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spoonline.measures.errors import BatchError, Progress, Stopped
from spoonline.measures.ranges import Range
from spoonline.trials.dose_curve import DoseCurve
from spoonline.trials.line import student_quantile
from spoonline.trials.next_batch import in_ten
from spoonline.trials.priors import Pot, Prior, prior_for, water_pa_s

__all__ = ["Habits", "Kitchen", "Rehearsal", "invent_kitchen", "rehearse"]

FloatArray = NDArray[np.float64]

READING = 0.10  # relative error of a ring reading to 1 mm at 6.5 cm: (3 n + 5) / 65 with flow index n = 0.5


@dataclass(frozen=True)
class Habits:
    """How the invented kitchens differ and work; all spreads are on the ln scale unless a range is given.

    Attributes
    ----------
    strength_sd, level_sd, batch_sd : float
        Of the starch as bought, of the level at 4 %, and from pot to pot.
    base_pa_s : tuple of float
        Range of the liquid without thickener [Pa s].
    base_read_sd : float or None
        Relative error with which the cook reads the base; None: it is not read.
    loss : tuple of float
        Range of the share that boils away.
    loss_sd : float
        Error of that share, from two weighings.
    dose_g_per_l : tuple of float
        Range of the doses that are right, as maize starch.
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
    """One invented kitchen: its starch, its liquid, and the thickness it wants.

    Attributes
    ----------
    level_pa_s, base_pa_s : float
        Starch part at 4 % of an average starch, and the liquid without starch [Pa s].
    strength : float
        Of this starch over average maize starch.
    crossing_percent : float
        Concentration where close packing gives way to rigid granules [%].
    packing : float
        phi/phi_m there.
    exponent : float
        Slope above it.
    target_pa_s, dose_g_per_l : float
        What is wanted [Pa s], and the dose whose average pot has it [g/L].
    usual_loss : float
        Share that boils away in the usual pot.
    habits : Habits
        How it works.
    """

    level_pa_s: float
    base_pa_s: float
    strength: float
    crossing_percent: float
    packing: float
    exponent: float
    target_pa_s: float
    dose_g_per_l: float
    usual_loss: float
    habits: Habits

    @property
    def pot(self) -> Pot:
        """The usual pot of this kitchen."""
        return Pot(998.0 * (1 - self.usual_loss))

    def average(self, percent: float) -> float:
        """Viscosity of the average pot at a concentration of average starch [Pa s]."""
        return self.base_pa_s + self.level_pa_s * self._shape(percent * self.strength) / self._shape(4.0)

    def _shape(self, percent: float) -> float:
        def packed(share: float) -> float:
            return float((1 - share) ** -2 - 1)

        ratio = percent / self.crossing_percent
        return packed(self.packing * ratio) if ratio < 1 else packed(self.packing) * ratio**self.exponent

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
    # particles of a thick base may, or may not, carry the starch's thickness up with them, by a factor up to
    # 2
    carried = float(np.exp(rng.uniform(0.0, np.log(np.clip(base / water_pa_s(60.0), 1.0, 2.0)))))
    draft = Kitchen(
        level_pa_s=0.20 * carried * float(np.exp(habits.level_sd * rng.normal())),
        base_pa_s=base,
        strength=strength * float(np.exp(habits.strength_sd * rng.normal())),
        crossing_percent=rng.uniform(1.9, 3.0),
        packing=rng.uniform(0.65, 0.85),
        exponent=rng.uniform(2.2, 4.0),
        target_pa_s=1.0,
        # a weaker starch is used at a higher dose for the same dishes
        dose_g_per_l=float(np.exp(rng.uniform(*np.log(habits.dose_g_per_l)))) / strength,
        usual_loss=float(np.mean(habits.loss)),
        habits=habits,
    )
    figures = {**draft.__dict__, "target_pa_s": draft.average(float(draft.pot.percent(draft.dose_g_per_l)))}
    return Kitchen(**figures)


@dataclass(frozen=True, eq=False)
class Rehearsal:
    """What came out, by the number of pots cooked (rows 0, 1, ..., pots).

    Attributes
    ----------
    kitchens, pots : int
        How many.
    band : float
        Factor of the band.
    within_5, within_10 : ndarray
        Share of kitchens whose dose for the target is right within 5 and 10 %.
    range_holds : ndarray
        Share whose 90 % range of that dose holds the right one.
    lands : ndarray
        Mean true chance that a pot at the suggested dose lands in the band.
    promised : ndarray
        Mean of the chance that was stated for it.
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
        """A share of kitchens with its range, which comes from having rehearsed in so few.

        Wilson's score range (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927, 209); for a mean of chances, as
        ``lands`` is, it is too wide rather than too narrow.

        Parameters
        ----------
        share : float
            Share found, 0 to 1.
        level : float, optional
            Share of the range.
        """
        z2 = student_quantile(np.inf, (1 + level) / 2) ** 2 / self.kitchens
        middle = share + z2 / 2
        half = float(np.sqrt(z2 * (share * (1 - share) + z2 / 4)))
        return Range(share, (middle - half) / (1 + z2), (middle + half) / (1 + z2))

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
    kitchens: int = 200,
    pots: int = 3,
    thickener: str | Prior = "corn starch",
    band: float = 1.2,
    habits: Habits | None = None,
    seed: int = 1,
    progress: Progress | None = None,
) -> Rehearsal:
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

    Returns
    -------
    Rehearsal

    Raises
    ------
    BatchError
        If there is no kitchen to rehearse in, or no pot, or the band is no factor above 1.

    Examples
    --------
    >>> out = rehearse(kitchens=3, pots=1)
    >>> out.within_10.shape
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
    out = np.zeros((6, pots + 1))
    landed = False
    for n in range(pots + 1):
        given = None if base is None else min([base, *(0.95 * each for each in readings)])
        curve = DoseCurve.fit(doses, readings, prior, given, READING, pot=kitchen.pot)
        right, found = kitchen.dose_g_per_l, curve.dose_for(kitchen.target_pa_s)
        off = abs(found.best / right - 1)
        suggestion = curve.next_batch(kitchen.target_pa_s, band)
        chance = _true_chance(kitchen, suggestion.dose_g_per_l, band, rng)
        out[:, n] = (off <= 0.05, off <= 0.10, found.low <= right <= found.high, chance, suggestion.chance, landed)
        if n < pots:
            dose, reading, eta = kitchen.cook(suggestion.dose_g_per_l, rng)
            landed |= bool(abs(np.log(eta / kitchen.target_pa_s)) <= np.log(band))
            doses.append(dose)
            readings.append(reading)
    return out


def _true_chance(kitchen: Kitchen, dose_g_per_l: float, band: float, rng: np.random.Generator, pots: int = 60) -> float:
    """Share of further pots at this dose that truly lie in the band."""
    true = np.array([kitchen.cook(dose_g_per_l, rng)[2] for _ in range(pots)])
    return float(np.mean(np.abs(np.log(true / kitchen.target_pa_s)) <= np.log(band)))
