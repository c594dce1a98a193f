"""What dose to cook next, when to stop, and how many pots that usually takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy
from numpy.typing import NDArray
from scipy.special import ndtr

from spoonline.dose.priors import KITCHEN, Prior, ln_concentration, said
from spoonline.measures import Range, print_dose
from spoonline.pots.counted import TESTED_POTS, BandCount
from spoonline.recipes.records import MOST_DOSE_G_PER_L

if TYPE_CHECKING:
    from spoonline.dose.dose_curve import DoseCurve

ENOUGH = 0.8  # chance at which the dose is repeated instead of moved
SMALL_GAIN = 0.03  # gain of chance that one more pot must promise to be worth moving for
# Doses this close (ln) are one dose: less than half of what a cook can taste at a slope of 3.
SAME_DOSE = 0.05
# A base thinner than the target by more than this plays no part in the first dose; a reading is asked for where it is worth so much.
THICK_BASE, WORTH_READING = 10.0, 0.25
# A base as thick as the target but for this is thick enough.
AT_TARGET = 1.02
SCAN = np.geomspace(0.3, 3.0, 241)
NO_POTS = BandCount()


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
    count : BandCount
        The last pots at this dose; whether they are enough (see :class:`spoonline.pots.BandCount`).
    read_base : bool
        Whether reading the liquid before any thickener goes in would narrow the dose by more than another pot.
    """

    dose_g_per_l: float
    chance: float
    reason: str
    alternative: float | None = None
    gain: float = 0.0
    count: BandCount = NO_POTS
    read_base: bool = False

    @property
    def tested(self) -> bool:
        """Whether this dose is tested and kept."""
        return self.count.enough


def suggest(curve: DoseCurve, target_pa_s: float, band: float) -> NextBatch:
    """Choose the next dose: the one most likely to land in the band; repeat it once it is good enough."""
    mixture, n = curve.mixture, curve.doses.size
    middle, base = curve.dose_for(target_pa_s).best, float(np.exp(mixture.weight @ mixture.ln_base))
    # a base that was read may lie at the target itself
    if middle == 0 or (curve.bases_read and base > target_pa_s / AT_TARGET):
        words = "thick enough" if curve.bases_read else "may be enough"
        reason = said(words, base=Range(base, *mixture.bases([0.05, 0.95])), target=target_pa_s)
        return NextBatch(0.0, curve.base_chance(target_pa_s, band), reason, read_base=not curve.bases_read)
    if middle > MOST_DOSE_G_PER_L:
        most, name = float(curve.viscosity(MOST_DOSE_G_PER_L).best), curve.prior.thickener
        reason = said("too thick", name=name, most=most, dose=MOST_DOSE_G_PER_L, target=target_pa_s)
        return NextBatch(MOST_DOSE_G_PER_L, float(curve.chance(MOST_DOSE_G_PER_L, target_pa_s, band)), reason)
    dose, chance = best_dose(curve, target_pa_s, band)
    # before any pot so little is known that the middle of the range tells more than the likeliest dose; starch can be added to a thick
    # base, not taken out of it, so that one begins below the middle
    thick = base > target_pa_s / THICK_BASE
    if n == 0 and 0 < (first := curve.low_dose(target_pa_s) if thick else middle) < np.inf:
        dose, chance = first, float(curve.chance(first, target_pa_s, band))
    alternative, gain, told = most_informative(curve, target_pa_s, band, dose)
    read_base = _read_base(curve, target_pa_s, told)
    if n == 0:
        base_read = f" and its base as it was read ({base:.2g} Pa s)" if curve.bases_read else ""
        known = {"dose": print_dose(dose), "who": who_says(curve.prior), "base": base_read, "pots": in_ten(chance)}
        reason = said("start low" if thick else "start", **known, thickener=curve.prior.thickener) + read_base
        return NextBatch(dose, chance, reason, None, gain, read_base=bool(read_base))
    settled = chance >= ENOUGH or (n >= 3 and gain < SMALL_GAIN)
    dose, count = _kept(curve, dose, target_pa_s, band)
    chance = float(curve.chance(dose, target_pa_s, band))
    amount, ten = f"{print_dose(dose)} g/L", in_ten(chance)
    if count.enough:
        reason = keep_text(dose, chance, count)
    elif settled:
        one_day = ", all on one day: one more day is wanted" if count.inside >= TESTED_POTS else ""
        one_pot = "the one pot" if count.inside else "not the one pot"
        told_of = f"{count.inside} of the last {count.read} pots" if count.read > 1 else one_pot
        again = said("again", told=told_of, one_day=one_day) if count.read else ", the best dose so far"
        reason = f"Cook {amount}{again}: {ten} pots should land in the band"
        reason += "." if chance >= ENOUGH else said("steadier")
    else:
        more = "" if alternative is None else f"; {print_dose(alternative)} g/L would teach more about the right dose"
        reason = f"Cook {amount}, the dose most likely to land in the band: {ten} pots would{more}."
    reason += "" if count.enough else read_base
    if not curve.is_near(dose):
        reason += " It lies outside the doses tried, so the curve is extrapolated there."
    other = None if settled else alternative
    return NextBatch(dose, chance, reason + odd_text(curve), other, gain, count, bool(read_base))


def _read_base(curve: DoseCurve, target_pa_s: float, told: float) -> str:
    """What is said where reading the base is worth more than a pot that removes the share ``told`` of the variance, or much as it is."""
    base = float(np.exp(curve.mixture.weight @ curve.mixture.ln_base))
    bare = curve.doses.size and base < 0.02 * curve.viscosities.min()  # thin beside what was read: it plays no part
    tells = 0.0 if curve.bases_read or bare else base_tells(curve, target_pa_s)
    return said("read base", percent=100 * (1 - np.sqrt(1 - tells))) if tells > min(told, WORTH_READING) else ""


def who_says(prior: Prior) -> str:
    """Whose word is taken before a dish's own pots: handbooks', or that of the kitchen's other dishes too."""
    return "this kitchen's other dishes and handbooks say" if prior.source.endswith(KITCHEN) else "handbooks say"


def keep_text(dose_g_per_l: float, chance: float, count: BandCount) -> str:
    """What is said of a dose [g/L] that is tested."""
    return said("keep", count=count, dose=print_dose(dose_g_per_l), pots=in_ten(chance))


def odd_text(curve: DoseCurve) -> str:
    """Which pots to look at first because they do not fit the others; blank where all do."""
    named = [str(curve.batch_numbers[i]) for i in curve.odd]
    what = f"batch {named[0]}: it does" if len(named) == 1 else f"batches {' and '.join(named)}: they do"
    return f" First check {what} not fit the others." if named else ""


def _kept(curve: DoseCurve, dose: float, target_pa_s: float, band: float) -> tuple[float, BandCount]:
    """The dose to cook, and the last pots at it: a dose that is tested stays, and none moves by less than a cook can tell."""
    inside = np.abs(np.log(curve.viscosities / target_pa_s)) <= np.log(band)

    def same(each: float) -> NDArray[np.intp]:
        return np.flatnonzero(np.abs(np.log(curve.doses / each)) < SAME_DOSE)

    def at(each: float) -> BandCount:
        return BandCount.of((bool(inside[pot]), curve.days[pot]) for pot in same(each))

    near = curve.doses[same(dose)]
    middle = float(np.exp(np.log(near).mean())) if near.size else dose
    for kept in (middle, float(curve.doses[-1])):
        if at(kept).enough:
            return kept, at(kept)
    chances = curve.chance([middle, dose], target_pa_s, band)
    dose = middle if chances[0] > chances[1] - SMALL_GAIN else dose
    return dose, at(dose)


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


def base_tells(curve: DoseCurve, target_pa_s: float) -> float:
    """Share of the variance of the dose that goes when the base is read: what of it goes with the base from line to line."""
    mixture = curve.mixture
    g = mixture.starch(np.log(target_pa_s))
    some = np.isfinite(g)
    weight = mixture.weight[some] / max(float(mixture.weight[some].sum()), 1e-12)
    if not some.any() or curve.mixture.ln_base.std() == 0:
        return 0.0
    a, b = mixture.mean[some].T
    x, ln_base = (g[some] - a) / b, mixture.ln_base[some]
    v = mixture.covariance[some]
    within = float(weight @ ((v[:, 0, 0] + 2 * x * v[:, 0, 1] + x * x * v[:, 1, 1]) / b**2))
    away, moved = x - weight @ x, ln_base - weight @ ln_base
    told = float(weight @ (away * moved)) ** 2 / max(float(weight @ moved**2), 1e-12)
    return told / (within + float(weight @ away**2))


def most_informative(
    curve: DoseCurve, target_pa_s: float, band: float, dose: float
) -> tuple[float | None, float, float]:
    """The dose that would narrow the answer at ``dose`` most (None where none tells clearly more), the rise of the chance, and the share
    of the variance that its pot would remove.

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
    return (float(doses[at]) if clear else None), gain, float(cut[at])


def in_ten(chance: float) -> str:
    """Write a chance the way a cook counts: "8 of 10".

    Examples
    --------
    >>> in_ten(0.83), in_ten(0.99), in_ten(0.02)
    ('8 of 10', 'nearly all', 'hardly any')
    """
    count = round(10 * chance)
    return f"{count} of 10" if 0 < count < 10 else ("nearly all" if count else "hardly any")


# Of 500 kitchens with corn starch, those whose dose was right within 10 % after 0, 1, 2, ... pots at the suggested doses (target times or
# divided by 1.2), read with one tool: computed, tests/experiments/dose_kitchens.py.
KITCHENS = 500
RIGHT = (178, 413, 475, 491, 496, 497)
WANTED = 0.9


def pots_needed() -> str:
    """How many pots usually bring the dose of one starch right, in a sentence with exact 90 % ranges.

    Examples
    --------
    >>> pots_needed()[:69]
    '2 pots at the suggested doses usually bring the dose of one starch ri'
    """

    def of_100(pots: int) -> Range:
        ends = scipy.stats.binomtest(RIGHT[pots], KITCHENS).proportion_ci(0.90)
        return Range(100 * RIGHT[pots] / KITCHENS, 100 * float(ends.low), 100 * float(ends.high))

    enough = next(pots for pots, right in enumerate(RIGHT) if right >= WANTED * KITCHENS)
    return said("pots needed", enough=enough, right=of_100(enough), one_more=of_100(enough + 1))
