"""The dose curve of a dish: its recipe, its cooked batches, and what the next pot should hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spoonline import facts
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.next_batch import NextBatch
from spoonline.measures.errors import BatchError
from spoonline.pots.contents import USUAL_LOSS, PotContents, contents, pot_of, strength_of
from spoonline.pots.records import Batch
from spoonline.pots.thickness import NO_TARGET, Thickness, batch_thickness
from spoonline.recipes import Ingredient, Recipe, Target


@dataclass(frozen=True)
class PotPoint:
    """One cooked pot on the curve.

    ``dose_g_per_l`` is the dose that gives this pot's starch-to-water ratio in the recipe as it stands now, so that pots that
    boiled away more, or held another liquid, lie where they belong; ``poured_g_per_l`` is what the cook put in.
    """

    batch: Batch
    dose_g_per_l: float
    poured_g_per_l: float
    dose_rel_sd: float
    loss: float
    thickness: Thickness
    left_out: str = ""


@dataclass(frozen=True)
class DishCurve:
    """A dish's dose curve together with the pots it rests on."""

    recipe: Recipe
    target: Target
    thickener: str
    curve: DoseCurve
    pots: tuple[PotPoint, ...]
    loss: float

    @property
    def counted(self) -> tuple[PotPoint, ...]:
        """The pots that the curve rests on."""
        return tuple(pot for pot in self.pots if not pot.left_out)

    def next_batch(self) -> NextBatch:
        """Say what to cook next; see :meth:`DoseCurve.next_batch`."""
        return self.curve.next_batch(float(self.target.viscosity_pa_s), band=float(self.target.band))

    def grams(self, dose_g_per_l: float) -> float:
        """Thickener for this recipe's liquid at a dose [g]."""
        return dose_g_per_l * self.recipe.liquid_l

    def spoons(self, dose_g_per_l: float, system: str = "us") -> tuple[str, float]:
        """The dose in level spoons for this recipe, and the chance that a pot thickened with them lands inside the band."""
        amount = facts.household(self.grams(dose_g_per_l), self.thickener, system=system, strict=False)
        spread = facts.grams(str(amount), self.thickener)
        aim, band = float(self.target.viscosity_pa_s), float(self.target.band)
        spooned = spread.mass_g / self.recipe.liquid_l
        return str(amount), float(self.curve.chance(spooned, aim, band, spread.sd_g / spread.mass_g))

    def with_dose(self, dose_g_per_l: float, instead: str | None = None) -> Recipe:
        """The recipe with its main thickener, or another instead of it, set to this dose in grams."""
        return with_dose(self.recipe, self.thickener, dose_g_per_l, instead)


def with_dose(recipe: Recipe, thickener: str, dose_g_per_l: float, instead: str | None = None) -> Recipe:
    """Set the dose of one thickener [g/L]; the first line of it takes all, further lines of it are dropped.

    With ``instead`` another thickener stands there; the method is left as it is written.

    Raises
    ------
    BatchError
        If the recipe has no such thickener or no liquid.
    """
    if recipe.liquid_l <= 0 or thickener not in recipe.thickeners_g:
        raise BatchError(
            f"{recipe.title!r} has no {thickener} with a known liquid; add a thickener line and the liquid first."
        )
    mass = dose_g_per_l * recipe.liquid_l
    grams = round(2 * mass) / 2 if mass >= 5 else round(mass, 1)  # a gum is weighed on a finer scale
    sd = 0.289 if mass >= 5 else 0.03
    lines = list(recipe.ingredients)
    ours = [
        at for at, each in enumerate(lines) if each.part == "thickener" and (each.fact_name or each.item) == thickener
    ]
    line = lines[ours[0]]
    if instead is not None:
        line = Ingredient.model_validate(f"{grams:g} g {instead}").model_copy(update={"group": line.group})
    lines[ours[0]] = line.reweighed(f"{grams:g} g", grams, sd)
    kept = tuple(each for at, each in enumerate(lines) if at not in ours[1:])
    return recipe.model_copy(update={"ingredients": kept})


def dish_curve(
    recipe: Recipe, batches: Sequence[Batch], recipes: Mapping[int, Recipe], *, leave_out: Mapping[int, str] | None = None
) -> DishCurve:  # fmt: skip
    """Fit the dose curve of a dish to its cooked batches.

    Parameters
    ----------
    recipe : Recipe
        The version that the next pot will follow; its target sets temperature, shear rate and band.
    batches : sequence of Batch
        Pots of any version of the dish; those without a fresh reading are passed over.
    recipes : mapping of int to Recipe
        The versions that were cooked, by number.
    leave_out : mapping of int to str, optional
        Batch number to the reason why it does not count.

    Raises
    ------
    BatchError
        If the recipe has no thickener, no liquid, or a batch names a version that did not come.

    Examples
    --------
    >>> soup = Recipe(title="Parsnip soup", ingredients=["1.5 l vegetable stock", "42 g corn starch"])
    >>> dish_curve(soup, [], {1: soup}).curve
    DoseCurve('corn starch', 0 batches)
    """
    thickener = recipe.main_thickener
    if thickener is None or recipe.liquid_l <= 0:
        raise BatchError(
            f"{recipe.title!r} needs a thickener line and a liquid line, both with known amounts, before a dose can be set."
        )
    target = recipe.target or NO_TARGET
    found: list[tuple[Batch, Thickness, Recipe, PotContents]] = []
    for batch in batches:
        if (thickness := batch_thickness(batch, target)) is None:
            continue
        if batch.version not in recipes:
            raise BatchError(
                f"Batch {batch.number} was cooked from version {batch.version}, which did not come with it."
            )
        cooked = batch.cooked(recipes[batch.version])
        found.append((batch, thickness, cooked, contents(cooked, batch.evaporated_g)))
    losses = [inside.loss for batch, *_, inside in found if batch.evaporated_g is not None]
    loss = float(np.median(losses)) if losses else USUAL_LOSS
    pot, strength = pot_of(recipe, loss, thickener), strength_of(thickener)
    points = tuple(
        PotPoint(
            batch, float(pot.dose(inside.percent, strength)), cooked.dose_g_per_l, inside.thickener_rel_sd, inside.loss, thickness,
            (leave_out or {}).get(batch.number, batch.left_out),
        )
        for batch, thickness, cooked, inside in found
    )  # fmt: skip
    counted = [point for point in points if not point.left_out and point.dose_g_per_l > 0]
    figures = [(at.dose_g_per_l, at.thickness.viscosity_pa_s, at.thickness.ln_sd, at.dose_rel_sd) for at in counted]
    dose, viscosity, ln_sd, rel_sd = np.array(figures).reshape(-1, 4).T
    curve = DoseCurve.fit(
        dose, viscosity, thickener, relative_error=ln_sd, dose_rel_sd=rel_sd, pot=pot,
        temperature_c=float(target.temperature_c), shear_rate_per_s=float(target.shear_rate_per_s),
    )  # fmt: skip
    return DishCurve(recipe, target, thickener, curve, points, loss)


def doses(curve: DishCurve, points: int = 200) -> NDArray[np.float64]:
    """Doses worth drawing [g/L]: half the least to twice the most of pots, suggestion and range."""
    best, low, high = curve.curve.dose_for(float(curve.target.viscosity_pa_s))
    tried = [pot.dose_g_per_l for pot in curve.pots if pot.dose_g_per_l > 0]
    ends = [each for each in (best, min(high, 3 * best), max(low, best / 3), *tried) if np.isfinite(each)]
    return np.geomspace(0.6 * min(ends), 1.5 * max(ends), points)
