"""Bayesian regression in closed form: a few observations, a prior on every coefficient and on the noise.

The model is y = X beta + e, e ~ N(0, s^2), with beta ~ N(prior_mean, prior_precision^-1) and s^2 ~ scaled-inverse-chi2. The
normal-inverse-gamma algebra is that of Gelman et al., Bayesian Data Analysis, chapters 3 and 14 (memory); a flat prior gives
ordinary least squares and, for the place where a line meets a target, Fieller's limits.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri, stdtr, stdtrit

FloatArray = NDArray[np.float64]


def line_design(x: ArrayLike) -> FloatArray:
    """Return the two columns (1, x) of a straight line, shape (..., 2)."""
    x = np.asarray(x, dtype=float)
    return np.stack([np.ones_like(x), x], axis=-1)


@dataclass(frozen=True, eq=False)
class Line:
    """A regression after the data: ``mean`` (k,) of the coefficients, ``shape`` (k, k) their covariance over the noise variance.

    ``noise_df`` counts the degrees of freedom of ``noise_variance``; it is ``inf`` where the noise was known.
    """

    mean: FloatArray
    shape: FloatArray
    noise_variance: float
    noise_df: float

    @property
    def covariance(self) -> FloatArray:
        """Covariance of the coefficients in their own units; they spread about ``mean`` as Student's t."""
        return self.noise_variance * self.shape

    def at(self, design: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Mean and relative variance of the regression at rows ``design``, shape (p, k); both (p,)."""
        rows = np.asarray(design, dtype=float)
        return rows @ self.mean, np.sum((rows @ self.shape) * rows, axis=-1)

    def average(self, design: ArrayLike, level: float = 0.90) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Best, low and high of the regression itself (the average observation) at each row of ``design``."""
        mean, q = self.at(design)
        half = student_quantile(self.noise_df, (1 + level) / 2) * np.sqrt(self.noise_variance * q)
        return mean, mean - half, mean + half

    def chance_between(self, low: ArrayLike, high: ArrayLike, design: ArrayLike) -> FloatArray:
        """Probability that the next single observation at each row lies between ``low`` and ``high``."""
        mean, q = self.at(design)
        sd = np.sqrt(self.noise_variance * (1 + q))
        above, below = (student_cdf(self.noise_df, (np.asarray(y) - mean) / sd) for y in (high, low))
        return np.asarray(above - below)

    def meets(self, target: float, level: float = 0.90, readings: float = np.inf) -> tuple[float, float, float]:
        """Where a straight line (1, x) reaches ``target``, or the mean of ``readings`` new observations: best, low, high of x.

        The ends are the x whose range of the average just touches the target; -inf and inf where the slope is not established.
        Under a flat prior they are Fieller's limits (E. C. Fieller, J. R. Stat. Soc. B 16, 1954, 175).
        """
        (a, b), v = self.mean, self.covariance
        k = student_quantile(self.noise_df, (1 + level) / 2) ** 2
        best = float((target - a) / b)
        lead = b * b - k * v[1, 1]
        middle = 2 * ((a - target) * b - k * v[0, 1])
        rest = (a - target) ** 2 - k * (v[0, 0] + self.noise_variance / readings)
        square = middle**2 - 4 * lead * rest
        if lead <= 0 or square < 0:
            return best, -np.inf, np.inf
        # the form without cancellation: one root by the usual formula, the other from the product of the roots
        stem = -(middle + np.copysign(np.sqrt(square), middle)) / 2
        low, high = sorted((float(stem / lead), float(rest / stem)))
        return best, low, high


def fit_line(
    design: ArrayLike,
    y: ArrayLike,
    prior_mean: ArrayLike | None = None,
    prior_precision: ArrayLike | None = None,
    noise_sd: float = 0.0,
    noise_df: float | None = None,
) -> Line:
    """Fit a regression with a prior in the coefficients' own units, in closed form; a flat one, and so least squares, if missing.

    ``design`` has one row an observation. ``noise_sd`` is a guess of the noise that is worth ``noise_df`` observations, or the noise
    itself where that is ``inf``.

    Examples
    --------
    Three test batches, thickness in mPa s against dose in g/L, both as logs:

    >>> import numpy as np
    >>> x, y = np.log(np.array([20, 30, 40]) / 30), np.log([120, 400, 900])
    >>> line = fit_line(line_design(x), y, [np.log(300), 2.5], np.diag([0.7**-2, 0.8**-2]), 0.15, 4)
    >>> np.round(30 * np.exp(line.meets(np.log(500))), 2)
    array([32.7 , 31.21, 34.46])
    """
    rows, y = np.asarray(design, dtype=float), np.asarray(y, dtype=float)
    n, k = rows.shape
    start = np.zeros(k) if prior_mean is None else np.asarray(prior_mean, dtype=float)
    precision = np.zeros((k, k)) if prior_precision is None else np.asarray(prior_precision, dtype=float)
    df0 = float(-k if noise_df is None else noise_df)
    held = precision * noise_sd**2
    shape = np.linalg.inv(rows.T @ rows + held)
    mean = shape @ (rows.T @ y + held @ start)
    if np.isinf(df0):
        return Line(mean, shape, noise_sd**2, df0)
    # sums of squares from residuals, never as differences of large sums
    left, away = y - rows @ mean, mean - start
    squares = max(df0, 0.0) * noise_sd**2 + left @ left + away @ held @ away
    return Line(mean, shape, float(squares / (df0 + n)), df0 + n)


@lru_cache(maxsize=256)
def difference_shown(df: float, alpha: float = 0.05, found: float = 0.8) -> float:
    """Difference, in its standard errors, that a two-sided t test shows in a share ``found`` of cases (noncentral t).

    Examples
    --------
    >>> round(difference_shown(4) * (1 / 3 + 1 / 3) ** 0.5, 3)  # of two groups of three, in standard deviations
    3.071
    """
    from scipy.optimize import brentq
    from scipy.stats import nct

    limit = student_quantile(df, 1 - alpha / 2)
    # the other tail is far off where a test shows much
    return float(brentq(lambda shift: float(nct.sf(limit, df, shift)) - found, 0.0, 3 * limit + 5))


def student_cdf(df: float, z: Any) -> Any:
    """Return Student's distribution function; the normal one for infinite degrees of freedom."""
    return ndtr(z) if np.isinf(df) else stdtr(df, z)


def student_quantile(df: float, p: float) -> float:
    """Return the quantile of Student's distribution; the normal one for infinite degrees of freedom."""
    return float(ndtri(p) if np.isinf(df) else stdtrit(df, p))
