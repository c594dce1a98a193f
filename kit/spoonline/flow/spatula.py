"""The spatula test: dip a flat spatula, let it drain, weigh what it holds."""

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from spoonline.flow.fluid import FloatArray, Fluid, G, power, said
from spoonline.flow.instrument import Instrument, Sentences, size

# The drop that hangs at the lower edge, per cm of width [g] (half a capillary length squared; touch it off on the rim).
EDGE_DROP_G_PER_CM = 0.025
STIFFEST_PA_S = 40.0
THICKEST_MM = 5.0  # a mean film beyond this is the blade's own weight, not food (common practice, no source)


@dataclass(frozen=True)
class Spatula(Instrument):
    """A flat, square-edged spatula or card, wet to ``length_cm``, drained upright for ``seconds``, then weighed.

    Parameters
    ----------
    length_cm, width_cm : float
        Wet length and width [cm].
    seconds : float
        Draining time [s], from half-way through the pull.

    Steps
    -----
    Dip a flat spatula 10 cm wide 8 cm deep, pull it out, let it drain upright for 10 s, touch off the drop, weigh what stays on it and halve it.
    Warm a flat, square-edged spatula in the food; strain out lumps first.
    Weigh a small plate, or set the scale to zero with it.
    Dip the spatula to its mark, pull it straight out, and start the clock half-way through the pull.
    Hold it upright; at the set second touch the drop at its edge off on the rim.
    Weigh what it holds, in g; both sides are wet, so type half of it.

    Notes
    -----
    Readings are grams per wet side, of a mean film of 5 mm at the most. Draining film (Jeffreys 1930 for n = 1, rederived for a
    power law): h = (K/(rho g))^(1/(n+1)) (z/t)^(n/(n+1)), m = rho w L h(L) (n+1)/(2n+1). Holds from about 0.1 to 40 Pa s.

    Examples
    --------
    >>> round(Spatula(5, 4, 10).reading(Fluid(5, 0.5)), 4)
    1.6638
    >>> round(Spatula(5, 4, 30).fluid(1.2594).consistency_pa_sn, 2)
    5.0
    """

    length_cm: float = size(8.0, "Spatula, wet length", "cm")
    width_cm: float = size(10.0, "Spatula, width", "cm")
    seconds: float = size(10.0, "Read after", "s")

    name: ClassVar[str] = "spatula"

    @property
    def _area_cm2(self) -> float:
        return self.length_cm * self.width_cm

    def _film_m(self, k: Any, n: Any, rho: Any) -> Any:
        speed = self.length_cm / 100 / self.seconds
        return power(k / (rho * G), 1 / (n + 1)) * speed ** (n / (n + 1))

    def _reading(self, k: Any, n: Any, rho: Any) -> Any:
        return 0.1 * self._area_cm2 * rho * (n + 1) / (2 * n + 1) * self._film_m(k, n, rho)

    def _consistency(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray:
        film = (2 * n + 1) / (n + 1) * 10 * read / (rho * self._area_cm2)
        return np.asarray(rho * G * power(film, n + 1) * (100 * self.seconds / self.length_cm) ** n)

    def _too_thick(self, mass_g: Any, rho: Any) -> bool:
        return float(np.max(mass_g / rho)) * 1e4 / self._area_cm2 > THICKEST_MM

    def _refusals(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> Sentences:
        return {said("own weight", grams=np.max(read), mm=THICKEST_MM): self._too_thick(read, rho)}

    def _doubts(self, reading: float) -> Sentences:
        drop = EDGE_DROP_G_PER_CM * self.width_cm
        stiffest = STIFFEST_PA_S * self.seconds / 30
        stiff = self._too_thick(reading, 1050.0) or self.fluid(reading).consistency_pa_sn > stiffest
        return {said("the drop", drop=drop): reading < 3 * drop, said("still drains"): stiff}

    def shear_rate(self, fluid: Fluid) -> Any:
        """Shear rate at the face, at the lower end of the film [1/s]."""
        return fluid.shear_rate(fluid.parts[2] * G * self._film_m(*fluid.parts))

    def own_ln_sd(self, reading: float) -> float:
        """Uncertainty of the method, on ln viscosity: edges, wetting and the drop touched off by hand (judged: 3 % and 0.3 drops)."""
        drop = EDGE_DROP_G_PER_CM * self.width_cm
        # A relative error of the mass enters n + 1 times in the viscosity; 1.5 for a starch dish.
        return 1.5 * float(np.hypot(0.03, 0.3 * drop / reading))
