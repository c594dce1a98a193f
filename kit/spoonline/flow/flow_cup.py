"""Flow cups: fill a cup with a hole, time how long it takes to run out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, plain
from spoonline.flow.instrument import Instrument, Said
from spoonline.measures.errors import ItemError


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


_ISO = "memory (ISO 2431; orifices read, rycobel.com/standards/iso-2431)"
_CANNON = "read (cannoninstrument.com, after ASTM D4212 / D1200); hole and content memory"
_OIL = (
    "read (testingmethodsop.blogspot.com 2022, confirmed by oil rows of cannoninstrument.com); hole and content memory"
)
CUPS: dict[str, CupLaw] = {
    "ISO 3": CupLaw(0.443, 0, 200, 30, 100, 3.0, 100, _ISO),
    "ISO 4": CupLaw(1.37, 0, 200, 30, 100, 4.0, 100, _ISO),
    "ISO 5": CupLaw(3.28, 0, 220, 30, 100, 5.0, 100, _ISO),
    "ISO 6": CupLaw(6.90, 0, 570, 30, 100, 6.0, 100, _ISO),
    "Ford 1": CupLaw(0.49, 35.0, 0, 55, 100, 2.1, 100, _CANNON),
    "Ford 2": CupLaw(1.44, 18.0, 0, 40, 100, 2.53, 100, _CANNON),
    "Ford 3": CupLaw(2.31, 6.58, 0, 20, 100, 3.4, 100, _OIL),
    "Ford 4": CupLaw(3.85, 4.49, 0, 20, 100, 4.12, 100, _OIL),
    "Ford 5": CupLaw(12.1, 2.0, 0, 20, 100, 5.2, 100, _OIL),
    "Zahn 1": CupLaw(1.1, 29.0, 0, 35, 80, 2.0, 44, _CANNON),
    "Zahn 2": CupLaw(3.5, 14.0, 0, 20, 80, 2.7, 44, _CANNON),
    "Zahn 3": CupLaw(11.7, 7.5, 0, 20, 80, 3.8, 44, _CANNON),
    "Zahn 4": CupLaw(14.8, 5.0, 0, 20, 80, 4.3, 44, _CANNON),
    "Zahn 5": CupLaw(23.0, 0, 0, 20, 80, 5.3, 44, _CANNON),
}


@dataclass(frozen=True)
class FlowCup(Instrument):
    """A flow cup by name, or a kitchen funnel with a law of its own.

    Parameters
    ----------
    cup : str
        One of ``CUPS`` ("ISO 4", "Ford 4", "Zahn 2", ...), or any name if ``law`` is given.
    law : CupLaw, optional
        Law of a funnel, from :func:`spoonline.flow.calibrate`.

    Raises
    ------
    ItemError
        If there is no such cup.

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
    law: CupLaw | None = None

    name: ClassVar[str] = "flow cup"
    unit: ClassVar[str] = "s"
    own_sd: ClassVar[float] = 0.04  # of the cup's law (judged: a few per cent)

    def __post_init__(self) -> None:
        if self.law is None and self.cup not in CUPS:
            raise ItemError(
                f"{self.cup!r} is no flow cup here; choose one of {', '.join(CUPS)}, or give its law.", list(CUPS)
            )

    @property
    def _law(self) -> CupLaw:
        return self.law if self.law is not None else CUPS[self.cup]

    def kinematic_mm2_s(self, seconds: ArrayLike) -> Any:
        """Kinematic viscosity of a Newtonian liquid [mm2/s] that takes this long [s]."""
        t, law = np.asarray(seconds, dtype=float), self._law
        return plain(law.a * (t - law.c) - law.b / t)

    def _rate(self, t: FloatArray, n: FloatArray) -> FloatArray:
        law = self._law
        return 32 * law.volume_ml * 1e3 / (np.pi * law.hole_mm**3 * t) * (3 * n + 1) / (4 * n)

    def _consistency(self, shown: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        return np.asarray(rho * 1e-6 * self.kinematic_mm2_s(shown) * self._rate(shown, n) ** (1 - n))

    def _shown(self, k: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        law = self._law
        zero = 0.5 * (law.c + np.sqrt(law.c**2 + 4 * law.b / law.a))
        return self._searched(k, n, rho, max(zero, 1e-3), 1e7, rising=True)

    def _refusals(self, shown: FloatArray, n: FloatArray, rho: FloatArray) -> Said:
        law = self._law
        outside = shown[(shown < law.shortest_s) | (shown > law.longest_s)]
        odd = float(outside[0]) if outside.size else 0.0
        said = (
            f"{odd:.3g} s came; the {self.cup} cup reads from {law.shortest_s:g} to {law.longest_s:g} s: take a cup with a "
            f"{'smaller' if odd < law.shortest_s else 'larger'} hole."
        )
        return {said: outside.size}

    def _doubts(self, reading: float) -> Said:
        first, last = self._law.shortest_s, self._law.longest_s
        said = f"{reading:.3g} s lies outside the {first:g} to {last:g} s of the {self.cup} cup: take another hole."
        return {said: not first <= reading <= last}

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the wall of the hole, nominal [1/s]."""
        return plain(self._rate(np.asarray(self.reading(fluid)), fluid.parts[1]))
