"""The ring test: fill a ring on a level plate, lift it, read the radius of the puddle after a set time."""

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, said
from spoonline.flow.instrument import Instrument, Sentences, size
from spoonline.flow.spreading import AXI

# How far the thin-film theory overstates K for a puddle of finite height: K_thin/K = exp(1.7 eps), eps = V/(pi r^3), from a full
# Stokes solution; the correction itself is good to about 60 %.
HEIGHT_SLOPE, HEIGHT_REL_SD = 1.7, 0.6
TALLEST = 0.25
THINNEST_MM, THIN_MM = 3.0, 4.0


@dataclass(frozen=True)
class Ring(Instrument):
    """A ring of inner radius and fill height, lifted from a level plate.

    Parameters
    ----------
    radius_cm, height_cm : float
        Inner radius and fill height [cm]; low rings (3.5 x 2.0) read better than tall ones.
    seconds : float
        Time after lifting [s].
    finite_height : bool
        Correct for the height of the puddle. Off by default, so that the plain figures are those of thin-film theory; the
        kitchen forms switch it on.

    Steps
    -----
    Fill a ring of 3.5 cm inner radius 2.0 cm high on a level plate, lift it straight up, and after 10 s measure the radius on four sides.
    Level a smooth plate and bring it near the food's temperature.
    Stand the ring in the middle and fill it to its mark; strain out lumps first.
    Lift it straight up in less than half a second, and start the clock.
    At the set second, mark the edge on four sides.
    Measure the four radii from the middle, in cm; weigh the plate if much stayed in the ring.

    Notes
    -----
    Readings are mean radii [cm]. Spreading of a constant volume of a power-law fluid from a cylinder (thin film; Huppert 1982
    for n = 1), one curve of radius against time for each flow index. Flow index 0.2 to 1.2; no radius inside the ring, and no
    puddle taller than eps = V/(pi r^3) = 0.25.

    Examples
    --------
    >>> round(Ring(2.5, 4.0, 30).reading(Fluid(10.0)), 3)
    8.195
    >>> round(Ring(2.5, 4.0, 30).fluid(6.0).consistency_pa_sn, 1)
    121.3
    """

    radius_cm: float = size(3.5, "Ring, inner radius", "cm")
    height_cm: float = size(2.0, "Ring, fill height", "cm")
    seconds: float = size(10.0, "Read after", "s")
    finite_height: bool = False

    name: ClassVar[str] = "ring"

    @property
    def volume_ml(self) -> float:
        """Volume in the ring [mL]."""
        return float(np.pi * self.radius_cm**2 * self.height_cm)

    def slenderness(self, reading: ArrayLike) -> FloatArray:
        """eps = V/(pi r^3): how tall the puddle is for its radius [-]."""
        radius = np.asarray(reading, dtype=float)
        return np.asarray(self.volume_ml / (np.pi * radius * radius * radius))

    def _at(self, ln_tau: Any, n: FloatArray, rho: FloatArray) -> FloatArray:
        return AXI.consistency(ln_tau, n, rho, self.seconds, self.radius_cm, self.height_cm)

    def _reading(self, k: FloatArray, n: FloatArray, rho: FloatArray) -> Any:
        radius = self.radius_cm * AXI.stretch((self._at(0.0, n, rho) / k) ** (1 / n), n)
        if self.finite_height:
            # Height slows the puddle, so the thin radius is the upper end.
            radius = self._searched(k, n, rho, 1.0001 * self.radius_cm, radius, rising=False)
        least = np.min(radius)
        said.refuse(self.slenderness(least) > TALLEST * (1 + 1e-6), "too tall", radius=least)
        return radius

    def _consistency(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        ln_tau = AXI.ln_time(read / self.radius_cm, n)
        if self.finite_height:
            ln_tau = ln_tau + HEIGHT_SLOPE * self.slenderness(read) / n
        return self._at(ln_tau, n, rho)

    def _refusals(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> Sentences:
        least = np.min(read)
        inside, tall = not least > self.radius_cm, self.slenderness(least) > TALLEST
        return {said("inside the ring", radius=least, own=self.radius_cm): inside, said("too tall", radius=least): tall}

    def _doubts(self, reading: float) -> Sentences:
        mm = 10 * self.volume_ml / (np.pi * reading**2)
        thin = {said("its skin", mm=mm): mm < THINNEST_MM, said("thin puddle", mm=mm): THINNEST_MM <= mm < THIN_MM}
        tall, stays = self.slenderness(reading) > 0.12, reading / self.radius_cm < 1.3
        return thin | {said("still tall"): tall, said("hardly left"): stays}

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the plate, at 0.7 of the radius [1/s]."""
        return AXI.floor_rate(self.reading(fluid), fluid.flow_index, self.seconds, self.volume_ml / (2 * np.pi))

    def own_ln_sd(self, reading: float) -> float:
        """Uncertainty of the finite-height correction, or of leaving it out."""
        return HEIGHT_SLOPE * float(self.slenderness(reading)) * (HEIGHT_REL_SD if self.finite_height else 1.0)
