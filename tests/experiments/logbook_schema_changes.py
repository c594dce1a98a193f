"""Open a logbook of 300 records under releases that never were: random new fields, new rows of facts, renamed ingredients.

    python tests/experiments/logbook_schema_changes.py [changes]

Prints how many changes were tried, how many records could not be read, and how many stored fields were read differently.
"""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import spoonline as sl
from earlier.reading import RECORDS, differences, later_release, stored_rows
from spoonline.facts import rows as facts_rows

WRITTEN = Path(__file__).resolve().parents[1] / "earlier" / "0.1.0" / "kitchen.sqlite"
UNKNOWN = ("dulse flakes", "cider", "whey", "beach herbs", "hay", "spruce tips", "birch sap")
SORTS: tuple[tuple[Any, Any], ...] = (
    (str, ""), (int, 0), (float, 0.5), (bool, True), (tuple[str, ...], ()), (dict[str, str], {}), (str | None, None), (date | None, None),
)  # fmt: skip


def fill(path: Path, records: int, rng: random.Random) -> None:
    """The logbook that release 0.1.0 wrote, and more of its like up to a number of records."""
    shutil.copy(WRITTEN, path)
    with closing(sl.open_logbook(path)) as book:
        title = "Seaweed broth of many kinds"
        while sum(map(len, stored(book).values())) < records:
            lines = [
                "1 l water",
                f"{rng.randint(1, 9)} tbsp {rng.choice(UNKNOWN)}",
                f"{rng.randint(20, 60)} g corn starch",
            ]
            version = book.save(sl.Recipe(title=title, ingredients=lines, steps=["Boil 2 minutes."]))
            for _ in range(3):
                pot = sl.Batch(title=title, version=version.number, cooked_on="2026-03-09", minutes=rng.randint(1, 999))
                kept = book.record(pot)
            book.correct(kept, note=f"corrected {rng.random()}")
            book.keep(sl.OwnSpoon(item="corn starch", measure="1 tbsp", masses_g=[rng.randint(6, 9), 8, 9]))


def stored(book: sl.Logbook) -> dict[str, list[dict[str, Any]]]:
    """The rows of an open logbook, by way of a backup."""
    from spoonline.logbook.care import backup

    with tempfile.TemporaryDirectory() as folder:
        return stored_rows(backup(book.where, Path(folder) / "copy.sqlite"))


def changes(rng: random.Random) -> tuple[Any, Any, Any]:
    """A random later release: fields, rows of facts, and other names for ingredients."""
    fields = tuple(
        (rng.choice(RECORDS), f"later_{at}_{rng.randint(0, 99)}", *rng.choice(SORTS)) for at in range(rng.randint(0, 5))
    )
    blank = dict.fromkeys(facts_rows.read_table("ingredients.csv")[0], "")
    rows = tuple(
        ("ingredients.csv", blank | {"name": name, "part": rng.choice(("liquid", "other", "thickener", "fat")), "pours": "1", "cup_g": "200",
                                     "tbsp_g": "11", "source": "invented", "kind": "memory"})
        for name in rng.sample(UNKNOWN, rng.randint(0, 3))
    )  # fmt: skip
    known = ("corn starch", "wheat flour", "parsnips", "vegetable stock", "water", "salt", "pears")
    return fields, rows, tuple((name, f"{name} of tomorrow") for name in rng.sample(known, rng.randint(0, 2)))


def run(tried: int, records: int = 300, seed: int = 1) -> tuple[int, int, int]:
    """Changes tried, records in the logbook, and stored fields that were read differently or not at all."""
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "kitchen.sqlite"
        fill(path, records, rng)
        with closing(sl.open_logbook(path)) as book:
            rows = stored(book)
            wrong = 0
            for found in _each(book, rows, tried, rng):
                wrong += len(found)
                for each in found[:3]:
                    print("  ", each)
        return tried, sum(map(len, rows.values())), wrong


def _each(book: sl.Logbook, rows: Any, tried: int, rng: random.Random) -> Iterator[list[str]]:
    for _ in range(tried):
        with later_release(*changes(rng)):
            try:
                yield differences(book, rows) + book.damaged()
            except sl.KitchenError as err:
                yield [str(err)]


if __name__ == "__main__":
    done, held, wrong = run(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
    print(f"{done} later releases, {held} records: {wrong} stored fields read differently or not at all")
