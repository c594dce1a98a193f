"""Bayesian regression in closed form: a few observations, a prior on every coefficient and on the noise.

The model is y = X beta + e, e ~ N(0, s^2 / w), with beta ~ N(prior_mean, prior_precision^-1) and s^2 ~
scaled-inverse-chi2. The normal-inverse-gamma algebra is that of Gelman et al., Bayesian Data Analysis,
chapters 3 and 14 (memory); a flat prior gives ordinary least squares and, for the place where a line meets a
target, Fieller's limits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln, ndtr, ndtri, stdtr, stdtrit

__all__ = ["Line", "expected_approach", "fit_line", "line_design"]

FloatArray = NDArray[np.float64]


def line_design(x: ArrayLike) -> FloatArray:
    """Return the two columns (1, x) of a straight line, shape (..., 2)."""
    x = np.asarray(x, dtype=float)
    return np.stack([np.ones_like(x), x], axis=-1)


@dataclass(frozen=True, eq=False)
class Line:
    """What is known of a regression after the data: one fit, or a stack of fits along leading axes.

    Attributes
    ----------
    mean : ndarray, shape (..., k)
        Posterior mean of the coefficients.
    shape : ndarray, shape (..., k, k)
        Posterior covariance divided by the noise variance.
    noise_variance : ndarray, shape (...)
        Estimate of s^2.
    noise_df : float
        Degrees of freedom of that estimate; ``inf`` where the noise was known.
    log_evidence : ndarray, shape (...)
        ln p(y); NaN under a flat prior, which has none.
    """

    mean: FloatArray
    shape: FloatArray
    noise_variance: FloatArray
    noise_df: float
    log_evidence: FloatArray

    @property
    def covariance(self) -> FloatArray:
        """Covariance of the coefficients in their own units; they spread about ``mean`` as Student's t."""
        return self.noise_variance[..., None, None] * self.shape

    def at(self, design: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Mean and relative variance q of the regression at rows ``design``, shape (p, k); both (..., p)."""
        rows = np.asarray(design, dtype=float)
        return self.mean @ rows.T, np.sum((rows @ self.shape) * rows, axis=-1)

    def average(self, design: ArrayLike, level: float = 0.90) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Best, low and high of the regression itself (the average observation) at each row of ``design``."""
        return self._range(design, level, 0.0)

    def next_one(self, design: ArrayLike, level: float = 0.90) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Best, low and high of the next single observation at each row of ``design``."""
        return self._range(design, level, 1.0)

    def _range(self, design: ArrayLike, level: float, extra: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        mean, q = self.at(design)
        half = student_quantile(self.noise_df, (1 + level) / 2) * np.sqrt(self.noise_variance[..., None] * (q + extra))
        return mean, mean - half, mean + half

    def chance_between(self, low: ArrayLike, high: ArrayLike, design: ArrayLike) -> FloatArray:
        """Probability that the next single observation at each row lies between ``low`` and ``high``."""
        mean, q = self.at(design)
        sd = np.sqrt(self.noise_variance[..., None] * (1 + q))
        above, below = (student_cdf(self.noise_df, (np.asarray(y) - mean) / sd) for y in (high, low))
        return np.asarray(above - below)

    def meets(self, target: float, level: float = 0.90, readings: float = np.inf) -> tuple[float, float, float]:
        """Where a single straight line (1, x) reaches ``target``: best, low, high of x.

        The ends are the roots of one quadratic: the x whose range of the average just touches the target.
        Under a flat prior they are Fieller's limits (E. C. Fieller, J. R. Stat. Soc. B 16, 1954, 175).

        Parameters
        ----------
        target : float
            The level of y to reach, or the mean of ``readings`` new observations whose x is sought.
        level : float, optional
            Share of the range.
        readings : float, optional
            How many observations ``target`` is the mean of; infinite for a level that is exact.

        Returns
        -------
        tuple of float
            (best, low, high); low and high are -inf and inf where the slope is not established at this level.
        """
        (a, b), v = self.mean, self.covariance
        k = student_quantile(self.noise_df, (1 + level) / 2) ** 2
        best = (target - a) / b
        lead = b * b - k * v[1, 1]
        middle = 2 * ((a - target) * b - k * v[0, 1])
        rest = (a - target) ** 2 - k * (v[0, 0] + self.noise_variance / readings)
        square = middle**2 - 4 * lead * rest
        if lead <= 0 or square < 0:
            return float(best), -np.inf, np.inf
        # the form without cancellation: one root by the usual formula, the other from the product of the
        # roots
        stem = -(middle + np.copysign(np.sqrt(square), middle)) / 2
        ends = sorted((float(stem / lead), float(rest / stem)))
        return float(best), ends[0], ends[1]

    def variance_cut(self, new: ArrayLike, aim: ArrayLike) -> FloatArray:
        """Share (0 to 1) of the variance at row ``aim`` that one observation at a row of ``new`` removes."""
        rows, star = np.asarray(new, dtype=float), np.asarray(aim, dtype=float)
        _, q_new = self.at(rows)
        across = rows @ self.shape @ star
        return np.asarray(across**2 / ((1 + q_new) * (star @ self.shape @ star)))


def fit_line(
    design: ArrayLike,
    y: ArrayLike,
    prior_mean: ArrayLike | None = None,
    prior_precision: ArrayLike | None = None,
    noise_sd: ArrayLike = 0.0,
    noise_df: float | None = None,
    weights: ArrayLike = 1.0,
    passes: int = 1,
) -> Line:
    """Fit a regression with a prior, in closed form.

    Parameters
    ----------
    design : array_like, shape (n, k) or (..., n, k)
        One row an observation; n may be 0.
    y : array_like, shape (n,) or (..., n)
        Observations; leading axes are separate fits that share the work.
    prior_mean : array_like, shape (k,) or (..., k), optional
        Prior means of the coefficients; zero if missing.
    prior_precision : array_like, shape (k, k), optional
        Inverse of the prior covariance in the coefficients' own units; rows of zeros are flat. Missing: flat
        throughout.
    noise_sd : array_like, optional
        Prior guess s0 of the noise, or the noise itself where ``noise_df`` is infinite.
    noise_df : float, optional
        How many observations that guess is worth; ``inf`` = known. Missing: -k, which with a flat prior is
        least squares.
    weights : array_like, shape (n,) or (..., n), optional
        The variance of observation i is s^2 / weight i.
    passes : int, optional
        1: the prior covariance scales with the noise found ("pure" conjugate). 3: it stays as given in its
        own units.

    Returns
    -------
    Line

    Examples
    --------
    Three test batches, thickness in mPa s against dose in g/L, both as logs:

    >>> import numpy as np
    >>> x, y = np.log(np.array([20, 30, 40]) / 30), np.log([120, 400, 900])
    >>> line = fit_line(line_design(x), y, [np.log(300), 2.5], np.diag([0.7**-2, 0.8**-2]), 0.15, 4)
    >>> np.round(line.mean, 4)
    array([5.9686, 2.8572])
    >>> np.round(30 * np.exp(line.meets(np.log(500))), 2)
    array([32.7 , 31.21, 34.46])
    """
    rows, y = np.asarray(design, dtype=float), np.asarray(y, dtype=float)
    n, k = rows.shape[-2:]
    w = np.broadcast_to(np.asarray(weights, dtype=float), np.broadcast_shapes(np.shape(weights), y.shape))
    start = np.zeros(k) if prior_mean is None else np.asarray(prior_mean, dtype=float)
    precision = np.zeros((k, k)) if prior_precision is None else np.asarray(prior_precision, dtype=float)
    df0 = float(-k if noise_df is None else noise_df)
    known = np.isinf(df0)
    s0_2 = np.asarray(noise_sd, dtype=float) ** 2
    turned = np.swapaxes(rows, -1, -2)
    weighted = turned * w[..., None, :]
    gram = weighted @ rows
    s2: FloatArray = s0_2
    for _ in range(max(1, passes)):
        held = precision * s2[..., None, None]
        full = gram + held
        shape = np.linalg.inv(full)
        pull = np.squeeze(weighted @ y[..., None], -1) + np.squeeze(held @ start[..., None], -1)
        mean = np.squeeze(shape @ pull[..., None], -1)
        # sums of squares from residuals, never as differences of large sums
        left = y - np.squeeze(rows @ mean[..., None], -1)
        away = mean - start
        quad = np.sum(w * left**2, axis=-1) + np.sum(away * np.squeeze(held @ away[..., None], -1), axis=-1)
        s2 = np.broadcast_to(s0_2, quad.shape) if known else (max(df0, 0.0) * s0_2 + quad) / (df0 + n)
    proper = prior_precision is not None and (known or df0 > 0) and np.linalg.slogdet(precision)[0] > 0
    log_evidence = np.full(np.shape(quad), np.nan)
    if proper:
        with np.errstate(divide="ignore"):
            spread = np.linalg.slogdet(held)[1] - np.linalg.slogdet(full)[1] + np.sum(np.log(w), axis=-1)
        if known:
            log_evidence = 0.5 * (spread - n * np.log(2 * np.pi * s0_2) - quad / s0_2)
        else:
            df = df0 + n
            log_evidence = (
                0.5 * (spread - n * np.log(np.pi) + df0 * np.log(df0 * s0_2) - df * np.log(df * s2))
                + gammaln(df / 2)
                - gammaln(df0 / 2)
            )
    return Line(mean, shape, np.asarray(s2), df0 if known else df0 + n, np.asarray(log_evidence))


def student_cdf(df: float, z: Any) -> Any:
    """Return Student's distribution function; the normal one for infinite degrees of freedom."""
    return ndtr(z) if np.isinf(df) else stdtr(df, z)


def student_quantile(df: float, p: float) -> float:
    """Return the quantile of Student's distribution; the normal one for infinite degrees of freedom."""
    return float(ndtri(p) if np.isinf(df) else stdtrit(df, p))


def expected_approach(target: float, mean: float, sd: float, nearest: float) -> float:
    """Return by how much the next observation is expected to come nearer a target than the nearest so far.

    The expected improvement toward a target value (closed form derived from the normal density), in the unit
    of ``mean``.

    Parameters
    ----------
    target, mean, sd : float
        The target, and the mean and standard deviation of the next observation.
    nearest : float
        Smallest distance from the target so far.

    Examples
    --------
    >>> round(expected_approach(6.2, 6.0, 0.3, 0.15), 10)
    0.0236835472
    """

    def bell(z: float) -> float:
        return float(np.exp(-z * z / 2) / np.sqrt(2 * np.pi))

    middle, low, high = (target - mean) / sd, (target - nearest - mean) / sd, (target + nearest - mean) / sd
    below = (nearest - target + mean) * (ndtr(middle) - ndtr(low))
    above = (nearest + target - mean) * (ndtr(high) - ndtr(middle))
    return float(below + above + sd * (bell(low) + bell(high) - 2 * bell(middle)))
