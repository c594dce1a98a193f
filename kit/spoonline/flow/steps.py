"""How each kitchen test is done, in five short steps."""

from __future__ import annotations

STEPS: dict[str, tuple[str, str, str, str, str]] = {
    "ring": (
        "Level a smooth plate and bring it near the food's temperature.",
        "Stand the ring in the middle and fill it to its mark; strain out lumps first.",
        "Lift it straight up in less than half a second, and start the clock.",
        "At the set second, mark the edge on four sides.",
        "Measure the four radii from the middle, in cm; weigh the plate if much stayed in the ring.",
    ),
    "spatula": (
        "Warm a flat, square-edged spatula in the food; strain out lumps first.",
        "Weigh a small plate, or set the scale to zero with it.",
        "Dip the spatula to its mark, pull it straight out, and start the clock half-way through the pull.",
        "Hold it upright; at the set second touch the drop at its edge off on the rim.",
        "Weigh what it holds, in g; both sides are wet, so type half of it.",
    ),
    "trough": (
        "Level the trough; it should be 5 cm wide, with a gate 5 cm from the back wall.",
        "Fill the measured volume behind the gate and level it off.",
        "Open the gate at once, and start the clock.",
        "At the set second, mark where the front stands in the middle.",
        "Read the distance from the gate, in cm.",
    ),
    "syringe": (
        "Take a straight 10-mL syringe with its plunger out, and check that 10 mL of water run out in about 7 s.",
        "Close the tip with a finger and fill it to 10 mL.",
        "Take the finger away, and start the clock.",
        "At 10 s, close the tip again.",
        "Read what is left, in mL.",
    ),
    "flow cup": (
        "Bring cup and food to one temperature; strain out every lump.",
        "Close the hole with a finger and fill the cup to the brim.",
        "Take the finger away, and start the clock.",
        "Watch the stream below the cup.",
        "Stop when it first breaks; the reading is the time, in s.",
    ),
}
