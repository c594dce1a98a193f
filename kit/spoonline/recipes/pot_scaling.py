"""Scaling that knows the pot: what boils away goes with surface and time, what is baked goes with the area of its pan."""

import math
from collections.abc import Sequence
from statistics import median
from typing import NamedTuple

from spoonline.measures import Range, or_none, parse_amount, takes_quantities
from spoonline.recipes.base import said
from spoonline.recipes.own import Pan
from spoonline.recipes.records import Recipe

# Fill a pan for the hob to two thirds at most, against boiling over (memory).
FILL = 2 / 3
SOUP_G_PER_ML = 1.03
# Boil-off of one cook's pan from one batch to the next, lid and flame as before (judged; weigh yours).
BOIL_OFF_SD = 0.20
# A liquid that is less of all liquid than this is a flavour (the lemon), and makes up for nothing that boils away (judged).
LEAST_SHARE = 0.2
# Pieces that nobody halves gladly.
WHOLE_UNITS = ("can", "packet", "stick", "carton", "cube")


class PotScaling(NamedTuple):
    """A scaled recipe, its main liquid adjusted for what boils away, and what the pan does to it.

    ``factor`` is finished mass over finished mass before; what boils away and what is left are 90 % ranges [g];
    ``liquid_change_ml`` is liquid added to (or left out of) plain scaling [mL].
    """

    recipe: Recipe
    factor: float
    evaporated_g: Range
    finished_g: Range
    liquid_change_ml: float
    notes: tuple[str, ...]

    @property
    def text(self) -> str:
        """What came out, in sentences."""
        change = self.liquid_change_ml
        more = f"{abs(change):.0f} mL {'more' if change > 0 else 'less'}" if abs(change) >= 1 else "no more"
        return said("scaled for a pot", of=self, more=more, notes=" ".join(self.notes)).strip()


@takes_quantities
def boil_off_g_per_min_m2(evaporated_g: Sequence[float], minutes: Sequence[float], pan: Pan) -> float:
    """A pan's own boil-off per open surface [g/min/m2]: the median over batches that were weighed [g] and timed [min].

    Raises `RecipeError` if there is no batch, a time is not above 0, or the pan has no size.

    >>> round(boil_off_g_per_min_m2([180, 210], [30, 35], Pan(name="28 cm pot", diameter_cm=28)))
    97
    """
    if pan.surface_cm2 is None or not evaporated_g or any(not each > 0 for each in minutes):
        raise said.error("nothing to boil")
    return median(lost / time for lost, time in zip(evaporated_g, minutes, strict=True)) / pan.surface_cm2 * 1e4


@takes_quantities
def scaled_for_pot(
    recipe: Recipe, factor: float, pan: Pan, *, boil_off_g_per_min_m2: float, minutes: float,
    was_pan: Pan, was_minutes: float, whole: bool = True,
) -> PotScaling:  # fmt: skip
    """Scale a recipe so that the finished dish, not what is put in, is the same to the gram per gram.

    Parameters
    ----------
    recipe : Recipe
    factor : float
        Finished mass wanted over finished mass before.
    pan, was_pan : Pan
        The pan it will be cooked in, and that of the recipe as it stands.
    boil_off_g_per_min_m2 : float
        The cook's own boil-off [g/min/m2], see :func:`boil_off_g_per_min_m2`.
    minutes, was_minutes : float
        How long it will boil, and how long the recipe as it stands does [min].
    whole : bool, optional
        Make eggs and tins whole and re-base the recipe on the first of them.

    Raises
    ------
    RecipeError
        If a figure is not above 0, a pan has no size, the recipe has no liquid, or more would boil away than is there.

    Notes
    -----
    Solids, thickener, salt and fat go by the factor, so that each keeps its share of the finished dish; only the largest
    liquid changes, by the difference in water lost. Evaporation goes by surface and time (kg/min per area constant for like
    boiling: common practice, no source); its range is 20 % one standard uncertainty (judged). In a similar pot the loss per
    kilogram goes with V^(-1/3).

    Examples
    --------
    >>> soup = Recipe(title="Gravy", ingredients=["1 l vegetable stock", "60 g wheat flour"])
    >>> small, large = Pan(name="24 cm", diameter_cm=24), Pan(name="32 cm", diameter_cm=32)
    >>> more = scaled_for_pot(soup, 3, large, boil_off_g_per_min_m2=200, minutes=15, was_pan=small, was_minutes=15)
    >>> round(more.liquid_change_ml), [line.amount for line in more.recipe.ingredients]
    (-166, ['2.83 l', '180 g'])
    """
    surface, was_surface = _surfaces_cm2(pan, was_pan)
    given = {"factor": factor, "boil-off": boil_off_g_per_min_m2, "minutes": minutes, "minutes before": was_minutes}
    for name, value in given.items():
        said.refuse(not (math.isfinite(value) and value > 0), "above 0", name=name, value=value)
    poured = max((float(line.volume_ml or 0) for line in recipe.of_part("liquid")), default=0.0)
    said.refuse(poured <= LEAST_SHARE * 1000 * recipe.liquid_l, "nothing pours", title=recipe.title)
    factor, notes = _whole_factor(recipe, factor) if whole else (factor, [])
    was_lost = boil_off_g_per_min_m2 * was_surface / 1e4 * was_minutes
    lost = boil_off_g_per_min_m2 * surface / 1e4 * minutes
    said.refuse(was_lost >= recipe.mass_g, "boils dry", lost=was_lost, mass=recipe.mass_g)
    scaled = recipe.scaled(factor)
    # Liquids of a kitchen are water to a per cent or two, so a gram of water lost is a millilitre of liquid.
    change = lost - factor * was_lost
    most = max(scaled.of_part("liquid"), key=lambda line: line.mass_g or 0)
    mass, volume = float(most.mass_g or 0), float(most.volume_ml or 0) + change
    longer = factor * was_lost / (boil_off_g_per_min_m2 * surface / 1e4)
    said.refuse(mass + change <= 0.1 * mass, "too little liquid", of=most, less=-change, longer=longer)
    amount = f"{volume / 1000:.3g} l" if volume >= 1000 else f"{volume:.0f} ml"
    instead = most.reweighed(amount, mass * volume / float(most.volume_ml or 1), float(most.sd_g or 0), most.basis)
    lines = tuple(instead if line is most else line for line in scaled.ingredients)
    recipe = scaled.model_copy(update={"ingredients": lines})
    deep = recipe.mass_g / SOUP_G_PER_ML / surface
    full = pan.depth_cm is not None and deep > FILL * float(pan.depth_cm)
    said_of = {said("how deep", deep=deep, pan=pan.name): True, said("too full", depth=pan.depth_cm): full}
    said_of |= {said("cools slowly"): deep > 5, said("slower"): True}
    notes += [note for note, holds in said_of.items() if holds]
    spread, left = 1.645 * BOIL_OFF_SD * lost, recipe.mass_g - lost
    boiled, kept = (Range(each, each - spread, each + spread) for each in (lost, left))
    return PotScaling(recipe, factor, boiled, kept, change, tuple(notes))


def scaled_for_pan(recipe: Recipe, pan: Pan, was_pan: Pan) -> tuple[Recipe, str]:
    """Scale what is baked from one pan to another by their areas, so that it stands as deep as before; and say the factor.

    Raises `RecipeError` if a pan has no size.

    >>> tart = Recipe(title="Tart", ingredients=["200 g wheat flour", "100 g butter", "60 g water"])
    >>> scaled_for_pan(tart, Pan(name="large", diameter_cm=28), Pan(name="small", diameter_cm=23))[1]
    '23 cm to 28 cm round: times 1.48. It stands as deep as before, so look at it when the old time is up.'
    """
    surface, was_surface = _surfaces_cm2(pan, was_pan)
    factor, was_size = surface / was_surface, was_pan.size
    if pan.size.endswith("round"):
        was_size = was_size.removesuffix(" round")
    return recipe.scaled(factor), said("as deep", was=was_size, now=pan.size, factor=factor)


def _whole_factor(recipe: Recipe, factor: float) -> tuple[float, list[str]]:
    """The factor nearest to the wanted one that makes the first egg or tin line whole."""
    for line in recipe.ingredients:
        amount = or_none(parse_amount, line.amount)
        eggs = (line.fact_name or "").startswith("egg")
        if amount is None or not (amount.unit in WHOLE_UNITS or (eggs and amount.unit == "")):
            continue
        count = amount.middle * factor
        near = max(1, round(count))
        if abs(near - count) < 1e-6:
            break
        again = near / amount.middle
        return again, [said("re-based", count=near, item=line.item, again=again, factor=factor)]
    return factor, []


def _surfaces_cm2(*pans: Pan) -> list[float]:
    found = [pan.surface_cm2 for pan in pans if pan.surface_cm2 is not None]
    said.refuse(len(found) < len(pans), "no size of a pan")
    return found
