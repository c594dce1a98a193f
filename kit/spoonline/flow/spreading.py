"""How far a puddle has spread: the one curve of stretch against time for each flow index, both ways."""

from __future__ import annotations

import functools
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray
from spoonline.flow.thin_film import INDICES, TABLE

# Above this stretch the similarity law with a shifted start of time is exact to 0.1 % for every flow index; below it, the table.
JOIN = 2.0
# Shift of the start of time, by flow index (computed with the solver in thin_film.py; a test compares).
_SHIFT_INDEX = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2)
_SHIFT = {
    False: (0.3400, 0.1999, 0.1532, 0.1395, 0.1363, 0.1372, 0.1402, 0.1441, 0.1485, 0.1577),
    True: (1.6000, 0.7330, 0.4600, 0.3690, 0.3295, 0.3106, 0.3015, 0.2977, 0.2969, 0.2999),
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
        return np.asarray(
            ((1 / exponent) * ((index + 1) / (index + 2)) ** (1 / index) * volume**-power) ** exponent
        )

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
        x, index = np.broadcast_arrays(np.asarray(stretch, dtype=float), np.asarray(n, dtype=float))
        late = self._late(np.maximum(x, JOIN), index)
        if bool(np.all(x >= JOIN)):
            return late
        early = np.exp(self._early_ln(np.minimum(x, JOIN), index))
        return np.where(x >= JOIN, late, early)

    def stretch(self, tau: ArrayLike, n: ArrayLike) -> Any:
        """X = r/r0 at dimensionless time tau (above 0); the inverse of :meth:`time`.

        Examples
        --------
        >>> round(float(AXI.stretch(10.0, 1.0)), 4)
        1.8345
        """
        t, index = np.broadcast_arrays(np.asarray(tau, dtype=float), np.asarray(n, dtype=float))
        late = self.stretch_prefactor(index) * (t + self._shift(index)) ** self.exponent(index)
        soon = t < self._late(np.full_like(t, JOIN), index)
        if not bool(np.any(soon)):
            return late
        low, high = np.full(t.shape, np.log(1e-4)), np.full(t.shape, np.log(JOIN - 1))
        target = np.log(t)
        for _ in range(60):
            middle = 0.5 * (low + high)
            below = self._early_ln(1 + np.exp(middle), index) < target
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return np.where(soon, 1 + np.exp(0.5 * (low + high)), late)

    def _late(self, x: FloatArray, n: FloatArray) -> FloatArray:
        return np.asarray((x / self.stretch_prefactor(n)) ** (1 / self.exponent(n)) - self._shift(n))

    def _early_ln(self, x: FloatArray, n: FloatArray) -> FloatArray:
        """ln tau from the table, drawn on to X -> 1 by its early power law and joined to the late law at JOIN."""
        spline = _table(self.planar)
        edge = np.log(0.02)
        place = np.log(x - 1)
        inside = np.maximum(place, edge)
        scale = (n + 1) / n
        value = scale * (spline.ev(inside, n) + (place - inside))
        gap = np.log(self._late(np.full_like(x, JOIN), n)) - scale * spline.ev(np.zeros_like(x), n)
        return np.asarray(value + gap * (1 - inside / edge))

    def _shift(self, n: FloatArray) -> FloatArray:
        return np.asarray(_shift(self.planar)(n))


@functools.cache
def _table(planar: bool) -> Any:
    """Spline of n/(n+1) ln tau over ln(X-1) and n; in these terms the curve is nearly a plane."""
    from scipy.interpolate import RectBivariateSpline

    rows = np.loadtxt(TABLE, delimiter=",", skiprows=1)
    rows = rows[rows[:, 0] == float(planar)]
    index = np.array(INDICES)
    return RectBivariateSpline(
        np.log(rows[:, 1] - 1), index, np.log(rows[:, 2:]) * index / (index + 1), kx=3, ky=3, s=0
    )


@functools.cache
def _shift(planar: bool) -> Any:
    from scipy.interpolate import PchipInterpolator

    return PchipInterpolator(_SHIFT_INDEX, _SHIFT[planar])


AXI, PLANAR = Spreading(planar=False), Spreading(planar=True)
