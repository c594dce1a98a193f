"""An independent answer to what the dose curve answers: brute force by weighted points, drawn anew about what they find.

Shares only the prior's figures with the library. Level, slope, base, join and spread are points; each is weighed by the normal density of
all readings, with every slip of one pot (and of two) summed over; pot, day and dose errors stand in the covariance at each point's own slope.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import ndtr
from scipy.stats import multivariate_t, norm, qmc

from spoonline.dose.priors import Prior
from spoonline.pots.water import Pot

DAY_SHARE, SLIP, SLIP_SD = 0.4, 0.04, 0.6
# One starch in 12 has its level known 2.5 times less well.
UNLIKE, WIDER = 0.08, 2.5


@dataclass
class Cloud:
    """Points, each with its weight."""

    weight: Any
    level: Any
    slope: Any
    ln_base: Any
    join: Any
    spread: Any


@dataclass
class Case:
    """One random set of pots: for each pot its (dose, viscosity) pairs, and one own error and one dose error for all."""

    pots: list[list[tuple[float, float]]]
    base: tuple[float, float] | None  # ln mean, ln sd
    reading: float
    dose_sd: float
    pot: Pot
    target: float
    days: list[int]


def concentration(dose: Any, prior: Prior, pot: Pot) -> Any:
    """Dry maize equivalent in per cent of starch and water, written out anew."""
    dry = 0.89 * prior.strength * np.asarray(dose, float) + pot.other_starch_g_per_l
    return 100 * dry / (dry + pot.water_g_per_l + 0.11 * np.asarray(dose, float))


def power(ln_base: Any, latent: Any) -> Any:
    """The power of a point: the plain sum for a thin base, the latent one from 30 mPa s on."""
    thick = np.clip((ln_base - np.log(0.003)) / np.log(10), 0, 1)
    return 1 - thick * (1 - latent)


def cloud(
    case: Case, prior: Prior, points: int = 2**17, rounds: int = 6, seed: int = 5, unlike: float = UNLIKE
) -> Cloud:
    """Draw points from the prior, then from t-shaped clouds about what they find; the last round is the answer."""
    dose = np.array([pair[0] for pot in case.pots for pair in pot])
    ln_eta = np.log([pair[1] for pot in case.pots for pair in pot])
    which = np.array([i for i, pot in enumerate(case.pots) for _ in pot], dtype=int)
    x = np.full(dose.size, -np.inf)
    has = dose > 0
    x[has] = np.log(concentration(dose[has], prior, case.pot) / prior.reference_percent)
    if case.pot.other_starch_g_per_l:
        x[~has] = np.log(concentration(0.0, prior, case.pot) / prior.reference_percent)
    lever = np.zeros(dose.size)
    up, down = (np.log(concentration(dose[has] * (1 + e), prior, case.pot)) for e in (5e-4, -5e-4))
    lever[has] = (up - down) / 1e-3
    vague = (np.log(0.03), 1.7) if (dose == 0).any() else (np.log(prior.base_pa_s), prior.base_ln_sd)
    ln_mean, ln_sd = case.base or vague
    centre = np.array([np.log(prior.level_pa_s), prior.exponent, ln_mean, prior.join, np.log(prior.batch_sd)])
    width = np.diag([prior.level_ln_sd, prior.exponent_sd, ln_sd, prior.join_sd, 0.5]) ** 2
    found = None
    for turn in range(rounds):
        n = points if turn == rounds - 1 else points // 8
        cube = qmc.Sobol(6, seed=seed + turn).random(n)
        z = norm.ppf(np.clip(cube[:, :5], 1e-9, 1 - 1e-9))
        df = 6.0
        from scipy.stats import chi2

        scale = np.sqrt(df / chi2.ppf(np.clip(cube[:, 5], 1e-9, 1 - 1e-9), df))
        at = centre + (z * scale[:, None]) @ np.linalg.cholesky(width * (1.4 if turn else 1.0)).T
        proposal = multivariate_t(centre, width * (1.4 if turn else 1.0), df=df).logpdf(at)
        a, b, ln_base, latent, ln_s = at.T
        level = (a - np.log(prior.level_pa_s)) / prior.level_ln_sd
        inside = (latent > 1 / 3) & (latent < 1.1)
        log = (
            np.log((1 - unlike) * np.exp(-0.5 * level**2) + unlike / WIDER * np.exp(-0.5 * (level / WIDER) ** 2))
            - 0.5 * ((b - prior.exponent) / prior.exponent_sd) ** 2
            - 0.5 * ((ln_base - ln_mean) / ln_sd) ** 2
            - 0.5 * ((latent - prior.join) / prior.join_sd) ** 2
            - prior.batch_df * (ln_s - np.log(prior.batch_sd))
            - prior.batch_df / 2 * np.exp(-2 * (ln_s - np.log(prior.batch_sd)))
        )
        if dose.size:
            log = log + likelihood(case, which, x, ln_eta, lever, a, b, ln_base, power(ln_base, latent), np.exp(ln_s))
        log = np.where(inside, log - proposal, -np.inf)
        weight = np.exp(log - log.max())
        weight /= weight.sum()
        centre = weight @ at
        away = at - centre
        width = (weight[:, None] * away).T @ away + 1e-8 * np.eye(5)
        found = Cloud(weight, a, b, ln_base, power(ln_base, latent), np.exp(ln_s))
    assert found is not None
    return found


def likelihood(
    case: Case, which: Any, x: Any, ln_eta: Any, lever: Any, a: Any, b: Any, ln_base: Any, p: Any, s: Any
) -> Any:
    """Log density of all readings at each point, slips of no pot, each one pot and each two summed over."""
    g = a[:, None] + b[:, None] * np.where(np.isfinite(x), x, 0.0)
    starch = np.where(np.isfinite(x), p[:, None] * (g - ln_base[:, None]), -np.inf)
    value = ln_base[:, None] + np.logaddexp(0, starch) / p[:, None]
    left = ln_eta - value
    share = 1 / (1 + np.exp(-np.clip(starch, -700, 700)))
    same = np.equal.outer(which, which)
    days = np.array(case.days)[which]
    potted = (1 - DAY_SHARE) * same + DAY_SHARE * np.equal.outer(days, days)
    push = share * b[:, None] * lever * case.dose_sd
    cov = (
        s[:, None, None] ** 2 * potted
        + np.diag(np.full(x.size, case.reading**2 + 1e-12))
        + push[:, :, None] * push[:, None, :] * same
    )
    pots = int(which.max()) + 1
    slips: list[tuple[int, ...]] = [()]
    if pots > 2:
        slips += [(i,) for i in range(pots)] + [(i, j) for i in range(pots) for j in range(i) if pots > 3]
    total = np.full(a.size, -np.inf)
    for slip in slips:
        more = cov + SLIP_SD**2 * same * np.isin(which, slip)
        root = np.linalg.cholesky(more)
        solved = np.linalg.solve(root, left[..., None])[..., 0]
        one = -0.5 * (solved**2).sum(axis=1) - np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
        total = np.logaddexp(total, one + len(slip) * np.log(SLIP / (1 - SLIP)))
    return total


def quantiles(values: Any, weight: Any, chances: Any) -> Any:
    """Weighted quantiles."""
    order = np.argsort(values)
    return np.interp(chances, np.cumsum(weight[order]) - weight[order] / 2, values[order])


def dose_quantiles(points: Cloud, target: float, prior: Prior, pot: Pot, chances: Any) -> Any:
    """Quantiles of the dose at which the average pot reaches the target [g/L]; 0 where the base has it alone."""
    away = points.join * (np.log(target) - points.ln_base)
    with np.errstate(invalid="ignore", divide="ignore"):
        g = points.ln_base + np.log(np.expm1(np.maximum(away, 1e-300))) / points.join
        x = np.where(away > 0, (g - points.level) / points.slope, -20.0)
    found = prior.reference_percent * np.exp(quantiles(np.clip(x, -20, 6), points.weight, chances))
    grid = np.geomspace(1e-3, 3000, 200001)
    return np.interp(np.log(found), np.log(concentration(grid, prior, pot)), grid)


def viscosities(points: Cloud, dose: float, prior: Prior, pot: Pot) -> Any:
    """ln viscosity of the average pot at each point."""
    x = np.log(concentration(dose, prior, pot) / prior.reference_percent)
    g = points.level + points.slope * x
    return points.ln_base + np.logaddexp(0, points.join * (g - points.ln_base)) / points.join


def average_quantiles(points: Cloud, dose: float, prior: Prior, pot: Pot, chances: Any) -> Any:
    """Quantiles of the average pot's viscosity [Pa s]."""
    return np.exp(quantiles(viscosities(points, dose, prior, pot), points.weight, chances))


def batch_below(points: Cloud, dose: float, value: float, prior: Prior, pot: Pot) -> float:
    """Chance that the next pot is thinner than a value."""
    return float(np.sum(points.weight * ndtr((np.log(value) - viscosities(points, dose, prior, pot)) / points.spread)))


def random_case(rng: np.random.Generator) -> Case:
    """Pots of an invented kitchen: clear or thick, read once or up a ladder, a base read or not."""
    thick = rng.random() < 0.5
    base = float(np.exp(rng.uniform(*np.log([0.03, 0.3] if thick else [0.8e-3, 5e-3]))))
    level, slope, spread = (
        np.exp(rng.normal(np.log(0.2), 0.5)),
        rng.normal(3, 0.4),
        np.exp(rng.normal(np.log(0.12), 0.3)),
    )
    p = float(np.clip(rng.normal(0.65, 0.15), 0.34, 1.09)) if thick else 1.0
    pot = Pot(float(rng.uniform(850, 1000)))
    reading, dose_sd = float(rng.choice([0.05, 0.1, 0.15])), float(rng.choice([0.0, 0.02, 0.05]))
    wanted = float(np.exp(rng.uniform(*np.log([8, 35] if thick else [25, 55]))))

    def eta(dose: float) -> float:
        starch = level * (float(concentration(dose, Prior("x"), pot)) / 4) ** slope if dose else 0.0
        return float((base**p + starch**p) ** (1 / p))

    target, count, ladder = eta(wanted), int(rng.integers(1, 7)), thick and rng.random() < 0.7
    pots, days = [], []
    for number in range(count):
        effect = spread * rng.normal() + slope * dose_sd * rng.normal()
        steps = [0.0, 0.6, 0.8, 1.0] if ladder else [1.0]
        dose = wanted * np.exp(0.25 * rng.normal())
        pots.append(
            [(dose * each, eta(dose * each) * float(np.exp(effect + reading * rng.normal()))) for each in steps]
        )
        days.append(number if rng.random() < 0.6 or not number else days[-1])
    known = (float(np.log(base) + 0.15 * rng.normal()), 0.15) if thick and not ladder and rng.random() < 0.7 else None
    return Case(pots, known, reading, dose_sd, pot, target, days)
