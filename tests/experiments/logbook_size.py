"""A logbook of years: 1,000 recipes, 5,000 versions, 100,000 batches, 300,000 readings; each job beside hand-written SQL.

    python tests/experiments/logbook_size.py [share of the full size] [sqlite|postgresql ...]

The hand-written SQL does the same job through sqlite3 or psycopg in the same run: the same rows, their JSON read, their
SHA-256 where a file is written. It builds no records and checks no content.
"""

from __future__ import annotations

import hashlib
import json
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from statistics import median
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import rfc8785

import spoonline as sl
from spoonline import flow
from spoonline.logbook import tables
from spoonline.logbook.engine import writing
from spoonline.logbook.rows import canonical
from spoonline.recipes import content_id


def fill(where: str, share: float) -> tuple[int, int]:
    """Put the records in by the thousand; every one has the id of its content."""
    titles, per_title = max(2, int(1000 * share)), 100
    book = sl.open_logbook(where)
    settings = {name: str(value) for name, value in flow.usual_settings("spatula").items()}
    reading = sl.Reading(tool="spatula", settings=settings, values=["3.6", "3.7"], temperature_c=60)
    batches: list[dict[str, Any]] = []
    with writing(book.store.engine) as connection:
        for n in range(titles):
            title = f"Soup {n:04d}"
            for version in range(1, 6):
                recipe = sl.Recipe(
                    title=title, ingredients=["1.5 l vegetable stock", f"{40 + version} g corn starch"], servings=8
                )
                connection.execute(
                    tables.versions.insert().values(
                        title=title, number=version, parent=version - 1 or None, id=content_id(recipe),
                        note="", cook="M.", saved_at="2026-01-08T09:00:00Z", body=canonical(recipe),
                    )
                )  # fmt: skip
            blank = sl.Batch(
                title=title,
                version=1,
                cooked_on=date(2026, 1, 8),
                readings=(reading,) * 3,
                pot_before_g=5200,
                pot_after_g=4980,
            )
            data = blank.model_dump(mode="json")
            for number in range(1, per_title + 1):
                data |= {
                    "number": number,
                    "version": 1 + number % 5,
                    "id": "",
                    "note": f"pot {number}",
                    "recorded_at": "2026-01-08T09:00:00Z",
                }
                data["id"] = hashlib.sha256(rfc8785.dumps(data)).hexdigest()
                body = json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
                batches.append(
                    {"title": title, "number": number, "version": data["version"], "id": data["id"], "replaces": None,
                     "recorded_at": data["recorded_at"], "body": body}
                )  # fmt: skip
            if len(batches) >= 5000 or n == titles - 1:
                connection.execute(tables.batches.insert(), batches)
                batches = []
    if book.store.engine.dialect.name == "postgresql":
        with book.store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql("ANALYZE")
    book.close()
    return titles, titles * per_title


def timed(job: Callable[[], object], times: int) -> float:
    """Median time of a job [s], after one run that does not count."""
    job()
    found = []
    for _ in range(times):
        start = time.perf_counter()
        job()
        found.append(time.perf_counter() - start)
    return median(found)


FIRST = """
import sys, time
import spoonline as sl
from spoonline.logbook import passing_demo
where, title = sys.argv[1:]
with passing_demo() as other:  # what any first reading loads
    other.all_batches(other.titles()[0])
begun = time.perf_counter()
book = sl.open_logbook(where)
opened = time.perf_counter()
book.all_batches(title)
print(opened - begun, time.perf_counter() - opened)
"""


def first_time(where: str, title: str) -> tuple[float, float]:
    """Median time in which a process that has not met this logbook opens it, and reads all batches of a recipe [s]."""
    asked = [sys.executable, "-c", FIRST, where, title]
    said = [subprocess.run(asked, capture_output=True, text=True, check=True).stdout.split() for _ in range(5)]
    opened, read = zip(*said, strict=True)
    return median(map(float, opened)), median(map(float, read))


def by_hand(where: str) -> Any:
    """A bare connection with the same care for durability."""
    if "://" in where:
        import psycopg

        return psycopg.connect(where.replace("postgresql+psycopg", "postgresql"))
    connection = sqlite3.connect(where, isolation_level=None)
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "busy_timeout = 5000"):
        connection.execute(f"PRAGMA {pragma}")
    return connection


def compare(where: str, folder: Path) -> None:
    """Each job both ways."""
    mark = "%s" if "://" in where else "?"
    title = "Soup 0001"
    book, raw = sl.open_logbook(where), by_hand(where)
    batch = sl.Batch(title=title, version=1, cooked_on=date(2026, 1, 8))
    count = iter(range(10**6))

    def open_ours() -> None:
        sl.open_logbook(where).close()

    def open_by_hand() -> None:
        connection = by_hand(where)
        connection.execute("SELECT number FROM schema_version").fetchone()
        connection.close()

    def titles_by_hand() -> list[str]:
        out = [row[0] for row in raw.execute("SELECT title FROM versions GROUP BY title ORDER BY min(seq)").fetchall()]
        raw.rollback() if "://" in where else None
        return out

    def batches_by_hand() -> list[dict[str, Any]]:
        out = [
            json.loads(row[0])
            for row in raw.execute(
                f"SELECT body FROM batches WHERE title = {mark} ORDER BY number", (title,)
            ).fetchall()
        ]
        raw.rollback() if "://" in where else None
        return out

    def save_by_hand() -> None:
        if "://" not in where:
            raw.execute("BEGIN IMMEDIATE")
        number = raw.execute(f"SELECT max(number) FROM batches WHERE title = {mark}", (title,)).fetchone()[0] + 1
        data = batch.model_dump(mode="json") | {"number": number, "note": str(next(count)), "id": ""}
        text = json.dumps(data, sort_keys=True)
        raw.execute(
            "INSERT INTO batches (title, number, version, id, replaces, recorded_at, body) VALUES ("
            + ", ".join([mark] * 7)
            + ")",
            (title, number, 1, hashlib.sha256(text.encode()).hexdigest(), None, "2026-01-08T09:00:00Z", text),
        )
        raw.execute("COMMIT")

    def export_by_hand() -> None:
        for name in ("versions", "batches", "kept", "hidden"):
            lines = []
            names = None
            cursor = raw.execute(f"SELECT * FROM {name} ORDER BY seq")
            names = [each[0] for each in cursor.description]
            for row in cursor.fetchall():
                record = dict(zip(names, row, strict=True))
                if "body" in record:
                    record["body"] = json.loads(record["body"])
                lines.append(json.dumps(record, ensure_ascii=False, sort_keys=True, separators=(",", ":")))
            text = "".join(line + "\n" for line in lines)
            (folder / f"{name}.by-hand").write_text(text)
            hashlib.sha256(text.encode()).hexdigest()
        raw.rollback() if "://" in where else None

    def export_ours() -> None:
        from spoonline.logbook.folder import write_folder

        with book.store.reading() as connection:
            write_folder(connection, Path(tempfile.mkdtemp(dir=folder)))  # an export is always of a new folder

    jobs: list[tuple[str, Callable[[], object], Callable[[], object], int]] = [
        ("opening again", open_ours, open_by_hand, 15),
        ("listing titles", book.titles, titles_by_hand, 15),
        ("batches of one recipe, read before", lambda: book.all_batches(title), batches_by_hand, 15),
        ("saving one batch", lambda: book.record(batch), save_by_hand, 40),
        ("export (JSON Lines and manifest)", export_ours, export_by_hand, 3),
    ]
    for name, ours, hand, times in jobs:
        a, b = timed(ours, times), timed(hand, times)
        print(f"  {name}: {1000 * a:.2f} ms, {a / b:.2f} times hand-written SQL ({1000 * b:.2f} ms)", flush=True)
    ours, hand = first_time(where, title), (timed(open_by_hand, 5), timed(batches_by_hand, 5))
    for name, a, b in zip(("opening", "batches of one recipe"), ours, hand, strict=True):
        print(
            f"  {name}, the first time in a process: {1000 * a:.2f} ms, {a / b:.2f} times hand-written SQL ({1000 * b:.2f} ms)"
        )
    book.close()
    raw.close()


def main() -> None:
    """Fill, then compare, on one engine or both."""
    share = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    kinds = sys.argv[2:] or ["sqlite", "postgresql"]
    for kind in kinds:
        with tempfile.TemporaryDirectory() as folder:
            if kind == "sqlite":
                where = str(Path(folder) / "kitchen.sqlite")
                titles, batches = fill(where, share)
                size = Path(where).stat().st_size / 1e6
                print(
                    f"sqlite: {titles} recipes, {5 * titles} versions, {batches} batches, {3 * batches} readings, {size:.0f} MB"
                )
                compare(where, Path(folder))
            else:
                import postgres

                with postgres.serve(durable=True) as server:
                    where = server.database()
                    titles, batches = fill(where, share)
                    print(
                        f"postgresql: {titles} recipes, {5 * titles} versions, {batches} batches, {3 * batches} readings"
                    )
                    compare(where, Path(folder))
        print(f"  peak memory so far {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
