"""Weighted straight lines in logs: a dose curve whose base, join and pot-to-pot spread are not known exactly.

Each line has its own base B and join p, and its weight. At a concentration x (ln) the starch part is S = exp(a + b x), and the average
pot reads F = (B^p + S^p)^(1/p); a single pot strays from that by the pot-to-pot spread of the whole. Every answer repeats to the last digit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

FloatArray = NDArray[Any]  # of floats; numpy types what linalg gives more loosely
STRAIGHT = 0.9  # share of the starch in a thickness above which the join bends no chance noticeably
NODES = 21  # of Chebyshev, through which a drawn curve is interpolated
PROBITS = np.array([-8.0, -3.5, -2.2, -1.2, 0.0, 1.2, 2.2, 3.5, 8.0])


def joined(g: Any, ln_base: Any, p: Any) -> tuple[FloatArray, FloatArray]:
    """ln viscosity of a base and a starch part exp(g) together, and its slope in g.

    >>> round(float(np.exp(joined(np.log(0.05), np.log(0.20), 0.65)[0])), 3)
    0.338
    """
    apart = np.asarray(p * (np.asarray(g, dtype=float) - ln_base))
    small = np.exp(-np.abs(apart))
    return ln_base + (np.log1p(small) + np.maximum(apart, 0.0)) / p, np.where(apart > 0, 1.0, small) / (1.0 + small)


@dataclass(frozen=True, eq=False)
class Mixture:
    """The lines (k,): ``weight``, ``mean`` (k, 2) and ``covariance`` (k, 2, 2) of (a, b), ``noise``, ``ln_base`` and ``join``.

    ``noise`` is the variance of ln viscosity from pot to pot; ``shared`` that of what the readings' tool has in common, where the
    question is asked on another scale.
    """

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    noise: FloatArray
    ln_base: FloatArray
    join: FloatArray
    shared: float = 0.0

    def lines(self, x: ArrayLike, dose_ln_sd: ArrayLike = 0.0) -> tuple[FloatArray, FloatArray]:
        """Mean and spread (p, k) of ln of the starch part of every line at every x; ``dose_ln_sd`` is the scatter of x."""
        x, wobble = (np.atleast_1d(np.asarray(each, dtype=float))[:, None] for each in (x, dose_ln_sd))
        v = self.covariance
        variance = v[:, 0, 0] + x * (2 * v[:, 0, 1] + x * v[:, 1, 1])
        if wobble.any():
            variance = variance + (self.mean[:, 1] ** 2 + v[:, 1, 1]) * wobble**2
        return self.mean[:, 0] + x * self.mean[:, 1], np.sqrt(np.maximum(variance, 1e-18))

    def starch(self, ln_value: ArrayLike) -> FloatArray:
        """ln of the starch part (..., k) that makes a viscosity; -inf where the base alone has it."""
        away = self.join * (np.asarray(ln_value, dtype=float)[..., None] - self.ln_base)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(away > 0, self.ln_base + np.log(np.expm1(np.maximum(away, 0.0))) / self.join, -np.inf)

    def below(self, ln_value: ArrayLike, lines: tuple[FloatArray, FloatArray], single: bool = False) -> FloatArray:
        """Chance that the average pot, or the next single one, is thinner than exp(``ln_value``) (p,), for ``lines`` of (p, k).

        For a single pot the boundary between thinner and thicker is taken as straight at its likeliest point (first-order
        reliability), which is exact where the base is thin.
        """
        mean, sd = lines
        value = np.asarray(ln_value, dtype=float)
        over = self.noise * single + self.shared
        g = self.starch(value)
        if not over.any():
            return np.asarray(ndtr((g - mean) / sd) @ self.weight)
        # straight at the thickness asked for: enough where the base is thin beside it
        share = -np.expm1(np.minimum(self.join * (self.ln_base - value[..., None]), 0.0))
        with np.errstate(divide="ignore", invalid="ignore"):
            found = np.where(np.isfinite(g), (g - mean) / np.sqrt(sd**2 + over / share**2), 0.0)
        bent = np.flatnonzero((hidden := share < STRAIGHT).any(axis=0))
        if bent.size:
            ln_base, join, over = self.ln_base[bent], self.join[bent], np.broadcast_to(over, self.weight.shape)[bent]
            z = np.zeros_like(mean[:, bent])
            for _ in range(3):
                f, slope = joined(mean[:, bent] + sd[:, bent] * z, ln_base, join)
                lever = slope * sd[:, bent]
                left, size = value[..., None] - f + lever * z, lever**2 + over
                z = np.clip(left * lever / size, -8.0, 8.0)
            found[:, bent] = np.where(hidden[:, bent], left / np.sqrt(size), found[:, bent])
        return np.asarray(ndtr(found) @ self.weight)

    def quantiles(self, x: ArrayLike, chances: Sequence[float], single: bool = False) -> FloatArray:
        """Quantiles of ln viscosity of the average pot, or of the next single one, (len(chances), p)."""
        mean, sd = self.lines(x)
        wide = np.sqrt(self.noise * single + self.shared)
        # from the thinnest to the thickest that any line of weight holds likely; the chance is nearly straight in probits between
        ends = [joined(mean + side * sd, self.ln_base, self.join)[0] + side * wide for side in (-1.0, 0.0, 1.0)]
        middle = ends[1] @ self.weight
        spread = np.sqrt((((ends[2] - ends[0]) / 2) ** 2 + (ends[1] - middle[:, None]) ** 2) @ self.weight)
        grid = middle + PROBITS[:, None] * spread
        found = np.array([self.below(row, (mean, sd), single) for row in grid])
        return _between(grid, found, chances, lambda at: self.below(at, (mean, sd), single))

    def reaching(self, ln_target: float, chances: Sequence[float], scan: FloatArray) -> FloatArray:
        """Quantiles of the x at which the average pot reaches the target; -inf below the increasing ``scan``, inf above it."""

        def thick(x: FloatArray) -> FloatArray:
            return 1 - self.below(np.full(x.shape, ln_target), self.lines(x))

        chance = thick(scan)
        found = _between(scan[:, None], chance[:, None], chances, thick)[:, 0]
        wanted = np.asarray(chances)
        return np.where(chance[0] >= wanted, -np.inf, np.where(chance[-1] < wanted, np.inf, found))

    def moments(self, x: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Of ln viscosity at each x (p,): covariance with that at x[0], variance, and pot-to-pot variance."""
        mean, _ = self.lines(x)
        value, share = joined(mean, self.ln_base, self.join)
        away = value - (value @ self.weight)[:, None]
        rows = np.stack([share, share * x[:, None]], axis=-1)  # slopes of ln viscosity in (a, b)
        turned = np.einsum("pki,kij->pkj", rows, self.covariance)
        covariance = (np.sum(turned * rows[0], axis=-1) + away * away[0]) @ self.weight
        variance = (np.sum(turned * rows, axis=-1) + away**2) @ self.weight
        return covariance, variance, np.full(len(x), float(self.noise @ self.weight))

    def summary(self) -> tuple[FloatArray, FloatArray]:
        """Mean and covariance of (a, b) over all lines."""
        mean = self.weight @ self.mean
        away = self.mean - mean
        return mean, np.einsum("k,kij->ij", self.weight, self.covariance + away[:, :, None] * away[:, None])


def _between(
    grid: FloatArray, chance: FloatArray, chances: Sequence[float], f: Callable[[FloatArray], FloatArray]
) -> FloatArray:
    """Where rising chances (m, p) on a grid reach those wanted, straight in probits between its points, and once more by ``f`` itself."""
    z, wanted = ndtri(np.clip(np.maximum.accumulate(chance), 1e-16, 1 - 1e-16)), ndtri(np.asarray(chances, dtype=float))
    grid = np.broadcast_to(grid, z.shape)
    rows = []
    for aim in wanted:
        at = np.clip((z < aim).sum(axis=0), 1, len(z) - 1)[None]
        (low, high), (z_low, z_high) = (
            [np.take_along_axis(each, at - back, 0)[0] for back in (1, 0)] for each in (grid, z)
        )
        for _ in range(4):  # the cell is small: four steps of regula falsi
            share = np.clip((aim - z_low) / np.maximum(z_high - z_low, 1e-12), 0.0, 1.0)
            middle = low + share * (high - low)
            z_middle = ndtri(np.clip(f(middle), 1e-16, 1 - 1e-16))
            under = z_middle < aim
            low, z_low = np.where(under, middle, low), np.where(under, z_middle, z_low)
            high, z_high = np.where(under, high, middle), np.where(under, z_high, z_middle)
        share = np.clip((aim - z_low) / np.maximum(z_high - z_low, 1e-12), 0.0, 1.0)
        rows.append(low + share * (high - low))
    return np.array(rows)


def interpolated(f: Callable[[FloatArray], FloatArray], x: FloatArray) -> FloatArray:
    """Evaluate rows of f at x through the polynomial that meets f at Chebyshev's nodes."""
    middle, half = (x.min() + x.max()) / 2, (x.max() - x.min()) / 2
    terms = chebyshev.chebinterpolate(lambda at: f(middle + half * at).T, NODES - 1)  # type: ignore[type-var]  # numpy types the function for one number a node, and takes rows too
    return np.asarray(chebyshev.chebval((x - middle) / half, terms))
