"""The spatula test: dip a flat spatula, let it drain, weigh what it holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import Fluid, G, plain
from spoonline.flow.instrument import Instrument, checked, checked_index
from spoonline.measures.errors import ReadingError

# The drop that hangs at the lower edge, per cm of width [g] (half a capillary length squared; touch it off on the rim).
EDGE_DROP_G_PER_CM = 0.025
STIFFEST_PA_S = 40.0
THICKEST_MM = 5.0  # a mean film beyond this is the blade's own weight, not food (common practice, no source)


@dataclass(frozen=True)
class Spatula(Instrument):
    """A flat, square-edged spatula or card, wet to ``length_cm``, drained upright for ``seconds``, then weighed.

    Parameters
    ----------
    length_cm : float
        Wet length [cm].
    width_cm : float
        Width [cm].
    seconds : float
        Draining time [s], from half-way through the pull.
    angle_deg : float
        Lean from upright [degree], as good as 0.
    faces : int
        1 for readings in grams per wet side; 2 where the reading is what both wet sides hold together.

    Notes
    -----
    Readings are grams per wet side. Draining film (Jeffreys 1930 for n = 1, rederived for a
    power law): h = (K/(rho g))^(1/(n+1)) (z/t)^(n/(n+1)), m = rho w L h(L) (n+1)/(2n+1). Holds from about 0.1 to 40 Pa s.

    Examples
    --------
    >>> round(Spatula(5, 4, 10).reading(Fluid(5, 0.5)), 4)
    1.6638
    >>> round(Spatula(5, 4, 30).fluid(1.2594).consistency_pa_sn, 2)
    5.0
    """

    length_cm: float
    width_cm: float
    seconds: float
    angle_deg: float = 1e-9
    faces: int = 1

    name: ClassVar[str] = "spatula"
    unit: ClassVar[str] = "g per wet side"

    @property
    def _pull(self) -> float:
        return G * float(np.cos(np.radians(self.angle_deg)))

    def _film_m(self, fluid: Fluid) -> Any:
        n = np.asarray(fluid.flow_index, dtype=float)
        weight = np.asarray(fluid.density_kg_m3) * self._pull
        return (fluid.consistency_pa_sn / weight) ** (1 / (n + 1)) * (self.length_cm / 100 / self.seconds) ** (
            n / (n + 1)
        )

    def _thickness_mm(self, volume_ml: float) -> float:
        return 1e4 * volume_ml / (self.length_cm * self.width_cm * self.faces)

    def reading(self, fluid: Fluid) -> Any:
        """Mass held per wet side [g]."""
        n = np.asarray(fluid.flow_index, dtype=float)
        area = self.width_cm * self.length_cm / 1e4
        return plain(
            1000 * self.faces * np.asarray(fluid.density_kg_m3) * area * (n + 1) / (2 * n + 1) * self._film_m(fluid)
        )

    def fluid(self, reading: ArrayLike, flow_index: ArrayLike = 1.0, density_kg_m3: ArrayLike = 1050.0) -> Fluid:
        """The fluid that would leave this mass per wet side [g].

        Raises
        ------
        ReadingError
            If the reading is not a figure above 0, more than a film of 5 mm, or the flow index lies outside 0.2 to 1.2.
        """
        mass, n = checked(reading, self.name, self.unit), checked_index(flow_index)
        rho = np.asarray(density_kg_m3, dtype=float)
        length, width = self.length_cm / 100, self.width_cm / 100
        if self._thickness_mm(float(np.max(mass / rho))) > THICKEST_MM:
            raise ReadingError(
                f"{np.max(mass):.3g} g on the spatula came, a film more than {THICKEST_MM:g} mm thick; take the spatula's own weight off, "
                "or use the ring."
            )
        film = (2 * n + 1) / (n + 1) * mass / 1000 / (rho * width * length * self.faces)
        return Fluid(
            plain(rho * self._pull * film ** (n + 1) * (self.seconds / length) ** n), flow_index, density_kg_m3
        )

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the face, at the lower end of the film [1/s]."""
        return fluid.shear_rate(np.asarray(fluid.density_kg_m3) * self._pull * self._film_m(fluid))

    def own_ln_sd(self, reading: float) -> float:
        """Uncertainty of the method, on ln viscosity: edges, wetting and the drop touched off by hand (judged: 3 % and 0.3 drops)."""
        drop = EDGE_DROP_G_PER_CM * self.width_cm * self.faces
        # A relative error of the mass counts n + 1 times in the viscosity; 1.5 for a starch dish.
        return 1.5 * float(np.hypot(0.03, 0.3 * drop / reading))

    def flags(self, reading: float) -> tuple[str, ...]:
        """Doubts: the edge drop counts, or the fluid is too stiff to have drained."""
        found = []
        drop = EDGE_DROP_G_PER_CM * self.width_cm
        if reading < 3 * drop * self.faces:
            found.append(
                f"So little stays on the spatula that the drop at its edge (about {drop:.1f} g) counts: wait less, or use a longer spatula."
            )
        too_much = self._thickness_mm(reading / 1050.0) > THICKEST_MM
        if too_much or float(self.fluid(reading).consistency_pa_sn) > STIFFEST_PA_S * self.seconds / 30:
            found.append(
                "So much stays on the spatula that it had not finished draining: wait longer, or use the ring."
            )
        return tuple(found)

    def start_up_seconds(self, fluid: Fluid, first_film_mm: float = 3.0) -> Any:
        """Time until the film has forgotten the dip [s]; drain for twice this, and five times the pull.

        Examples
        --------
        >>> round(Spatula(5, 4, 10).start_up_seconds(Fluid(5.0)), 1)
        2.7
        """
        n, film = np.asarray(fluid.flow_index, dtype=float), first_film_mm / 1000
        weight = np.asarray(fluid.density_kg_m3) * self._pull
        return plain(self.length_cm / 100 * (fluid.consistency_pa_sn / weight) ** (1 / n) / film ** ((n + 1) / n))

    def yields(self, first_g: float, later_g: float, later_seconds: float, flow_index: float = 0.5) -> bool:
        """Whether two weighings fall less than a fluid without yield stress would (common 10 s and 40 s).

        Examples
        --------
        >>> Spatula(5, 4, 10).yields(1.0, 0.63, 40), Spatula(5, 4, 10).yields(1.0, 0.9, 40)
        (False, True)
        """
        expected = (self.seconds / later_seconds) ** (flow_index / (flow_index + 1))
        return bool(later_g / first_g > 1.1 * expected)
