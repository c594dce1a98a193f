"""A dish through its life: hot, served, chilled, reheated, and what to stir in when it comes back too thick or too thin."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from spoonline import facts
from spoonline.measures.ranges import Range
from spoonline.trials.dish import DishCurve
from spoonline.trials.priors import DRY_SHARE
from spoonline.trials.records import Batch, Stage
from spoonline.trials.thickness import SOUP_DENSITY_KG_M3, T90, later_over_fresh, shift_ln_sd, temperature_ratio

# How far one pot's ratio strays from the dish's usual one, ln (judged: whisking, reheating time and lid differ).
POT_LN_SD = 0.10
HOT_C, CHILLED_C = 85.0, 5.0
# Where the thickener table has no figure for the cold: between waxy (1.0) and maize or flour (1.6), judged.
COLD_LN, COLD_LN_SD = 1.3, 0.7
# A change in thickness below this is not worth a line of advice (about 3 % of dose at a slope of 3 gives 10 %).
WORTH_SAYING = 0.05


@dataclass(frozen=True)
class StageRatio:
    """What a stage does to the thickness of one dish, over fresh: reheated at the same temperature, chilled at 5 C over 60 C.

    Attributes
    ----------
    stage : str
        chilled or reheated.
    ln_mean, ln_sd : float
        Of the dish's usual ratio, after the pots.
    pots : int
        How many pots were read both fresh and at this stage.
    """

    stage: Stage
    ln_mean: float
    ln_sd: float
    pots: int

    @property
    def usual(self) -> Range:
        """The dish's usual ratio, 90 % range."""
        return _spread(self.ln_mean, self.ln_sd)

    @property
    def next_pot(self) -> Range:
        """The ratio of the next single pot, 90 % range."""
        return _spread(self.ln_mean, math.hypot(self.ln_sd, POT_LN_SD))

    @property
    def basis(self) -> str:
        """What it rests on, in words."""
        if self.pots == 0:
            return "expected of the thickener (judged); no pot of this dish was read fresh and again at this stage"
        return f"{self.pots} {'pot' if self.pots == 1 else 'pots'} of this dish read fresh and again at this stage"


def _spread(ln_mean: float, ln_sd: float) -> Range:
    return Range(*(math.exp(ln_mean + k * T90 * ln_sd) for k in (0, -1, 1)))


def stage_ratio(thickener: str, stage: Stage, pots: Iterable[tuple[float, float]] = ()) -> StageRatio:
    """Learn the ratio of a stage from pots that were read fresh and again at that stage.

    Parameters
    ----------
    thickener : str
    stage : {"chilled", "reheated"}
    pots : iterable of (float, float)
        ln(viscosity at the stage over fresh) of each pot, and the standard uncertainty of that.

    Returns
    -------
    StageRatio

    Raises
    ------
    ItemError
        If the thickener is unknown.

    Notes
    -----
    Normal prior, normal pots: closed form. Priors: the thickener table (judged; no published figures for dishes kept 1 to 4
    days were found). A pot strays from the usual ratio by 10 % (judged) beside the error of its two readings.

    Examples
    --------
    >>> stage_ratio("corn starch", "reheated").usual.best < 1
    True
    >>> learned = stage_ratio("corn starch", "reheated", [(0.20, 0.05), (0.26, 0.05)])
    >>> print(f"{learned.usual:.2g}")
    1.2 (1.1-1.3)
    """
    row = facts.thickener(thickener)
    if stage == "reheated":
        mean, sd = row.stage_ln_mean, row.stage_ln_sd
    else:
        known = row.cold_ln_mean is not None and row.cold_ln_sd is not None
        mean, sd = (row.cold_ln_mean or 0.0, row.cold_ln_sd or 0.0) if known else (COLD_LN, COLD_LN_SD)
    precision, total, count = sd**-2, mean * sd**-2, 0
    for value, error in pots:
        weight = 1 / (error**2 + POT_LN_SD**2)
        precision, total, count = precision + weight, total + weight * value, count + 1
    return StageRatio(stage, total / precision, precision**-0.5, count)


def learned(dish: DishCurve, stage: Stage, batches: Iterable[Batch] | None = None) -> StageRatio:
    """The ratio of a stage for a dish: its thickener's prior and its own pots (all versions; left-out pots do not count)."""
    pots = [pot.batch for pot in dish.counted] if batches is None else batches
    found = (later_over_fresh(batch, stage, None if stage == "reheated" else CHILLED_C) for batch in pots)
    return stage_ratio(dish.thickener, stage, [each for each in found if each is not None])


@dataclass(frozen=True)
class StageView:
    """How thick the average pot of a dose is at one stage [Pa s], and what that rests on."""

    stage: Stage
    temperature_c: float
    viscosity: Range
    basis: str


def life(dish: DishCurve, dose_g_per_l: float) -> tuple[StageView, ...]:
    """Follow a dose through hot, served, chilled and reheated.

    Parameters
    ----------
    dish : DishCurve
    dose_g_per_l : float
        Dose of the dish's thickener [g/L].

    Returns
    -------
    tuple of StageView
        Average pot, 90 % ranges [Pa s], at the target's shear rate: hot at 85 C, served at the target's temperature, chilled
        at 5 C, reheated at the target's temperature.

    Notes
    -----
    Between hot and served only temperature works (17 kJ/mol, standard uncertainty 6). Chilling and reheating a starch dish
    is no matter of temperature alone, so those go by their own ratios.
    """
    served_c = float(dish.target.temperature_c)
    fresh = dish.curve.viscosity(dose_g_per_l)

    def times(ratio: float, ln_sd: float) -> Range:
        low, high = math.log(fresh.best / fresh.low), math.log(fresh.high / fresh.best)
        wide = T90 * ln_sd
        best = fresh.best * ratio
        return Range(best, best * math.exp(-math.hypot(low, wide)), best * math.exp(math.hypot(high, wide)))

    cold, again = learned(dish, "chilled"), learned(dish, "reheated")
    to_60, by_warmth = temperature_ratio(served_c, 60.0), "the dose curve and temperature"
    return (
        StageView("hot", HOT_C, times(temperature_ratio(served_c, HOT_C), shift_ln_sd(served_c, HOT_C)), by_warmth),
        StageView("served", served_c, fresh, "the dose curve"),
        StageView(
            "chilled", CHILLED_C, times(to_60 * math.exp(cold.ln_mean), math.hypot(cold.ln_sd, shift_ln_sd(served_c, 60.0))), cold.basis
        ),
        StageView("reheated", served_c, times(math.exp(again.ln_mean), again.ln_sd), again.basis),
    )  # fmt: skip


@dataclass(frozen=True)
class Reheating:
    """What a pot that was chilled and reheated needs to be as thick as it was fresh.

    Attributes
    ----------
    ratio : StageRatio
    loosen_ml : Range
        Liquid to stir in per litre of the dish [mL]; below 0 where it comes back thinner.
    thicken_g : Range or None
        Thickener to whisk in per litre of the dish [g]; below 0 where it comes back thicker, None where the slope is not known.
    liquid, thickener : str
    """

    ratio: StageRatio
    loosen_ml: Range
    thicken_g: Range | None
    liquid: str
    thickener: str

    @property
    def text(self) -> str:
        """The advice for a card."""
        shown = self.ratio.next_pot
        said = f"Chilled, reheated and whisked smooth it is {shown:.2g} times as thick as fresh (90 % range)."
        up_to = f"{_round(self.loosen_ml.high)} mL"
        if shown.best > 1 + WORTH_SAYING:
            return (
                f"{said} Loosen with {_round(self.loosen_ml.best)} mL {self.liquid} per litre when reheating "
                f"({_round(max(self.loosen_ml.low, 0))} to {up_to}): stir in half, read it, then the rest."
            )
        slaked, ends = f"{self.thickener} per litre, slaked in cold liquid", ""
        if self.thicken_g is None:
            often, most = "a little", "a little"
        else:
            often, most = (f"{max(each, 0):.1f} g" for each in (self.thicken_g.best, self.thicken_g.high))
            ends = f" ({max(self.thicken_g.low, 0):.1f} to {most})"
        if shown.best < 1 - WORTH_SAYING:
            return f"{said} Read it; then whisk in {often} {slaked}{ends}, and bring it back to the boil."
        return (
            f"{said} Read it before you mend it: if thicker, loosen with up to {up_to} {self.liquid} per litre; if thinner, whisk in "
            f"up to {most} {slaked}, and bring it back to the boil."
        )


def _round(millilitres: float) -> int:
    step = 5 if millilitres < 100 else 10
    return int(step * round(millilitres / step))


def reheating(dish: DishCurve, dose_g_per_l: float, batches: Iterable[Batch] | None = None) -> Reheating:
    """Say what brings a chilled and reheated pot back to its fresh thickness.

    Parameters
    ----------
    dish : DishCurve
    dose_g_per_l : float
        Dose it was cooked with [g/L].
    batches : iterable of Batch, optional
        Pots to learn the ratio from; those of the curve unless given.

    Returns
    -------
    Reheating

    Notes
    -----
    Liquid thins starch and puree alike: the water phase grows by ratio^(1/b), b the slope of the curve (pureed vegetables 2 to
    3, memory; close to starch). Thickener works through the slope of the whole dish at this dose; where that is below 1 the
    curve cannot say how much, and the advice says so.
    """
    ratio = learned(dish, "reheated", batches)
    curve, pot = dish.curve, dish.curve.pot
    litres = dish.recipe.mass_g * (1 - dish.loss) / SOUP_DENSITY_KG_M3 / dish.recipe.liquid_l
    water = (pot.water_g_per_l + (1 - DRY_SHARE) * dose_g_per_l) / litres
    near = np.asarray(curve.viscosity(dose_g_per_l * np.array([1 / 1.1, 1.1])).best)
    slope = float(np.log(near[1] / near[0]) / np.log(1.21))
    loosen, thicken = [], []
    for times in ratio.next_pot:
        loosen.append(water * (times ** (1 / curve.exponent.best) - 1))
        thicken.append(dose_g_per_l / litres * (times ** (-1 / slope) - 1) if slope >= 1 else math.nan)
    pours = [line for line in dish.recipe.ingredients if line.part == "liquid" and line.mass_g is not None]
    liquid = max(pours, key=lambda line: float(line.mass_g or 0)).item if pours else "water"
    best, high, low = thicken
    more = Range(best, low, high) if slope >= 1 else None
    return Reheating(ratio, Range(*loosen), more, liquid, dish.thickener)
