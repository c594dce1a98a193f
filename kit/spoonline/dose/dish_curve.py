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
from spoonline.pots.balance import strength_of
from spoonline.pots.contents import pot_of
from spoonline.pots.counted import CookedPot, cooked_pots, weighed_loss
from spoonline.pots.evaporation import usual_loss
from spoonline.pots.records import Batch
from spoonline.pots.thickness import Thickness, conditions
from spoonline.recipes import Ingredient, Recipe, Target


@dataclass(frozen=True)
class PotPoint:
    """One cooked pot on the curve.

    ``dose_g_per_l`` is the dose that gives this pot's starch-to-water ratio in the recipe as it stands now, so that pots that
    boiled away more, or held another liquid, lie where they belong.
    """

    batch: Batch
    dose_g_per_l: float
    dose_rel_sd: float
    thickness: Thickness
    left_out: str = ""


@dataclass(frozen=True)
class DishCurve:
    """A dish's dose curve together with the pots it rests on."""

    recipe: Recipe
    thickener: str
    curve: DoseCurve
    pots: tuple[PotPoint, ...]
    loss: float

    @classmethod
    def fit(cls, recipe: Recipe, pots: Sequence[CookedPot]) -> DishCurve:
        """Fit the curve to the pots that count; see :func:`dish_curve`, which finds those."""
        thickener = recipe.main_thickener
        if thickener is None or recipe.liquid_l <= 0:
            if recipe.kind == "dough":
                raise BatchError(
                    f"{recipe.title!r} is a dough: nothing in it is dosed per litre of liquid. Weigh it, bake it and note what to change."
                )
            raise BatchError(
                f"{recipe.title!r} needs a thickener line and a liquid line, both with known amounts, before a dose can be set. Without a "
                "bought thickener it gets thicker by boiling down or by blending more of its vegetables, and thinner by more liquid."
            )
        read = [(pot, thickness, inside) for pot in pots if (thickness := pot.thickness) and (inside := pot.inside)]
        loss, _ = usual_loss(recipe, weighed_loss(pots))
        water, strength = pot_of(recipe, loss, thickener), strength_of(thickener)
        points = []
        for pot, thickness, inside in read:
            same = float(water.dose(inside.percent, strength))
            reason = pot.left_out or ("" if same > 0 else "its version has no thickener")
            points.append(PotPoint(pot.batch, same, inside.thickener_rel_sd, thickness, reason))
        counted = [point for point in points if not point.left_out]
        figures = [(at.dose_g_per_l, at.thickness.viscosity_pa_s, at.thickness.ln_sd, at.dose_rel_sd) for at in counted]
        dose, viscosity, ln_sd, rel_sd = np.array(figures).reshape(-1, 4).T
        temperature_c, shear_rate_per_s = conditions(recipe.target)
        curve = DoseCurve.fit(
            dose, viscosity, thickener, relative_error=ln_sd, dose_rel_sd=rel_sd, pot=water, temperature_c=temperature_c,
            shear_rate_per_s=shear_rate_per_s, batch_numbers=[point.batch.number for point in counted],
        )  # fmt: skip
        return cls(recipe, thickener, curve, tuple(points), loss)

    @property
    def target(self) -> Target | None:
        """The aim of the recipe, if it has one."""
        return self.recipe.target

    @property
    def dose_g_per_l(self) -> float:
        """The recipe's own dose of this thickener [g/L]."""
        return self.recipe.doses_g_per_l[self.thickener]

    @property
    def counted(self) -> tuple[PotPoint, ...]:
        """The pots that the curve rests on."""
        return tuple(pot for pot in self.pots if not pot.left_out)

    def next_batch(self) -> NextBatch:
        """Say what to cook next; see :meth:`DoseCurve.next_batch`.

        Raises
        ------
        BatchError
            If the recipe has no aim: no dose is better than another then.
        """
        if self.target is None:
            raise BatchError(
                f"No aim is set for {self.recipe.title!r}: say how thick it should be, and a dose is suggested."
            )
        return self.curve.next_batch(float(self.target.viscosity_pa_s), band=float(self.target.band))

    def chance(self, dose_g_per_l: float, dose_rel_sd: float = 0.0) -> float | None:
        """Chance that the next pot lands in the band of the aim; None without an aim."""
        aim = self.target
        if aim is None:
            return None
        return float(self.curve.chance(dose_g_per_l, float(aim.viscosity_pa_s), float(aim.band), dose_rel_sd))

    def grams(self, dose_g_per_l: float) -> float:
        """Thickener for this recipe's liquid at a dose [g]."""
        return dose_g_per_l * self.recipe.liquid_l

    def spoons(self, dose_g_per_l: float, system: str = "us") -> tuple[str, float | None]:
        """The dose in level spoons for this recipe, and the :meth:`chance` of a pot thickened with them."""
        amount = facts.household(self.grams(dose_g_per_l), self.thickener, system=system, strict=False)
        spread = facts.grams(str(amount), self.thickener, system)
        return str(amount), self.chance(spread.mass_g / self.recipe.liquid_l, spread.sd_g / spread.mass_g)

    def with_dose(self, dose_g_per_l: float, instead: str | None = None) -> Recipe:
        """The recipe with its main thickener, or another instead of it, set to this dose in grams; the method stays as written.

        The first line of the thickener takes all of it, further lines of it are dropped.
        """
        mass = self.grams(dose_g_per_l)
        # a gum is weighed on a finer scale
        grams, sd = (round(2 * mass) / 2, 0.289) if mass >= 5 else (round(mass, 1), 0.03)
        lines = list(self.recipe.ingredients)
        ours = [line for line in lines if line.part == "thickener" and (line.fact_name or line.item) == self.thickener]
        new = ours[0]
        if instead is not None:
            new = Ingredient.model_validate(f"{grams:g} g {instead}").model_copy(update={"group": new.group})
        lines[lines.index(ours[0])] = new.reweighed(f"{grams:g} g", grams, sd)
        kept = tuple(line for line in lines if not any(line is other for other in ours))
        return self.recipe.model_copy(update={"ingredients": kept})

    def doses(self, points: int = 200) -> NDArray[np.float64]:
        """Doses worth drawing [g/L]: half the least to twice the most of the pots, and of what the aim (or the recipe) asks for."""
        ends = [pot.dose_g_per_l for pot in self.pots if pot.dose_g_per_l > 0]
        if self.target is None:
            ends.append(self.dose_g_per_l)
        else:
            best, low, high = self.curve.dose_for(float(self.target.viscosity_pa_s))
            ends += [each for each in (best, min(high, 3 * best), max(low, best / 3)) if np.isfinite(each)]
        return np.geomspace(0.6 * min(ends), 1.5 * max(ends), points)

    def _repr_html_(self) -> str:
        return self.curve._repr_html_()


def dish_curve(
    recipe: Recipe, batches: Sequence[Batch], recipes: Mapping[int, Recipe], *, leave_out: Mapping[int, str] | None = None
) -> DishCurve:  # fmt: skip
    """Fit the dose curve of a dish to its cooked batches.

    Parameters
    ----------
    recipe : Recipe
        The version that the next pot will follow; its target sets temperature, shear rate and band (60 C and 1 1/s without one).
    batches : sequence of Batch
        Pots of any version of the dish; :func:`spoonline.pots.cooked_pot` says which of them count.
    recipes : mapping of int to Recipe
        The versions that were cooked, by number.
    leave_out : mapping of int to str, optional
        Batch number to the reason why it does not count.

    Raises
    ------
    BatchError
        If the recipe has no thickener or no liquid.

    Examples
    --------
    >>> soup = Recipe(title="Parsnip soup", ingredients=["1.5 l vegetable stock", "42 g corn starch"])
    >>> dish_curve(soup, [], {1: soup}).curve
    DoseCurve('corn starch', 0 batches)
    """
    return DishCurve.fit(recipe, cooked_pots(batches, recipes, recipe.target, leave_out))
