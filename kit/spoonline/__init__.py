"""spoonline: turn a thickened dish made by feel into one whose thickness anyone can repeat.

The names below are the whole public surface. Each is loaded when it is first used, so that ``import spoonline`` stays quick.
A figure may also come as a quantity of ``spoonline.units``, the kitchen's own pint registry: ``units("3 tbsp_au")``.
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.2.0"

# What each room gives to the public surface.
_ROOMS = {
    "measures": "parse_amount",
    "measures.errors": "KitchenError",
    "measures.ranges": "Range",
    "measures.registry": "units",
    "facts": "grams household",
    "flow": "FlowCup Fluid fluid_from mat Ring Slump Spatula Syringe Trough which_test",
    "recipes": "Aim changes check OwnSpoon OwnTrim Pan Recipe scaled_for_pot shopping_list Target",
    "pots": "Batch Outcome pot_states Quantity Reading",
    "dose": "dish_curve DoseCurve kitchen_prior mend",
    "figures": "effect",
    "tasters": "plan_session read_session",
    "logbook": "Logbook open_logbook",
    "card": "booklet decide RecipeCard",
}
_PUBLIC = {name: f"spoonline.{room}" for room, names in _ROOMS.items() for name in names.split()}

__all__ = sorted(_PUBLIC)


def __getattr__(name: str) -> Any:
    """Load a public name from its room on first use."""
    if name in _PUBLIC:
        value = getattr(importlib.import_module(_PUBLIC[name]), name)
        globals()[name] = value
        return value
    raise AttributeError(f"spoonline has no name {name!r}; it has {', '.join(__all__)}")


def __dir__() -> list[str]:
    """List the public names."""
    return [*__all__, "__version__"]
