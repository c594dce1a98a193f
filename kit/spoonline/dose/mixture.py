"""Weighted straight lines in logs: a dose curve whose pot-to-pot spread and base are not known exactly.

For each value of the pot-to-pot spread s and of the base viscosity B the posterior of the line ln(eta - B) = a + b x is normal
in closed form; the weights say how well each pair explains the batches. Nothing is sampled: every answer repeats to the last digit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from spoonline.dose.priors import Prior, base_grid, noise_grid, slope_parts

FloatArray = NDArray[np.float64]
# Past this the reading error of a pot hardly thicker than its base is not small, and the first-order rule overstates the base.
READING_LIMIT = 0.7
# A base thicker than water may carry the starch's thickness up by the same ratio (milk does, a puree need not): half, in ln.
CARRIED = 0.5
DROPPED = 1e-3  # total weight of the pairs that are left out of the answers
NODES = 25  # of Chebyshev, through which a drawn curve is interpolated


@dataclass(frozen=True, eq=False)
class Mixture:
    """``weight``, ``noise`` s^2, ``base`` [Pa s]: (k,); ``mean``: (k, 2); ``covariance``: (k, 2, 2)."""

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    noise: FloatArray
    base: FloatArray

    def lines(self, x: ArrayLike, single: bool = False, dose_ln_sd: ArrayLike = 0.0) -> tuple[FloatArray, FloatArray]:
        """Mean and spread (p, k) of ln(eta - base) of every line at every x; ``single`` adds pot to pot, ``dose_ln_sd`` the scatter of x."""
        x, wobble = (np.atleast_1d(np.asarray(each, dtype=float))[:, None] for each in (x, dose_ln_sd))
        v = self.covariance
        variance = v[:, 0, 0] + x * (2 * v[:, 0, 1] + x * v[:, 1, 1])
        if single:
            variance = variance + self.noise
        if wobble.any():
            variance = variance + (self.mean[:, 1] ** 2 + v[:, 1, 1]) * wobble**2
        return self.mean[:, 0] + x * self.mean[:, 1], np.sqrt(variance)

    def below(self, ln_value: ArrayLike, lines: tuple[FloatArray, FloatArray]) -> FloatArray:
        """Probability that the viscosity lies below exp(``ln_value``), for ``lines`` of (p, k)."""
        return np.asarray(ndtr((self._starch(ln_value) - lines[0]) / lines[1]) @ self.weight)

    @cached_property
    def _bases(self) -> tuple[FloatArray, NDArray[np.intp]]:
        """The few different bases, and which of them each line has."""
        return np.unique(self.base, return_inverse=True)

    def _starch(self, ln_value: ArrayLike) -> FloatArray:
        """ln of the starch part at a viscosity above each line's base; far below anything where there is none."""
        bases, which = self._bases
        over = np.exp(np.asarray(ln_value, dtype=float))[..., None] - bases
        return np.asarray(np.log(np.maximum(over, 1e-300)).take(which, axis=-1))

    def quantiles(self, x: ArrayLike, chances: Sequence[float], single: bool = False) -> FloatArray:
        """Quantiles of ln viscosity of the average pot, or of the next single one, (len(chances), p)."""
        mean, sd = self.lines(x, single)
        wanted, point = (each.ravel() for each in np.meshgrid(chances, np.arange(len(mean)), indexing="ij"))
        # the quantile of a mixture lies between the quantiles of its parts
        reach = np.abs(ndtri(wanted)) * sd.max(axis=-1)[point]
        low = np.log(self.base.min() + np.exp(mean.min(axis=-1)[point] - reach))
        high = np.log(self.base.max() + np.exp(mean.max(axis=-1)[point] + reach))

        def miss(ln_value: FloatArray, chance: FloatArray, at: FloatArray) -> FloatArray:
            own = at.astype(int)
            return self.below(ln_value, (mean[own], sd[own])) - chance

        return _root(miss, low, high, wanted, point).reshape(len(chances), -1)

    def reaching(self, target_pa_s: float, chances: Sequence[float], scan: FloatArray) -> FloatArray:
        """Quantiles of the x at which the average pot reaches the target; -inf below the increasing ``scan``, inf above it."""
        # a base as thick as the target needs no thickener at all
        aim, wanted = self._starch(np.log(target_pa_s)), np.asarray(chances, dtype=float)

        def miss(x: FloatArray, chance: Any) -> FloatArray:
            mean, sd = self.lines(x)
            return np.asarray(ndtr((mean - aim) / sd) @ self.weight - chance)

        enough = miss(scan, 0.0) >= wanted[:, None]
        first = enough.argmax(axis=-1)
        found = np.where(enough.any(axis=-1), -np.inf, np.inf)
        inner = np.flatnonzero(first)
        found[inner] = _root(miss, scan[first[inner] - 1], scan[first[inner]], wanted[inner])
        return found

    def moments(self, x: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Of ln viscosity at each x (p,): covariance with that at x[0], variance, and pot-to-pot variance."""
        mean, _ = self.lines(x)
        starch = np.exp(mean)
        value, share = np.log(self.base + starch), starch / (self.base + starch)
        away = value - (value @ self.weight)[:, None]
        rows = np.stack([share, share * x[:, None]], axis=-1)  # slopes of ln viscosity in (a, b)
        turned = np.einsum("pki,kij->pkj", rows, self.covariance)
        covariance = (np.sum(turned * rows[0], axis=-1) + away * away[0]) @ self.weight
        variance = (np.sum(turned * rows, axis=-1) + away**2) @ self.weight
        return covariance, variance, (share**2 * self.noise) @ self.weight

    def summary(self) -> tuple[FloatArray, FloatArray]:
        """Mean and covariance of (a, b) over all lines."""
        mean = self.weight @ self.mean
        away = self.mean - mean
        return mean, np.einsum("k,kij->ij", self.weight, self.covariance + away[:, :, None] * away[:, None])


def _root(miss: Callable[..., FloatArray], low: FloatArray, high: FloatArray, *args: ArrayLike) -> FloatArray:
    """Where a rising function of its first argument passes 0, for each entry between its two ends."""
    from scipy.optimize.elementwise import find_root

    found = find_root(miss, (low - 1e-7, high + 1e-7), args=args, tolerances={"xatol": 1e-6, "xrtol": 0, "fatol": 1e-9})
    return np.asarray(found.x)


def fit_mixture(
    x: FloatArray, viscosity_pa_s: FloatArray, reading_ln_sd: FloatArray, x_sd: FloatArray, prior: Prior, level: tuple[float, float],
    water: float, base_pa_s: float | None = None,
) -> Mixture:  # fmt: skip
    """Fit every line of the grid at once.

    ``x`` is ln of concentration over the prior's reference, ``x_sd`` its scatter; ``level`` is mean and spread of ln level in water, and
    ``water`` the viscosity of water [Pa s], at the conditions of the readings: a thicker base lifts the starch part by half the ratio
    (ln), up to 2.
    """
    if base_pa_s is None:
        base, base_log_weight = base_grid(prior, float(np.min(viscosity_pa_s, initial=np.inf)))
    else:
        base, base_log_weight = np.array([float(base_pa_s)]), np.zeros(1)
    spread, spread_log_weight = noise_grid(prior, len(x))
    offset, part = slope_parts(prior, float(np.max(x_sd, initial=0.0)))
    # axes: part of the slope's prior, spread, base, batch
    slope = (prior.exponent + offset)[:, None, None, None]
    level_mean = level[0] + np.log(np.clip(base / water, 1.0, 2.0)) * CARRIED
    over = viscosity_pa_s - base[:, None]
    y = np.log(over)
    reading = np.minimum(reading_ln_sd * viscosity_pa_s / over, READING_LIMIT)
    w = 1 / (spread[:, None, None] ** 2 + reading**2 + (slope**2 + part**2) * x_sd**2)
    # what the prior's line leaves, so that the sums stay small; two coefficients, so the algebra is written out
    left = y - level_mean[:, None] - slope * x
    pulled = w * left
    columns = np.array([np.ones_like(x), x, x * x]).T
    gram, pull = np.moveaxis(w @ columns, -1, 0), np.moveaxis(pulled @ columns[:, :2], -1, 0)
    p, q, r = gram[0] + level[1] ** -2, gram[1], gram[2] + part**-2
    det = p * r - q * q
    v_aa, v_ab, v_bb = r / det, -q / det, p / det
    a, b = v_aa * pull[0] + v_ab * pull[1], v_ab * pull[0] + v_bb * pull[1]
    fit = np.log(w).sum(axis=-1) - np.log(det) - (pulled * left).sum(axis=-1) + a * pull[0] + b * pull[1]
    log_weight = fit / 2 - y.sum(axis=-1) + base_log_weight + spread_log_weight[:, None]
    if offset.size > 1:
        log_weight -= offset[:, None, None] ** 2 / (2 * (prior.exponent_sd**2 - part**2))
    weight = np.exp(log_weight - log_weight.max())
    lines = np.array([a + level_mean, b + slope[..., 0], v_aa, v_ab, v_bb])
    if offset.size > 1:
        # neighbouring parts of the slope's prior have done their work: one bell again for each three
        weight, lines = (each.reshape(*each.shape[:-3], -1, 3, *each.shape[-2:]) for each in (weight, lines))
        total = weight.sum(axis=1)
        share = weight / np.maximum(total, 1e-300)[:, None]
        middle = (share * lines).sum(axis=2)
        a, b = lines[:2] - middle[:2, :, None]
        middle[2:] += (share * [a * a, a * b, b * b]).sum(axis=2)
        weight, lines = total, middle
    noise, base = (np.broadcast_to(each, weight.shape).ravel() for each in (spread[:, None] ** 2, base))
    weight = weight.ravel() / weight.sum()
    order = np.argsort(weight)
    keep = np.sort(order[np.cumsum(weight[order]) > DROPPED])
    lines = lines.reshape(5, -1)[:, keep].T
    kept = weight[keep]
    covariance = lines[:, [2, 3, 3, 4]].reshape(-1, 2, 2)
    return Mixture(kept / kept.sum(), lines[:, :2], covariance, noise[keep], base[keep])


def interpolated(f: Callable[[FloatArray], FloatArray], x: FloatArray) -> FloatArray:
    """Evaluate rows of f at x through the polynomial that meets f at Chebyshev's nodes."""
    middle, half = (x.min() + x.max()) / 2, (x.max() - x.min()) / 2
    terms = chebyshev.chebinterpolate(lambda at: f(middle + half * at).T, NODES - 1)  # type: ignore[type-var]  # numpy types the function for one number a node, and takes rows too
    return np.asarray(chebyshev.chebval((x - middle) / half, terms))
