"""A small table that one edits by keyboard: add, remove, reorder, paste from a spreadsheet.

A component of our own and no grid library: those that were looked at draw on a canvas, which a screen reader cannot read, or
bring hundreds of kilobytes; this is a plain HTML table of text fields.
"""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import anywidget
import traitlets

TABLE = (files("spoonline.widgets.parts") / "rows_table.js").read_text(encoding="utf-8")


class RowsTable(anywidget.AnyWidget):
    """An editable table of text; ``rows`` is a list of rows, each as long as ``columns``.

    Examples
    --------
    >>> table = RowsTable(label="Ingredients", columns=["Amount", "Item"], rows=[["1 l", "water"]])
    >>> table.filled
    [['1 l', 'water']]
    """

    _esm = traitlets.Unicode(TABLE).tag(sync=True)
    label = traitlets.Unicode("").tag(sync=True)
    columns = traitlets.List(traitlets.Unicode()).tag(sync=True)
    rows = traitlets.List(traitlets.List(traitlets.Unicode())).tag(sync=True)

    @property
    def filled(self) -> list[list[str]]:
        """The rows that are not blank, cells stripped, each as long as the table is wide."""
        stripped = [[cell.strip() for cell in row] + [""] * (len(self.columns) - len(row)) for row in self.rows]
        return [row for row in stripped if any(row)]

    @property
    def value(self) -> list[list[str]]:
        """The rows that are not blank; put in, they are followed by two blank ones to go on with."""
        return self.filled

    @value.setter
    def value(self, rows: list[list[str]]) -> None:
        wide = len(self.columns)
        self.rows = [*([*row, *[""] * (wide - len(row))] for row in rows), *self.blank(2)]

    def blank(self, count: int = 1) -> list[list[Any]]:
        """So many empty rows."""
        return [[""] * len(self.columns) for _ in range(count)]
