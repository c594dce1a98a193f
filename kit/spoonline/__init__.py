"""spoonline: turn a thickened dish made by feel into one whose thickness anyone can repeat.

The names below are the whole public surface. Each is loaded when it is first used, so that ``import spoonline`` stays quick.
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.1.0"

# name -> the room it lives in
_PUBLIC = {
    "Batch": "spoonline.trials",
    "DoseCurve": "spoonline.trials",
    "Fluid": "spoonline.flow",
    "KitchenError": "spoonline.measures.errors",
    "Logbook": "spoonline.logbook",
    "Range": "spoonline.measures.ranges",
    "Reading": "spoonline.trials",
    "Recipe": "spoonline.recipes",
    "RecipeCard": "spoonline.card",
    "Ring": "spoonline.flow",
    "Spatula": "spoonline.flow",
    "Target": "spoonline.recipes",
    "changes": "spoonline.recipes",
    "dish_curve": "spoonline.trials",
    "grams": "spoonline.facts",
    "household": "spoonline.facts",
    "open_logbook": "spoonline.logbook",
    "parse_amount": "spoonline.measures",
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
