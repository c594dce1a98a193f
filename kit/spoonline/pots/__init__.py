"""Cooked pots: what went in, what was read, the water phase, and how thick that is."""

from spoonline.pots.contents import contents
from spoonline.pots.records import STAGES, Batch, Reading, Weighed
from spoonline.pots.table import batch_table, tested
from spoonline.pots.thickness import batch_thickness, own_thickness, thickness_at

__all__ = [
    "STAGES",
    "Batch",
    "Reading",
    "Weighed",
    "batch_table",
    "batch_thickness",
    "contents",
    "own_thickness",
    "tested",
    "thickness_at",
]
