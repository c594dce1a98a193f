"""What is believed of a thickener before the first batch.

Model of the starch part of a hot liquid's viscosity: E (c/c_ref)^b, c the dry starch (as maize starch) in per cent of starch
and water. It is a straight line in logs; close packing bends it, so it is trusted near the doses tried only.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoonline import facts
from spoonline.flow.fluid import GAS_CONSTANT
from spoonline.measures import BatchError, Sayings
from spoonline.pots.thickness import ACTIVATION_KJ, ACTIVATION_KJ_SD, FLOW_INDEX, FLOW_INDEX_SD
from spoonline.pots.water import Pot

FloatArray = NDArray[np.float64]
Belief = tuple[float, float]  # mean and spread of the ln of a viscosity [ln Pa s]
said = Sayings("said.csv", "dose", BatchError)

REFERENCE_C, REFERENCE_PER_S = 60.0, 50.0
# How a base and starch join (purees of the trade, judged): a plain sum below the first, cells and grains in one volume from the second on.
THIN_PA_S, THICK_PA_S = 0.003, 0.030
# From "they fill the same space" (one over a slope of three) to a little more than a plain sum.
JOIN_ENDS = (1 / 3, 1.1)


# Pot-to-pot spread of ln viscosity where a kitchen has no history, days included (judged), and as how many pots it weighs.
USUAL_SPREAD, USUAL_DF = 0.125, 6.0
# How the source of a prior ends that a kitchen's own dishes have taught.
KITCHEN = " of this kitchen, and the tables"


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
    join, join_sd : float
        Power by which a thick base and starch join: (B^p + S^p)^(1/p), and its spread (judged: no measurement was found).
    reference_c, reference_per_s : float
        Conditions that the level is given at [C], [1/s].
    """

    thickener: str
    level_pa_s: float = 0.20
    level_ln_sd: float = 0.50
    exponent: float = 3.0
    exponent_sd: float = 0.5
    strength: float = 1.0
    strength_ln_sd: float = 0.0
    reference_percent: float = 4.0
    activation_kj_mol: float = ACTIVATION_KJ
    activation_sd: float = ACTIVATION_KJ_SD
    flow_index: float = FLOW_INDEX
    flow_index_sd: float = FLOW_INDEX_SD
    batch_sd: float = USUAL_SPREAD
    batch_df: float = USUAL_DF
    base_pa_s: float = 0.005
    base_ln_sd: float = 1.2
    join: float = 0.65
    join_sd: float = 0.20
    reference_c: float = REFERENCE_C
    reference_per_s: float = REFERENCE_PER_S
    source: str = "judged from published maize pastes (0.9-8 %, 15-95 C) and trade doses"

    def level(self, temperature_c: float = REFERENCE_C, shear_rate_per_s: float = REFERENCE_PER_S) -> Belief:
        """Mean and spread of ln level [ln Pa s] at a temperature and shear rate.

        Examples
        --------
        >>> mean, spread = prior_for("corn starch").level(20.0)
        >>> round(math.exp(mean) / 0.20, 2)
        2.31
        """
        warmth = 1 / GAS_CONSTANT * (1 / (temperature_c + 273.15) - 1 / (self.reference_c + 273.15))
        rate = math.log(shear_rate_per_s / self.reference_per_s)
        mean = math.log(self.level_pa_s) + self.activation_kj_mol * warmth + (self.flow_index - 1) * rate
        parts = (self.exponent * self.strength_ln_sd, self.activation_sd * warmth, self.flow_index_sd * rate)
        return mean, math.hypot(self.level_ln_sd, *parts)


def prior_for(thickener: str | Prior | Mapping[str, float]) -> Prior:
    """Return what is believed of a thickener, by a name that the facts know, before the first batch; beliefs of one's own as they are.

    Several starches that are dosed as one, ``{name: share by mass}``, work each by its share.

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
    if isinstance(thickener, Mapping):
        return _blend(thickener)
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


def _blend(shares: Mapping[str, float]) -> Prior:
    parts, total = [prior_for(name) for name in shares], sum(shares.values())
    gum = any(each.reference_percent != Prior.reference_percent for each in parts)
    blended = parts and all(0 < each < math.inf for each in shares.values()) and not gum
    said.refuse(not blended, "no blend", came=dict(shares))
    share = np.array([each / total for each in shares.values()])

    def mean(name: str) -> float:
        return float(share @ [getattr(each, name) for each in parts])

    work = share * [each.strength for each in parts]
    spread = float(np.linalg.norm(work * [each.strength_ln_sd for each in parts]) / work.sum())
    name = " and ".join(sorted(each.thickener for each in parts))
    slope = (mean("exponent"), mean("exponent_sd"), float(work.sum()))
    return Prior(name, Prior.level_pa_s, Prior.level_ln_sd, *slope, spread)


def ln_concentration(dose_g_per_l: ArrayLike, prior: Prior, pot: Pot) -> FloatArray:
    """Return ln of concentration over the prior's reference at each dose."""
    with np.errstate(divide="ignore"):  # no starch at all: the base alone
        return np.asarray(np.log(pot.percent(dose_g_per_l, prior.strength) / prior.reference_percent))


def of_cells(ln_base: FloatArray) -> FloatArray:
    """How far a base competes with grains for one volume: from 0 at 3 mPa s, where there are no cells, to 1 at 30."""
    return np.asarray(np.clip((ln_base - np.log(THIN_PA_S)) / np.log(THICK_PA_S / THIN_PA_S), 0.0, 1.0))
