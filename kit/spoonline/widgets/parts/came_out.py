"""What else came out of a pot, and what was varied beside its lines: a row each."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

import ipywidgets as w

from spoonline.pots import Batch, Outcome, Quantity
from spoonline.widgets.parts.fields import declared, laid_out
from spoonline.widgets.parts.rows_table import RowsTable
from spoonline.widgets.parts.typed import about, figures, said

Found = TypeVar("Found", Outcome, Quantity)


class CameOut(w.VBox):
    """Rows for outcomes and for quantities; those that earlier pots of the dish had are there again, with their units."""

    def __init__(self) -> None:
        self._planned: list[list[str]] = []
        declared(self, "what came out")
        self._told: dict[tuple[str, ...], Outcome | Quantity] = {}
        super().__init__(laid_out(self, "came out"))

    def begin(self, earlier: Sequence[Batch], opened: Batch | None = None) -> None:
        """What a pot had that is laid open, then what earlier ones had; a row without a figure is not kept."""
        told = [opened] if opened else []
        self._told = {_cells(each): each for each in _found(told, Outcome) + _found(told, Quantity)}
        for table, kind in ((self.outcomes, Outcome), (self.varied, Quantity)):
            own, used = ([list(_cells(each)) for each in _found(pots, kind)] for pots in (told, earlier))
            named = {(cells[0], *cells[3:]) for cells in own}
            asked = {(cells[0], *cells[3:]): [cells[0], "", *cells[2:]] for cells in used}
            table.value = [*own, *(cells for name, cells in asked.items() if name not in named)]

    def vary(self, name: str, value: str, unit: str) -> None:
        """What is varied in the pot that is cooked now."""
        self._planned.append([name, value, unit])
        self.varied.value = [[name, value, unit], *(cells for cells in self.varied.value if cells[0] != name)]

    def forget_planned(self) -> None:
        """What a plan's pot had varied goes with it, unless it was typed over."""
        self.varied.value = [cells for cells in self.varied.value if list(cells) not in self._planned]
        self._planned = []

    def ask(self, name: str, unit: str, stage: str) -> None:
        """What is looked at in it comes first, unless it stands there already."""
        if not any(cells[0] == name and cells[2:4] == [unit, stage] for cells in self.outcomes.value):
            self.outcomes.value = [[name, "", unit, stage], *self.outcomes.value]

    def typed(self) -> dict[str, Any]:
        """Outcomes and quantities of a batch, as typed.

        Raises
        ------
        KitchenError
            If a row cannot be read; the sentence names it.
        """
        return {"outcomes": self._read(self.outcomes, _outcome), "quantities": self._read(self.varied, _quantity)}

    def _read(self, table: RowsTable, made: Callable[[Sequence[str]], Found]) -> tuple[Any, ...]:
        found = list[Any]()
        for cells in table.value:
            if not cells[1]:
                continue
            with about(table.label):
                said.refuse(not cells[0], "no name", came=cells[1])
                found.append(self._told.get(tuple(cells)) or made(cells))
        return tuple(found)


def _found(pots: Iterable[Batch], kind: type[Outcome | Quantity]) -> list[Outcome | Quantity]:
    return [each for pot in pots for each in (*pot.outcomes, *pot.quantities) if isinstance(each, kind)]


def _cells(found: Outcome | Quantity) -> tuple[str, ...]:
    if isinstance(found, Quantity):
        return found.name, f"{found.value}", found.unit
    return found.name, "; ".join(map(str, found.values)), found.unit, found.stage


def _outcome(cells: Sequence[str]) -> Outcome:
    name, values, unit, stage = cells
    return Outcome(name=name, unit=unit, values=figures(values, name, unit), stage=stage.lower() or "served")


def _quantity(cells: Sequence[str]) -> Quantity:
    name, much, unit = cells
    values = figures(much, name, unit)
    said.refuse(len(values) != 1, "one figure", name=name, came=much, unit=unit)
    return Quantity(name=name, unit=unit, value=values[0])
