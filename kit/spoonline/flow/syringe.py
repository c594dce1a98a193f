"""The syringe: fill it, let it run for a set time, read what is left."""

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, G, bisected, plain, said
from spoonline.flow.instrument import Instrument, Sentences, size

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_THINNEST, _THICKEST = np.exp([-30.0, 12.0])  # K searched [Pa s^n]


@dataclass(frozen=True)
class Syringe(Instrument):
    """A slip-tip syringe without plunger, filled to ``volume_ml``, run for ``seconds``.

    Parameters
    ----------
    volume_ml, seconds : float
        Fill [mL] and running time [s].
    nozzle_mm, nozzle_length_mm : float
        Inner diameter and length of the nozzle [mm]. As they come, set so that 10 mL of water at 20 C take about 7 s.
    loss : float
        Loss at the nozzle's ends, in velocity heads [-].
    barrel_mm : float
        Inner diameter of the barrel [mm]; 14.39 where 10 mL stand 61.5 mm high.

    Steps
    -----
    Fill a 10-mL syringe without plunger, finger under the tip, let it run for 10 s, and read what is left.
    Take a straight 10-mL syringe with its plunger out, and check that 10 mL of water run out in about 7 s.
    Close the tip with a finger and fill it to 10 mL.
    Take the finger away, and start the clock.
    At 10 s, close the tip again.
    Read what is left, in mL.

    Notes
    -----
    Readings are millilitres left, 0 if it ran empty. Head of liquid = inertia + wall friction of a power-law fluid in the nozzle:
    rho g (V/A + L) = (1 + loss)/2 rho u^2 + (2L/R) K ((3n+1)/n u/R)^n (computed model; the same balance as Hanson et al. 2019).
    Holds from about 0.2 to 9.8 mL left. A kitchen reading, not a class of food for people with swallowing difficulty.

    Examples
    --------
    >>> syringe = Syringe()
    >>> round(syringe.fluid(4.0).consistency_pa_sn, 3), round(syringe.fluid(8.0).consistency_pa_sn, 3)
    (0.022, 0.092)
    """

    volume_ml: float = size(10.0, "Syringe filled to", "mL")
    seconds: float = size(10.0, "Read after", "s")
    nozzle_mm: float = 1.83
    nozzle_length_mm: float = 10.0
    loss: float = 0.9
    barrel_mm: float = 14.39

    name: ClassVar[str] = "syringe"

    def _speed(self, left_ml: FloatArray, k: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        """Speed in the nozzle [m/s]; Newton on its logarithm, from above, so that every step helps."""
        radius, length = self.nozzle_mm / 2000, self.nozzle_length_mm / 1000
        head = rho * G * (1e-6 * left_ml / (np.pi * (self.barrel_mm / 2000) ** 2) + length)
        inertia = 0.5 * (1 + self.loss) * rho
        friction = 2 * length / radius * k * ((3 * n + 1) / (n * radius)) ** n
        y = np.minimum(0.5 * np.log(head / inertia), np.log(head / friction) / n)
        for _ in range(7):
            one, two = inertia * np.exp(2 * y), friction * np.exp(n * y)
            y = y - np.log((one + two) / head) * (one + two) / (2 * one + n * two)
        return np.exp(y)

    def seconds_to(self, left_ml: ArrayLike, fluid: Fluid) -> Any:
        """Time until this much [mL] is left [s].

        Examples
        --------
        >>> 6.5 < Syringe().seconds_to(0.0, Fluid(0.001, 1.0, 998.0)) < 7.5
        True
        """
        return plain(self._time(np.asarray(left_ml, dtype=float), *fluid.parts))

    def _time(self, *parts: FloatArray) -> FloatArray:
        """Time until so much is left of a fluid (K, n, density), by Gauss's rule over what runs out."""
        left, *fluid = (each[..., None] for each in np.broadcast_arrays(*parts))
        half = 0.5 * (self.volume_ml - left)
        speed = self._speed(left + half * (1 + _NODES), *fluid)
        hole_m2 = np.pi / 4 * (self.nozzle_mm / 1000) ** 2
        return np.asarray(1e-6 * half[..., 0] * np.sum(_WEIGHTS / speed, axis=-1) / hole_m2)

    def _reading(self, k: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        left = bisected(lambda left: self._time(left, k, n, rho) > self.seconds, 1e-6, self.volume_ml)
        return np.where(self._time(np.zeros(k.shape), k, n, rho) <= self.seconds, 0.0, left)

    def _consistency(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        return bisected(lambda k: self._time(read, k, n, rho) <= self.seconds, _THINNEST, _THICKEST)

    def _refusals(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> Sentences:
        full = said("nothing ran", left=np.max(read), full=self.volume_ml)
        soon = said("too soon", left=np.min(read), seconds=self.seconds)
        least = self._time(np.minimum(read, self.volume_ml), np.asarray(_THINNEST), n, rho)
        return {full: np.any(read >= self.volume_ml), soon: np.any(least > self.seconds)}

    def _doubts(self, reading: float) -> Sentences:
        left = reading / self.volume_ml
        return {said("nearly empty"): left < 0.1, said("a lump"): left > 0.95}

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the wall of the nozzle, half-way through the run [1/s]."""
        n, half_way = fluid.parts[1], 0.5 * (self.volume_ml + np.asarray(self.reading(fluid)))
        return plain((3 * n + 1) / n * self._speed(half_way, *fluid.parts) / (self.nozzle_mm / 2000))
