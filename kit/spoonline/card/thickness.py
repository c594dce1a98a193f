"""The thickness box: what the kitchen's tools show at the target, and what to do when they show something else."""

import math
from datetime import date

from spoonline import facts, flow
from spoonline.card.content import Check, Mend
from spoonline.card.words import Words
from spoonline.dose import DishCurve, Remedy, mend
from spoonline.measures import BatchError, Range
from spoonline.pots import SAUCE_G_PER_ML, Batch, Reading, tool_shows
from spoonline.recipes import MOST_DOSE_G_PER_L, Recipe, Target
from spoonline.recipes.ingredient import density_g_per_ml

# Thickness over the target's at which a card says what to do.
OFF = (0.5, 0.7, 1.4, 2.0)


def has_thickness(recipe: Recipe) -> bool:
    """Whether a card speaks of thickness at all: nobody reads what is baked with a spatula."""
    return recipe.kind != "dough"


def tool_reading(tool: str, viscosity_pa_s: float, target: Target) -> float | None:
    """What a tool reads at a viscosity [Pa s, at the target's shear rate]; None where it cannot read that."""
    return tool_shows(flow.usual(tool), viscosity_pa_s, float(target.shear_rate_per_s))


def checks(target: Target, words: Words) -> tuple[Check, ...]:
    """What the kitchen's tools show at the target and at both ends of its band."""
    found, ends = [], (target.low_pa_s, float(target.viscosity_pa_s), target.high_pa_s)
    for tool in (name for name, kind in flow.TOOLS.items() if kind.place < 90):
        readings = [each for end in ends if (each := tool_reading(tool, end, target)) is not None]
        if len(readings) == len(ends):
            low, high = (f"{each:.1f}" for each in sorted((readings[0], readings[2])))
            name, unit, best = words.phrase(tool), words.phrase(flow.unit_of(tool)), f"{readings[1]:.1f}"
            shows = words.say("reading" if name in unit else "reading_by", best=best, unit=unit, tool=name)
            good = words.say("good", low=low, high=high, unit=unit.split()[0])
            found.append(Check(tool, words.phrase(flow.TOOLS[tool].how), shows, good))
    return tuple(found)


def mends(dish: DishCurve, target: Target, tool: str, words: Words, *, thickener: str, liquid: str) -> tuple[Mend, ...]:
    """Say what brings a pot that is too thin or too thick to the target.

    Parameters
    ----------
    dish : DishCurve
        The dish.
    target : Target
    tool : str
        Whose readings stand beside; blank for none.
    words : Words
    thickener, liquid : str
        What to add, as this kitchen calls it.

    Returns
    -------
    tuple of Mend
        For each litre in the pot without its pieces: thickener [g], water to boil off [g] or liquid [mL], 90 % range.

    Notes
    -----
    As at the stove (:func:`spoonline.mend`), for a pot that lies on the curve: it reads what its own dose gives, no more is known of it.
    """
    rows = []
    for times in OFF:
        viscosity = float(target.viscosity_pa_s) * times
        reading = tool_reading(tool, viscosity, target) if tool else None
        # No tool of the kit reads it there: say the viscosity alone.
        unit = words.phrase(flow.unit_of(tool)).split()[0] if tool else ""
        at_hand = f"{viscosity:.2g} Pa s" if reading is None else f"{reading:.1f} {unit}"
        does = [_told(each, dish, words, thickener, liquid) for each in _remedies(dish, target, viscosity)]
        does = does or [(words.say("add_unknown", name=thickener), words.say("a_little"), thickener)]
        rows += [Mend(words.say("times_thickness", times=f"{times:g}"), at_hand, *do) for do in does]
    return tuple(rows)


def sauce_litres(dish: DishCurve, target: Target) -> float | None:
    """What the pot of the curve holds without its pieces, a little off the aim [L]; None where nothing is known of it."""
    found = _remedies(dish, target, float(target.viscosity_pa_s) * OFF[0])
    return found[0].sauce_g * found[0].salt_ratio / (1000 * SAUCE_G_PER_ML) if found else None


def _remedies(dish: DishCurve, target: Target, viscosity_pa_s: float) -> list[Remedy]:
    """What is done with the pot of the curve that has this viscosity: thickener or liquid, and boiling down; none where nothing is known."""
    dose = dish.curve.dose_for(viscosity_pa_s).best
    read = ((name, tool_reading(name, viscosity_pa_s, target)) for name in flow.TOOLS)
    name, shown = next(((name, each) for name, each in read if each is not None), ("", None))
    if not 0 < dose < MOST_DOSE_G_PER_L or shown is None:
        return []
    reading = Reading(tool=name, settings=flow.usual_settings(name), values=[shown], temperature_c=target.temperature_c)
    recipe = dish.with_dose(dose)
    batch = Batch(title=recipe.title, version=1, cooked_on=date.min, readings=[reading])
    try:
        found = mend(batch, recipe, dish, float(target.viscosity_pa_s), float(target.band))
    except BatchError:
        return []
    way = facts.thickener(dish.thickener).way
    other = {"rub": "slaked starch", "whisk": ""}.get(way, "flour in soft butter")
    return [each for each in found if each.do not in ("blend vegetables", other) and each.amount]


def _told(each: Remedy, dish: DishCurve, words: Words, thickener: str, liquid: str) -> tuple[str, str, str]:
    """A remedy for each litre of the sauce as it is now: with its range; how much of what, where something is added."""
    per_litre = 1000 * SAUCE_G_PER_ML / (each.sauce_g * each.salt_ratio)
    if each.do == "boil down":
        return words.say("boil_off", range=" ".join(_spread(words, each.needed, per_litre))), "", ""
    poured = each.do == "stir in liquid"
    # flour with as much butter is what a roux is
    roux = 1 + (facts.thickener(dish.thickener).way == "whisk")
    times = 1 / density_g_per_ml(dish.recipe.main_liquid or "water") if poured else roux
    best, ends = _spread(words, each.needed, per_litre * times)
    unit, name = ("mL", liquid) if poured else ("g", thickener)
    said = words.say("add_liquid" if poured else "add_thickener", range=f"{best} {ends}", name=name)
    return said, f"{best} {unit}", name


def _spread(words: Words, needed: Range, times: float) -> tuple[str, str]:
    """An amount as a kitchen measures it, and its range in brackets."""
    best = needed.best * times
    step = 10 if best >= 100 else 5 if best >= 50 else 1 if best >= 20 else 0.5 if best >= 5 else 0.1
    figures = (f"{step * math.floor(each * times / step + 0.5):.{0 if step >= 1 else 1}f}" for each in needed)
    said, low, high = figures
    return said, words.say("spread", low=low, high=high)
