"""Two things changed at once: what each change does, and the surface over both.

Formulas as in Myers, Montgomery and Anderson-Cook, Response Surface Methodology, 2009. Pots of one cooking day are a block.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import fdtrc

from spoonline.effects.two_factor_plan import CORNERS
from spoonline.measures.errors import BatchError, told_as
from spoonline.measures.ranges import Range
from spoonline.regression import Line, fit_line

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Effects:
    """What each change does from low to high, in the unit of the readings given (ln for ratios), as analysis of variance.

    ``names`` are the two factors, their interaction and, with centre pots, the curvature (corners less centre); ``effects`` have
    90 % ranges; ``noise_sd`` is the spread of pots of one recipe.
    """

    names: tuple[str, ...]
    effects: tuple[Range, ...]
    f_ratios: FloatArray
    p_values: FloatArray
    noise_sd: float
    noise_df: float


def fit_effects(
    first: ArrayLike, second: ArrayLike, y: ArrayLike, blocks: Sequence[Hashable] | None = None,
    names: tuple[str, str] = ("A", "B"), noise_sd: float | None = None, noise_df: float = 4.0,
) -> Effects:  # fmt: skip
    """Estimate the effects of two factors from corner pots, and curvature where there are centre pots.

    ``first`` and ``second`` are coded settings (-1, 1, or 0 for both in a centre pot), ``y`` the readings (their ln where ratios
    matter), ``blocks`` the cooking day of each pot. ``noise_sd`` is known of the spread of pots beforehand, worth ``noise_df``
    degrees of freedom. A BatchError says that lengths differ, a corner is missing, or nothing shows the spread of pots.

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
    outer = (u != 0) | (v != 0)
    if set(zip(u[outer], v[outer], strict=True)) != set(CORNERS):
        raise BatchError("Effects need pots at all four corners (-1 or 1 of each), and others only in the centre.")
    extra = ("uv",) if outer.all() else ("uv", "curvature")
    line = fit_line(np.column_stack([*days, *_terms(u, v, extra)]), y, noise_sd, noise_df)
    # a factor's effect runs from -1 to 1, two steps; curvature is one column's own difference
    steps = np.array([2.0, 2.0, 2.0, 1.0])[: 2 + len(extra)]
    labels = (*names, f"{names[0]} with {names[1]}", "curvature")[: steps.size]
    terms = np.eye(line.mean.size)[len(days) :]
    ranges = tuple(Range(*each) for each in (np.array(line.average(terms)) * steps).T.tolist())
    ratios = line.mean[len(days) :] ** 2 / line.at(terms)[1] / line.noise_variance
    p_values = fdtrc(1, line.noise_df, ratios)
    return Effects(labels, ranges, ratios, p_values, line.noise_variance**0.5, line.noise_df)


@dataclass(frozen=True, eq=False)
class Surface:
    """A surface over two coded factors: level, slopes, interaction and curvature.

    ``names`` are of the coefficients of ``line``: level of the first block, other blocks less the first, u, v, and any of uv, u^2, v^2.
    Its noise is pooled with what was known beforehand; ``lack_of_fit`` is an F ratio and its p value, None without repeated pots.
    """

    names: tuple[str, ...]
    line: Line
    lack_of_fit: tuple[float, float] | None

    @property
    def stationary(self) -> tuple[float, float]:
        """Coded point where the surface is level (the stationary point)."""
        at = self.names.index("u")
        nowhere = BatchError("This surface is level nowhere: it only slopes. Read it by its contours.")
        with told_as(nowhere, np.linalg.LinAlgError):
            u, v = np.linalg.solve(-2 * self._quadratic(), self.line.mean[at : at + 2])
        return float(u), float(v)

    @property
    def kind(self) -> tuple[str, bool]:
        """What that point is (maximum, minimum or saddle), and whether the 90 % ranges of both eigenvalues leave 0 out.

        The range of an eigenvalue is that of the quadratic part along its own axis, which is held as found
        (Bisgaard and Ankenman 1996, memory).
        """
        values, (a, b) = np.linalg.eigh(self._quadratic())
        rows = np.zeros((2, self.line.mean.size))
        for name, column in {"uv": a * b, "u^2": a * a, "v^2": b * b}.items():
            if name in self.names:
                rows[:, self.names.index(name)] = column
        _, low, high = self.line.average(rows)
        name = "saddle" if values[0] < 0 < values[1] else "maximum" if values[1] <= 0 else "minimum"
        return name, bool(np.all((low > 0) | (high < 0)))

    def _quadratic(self) -> FloatArray:
        extra = dict(zip(self.names, self.line.mean, strict=True))
        if "uv" not in extra:
            raise BatchError("A first-order surface has no curvature; cook star points and fit second order.")
        cross = extra["uv"] / 2
        return np.array([[extra.get("u^2", 0.0), cross], [cross, extra.get("v^2", 0.0)]])

    def _rows(self, u: ArrayLike, v: ArrayLike, block: int | None) -> tuple[FloatArray, tuple[int, ...]]:
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        at = self.names.index("u")
        days = [np.full(u.size, 1 / at if block is None else float(i == block)) for i in range(1, at)]
        terms = _terms(u.ravel(), v.ravel(), self.names[at + 2 :])
        return np.column_stack([np.ones(u.size), *days, *terms]), u.shape

    def average(self, u: ArrayLike, v: ArrayLike, block: int | None = 0) -> Range:
        """Reading of the average pot over coded points, with its 90 % range: three arrays of their shape.

        ``block`` is the day whose level is used, the first is 0; None: the mean of the days.
        """
        rows, shape = self._rows(u, v, block)
        return Range(*(each.reshape(shape) for each in self.line.average(rows)))  # type: ignore[arg-type]  # a Range of arrays, one a grid point

    def chance(self, u: ArrayLike, v: ArrayLike, low: float, high: float, block: int | None = 0) -> FloatArray:
        """Chance that the next pot's reading lies between ``low`` and ``high`` (ln where readings were), over coded points."""
        rows, shape = self._rows(u, v, block)
        return self.line.chance_between(low, high, rows).reshape(shape)


def fit_surface(
    first: ArrayLike, second: ArrayLike, y: ArrayLike, blocks: Sequence[Hashable] | None = None, second_order: bool = True,
    noise_sd: float | None = None, noise_df: float = 4.0, interaction: bool = False,
) -> Surface:  # fmt: skip
    """Fit a first- or second-order surface over two coded factors, with cooking days as blocks; arguments as in :func:`fit_effects`.

    The first day met gives the level. ``second_order`` adds interaction and curvature and needs three settings of each factor;
    ``interaction`` alone twists a first-order plane. A BatchError says that the pots cannot show so many terms.

    Examples
    --------
    >>> u, v = np.array([-1, 1, -1, 1, 0, 0]), np.array([-1, -1, 1, 1, 0, 0])
    >>> flat = fit_surface(u, v, [1, 3, 2, 4, 2.4, 2.6], second_order=False)
    >>> [float(round(each, 3)) for each in flat.line.mean]
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
    line = fit_line(design, y, noise_sd, noise_df)
    names = ("level", *(f"day {i + 1}" for i in range(1, len(days))), "u", "v", *extra)
    return Surface(names, line, _lack_of_fit(design, y, float(np.sum((y - design @ line.mean) ** 2))))


def _terms(u: FloatArray, v: FloatArray, extra: Sequence[str]) -> list[FloatArray]:
    outer = ((u != 0) | (v != 0)).astype(float)
    more = {"uv": u * v, "u^2": u * u, "v^2": v * v, "curvature": outer}
    return [u, v, *(more[name] for name in extra)]


def _lack_of_fit(design: FloatArray, y: FloatArray, residual_ss: float) -> tuple[float, float] | None:
    """Compare what the surface leaves with what repeated pots of one day differ by."""
    _, group, counts = np.unique(design.round(9), axis=0, return_inverse=True, return_counts=True)
    group = group.ravel()
    pure = float(np.sum((y - (np.bincount(group, y) / counts)[group]) ** 2))
    df_pure, df_lack = y.size - counts.size, counts.size - design.shape[1]
    if df_pure < 1 or df_lack < 1 or pure <= 0:
        return None
    ratio = (residual_ss - pure) / df_lack / (pure / df_pure)
    return ratio, float(fdtrc(df_lack, df_pure, max(ratio, 0.0)))


def _checked(
    first: ArrayLike, second: ArrayLike, y: ArrayLike, blocks: Sequence[Hashable] | None
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return coded settings, readings, and one row of zeros and ones a block (the first all ones)."""
    u, v, y = (np.atleast_1d(np.asarray(each, dtype=float)) for each in (first, second, y))
    if not u.shape == v.shape == y.shape == (y.size,) or (blocks is not None and len(blocks) != y.size):
        raise BatchError("Settings, readings and days differ in length; give one of each for every pot.")
    if not np.isfinite([u, v, y]).all():
        raise BatchError("A setting or a reading is missing or no number; leave that pot out of all lists.")
    blocks = blocks or [0] * y.size
    days = list(dict.fromkeys(blocks))
    rows = [np.ones(y.size), *(np.array([float(each == day) for each in blocks]) for day in days[1:])]
    return u, v, y, np.array(rows)
