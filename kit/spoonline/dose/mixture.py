"""Weighted straight lines in logs: a dose curve whose base, join and pot-to-pot spread are not known exactly.

Each line has its own base B and join p, and its weight. At a concentration x (ln) the starch part is S = exp(a + b x), and the average
pot reads F = (B^p + S^p)^(1/p); a single pot strays from that by the pot-to-pot spread of the whole. Every answer repeats to the last digit.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

FloatArray = NDArray[Any]  # of floats; numpy types what linalg gives more loosely
NODES = 17  # of Chebyshev, through which a drawn curve is interpolated
# Root finding: rounds at most; near enough, in probits and in spreads; how many spreads from the middle anything is looked for.
ROUNDS, NEAR, FAR = 20, 1e-4, 6.0


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

    ``lean`` (k, 2) is how (a, b) of a line change with its ln base if it is to fit as well; ``near`` the variance of
    ln base that each line stands for.
    ``noise`` is the variance of ln viscosity from pot to pot; ``shared`` that of what the readings' tool has in common, where the
    question is asked on another scale.
    """

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    noise: FloatArray
    ln_base: FloatArray
    join: FloatArray
    lean: FloatArray
    near: float = 0.0
    shared: float = 0.0

    def lines(self, x: ArrayLike, dose_ln_sd: ArrayLike = 0.0) -> tuple[FloatArray, FloatArray]:
        """Mean and spread (p, k) of ln viscosity of the average pot on every line at every x; ``dose_ln_sd`` is the scatter of x.

        Each line is taken as straight about its middle, and each base stands for those between it and the next ones.
        """
        x, wobble = (np.atleast_1d(np.asarray(each, dtype=float))[:, None] for each in (x, dose_ln_sd))
        v = self.covariance
        variance = v[:, 0, 0] + x * (2 * v[:, 0, 1] + x * v[:, 1, 1])
        if wobble.any():
            variance = variance + (self.mean[:, 1] ** 2 + v[:, 1, 1]) * wobble**2
        mean, share = joined(self.mean[:, 0] + x * self.mean[:, 1], self.ln_base, self.join)
        leans = 1 + share * (self.lean[:, 0] + x * self.lean[:, 1] - 1)
        return mean, np.sqrt(np.maximum(share**2 * variance + leans**2 * self.near, 1e-18))

    def starch(self, ln_value: ArrayLike) -> FloatArray:
        """ln of the starch part (..., k) that makes a viscosity; -inf where the base alone has it."""
        away = self.join * (np.asarray(ln_value, dtype=float)[..., None] - self.ln_base)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(away > 0, self.ln_base + np.log(np.expm1(np.maximum(away, 0.0))) / self.join, -np.inf)

    def below(self, ln_value: ArrayLike, lines: tuple[FloatArray, FloatArray], single: bool = False) -> FloatArray:
        """Chance that the average pot, or the next single one, is thinner than exp(``ln_value``) (..., p), for ``lines`` of (p, k)."""
        sd = np.sqrt(lines[1] ** 2 + self.noise * single + self.shared)
        return np.asarray(ndtr((np.asarray(ln_value, dtype=float)[..., None] - lines[0]) / sd) @ self.weight)

    def quantiles(self, x: ArrayLike, chances: Sequence[float], single: bool = False) -> FloatArray:
        """Quantiles of ln viscosity of the average pot, or of the next single one, (len(chances), p)."""
        mean, sd = self.lines(x)
        sd = np.sqrt(sd**2 + self.noise * single + self.shared)
        middle = mean @ self.weight
        spread = np.sqrt((sd**2 + (mean - middle[:, None]) ** 2) @ self.weight)
        wanted = ndtri(np.asarray(chances, dtype=float))[:, None]
        at, low, high = middle + wanted * spread, middle - FAR * spread, middle + FAR * spread
        for _ in range(ROUNDS):
            # Newton's step in probits, in which the chance is nearly straight; halfway to the bound where it leads too far
            z = (at[..., None] - mean) / sd
            found = ndtri(np.clip(ndtr(z) @ self.weight, 1e-12, 1 - 1e-12))
            away = wanted - found
            if np.all(np.abs(away) < NEAR):
                break
            low, high = np.where(away > 0, at, low), np.where(away > 0, high, at)
            density = (np.exp(-(z**2) / 2) / sd) @ self.weight
            step = at + away * np.exp(-(found**2) / 2) / np.maximum(density, 1e-9)
            at = np.where((step > low) & (step < high), step, (low + high) / 2)
        return np.asarray(at)

    def reaching(self, ln_target: float, chances: Sequence[float], scan: FloatArray) -> FloatArray:
        """Quantiles of the x at which the average pot reaches the target; -inf below the increasing ``scan``, inf above it."""

        def thick(x: FloatArray) -> FloatArray:
            chance = self.below(np.full(x.shape, ln_target), self.lines(x))
            return np.asarray(-ndtri(np.clip(chance, 1e-16, 1 - 1e-16)))

        z, wanted = np.maximum.accumulate(thick(scan)), ndtri(np.asarray(chances, dtype=float))
        at = np.clip(np.searchsorted(z, wanted), 1, scan.size - 1)
        (low, z_low), (high, z_high) = ((scan[each], z[each]) for each in (at - 1, at))
        for _ in range(5):  # the cell is small: a few steps of regula falsi, straight in probits
            share = np.clip((wanted - z_low) / np.maximum(z_high - z_low, 1e-12), 0.0, 1.0)
            x = low + share * (high - low)
            z_x = thick(x)
            under = z_x < wanted
            low, z_low = np.where(under, x, low), np.where(under, z_x, z_low)
            high, z_high = np.where(under, high, x), np.where(under, z_high, z_x)
        return np.where(z[0] >= wanted, -np.inf, np.where(z[-1] < wanted, np.inf, x))

    def moments(self, x: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Of ln viscosity at each x (p,): covariance with that at x[0], variance, and pot-to-pot variance."""
        value, share = joined(self.mean[:, 0] + x[:, None] * self.mean[:, 1], self.ln_base, self.join)
        away = value - (value @ self.weight)[:, None]
        rows = np.stack([share, share * x[:, None]], axis=-1)  # slopes of ln viscosity in (a, b)
        turned = np.einsum("pki,kij->pkj", rows, self.covariance)
        covariance = (np.sum(turned * rows[0], axis=-1) + away * away[0]) @ self.weight
        variance = (np.sum(turned * rows, axis=-1) + away**2) @ self.weight
        return covariance, variance, np.full(len(x), float(self.noise @ self.weight))

    def summary(self) -> tuple[FloatArray, FloatArray]:
        """Mean and covariance of (a, b) over all lines."""
        return pooled(self.weight, self.mean, self.covariance)

    def bases(self, chances: ArrayLike) -> FloatArray:
        """Quantiles of the base [Pa s]."""
        order = np.argsort(self.ln_base)
        return np.asarray(np.exp(np.interp(np.asarray(chances), np.cumsum(self.weight[order]), self.ln_base[order])))


def pooled(weight: FloatArray, mean: FloatArray, covariance: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean (f,) and covariance (f, f) of a mixture of normal densities, (k,), (k, f) and (k, f, f)."""
    middle = weight @ mean
    away = mean - middle
    return middle, np.einsum("k,kij->ij", weight, covariance + away[:, :, None] * away[:, None])


def interpolated(f: Callable[[FloatArray], FloatArray], x: FloatArray) -> FloatArray:
    """Evaluate rows of f at x through the polynomial that meets f at Chebyshev's nodes."""
    middle, half = (x.min() + x.max()) / 2, (x.max() - x.min()) / 2
    terms = chebyshev.chebinterpolate(lambda at: f(middle + half * at).T, NODES - 1)  # type: ignore[type-var]  # numpy types the function for one number a node, and takes rows too
    return np.asarray(chebyshev.chebval((x - middle) / half, terms))
