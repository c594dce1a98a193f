"""The ring test: fill a ring on a level plate, lift it, read the radius of the puddle after a set time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, G, plain
from spoonline.flow.instrument import Instrument, checked, checked_index
from spoonline.flow.spreading import AXI, in_chunks
from spoonline.measures.errors import ReadingError

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

    Notes
    -----
    Readings are mean radii [cm]. Spreading of a constant volume of a power-law fluid from a cylinder (thin film; Huppert 1982
    for n = 1), one curve of radius against time for each flow index. Flow index 0.2 to 1.2.

    Examples
    --------
    >>> round(Ring(2.5, 4.0, 30).reading(Fluid(10.0)), 3)
    8.195
    >>> round(Ring(2.5, 4.0, 30).fluid(6.0).consistency_pa_sn, 1)
    121.3
    """

    radius_cm: float
    height_cm: float
    seconds: float
    finite_height: bool = False

    name: ClassVar[str] = "ring"
    unit: ClassVar[str] = "cm"
    volume_field: ClassVar[str | None] = "height_cm"

    @property
    def volume_ml(self) -> float:
        """Volume in the ring [mL]."""
        return float(np.pi * self.radius_cm**2 * self.height_cm)

    def slenderness(self, reading: ArrayLike) -> FloatArray:
        """eps = V/(pi r^3): how tall the puddle is for its radius [-]."""
        radius = np.asarray(reading, dtype=float)
        return np.asarray(self.volume_ml / (np.pi * radius * radius * radius))

    def _thin_radius(self, consistency: Any, n: FloatArray, rho: Any) -> FloatArray:
        r0, h0 = self.radius_cm / 100, self.height_cm / 100
        unit_time = (2 * n + 1) / n * (consistency / (rho * G)) ** (1 / n) * r0 ** ((n + 1) / n) * h0 ** (-(n + 2) / n)
        return np.asarray(self.radius_cm * AXI.stretch(self.seconds / unit_time, n))

    def reading(self, fluid: Fluid) -> Any:
        """Radius of the puddle [cm]."""
        n, rho = checked_index(fluid.flow_index), np.asarray(fluid.density_kg_m3, dtype=float)
        consistency = np.asarray(fluid.consistency_pa_sn, dtype=float)
        radius = self._thin_radius(consistency, n, rho)
        if self.finite_height:
            # Height slows the puddle, so the thin radius is the upper end; halved until the consistency is that of the fluid.
            wanted, n, rho, high = np.broadcast_arrays(consistency, n, rho, radius)
            low = np.full(wanted.shape, 1.0001 * self.radius_cm)
            for _ in range(56):
                radius = np.sqrt(low * high)
                thicker = self._consistency(radius, n, rho) > wanted
                low, high = np.where(thicker, radius, low), np.where(thicker, high, radius)
        return plain(radius)

    def fluid(self, reading: ArrayLike, flow_index: ArrayLike = 1.0, density_kg_m3: ArrayLike = 1050.0) -> Fluid:
        """The fluid that would spread to this radius [cm].

        Raises
        ------
        ReadingError
            If the reading is no figure above 0, lies inside the ring, or the puddle is too tall for the theory (eps > 0.25).
        """
        radius, n = checked(reading, self.name, self.unit), checked_index(flow_index)
        rho = np.asarray(density_kg_m3, dtype=float)
        if not bool(np.min(radius) > self.radius_cm):
            raise ReadingError(
                f"A radius of {np.min(radius):.3g} cm came, inside the ring's own {self.radius_cm:g} cm; type the radius of the puddle "
                "(half its width), or wait longer."
            )
        if bool(np.any(self.slenderness(np.min(radius)) > TALLEST)):
            raise ReadingError(
                f"The puddle of {np.min(radius):.3g} cm is too tall for this test; wait longer, use a lower ring, or use the spatula."
            )
        consistency = in_chunks(self._consistency, radius, n, rho)
        return Fluid(plain(consistency), flow_index, density_kg_m3)

    def _consistency(self, radius: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        # All powers as one exponential: a million readings take little longer than one power of as many figures.
        ln_r0, ln_h0 = np.log(self.radius_cm / 100), np.log(self.height_cm / 100)
        ln_time = np.log(n / (2 * n + 1)) + np.log(self.seconds) - AXI.ln_time(radius / self.radius_cm, n)
        ln_k = n * (ln_time + ln_h0 - ln_r0) + (2 * ln_h0 - ln_r0)
        if self.finite_height:
            ln_k -= HEIGHT_SLOPE * self.slenderness(radius)
        return np.asarray(rho * G * np.exp(ln_k))

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the plate, at 0.7 of the radius [1/s]."""
        n = np.asarray(fluid.flow_index, dtype=float)
        radius = np.asarray(self.reading(fluid)) / 100
        y = 0.7
        centre = self.volume_ml * 1e-6 / (2 * np.pi * radius**2 * AXI.volume_integral(n))
        height = centre * (1 - y ** (n + 1)) ** (1 / (n + 2))
        return plain((2 * n + 1) / n * y * AXI.exponent(n) * radius / self.seconds / height)

    def flags(self, reading: float) -> tuple[str, ...]:
        """Doubts: a thin puddle, a tall one, or one that has hardly moved."""
        found = []
        thickness_mm = 10 * self.volume_ml / (np.pi * reading**2)
        if thickness_mm < THINNEST_MM:
            found.append(
                f"The puddle is {thickness_mm:.1f} mm thin, less than 3 mm: its own skin stops it. Use the spatula, or read earlier."
            )
        elif thickness_mm < THIN_MM:
            found.append(
                f"The puddle is {thickness_mm:.1f} mm thin, less than 4 mm: not reliable. Use the spatula, or read earlier."
            )
        if float(self.slenderness(reading)) > 0.12:
            found.append("The puddle is still tall, so the range is wide: wait longer, or use a lower ring.")
        if reading / self.radius_cm < 1.3:
            found.append("The puddle has hardly left the ring: wait longer.")
        return tuple(found)

    def own_ln_sd(self, reading: float) -> float:
        """Uncertainty of the finite-height correction, or of leaving it out."""
        eps = float(self.slenderness(reading))
        return HEIGHT_SLOPE * eps * (HEIGHT_REL_SD if self.finite_height else 1.0)
