"""A puddle that has stopped: its yield stress."""

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import Fluid, G, above_zero, plain, said
from spoonline.flow.instrument import checked, that_hold, within
from spoonline.measures import Range, as_said, settle, takes_quantities

# Less growth than this from the first to the later reading counts as stopped (half a millimetre, by eye).
STOPPED_CM = 0.05


@dataclass(frozen=True)
class Slump:
    """A ring lifted from a level plate, read when the puddle no longer moves.

    Parameters
    ----------
    radius_cm, height_cm : float
        Inner radius and fill height of the ring [cm].

    Notes
    -----
    Readings are mean radii at rest [cm]. tau_y = 225 rho g V^2/(128 pi^2 r^5) (Roussel and Coussot 2005, memory; rederived). A
    puddle that still moves gives an upper bound. A thin puddle, V/(pi r^3) below about 0.12.

    Examples
    --------
    >>> round(Slump(2.5, 4.0).reading(Fluid(1.0, yield_stress_pa=10.0)), 2)
    6.47
    >>> round(Slump(2.5, 4.0).yield_stress_pa(6.47), 1)
    10.0
    """

    radius_cm: float
    height_cm: float

    name: ClassVar[str] = "slump"
    unit: ClassVar[str] = "cm at rest"

    def __post_init__(self) -> None:
        settle(self)
        there = above_zero(self.radius_cm) and above_zero(self.height_cm)
        said.refuse(not there, "a ring", radius=as_said(self.radius_cm), height=as_said(self.height_cm))

    @property
    def _scale(self) -> float:
        volume = np.pi * self.radius_cm**2 * self.height_cm * 1e-6
        return float(225 * G * volume**2 / (128 * np.pi**2))

    def reading(self, fluid: Fluid) -> Any:
        """Radius at rest [cm]; ReadingError for a fluid without yield stress, which does not come to rest."""
        tau = np.asarray(fluid.yield_stress_pa, dtype=float)
        said.refuse(not np.all(tau > 0), "no stress")
        return plain(100 * (self._scale * np.asarray(fluid.density_kg_m3) / tau) ** 0.2)

    @takes_quantities
    def yield_stress_pa(self, reading: ArrayLike, density_kg_m3: ArrayLike = 1050.0) -> Any:
        """Yield stress [Pa] at this density [kg/m3]; ReadingError if the reading is no figure above the ring's radius [cm]."""
        radius = checked(reading, self.name, self.unit)
        said.refuse(not np.all(radius > self.radius_cm), "inside the ring", radius=np.min(radius), own=self.radius_cm)
        return plain(self._scale * np.asarray(density_kg_m3) / (radius / 100) ** 5)

    @takes_quantities
    def interval(self, reading: float, reading_sd: float, *, density_kg_m3: float = 1050.0) -> Range:
        """Yield stress with its 95 % interval [Pa] from reading, density [kg/m3] and a 1 % volume (GUM, first order)."""
        best = float(self.yield_stress_pa(reading, density_kg_m3))
        return within(best, float(np.hypot(5 * reading_sd / reading, 2 * 0.01)))

    @takes_quantities
    def flags(self, reading: float, later: float | None = None) -> tuple[str, ...]:
        """Doubts: it still moves, or it is too tall for a thin film."""
        still = self.radius_cm**2 * self.height_cm / reading**3 > 0.12
        after = reading if later is None else later
        moves = said("went on", radius=reading, after=after)
        return that_hold({moves: after - reading > STOPPED_CM, said("rough stress"): still})
