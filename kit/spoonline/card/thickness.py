"""The thickness box: what the kitchen's tools show at the target, and what to do when they show something else."""

from __future__ import annotations

import math

from spoonline import flow
from spoonline.card.content import Check, Mend
from spoonline.card.words import Words
from spoonline.dose import DishCurve
from spoonline.dose.stages import levers
from spoonline.pots.thickness import FLOW_INDEX, SOUP_DENSITY_KG_M3
from spoonline.recipes import Recipe, Target

TOOLS = ("spatula", "ring", "syringe")
# Thickness over the target's at which a card says what to do.
OFF = (0.5, 0.7, 1.4, 2.0)
# How a thickener is added to a hot pot; all else is slaked and boiled.
ADDED = {"wheat flour": "add_how_flour", "arrowroot": "add_how_root", "tapioca starch": "add_how_root",
         "xanthan gum": "add_how_gum", "guar gum": "add_how_gum"}  # fmt: skip


def shown(tool: str, viscosity_pa_s: float, target: Target) -> float | None:
    """What a tool shows at a viscosity [Pa s, at the target's shear rate]; None where it cannot read that."""
    consistency = viscosity_pa_s * float(target.shear_rate_per_s) ** (1 - FLOW_INDEX)
    instrument = flow.usual(tool)
    reading = float(instrument.reading(flow.Fluid(consistency, FLOW_INDEX, SOUP_DENSITY_KG_M3)))
    return None if instrument.flags(reading) else reading


def checks(target: Target, words: Words) -> tuple[Check, ...]:
    """What the kitchen's tools show at the target and at both ends of its band."""
    found = []
    for tool in TOOLS:
        readings = [
            shown(tool, each, target) for each in (target.low_pa_s, float(target.viscosity_pa_s), target.high_pa_s)
        ]
        known = [each for each in readings if each is not None]
        if len(known) == 3:
            low, high = sorted((known[0], known[2]))
            said = words.say(
                "reading",
                best=f"{known[1]:.1f}",
                unit=words.phrase(flow.usual(tool).unit),
                low=f"{low:.1f}",
                high=f"{high:.1f}",
            )
            found.append(Check(tool, words.phrase(flow.how(tool)), said))
    return tuple(found)


def mends(recipe: Recipe, dish: DishCurve, tool: str, words: Words, *, thickener: str, liquid: str) -> tuple[Mend, ...]:
    """Say what brings a pot that is too thin or too thick to the target.

    Parameters
    ----------
    recipe : Recipe
    dish : DishCurve
        Its slope says how much.
    tool : str
        Whose readings stand beside; blank for none.
    words : Words
    thickener, liquid : str
        What to add, as this kitchen calls it.

    Returns
    -------
    tuple of Mend
        For each litre in the pot: thickener [g] or liquid [mL], 90 % range.

    Notes
    -----
    As in reheating: thickener works through the slope s of the whole dish at its dose D, D ((target / reading)^(1/s) - 1) per
    litre of liquid; liquid grows the water phase by (reading / target)^(1/b), b the slope of the curve. The range is that of b.
    """
    target = dish.target
    dose = recipe.doses_g_per_l[dish.thickener]
    litres, water, slope = levers(dish, dose)
    b = dish.curve.exponent
    rows = []
    for times in OFF:
        viscosity = float(target.viscosity_pa_s) * times
        reading = shown(tool, viscosity, target) if tool else None
        if times > 1:
            best, high, low = (water * (times ** (1 / max(each, 0.5)) - 1) for each in b)
            do = words.say("add_liquid", range=_spread(words, best, low, high, 5 if best < 100 else 10), name=liquid)
        elif slope < 1:
            do = words.say("add_unknown", name=thickener)
        else:
            at = (slope * max(each, 0.5) / b.best for each in b)
            best, high, low = (dose / litres * (times ** (-1 / each) - 1) for each in at)
            do = words.say(
                "add_thickener", range=_spread(words, best, low, high, 0.5 if best >= 5 else 0.1), name=thickener
            )
        unit = words.phrase(flow.usual(tool).unit) if tool else ""
        # No tool of the kit reads it there: say the viscosity alone.
        said = f"{reading:.1f} {unit}" if reading is not None else f"{viscosity:.2g} Pa s"
        rows.append(Mend(words.say("times_thickness", times=f"{times:g}"), said, do))
    return tuple(rows)


def _spread(words: Words, best: float, low: float, high: float, step: float) -> str:
    digits = 0 if step >= 1 else 1
    best, low, high = (step * math.floor(each / step + 0.5) for each in (best, low, high))
    return words.say("spread", best=f"{best:.{digits}f}", low=f"{low:.{digits}f}", high=f"{high:.{digits}f}")
