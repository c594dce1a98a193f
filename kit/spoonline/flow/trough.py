"""The trough: open a gate, let the food run down a level channel, read how far it has come after a set time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, G, plain
from spoonline.flow.instrument import Instrument, checked, checked_index
from spoonline.flow.side_walls import LOCK_DEPTHS, STRETCHES, delay
from spoonline.flow.spreading import PLANAR
from spoonline.measures.errors import ReadingError

SHORT_CM = 8.0  # below this the food is as deep as it is long, and mostly held by its yield stress


@dataclass(frozen=True)
class Trough(Instrument):
    """A level trough with a gate (Bostwick's consistometer), 5 cm wide.

    Parameters
    ----------
    volume_ml : float
        Fill behind the gate [mL]; 75, 95 and 100 are usual.
    seconds : float
        Time after opening the gate [s].
    width_cm, lock_cm : float
        Width of the trough, and length behind the gate [cm].
    length_cm : float
        Length of the trough beyond the gate [cm].

    Raises
    ------
    ReadingError
        If the fill is lower than 0.2 or higher than 1.0 of the width.

    Notes
    -----
    Readings are centimetres from the gate. Thin film from a lock with side walls that hold (no slip): the front arrives later
    than between no walls by a factor from a table (side_walls.py). Flow index 0.2 to 1.2. Short readings (below 8 cm) are an
    order of magnitude only. The front counts from the back wall in the law, 5 cm more than the reading.

    Examples
    --------
    >>> round(Trough(95, 30).fluid(15).consistency_pa_sn, 2)
    9.34
    >>> round(Trough(95, 30).reading(Fluid(7.65, 0.6)), 1)
    15.0
    """

    volume_ml: float = 95.0
    seconds: float = 30.0
    width_cm: float = 5.0
    lock_cm: float = 5.0
    length_cm: float = 24.0

    name: ClassVar[str] = "trough"
    unit: ClassVar[str] = "cm from the gate"
    volume_field: ClassVar[str | None] = "volume_ml"

    def __post_init__(self) -> None:
        super().__post_init__()
        if not LOCK_DEPTHS[0] <= self._depth_cm / self.width_cm <= LOCK_DEPTHS[-1]:
            raise ReadingError(
                f"{self.volume_ml:g} mL stand {self._depth_cm:.2g} cm high behind the gate; fill to between {LOCK_DEPTHS[0]:g} and "
                f"{LOCK_DEPTHS[-1]:g} of the width of {self.width_cm:g} cm."
            )

    @property
    def _depth_cm(self) -> float:
        return self.volume_ml / (self.width_cm * self.lock_cm)

    @property
    def _farthest_cm(self) -> float:
        return min(self.length_cm, (STRETCHES[-1] - 1) * self.lock_cm)

    def _unit_time(self, consistency: Any, n: FloatArray, rho: FloatArray) -> FloatArray:
        lock, depth = self.lock_cm / 100, self._depth_cm / 100
        return np.asarray(
            (2 * n + 1) / n * (consistency / (rho * G)) ** (1 / n) * lock ** ((n + 1) / n) * depth ** (-(n + 2) / n)
        )

    def _ln_time(self, stretch: FloatArray, n: FloatArray) -> FloatArray:
        return PLANAR.ln_time(stretch, n) + np.log(delay(stretch, n, self._depth_cm / self.width_cm))

    def reading(self, fluid: Fluid) -> Any:
        """Distance from the gate [cm]; the end of the trough if the fluid would run off it."""
        n, rho = checked_index(fluid.flow_index), np.asarray(fluid.density_kg_m3, dtype=float)
        target = np.log(self.seconds / self._unit_time(fluid.consistency_pa_sn, n, rho))
        target, n = np.broadcast_arrays(target, n)
        low, high = np.full(n.shape, 1e-4), np.full(n.shape, self._farthest_cm / self.lock_cm)
        for _ in range(50):
            middle = np.sqrt(low * high)
            soon = self._ln_time(1 + middle, n) < target
            low, high = np.where(soon, middle, low), np.where(soon, high, middle)
        return plain(self.lock_cm * np.sqrt(low * high))

    def fluid(self, reading: ArrayLike, flow_index: ArrayLike = 1.0, density_kg_m3: ArrayLike = 1050.0) -> Fluid:
        """The fluid that would come this far from the gate [cm].

        Raises
        ------
        ReadingError
            If the reading is no figure above 0 or lies at or beyond the end of the trough.
        """
        front, n = checked(reading, self.name, self.unit), checked_index(flow_index)
        if bool(np.any(front >= self._farthest_cm)):
            raise ReadingError(
                f"A reading of {np.max(front):.3g} cm came, at the trough's end ({self._farthest_cm:g} cm); read earlier, or take a flow cup."
            )
        rho = np.asarray(density_kg_m3, dtype=float)
        late = np.exp(self._ln_time(1 + front / self.lock_cm, n))
        consistency = (self.seconds / (late * self._unit_time(1.0, n, rho))) ** n
        return Fluid(plain(consistency), flow_index, density_kg_m3)

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the floor, at 0.7 of the way from the back wall to the front [1/s]."""
        n = np.asarray(fluid.flow_index, dtype=float)
        front, y = (self.lock_cm + np.asarray(self.reading(fluid))) / 100, 0.7
        deepest = self.volume_ml * 1e-4 / self.width_cm / (front * PLANAR.volume_integral(n))
        depth = deepest * (1 - y ** (n + 1)) ** (1 / (n + 2))
        return plain((2 * n + 1) / n * y * PLANAR.exponent(n) * front / self.seconds / depth)

    def flags(self, reading: float) -> tuple[str, ...]:
        """Doubts: a short reading, or one near the end."""
        found = []
        if reading < SHORT_CM:
            found.append(
                f"The food came {reading:.1f} cm, less than 8 cm: compare centimetres, viscosity is an order of magnitude only. Use the ring."
            )
        if reading > 0.95 * self._farthest_cm:
            found.append("The food is at the end of the trough, where the end wall holds it back: read earlier.")
        return tuple(found)

    def own_ln_sd(self, reading: float) -> float:
        """Uncertainty of the method: a depth that is not small beside the length (judged; no source)."""
        return 0.1 + 0.9 * max(0.0, 1 - reading / SHORT_CM)
