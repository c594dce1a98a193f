"""What is believed of a thickener before the first batch.

Model of the starch part of a hot liquid's viscosity: E (c/c_ref)^b, c the dry starch (as maize starch) in per cent of starch
and water. It is a straight line in logs; close packing bends it, so it is trusted near the doses tried only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, logit

from spoonline import facts
from spoonline.flow.fluid import GAS_CONSTANT
from spoonline.pots.thickness import ACTIVATION_KJ, ACTIVATION_KJ_SD, FLOW_INDEX, FLOW_INDEX_SD
from spoonline.pots.water import Pot

REFERENCE_C, REFERENCE_PER_S = 60.0, 50.0


def water_pa_s(temperature_c: float) -> float:
    """Viscosity of water [Pa s], 0 to 100 C, by the simplified IAPWS formula (memory, high).

    Examples
    --------
    >>> round(1000 * water_pa_s(20.0), 4)
    1.0016
    """
    t = (temperature_c + 273.15) / 300
    return 1e-6 * float(280.68 * t**-1.9 + 511.45 * t**-7.7 + 61.131 * t**-19.6 + 0.45903 * t**-40)


# The level's spread is wider than the pastes alone say (0.50): starches differ by some 25 % in strength, and only with 0.70 do
# the 90 % ranges hold in nine of ten rehearsed kitchens from the first pot on.
@dataclass(frozen=True)
class Prior:
    """Beliefs about one thickener before any batch; judged, so that a kitchen's own history replaces them.

    Attributes
    ----------
    thickener, source : str
        Its name, and where the figures come from.
    level_pa_s, level_ln_sd : float
        Viscosity of the starch part at ``reference_percent``, 60 C and 50 1/s in water [Pa s], and its spread (ln).
    exponent, exponent_sd : float
        Slope of ln viscosity against ln concentration, and its spread.
    strength, strength_ln_sd : float
        Maize starch that does the work of 1 g of the product, and its spread (ln).
    reference_percent : float
        Concentration at which the level is given [%, dry, as maize starch].
    activation_kj_mol, activation_sd, flow_index, flow_index_sd : float
        Temperature dependence [kJ/mol], and shear-thinning exponent n, used only to move the level to another shear rate.
    batch_sd, batch_df : float
        Pot-to-pot spread of ln viscosity, and how many pots that figure is worth.
    base_pa_s, base_ln_sd : float
        Viscosity of the liquid without thickener where nobody measured it [Pa s], and its spread (ln).
    """

    thickener: str
    level_pa_s: float = 0.20
    level_ln_sd: float = 0.70
    exponent: float = 3.0
    exponent_sd: float = 0.5
    strength: float = 1.0
    strength_ln_sd: float = 0.0
    reference_percent: float = 4.0
    activation_kj_mol: float = ACTIVATION_KJ
    activation_sd: float = ACTIVATION_KJ_SD
    flow_index: float = FLOW_INDEX
    flow_index_sd: float = FLOW_INDEX_SD
    batch_sd: float = 0.20
    batch_df: float = 4.0
    base_pa_s: float = 0.010
    base_ln_sd: float = 1.7
    source: str = "judged from published maize pastes (0.9-8 %, 15-95 C) and trade doses"

    def level(
        self, temperature_c: float = REFERENCE_C, shear_rate_per_s: float = REFERENCE_PER_S
    ) -> tuple[float, float]:
        """Mean and spread of ln level [ln Pa s] at a temperature and shear rate.

        Examples
        --------
        >>> mean, spread = prior_for("corn starch").level(20.0)
        >>> round(math.exp(mean) / 0.20, 2)
        2.31
        """
        warmth = 1 / GAS_CONSTANT * (1 / (temperature_c + 273.15) - 1 / (REFERENCE_C + 273.15))
        rate = math.log(shear_rate_per_s / REFERENCE_PER_S)
        mean = math.log(self.level_pa_s) + self.activation_kj_mol * warmth + (self.flow_index - 1) * rate
        parts = (self.exponent * self.strength_ln_sd, self.activation_sd * warmth, self.flow_index_sd * rate)
        return mean, math.hypot(self.level_ln_sd, *parts)


def prior_for(thickener: str | Prior) -> Prior:
    """Return what is believed of a thickener, by a name that the facts know, before the first batch; beliefs of one's own as they are.

    Raises
    ------
    ItemError
        If no such thickener is known.

    Examples
    --------
    >>> prior_for("wheat flour").strength
    0.58
    """
    if isinstance(thickener, Prior):
        return thickener
    row = facts.thickener(str(thickener))
    slope = (row.exponent, row.exponent_sd, row.strength)
    if row.law is None:
        return Prior(row.name, Prior.level_pa_s, Prior.level_ln_sd, *slope, row.strength_ln_sd)
    # a gum's own level lies inside its published thickness classes
    dose, level, spread, warmth, warmth_sd, index = row.law
    # the level is known at a dose, so the strength only places it on the maize scale and adds no spread
    at = float(Pot().percent(dose, row.strength))
    source = "judged from published dose pairs"
    return Prior(row.name, level, spread, *slope, 0.0, at, warmth, warmth_sd, index, source=source)


def ln_concentration(dose_g_per_l: ArrayLike, prior: Prior, pot: Pot) -> NDArray[np.float64]:
    """Return ln of concentration over the prior's reference at each dose."""
    return np.asarray(np.log(pot.percent(dose_g_per_l, prior.strength) / prior.reference_percent))


def base_grid(prior: Prior, least_pa_s: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Base viscosities [Pa s] below the least reading, with the log weight that the prior gives each.

    Even steps in the logit of base/least (or in ln base before any reading) put points where the curve is sensitive to it.
    """
    centre, spread = np.log(prior.base_pa_s), prior.base_ln_sd
    outer, even = centre + 3.5 * spread * np.array([-1, 1]), np.zeros(1)
    if np.isfinite(least_pa_s):
        low, high = logit(np.clip(np.exp(outer) / least_pa_s, 1e-6, 1 - 1e-3))
        z = np.linspace(min(low, high - 4), high, max(12, int((high - low) / 0.5)))
        ln_base, even = np.log(least_pa_s) + np.log(expit(z)), np.log(expit(-z))
    else:
        ln_base = np.linspace(outer[0], outer[1], 22)
    return np.exp(ln_base), even - ((ln_base - centre) / spread) ** 2 / 2


def noise_grid(prior: Prior, batches: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Pot-to-pot spreads s, evenly in ln s, with the log weight of the scaled-inverse-chi2 prior at each."""
    df, s0 = prior.batch_df, prior.batch_sd
    step = min(0.5, 1.7 / np.sqrt(2 * (df + batches)))
    ln_ratio = np.arange(-1.4, 2.6, step)
    return s0 * np.exp(ln_ratio), -df * ln_ratio - df / 2 * np.exp(-2 * ln_ratio)


def slope_parts(prior: Prior, x_sd: float) -> tuple[NDArray[np.float64], float]:
    """Centres (about the prior's) and spread of narrower bells that add up to the prior of the slope.

    Where doses are uncertain the scatter they cause depends on the slope itself; within a narrow bell it hardly varies.
    """
    if x_sd < 0.02:
        return np.zeros(1), prior.exponent_sd
    return prior.exponent_sd * np.linspace(-2.9, 2.9, 21), 0.31 * prior.exponent_sd
