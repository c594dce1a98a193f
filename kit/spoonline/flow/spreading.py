"""How far a puddle has spread: the one curve of stretch against time for each flow index, both ways."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray
from spoonline.flow.thin_film import INDICES, TABLE

# Above this stretch the similarity law with a shifted start of time is exact to 0.1 % for every flow index; below it, the table.
JOIN = 2.0
# Between these and JOIN (ring, trough) the table is a small polynomial on top of that law.
LOWEST = {False: 1.3, True: 1.4}
_NUDGE_DEGREES = [4, 6]
CHUNK = 1 << 15
# Shift of the start of time, by flow index (computed with the solver in thin_film.py; a test compares).
_SHIFT_INDEX = (0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2)
_SHIFT = {
    False: (0.4400, 0.2640, 0.1999, 0.1532, 0.1395, 0.1363, 0.1372, 0.1402, 0.1441, 0.1485, 0.1531, 0.1577),
    True: (2.3180, 1.1300, 0.7330, 0.4600, 0.3690, 0.3295, 0.3106, 0.3015, 0.2977, 0.2969, 0.2978, 0.2999),
}


class Spreading:
    """Constant-volume spreading from a cylinder (ring) or from a lock (trough)."""

    def __init__(self, *, planar: bool) -> None:
        self.planar = planar

    def exponent(self, n: ArrayLike) -> FloatArray:
        """beta in X ~ tau^beta: n/(3n+5) for a ring, n/(2n+3) for a trough.

        Examples
        --------
        >>> float(AXI.exponent(1)), float(PLANAR.exponent(1))
        (0.125, 0.2)
        """
        index = np.asarray(n, dtype=float)
        return np.asarray(index / (2 * index + 3) if self.planar else index / (3 * index + 5))

    def volume_integral(self, n: ArrayLike) -> FloatArray:
        """I1 (trough) or I2 (ring), the shape factor of the volume.

        Examples
        --------
        >>> round(float(AXI.volume_integral(1)), 6), round(float(PLANAR.volume_integral(1)), 6)
        (0.375, 0.841309)
        """
        from scipy.special import beta

        index = np.asarray(n, dtype=float)
        first = (1 if self.planar else 2) / (index + 1)
        return np.asarray(beta(first, 1 + 1 / (index + 2)) / (index + 1))

    def prefactor(self, n: ArrayLike) -> FloatArray:
        """xi of the similarity law; 0.8939 (ring) and 1.4112 (trough) for n = 1 (Huppert 1982).

        Examples
        --------
        >>> round(float(AXI.prefactor(1)), 7), round(float(PLANAR.prefactor(1)), 7)
        (0.8939138, 1.4112448)
        """
        index, exponent = np.asarray(n, dtype=float), self.exponent(n)
        volume = self.volume_integral(n) * (1 if self.planar else 2 * np.pi)
        power = (index + 2) / index
        return np.asarray(((1 / exponent) * ((index + 1) / (index + 2)) ** (1 / index) * volume**-power) ** exponent)

    def stretch_prefactor(self, n: ArrayLike) -> FloatArray:
        """E in X = E tau^beta, late."""
        index = np.asarray(n, dtype=float)
        if self.planar:
            return self.prefactor(n)
        return np.asarray(self.prefactor(n) * np.pi ** ((index + 2) / (3 * index + 5)))

    def time(self, stretch: ArrayLike, n: ArrayLike) -> Any:
        """Dimensionless time tau at which the front reaches X = r/r0 (above 1).

        Examples
        --------
        >>> round(float(AXI.time(1.3, 1.0)), 3), round(float(AXI.time(4.0, 1.0)))
        (0.498, 5184)
        """
        return np.exp(self.ln_time(stretch, n))

    def ln_time(self, stretch: ArrayLike, n: ArrayLike) -> FloatArray:
        """ln tau at which the front reaches X = r/r0 (above 1)."""
        x, index = np.broadcast_arrays(np.asarray(stretch, dtype=float), np.asarray(n, dtype=float))
        return self._ln_time(x, index)

    def _ln_time(self, x: FloatArray, n: FloatArray) -> FloatArray:
        out = self._late(np.log(np.maximum(x, self._low)), n)
        if bool(np.any(x < JOIN)):
            out = out + self._nudge(np.clip(x, self._low, JOIN), n)
        soon = x < self._low
        if bool(np.any(soon)):
            out = np.asarray(out)
            out[soon] = self._early(x[soon], n[soon])
        return out

    def stretch(self, tau: ArrayLike, n: ArrayLike) -> Any:
        """X = r/r0 at dimensionless time tau (above 0); the inverse of :meth:`time`.

        Examples
        --------
        >>> round(float(AXI.stretch(10.0, 1.0)), 4)
        1.8345
        """
        t, index = np.broadcast_arrays(np.asarray(tau, dtype=float), np.asarray(n, dtype=float))
        shifted = np.log(t + _shift(_fits(self.planar)[0], index))
        late = np.exp((shifted - self._plain(np.zeros_like(index), index)) * self.exponent(index))
        soon = np.log(t) < self._late(np.full_like(t, np.log(JOIN)), index)
        if not bool(np.any(soon)):
            return late
        low, high = np.full(t.shape, np.log(1e-4)), np.full(t.shape, np.log(JOIN - 1))
        target = np.log(t)
        for _ in range(60):
            middle = 0.5 * (low + high)
            below = self._ln_time(1 + np.exp(middle), index) < target
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return np.where(soon, 1 + np.exp(0.5 * (low + high)), late)

    @property
    def _low(self) -> float:
        return LOWEST[self.planar]

    def _late(self, ln_x: FloatArray, n: FloatArray) -> FloatArray:
        """ln tau of the shifted similarity law."""
        plain = self._plain(ln_x, n)
        return np.asarray(plain + np.log(1 - _shift(_fits(self.planar)[0], n) * np.exp(-plain)))

    def _plain(self, ln_x: FloatArray, n: FloatArray) -> FloatArray:
        """ln tau of the similarity law, ln(X/E)/beta, from the part of n ln(E)/beta that is smooth down to n = 0."""
        steep = (2 * n + 3) if self.planar else (3 * n + 5)
        return np.asarray((ln_x * steep - _poly(_smooth(self.planar), n)) / n + np.log(n / steep))

    def _nudge(self, x: FloatArray, n: FloatArray) -> FloatArray:
        """What the table adds to the shifted law on ln tau between the lowest stretch and JOIN, where it fades out."""
        rows, way = _fits(self.planar)[1], JOIN - x
        out = _poly(rows[-1], n)
        for row in rows[-2::-1]:
            out = out * way + _poly(row, n)
        return np.asarray(out * way / n)

    def _early(self, x: FloatArray, n: FloatArray) -> FloatArray:
        """ln tau from the table, drawn on to X -> 1 by its early power law and joined to the late law at the lowest stretch."""
        spline, edge, place = _table(self.planar), np.log(0.02), np.log(x - 1)
        top = np.log(self._low - 1)
        inside, scale = np.maximum(place, edge), (n + 1) / n
        value = scale * (spline.ev(inside, n) + (place - inside))
        joined = np.full_like(x, self._low)
        gap = self._late(np.log(joined), n) + self._nudge(joined, n) - scale * spline.ev(np.full_like(x, top), n)
        return np.asarray(value + gap * (inside - edge) / (top - edge))


def _poly(terms: FloatArray, n: FloatArray) -> FloatArray:
    """A polynomial in n - 0.7 by Horner's rule; far quicker than a spline on a million indices."""
    at = n - 0.7
    out = terms[-1] * at + terms[-2]
    for term in terms[-3::-1]:
        out *= at
        out += term
    return np.asarray(out)


def _shift(terms: FloatArray, n: FloatArray) -> FloatArray:
    square = n * n
    return _poly(terms, n) / (square * square)


@functools.cache
def _smooth(planar: bool) -> FloatArray:
    """Polynomial in n for n ln(E)/beta + n ln(beta), good to 1e-11."""
    from numpy.polynomial.chebyshev import Chebyshev
    from numpy.polynomial.polynomial import Polynomial

    curve = Spreading(planar=planar)

    def smooth(n: FloatArray) -> FloatArray:
        beta = curve.exponent(n)
        return np.asarray(n / beta * np.log(curve.stretch_prefactor(n)) + n * np.log(beta))

    near = Chebyshev.interpolate(smooth, 12, domain=[0.15, 1.25])
    return np.asarray(near.convert(kind=Polynomial)(Polynomial([0.7, 1.0])).coef, dtype=float)


@functools.cache
def _fits(planar: bool) -> tuple[FloatArray, FloatArray]:
    """Polynomials in n: n^4 times the shift of time, through its figures, and the rows of the nudge."""
    from numpy.polynomial.polynomial import polyvander, polyvander2d

    index = np.array(_SHIFT_INDEX) - 0.7
    # The shift grows like a power of 1/n, so n^4 times it is the smooth thing to fit.
    weight = np.array(_SHIFT_INDEX)
    terms = polyvander(index, 7) * weight[:, None]
    shift = np.linalg.lstsq(terms, np.array(_SHIFT[planar]) * weight**5, rcond=None)[0]
    rows = _rows(planar)
    rows = rows[rows[:, 1] >= LOWEST[planar]]
    x, n = np.repeat(rows[:, 1], len(INDICES)), np.tile(INDICES, len(rows))
    plain = Spreading(planar=planar)._plain(np.log(x), n)
    off = n * (np.log(rows[:, 2:]).ravel() - plain - np.log(1 - _shift(shift, n) * np.exp(-plain)))
    terms = polyvander2d(JOIN - x, n - 0.7, _NUDGE_DEGREES) * (JOIN - x)[:, None]
    nudge = np.linalg.lstsq(terms, off, rcond=None)[0].reshape([each + 1 for each in _NUDGE_DEGREES])
    return np.asarray(shift), np.asarray(nudge)


@functools.cache
def _rows(planar: bool) -> FloatArray:
    rows = np.loadtxt(TABLE, delimiter=",", skiprows=1)
    return np.asarray(rows[rows[:, 0] == float(planar)])


@functools.cache
def _table(planar: bool) -> Any:
    """Spline of n/(n+1) ln tau over ln(X-1) and n; in these terms the curve is nearly a plane."""
    from scipy.interpolate import RectBivariateSpline

    rows, index = _rows(planar), np.array(INDICES)
    return RectBivariateSpline(
        np.log(rows[:, 1] - 1), index, np.log(rows[:, 2:]) * index / (index + 1), kx=3, ky=3, s=0
    )


def in_chunks(function: Callable[..., FloatArray], *arrays: ArrayLike) -> FloatArray:
    """Work through long arrays in pieces that fit a processor's cache, which doubles the speed."""
    spread = np.broadcast_arrays(*(np.asarray(each, dtype=float) for each in arrays))
    if spread[0].size <= 2 * CHUNK:
        return function(*spread)
    flat = [each.reshape(-1) for each in spread]
    out = np.empty(flat[0].size)
    for start in range(0, out.size, CHUNK):
        piece = slice(start, start + CHUNK)
        out[piece] = function(*(each[piece] for each in flat))
    return out.reshape(spread[0].shape)


AXI, PLANAR = Spreading(planar=False), Spreading(planar=True)
