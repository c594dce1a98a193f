"""A dose curve in words: what it says in one sentence, and what to doubt about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from spoonline.dose.next_batch import who_says
from spoonline.dose.priors import ln_concentration

if TYPE_CHECKING:
    from spoonline.dose.dose_curve import DoseCurve


def flags(curve: DoseCurve) -> tuple[str, ...]:
    """Collect the doubts about a curve."""
    prior, mixture, n = curve.prior, curve.mixture, curve.doses.size
    found = []
    if n == 0:
        found.append(f"No batch yet: this is what {who_says(prior)} of {prior.thickener}, not this dish.")
    _, covariance = mixture.summary()
    x = float(np.mean(ln_concentration(curve.doses, prior, curve.pot))) if n else 0.0
    left = np.sqrt(covariance[0, 0] + 2 * x * covariance[0, 1] + x * x * covariance[1, 1])
    first = np.hypot(prior.level(curve.temperature_c, curve.shear_rate_per_s)[1], x * prior.exponent_sd)
    if left > 0.5 * first:
        found.append(
            f"The strength of this {prior.thickener} is uncertain (a factor {np.exp(1.645 * left):.2g} either way): "
            "so far it rests mostly on handbooks; each batch narrows it."
        )
    share = float(mixture.weight @ ndtr((0.2 - mixture.mean[:, 1]) / np.sqrt(mixture.covariance[:, 1, 1])))
    if share > 0.01:
        found.append(
            f"Slope not established: with {100 * share:.0f} % probability more {prior.thickener} hardly "
            "thickens this dish; cook two doses at least 1.5 times apart."
        )
    elif n >= 2 and curve.doses.max() / curve.doses.min() < 1.5:
        ratio = curve.doses.max() / curve.doses.min()
        alike = "All pots had about one dose" if ratio < 1.05 else f"The doses lie within a factor {ratio:.2g}"
        found.append(
            f"{alike}: how steeply thickness rises with dose still rests on what handbooks say of {prior.thickener}."
        )
    if n and not curve.bases_read:
        order = np.argsort(mixture.ln_base)
        most = float(np.exp(np.interp(0.95, np.cumsum(mixture.weight[order]), mixture.ln_base[order])))
        if most > 0.25 * curve.viscosities.min():
            found.append(f"The liquid without thickener was not read; it may have up to {most:.2g} Pa s: read it once.")
    for i, (z, ratio) in curve.odd.items():
        times = f"{ratio:.2g} times thicker" if ratio > 1 else f"{1 / ratio:.2g} times thinner"
        found.append(
            f"Batch {curve.batch_numbers[i]} ({curve.doses[i]:.3g} g/L, {curve.viscosities[i]:.3g} Pa s) is {times} than the other "
            f"batches suggest ({abs(z):.1f} standard deviations): check its weights and its reading."
        )
    return tuple(found)


def headline(curve: DoseCurve) -> str:
    """Slope and spread in one sentence."""
    n = curve.doses.size
    best, low, high = (f"{100 * (1.1**each - 1):.0f}" for each in curve.exponent)
    return (
        f"{n} {'batch' if n == 1 else 'batches'} of {curve.prior.thickener} at {curve.temperature_c:g} C and "
        f"{curve.shear_rate_per_s:g} 1/s: 10 % more thickener gives {best} % ({low}-{high}) more thickness (90 % range, above "
        f"the base); pots of one dose differ by about {100 * curve.spread:.0f} % (standard deviation)."
    )
