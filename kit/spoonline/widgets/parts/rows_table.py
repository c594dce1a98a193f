"""A small table that one edits by keyboard: add, remove, reorder, paste from a spreadsheet.

A component of our own and no grid library: those that were looked at draw on a canvas, which a screen reader cannot read, or
bring hundreds of kilobytes; this is a plain HTML table of text fields.
"""

from importlib.resources import files

import anywidget
import traitlets

TABLE = (files("spoonline.widgets.parts") / "rows_table.js").read_text(encoding="utf-8")


class RowsTable(anywidget.AnyWidget):
    """An editable table of text; ``rows`` is a list of rows, each as long as ``columns``.

    Without ``movable`` its rows have no buttons to move or remove them. With ``choices`` the last column is a list to choose from: a blank
    cell is none of them and is called what ``unchosen`` says of its row.

    Examples
    --------
    >>> table = RowsTable(label="Ingredients", columns=["Amount", "Item"], rows=[["1 l", "water"]])
    >>> table.value
    [['1 l', 'water']]
    """

    _esm = traitlets.Unicode(TABLE).tag(sync=True)
    label = traitlets.Unicode("").tag(sync=True)
    columns = traitlets.List(traitlets.Unicode()).tag(sync=True)
    rows = traitlets.List(traitlets.List(traitlets.Unicode())).tag(sync=True)
    choices = traitlets.List(traitlets.Unicode()).tag(sync=True)
    unchosen = traitlets.List(traitlets.Unicode()).tag(sync=True)
    movable = traitlets.Bool(True).tag(sync=True)

    @property
    def value(self) -> list[list[str]]:
        """The rows that are not blank, cells stripped, each as long as the table is wide; put in, two blank ones follow them."""
        stripped = [[cell.strip() for cell in row] + [""] * (len(self.columns) - len(row)) for row in self.rows]
        return [row for row in stripped if any(row)]

    @value.setter
    def value(self, rows: list[list[str]]) -> None:
        wide = len(self.columns)
        self.rows = [[*row, *[""] * (wide - len(row))] for row in (*rows, [], [])]
