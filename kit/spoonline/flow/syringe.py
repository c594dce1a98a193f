"""The syringe: fill it, let it run for a set time, read what is left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, G, plain
from spoonline.flow.instrument import Instrument, checked, checked_index
from spoonline.measures.errors import ReadingError

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_THINNEST, _THICKEST = -30.0, 12.0  # ln K searched [ln(Pa s^n)]


@dataclass(frozen=True)
class Syringe(Instrument):
    """A slip-tip syringe without plunger, filled to ``volume_ml``, run for ``seconds``.

    Parameters
    ----------
    volume_ml : float
        Fill [mL].
    seconds : float
        Running time [s].
    nozzle_mm, nozzle_length_mm : float
        Inner diameter and length of the nozzle [mm]. As they come, set so that 10 mL of water at 20 C take about 7 s; use
        :func:`spoonline.flow.calibrate` for your own.
    loss : float
        Loss at the nozzle's ends, in velocity heads [-].
    barrel_mm : float
        Inner diameter of the barrel [mm]; 14.39 where 10 mL stand 61.5 mm high.

    Notes
    -----
    Readings are millilitres left. Head of liquid = inertia + wall friction of a power-law fluid in the nozzle:
    rho g (V/A + L) = (1 + loss)/2 rho u^2 + (2L/R) K ((3n+1)/n u/R)^n (computed model; the same balance as Hanson et al. 2019).
    Holds from about 0.2 to 9.8 mL left. A kitchen reading, not a class of food for people with swallowing difficulty.

    Examples
    --------
    >>> syringe = Syringe()
    >>> round(syringe.fluid(4.0).consistency_pa_sn, 3), round(syringe.fluid(8.0).consistency_pa_sn, 3)
    (0.022, 0.092)
    """

    volume_ml: float = 10.0
    seconds: float = 10.0
    nozzle_mm: float = 1.83
    nozzle_length_mm: float = 10.0
    loss: float = 0.9
    barrel_mm: float = 14.39

    name: ClassVar[str] = "syringe"
    unit: ClassVar[str] = "mL left"
    volume_field: ClassVar[str | None] = "volume_ml"

    def _speed(self, left_m3: FloatArray, fluid: tuple[FloatArray, FloatArray, FloatArray]) -> FloatArray:
        """Speed in the nozzle [m/s]; Newton on its logarithm, from above, so that every step helps."""
        consistency, n, rho = fluid
        radius, length = self.nozzle_mm / 2000, self.nozzle_length_mm / 1000
        head = rho * G * (left_m3 / (np.pi * (self.barrel_mm / 2000) ** 2) + length)
        inertia = 0.5 * (1 + self.loss) * rho
        friction = 2 * length / radius * consistency * ((3 * n + 1) / (n * radius)) ** n
        y = np.minimum(0.5 * np.log(head / inertia), np.log(head / friction) / n)
        for _ in range(7):
            one, two = inertia * np.exp(2 * y), friction * np.exp(n * y)
            y = y - np.log((one + two) / head) * (one + two) / (2 * one + n * two)
        return np.exp(y)

    def seconds_to(self, left_ml: ArrayLike, fluid: Fluid) -> Any:
        """Time until this much is left [s].

        Examples
        --------
        >>> 6.5 < Syringe().seconds_to(0.0, Fluid(0.001, 1.0, 998.0)) < 7.5
        True
        """
        parts = (fluid.consistency_pa_sn, fluid.flow_index, fluid.density_kg_m3)
        consistency, n, rho = (np.asarray(each, dtype=float) for each in parts)
        return plain(self._time(np.asarray(left_ml, dtype=float), (consistency, n, rho)))

    def _time(self, left: FloatArray, fluid: tuple[FloatArray, FloatArray, FloatArray]) -> FloatArray:
        left, *parts = np.broadcast_arrays(left, *fluid)
        half = 0.5e-6 * (self.volume_ml - left)
        volume = 1e-6 * left[..., None] + half[..., None] * (1 + _NODES)
        consistency, n, rho = (each[..., None] for each in parts)
        speed = self._speed(volume, (consistency, n, rho))
        return np.asarray(half * np.sum(_WEIGHTS / speed, axis=-1) / (np.pi / 4 * (self.nozzle_mm / 1000) ** 2))

    def reading(self, fluid: Fluid) -> Any:
        """What is left [mL]; 0 if it ran empty."""
        n, rho = checked_index(fluid.flow_index), np.asarray(fluid.density_kg_m3, dtype=float)
        k, n, rho = np.broadcast_arrays(np.asarray(fluid.consistency_pa_sn, dtype=float), n, rho)
        left = np.zeros(k.shape)
        hole = np.pi / 4 * (self.nozzle_mm / 1000) ** 2
        # The time falls with what is left and is convex in it, so Newton's steps from an empty barrel never overshoot.
        for _ in range(30):
            late = self._time(left, (k, n, rho)) - self.seconds
            step = 1e6 * late * hole * self._speed(1e-6 * left, (k, n, rho))
            left = np.clip(left + step, 0.0, self.volume_ml)
            if bool(np.all(np.abs(step) < 1e-13 * self.volume_ml) | np.all((left == 0) & (step <= 0))):
                break
        return plain(left)

    def fluid(self, reading: ArrayLike, flow_index: ArrayLike = 1.0, density_kg_m3: ArrayLike = 1050.0) -> Fluid:
        """The fluid that would leave this much [mL].

        Raises
        ------
        ReadingError
            If the reading is no figure above 0, not below the fill, or less than any fluid could leave in that time.
        """
        left, n = checked(reading, self.name, self.unit), checked_index(flow_index)
        if bool(np.any(left >= self.volume_ml)):
            raise ReadingError(
                f"{np.max(left):.3g} mL left came of {self.volume_ml:g} mL: nothing ran; use the spatula or the ring."
            )
        left, n, rho = np.broadcast_arrays(left, n, np.asarray(density_kg_m3, dtype=float))
        low, high = np.full(left.shape, _THINNEST), np.full(left.shape, _THICKEST)
        if bool(np.any(self._time(left, (np.exp(low), n, rho)) > self.seconds)):
            raise ReadingError(
                f"{np.min(left):.3g} mL left after {self.seconds:g} s came, less than even water leaves; check the time and the nozzle."
            )
        for _ in range(52):
            middle = 0.5 * (low + high)
            thick = self._time(left, (np.exp(middle), n, rho)) > self.seconds
            low, high = np.where(thick, low, middle), np.where(thick, middle, high)
        return Fluid(plain(np.exp(0.5 * (low + high))), flow_index, density_kg_m3)

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the wall of the nozzle, half-way through the run [1/s]."""
        n = np.asarray(fluid.flow_index, dtype=float)
        half_way = 0.5e-6 * (self.volume_ml + np.asarray(self.reading(fluid)))
        parts = (np.asarray(fluid.consistency_pa_sn), n, np.asarray(fluid.density_kg_m3))
        return plain((3 * n + 1) / n * self._speed(half_way, parts) / (self.nozzle_mm / 2000))

    def flags(self, reading: float) -> tuple[str, ...]:
        """Doubts: nearly empty, or hardly any ran."""
        if reading < 0.1 * self.volume_ml:
            return (
                "The syringe is nearly empty: the reading says little of thickness. Use the flow cup, or read earlier.",
            )
        if reading > 0.95 * self.volume_ml:
            return ("Hardly any ran out, a lump could do that: strain, wait longer, or use the spatula.",)
        return ()

    def own_ln_sd(self, reading: float) -> float:
        """Uncertainty of an uncalibrated nozzle: its diameter to 4 % is 16 % in viscosity (judged)."""
        return 0.16
