"""What dose to cook next, and when to stop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from spoonline.dose.priors import ln_concentration
from spoonline.pots.counted import TESTED_POTS, BandCount

if TYPE_CHECKING:
    from spoonline.dose.dose_curve import DoseCurve

ENOUGH = 0.8  # chance at which the dose is repeated instead of moved
SMALL_GAIN = 0.03  # gain of chance that one more pot must promise to be worth moving for
# Doses this close (ln) are one dose: less than half of what a cook can taste at a slope of 3.
SAME_DOSE = 0.05
SCAN = np.geomspace(0.3, 3.0, 241)


@dataclass(frozen=True)
class NextBatch:
    """The dose to cook next and why.

    Attributes
    ----------
    dose_g_per_l, chance : float
        Thickener of the next pot [g/L], and the chance that this pot lands in the band if it is weighed.
    reason : str
        One sentence for a cook.
    alternative, gain : float or None, float
        A dose that the cook would still eat and that teaches more [g/L]; the rise of the best chance that one more pot promises.
    good_batches, tested : int, bool
        Batches at this dose that read inside the band; whether they are enough (see :class:`spoonline.pots.BandCount`).
    """

    dose_g_per_l: float
    chance: float
    reason: str
    alternative: float | None = None
    gain: float = 0.0
    good_batches: int = 0
    tested: bool = False


def suggest(curve: DoseCurve, target_pa_s: float, band: float) -> NextBatch:
    """Choose the next dose: the one most likely to land in the band; repeat it once it is good enough."""
    dose, chance = best_dose(curve, target_pa_s, band)
    n = curve.doses.size
    if n == 0:
        # so little is known that the middle of the range tells more than the likeliest dose
        middle = curve.dose_for(target_pa_s).best
        if 0 < middle < np.inf:
            dose, chance = middle, float(curve.chance(middle, target_pa_s, band))
        gain = most_informative(curve, target_pa_s, band, dose)[1]
        reason = (
            f"No batch yet: start at {dose:.3g} g/L, what handbooks say of {curve.prior.thickener} here; "
            f"{in_ten(chance)} pots would land in the band."
        )
        return NextBatch(dose, chance, reason, None, gain)
    alternative, gain = most_informative(curve, target_pa_s, band, dose)
    # keep a dose that was cooked already rather than move by less than a cook can tell
    same = np.abs(np.log(curve.doses / dose)) < SAME_DOSE
    settled = chance >= ENOUGH or (n >= 3 and gain < SMALL_GAIN)
    if settled and same.any():
        kept = float(np.exp(np.log(curve.doses[same]).mean()))
        kept_chance = float(curve.chance(kept, target_pa_s, band))
        if kept_chance > chance - SMALL_GAIN:
            dose, chance = kept, kept_chance
            same = np.abs(np.log(curve.doses / dose)) < SAME_DOSE
    good = int((same & (np.abs(np.log(curve.viscosities / target_pa_s)) <= np.log(band))).sum())
    tested = settled and BandCount(int(same.sum()), good).enough
    amount, ten = f"{dose:.3g} g/L", in_ten(chance)
    if tested:
        reason = f"Keep this dose: all {good} batches at {amount} read inside the band, and {ten} more should."
    elif settled:
        again = f" again ({good} of {TESTED_POTS} good batches so far)" if same.any() else ", the best dose so far"
        reason = f"Cook {amount}{again}: {ten} pots should land in the band"
        steadier = "steadier weighing, boiling and reading, or a wider band, would"
        reason += "." if chance >= ENOUGH else f" and another dose would not change that; {steadier}."
    else:
        more = "" if alternative is None else f"; {alternative:.3g} g/L would teach more about the right dose"
        reason = f"Cook {amount}, the dose most likely to land in the band: {ten} pots would{more}."
    if not curve.is_near(dose):
        reason += " It lies outside the doses tried, so the curve is extrapolated there."
    if curve.odd:
        named = " and ".join(str(curve.batch_numbers[i]) for i in curve.odd)
        reason += f" First check batch {named}: it does not fit the others."
    return NextBatch(dose, chance, reason, None if settled else alternative, gain, good, tested)


def best_dose(curve: DoseCurve, target_pa_s: float, band: float) -> tuple[float, float]:
    """Return the dose with the highest chance of landing in the band [g/L], and that chance."""
    centre = curve.dose_for(target_pa_s).best
    if not 0 < centre < np.inf:
        centre = float(np.exp(np.log(curve.doses).mean())) if curve.doses.size else 20.0
    doses = np.unique(np.concatenate([SCAN * centre, curve.doses]))
    at = int(np.argmax(curve.chance(doses, target_pa_s, band)))
    near = np.geomspace(doses[max(at - 1, 0)], doses[min(at + 1, doses.size - 1)], 25)
    chances = curve.chance(near, target_pa_s, band)
    at = int(np.argmax(chances))
    return float(near[at]), float(chances[at])


def most_informative(curve: DoseCurve, target_pa_s: float, band: float, dose: float) -> tuple[float | None, float]:
    """The dose that would narrow the answer at ``dose`` most (None where none tells clearly more), and the rise of the chance.

    Only doses whose pot has an even chance of landing within half to twice the target are weighed: it has to be eaten.
    """
    doses = np.concatenate([[dose], dose * np.geomspace(0.4, 2.5, 81)])
    eatable = curve.chance(doses, target_pa_s, 2.0) > 0.5
    eatable[0] = True
    covariance, variance, noise = curve.mixture.moments(ln_concentration(doses, curve.prior, curve.pot))
    # share of the variance at ``dose`` that one more pot at each dose would remove, whatever it reads
    cut = np.where(eatable, covariance**2 / ((noise + variance) * variance[0]), 0.0)
    at = int(np.argmax(cut))
    width = np.log(band)

    def landing(share: float) -> float:
        return float(2 * ndtr(width / np.sqrt(noise[0] + variance[0] * (1 - share))) - 1)

    gain = landing(float(cut[at])) - landing(0.0)
    # worth a mention only where it leaves clearly less variance, and is another dose than the one suggested
    clear = 1 - cut[at] < 0.8 * (1 - cut[0]) and abs(np.log(doses[at] / dose)) > SAME_DOSE
    return (float(doses[at]) if clear else None), gain


def in_ten(chance: float) -> str:
    """Write a chance the way a cook counts: "8 of 10".

    Examples
    --------
    >>> in_ten(0.83), in_ten(0.99), in_ten(0.02)
    ('8 of 10', 'nearly all', 'hardly any')
    """
    count = round(10 * chance)
    return f"{count} of 10" if 0 < count < 10 else ("nearly all" if count else "hardly any")
