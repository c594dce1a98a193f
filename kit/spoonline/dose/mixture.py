"""Weighted straight lines in logs: a dose curve whose pot-to-pot spread and base are not known exactly.

For each value of the pot-to-pot spread s and of the base viscosity B the posterior of the line ln(eta - B) = a + b x is normal
in closed form; the weights say how well each pair explains the batches. Nothing is sampled: every answer repeats to the last digit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from spoonline.dose.priors import Prior, base_grid, noise_grid, slope_parts

FloatArray = NDArray[np.float64]
# Past this the reading error of a pot hardly thicker than its base is not small, and the first-order rule overstates the base.
READING_LIMIT = 0.7
# A base thicker than water may carry the starch's thickness up by the same ratio (milk does, a puree need not): half, in ln.
CARRIED = 0.5
DROPPED = 1e-3  # total weight of the pairs that are left out of the answers
SMALL_STEP = 1e-5  # a last step of this size leaves an error below 1e-6
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
        return np.asarray(ndtr((self._starch(ln_value)[0] - lines[0]) / lines[1]) @ self.weight)

    @cached_property
    def _bases(self) -> tuple[FloatArray, NDArray[np.intp]]:
        """The few different bases, and which of them each line has."""
        return np.unique(self.base, return_inverse=True)

    def _starch(self, ln_value: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """ln of the starch part at a viscosity above each line's base, and the slope of that."""
        value = np.exp(np.asarray(ln_value, dtype=float))[..., None]
        bases, which = self._bases
        over = value - bases
        left = np.where(over > 0, over, np.inf)
        # below the base there is nothing: finite, so that no slope is 0 times infinity
        ln_over = np.where(over > 0, np.log(left), -1e9)
        return ln_over.take(which, axis=-1), (value / left).take(which, axis=-1)

    def quantiles(self, x: ArrayLike, chances: Sequence[float], single: bool = False) -> FloatArray:
        """Quantiles of ln viscosity of the average pot, or of the next single one, (len(chances), p)."""
        mean, sd = self.lines(x, single)
        points, z = len(mean), ndtri(np.asarray(chances))[:, None]
        starch = np.exp(mean)
        value = self.base + starch
        middle = np.log(value)
        centre = middle @ self.weight
        away, own = middle - centre[:, None], (starch / value * sd) ** 2
        spread = np.sqrt((away * away + own) @ self.weight)
        # Cornish and Fisher's first term starts the search near its end
        start = z + (away * (away * away + 3 * own)) @ self.weight / spread**3 * (z * z - 1) / 6
        # the quantile of a mixture lies between the quantiles of its parts
        reach = np.abs(z) * sd.max(axis=-1)
        low = np.log(self.base.min() + np.exp(mean.min(axis=-1) - reach))
        high = np.log(self.base.max() + np.exp(mean.max(axis=-1) + reach))

        def climb(t: FloatArray, which: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
            ln_over, ratio = self._starch(t)
            steep = 1 / sd[which % points]
            score = (ln_over - mean[which % points]) * steep
            return ndtr(score) @ self.weight, (_bell(score) * ratio * steep) @ self.weight

        found = _solve(climb, z.repeat(points), low.ravel(), high.ravel(), (centre + start * spread).ravel())
        return found.reshape(len(z), points)

    def reaching(self, target_pa_s: float, chances: Sequence[float], scan: FloatArray) -> FloatArray:
        """Quantiles of the x at which the average pot reaches the target; -inf below the increasing ``scan``, inf above it."""
        # a base as thick as the target needs no thickener at all
        aim = self._starch(np.log(target_pa_s))[0]
        b, v = self.mean[:, 1], self.covariance

        def climb(x: FloatArray, _which: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
            mean, sd = self.lines(x)
            score = np.minimum((mean - aim) / sd, 40.0)
            turn = (b - score * (v[:, 0, 1] + x[:, None] * v[:, 1, 1]) / sd) / sd
            return ndtr(score) @ self.weight, (_bell(score) * turn) @ self.weight

        mean, sd = self.lines(scan)
        at, wanted = ndtr((mean - aim) / sd) @ self.weight, np.asarray(chances, dtype=float)
        enough = at >= wanted[:, None]
        first = enough.argmax(axis=-1)
        found = np.where(enough.any(axis=-1), -np.inf, np.inf)
        inner = np.flatnonzero(first)
        if inner.size:
            low, high = scan[first[inner] - 1], scan[first[inner]]
            found[inner] = _solve(climb, ndtri(wanted[inner]), low, high, (low + high) / 2)
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


def _bell(score: FloatArray) -> FloatArray:
    return np.asarray(np.exp(-0.5 * score * score) / np.sqrt(2 * np.pi))


def _solve(
    climb: Callable[[FloatArray, NDArray[np.intp]], tuple[FloatArray, FloatArray]],
    z: FloatArray, low: FloatArray, high: FloatArray, start: FloatArray,
) -> FloatArray:  # fmt: skip
    """Solve climb(t, entries) = Phi(z), a rising probability and its slope, by Newton's steps on the normal scale in a bracket."""
    found, which = np.empty(z.size), np.arange(z.size)
    low, high, t = low - 1e-7, high + 1e-7, np.clip(start, low, high)
    with np.errstate(all="ignore"):
        for _ in range(60):
            p, slope = climb(t, which)
            score = ndtri(p)
            low, high = np.where(score < z, t, low), np.where(score < z, high, t)
            step = (score - z) * _bell(score) / slope
            t = t - step
            inside = (t >= low) & (t <= high)
            found[which] = t = np.where(inside, t, 0.5 * (low + high))
            left = ~((inside & (np.abs(step) < SMALL_STEP)) | (high - low < 1e-7))
            if not left.any():
                break
            low, high, t, z, which = low[left], high[left], t[left], z[left], which[left]
    return found


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
    """Evaluate rows of f at x through the polynomial that meets f at Chebyshev's nodes (a sum of cosines of the angle)."""
    middle, half, order = (x.min() + x.max()) / 2, (x.max() - x.min()) / 2, np.arange(NODES)
    angles = np.pi * (order + 0.5) / NODES
    terms = f(middle + half * np.cos(angles)) @ np.cos(np.outer(angles, order)) * np.where(order, 2, 1) / NODES
    at = np.arccos(np.clip((x - middle) / half, -1, 1))
    return np.asarray(terms @ np.cos(np.outer(order, at)))
