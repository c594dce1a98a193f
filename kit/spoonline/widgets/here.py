"""The logbook of the folder one works in."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from spoonline.measures.local import write_decimals_with
from spoonline.recipes import Habits, Version

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

LOGBOOK = "kitchen.sqlite"
SYSTEMS = [("US", "us"), ("metric", "metric"), ("UK", "uk"), ("Australian", "au")]


def open_here() -> Logbook:
    """Open the logbook of this folder, or the one that ``SPOONLINE_LOGBOOK`` names (a file or a database address)."""
    from spoonline.logbook import open_logbook

    book = open_logbook(os.environ.get("SPOONLINE_LOGBOOK") or LOGBOOK)
    write_decimals_with(habits_of(book).decimal)
    return book


def also_saved(book: Logbook, version: Version) -> str:
    """What to tell a cook whose version is not the only child of its parent; blank where it is."""
    others = [
        each
        for each in book.branches(version.title).get(version.parent or 0, [])
        if each.number != version.number
    ]
    if not others:
        return ""
    said = " and ".join(
        f"version {each.number}" + (f" by {each.cook}" if each.cook else "") for each in others
    )
    return f" Also made from version {version.parent}: {said}; all are kept, so compare them in notebook 3."


def habits_of(book: Logbook) -> Habits:
    """How this kitchen writes: what was kept last, else US spoons and a decimal point."""
    kept = book.kept(Habits)
    return kept[-1] if kept else Habits()
