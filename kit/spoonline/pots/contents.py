"""What is in the pot: water, thickener as maize starch, and how sure we are of the ratio."""

from collections.abc import Collection
from datetime import date
from typing import NamedTuple

from spoonline.pots.balance import PotState, along, states
from spoonline.pots.moments import said
from spoonline.pots.records import Batch, Reading
from spoonline.pots.water import Pot
from spoonline.recipes import Ingredient, Recipe


class PotContents(NamedTuple):
    """The water phase of one pot.

    ``water_g`` is what is left of all lines after evaporation; ``starch_g`` is the dry maize-starch equivalent of all thickeners,
    ``other_starch_g`` that of vegetables [g]; ``loss`` is the share of the contents that evaporated (estimated where not ``weighed``);
    ``dose_g_per_l`` is all thickener over the liquid, nothing boiled off [g/L]; ``evaporated_g`` what boiled off [g].
    """

    liquid_l: float
    water_g: float
    starch_g: float
    other_starch_g: float
    thickener_rel_sd: float
    loss: float
    dose_g_per_l: float = 0.0
    weighed: bool = False
    evaporated_g: float = 0.0

    @property
    def percent(self) -> float:
        """Concentration: dry maize-starch equivalent per 100 g of starch and water [%]."""
        dry = self.starch_g + self.other_starch_g
        return 100 * dry / (dry + self.water_g) if dry > 0 else 0.0


def cooked_pot_of(cooked: Recipe, lost_g: float) -> PotState:
    """A pot with all lines in, cooked, and so much of it boiled off [g]."""
    untold = Batch.model_construct(title=cooked.title, version=1, cooked_on=date.min)
    return states(untold, cooked, lost_g / cooked.mass_g)[-1]


Reads = list[tuple[Reading, PotContents]]


def read_inside(batch: Batch, recipe: Recipe, usual: float | None = None) -> tuple[Reads, PotContents]:
    """Each reading of a pot that stands with what was in the pot then, and what is in it at the end, by the balance of its moments.

    Where it was not weighed, the ``usual`` share of what went in is taken to have evaporated, else what is forecast. Raises a `BatchError`
    where its story cannot be.
    """
    found = states(batch, recipe, usual)
    weighings = [each.moment for each in found if each.moment and each.moment.kind == "weighed"]
    pots = {each.pot for each in weighings if each.pot} or {""}
    weighed = len(weighings) > len(pots) or any(each.tare_g is not None for each in weighings)
    read = [(each.moment.reading, each) for each in found if each.moment and each.moment.reading]
    stands = [(reading, contents(each, weighed)) for reading, each in read if not reading.set_apart]
    return stands, contents(found[-1], weighed)


def contents(state: PotState, weighed: bool = False) -> PotContents:
    """The water phase of a pot in this state, known from weighing or not.

    c = 100 D / (D + W), with D the sum of 0.89 x strength x grams of each thickener (maize starch is 1; strengths are judged
    from handbooks that disagree) plus freed vegetable starch, and W all water less what evaporated.

    Examples
    --------
    >>> plain = Recipe(title="Plain", ingredients=["1 l water", "34 g corn starch"])
    >>> round(contents(cooked_pot_of(plain, 0)).percent, 2)
    2.93
    """
    starch, sd = state.sum(along(starch=1))
    return PotContents(
        state.of("liquid") / 1000, state.of("water"), starch, state.of("other_starch"), sd / starch if starch > 0 else 0.0,
        state.of("evaporated") / (state.of("put_in") or 1.0), state.dose_g_per_l, weighed, state.of("evaporated"),
    )  # fmt: skip


def pot_of(cooked: Recipe, loss: float, thickeners: Collection[str] | None = None) -> Pot:
    """The pot in which the next dose will work: this recipe's water and its starch from elsewhere, per litre, after a share ``loss``.

    Every thickener of the recipe but those that are dosed counts as starch from elsewhere; without names none stays.
    """

    def stays(line: Ingredient) -> bool:
        return line.part != "thickener" or not (thickeners is None or (line.fact_name or line.item) in thickeners)

    bare = cooked.model_copy(update={"ingredients": tuple(line for line in cooked.ingredients if stays(line))})
    said.refuse(bare.liquid_l <= 0, "no liquid", title=cooked.title)
    found = contents(cooked_pot_of(bare, loss * cooked.mass_g))
    return Pot(found.water_g / found.liquid_l, (found.starch_g + found.other_starch_g) / found.liquid_l)
