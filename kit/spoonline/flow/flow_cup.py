"""Flow cups: fill a cup with a hole, time how long it takes to run out."""

from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, plain, said
from spoonline.flow.instrument import Instrument, Sentences
from spoonline.measures import one_of, read_table, typed


class CupLaw(NamedTuple):
    """Kinematic viscosity nu = a (t - c) - b/t [mm2/s], t in seconds within a range, hole [mm] and content [mL]."""

    a: float
    c: float
    b: float
    shortest_s: float
    longest_s: float
    hole_mm: float
    volume_ml: float
    source: str
    kind: str


CUPS = {row["name"]: typed(CupLaw, row) for row in read_table("flow_cups.csv")}


@dataclass(frozen=True)
class FlowCup(Instrument):
    """A flow cup by name.

    Parameters
    ----------
    cup : str
        One of ``CUPS``: "ISO 4", "Ford 4", "Zahn 2", ...

    Raises
    ------
    ItemError
        If there is no such cup.

    Steps
    -----
    Fill the cup to the brim, finger under the hole, and time from taking the finger away until the stream breaks.
    Bring cup and food to one temperature; strain out every lump.
    Close the hole with a finger and fill the cup to the brim.
    Take the finger away, and start the clock.
    Watch the stream below the cup.
    Stop when it first breaks; the reading is the time, in s.

    Notes
    -----
    Readings are seconds to run out. The laws hold for Newtonian liquids inside the cup's range of times. For a thinning fluid the law gives
    its viscosity at the wall rate of the hole, 32 V/(pi d^3 t) (3n+1)/(4n) (Poiseuille, nominal), 50 to 1000 1/s.

    Examples
    --------
    >>> round(FlowCup("ISO 4").kinematic_mm2_s(50), 2)
    64.5
    >>> round(FlowCup("Ford 4").reading(Fluid(0.1)), 1)
    29.2
    """

    cup: str = "ISO 4"

    name: ClassVar[str] = "flow cup"

    def __post_init__(self) -> None:
        one_of(CUPS, self.cup, "flow cup")

    @property
    def _law(self) -> CupLaw:
        return CUPS[self.cup]

    def kinematic_mm2_s(self, seconds: ArrayLike) -> Any:
        """Kinematic viscosity of a Newtonian liquid [mm2/s] that takes this long [s]."""
        t, law = np.asarray(seconds, dtype=float), self._law
        return plain(law.a * (t - law.c) - law.b / t)

    def _rate(self, t: FloatArray, n: FloatArray) -> FloatArray:
        law = self._law
        return 32 * law.volume_ml * 1e3 / (np.pi * law.hole_mm**3 * t) * (3 * n + 1) / (4 * n)

    def _consistency(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        return np.asarray(rho * 1e-6 * self.kinematic_mm2_s(read) * self._rate(read, n) ** (1 - n))

    def _reading(self, k: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        law = self._law
        zero = 0.5 * (law.c + np.sqrt(law.c**2 + 4 * law.b / law.a))
        return self._searched(k, n, rho, max(zero, 1e-3), 1e7, rising=True)

    def _refusals(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> Sentences:
        law = self._law
        outside = read[(read < law.shortest_s) | (read > law.longest_s)]
        odd = float(outside[0]) if outside.size else 0.0
        hole = "smaller" if odd < law.shortest_s else "larger"
        ends = {"cup": self.cup, "least": law.shortest_s, "most": law.longest_s}
        return {said("another hole", seconds=odd, hole=hole, **ends): outside.size}

    def _doubts(self, reading: float) -> Sentences:
        first, last = self._law.shortest_s, self._law.longest_s
        lies = said("outside the cup", seconds=reading, least=first, most=last, cup=self.cup)
        return {lies: not first <= reading <= last}

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the wall of the hole, nominal [1/s]."""
        return plain(self._rate(np.asarray(self.reading(fluid)), fluid.parts[1]))
