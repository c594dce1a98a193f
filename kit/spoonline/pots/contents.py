"""What is in the pot: water, thickener as maize starch, and how sure we are of the ratio."""

from collections.abc import Collection
from dataclasses import dataclass

from spoonline.pots.balance import MOST_STEAM, PotBalance, PotState, along, states
from spoonline.pots.evaporation import forecast
from spoonline.pots.moments import said
from spoonline.pots.records import STAGES, Batch, Reading
from spoonline.pots.water import Pot
from spoonline.recipes import FATES, Ingredient, Recipe

# Starch of pureed vegetables that the blender sets free; the rest stays inside its cells (judged: 0.3-0.6).
FREED_SHARE = FATES["blended"].starch_freed


@dataclass(frozen=True)
class PotContents:
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


def contents(cooked: Recipe, evaporated_g: float | None = None) -> PotContents:
    """Work out the water phase of a pot.

    Parameters
    ----------
    cooked : Recipe
        The recipe as it went in.
    evaporated_g : float, optional
        Mass lost, from weighing the pot twice [g]; as forecast where it was not weighed.

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
    if evaporated_g is None:
        return _boiled_down(cooked, forecast(cooked)[0], weighed=False)
    return _boiled_down(cooked, evaporated_g, weighed=True)


def _boiled_down(cooked: Recipe, lost_g: float, *, weighed: bool) -> PotContents:
    """A recipe after so much has gone as steam [g]: a forecast ends where the water does, a weighing is refused there."""
    said.refuse(cooked.liquid_l <= 0, "no liquid", title=cooked.title)
    return _contents(cooked_pot_of(cooked, lost_g, weighed=weighed), weighed=weighed)


def cooked_pot_of(cooked: Recipe, lost_g: float, *, weighed: bool = False) -> PotState:
    """A pot with all lines in, cooked, and so much of it boiled off [g]."""
    pot = PotBalance()
    for line, fate in zip(cooked.ingredients, cooked.fates, strict=True):
        pot.put(line, fate)
    pot.cook()
    water = pot.state().of("water")
    said.refuse(weighed and lost_g >= MOST_STEAM * water, "evaporated", came=lost_g, water=water)
    pot.evaporate(lost_g, 0.0)
    return pot.state()


def inside(batch: Batch, recipe: Recipe, usual: float | None = None) -> PotContents | None:
    """The water phase of a pot when it was last read fresh, by the balance of its moments; None without a liquid.

    Where it was not weighed, the ``usual`` share of what went in is taken to have evaporated, else what is forecast.

    Raises a `BatchError` where its story cannot be.
    """
    found, last = read_inside(batch, recipe, usual)
    fresh = [each for reading, each in found if STAGES[reading.stage].fresh]
    return (fresh or [last])[-1] if last.liquid_l > 0 else None


Reads = list[tuple[Reading, PotContents]]


def read_inside(batch: Batch, recipe: Recipe, usual: float | None = None) -> tuple[Reads, PotContents]:
    """Each reading of a pot that stands with what was in the pot then; and what is in it at the end. See :func:`inside`."""
    found = states(batch, recipe, usual)
    weighings = [each.moment for each in found if each.moment and each.moment.kind == "weighed"]
    pots = {each.pot for each in weighings if each.pot} or {""}
    weighed = len(weighings) > len(pots) or any(each.tare_g is not None for each in weighings)
    read = [(each.moment.reading, each) for each in found if each.moment and each.moment.reading]
    stands = [(reading, _contents(each, weighed=weighed)) for reading, each in read if not reading.left_out]
    return stands, _contents(found[-1], weighed=weighed)


def _contents(state: PotState, *, weighed: bool) -> PotContents:
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
    found = _boiled_down(bare, loss * cooked.mass_g, weighed=False)
    return Pot(found.water_g / found.liquid_l, (found.starch_g + found.other_starch_g) / found.liquid_l)
