"""How far a puddle has spread: the one curve of stretch against time for each flow index, both ways.

``master_curve.csv`` beside this file holds it: a thin film of a power-law fluid solved from the start, and from twice its start on
the similarity law with a shifted start of time. ``tests/flow/thin_film.py`` makes it again.

Lengths are over r0 (radius of the ring, or length of the lock of a trough), heights over h0, and time over
T = ((2n+1)/n) (K/(rho g))^(1/n) r0^((n+1)/n) h0^(-(n+2)/n).
"""

import functools
from pathlib import Path
from typing import Any

import numpy as np
import scipy
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, G, bisected, plain

TABLE = Path(__file__).with_name("master_curve.csv")
INDICES = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2)
NEAREST, FARTHEST = 1e-6, 1e6  # X - 1 searched


class Spreading:
    """Constant-volume spreading from a cylinder (ring) or from a lock (trough), n from 0.2 to 1.2.

    X is the front over its start, tau the dimensionless time. Late, X = E tau^beta (Huppert 1982 for n = 1).

    Examples
    --------
    >>> float(AXI.exponent(1)), float(PLANAR.exponent(1))
    (0.125, 0.2)
    >>> round(float(AXI.volume_integral(1)), 6), round(float(PLANAR.volume_integral(1)), 6)
    (0.375, 0.841309)
    >>> round(float(np.exp(AXI.ln_time(1.3, 1.0))), 3), round(float(AXI.stretch(10.0, 1.0)), 4)
    (0.498, 1.8345)
    """

    def __init__(self, *, planar: bool) -> None:
        self.planar = planar

    def exponent(self, n: ArrayLike) -> FloatArray:
        """beta in X ~ tau^beta: n/(3n+5) for a ring, n/(2n+3) for a trough."""
        index = np.asarray(n, dtype=float)
        return np.asarray(index / (2 * index + 3 if self.planar else 3 * index + 5))

    def volume_integral(self, n: ArrayLike) -> FloatArray:
        """I1 (trough) or I2 (ring), the shape factor of the volume."""
        index = np.asarray(n, dtype=float)
        first = (1 if self.planar else 2) / (index + 1)
        return np.asarray(scipy.special.beta(first, 1 + 1 / (index + 2)) / (index + 1))

    @functools.cached_property
    def _table(self) -> tuple[Any, float, float]:
        """A spline of n ln(tau/beta) over ln(X-1) and n, in which the curve is nearly a plane; the first and last stretch of the table."""
        rows = np.loadtxt(TABLE, delimiter=",", skiprows=1)
        rows = rows[rows[:, 0] == self.planar]
        stretch, index = rows[:, 1], np.array(INDICES)
        values = np.log(rows[:, 2:] / self.exponent(index)) * index
        return scipy.interpolate.RectBivariateSpline(np.log(stretch - 1), index, values), stretch[0], stretch[-1]

    def ln_time(self, stretch: ArrayLike, n: ArrayLike) -> FloatArray:
        """ln tau at which the front reaches X = r/r0 (above 1): the table, drawn on by its power laws at both ends."""
        x, index = np.broadcast_arrays(np.asarray(stretch, dtype=float), np.asarray(n, dtype=float))
        spline, first, last = self._table
        over = np.log(x - 1)
        inside = np.clip(over, np.log(first - 1), np.log(last - 1))
        # X - 1 ~ tau^(n/(n+1)) at first, X ~ tau^beta at last
        early = np.minimum(over - inside, 0.0) * (index + 1) / index
        beta = self.exponent(index)
        late = np.maximum(np.log(x / last), 0.0) / beta
        return np.asarray(spline.ev(inside, index) / index + np.log(beta) + early + late)

    def stretch(self, tau: ArrayLike, n: ArrayLike) -> Any:
        """X = r/r0 at dimensionless time tau (above 0); the inverse of :meth:`ln_time`."""
        ln_tau, index = np.broadcast_arrays(np.log(np.asarray(tau, dtype=float)), np.asarray(n, dtype=float))
        return 1 + bisected(lambda over: self.ln_time(1 + over, index) < ln_tau, NEAREST, FARTHEST)

    def consistency(
        self, ln_tau: Any, n: FloatArray, rho: FloatArray, seconds: float, start_cm: float, depth_cm: float
    ) -> FloatArray:
        """K [Pa s^n] of a fluid that comes to a dimensionless time in so many seconds, from a start and a depth [cm]."""
        start, depth = start_cm / 100, depth_cm / 100
        ln_rate = np.log(n / (2 * n + 1) * seconds * depth / start) - ln_tau
        return np.asarray(rho * G * np.exp(n * ln_rate) * depth**2 / start)

    def floor_rate(self, front_cm: Any, flow_index: Any, seconds: float, volume: float) -> Any:
        """Shear rate at the floor, 0.7 of the way to the front [1/s]; volume per radian [cm3] or per width [cm2]."""
        front, n, y = np.asarray(front_cm), np.asarray(flow_index, dtype=float), 0.7
        deepest = volume / (front ** (1 if self.planar else 2) * self.volume_integral(n))
        depth = deepest * (1 - y ** (n + 1)) ** (1 / (n + 2))
        return plain((2 * n + 1) / n * y * self.exponent(n) * front / seconds / depth)


AXI, PLANAR = Spreading(planar=False), Spreading(planar=True)
