"""A dish through its life: hot, served, chilled, reheated, and what to stir in when it comes back too thick or too thin."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from spoonline import facts
from spoonline.dose.dish_curve import DishCurve
from spoonline.dose.priors import said
from spoonline.measures.ranges import Range
from spoonline.pots import DRY_SHARE, STAGES, known_stage
from spoonline.pots.thickness import SOUP_DENSITY_KG_M3, T90, later_over_fresh, ln_range, shift_ln_sd, temperature_ratio

# How far one pot's ratio strays from the dish's usual one, ln (judged: whisking, reheating time and lid differ).
POT_LN_SD = 0.10
# A change in thickness below this is not worth a line of advice (about 3 % of dose at a slope of 3 gives 10 %).
WORTH_SAYING = 0.05


@dataclass(frozen=True)
class StageRatio:
    """What a stage does to the thickness of one dish, over fresh: reheated at the same temperature, chilled at 5 C over 60 C.

    ``ln_mean`` and ``ln_sd`` are of the dish's usual ratio, after the ``pots`` that were read both fresh and at this stage.
    """

    stage: str
    ln_mean: float
    ln_sd: float
    pots: int

    @property
    def next_pot(self) -> Range:
        """The ratio of the next single pot, 90 % range."""
        return ln_range(math.exp(self.ln_mean), math.hypot(self.ln_sd, POT_LN_SD))

    @property
    def basis(self) -> str:
        """What it rests on, in words."""
        if self.pots == 0:
            return "expected of the thickener (judged); no pot of this dish was read fresh and again at this stage"
        return f"{self.pots} {'pot' if self.pots == 1 else 'pots'} of this dish read fresh and again at this stage"


def stage_ratio(thickener: str, stage: str, pots: Iterable[tuple[float, float]] = ()) -> StageRatio:
    """Estimate the ratio of a stage from pots that were read fresh and again at that stage.

    Parameters
    ----------
    thickener, stage : str
        A thickener of the facts; a stage that is not fresh, such as chilled or reheated.
    pots : iterable of (float, float)
        ln(viscosity at the stage over fresh) of each pot, and the standard uncertainty of that.

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
    >>> ratio = stage_ratio("corn starch", "reheated", [(0.20, 0.05), (0.26, 0.05)])
    >>> print(f"{ratio.next_pot:.2g}")
    1.2 (0.97-1.4)
    """
    row = facts.thickener(thickener)
    what, read = known_stage(stage), list(pots)
    mean, sd = (getattr(row, f"{what.figure}_ln_{each}", None) for each in ("mean", "sd"))
    if mean is None or sd is None:
        mean, sd = what.ln_mean, what.ln_sd
    values, spreads = np.array([(mean, sd), *((value, math.hypot(error, POT_LN_SD)) for value, error in read)]).T
    usual, weight = np.average(values, weights=spreads**-2.0, returned=True)
    return StageRatio(stage, float(usual), float(weight**-0.5), len(read))


def stage_ratio_of(dish: DishCurve, stage: str) -> StageRatio:
    """The ratio of a stage for a dish: what its thickener usually does, and what its pots that count did."""
    found = (later_over_fresh(pot.batch, stage) for pot in dish.counted)
    return stage_ratio(dish.thickener, stage, [each for each in found if each is not None])


@dataclass(frozen=True)
class StageView:
    """How thick the average pot of a dose is at one stage [Pa s], and what that rests on."""

    stage: str
    temperature_c: float
    viscosity: Range
    basis: str


def through_stages(dish: DishCurve, dose_g_per_l: float) -> tuple[StageView, ...]:
    """Follow a dose of the dish's thickener [g/L] through every stage: hot, served, chilled, reheated.

    Returns
    -------
    tuple of StageView
        Average pot, 90 % ranges [Pa s], at the curve's shear rate: hot at 85 C, served at the curve's temperature, chilled
        at 5 C, reheated at the curve's temperature.

    Notes
    -----
    Between hot and served only temperature works (17 kJ/mol, standard uncertainty 6). Chilling and reheating a starch dish
    is no matter of temperature alone, so those go by their own ratios.
    """
    served_c = dish.curve.temperature_c
    fresh = dish.curve.viscosity(dose_g_per_l)

    def times(ratio: float, ln_sd: float) -> Range:
        low, high = math.log(fresh.best / fresh.low), math.log(fresh.high / fresh.best)
        best, wide = fresh.best * ratio, T90 * ln_sd
        return Range(best, best * math.exp(-math.hypot(low, wide)), best * math.exp(math.hypot(high, wide)))

    def view(name: str) -> StageView:
        stage = STAGES[name]
        at_c = served_c if stage.temperature_c is None else stage.temperature_c
        if stage.fresh:
            basis = "the dose curve" if at_c == served_c else "the dose curve and temperature"
            return StageView(name, at_c, times(temperature_ratio(served_c, at_c), shift_ln_sd(served_c, at_c)), basis)
        # over fresh at the same temperature, or at the stage's own over fresh at 60 C
        ratio, from_c = stage_ratio_of(dish, name), served_c if stage.temperature_c is None else 60.0
        spread = math.hypot(ratio.ln_sd, shift_ln_sd(served_c, from_c))
        over = temperature_ratio(served_c, from_c) * math.exp(ratio.ln_mean)
        return StageView(name, at_c, times(over, spread), ratio.basis)

    return tuple(view(name) for name, stage in STAGES.items() if stage.thickened)


@dataclass(frozen=True)
class Reheating:
    """What a pot that was chilled and reheated needs to be as thick as it was fresh.

    ``loosen_ml`` is liquid to stir in per litre of the dish [mL], below 0 where it comes back thinner; ``thicken_g`` is thickener to
    whisk in per litre [g], below 0 where it comes back thicker and None where the slope is not known.
    """

    ratio: StageRatio
    loosen_ml: Range
    thicken_g: Range | None
    liquid: str
    thickener: str

    @property
    def template(self) -> str:
        """The sentence of the advice with braces for its figures; a catalogue of another language is asked for it whole."""
        times = self.ratio.next_pot.best
        if times > 1 + WORTH_SAYING:
            return said.table["again thicker"]
        way = "thinner" if times < 1 - WORTH_SAYING else "either"
        return said.table[f"again {way}" if self.thicken_g is not None else f"again {way}, no slope"]

    @property
    def figures(self) -> dict[str, str]:
        """What fills the sentence: ratio, liquid [mL] and thickener [g] per litre with their ranges, and their names."""
        figures = {"times": f"{self.ratio.next_pot:.2g}", "liquid": self.liquid, "thickener": self.thickener}
        steps = ((max(each, 0), 5 if each < 100 else 10) for each in self.loosen_ml)
        figures |= zip(("ml", "low_ml", "high_ml"), (f"{step * round(ml / step)}" for ml, step in steps), strict=True)
        if self.thicken_g is not None:
            figures |= zip(("g", "low_g", "high_g"), (f"{max(each, 0):.1f}" for each in self.thicken_g), strict=True)
        return figures

    @property
    def text(self) -> str:
        """The advice in words."""
        return self.template.format(**self.figures)


def reheating(dish: DishCurve, dose_g_per_l: float) -> Reheating:
    """Say what brings a chilled and reheated pot, cooked with this dose [g/L], back to its fresh thickness.

    Notes
    -----
    Liquid thins starch and puree alike: the water phase grows by ratio^(1/b), b the slope of the curve (pureed vegetables 2 to
    3, memory; close to starch). Thickener works through the slope of the whole dish at this dose; where that is below 1 the
    curve cannot say how much, and the advice says so.
    """
    ratio, curve, pot = stage_ratio_of(dish, "reheated"), dish.curve, dish.curve.pot
    # litres of dish that a litre of liquid makes, its water phase [g/L of dish], and the slope of ln viscosity over ln dose there
    litres = dish.recipe.mass_g * (1 - dish.loss) / SOUP_DENSITY_KG_M3 / dish.recipe.liquid_l
    water = (pot.water_g_per_l + (1 - DRY_SHARE) * dose_g_per_l) / litres
    near = np.asarray(curve.viscosity(dose_g_per_l * np.array([1 / 1.1, 1.1])).best)
    slope = float(np.log(near[1] / near[0]) / np.log(1.21))
    best, low, high = ratio.next_pot
    loosen = Range(*(water * (each ** (1 / curve.exponent.best) - 1) for each in (best, low, high)))
    thicken = None
    if slope >= 1:
        thicken = Range(*(dose_g_per_l / litres * (each ** (-1 / slope) - 1) for each in (best, high, low)))
    return Reheating(ratio, loosen, thicken, dish.recipe.main_liquid or "water", dish.thickener)
