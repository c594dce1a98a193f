"""The water phase that a dose goes into: it turns grams of a thickener into a concentration."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

# Dry part of a thickener as bought; moisture of maize starch is 8-12 % (USDA SR28: 8.3 %; memory: 12 %).
DRY_SHARE = 0.89


class Pot(NamedTuple):
    """The water phase that a dose goes into, per litre of liquid.

    ``water_g_per_l`` is all water but the thickener's own, after evaporation [g per L of liquid]; ``other_starch_g_per_l`` is dry
    starch from elsewhere, as maize starch [g per L of liquid].
    """

    water_g_per_l: float = 998.0
    other_starch_g_per_l: float = 0.0

    def percent(self, dose_g_per_l: ArrayLike, strength: float = 1.0) -> Any:
        """Dry maize-starch equivalent of a dose of thickener as bought [g/L], in per cent of starch and water.

        ``strength`` is the maize starch that does the work of 1 g of it.

        Examples
        --------
        >>> round(float(Pot(1000.0).percent(34.0)), 2)
        2.93
        """
        dose = np.asarray(dose_g_per_l, dtype=float)
        dry = DRY_SHARE * strength * dose + self.other_starch_g_per_l
        return 100 * dry / (dry + self.water_g_per_l + (1 - DRY_SHARE) * dose)

    def dose(self, percent: ArrayLike, strength: float = 1.0) -> Any:
        """Dose [g/L] that reaches a concentration; 0 below what is there anyway, infinite where none does."""
        share = np.asarray(percent, dtype=float) / 100
        wanted = share * (self.water_g_per_l + self.other_starch_g_per_l) - self.other_starch_g_per_l
        per_gram = DRY_SHARE * strength - share * (DRY_SHARE * strength + 1 - DRY_SHARE)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(per_gram > 0, np.maximum(wanted, 0.0) / per_gram, np.inf)

    def leverage(self, dose_g_per_l: ArrayLike, strength: float = 1.0) -> Any:
        """Relative change of the concentration for a small relative change of the dose (nearly 1)."""
        dose = np.asarray(dose_g_per_l, dtype=float)
        own = DRY_SHARE * strength * dose
        dry = own + self.other_starch_g_per_l
        return own / dry - (own + (1 - DRY_SHARE) * dose) / (dry + self.water_g_per_l + (1 - DRY_SHARE) * dose)
