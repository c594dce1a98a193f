"""A fluid: how its viscosity depends on shear rate."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoonline.measures import ReadingError, Sayings, as_said, settle, takes_quantities

G = 9.80665  # standard gravity [m/s2]
GAS_CONSTANT = 8.314462618e-3  # [kJ/(mol K)]
FloatArray = NDArray[np.float64]
said = Sayings("said.csv", "flow", ReadingError)


@dataclass(frozen=True)
class Fluid:
    """A power-law fluid.

    Parameters
    ----------
    consistency_pa_sn, flow_index, density_kg_m3 : float or array
        Consistency K [Pa s^n], flow index n [-] (1 Newtonian, starch sauces near 0.3 to 0.7), density [kg/m3]; above 0.
    yield_stress_pa : float or array
        Yield stress [Pa]; 0 for none. Only the slump test reads it.

    Raises
    ------
    ReadingError
        If K, n or the density is not above 0.

    Notes
    -----
    Viscosity = K rate^(n-1). Arrays of one shape, or single figures.

    Examples
    --------
    >>> round(float(Fluid(18.7, 0.27).viscosity(50)), 3)
    1.075
    """

    consistency_pa_sn: Any
    flow_index: Any = 1.0
    density_kg_m3: Any = 1050.0
    yield_stress_pa: Any = 0.0

    def __post_init__(self) -> None:
        settle(self, consistency_pa_sn=f"Pa s^{self.flow_index}")
        for name in ("consistency_pa_sn", "flow_index", "density_kg_m3"):
            if not above_zero(getattr(self, name)):
                raise ReadingError(said("of a fluid", name=name, came=as_said(getattr(self, name))))

    @property
    def parts(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Consistency, flow index and density as arrays."""
        k, n, rho = (np.asarray(each, float) for each in (self.consistency_pa_sn, self.flow_index, self.density_kg_m3))
        return k, n, rho

    @takes_quantities
    def viscosity(self, shear_rate_per_s: ArrayLike) -> Any:
        """Viscosity [Pa s] at a shear rate [1/s]; ReadingError if a rate is not above 0."""
        rate = np.asarray(shear_rate_per_s, dtype=float)
        if not np.all(rate > 0):
            raise said.error("a rate", came=as_said(shear_rate_per_s))
        return plain(self.yield_stress_pa / rate + self.consistency_pa_sn * rate ** (np.asarray(self.flow_index) - 1))

    @takes_quantities
    def shear_rate(self, stress_pa: ArrayLike) -> Any:
        """Shear rate [1/s] under a shear stress [Pa]; 0 below the yield stress."""
        over = np.maximum(np.asarray(stress_pa, dtype=float) - self.yield_stress_pa, 0.0)
        return plain(power(over / self.consistency_pa_sn, 1 / np.asarray(self.flow_index)))


def plain(value: Any) -> Any:
    """A float for a single figure, else the array."""
    array = np.asarray(value, dtype=float)
    return float(array) if array.ndim == 0 else array


def power(base: Any, exponent: Any) -> FloatArray:
    """A power, the same to the last digit of one figure and of many: numpy raises arrays by a routine of their own."""
    return np.asarray(np.frompyfunc(math.pow, 2, 1)(base, exponent), dtype=float)


def above_zero(value: Any) -> bool:
    """Whether there is a figure, and all are finite and above 0."""
    if isinstance(value, float):  # by far the most: an array takes thirty times as long
        return 0 < value < float("inf")
    try:
        values = np.asarray(value, dtype=float)
    except (TypeError, ValueError, OverflowError):
        return False
    return bool(values.size and np.min(values) > 0 and np.max(values) < np.inf)


def bisected(too_low: Callable[[FloatArray], Any], low: Any, high: Any) -> FloatArray:
    """Where a condition turns false between two ends above 0, to 1e-14: bisection on the logarithm, arrays at once."""
    for _ in range(52):
        middle = np.sqrt(low * high)
        below = too_low(middle)
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray(np.sqrt(low * high))
