"""Least squares in closed form: a few observations, their noise pooled with what was known of it beforehand.

The model is y = X beta + e, e ~ N(0, s^2); coefficients spread about what was found as Student's t (Gelman et al., Bayesian Data Analysis,
chapter 14, memory).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtr, stdtrit

from spoonline.measures import BatchError, Sayings

FloatArray = NDArray[np.float64]
said = Sayings("said.csv", "", BatchError)


@dataclass(frozen=True, eq=False)
class Line:
    """A regression after the data: ``mean`` (k,) of the coefficients, ``shape`` (k, k) their covariance over the noise variance.

    ``noise_df`` counts the degrees of freedom of ``noise_variance``.
    """

    mean: FloatArray
    shape: FloatArray
    noise_variance: float
    noise_df: float

    def at(self, design: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Mean and relative variance of the regression at rows ``design``, shape (p, k); both (p,)."""
        rows = np.asarray(design, dtype=float)
        return rows @ self.mean, np.sum((rows @ self.shape) * rows, axis=-1)

    def average(self, design: ArrayLike, single: float = 0.0) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Best, low and high (90 %) of the average observation at each row of ``design``; of the next ``single`` one with 1."""
        mean, q = self.at(design)
        half = stdtrit(self.noise_df, 0.95) * np.sqrt(self.noise_variance * (q + single))
        return mean, mean - half, mean + half

    def chance_between(self, low: ArrayLike, high: ArrayLike, design: ArrayLike) -> FloatArray:
        """Probability that the next single observation at each row lies between ``low`` and ``high``."""
        mean, q = self.at(design)
        sd = np.sqrt(self.noise_variance * (1 + q))
        above, below = (stdtr(self.noise_df, (np.asarray(y) - mean) / sd) for y in (high, low))
        return np.asarray(above - below)


def fit_line(design: ArrayLike, y: ArrayLike, noise_sd: float | None = None, noise_df: float = 4.0) -> Line:
    """Fit a regression by least squares; ``design`` has one row an observation.

    ``noise_sd`` is what was known of the noise beforehand, worth ``noise_df`` degrees of freedom. A BatchError says that nothing shows it.

    Examples
    --------
    >>> x = np.array([0.0, 1.0, 2.0, 3.0])
    >>> np.round(fit_line(np.column_stack([x**0, x]), [1.0, 3.1, 4.9, 7.0]).mean, 2)
    array([1.03, 1.98])
    """
    rows, y = np.asarray(design, dtype=float), np.asarray(y, dtype=float)
    known, free = 0.0 if noise_sd is None else noise_df, y.size - rows.shape[1]
    said.refuse(free + known <= 0, "nothing shows the spread", pots=y.size)
    shape = np.linalg.inv(rows.T @ rows)
    mean = shape @ (rows.T @ y)
    # sums of squares from residuals, never as differences of large sums
    squares = float(np.sum((y - rows @ mean) ** 2)) + known * (noise_sd or 0.0) ** 2
    return Line(mean, shape, squares / (free + known), free + known)


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

    limit = float(stdtrit(df, 1 - alpha / 2))
    # the other tail is far off where a test shows much
    return float(brentq(lambda shift: float(nct.sf(limit, df, shift)) - found, 0.0, 3 * limit + 5))
