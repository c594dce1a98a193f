"""The thickness box: what the kitchen's tools show at the target, and what to do when they show something else."""

from __future__ import annotations

import math

from spoonline import flow
from spoonline.card.content import Check, Mend
from spoonline.card.words import Words
from spoonline.dose import DishCurve
from spoonline.dose.stages import mending_terms
from spoonline.pots.thickness import FLOW_INDEX, SOUP_DENSITY_KG_M3
from spoonline.recipes import Target

# Thickness over the target's at which a card says what to do.
OFF = (0.5, 0.7, 1.4, 2.0)


def tool_reading(tool: str, viscosity_pa_s: float, target: Target) -> float | None:
    """What a tool reads at a viscosity [Pa s, at the target's shear rate]; None where it cannot read that."""
    consistency = viscosity_pa_s * float(target.shear_rate_per_s) ** (1 - FLOW_INDEX)
    instrument = flow.usual(tool)
    reading = float(instrument.reading(flow.Fluid(consistency, FLOW_INDEX, SOUP_DENSITY_KG_M3)))
    return None if instrument.flags(reading) else reading


def checks(target: Target, words: Words) -> tuple[Check, ...]:
    """What the kitchen's tools show at the target and at both ends of its band."""
    found, ends = [], (target.low_pa_s, float(target.viscosity_pa_s), target.high_pa_s)
    for tool in (name for name, kind in flow.TOOLS.items() if kind.place < 90):
        readings = [each for end in ends if (each := tool_reading(tool, end, target)) is not None]
        if len(readings) == len(ends):
            low, high = (f"{each:.1f}" for each in sorted((readings[0], readings[2])))
            unit = words.phrase(flow.unit_of(tool))
            text = words.say("reading", best=f"{readings[1]:.1f}", unit=unit, low=low, high=high)
            found.append(Check(tool, words.phrase(flow.TOOLS[tool].how), text))
    return tuple(found)


def mends(dish: DishCurve, target: Target, tool: str, words: Words, *, thickener: str, liquid: str) -> tuple[Mend, ...]:
    """Say what brings a pot that is too thin or too thick to the target.

    Parameters
    ----------
    dish : DishCurve
        Its slope says how much.
    target : Target
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
    litres, water, slope = mending_terms(dish, dish.dose_g_per_l)
    b = dish.curve.exponent
    rows = []
    for times in OFF:
        if times > 1:
            best, high, low = (water * (times ** (1 / max(each, 0.5)) - 1) for each in b)
            do = words.say("add_liquid", range=_spread(words, best, low, high, 5 if best < 100 else 10), name=liquid)
        elif slope < 1:
            do = words.say("add_unknown", name=thickener)
        else:
            at = (slope * max(each, 0.5) / b.best for each in b)
            best, high, low = (dish.dose_g_per_l / litres * (times ** (-1 / each) - 1) for each in at)
            spread = _spread(words, best, low, high, 0.5 if best >= 5 else 0.1)
            do = words.say("add_thickener", range=spread, name=thickener)
        viscosity = float(target.viscosity_pa_s) * times
        reading = tool_reading(tool, viscosity, target) if tool else None
        # No tool of the kit reads it there: say the viscosity alone.
        at_hand = f"{viscosity:.2g} Pa s" if reading is None else f"{reading:.1f} {words.phrase(flow.unit_of(tool))}"
        rows.append(Mend(words.say("times_thickness", times=f"{times:g}"), at_hand, do))
    return tuple(rows)


def _spread(words: Words, best: float, low: float, high: float, step: float) -> str:
    digits = 0 if step >= 1 else 1
    best, low, high = (step * math.floor(each / step + 0.5) for each in (best, low, high))
    return words.say("spread", best=f"{best:.{digits}f}", low=f"{low:.{digits}f}", high=f"{high:.{digits}f}")
