"""The same logbook as tables for a spreadsheet: units in the headers, and no cell that a spreadsheet would run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spoonline.logbook.logbook import Logbook

# A cell that begins so is a formula to a spreadsheet; an apostrophe before it makes it text.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def harmless(value: object) -> object:
    """A cell as it may stand in a spreadsheet file.

    >>> harmless("=1+1"), harmless(-3), harmless("-3 g")
    ("'=1+1", -3, "'-3 g")
    """
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA) else value


def write_tables(book: Logbook, folder: Path) -> None:
    """Write recipes, batches and readings as they stand as CSV files (UTF-8, comma)."""
    import pandas as pd

    each = [book.versions(title).reset_index().assign(title=title) for title in book.titles()]
    versions = pd.concat(each, ignore_index=True) if each else pd.DataFrame()
    for name, table in (("versions", versions), ("batches", book.batches()), ("readings", book.readings())):
        table.map(harmless).to_csv(folder / f"{name}.csv", index=False, encoding="utf-8", lineterminator="\n")
