"""How far a puddle has spread: the one curve of stretch against time for each flow index, both ways."""

from __future__ import annotations

import functools
from typing import Any

import numpy as np
from numpy.polynomial.polynomial import polyvander, polyvander2d
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, G, halved, plain
from spoonline.flow.thin_film import INDICES, TABLE

# Above this stretch the similarity law with a shifted start of time is exact to 0.1 % for every flow index; below it, the table.
JOIN = 2.0
# Between these and JOIN (ring, trough) the table is a small polynomial on top of that law.
LOWEST = {False: 1.3, True: 1.4}
_NUDGE_DEGREES = [4, 6]
# Shift of the start of time, by flow index (computed with the solver in thin_film.py; a test compares).
_SHIFT_INDEX = np.array([0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2])
_SHIFT = {
    False: (0.4400, 0.2640, 0.1999, 0.1532, 0.1395, 0.1363, 0.1372, 0.1402, 0.1441, 0.1485, 0.1531, 0.1577),
    True: (2.3180, 1.1300, 0.7330, 0.4600, 0.3690, 0.3295, 0.3106, 0.3015, 0.2977, 0.2969, 0.2978, 0.2999),
}


class Spreading:
    """Constant-volume spreading from a cylinder (ring) or from a lock (trough), n from 0.2 to 1.2.

    X is the front over its start, tau the dimensionless time; Huppert 1982 prints ``prefactor`` 0.894 and 1.411 for n = 1.

    Examples
    --------
    >>> float(AXI.exponent(1)), float(PLANAR.exponent(1))
    (0.125, 0.2)
    >>> round(float(AXI.volume_integral(1)), 6), round(float(PLANAR.volume_integral(1)), 6)
    (0.375, 0.841309)
    >>> round(float(AXI.prefactor(1)), 7), round(float(PLANAR.prefactor(1)), 7)
    (0.8939138, 1.4112448)
    >>> round(float(AXI.time(1.3, 1.0)), 3), round(float(AXI.stretch(10.0, 1.0)), 4)
    (0.498, 1.8345)
    """

    def __init__(self, *, planar: bool) -> None:
        self.planar, self.low = planar, LOWEST[planar]

    def _steep(self, n: FloatArray) -> FloatArray:
        return 2 * n + 3 if self.planar else 3 * n + 5

    def exponent(self, n: ArrayLike) -> FloatArray:
        """beta in X ~ tau^beta: n/(3n+5) for a ring, n/(2n+3) for a trough."""
        index = np.asarray(n, dtype=float)
        return np.asarray(index / self._steep(index))

    def volume_integral(self, n: ArrayLike) -> FloatArray:
        """I1 (trough) or I2 (ring), the shape factor of the volume."""
        from scipy.special import beta

        index = np.asarray(n, dtype=float)
        return np.asarray(beta((1 if self.planar else 2) / (index + 1), 1 + 1 / (index + 2)) / (index + 1))

    def prefactor(self, n: ArrayLike) -> FloatArray:
        """xi of the similarity law."""
        index, exponent = np.asarray(n, dtype=float), self.exponent(n)
        volume = self.volume_integral(n) * (1 if self.planar else 2 * np.pi)
        power = (index + 2) / index
        return np.asarray(((1 / exponent) * ((index + 1) / (index + 2)) ** (1 / index) * volume**-power) ** exponent)

    def stretch_prefactor(self, n: ArrayLike) -> FloatArray:
        """E in X = E tau^beta, late."""
        index = np.asarray(n, dtype=float)
        return self.prefactor(n) * (1.0 if self.planar else np.pi ** ((index + 2) / self._steep(index)))

    def time(self, stretch: ArrayLike, n: ArrayLike) -> Any:
        """Dimensionless time tau at which the front reaches X = r/r0 (above 1)."""
        return np.exp(self.ln_time(stretch, n))

    def ln_time(self, stretch: ArrayLike, n: ArrayLike) -> FloatArray:
        """ln tau at which the front reaches X = r/r0 (above 1)."""
        x, index = np.broadcast_arrays(np.asarray(stretch, dtype=float), np.asarray(n, dtype=float))
        out = self._late(np.log(np.maximum(x, self.low)), index)
        if np.any(x < JOIN):
            out = np.asarray(out + self._nudge(np.clip(x, self.low, JOIN), index))
        soon = x < self.low
        if np.any(soon):
            out[soon] = self._early(x[soon], index[soon])
        return out

    def stretch(self, tau: ArrayLike, n: ArrayLike) -> Any:
        """X = r/r0 at dimensionless time tau (above 0); the inverse of :meth:`time`."""
        t, index = np.broadcast_arrays(np.asarray(tau, dtype=float), np.asarray(n, dtype=float))
        shifted = np.log(t + self._shift(index))
        late = np.exp((shifted - self._plain(np.zeros_like(index), index)) * self.exponent(index))
        ln_t = np.log(t)
        soon = ln_t < self._late(np.full_like(t, np.log(JOIN)), index)
        if not np.any(soon):
            return late
        over = halved(lambda over: self.ln_time(1 + over, index) < ln_t, 1e-4, JOIN - 1)
        return np.where(soon, 1 + over, late)

    def consistency(
        self, ln_tau: Any, n: FloatArray, rho: FloatArray, seconds: float, start_cm: float, depth_cm: float
    ) -> FloatArray:
        """K [Pa s^n] of a fluid that comes to a dimensionless time in so many seconds, from a start and a depth [cm]."""
        # All powers as one exponential: a million readings take little longer than one power of as many figures.
        ln_start, ln_depth = np.log(start_cm / 100), np.log(depth_cm / 100)
        ln_unit = np.log(n / (2 * n + 1)) + np.log(seconds) - ln_tau
        return np.asarray(rho * G * np.exp(n * (ln_unit + ln_depth - ln_start) + 2 * ln_depth - ln_start))

    def floor_rate(self, front_cm: Any, flow_index: Any, seconds: float, volume: float) -> Any:
        """Shear rate at the floor, 0.7 of the way to the front [1/s]; volume per radian [cm3] or per width [cm2]."""
        front, n, y = np.asarray(front_cm), np.asarray(flow_index, dtype=float), 0.7
        deepest = volume / (front ** (1 if self.planar else 2) * self.volume_integral(n))
        depth = deepest * (1 - y ** (n + 1)) ** (1 / (n + 2))
        return plain((2 * n + 1) / n * y * self.exponent(n) * front / seconds / depth)

    def _plain(self, ln_x: FloatArray, n: FloatArray) -> FloatArray:
        """ln tau of the similarity law, ln(X/E)/beta, from the part of n ln(E)/beta that is smooth down to n = 0."""
        steep = self._steep(n)
        return np.asarray((ln_x * steep - _poly(_smooth(self.planar), n)) / n + np.log(n / steep))

    def _shift(self, n: FloatArray) -> FloatArray:
        square = n * n
        return np.asarray(_poly(_shift_terms(self.planar), n) / (square * square))

    def _late(self, ln_x: FloatArray, n: FloatArray) -> FloatArray:
        """ln tau of the shifted similarity law."""
        plain = self._plain(ln_x, n)
        return np.asarray(plain + np.log(1 - self._shift(n) * np.exp(-plain)))

    def _nudge(self, x: FloatArray, n: FloatArray) -> FloatArray:
        """What the table adds to the shifted law on ln tau between the lowest stretch and JOIN, where it fades out."""
        way, out = JOIN - x, np.zeros(())
        for row in _nudge_terms(self.planar)[::-1]:
            out = out * way + _poly(row, n)
        return np.asarray(out * way / n)

    def _early(self, x: FloatArray, n: FloatArray) -> FloatArray:
        """ln tau from the table, drawn on to X -> 1 by its early power law and joined to the late law at the lowest stretch."""
        spline, edge, top = _table(self.planar), np.log(0.02), np.log(self.low - 1)
        place, joined, scale = np.log(x - 1), np.full_like(x, self.low), (n + 1) / n
        inside = np.maximum(place, edge)
        gap = self._late(np.log(joined), n) + self._nudge(joined, n) - scale * spline.ev(np.full_like(x, top), n)
        value = scale * (spline.ev(inside, n) + (place - inside))
        return np.asarray(value + gap * (inside - edge) / (top - edge))


def _poly(terms: FloatArray, n: FloatArray) -> FloatArray:
    """A polynomial in n - 0.7, in place: on a million figures much quicker than numpy's own, which makes new arrays."""
    at = n - 0.7
    out = terms[-1] * at
    for term in terms[-2:0:-1]:
        out += term
        out *= at
    return np.asarray(out + terms[0])


@functools.cache
def _smooth(planar: bool) -> FloatArray:
    """Polynomial in n - 0.7 for n ln(E)/beta + n ln(beta), good to 1e-11."""
    from numpy.polynomial import Chebyshev, Polynomial

    curve = Spreading(planar=planar)

    def smooth(n: FloatArray) -> FloatArray:
        beta = curve.exponent(n)
        return np.asarray(n / beta * np.log(curve.stretch_prefactor(n)) + n * np.log(beta))

    near = Chebyshev.interpolate(smooth, 12, domain=[0.15, 1.25])
    return np.asarray(near.convert(kind=Polynomial)(Polynomial([0.7, 1.0])).coef, dtype=float)


@functools.cache
def _shift_terms(planar: bool) -> FloatArray:
    """Polynomial in n - 0.7 for n^4 times the shift of time, which grows like a power of 1/n."""
    terms = polyvander(_SHIFT_INDEX - 0.7, 7) * _SHIFT_INDEX[:, None]
    return np.asarray(np.linalg.lstsq(terms, np.array(_SHIFT[planar]) * _SHIFT_INDEX**5, rcond=None)[0])


@functools.cache
def _nudge_terms(planar: bool) -> FloatArray:
    """Polynomial in JOIN - X and n - 0.7 for what the table says beyond the shifted law, over JOIN - X and times n."""
    curve, rows = Spreading(planar=planar), _rows(planar)
    rows = rows[rows[:, 1] >= curve.low]
    x, n = np.repeat(rows[:, 1], len(INDICES)), np.tile(INDICES, len(rows))
    off = n * (np.log(rows[:, 2:]).ravel() - curve._late(np.log(x), n))
    terms = polyvander2d(JOIN - x, n - 0.7, _NUDGE_DEGREES) * (JOIN - x)[:, None]
    found = np.linalg.lstsq(terms, off, rcond=None)[0]
    return np.asarray(found, dtype=float).reshape([each + 1 for each in _NUDGE_DEGREES])


@functools.cache
def _rows(planar: bool) -> FloatArray:
    rows = np.loadtxt(TABLE, delimiter=",", skiprows=1)
    return np.asarray(rows[rows[:, 0] == float(planar)])


@functools.cache
def _table(planar: bool) -> Any:
    """Spline of n/(n+1) ln tau over ln(X-1) and n; in these terms the curve is nearly a plane."""
    from scipy.interpolate import RectBivariateSpline

    rows, index = _rows(planar), np.array(INDICES)
    return RectBivariateSpline(np.log(rows[:, 1] - 1), index, np.log(rows[:, 2:]) * index / (index + 1))


AXI, PLANAR = Spreading(planar=False), Spreading(planar=True)
