"""Weighted straight lines in logs: a dose curve whose pot-to-pot spread and base are not known exactly.

For each value of the pot-to-pot spread s and of the base viscosity B the posterior of the line ln(eta - B) =
a + b x is normal in closed form; the weights say how well each pair explains the batches. Every answer is a
weighted mean of normal probabilities, so nothing is sampled and every answer repeats to the last digit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, logit, ndtr, ndtri

from spoonline.trials.line import fit_line, line_design
from spoonline.trials.priors import Prior

FloatArray = NDArray[np.float64]

# Past this the reading error of a pot that is hardly thicker than its base is no longer small against its
# starch part, and the first-order rule overstates what such a base explains.
READING_LIMIT = 0.7
ROOT_2_PI = float(np.sqrt(2 * np.pi))
# A base thicker than water may carry the starch's thickness up by the same ratio (milk does, a puree need
# not): half of it, in ln.
CARRIED = 0.5
DROPPED = 1e-3  # total weight of the pairs that are left out of the answers


@dataclass(frozen=True, eq=False)
class Mixture:
    """``weight``, ``noise`` s^2, ``base`` [Pa s]: (k,); ``mean``: (k, 2); ``covariance``: (k, 2, 2)."""

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    noise: FloatArray
    base: FloatArray

    def lines(
        self, x: ArrayLike, single: bool = False, dose_ln_sd: ArrayLike = 0.0
    ) -> tuple[FloatArray, FloatArray]:
        """Mean and spread of ln(eta - base) of every line at every x; both of shape (p, k).

        ``single`` adds the pot-to-pot spread, ``dose_ln_sd`` the scatter of x itself.
        """
        x = np.atleast_1d(np.asarray(x, dtype=float))[:, None]
        v = self.covariance
        variance = v[:, 0, 0] + x * (2 * v[:, 0, 1] + x * v[:, 1, 1])
        if single:
            variance = variance + self.noise
        wobble = np.atleast_1d(np.asarray(dose_ln_sd, dtype=float))[:, None]
        variance = variance + (self.mean[:, 1] ** 2 + v[:, 1, 1]) * wobble**2
        return self.mean[:, 0] + x * self.mean[:, 1], np.sqrt(variance)

    def below(self, ln_value: ArrayLike, lines: tuple[FloatArray, FloatArray]) -> FloatArray:
        """Probability that the viscosity lies below exp(``ln_value``), for ``lines`` of (p, k)."""
        return self._standard(np.asarray(ln_value, dtype=float)[..., None], lines)[0] @ self.weight

    def _standard(self, t: FloatArray, lines: tuple[FloatArray, FloatArray]) -> tuple[FloatArray, FloatArray]:
        """Probability and its slope in t of each line below viscosity exp(t)."""
        mean, sd = lines
        value = np.exp(t)
        over = value - self.base
        with np.errstate(divide="ignore", invalid="ignore"):
            z = np.where(over > 0, (np.log(np.maximum(over, 1e-300)) - mean) / sd, -np.inf)
            slope = np.where(over > 0, np.exp(-z * z / 2) / ROOT_2_PI * value / (over * sd), 0.0)
        return ndtr(z), slope

    def quantiles(self, x: ArrayLike, chances: Sequence[float], single: bool = False) -> FloatArray:
        """Quantiles of ln viscosity of the average pot, or of the next single one, (len(chances), p)."""
        mean, sd = self.lines(x, single)
        shape = len(chances), len(mean)
        z = np.repeat(ndtri(np.asarray(chances)), len(mean))
        mean, sd = np.tile(mean, (len(chances), 1)), np.tile(sd, (len(chances), 1))
        # the quantile of a mixture lies between the quantiles of its parts
        each = np.log(self.base + np.exp(mean + z[:, None] * sd))

        def climb(t: FloatArray, which: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
            part, slope = self._standard(t[:, None], (mean[which], sd[which]))
            return part @ self.weight, slope @ self.weight

        found = _solve(climb, z, each.min(axis=-1), each.max(axis=-1), each @ self.weight)
        return found.reshape(shape)

    def reaching(self, target_pa_s: float, chances: Sequence[float], scan: FloatArray) -> FloatArray:
        """Quantiles of the x at which the average pot reaches the target.

        -inf where the lowest x of the increasing ``scan`` is enough already, inf where its highest is not.
        """
        over = target_pa_s - self.base
        # a base as thick as the target needs no thickener at all
        aim = np.where(over > 0, np.log(np.maximum(over, 1e-300)), -np.inf)

        def climb(x: FloatArray, _which: Any = None) -> tuple[FloatArray, FloatArray]:
            mean, sd = self.lines(x)
            z = np.clip((mean - aim) / sd, -40.0, 40.0)  # finite, so that no slope is 0 times infinity
            v = self.covariance
            turn = (v[:, 0, 1] + x[:, None] * v[:, 1, 1]) / sd**2
            slope = np.exp(-z * z / 2) / ROOT_2_PI * (self.mean[:, 1] / sd - z * turn)
            return ndtr(z) @ self.weight, slope @ self.weight

        at = climb(scan)[0]
        found = np.empty(len(chances))
        first = np.array([np.argmax(at >= chance) for chance in chances])
        never = at.max() < np.asarray(chances)
        found[first == 0] = -np.inf
        found[never] = np.inf
        inner = (first > 0) & ~never
        if inner.any():
            low, high = scan[first[inner] - 1], scan[first[inner]]
            found[inner] = _solve(climb, ndtri(np.asarray(chances)[inner]), low, high, (low + high) / 2)
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
    climb: Callable[[FloatArray, NDArray[np.intp]], tuple[FloatArray, FloatArray]],
    z: FloatArray,
    low: FloatArray,
    high: FloatArray,
    start: FloatArray,
) -> FloatArray:
    """Solve climb(t) = Phi(z) for each entry by Newton steps on the normal scale, kept in a bracket.

    ``climb(t, which)`` gives an increasing probability and its slope at ``t`` for the entries ``which``.
    """
    low, high, t = low - 1e-7, high + 1e-7, start.copy()
    open_ = np.arange(t.size)
    for _ in range(60):
        p, slope = climb(t[open_], open_)
        now = t[open_]
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            score = ndtri(p)
            step = (score - z[open_]) * np.exp(-score * score / 2) / ROOT_2_PI / slope
        under = score < z[open_]
        low[open_], high[open_] = np.where(under, now, low[open_]), np.where(under, high[open_], now)
        # a converged entry sits on its own bracket: without the margin it would be sent back to the middle
        inside = (now - step > low[open_] - 1e-7) & (now - step < high[open_] + 1e-7)
        t[open_] = np.where(inside, now - step, (low[open_] + high[open_]) / 2)
        # Newton steps square the error, so a small last one leaves a far smaller error
        open_ = open_[~(inside & (np.abs(step) < 1e-4)) & (high[open_] - low[open_] > 1e-7)]
        if open_.size == 0:
            break
    return t


def base_grid(prior: Prior, least_pa_s: float) -> tuple[FloatArray, FloatArray]:
    """Base viscosities [Pa s] below the least reading, with the log weight that the prior gives each.

    Even steps in the logit of base/least (or in ln base before any reading) put points where the curve is
    sensitive to it.
    """
    centre, spread = np.log(prior.base_pa_s), prior.base_ln_sd
    low, high = centre - 3.5 * spread, centre + 3.5 * spread
    if not np.isfinite(least_pa_s):
        ln_base = np.linspace(low, high, 22)
        return np.exp(ln_base), -(((ln_base - centre) / spread) ** 2) / 2
    ends = logit(np.clip(np.exp(np.array([low, high]) - np.log(least_pa_s)), 1e-6, 1 - 1e-3))
    z = np.linspace(min(ends[0], ends[1] - 4), ends[1], max(12, int((ends[1] - ends[0]) / 0.5)))
    ln_base = np.log(least_pa_s) + np.log(expit(z))
    return np.exp(ln_base), -(((ln_base - centre) / spread) ** 2) / 2 + np.log(expit(-z))


def noise_grid(prior: Prior, batches: int) -> tuple[FloatArray, FloatArray]:
    """Pot-to-pot spreads s, evenly in ln s, with the log weight of the scaled-inverse-chi2 prior at each."""
    df, s0 = prior.batch_df, prior.batch_sd
    step = min(0.3, 1.7 / np.sqrt(2 * (df + batches)))
    ln_ratio = np.arange(-1.4, 2.6, step)
    return s0 * np.exp(ln_ratio), -df * ln_ratio - df / 2 * np.exp(-2 * ln_ratio)


def slope_parts(prior: Prior, x_sd: float) -> tuple[FloatArray, float]:
    """Centres (about the prior's) and spread of narrower bells that add up to the prior of the slope.

    Where doses are uncertain the scatter they cause depends on the slope itself; within a narrow bell it
    hardly varies.
    """
    if x_sd < 0.02:
        return np.zeros(1), prior.exponent_sd
    narrow, parts = (0.55, 11) if x_sd < 0.06 else (0.4, 15)
    return prior.exponent_sd * np.linspace(-2.7, 2.7, parts), narrow * prior.exponent_sd


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
    start = np.empty((offset.size, 1, base.size, 2))
    start[..., 0] = level[0] + np.log(np.clip(base / water, 1.0, 2.0)) * CARRIED
    start[..., 1] = prior.exponent + offset[:, None, None]
    precision = np.diag([level[1] ** -2, part**-2])
    over = viscosity_pa_s - base[:, None]
    y = np.log(over)
    reading = np.minimum(reading_ln_sd * viscosity_pa_s / over, READING_LIMIT)
    square = (prior.exponent + offset[:, None, None, None]) ** 2 + part**2
    variance = spread[:, None, None] ** 2 + reading**2 + square * x_sd**2
    fit = fit_line(line_design(x), y, start, precision, 1.0, np.inf, 1 / variance)
    log_weight = fit.log_evidence - y.sum(axis=-1) + base_log_weight + spread_log_weight[:, None]
    if offset.size > 1:
        log_weight = log_weight - offset[:, None, None] ** 2 / (2 * (prior.exponent_sd**2 - part**2))
    weight = np.exp(log_weight - log_weight.max())
    mean = np.broadcast_to(fit.mean, (*weight.shape, 2))
    covariance = np.broadcast_to(fit.shape, (*weight.shape, 2, 2))
    if offset.size > 1:
        # the parts of the slope's prior have done their work: one bell again for each spread and base
        total = weight.sum(axis=0)
        share = weight / np.maximum(total, 1e-300)
        middle = np.einsum("msk,mski->ski", share, mean)
        away = mean - middle
        covariance = np.einsum("msk,mskij->skij", share, covariance + away[..., None, :] * away[..., None])
        weight, mean = total, middle
    many = weight.shape[-2:]
    weight = weight.ravel() / weight.sum()
    order = np.argsort(weight)
    keep = np.sort(order[np.cumsum(weight[order]) > DROPPED])
    return Mixture(
        weight=weight[keep] / weight[keep].sum(),
        mean=mean.reshape(-1, 2)[keep],
        covariance=covariance.reshape(-1, 2, 2)[keep],
        noise=np.broadcast_to(spread[:, None] ** 2, many).reshape(-1)[keep],
        base=np.broadcast_to(base, many).reshape(-1)[keep],
    )


def interpolated(
    f: Callable[[FloatArray], FloatArray], x: FloatArray, ends: tuple[float, float], degree: int = 24
) -> FloatArray:
    """Evaluate rows of f at x through Chebyshev interpolation on ``ends``."""
    k = np.arange(degree + 1)
    nodes = np.cos(np.pi * (k + 0.5) / (degree + 1))
    values = f((ends[0] + ends[1]) / 2 + (ends[1] - ends[0]) / 2 * nodes)
    basis = np.cos(np.outer(k, np.arccos(nodes)))
    weights = (2 - (k == 0)) / (degree + 1)
    at = np.clip((2 * x - ends[0] - ends[1]) / (ends[1] - ends[0]), -1, 1)
    return np.asarray((values @ basis.T * weights) @ np.cos(np.outer(k, np.arccos(at))))
