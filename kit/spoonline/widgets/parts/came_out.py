"""What else came out of a pot, and what was varied beside its lines: a row each; and the pots of a plan, which ask for both."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

import ipywidgets as w

from spoonline.effects import PotPlan, weighed_out
from spoonline.pots import Batch, Outcome, Quantity
from spoonline.recipes import Recipe
from spoonline.widgets.parts.effect_view import THICKNESS
from spoonline.widgets.parts.fields import appear, declared, fill, laid_out
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.pot_lines import PotLines
from spoonline.widgets.parts.rows_table import RowsTable
from spoonline.widgets.parts.typed import about, figures, said

Found = TypeVar("Found", Outcome, Quantity)
NO_PLAN = ("none", ("", 0))


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


class FromPlan(w.Dropdown):
    """The pots of a dish's plans that were not cooked yet, to choose one."""

    def __init__(self, panel: Panel, lines: PotLines, came: CameOut) -> None:
        self._panel, self._lines, self._came = panel, lines, came
        # the fields that the chosen pot filled, and with what
        self.filled = list[tuple[w.Text, str]]()
        super().__init__(options=[NO_PLAN], description="From a plan")

    def offer(self, title: str, opened: Batch | None, chosen: tuple[str, int]) -> None:
        """Offer those of a dish, with the one that is chosen; a pot that is laid open keeps its own."""
        book, own = self._panel.book, chosen if opened else None
        cooked = {(each.plan, each.plan_pot) for each in book.all_batches(title)} - {own}
        offered = {
            (plan.name, pot.number): f"Pot {pot.number} of the plan '{plan.name}': {plan.words(pot.settings)}"
            for plan in book.kept(PotPlan, title)
            for pot in plan.pots
            if (plan.name, pot.number) not in cooked
        }
        if own and own[1]:
            offered.setdefault(own, f"Pot {own[1]} of the plan '{own[0]}', which was taken back")
        fill(self, [NO_PLAN, *((words, pot) for pot, words in offered.items())], chosen)
        appear(offered, self)

    def forget(self) -> None:
        """What the pot chosen before put in goes with it, unless it was typed over."""
        with self._panel.filling_in():
            for field, put in self.filled:
                field.value = "" if field.value == put else field.value
            self._came.forget_planned()
        self.filled = []

    def fill_in(self, title: str, tonight: Recipe) -> bool:
        """What the chosen pot asks stands in the fields; whether one is chosen."""
        self.forget()
        name, number = self.value
        plans = [each for each in self._panel.book.kept(PotPlan, title) if each.name == name]
        for plan in plans[:1]:
            factors = {each.column: each for each in plan.factors}
            settings = dict(zip(factors, map(float, plan.pots[number - 1].settings), strict=True))
            made, typed = weighed_out(tonight, settings)
            self.filled = self._lines.put_in(tonight, made)
            with self._panel.filling_in():
                for column, value in typed.items():
                    self._came.vary(factors[column].name, f"{float(f'{value:.3g}'):g}", factors[column].unit)
                if plan.column != THICKNESS:  # which the tool reads
                    self._came.ask(plan.outcome, plan.unit, plan.stage)
        return bool(plans)


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
