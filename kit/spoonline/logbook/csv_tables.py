"""The same logbook as tables for a spreadsheet: units in the headers, and no cell that a spreadsheet would run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from spoonline.measures.errors import LogbookError

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

    titles = book.titles()
    versions = [book.versions(title).reset_index().assign(title=title) for title in titles]
    tables = {
        "versions.csv": pd.concat(versions, ignore_index=True) if versions else pd.DataFrame(),
        "batches.csv": book.batches(),
        "readings.csv": book.readings(),
    }
    try:
        for name, table in tables.items():
            table.map(harmless).to_csv(folder / name, index=False, encoding="utf-8", lineterminator="\n")
    except OSError as err:
        raise LogbookError(f"The folder {folder.name} could not be written ({err.strerror}); choose another.") from err
