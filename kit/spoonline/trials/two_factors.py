"""Two things changed at once: what each change does, and the surface over both.

Formulas as in Myers, Montgomery and Anderson-Cook, Response Surface Methodology, 2009. Pots of one cooking
day are a block.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import fdtrc

from spoonline.measures.errors import BatchError
from spoonline.measures.ranges import Range
from spoonline.trials.line import Line, fit_line, student_cdf, student_quantile
from spoonline.trials.two_factor_plan import CORNERS

__all__ = ["Effects", "Surface", "fit_effects", "fit_surface"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Effects:
    """What each change does from low to high, with 90 % ranges, in the unit of the readings given (ln for ratios).

    Attributes
    ----------
    names : tuple of str
        Two factors, their interaction and, with centre pots, the curvature (corners less centre).
    effects : tuple of Range
        One for each name.
    sums_of_squares, f_ratios, p_values : ndarray
        The same, as analysis of variance.
    noise_sd, noise_df : float
        Spread of pots of one recipe, and its degrees of freedom.
    """

    names: tuple[str, ...]
    effects: tuple[Range, ...]
    sums_of_squares: FloatArray
    f_ratios: FloatArray
    p_values: FloatArray
    noise_sd: float
    noise_df: float

    @property
    def text(self) -> str:
        """One line for each effect."""
        return "\n".join(
            f"{name}: {effect.best:+.3g}, 90 % range {effect.low:+.3g} to {effect.high:+.3g}"
            + ("" if effect.low * effect.high > 0 else " (may be nothing)")
            for name, effect in zip(self.names, self.effects, strict=True)
        )


def fit_effects(
    first: ArrayLike,
    second: ArrayLike,
    y: ArrayLike,
    blocks: Sequence[Hashable] | None = None,
    names: tuple[str, str] = ("A", "B"),
    noise_sd: float | None = None,
    noise_df: float = 4.0,
) -> Effects:
    """Estimate the effects of two factors from corner pots, and curvature where there are centre pots.

    Parameters
    ----------
    first, second : array_like, shape (n,)
        Coded settings: -1, 1, or 0 for both in a centre pot.
    y : array_like, shape (n,)
        Readings; their ln where ratios matter.
    blocks : sequence, optional
        Cooking day of each pot.
    names : tuple of str, optional
        Of the two factors.
    noise_sd, noise_df : float, optional
        What is known of the spread of pots beforehand, and how many degrees of freedom that is worth.

    Returns
    -------
    Effects

    Raises
    ------
    BatchError
        If lengths differ, a corner is missing, or nothing shows the spread of pots.

    Notes
    -----
    Effect A = mean at high A less mean at low A; SS = n (effect)^2 for n pots a corner (2^2 design).

    Examples
    --------
    >>> u, v = np.array([-1, 1, -1, 1] * 2), np.array([-1, -1, 1, 1] * 2)
    >>> found = fit_effects(u, v, [10, 14, 20, 24.4, 10.2, 14.2, 20.2, 24.2])
    >>> round(found.effects[0].best, 3)
    4.1
    """
    u, v, y, days = _checked(first, second, y, blocks)
    centre = (u == 0) & (v == 0)
    seen = {(a, b) for a, b in zip(u[~centre], v[~centre], strict=True)}
    if not seen <= set(CORNERS) or len(seen) < 4:
        raise BatchError("Effects need pots at all four corners (-1 or 1 of each), and others only in the centre.")
    columns = [u, v, u * v, *([(~centre).astype(float)] if centre.any() else [])]
    labels = (*names, f"{names[0]} with {names[1]}", *(["curvature"] if centre.any() else []))
    line, s2, df = _flat(np.column_stack([*days, *columns]), y, noise_sd, noise_df)
    at = np.arange(days.shape[0], days.shape[0] + len(columns))
    # a factor's effect runs from -1 to 1, two steps; curvature is one column's own difference
    steps = np.array([2.0, 2.0, 2.0, *([1.0] if centre.any() else [])])
    best, unit = steps * line.mean[at], np.diag(line.shape)[at]
    half = student_quantile(df, 0.95) * steps * np.sqrt(s2 * unit)
    squares = line.mean[at] ** 2 / unit
    ranges = tuple(Range(*(float(x) for x in each)) for each in zip(best, best - half, best + half, strict=True))
    return Effects(labels, ranges, squares, squares / s2, fdtrc(1, df, squares / s2), float(np.sqrt(s2)), df)


@dataclass(frozen=True, eq=False)
class Surface:
    """A surface over two coded factors: level, slopes, interaction and curvature.

    Attributes
    ----------
    names : tuple of str
        Of the coefficients.
    coefficients, standard_errors : ndarray
        Level of the first block, other blocks less the first, u, v, and what ``names`` says beyond (uv, u^2,
        v^2).
    r_squared, residual_ss, noise_variance, noise_df : float
        Fit (0 where all readings are equal); the noise with what was known beforehand.
    lack_of_fit : tuple of float or None
        F ratio and its p value; None without repeated pots.
    """

    names: tuple[str, ...]
    coefficients: FloatArray
    standard_errors: FloatArray
    r_squared: float
    residual_ss: float
    noise_variance: float
    noise_df: float
    lack_of_fit: tuple[float, float] | None
    line: Line

    @property
    def curvature(self) -> FloatArray:
        """Eigenvalues of the quadratic part, largest first: both negative is a top, both positive a hollow."""
        return np.asarray(np.linalg.eigvalsh(self._quadratic())[::-1], dtype=float)

    @property
    def stationary(self) -> tuple[float, float]:
        """Coded place where the surface is level."""
        at = self.names.index("u")
        try:
            u, v = np.linalg.solve(-2 * self._quadratic(), self.coefficients[at : at + 2])
        except np.linalg.LinAlgError as err:
            raise BatchError("This surface is level nowhere: it only slopes. Read it by its contours.") from err
        return float(u), float(v)

    @property
    def kind(self) -> tuple[str, bool]:
        """What that place is (maximum, minimum or saddle), and whether the 90 % ranges of both eigenvalues leave 0 out.

        The range of an eigenvalue is that of the quadratic part along its own axis, which is held as found
        (Bisgaard and Ankenman 1996, memory).
        """
        values, (a, b) = np.linalg.eigh(self._quadratic())
        rows = np.zeros((2, self.coefficients.size))
        for name, column in {"uv": a * b, "u^2": a * a, "v^2": b * b}.items():
            if name in self.names:
                rows[:, self.names.index(name)] = column
        half = student_quantile(self.noise_df, 0.95) * np.sqrt(self.noise_variance * self.line.at(rows)[1])
        name = "saddle" if values[0] < 0 < values[1] else "maximum" if values[1] <= 0 else "minimum"
        return name, bool(np.all(np.abs(values) > half))

    def _quadratic(self) -> FloatArray:
        extra = dict(zip(self.names, self.coefficients, strict=True))
        if "uv" not in extra:
            raise BatchError("A first-order surface has no curvature; cook star points and fit second order.")
        cross = extra["uv"] / 2
        return np.array([[extra.get("u^2", 0.0), cross], [cross, extra.get("v^2", 0.0)]])

    def _rows(self, u: FloatArray, v: FloatArray, block: int | None) -> FloatArray:
        at = self.names.index("u")
        days = [np.full(u.size, 1 / at if block is None else float(i == block)) for i in range(1, at)]
        return np.column_stack([np.ones(u.size), *days, *_terms(u, v, self.names[at + 2 :])])

    def average(self, u: ArrayLike, v: ArrayLike, block: int | None = 0) -> Range:
        """Reading of the average pot over coded places, with its 90 % range: three arrays of their shape.

        Parameters
        ----------
        u, v : array_like
            Coded places, broadcast against each other.
        block : int or None, optional
            Day whose level is used, the first is 0; None: the mean of the days.
        """
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        mean, q = self.line.at(self._rows(u.ravel(), v.ravel(), block))
        half = student_quantile(self.noise_df, 0.95) * np.sqrt(self.noise_variance * q)
        return Range(*(each.reshape(u.shape) for each in (mean, mean - half, mean + half)))  # type: ignore[arg-type]

    def chance(self, u: ArrayLike, v: ArrayLike, low: float, high: float, block: int | None = 0) -> FloatArray:
        """Chance that the next pot's reading lies between two values, over coded places.

        Parameters
        ----------
        u, v : array_like
            Coded places, broadcast against each other.
        low, high : float
            Ends of the band, in the unit of the readings (ln where they were).
        block : int or None, optional
            Day whose level is used, the first is 0; None: the mean of the days.
        """
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        mean, q = self.line.at(self._rows(u.ravel(), v.ravel(), block))
        sd = np.sqrt(self.noise_variance * (1 + q))
        above, below = (student_cdf(self.noise_df, (end - mean) / sd) for end in (high, low))
        return np.asarray(above - below).reshape(u.shape)


def fit_surface(
    first: ArrayLike,
    second: ArrayLike,
    y: ArrayLike,
    blocks: Sequence[Hashable] | None = None,
    second_order: bool = True,
    noise_sd: float | None = None,
    noise_df: float = 4.0,
    interaction: bool = False,
) -> Surface:
    """Fit a first- or second-order surface over two coded factors, with cooking days as blocks.

    Parameters
    ----------
    first, second, y : array_like, shape (n,)
        Coded settings and readings.
    blocks : sequence, optional
        Cooking day of each pot; the first one met gives the level.
    second_order : bool, optional
        With interaction and curvature; needs three settings of each factor.
    noise_sd, noise_df : float, optional
        What is known of the spread of pots beforehand.
    interaction : bool, optional
        With a first-order fit: let one factor's slope change with the other (a twisted plane).

    Returns
    -------
    Surface

    Raises
    ------
    BatchError
        If lengths differ or the pots cannot show so many terms.

    Examples
    --------
    >>> u, v = np.array([-1, 1, -1, 1, 0, 0]), np.array([-1, -1, 1, 1, 0, 0])
    >>> flat = fit_surface(u, v, [1, 3, 2, 4, 2.4, 2.6], second_order=False)
    >>> [float(round(each, 3)) for each in flat.coefficients]
    [2.5, 1.0, 0.5]
    """
    u, v, y, days = _checked(first, second, y, blocks)
    extra = ("uv", "u^2", "v^2") if second_order else ("uv",) if interaction else ()
    design = np.column_stack([*days, *_terms(u, v, extra)])
    if np.linalg.matrix_rank(design) < design.shape[1]:
        raise BatchError(
            f"{y.size} pots at these settings cannot show {design.shape[1]} terms; curvature needs three settings of each "
            "factor: cook star points, or fit first order."
        )
    line, s2, df = _flat(design, y, noise_sd, noise_df)
    left, whole = (float(np.sum(each**2)) for each in (y - design @ line.mean, y - y.mean()))
    names = ("level", *(f"day {i + 1}" for i in range(1, len(days))), "u", "v", *extra)
    return Surface(
        names, line.mean, np.sqrt(s2 * np.diag(line.shape)), 1 - left / whole if whole > 0 else 0.0, left, s2, df,
        _lack_of_fit(design, y, left), line,
    )  # fmt: skip


def _terms(u: FloatArray, v: FloatArray, extra: Sequence[str]) -> list[FloatArray]:
    more = {"uv": u * v, "u^2": u * u, "v^2": v * v}
    return [u, v, *(more[name] for name in extra)]


def _lack_of_fit(design: FloatArray, y: FloatArray, residual_ss: float) -> tuple[float, float] | None:
    """Compare what the surface leaves with what repeated pots of one day differ by."""
    _, group = np.unique(design.round(9), axis=0, return_inverse=True)
    group = group.ravel()
    counts = np.bincount(group)
    pure = float(np.sum((y - (np.bincount(group, y) / counts)[group]) ** 2))
    df_pure, df_lack = y.size - counts.size, counts.size - design.shape[1]
    if df_pure < 1 or df_lack < 1 or pure <= 0:
        return None
    ratio = (residual_ss - pure) / df_lack / (pure / df_pure)
    return ratio, float(fdtrc(df_lack, df_pure, max(ratio, 0.0)))


def _flat(design: FloatArray, y: FloatArray, noise_sd: float | None, noise_df: float) -> tuple[Line, float, float]:
    """Least squares, with the noise pooled with what was known of it."""
    known = 0.0 if noise_sd is None else noise_df
    free = y.size - design.shape[1]
    if free + known <= 0:
        raise BatchError(
            f"{y.size} pots leave nothing to show how far pots of one recipe differ; repeat some, or give the spread "
            "that is known (noise_sd)."
        )
    # a saturated plan leaves no residual: the coefficients need none, the noise comes from what was known
    line = fit_line(design, y, noise_df=-design.shape[1] if free > 0 else 1.0)
    left = float(np.sum((y - design @ line.mean) ** 2))
    return line, (left + known * (noise_sd or 0.0) ** 2) / (free + known), free + known


def _checked(
    first: ArrayLike, second: ArrayLike, y: ArrayLike, blocks: Sequence[Hashable] | None
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return coded settings, readings, and one row of zeros and ones a block (the first all ones)."""
    u, v, y = (np.atleast_1d(np.asarray(each, dtype=float)) for each in (first, second, y))
    lengths = {u.shape, v.shape, y.shape}
    if len(lengths) > 1 or u.ndim != 1 or (blocks is not None and len(blocks) != y.size):
        raise BatchError("Settings, readings and days differ in length; give one of each for every pot.")
    if not all(np.all(np.isfinite(each)) for each in (u, v, y)):
        raise BatchError("A setting or a reading is missing or no number; leave that pot out of all lists.")
    days = list(dict.fromkeys(blocks)) if blocks is not None else []
    rows = [np.ones(y.size), *(np.array([float(each == day) for each in blocks or ()]) for day in days[1:])]
    return u, v, y, np.array(rows)
