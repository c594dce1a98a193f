"""What is in the pot: water, thickener as maize starch, and how sure we are of the ratio."""

from __future__ import annotations

import math
from dataclasses import dataclass

from spoonline import facts
from spoonline.measures.errors import BatchError, ItemError
from spoonline.pots.water import DRY_SHARE, Pot
from spoonline.recipes import Ingredient, Recipe

# Starch of pureed vegetables that the blender sets free; the rest stays inside its cells (judged: 0.3-0.6).
FREED_SHARE = 0.45
# A pot on a low simmer, when nobody weighed it (judged; common practice, no source).
USUAL_LOSS = 0.06


@dataclass(frozen=True)
class PotContents:
    """The water phase of one pot.

    ``water_g`` is what is left of all lines after evaporation; ``starch_g`` is the dry maize-starch equivalent of all thickeners,
    ``other_starch_g`` that of vegetables [g]; ``loss`` is the share of the contents that evaporated (estimated where not weighed).
    """

    liquid_l: float
    water_g: float
    starch_g: float
    other_starch_g: float
    thickener_rel_sd: float
    loss: float

    @property
    def percent(self) -> float:
        """Concentration: dry maize-starch equivalent per 100 g of starch and water [%]."""
        dry = self.starch_g + self.other_starch_g
        return 100 * dry / (dry + self.water_g) if dry > 0 else 0.0


def contents(cooked: Recipe, evaporated_g: float | None = None, usual_loss: float = USUAL_LOSS) -> PotContents:
    """Work out the water phase of a pot.

    Parameters
    ----------
    cooked : Recipe
        The recipe as it went in.
    evaporated_g : float, optional
        Mass lost, from weighing the pot twice [g].
    usual_loss : float
        Share of the mass put in that evaporates where it was not weighed.

    Raises
    ------
    BatchError
        If there is no liquid, or more evaporated than there was water.

    Notes
    -----
    c = 100 D / (D + W), with D the sum of 0.89 x strength x grams of each thickener (maize starch is 1; strengths are judged
    from handbooks that disagree) plus freed vegetable starch, and W all water less what evaporated.

    Examples
    --------
    >>> plain = Recipe(title="Plain", ingredients=["1 l water", "34 g corn starch"])
    >>> round(contents(plain, evaporated_g=0).percent, 2)
    2.93
    """
    if cooked.liquid_l <= 0:
        raise BatchError(
            f"{cooked.title!r} has no liquid with a known amount; give the stock, milk or water in L, mL or g."
        )
    water = starch = other = variance = 0.0
    for line in cooked.ingredients:
        if line.mass_g is None:
            continue
        mass, row = float(line.mass_g), facts.ingredient(line.fact_name) if line.fact_name else None
        if line.part == "thickener":
            water += (1 - DRY_SHARE) * mass
            strength = DRY_SHARE * strength_of(line.fact_name or line.item)
            starch += strength * mass
            variance += (strength * float(line.sd_g or 0)) ** 2
            continue
        known = row.water_g if row is not None else None
        water += mass * (known / 100 if known is not None else 1.0 if line.part == "liquid" else 0.0)
        if line.part in ("vegetable", "fruit") and row is not None and row.starch_g:
            other += FREED_SHARE * row.starch_g / 100 * mass
    lost = usual_loss * cooked.mass_g if evaporated_g is None else evaporated_g
    if lost >= 0.9 * water:
        raise BatchError(f"{lost:.0f} g evaporated of {water:.0f} g of water; check the two masses of the pot.")
    rel_sd = math.sqrt(variance) / starch if starch > 0 else 0.0
    return PotContents(cooked.liquid_l, water - lost, starch, other, rel_sd, lost / cooked.mass_g)


def strength_of(thickener: str) -> float:
    """Maize starch (g, as it is) that does the work of 1 g of this thickener; 1 where the facts do not know it."""
    try:
        return facts.thickener(thickener).strength
    except ItemError:
        return 1.0


def pot_of(cooked: Recipe, loss: float, thickener: str | None = None) -> Pot:
    """The pot in which the next dose will work: this recipe's water and its starch from elsewhere, per litre, after a share ``loss``.

    Every thickener of the recipe but the one that is dosed counts as starch from elsewhere; without a name none stays.
    """

    def stays(line: Ingredient) -> bool:
        return line.part != "thickener" or thickener not in (None, line.fact_name or line.item)

    bare = cooked.model_copy(update={"ingredients": tuple(line for line in cooked.ingredients if stays(line))})
    inside = contents(bare, evaporated_g=loss * cooked.mass_g)
    return Pot(inside.water_g / inside.liquid_l, (inside.starch_g + inside.other_starch_g) / inside.liquid_l)
