"""A fluid: how its viscosity depends on shear rate, and a little on temperature."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoonline.measures.errors import ReadingError

G = 9.80665  # standard gravity [m/s2]
GAS_CONSTANT = 8.314462618e-3  # [kJ/(mol K)]
FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Fluid:
    """A power-law fluid, with a yield stress if it has one.

    Parameters
    ----------
    consistency_pa_sn : float or array
        Consistency K [Pa s^n], above 0.
    flow_index : float or array
        Flow index n [-]; 1 is Newtonian, starch sauces lie near 0.3 to 0.7.
    density_kg_m3 : float or array
        Density [kg/m3].
    yield_stress_pa : float or array
        Yield stress [Pa]; 0 for none.

    Raises
    ------
    ReadingError
        If K, n or the density is not above 0.

    Notes
    -----
    Viscosity = yield stress / rate + K rate^(n-1) (Herschel and Bulkley). Arrays of one shape, or single figures.

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
        for name in ("consistency_pa_sn", "flow_index", "density_kg_m3"):
            value = np.asarray(getattr(self, name), dtype=float)
            if value.size == 0 or not (np.min(value) > 0 and np.max(value) < np.inf):
                raise ReadingError(f"A fluid's {name} came as {getattr(self, name)!r}; a figure above 0 is wanted.")
        if not bool(np.all(np.asarray(self.yield_stress_pa, dtype=float) >= 0)):
            raise ReadingError(f"A yield stress of {self.yield_stress_pa!r} Pa came; 0 or more is wanted.")

    def viscosity(self, shear_rate_per_s: ArrayLike) -> Any:
        """Viscosity at a shear rate.

        Parameters
        ----------
        shear_rate_per_s : float or array
            Shear rate [1/s].

        Returns
        -------
        float or array
            Viscosity [Pa s].

        Raises
        ------
        ReadingError
            If a rate is not above 0.
        """
        rate = np.asarray(shear_rate_per_s, dtype=float)
        if not bool(np.all(rate > 0)):
            raise ReadingError(f"A shear rate of {shear_rate_per_s!r} 1/s came; above 0 is wanted.")
        value = self.yield_stress_pa / rate + self.consistency_pa_sn * rate ** (np.asarray(self.flow_index) - 1)
        return plain(value)

    def shear_rate(self, stress_pa: ArrayLike) -> Any:
        """Shear rate [1/s] under a shear stress [Pa]; 0 below the yield stress."""
        over = np.maximum(np.asarray(stress_pa, dtype=float) - self.yield_stress_pa, 0.0)
        return plain((over / self.consistency_pa_sn) ** (1 / np.asarray(self.flow_index)))

    def at_temperature(self, temperature_c: float, measured_c: float, activation_kj_mol: float = 17.0) -> Fluid:
        """The same fluid at another temperature: K follows Arrhenius, n stays.

        Parameters
        ----------
        temperature_c, measured_c : float
            Wanted and measured temperature [C], 0 to 100.
        activation_kj_mol : float
            Activation energy [kJ/mol]; white sauce 18.9 (read), pastes and purees 4 to 20.

        Returns
        -------
        Fluid

        Raises
        ------
        ReadingError
            Outside 0 to 100 C.

        Notes
        -----
        Never across chilling and reheating of a starch dish: it sets in the cold and does not come back along the same line.

        Examples
        --------
        >>> round(float(Fluid(1.0).at_temperature(20, 60, 18.9).consistency_pa_sn), 2)
        2.54
        """
        for value in (temperature_c, measured_c):
            if not 0 <= value <= 100:
                raise ReadingError(f"{value:g} C came; the temperature shift holds from 0 to 100 C.")
        factor = np.exp(activation_kj_mol / GAS_CONSTANT * (1 / (temperature_c + 273.15) - 1 / (measured_c + 273.15)))
        return replace(self, consistency_pa_sn=plain(np.asarray(self.consistency_pa_sn) * factor))


def plain(value: Any) -> Any:
    """A float for a single figure, else the array."""
    array = np.asarray(value, dtype=float)
    return float(array) if array.ndim == 0 else array
