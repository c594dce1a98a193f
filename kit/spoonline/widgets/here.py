"""The logbook of the folder one works in."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

LOGBOOK = "kitchen.sqlite"


def open_here() -> Logbook:
    """Open the logbook of this folder, or the one that ``SPOONLINE_LOGBOOK`` names (a file or a database address)."""
    from spoonline.logbook import open_logbook

    return open_logbook(os.environ.get("SPOONLINE_LOGBOOK") or LOGBOOK)
