"""How fast the dose curve answers, as a ratio to sampling the same model (emcee, 32 walkers, 1,000 steps).

Run with ``pytest tests/benchmarks/test_trials_speed.py --benchmark-only``; the ratio stands in the extra column.
"""

from __future__ import annotations

import statistics
import time
import timeit

import numpy as np
import pytest

from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.priors import ln_concentration, prior_for, water_pa_s
from spoonline.pots.water import Pot

DOSE = np.geomspace(18, 45, 8)
NOISE = np.array([0.10, -0.05, 0.12, -0.16, 0.02, 0.07, -0.11, 0.01])
ETA = 0.02 + 0.2 * np.exp(3 * ln_concentration(DOSE, prior_for("corn starch"), Pot()) + NOISE)
GRID, TARGET, READING = np.geomspace(10, 70, 400), 0.15, 0.10


def closed_form(base: float | None) -> DoseCurve:
    """Fit, dose for a target, both bands of a drawn curve."""
    curve = DoseCurve.fit(DOSE, ETA, base_pa_s=base, relative_error=READING)
    curve.dose_for(TARGET)
    curve.viscosity(GRID)
    curve.batch(GRID)
    return curve


def sampled(base: float | None) -> np.ndarray:
    """The same answers from a sampler: the dose range is returned."""
    emcee = pytest.importorskip("emcee")
    prior, pot = prior_for("corn starch"), Pot()
    x, water = ln_concentration(DOSE, prior, pot), water_pa_s(60.0)
    level, level_sd = prior.level()

    def log_probability(at: np.ndarray) -> float:
        a, b, ln_s = at[:3]
        ln_base = at[3] if base is None else np.log(base)
        bottom = np.exp(ln_base)
        over = ETA - bottom
        if not -4.0 < ln_s < 1.0 or over.min() <= 0:
            return -np.inf
        y, spread = np.log(over), np.exp(ln_s)
        variance = spread**2 + np.minimum(READING * ETA / over, 0.7) ** 2
        carried = 0.5 * np.log(min(max(bottom / water, 1.0), 2.0))
        return float(
            -0.5 * np.sum((y - a - b * x) ** 2 / variance + np.log(variance))
            - y.sum()
            - 0.5 * ((a - level - carried) / level_sd) ** 2
            - 0.5 * ((b - prior.exponent) / prior.exponent_sd) ** 2
            - prior.batch_df * (ln_s + 0.5 * (prior.batch_sd / spread) ** 2)
            - (0.5 * ((ln_base - np.log(prior.base_pa_s)) / prior.base_ln_sd) ** 2 if base is None else 0.0)
        )

    rng = np.random.default_rng(1)
    centre = [level, 3.0, np.log(0.15), np.log(0.005)][: 4 if base is None else 3]
    start = np.array(centre) + 0.05 * rng.normal(size=(32, len(centre)))
    np.random.seed(2)  # the sampler draws from the global generator
    sampler = emcee.EnsembleSampler(32, len(centre), log_probability)
    sampler.run_mcmc(start, 1000)
    kept = sampler.get_chain(discard=300, thin=10, flat=True)
    bottom = np.exp(kept[:, 3]) if base is None else np.full(len(kept), base)
    grid = ln_concentration(GRID, prior, pot)
    average = bottom[:, None] + np.exp(kept[:, :1] + kept[:, 1:2] * grid)
    single = bottom[:, None] + (average - bottom[:, None]) * np.exp(
        np.exp(kept[:, 2:3]) * rng.normal(size=average.shape)
    )
    for band in (average, single):
        np.quantile(band, [0.05, 0.5, 0.95], axis=0)
    percent = prior.reference_percent * np.exp(
        np.log(np.maximum(TARGET - bottom, 1e-12)) / kept[:, 1] - kept[:, 0] / kept[:, 1]
    )
    return np.quantile(pot.dose(percent), [0.5, 0.05, 0.95])


@pytest.mark.parametrize("base", [0.02, None], ids=["base read", "base unknown"])
def test_closed_form_against_sampling(benchmark, base: float | None) -> None:
    """The sampled range is the same to the sampler's own scatter, and takes far longer."""
    curve = closed_form(base)
    ratios, ranges = [], []
    for _ in range(5):
        begun = time.perf_counter()
        ranges.append(sampled(base))
        sampling = time.perf_counter() - begun
        # both right after one another, so that a machine that is busy for a while is busy for both
        own = timeit.repeat(lambda: closed_form(base), repeat=30, number=1)
        ratios.append(sampling / statistics.median(own))
    assert np.array(curve.dose_for(TARGET)) == pytest.approx(np.median(ranges, axis=0), rel=0.02)
    benchmark.pedantic(closed_form, args=(base,), rounds=30, warmup_rounds=3)
    benchmark.extra_info["times faster than sampling"] = round(statistics.median(ratios))
