"""From an old sheet and a person's choices to recipes and batches: what each row would become, and what is asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from spoonline import flow
from spoonline.measures.errors import BatchError
from spoonline.old_sheets.columns import ROLES, Choices, Proposal, either_way, propose
from spoonline.old_sheets.row import OldRow, RowReader
from spoonline.old_sheets.sheet import Sheet
from spoonline.recipes import Recipe


@dataclass(frozen=True)
class Understood:
    """The whole sheet as understood: its rows, and what is asked once for all of them."""

    name: str
    rows: tuple[OldRow, ...]
    asked_once: tuple[str, ...]

    @property
    def clear(self) -> tuple[OldRow, ...]:
        """The rows that can be saved."""
        return tuple(row for row in self.rows if row.clear)

    @property
    def open(self) -> tuple[OldRow, ...]:
        """The rows that cannot be saved, each with its questions."""
        return tuple(row for row in self.rows if not row.clear)


class OldTrial(NamedTuple):
    """A recipe, the fields of its batch (all but the version), and the note of the version."""

    recipe: Recipe
    batch: dict[str, Any]
    version_note: str


def proposed_choices(sheet: Sheet) -> tuple[list[Proposal], Choices]:
    """The proposal for every column, and choices that hold it and nothing else."""
    found = propose(sheet)
    return found, Choices(tuple(each.role for each in found))


def understood(sheet: Sheet, choices: Choices, today: date | None = None) -> Understood:
    """Say what each row of a sheet would become under these choices, and what is open.

    Parameters
    ----------
    sheet, choices : Sheet, Choices
        As read by ``read_sheet``; a role for each column, and what holds for the whole sheet.
    today : date, optional
        Later dates are asked about; the machine's own day unless given.

    Returns
    -------
    Understood
        One row a trial: amounts [g], liquid [L], readings in the tool's unit. Nothing is left out: what is no figure, and
        every column that is not used, stands in the note of the batch.

    Raises
    ------
    BatchError
        If the choices do not fit the sheet.

    Examples
    --------
    >>> from spoonline.old_sheets.sheet import read_sheet
    >>> sheet = read_sheet(b"Dish;Date;Corn starch;Stock L\\nSoup;2026-01-08;2 heaped tbsp;1,5\\nSoup;3/4/2026;40;1,5\\n")
    >>> found = understood(sheet, proposed_choices(sheet)[1])
    >>> [round(row.recipe.thickener_g) for row in found.clear], len(found.open[0].questions)
    ([32], 2)
    """
    if len(choices.roles) != len(sheet.headings):
        raise BatchError(f"{len(choices.roles)} choices came for {len(sheet.headings)} columns; choose one for each.")
    rows: list[OldRow] = []
    seen: dict[str, int] = {}
    for number, cells in zip(sheet.numbers, sheet.rows, strict=True):
        row = RowReader(sheet, choices, number, cells, today or date.today()).read()
        if row.batch is not None and not choices.equal_rows_are_pots:
            first = seen.setdefault(repr((row.recipe, {**row.batch, "note": row.says}, row.version)), number)
            if first != number:
                question = (
                    f"It says the same as row {first}: write what differs, or say that equal rows are several pots."
                )
                row = OldRow(number, row.says, (question,), row.remarks)
        rows.append(row)
    return Understood(sheet.name, tuple(rows), tuple(_asked_once(sheet, choices)))


def to_records(found: Understood) -> list[OldTrial]:
    """What is to be saved, by date: equal recipes stand as one recipe, their version's note names every word for it."""
    rows = [
        (row.recipe, row.batch, row.version) for row in found.clear if row.recipe is not None and row.batch is not None
    ]
    rows.sort(key=lambda row: row[1]["cooked_on"])
    called: dict[Recipe, dict[str, None]] = {}
    for recipe, _, version in rows:
        called.setdefault(recipe, {})[version] = None
    made = []
    for recipe, batch, _ in rows:
        words = ", ".join(filter(None, called[recipe]))
        note = f"Imported from {found.name}{f', there called {words}' if words else ''}; other ingredients were not in the sheet."
        made.append(OldTrial(recipe, batch, note[:2000]))
    return made


def _asked_once(sheet: Sheet, choices: Choices) -> list[str]:
    kinds, asked = {ROLES[role].what for role in choices.roles}, []
    places = [at for at, role in enumerate(choices.roles) if role == "date"]
    dates = [cell for at in places for cell in sheet.column(at) if either_way(cell)]
    if dates and not choices.date_order:
        asked.append(f"{dates[0]!r} can be read day first or month first: which is it in this sheet?")
    if "dish" not in kinds and not choices.dish:
        asked.append("No column names the dish: which dish was it?")
    if "liquid" not in kinds and choices.litres is None:
        asked.append("No column gives the liquid: how many litres was a pot? For a sheet in g/L, 1 L will do.")
    for tool in choices.tools:
        usual = flow.usual_settings(tool)
        if usual and tool not in choices.settings:
            sizes = ", ".join(f"{name.replace('_', ' ')} {value:g}" for name, value in usual.items())
            asked.append(f"Which sizes had the {tool}? Usual are {sizes}; change them or say that they hold.")
    if choices.tools and "temperature" not in kinds and choices.temperature_c is None:
        asked.append("No column gives the temperature of the readings: how hot was the food, in C?")
    return asked
