"""An independent answer to what the dose curve answers: brute force over level, slope, spread and base.

Shares only the prior's figures with the library. Slope, spread and base run over fixed even grids; the level
over an even grid of its conditional bell; nothing is taken from the closed forms of the kit. The scatter of
a dose is taken exactly, (b u)^2 at every slope, where the kit uses the slope found.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import ndtr

from spoonline.dose.priors import Prior, water_pa_s
from spoonline.pots.water import Pot


@dataclass
class Cloud:
    """Points of the grid, each with its weight."""

    weight: Any
    level: Any
    slope: Any
    spread: Any
    base: Any


def cloud(
    dose: Any,
    eta: Any,
    prior: Prior,
    pot: Pot,
    base: float | None,
    reading: Any,
    dose_sd: Any,
    temperature_c: float = 60.0,
    rate: float = 50.0,
    fine: float = 1.0,
) -> Cloud:
    dose, eta = np.asarray(dose, float), np.asarray(eta, float)
    n = dose.size
    x = np.log(concentration(dose, prior, pot) / prior.reference_percent)
    # leverage of the dose by a small difference, not by the kit's formula
    lever = (np.log(concentration(dose * 1.0005, prior, pot)) - np.log(concentration(dose * 0.9995, prior, pot))) / 1e-3
    u_x = np.broadcast_to(np.asarray(dose_sd, float), (n,)) * lever
    u_y = np.broadcast_to(np.asarray(reading, float), (n,))
    slope = np.linspace(-4.6, 4.6, int(92 * fine)) * prior.exponent_sd + prior.exponent
    ln_s = np.linspace(np.log(0.04 * prior.batch_sd / 0.2), np.log(2.5 * prior.batch_sd / 0.2), int(28 * fine))
    if base is None:
        ln_base = np.log(prior.base_pa_s) + prior.base_ln_sd * np.linspace(-4, 4, int(120 * fine))
        cell = np.full(ln_base.size, 1.0)
        if n:
            # base below the least reading: even steps in ln(base / (least - base))
            z = np.linspace(
                ln_base[0] - np.log(eta.min()), min(7.5, max(ln_base[-1] - np.log(eta.min()), -8)), ln_base.size
            )
            ln_base = np.log(eta.min()) - np.log1p(np.exp(-z))
            cell = 1 / (1 + np.exp(z))
    else:
        ln_base, cell = np.log([base]), np.ones(1)
    slope_, ln_s_, ln_base_ = np.meshgrid(slope, ln_s, ln_base, indexing="ij")
    slope_, ln_s_, ln_base_ = slope_.ravel(), ln_s_.ravel(), ln_base_.ravel()
    log_weight = (
        -0.5 * ((slope_ - prior.exponent) / prior.exponent_sd) ** 2
        - prior.batch_df * ln_s_
        - prior.batch_df * prior.batch_sd**2 / 2 * np.exp(-2 * ln_s_)
        - 0.5 * ((ln_base_ - np.log(prior.base_pa_s)) / prior.base_ln_sd) ** 2
    )
    log_weight = log_weight + np.log(np.broadcast_to(cell, (slope.size, ln_s.size, ln_base.size))).ravel()
    b_pa_s = np.exp(ln_base_)
    mean_level, sd_level = prior.level(temperature_c, rate)
    mean_level = mean_level + np.log(np.minimum(np.maximum(b_pa_s / water_pa_s(temperature_c), 1), 2)) / 2
    # where the level can lie for each slope, spread and base: a running product of bells
    centre, width = mean_level, np.full_like(slope_, sd_level)
    variances, ys = [], []
    for i in range(n):
        over = eta[i] - b_pa_s
        y = np.log(over) - slope_ * x[i]
        variance = np.exp(2 * ln_s_) + np.minimum(u_y[i] * eta[i] / over, 0.7) ** 2 + (slope_ * u_x[i]) ** 2
        centre = (centre / width**2 + y / variance) / (1 / width**2 + 1 / variance)
        width = (1 / width**2 + 1 / variance) ** -0.5
        variances.append(variance)
        ys.append(y)
        log_weight = log_weight - np.log(over)
    steps = np.linspace(-4.2, 4.2, 15 if base is None else 151)
    level = centre[:, None] + width[:, None] * steps
    total = log_weight[:, None] + np.log(width)[:, None] - 0.5 * ((level - mean_level[:, None]) / sd_level) ** 2
    for y, variance in zip(ys, variances, strict=True):
        total = total - 0.5 * (y[:, None] - level) ** 2 / variance[:, None] - 0.5 * np.log(variance)[:, None]
    weight = np.exp(total - total.max())
    keep = weight > 1e-9
    spread_out = np.broadcast_to
    return Cloud(
        weight[keep] / weight[keep].sum(),
        level[keep],
        spread_out(slope_[:, None], level.shape)[keep],
        spread_out(np.exp(ln_s_)[:, None], level.shape)[keep],
        spread_out(b_pa_s[:, None], level.shape)[keep],
    )


def concentration(dose: Any, prior: Prior, pot: Pot) -> Any:
    """Dry maize equivalent in per cent of starch and water, written out anew."""
    dry = 0.89 * prior.strength * np.asarray(dose) + pot.other_starch_g_per_l
    water = pot.water_g_per_l + 0.11 * np.asarray(dose)
    return 100 * dry / (dry + water)


def quantiles(values: Any, weight: Any, chances: Any) -> Any:
    """Weighted quantiles, by a fine histogram with linear cells."""
    finite = np.isfinite(values)
    low, high = values[finite].min(), values[finite].max()
    count, edges = np.histogram(
        np.clip(values, low - 1, high + 1), bins=6000, range=(low - 1, high + 1), weights=weight
    )
    return np.interp(chances, np.concatenate([[0], np.cumsum(count)]), edges)


def dose_quantiles(points: Cloud, target: float, prior: Prior, pot: Pot, chances: Any) -> Any:
    """Quantiles of the dose at which the average pot reaches the target [g/L]."""
    with np.errstate(invalid="ignore", divide="ignore"):
        x = np.where(target > points.base, (np.log(target - points.base) - points.level) / points.slope, -20.0)
    found = prior.reference_percent * np.exp(quantiles(x, points.weight, chances))
    grid = np.geomspace(1e-3, 3000, 200001)
    return np.interp(np.log(found), np.log(concentration(grid, prior, pot)), grid)


def average_quantiles(points: Cloud, dose: float, prior: Prior, pot: Pot, chances: Any) -> Any:
    """Quantiles of the average pot's viscosity [Pa s]."""
    x = np.log(concentration(dose, prior, pot) / prior.reference_percent)
    eta = np.log(points.base + np.exp(points.level + points.slope * x))
    return np.exp(quantiles(eta, points.weight, chances))


def batch_below(points: Cloud, dose: float, value: float, prior: Prior, pot: Pot) -> float:
    """Chance that the next pot is thinner than a value."""
    x = np.log(concentration(dose, prior, pot) / prior.reference_percent)
    over = np.maximum(value - points.base, 1e-300)
    return float(np.sum(points.weight * ndtr((np.log(over) - points.level - points.slope * x) / points.spread)))


@dataclass
class Case:
    """One random set of batches."""

    dose: Any
    eta: Any
    base: float | None
    reading: Any
    dose_sd: Any
    pot: Pot
    target: float


def random_case(rng: np.random.Generator) -> Case:
    """Batches of an invented kitchen: 1 to 8 pots, with or without base, reading and dose errors."""
    n = int(rng.integers(1, 9))
    base = float(np.exp(rng.uniform(np.log(0.5e-3), np.log(0.1))))
    level, slope, spread = (
        np.exp(rng.normal(np.log(0.2), 0.5)),
        rng.normal(3, 0.5),
        np.exp(rng.normal(np.log(0.15), 0.4)),
    )
    pot = Pot(float(rng.uniform(850, 1000)), float(rng.choice([0.0, 5.0])))
    dose = np.exp(rng.uniform(np.log(20), np.log(60), n))
    reading = float(rng.choice([0.0, 0.1, 0.2]))
    dose_sd = float(rng.choice([0.0, 0.02, 0.10]))
    c = 89 * dose + 100 * pot.other_starch_g_per_l
    c = c / (dose + pot.other_starch_g_per_l + pot.water_g_per_l)
    wobble = dose_sd * rng.normal(size=n) * slope + spread * rng.normal(size=n)
    eta = (base + level * (c / 4) ** slope * np.exp(wobble)) * np.exp(reading * rng.normal(size=n))
    eta = np.maximum(eta, base * 1.02)
    known = rng.random() < 0.5
    aim = float(np.exp(rng.uniform(np.log(25), np.log(55))))
    target = float(base + level * (0.089 * aim / 4) ** slope)
    return Case(dose, eta, base if known else None, reading, dose_sd, pot, target)
