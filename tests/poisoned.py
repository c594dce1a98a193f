"""Hostile text for every field of every record, put there by way of the database: what a logbook of somebody else may hold."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import spoonline as sl
from earlier.reading import KINDS
from spoonline.logbook.rows import SetApartError, record_of, seal_of
from spoonline.recipes import Kept, Version

OLD = Path(__file__).parent / "earlier" / "0.1.0" / "export"
ELSEWHERE = "//e.invalid"
HOSTILE = (
    '"\'><script>window.ran=1</script><img src=x onerror=window.ran=1><a href="javascript:window.ran=1">x</a>$x$ {{7*7}}'
    f"![m]({ELSEWHERE}/m)<img src={ELSEWHERE}/i onerror=alert(1)>"
)
KIND_OF: dict[str, type[Kept]] = {kind.kind: kind for kind in KINDS}
# They lead from one record to another; the content that they name stays where it is.
LINKS = {"id", "replaces", "batch", "sha256", "kind"}


def leaves(data: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Where the texts of a record stand."""
    if isinstance(data, str):
        yield path
    else:
        for key in data if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ():
            yield from leaves(data[key], (*path, key))


def with_hostile(data: Any, path: tuple[Any, ...]) -> Any:
    """The record with hostile text at one place."""
    copy = json.loads(json.dumps(data))
    at = copy
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] += HOSTILE
    return copy


def reads(table: str, row: dict[str, Any]) -> bool:
    kind = {"versions": Version, "batches": sl.Batch}.get(table) or KIND_OF[row["kind"]]
    try:
        record_of(kind, row)
    except SetApartError:
        return False
    return True


def poison(path: Path) -> int:
    """Put hostile text into each field of each record that this release still reads with it, sealed as if it had been kept so."""
    done = 0
    with closing(sqlite3.connect(path)) as raw:
        raw.row_factory = sqlite3.Row
        raw.execute("pragma foreign_keys = off")
        for table in ("versions", "batches", "kept"):
            for found in raw.execute(f"select * from {table}").fetchall():
                row = dict(found)
                for column in {"title", "note", "cook"} & set(row):
                    row[column] += HOSTILE
                body = json.loads(row["body"])
                for place in leaves(body):
                    tried = with_hostile(body, place)
                    new = row | {"body": json.dumps(tried, ensure_ascii=False, sort_keys=True, separators=(",", ":"))}
                    new["seal"] = seal_of(table, new)
                    if place[-1] not in LINKS and reads(table, new):
                        body, row, done = tried, new, done + 1
                row["seal"] = seal_of(table, row)
                assert reads(table, row), row
                places = ", ".join(f"{name} = :{name}" for name in row if name != "seq")
                raw.execute(f"update {table} set {places} where seq = :seq", row)
        hidden = raw.execute("select * from hidden").fetchall()
        for found in hidden:
            row = dict(found) | {"reason": found["reason"] + HOSTILE}
            if row["kind"] == "version":
                title, _, number = row["key"].rpartition("\n")
                row["key"] = f"{title}{HOSTILE}\n{number}"
            row["seal"] = seal_of("hidden", row)
            raw.execute("update hidden set reason = :reason, key = :key, seal = :seal where seq = :seq", row)
        raw.execute("update told set title = title || ? where kind in ('version', 'batch')", [HOSTILE])
        raw.execute(
            "insert into drafts values ('start', 'x', '2026-01-08T09:00:00Z', ?)",
            [json.dumps({"paste": HOSTILE, "note": HOSTILE})],
        )
        raw.commit()
    return done


def hostile_logbook(path: Path) -> int:
    """Make a logbook with one of every kind of record, poisoned; in how many fields."""
    sl.Logbook.restore(OLD, path).close()
    return poison(path)
