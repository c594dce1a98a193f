"""Weighted straight lines in logs: a dose curve whose pot-to-pot spread and base are not known exactly.

For each value of the pot-to-pot spread s and of the base viscosity B the posterior of the line ln(eta - B) =
a + b x is normal in closed form; the weights say how well each pair explains the batches. Every answer is a
weighted mean of normal probabilities, so nothing is sampled and every answer repeats to the last digit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from spoonline.trials.priors import Prior, base_grid, noise_grid, slope_parts

FloatArray = NDArray[np.float64]
Climb = tuple[FloatArray, FloatArray, FloatArray]

# Past this the reading error of a pot that is hardly thicker than its base is no longer small against its
# starch part, and the first-order rule overstates what such a base explains.
READING_LIMIT = 0.7
# A base thicker than water may carry the starch's thickness up by the same ratio (milk does, a puree need
# not): half of it, in ln.
CARRIED = 0.5
DROPPED = 1e-3  # total weight of the pairs that are left out of the answers
SMALL_STEP = 2e-4  # a last step of this size leaves an error of about 1e-7
_ANGLES = np.pi * (np.arange(25) + 0.5) / 25  # of Chebyshev's nodes, with the weights of the barycentric form
NODES, PULLS = np.cos(_ANGLES), np.sin(_ANGLES) * (-1.0) ** np.arange(25)


@dataclass(frozen=True, eq=False)
class Mixture:
    """``weight``, ``noise`` s^2, ``base`` [Pa s]: (k,); ``mean``: (k, 2); ``covariance``: (k, 2, 2)."""

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    noise: FloatArray
    base: FloatArray

    def lines(self, x: ArrayLike, single: bool = False, dose_ln_sd: ArrayLike = 0.0) -> tuple[FloatArray, FloatArray]:
        """Mean and spread of ln(eta - base) of every line at every x; both of shape (p, k).

        ``single`` adds the pot-to-pot spread, ``dose_ln_sd`` the scatter of x itself.
        """
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

    def _rise(self, score: FloatArray, turn: FloatArray, turned: FloatArray) -> Climb:
        """Probability below, and its slope and curvature times root 2 pi, from scores and their derivatives."""
        bell = np.exp(-0.5 * score * score)
        slope = bell * turn
        curve = bell * turned - slope * turn * score
        return ndtr(score) @ self.weight, slope @ self.weight, curve @ self.weight

    def quantiles(self, x: ArrayLike, chances: Sequence[float], single: bool = False) -> FloatArray:
        """Quantiles of ln viscosity of the average pot, or of the next single one, (len(chances), p)."""
        mean, sd = self.lines(x, single)
        points, z = len(mean), ndtri(np.asarray(chances))[:, None]
        starch = np.exp(mean)
        value = self.base + starch
        middle = np.log(value)
        centre = middle @ self.weight
        away, own = middle - centre[:, None], (starch / value * sd) ** 2
        square = away * away
        spread = np.sqrt((square + own) @ self.weight)
        # Cornish and Fisher's expansion starts the search near its end
        skew = (away * (square + 3 * own)) @ self.weight / spread**3
        tail = (square * (square + 6 * own) + 3 * own * own) @ self.weight / spread**4 - 3
        start = z + skew * (z * z - 1) / 6 + tail * (z**3 - 3 * z) / 24 - skew**2 * (2 * z**3 - 5 * z) / 36
        # the quantile of a mixture lies between the quantiles of its parts
        reach = np.abs(z) * sd.max(axis=-1)
        low = np.log(self.base.min() + np.exp(mean.min(axis=-1) - reach))
        high = np.log(self.base.max() + np.exp(mean.max(axis=-1) + reach))
        steepness = 1 / sd

        def climb(t: FloatArray, which: NDArray[np.intp]) -> Climb:
            at = which % points
            ln_over, ratio = self._starch(t)
            turn = ratio * steepness[at]
            return self._rise((ln_over - mean[at]) * steepness[at], turn, turn * (1 - ratio))

        found = _solve(climb, z.repeat(points), low.ravel(), high.ravel(), (centre + start * spread).ravel())
        return found.reshape(len(z), points)

    def reaching(self, target_pa_s: float, chances: Sequence[float], scan: FloatArray) -> FloatArray:
        """Quantiles of the x at which the average pot reaches the target.

        -inf where the lowest x of the increasing ``scan`` is enough already, inf where its highest is not.
        """
        # a base as thick as the target needs no thickener at all
        aim = self._starch(np.log(target_pa_s))[0]
        b, v = self.mean[:, 1], self.covariance

        def climb(x: FloatArray, _which: Any = None) -> Climb:
            mean, sd = self.lines(x)
            score = np.minimum((mean - aim) / sd, 40.0)
            bend = (v[:, 0, 1] + x[:, None] * v[:, 1, 1]) / sd
            turn = (b - score * bend) / sd
            return self._rise(score, turn, -(2 * turn * bend + score * (v[:, 1, 1] - bend**2) / sd) / sd)

        mean, sd = self.lines(scan)
        at, wanted = ndtr((mean - aim) / sd) @ self.weight, np.asarray(chances, dtype=float)
        enough = at >= wanted[:, None]
        first = enough.argmax(axis=-1)
        found = np.where(enough.any(axis=-1), -np.inf, np.inf)
        inner = np.flatnonzero(first)
        if inner.size:
            above, z = first[inner], ndtri(wanted[inner])
            low, high = scan[above - 1], scan[above]
            ends = ndtri(np.clip([at[above - 1], at[above]], 1e-9, 1 - 1e-9))
            start = low + (high - low) * np.clip((z - ends[0]) / (ends[1] - ends[0]), 0.0, 1.0)
            found[inner] = _solve(climb, z, low, high, start)
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
        spread = np.einsum("k,kij->ij", self.weight, self.covariance) + np.einsum(
            "k,ki,kj->ij", self.weight, away, away
        )
        return mean, spread


def _solve(
    climb: Callable[[FloatArray, NDArray[np.intp]], Climb],
    z: FloatArray,
    low: FloatArray,
    high: FloatArray,
    start: FloatArray,
) -> FloatArray:
    """Solve climb(t) = Phi(z) for each entry by Halley's steps on the normal scale, kept in a bracket.

    ``climb(t, which)`` gives an increasing probability at ``t`` for the entries ``which``, with its slope and
    curvature times root 2 pi.
    """
    found, which = np.empty(z.size), np.arange(z.size)
    low, high, t = low - 1e-7, high + 1e-7, np.minimum(np.maximum(start, low), high)
    with np.errstate(all="ignore"):
        for _ in range(60):
            p, slope, curve = climb(t, which)
            score = ndtri(p)
            off, bell = score - z, np.exp(-0.5 * score * score)
            low, high = np.where(off < 0, t, low), np.where(off < 0, high, t)
            step = off * bell / slope
            bend = 1 - 0.5 * step * (curve / slope + score * slope / bell)
            step /= np.minimum(np.maximum(bend, 0.5), 2.0)
            t = t - step
            inside = (t >= low) & (t <= high)
            found[which] = t = np.where(inside, t, 0.5 * (low + high))
            # each step cubes the error, so a small last one leaves a far smaller error
            done = (inside & (np.abs(step) < SMALL_STEP)) | (high - low < 1e-7)
            if done.all():
                break
            left = ~done
            low, high, t, z, which = low[left], high[left], t[left], z[left], which[left]
    return found


def fit_mixture(
    x: FloatArray,
    viscosity_pa_s: FloatArray,
    reading_ln_sd: FloatArray,
    x_sd: FloatArray,
    prior: Prior,
    level: tuple[float, float],
    water: float,
    base_pa_s: float | None = None,
) -> Mixture:
    """Fit every line of the grid at once.

    Parameters
    ----------
    x : ndarray, shape (n,)
        ln of concentration over the prior's reference.
    viscosity_pa_s, reading_ln_sd, x_sd : ndarray, shape (n,)
        Readings [Pa s], their relative errors, and the scatter of x.
    prior : Prior
        Beliefs about slope, spread and base.
    level : tuple of float
        Mean and spread of ln level in water, at the temperature and shear rate of the readings.
    water : float
        Viscosity of water there [Pa s]: a thicker base lifts the starch part by half the ratio (ln), up to 2.
    base_pa_s : float, optional
        The base, where it was measured [Pa s].
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
    """Evaluate rows of f at x through the polynomial that meets f at Chebyshev's nodes (barycentric form)."""
    middle, half = (x.min() + x.max()) / 2, (x.max() - x.min()) / 2
    away = (x - middle)[:, None] / half - NODES
    pull = PULLS / np.where(away == 0, 1e-290, away)
    return np.asarray(f(middle + half * NODES) @ pull.T / pull.sum(axis=-1))
