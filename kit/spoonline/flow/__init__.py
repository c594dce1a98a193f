"""A fluid, and the kitchen tests that read it. Knows nothing of food, recipes or files."""

from spoonline.flow.fluid import Fluid, G
from spoonline.flow.instrument import Instrument
from spoonline.flow.kitchen_tools import (
    NOT_CLINICAL,
    TOOLS,
    how,
    instrument,
    resolution,
    unit_of,
    usual,
    usual_settings,
)
from spoonline.flow.ring import Ring
from spoonline.flow.spatula import Spatula

__all__ = [
    "NOT_CLINICAL", "TOOLS", "Fluid", "G", "Instrument", "Ring", "Spatula", "how", "instrument", "resolution", "unit_of", "usual",
    "usual_settings",
]  # fmt: skip
