"""A dose curve in words: what it says in one sentence, and what to doubt about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from spoonline.dose.next_batch import who_says
from spoonline.dose.priors import ln_concentration, said

if TYPE_CHECKING:
    from spoonline.dose.dose_curve import DoseCurve


def flags(curve: DoseCurve) -> tuple[str, ...]:
    """Collect the doubts about a curve."""
    prior, mixture, n = curve.prior, curve.mixture, curve.doses.size
    found = []
    if n == 0:
        found.append(said("no batch", who=who_says(prior), thickener=prior.thickener))
    _, covariance = mixture.summary()
    x = float(np.mean(ln_concentration(curve.doses, prior, curve.pot))) if n else 0.0
    left = np.sqrt(covariance[0, 0] + 2 * x * covariance[0, 1] + x * x * covariance[1, 1])
    first = np.hypot(prior.level(curve.temperature_c, curve.shear_rate_per_s)[1], x * prior.exponent_sd)
    if left > 0.5 * first:
        found.append(said("strength", thickener=prior.thickener, factor=np.exp(1.645 * left)))
    share = float(mixture.weight @ ndtr((0.2 - mixture.mean[:, 1]) / np.sqrt(mixture.covariance[:, 1, 1])))
    if share > 0.01:
        found.append(said("slope", percent=100 * share, thickener=prior.thickener))
    elif n >= 2 and (ratio := curve.doses.max() / curve.doses.min()) < 1.5:
        alike = "All pots had about one dose" if ratio < 1.05 else f"The doses lie within a factor {ratio:.2g}"
        found.append(said("steepness", alike=alike, thickener=prior.thickener))
    if n and not curve.bases_read:
        order = np.argsort(mixture.ln_base)
        most = float(np.exp(np.interp(0.95, np.cumsum(mixture.weight[order]), mixture.ln_base[order])))
        if most > 0.25 * curve.viscosities.min():
            found.append(said("base not read", most=most))
    for i, (z, ratio) in curve.odd.items():
        times = f"{ratio:.2g} times thicker" if ratio > 1 else f"{1 / ratio:.2g} times thinner"
        batch = {"number": curve.batch_numbers[i], "dose": curve.doses[i], "viscosity": curve.viscosities[i]}
        found.append(said("odd batch", **batch, times=times, sds=abs(z)))
    return tuple(found)


def headline(curve: DoseCurve) -> str:
    """Slope and spread in one sentence."""
    batches = f"{curve.doses.size} {'batch' if curve.doses.size == 1 else 'batches'}"
    best, low, high = (100 * (1.1**each - 1) for each in curve.exponent)
    return said("headline", of=curve, batches=batches, best=best, low=low, high=high, spread=100 * curve.spread)
