"""The trough: open a gate, let the food run down a level channel, read how far it has come after a set time.

What its side walls hold back, how much later its front arrives than between no walls, holds ``trough.csv`` beside this file, by depth of
the lock over width, stretch and flow index; ``tests/flow/side_walls.py`` makes it again.
"""

import functools
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, said
from spoonline.flow.instrument import Instrument, Sentences, size
from spoonline.flow.spreading import INDICES, PLANAR

TROUGH = Path(__file__).with_name("trough.csv")
LOCK_DEPTHS = (0.2, 1.0)  # h0/W of the table, least and most
STRETCHES = (1.03, 6.0)  # X of the table


@functools.cache
def _table() -> Any:
    """n/depth ln(delay) over lock depth, stretch and n."""
    from scipy.interpolate import RegularGridInterpolator

    rows = np.loadtxt(TROUGH, delimiter=",", skiprows=1)
    depth, stretch, index = np.unique(rows[:, 0]), np.unique(rows[:, 1]), np.array(INDICES)
    values = (np.log(rows[:, 2:]) * index / rows[:, :1]).reshape(depth.size, stretch.size, index.size)
    axes = depth, np.log(stretch) ** 0.5, index
    # An end that rounds to just beyond the table is drawn on to.
    return RegularGridInterpolator(axes, values, "cubic", bounds_error=False, fill_value=None)


def delay(stretch: ArrayLike, n: ArrayLike, lock_depth: float) -> FloatArray:
    """How many times later the front of a trough arrives than without side walls.

    ``stretch``: front over lock length, both from the back wall, 1 to 6; ``lock_depth``: depth over width, h0/W, 0.2 to 1.

    Examples
    --------
    >>> float(delay(2.0, 1.0, 0.76)) > float(delay(4.0, 1.0, 0.76)) > 1
    True
    """
    grown = np.log(np.clip(np.asarray(stretch, dtype=float), *STRETCHES)) ** 0.5
    index = np.asarray(n, dtype=float)
    return np.asarray(np.exp(_table()((lock_depth, grown, index)) * lock_depth / index))


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
    width_cm, lock_cm, length_cm : float
        Width of the trough, length behind the gate and beyond it [cm].

    Raises
    ------
    ReadingError
        If the fill is lower than 0.2 or higher than 1.0 of the width.

    Steps
    -----
    Fill 95 mL behind the gate of a level trough 5 cm wide, open the gate, and after 30 s read how far the food has come.
    Level the trough; it should be 5 cm wide, with a gate 5 cm from the back wall.
    Fill the measured volume behind the gate and level it off.
    Open the gate at once, and start the clock.
    At the set second, mark where the front stands in the middle.
    Read the distance from the gate, in cm.

    Notes
    -----
    Readings are centimetres from the gate, the end of the trough where the fluid would run off it. Thin film from a lock with side
    walls that hold (no slip): the front arrives later than between no walls by a factor from a table (trough.csv). Flow index
    0.2 to 1.2. Short readings (below 8 cm) are an order of magnitude only. The front counts from the back wall in the law, 5 cm
    more than the reading.

    Examples
    --------
    >>> round(Trough(95, 30).fluid(15).consistency_pa_sn, 2)
    9.34
    >>> round(Trough(95, 30).reading(Fluid(7.65, 0.6)), 1)
    15.0
    """

    volume_ml: float = size(95.0, "Trough, filled behind the gate", "mL")
    seconds: float = size(30.0, "Read after", "s")
    width_cm: float = 5.0
    lock_cm: float = 5.0
    length_cm: float = 24.0

    name: ClassVar[str] = "trough"

    def __post_init__(self) -> None:
        super().__post_init__()
        least, most = LOCK_DEPTHS
        known = {"ml": self.volume_ml, "deep": self._depth_cm, "width": self.width_cm, "least": least, "most": most}
        said.refuse(not least <= self._depth_cm / self.width_cm <= most, "fill of a trough", **known)

    @property
    def _depth_cm(self) -> float:
        return self.volume_ml / (self.width_cm * self.lock_cm)

    @property
    def _farthest_cm(self) -> float:
        return min(self.length_cm, (STRETCHES[-1] - 1) * self.lock_cm)

    def _reading(self, k: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        return self._searched(k, n, rho, 1e-4 * self.lock_cm, self._farthest_cm, rising=False)

    def _consistency(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        stretch = 1 + read / self.lock_cm
        ln_tau = PLANAR.ln_time(stretch, n) + np.log(delay(stretch, n, self._depth_cm / self.width_cm))
        return PLANAR.consistency(ln_tau, n, rho, self.seconds, self.lock_cm, self._depth_cm)

    def _refusals(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> Sentences:
        far, end = np.max(read), self._farthest_cm
        return {said("end of the trough", far=far, end=end): far >= end}

    def _doubts(self, reading: float) -> Sentences:
        near_end = reading > 0.95 * self._farthest_cm
        return {said("short of 8 cm", far=reading): reading < SHORT_CM, said("at the end wall"): near_end}

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the floor, at 0.7 of the way from the back wall to the front [1/s]."""
        front_cm = self.lock_cm + np.asarray(self.reading(fluid))
        return PLANAR.floor_rate(front_cm, fluid.flow_index, self.seconds, self.volume_ml / self.width_cm)

    def own_ln_sd(self, reading: float) -> float:
        """Uncertainty of the method: a depth that is not small beside the length (judged; no source)."""
        return 0.1 + 0.9 * max(0.0, 1 - reading / SHORT_CM)
