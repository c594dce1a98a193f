"""The tools of a kitchen by name: usual sizes, resolution, how the test is done, and its five steps. A new instrument is one row here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from spoonline.flow.flow_cup import FlowCup
from spoonline.flow.instrument import Instrument
from spoonline.flow.ring import Ring
from spoonline.flow.spatula import Spatula
from spoonline.flow.syringe import Syringe
from spoonline.flow.trough import Trough
from spoonline.measures.errors import ItemError, ReadingError

NOT_CLINICAL = (
    "This is a kitchen thickness reading. It does not classify food for people with swallowing difficulty; that needs a "
    "qualified practitioner and the full published test set at serving temperature."
)


@dataclass(frozen=True)
class Tool:
    """A kitchen tool: its class, usual settings, fixed options, resolution in its own unit, the test in a sentence and in steps."""

    kind: type[Instrument]
    usual: dict[str, float]
    fixed: dict[str, Any]
    resolution: float
    how: str
    steps: tuple[str, str, str, str, str]


_ROWS = (
    Tool(
        Ring, {"radius_cm": 3.5, "height_cm": 2.0, "seconds": 10.0}, {"finite_height": True}, 0.1,
        "Fill a ring of 3.5 cm inner radius 2.0 cm high on a level plate, lift it straight up, and after 10 s measure the radius on "
        "four sides.",
        (
            "Level a smooth plate and bring it near the food's temperature.",
            "Stand the ring in the middle and fill it to its mark; strain out lumps first.",
            "Lift it straight up in less than half a second, and start the clock.",
            "At the set second, mark the edge on four sides.",
            "Measure the four radii from the middle, in cm; weigh the plate if much stayed in the ring.",
        ),
    ),
    Tool(
        Spatula, {"length_cm": 8.0, "width_cm": 10.0, "seconds": 10.0}, {}, 0.05,
        "Dip a flat spatula 10 cm wide 8 cm deep, pull it out, let it drain upright for 10 s, touch off the drop, weigh what stays on "
        "it and halve it.",
        (
            "Warm a flat, square-edged spatula in the food; strain out lumps first.",
            "Weigh a small plate, or set the scale to zero with it.",
            "Dip the spatula to its mark, pull it straight out, and start the clock half-way through the pull.",
            "Hold it upright; at the set second touch the drop at its edge off on the rim.",
            "Weigh what it holds, in g; both sides are wet, so type half of it.",
        ),
    ),
    Tool(
        Trough, {"volume_ml": 95.0, "seconds": 30.0}, {}, 0.25,
        "Fill 95 mL behind the gate of a level trough 5 cm wide, open the gate, and after 30 s read how far the food has come.",
        (
            "Level the trough; it should be 5 cm wide, with a gate 5 cm from the back wall.",
            "Fill the measured volume behind the gate and level it off.",
            "Open the gate at once, and start the clock.",
            "At the set second, mark where the front stands in the middle.",
            "Read the distance from the gate, in cm.",
        ),
    ),
    Tool(
        Syringe, {"volume_ml": 10.0, "seconds": 10.0}, {}, 0.2,
        "Fill a 10-mL syringe without plunger, finger under the tip, let it run for 10 s, and read what is left.",
        (
            "Take a straight 10-mL syringe with its plunger out, and check that 10 mL of water run out in about 7 s.",
            "Close the tip with a finger and fill it to 10 mL.",
            "Take the finger away, and start the clock.",
            "At 10 s, close the tip again.",
            "Read what is left, in mL.",
        ),
    ),
    Tool(
        FlowCup, {}, {"cup": "Ford 4"}, 0.5,
        "Fill the cup to the brim, finger under the hole, and time from taking the finger away until the stream breaks.",
        (
            "Bring cup and food to one temperature; strain out every lump.",
            "Close the hole with a finger and fill the cup to the brim.",
            "Take the finger away, and start the clock.",
            "Watch the stream below the cup.",
            "Stop when it first breaks; the reading is the time, in s.",
        ),
    ),
)  # fmt: skip
TOOLS: dict[str, Tool] = {row.kind.name: row for row in _ROWS}
STEPS = {name: row.steps for name, row in TOOLS.items()}


def tool(name: str) -> Tool:
    """The tool of this name; ItemError if there is none."""
    if name not in TOOLS:
        raise ItemError(f"{name!r} is no thickness tool here; choose one of {', '.join(TOOLS)}.", list(TOOLS))
    return TOOLS[name]


def instrument(name: str, **settings: float) -> Instrument:
    """A tool with these settings, as kitchens use it; ReadingError if one is missing, unknown or not above 0.

    Examples
    --------
    >>> instrument("spatula", length_cm=8, width_cm=10, seconds=10).name
    'spatula'
    """
    row = tool(name)
    missing, strange = set(row.usual) - set(settings), set(settings) - set(row.usual)
    if missing or strange:
        raise ReadingError(
            f"The {name} needs {', '.join(row.usual)}; missing {', '.join(sorted(missing)) or 'none'}, "
            f"unknown {', '.join(sorted(strange)) or 'none'}."
        )
    return row.kind(**settings, **row.fixed)


def usual(name: str) -> Instrument:
    """A tool with its usual settings."""
    return instrument(name, **tool(name).usual)


def usual_settings(name: str) -> dict[str, float]:
    """The usual settings of a tool, by name."""
    return dict(tool(name).usual)


def resolution(name: str) -> float:
    """Standard uncertainty of one reading by hand, in the tool's unit (judged)."""
    return tool(name).resolution


def unit_of(name: str) -> str:
    """The unit of a tool's readings."""
    return tool(name).kind.unit


def how(name: str) -> str:
    """How the test is done, in one sentence."""
    return tool(name).how
