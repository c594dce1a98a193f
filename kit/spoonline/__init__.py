"""spoonline: turn a thickened dish made by feel into one whose thickness anyone can repeat.

The names below are the whole public surface. Each is loaded when it is first used, so that ``import spoonline`` stays quick.
A figure may also come as a quantity of ``spoonline.units``, the kitchen's own pint registry: ``units("3 tbsp_au")``.
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.2.0.dev0"

# name -> the room it lives in
_PUBLIC = {
    "Batch": "spoonline.pots",
    "DoseCurve": "spoonline.dose",
    "FlowCup": "spoonline.flow",
    "Fluid": "spoonline.flow",
    "KitchenError": "spoonline.measures.errors",
    "Logbook": "spoonline.logbook",
    "OwnSpoon": "spoonline.recipes",
    "OwnTrim": "spoonline.recipes",
    "Pan": "spoonline.recipes",
    "Range": "spoonline.measures.ranges",
    "Reading": "spoonline.pots",
    "Recipe": "spoonline.recipes",
    "RecipeCard": "spoonline.card",
    "Ring": "spoonline.flow",
    "Slump": "spoonline.flow",
    "Spatula": "spoonline.flow",
    "Syringe": "spoonline.flow",
    "Target": "spoonline.recipes",
    "Trough": "spoonline.flow",
    "booklet": "spoonline.card",
    "changes": "spoonline.recipes",
    "check": "spoonline.recipes",
    "dish_curve": "spoonline.dose",
    "decide": "spoonline.card",
    "fluid_from": "spoonline.flow",
    "grams": "spoonline.facts",
    "household": "spoonline.facts",
    "kitchen_prior": "spoonline.dose",
    "mat": "spoonline.flow",
    "mend": "spoonline.dose",
    "open_logbook": "spoonline.logbook",
    "parse_amount": "spoonline.measures",
    "plan_session": "spoonline.tasters",
    "pot_states": "spoonline.pots",
    "read_session": "spoonline.tasters",
    "scaled_for_pot": "spoonline.recipes",
    "shopping_list": "spoonline.recipes",
    "units": "spoonline.measures.registry",
    "which_test": "spoonline.flow",
}

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
