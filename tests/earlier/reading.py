"""Hold what this release reads from a logbook against the rows that were stored; and play a later release."""

from __future__ import annotations

import functools
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from pydantic.fields import FieldInfo

import spoonline as sl
from spoonline.card.records import CardNote, SignOff
from spoonline.effects import Factor, PotPlan
from spoonline.effects.plans import PlannedPot
from spoonline.facts import equivalences, lines
from spoonline.facts import rows as facts_rows
from spoonline.keeping.cooling_log import CoolingLog, ProbeReading
from spoonline.keeping.dinner import Dinner, DinnerDish, DinnerStage, FreeHours
from spoonline.logbook import rows as logbook_rows
from spoonline.logbook.pictures import Picture
from spoonline.pots import Moment
from spoonline.pots.records import Weighed
from spoonline.recipes import Habits, Ingredient, Record, Step, Version
from spoonline.tasters import Sample, Session

# What release 0.1.0 kept, and what came later.
FIRST_KINDS = (sl.OwnSpoon, sl.OwnTrim, sl.Pan, Habits, SignOff, CardNote, CoolingLog, Dinner, Session, Picture)
KINDS = (*FIRST_KINDS, PotPlan)
# Parts before what they are part of.
RECORDS: tuple[type[Record], ...] = (
    Ingredient, Step, sl.Target, sl.Aim, sl.Recipe, Version, sl.Reading, Moment, Weighed, sl.Outcome, sl.Quantity, sl.Batch, Factor, PlannedPot,
    ProbeReading, DinnerStage, DinnerDish, FreeHours, Sample, *KINDS,
)  # fmt: skip


def stored_rows(path: Path) -> dict[str, list[dict[str, Any]]]:
    """Every row of a closed SQLite file, as SQLite gives it."""
    with closing(sqlite3.connect(path)) as connection:
        connection.row_factory = sqlite3.Row
        names = ("versions", "batches", "kept", "hidden", "pictures")
        return {name: [dict(row) for row in connection.execute(f"SELECT * FROM {name} ORDER BY seq")] for name in names}


def missing(stored: Any, read: Any, path: str = "") -> list[str]:
    """Where a record as read differs from what was stored; fields that only the reader knows do not count."""
    if isinstance(stored, dict) and isinstance(read, dict):
        return [
            each for key, value in stored.items() for each in missing(value, read.get(key, "gone"), f"{path}/{key}")
        ]
    if isinstance(stored, list) and isinstance(read, list) and len(stored) == len(read):
        return [
            each
            for at, (one, other) in enumerate(zip(stored, read, strict=True))
            for each in missing(one, other, f"{path}/{at}")
        ]
    return [] if stored == read else [f"{path}: stored {stored!r}, read {read!r}"]


def differences(book: sl.Logbook, rows: dict[str, list[dict[str, Any]]]) -> list[str]:
    """Every stored field that is not read as it was stored, and every record that is not read at all."""
    found: list[str] = []
    for row in rows["versions"]:
        version = book.version(row["title"], row["number"])
        data = version.model_dump(mode="json")
        found += missing({"body": json.loads(row["body"])}, {"body": data["recipe"]}, row["title"])
        columns = {name: row[name] for name in ("title", "number", "parent", "id", "note", "cook", "saved_at")}
        found += missing(columns, data, row["title"])
    replaced = {row["replaces"] for row in rows["batches"]}
    batches = {batch.id: batch for batch in book.all_batches()}
    for row in rows["batches"]:
        if row["id"] not in replaced:
            found += missing(
                json.loads(row["body"]), batches[row["id"]].model_dump(mode="json"), f"batch {row['number']}"
            )
    kept = {each.id: each for kind in KINDS for each in book.kept(kind, history=True)}
    for row in rows["kept"]:
        found += missing(json.loads(row["body"]), kept[row["id"]].model_dump(mode="json"), row["kind"])
    photos = {picture.sha256: picture for title in book.titles() for picture in book.pictures(title)}
    for row in rows["pictures"]:
        found += missing({"data": row["data"].hex()}, {"data": book.picture_data(photos[row["id"]]).hex()}, row["id"])
    return found


def _forget() -> None:
    """Empty what was cached of facts and of records."""
    for module in (facts_rows, lines, equivalences, logbook_rows):
        for each in vars(module).values():
            if isinstance(each, functools._lru_cache_wrapper):
                each.cache_clear()


@contextmanager
def later_release(
    fields: tuple[tuple[type[Record], str, Any, Any], ...] = (), rows: tuple[tuple[str, dict[str, Any]], ...] = (),
    spellings: tuple[tuple[str, str], ...] = (),
) -> Iterator[None]:  # fmt: skip
    """This release with further optional fields (class, name, type, default), further rows of facts (table, row), and ingredients
    that are called otherwise (old name, new name)."""
    read_table = facts_rows.read_table

    def more(name: str) -> list[dict[str, Any]]:
        table = read_table(name)
        renamed = dict(spellings) if name in ("ingredients.csv", "thickeners.toml") else {}
        for row in table:
            row["name"] = renamed.get(row.get("name", ""), row.get("name", ""))
        return [*table, *(row for where, row in rows if where == name)]

    facts_rows.read_table = more
    for kind, name, sort, default in fields:
        kind.__pydantic_fields__[name] = FieldInfo(annotation=sort, default=default)
    try:
        _rebuild()
        yield
    finally:
        facts_rows.read_table = read_table
        for kind, name, *_ in fields:
            kind.__pydantic_fields__.pop(name, None)
        _rebuild()


def _rebuild() -> None:
    _forget()
    for record in RECORDS:
        record.model_rebuild(force=True)
