"""The pot on the stove against its aim: too thin, right or too thick in the tool's own unit, and what to do now."""

from dataclasses import dataclass

from spoonline import flow
from spoonline.dose.dish_curve import DishCurve
from spoonline.dose.mend import COLDER_C, Remedy, mend
from spoonline.measures import BatchError, Range
from spoonline.pots import STAGES, Batch, as_moments, is_fresh, shown_text, thickness_at
from spoonline.recipes import Recipe

SAID = {"inside": "Right", "thinner than": "Too thin", "thicker than": "Too thick"}
# Before anything thickens it a pot is meant to be thinner.
SAID_BEFORE = SAID | {"inside": "Thick enough without starch", "thinner than": "The base"}


@dataclass(frozen=True)
class PotNow:
    """A pot on the stove: how it stands against its aim in the tool's own unit, the same in Pa s, and what to do with it now.

    ``against`` is ``inside``, ``thinner than`` or ``thicker than`` the band, blank where that cannot be said yet.
    """

    text: str = ""
    small: str = ""
    against: str = ""
    remedies: tuple[Remedy, ...] = ()


def pot_now(batch: Batch, recipe: Recipe, curve: DishCurve | None, boil_g_per_min: float | None) -> PotNow:
    """Say how a pot stands by its last reading, and what brings it to its aim; see :func:`spoonline.mend`.

    Parameters
    ----------
    batch : Batch
        The pot so far.
    recipe : Recipe
        The version that is cooked, with its aim.
    curve : DishCurve or None
        Of the dish; None for a dish without a thickener.
    boil_g_per_min : float or None
        What the pan boils off [g/min]; None where it was never weighed.

    Examples
    --------
    >>> from spoonline.pots import Reading
    >>> soup = Recipe(title="Clear soup", ingredients=["1 l vegetable stock", "38 g corn starch"], target={"viscosity_pa_s": "1.7"})
    >>> size = {"length_cm": 8, "width_cm": 10, "seconds": 10}
    >>> pot = Batch(title="Clear soup", version=1, cooked_on="2026-01-08",
    ...             readings=[Reading(tool="spatula", settings=size, values=[2.6], temperature_c=60)])
    >>> now = pot_now(pot, soup, None, 20)
    >>> now.text
    'Too thin: 2.6 g per wet side (spatula); 3.8 (3.3-4.3) g per wet side is wanted.'
    """
    story = [each for each in as_moments(batch) if each.reading is None or not each.reading.set_apart]
    at = max((n for n, each in enumerate(story) if each.kind == "read"), default=-1)
    reading = story[at].reading if at >= 0 else None
    if reading is None:
        return PotNow()
    since = [each for each in story[at + 1 :] if each.kind not in ("weighed", "strained")]
    if since:
        done = "; ".join(each.text for each in since)
        return PotNow(f"Read it again: since its last reading, {done}.")
    shows, aim = f"{reading.mean:.3g} {flow.unit_of(reading.tool)} ({reading.tool})", recipe.target
    thickness = thickness_at(reading, aim)
    if aim is None:
        return PotNow(f"{shows}. No aim is set: say which pot was right, or how thick it should be.", thickness.text)
    wanted = shown_text(reading, Range(float(aim.viscosity_pa_s), aim.low_pa_s, aim.high_pa_s), aim)
    against = aim.against_band(thickness.viscosity_pa_s)
    said = (SAID if STAGES[reading.stage].thickened else SAID_BEFORE)[against]
    # read colder or hotter than the aim, another figure is wanted than on other days
    when = "" if abs(reading.temperature_c - aim.temperature_c) <= COLDER_C else f" at {reading.temperature_c} C"
    text = f"{said}: {shows}; {f'{wanted} is wanted{when}' if wanted else f'{aim.viscosity_pa_s} Pa s is wanted'}."
    small = f"{thickness.text}; the aim is {aim.viscosity_pa_s} ({aim.low_pa_s:.2g}-{aim.high_pa_s:.2g}) Pa s"
    # a chilled dish is not held against its hot aim
    chilled = STAGES[reading.stage].temperature_c is not None and not is_fresh(reading.stage, aim)
    if against == "inside" and not chilled:
        return PotNow(text, small, against)
    try:
        found = mend(batch, recipe, curve, float(aim.viscosity_pa_s), float(aim.band), boil_g_per_min=boil_g_per_min)
    except BatchError as err:
        return PotNow(str(err)) if chilled else PotNow(f"{text} {err}", small, against)
    return PotNow(text, small, against, tuple(found))
