"""Looking after a logbook: back it up and prove it, check every record, move it between a file and a database."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine, Table, func, select

from spoonline.logbook import tables
from spoonline.logbook.engine import Where, check_file, file_of, is_address, only_ours
from spoonline.logbook.folder import new_folder, read_folder, write_folder
from spoonline.logbook.pictures import Picture, intact
from spoonline.logbook.rows import SetApartError, name_of, parsed, seal_of, whole
from spoonline.measures.errors import LogbookError, Progress
from spoonline.pots.records import Batch
from spoonline.recipes import Version
from spoonline.recipes.base import CONTROL

if TYPE_CHECKING:
    from spoonline.logbook.logbook import Logbook

CHUNK = 500


@dataclass(frozen=True)
class Checked:
    """What a check found: how many records of each kind, every fault in one sentence, and what a newer release wrote."""

    name: str
    counts: dict[str, int]
    faults: tuple[str, ...]
    notes: tuple[str, ...] = ()
    release: str = ""

    @property
    def text(self) -> str:
        """The outcome in sentences."""
        held = ", ".join(f"{count} {kind}" for kind, count in self.counts.items())
        wrote = f" (last written by spoonline {self.release})" if self.release else ""
        count = len(self.faults)
        whole = f"{count} fault{'s' if count > 1 else ''}" if count else "every record has the content it was kept with"
        first = f"{self.name}{wrote}: {held}; {whole}."
        return "\n".join([first, *(f"- {each}" for each in (*self.faults, *self.notes))])


def backup(where: Where, to: Where, progress: Progress | None = None) -> Path:
    """Copy a logbook, in use or not, and prove the copy.

    Parameters
    ----------
    where : str or path
        A logbook file or an address.
    to : str or path
        A new file. Of a file it is the exact copy; of a database it is a logbook file with the same records.
    progress : callable, optional
        Called with done, all, and a word for what.

    Raises
    ------
    LogbookError
        If the target exists, cannot be written, or the copy is not equal.
    """
    target = file_of(to)
    if target.exists():
        raise LogbookError(f"{target.name} exists already; give the backup a new name.")
    check_file(target, create=True)
    if is_address(where):
        with _new_file(target) as part:
            move(where, part, progress)
        return target
    source = file_of(where)
    if not source.exists():
        raise LogbookError(f"There is no logbook {source.name!r} to back up; check the name.")
    _copy_file(source, target, progress)
    return target


@contextmanager
def _new_file(target: Path) -> Iterator[Path]:
    """The file that becomes the target once it is whole; under its own name it would look like a backup before it is one."""
    part = target.with_name(target.name + ".part")
    try:
        part.unlink(missing_ok=True)
        only_ours(part)
        yield part
        part.replace(target)
    finally:
        for end in ("", "-wal", "-shm", "-journal"):
            part.with_name(part.name + end).unlink(missing_ok=True)


def _copy_file(source: Path, target: Path, progress: Progress | None = None) -> None:
    """SQLite's own online copy of one moment, checked afterwards page by page and table by table."""
    told = None if progress is None else (lambda _status, left, total: progress(total - left, total, "pages"))
    unequal = f"The copy {target.name} is not equal to {source.name}; try another disk. The logbook is untouched."
    try:
        with (
            _new_file(target) as part,
            closing(sqlite3.connect(source, isolation_level=None)) as here,
            closing(sqlite3.connect(part)) as there,
        ):
            here.text_factory = there.text_factory = bytes  # a damaged text is copied like any other
            here.execute("BEGIN")  # whoever writes meanwhile does not move what is copied and compared
            wanted = _prints(here, source.name)
            if "schema_version" not in wanted:
                raise LogbookError(f"{source.name} holds no logbook; give the file of a spoonline logbook.")
            here.backup(there, pages=200, progress=told)
            if _prints(there, part.name) != wanted:
                raise LogbookError(unequal)
    except (sqlite3.Error, OSError) as err:
        raise LogbookError(f"The backup {target.name} could not be written ({err}); the logbook is untouched.") from err


def _prints(connection: sqlite3.Connection, name: str) -> dict[str, str]:
    """A fingerprint of every table of a SQLite file; raises where the file is not whole."""
    verdict = connection.execute("PRAGMA integrity_check").fetchone()[0].decode()
    if verdict != "ok":
        raise sqlite3.DatabaseError(f"{name}: {verdict}")
    names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name").fetchall()
    found = {}
    for table in (name.decode() for (name,) in names):
        digest = hashlib.sha256()
        for row in connection.execute(f'SELECT * FROM "{table}" ORDER BY rowid'):
            digest.update(repr(row).encode())
        found[table] = digest.hexdigest()
    return found


def before_migration(engine: Engine, where: Where, schema: int, progress: Progress | None = None) -> Path:
    """Keep a proven copy beside the logbook before its tables are changed.

    A file gets a copy of itself; a database gets an export folder in the folder one works in.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    if not is_address(where):
        path = file_of(where)
        target = path.with_name(f"{path.stem}.before-schema-{tables.LATEST}-{stamp}{path.suffix}")
        _copy_file(path, target, progress)
        return target
    folder = Path.cwd() / f"{engine.url.database}-before-schema-{tables.LATEST}-{stamp}"
    with new_folder(folder) as made:
        with engine.execution_options(isolation_level="REPEATABLE READ").begin() as connection:
            write_folder(connection, made, names=True, schema=schema, progress=progress)
        read_folder(made)
    return folder


def check(book: Logbook, progress: Progress | None = None) -> Checked:
    """Read every record of one moment and hold it against its seal, its id, and the numbers that were told.

    ``progress`` is called with done, all, and a word for what.
    """
    with book.store.reading() as connection:
        looked = _Look(connection)
        for table in tables.KINDS:
            total = connection.execute(select(func.count()).select_from(table)).scalar_one()
            done = 0
            for rows in _chunks(connection, table):
                done += len(rows)
                for row in rows:
                    looked.at(table.name, row)
                if progress is not None:
                    progress(done, total, table.name)
            looked.counts[table.name] = done
        looked.at_the_end(book.store.told)
    return Checked(book.name, looked.counts, tuple(looked.faults), tuple(looked.notes), book.release)


class _Look:
    """One look through a logbook, row by row in the order they were kept."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.counts: dict[str, int] = {}
        self.faults: list[str] = []
        self.notes: list[str] = []
        self.ids: set[str] = set()
        self.numbers: dict[tuple[str, str], set[int]] = {}
        if connection.dialect.name == "sqlite":
            verdict = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
            self.faults += [f"The file itself: {each}." for each in verdict if each != "ok"]

    def at(self, kind: str, row: dict[str, Any]) -> None:
        """Look at one row of the table of a kind."""
        name, kept = name_of(kind, row), whole(kind, row)
        if not kept or (kind == "pictures" and not intact(row)):
            self.faults.append(f"{name} no longer has the content it was kept with.")
        elif kind == "kept" and row["kind"] == Picture.kind and json.loads(row["body"])["sha256"] not in self.ids:
            self.faults.append(f"{name} has lost its photo.")
        elif kind == "hidden":
            title, _, number = str(row["key"]).rpartition("\n")
            numbers = map(str, self.numbers.get(("version", title), ()))
            if not (number in numbers if row["kind"] == "version" else row["key"] in self.ids):
                self.faults.append(f"{name} is a record that is not there.")
        if kind in ("versions", "batches") and isinstance(row["title"], str) and isinstance(row["number"], int):
            self._numbered(kind, name, row, kept)
        self.ids.add(row.get("id", ""))

    def _numbered(self, kind: str, name: str, row: dict[str, Any], kept: bool) -> None:
        title, number = row["title"], row["number"]
        seen = self.numbers.setdefault(("version" if kind == "versions" else "batch", title), set())
        if kept:
            try:
                part = parsed(Version, kind, row).recipe if kind == "versions" else parsed(Batch, kind, row)
                if newer := ", ".join(part.newer_fields):
                    self.notes.append(f"{name} has fields of a newer release ({newer}); they are kept.")
            except SetApartError as err:
                self.notes.append(str(err))
        if row["seal"] is None:
            unsealed = "has no seal: a release before this one wrote it, or it was changed by hand; look at it."
            self.notes.append(f"{name} {unsealed}")
        if kind == "versions" and row["parent"] is not None and row["parent"] not in seen:
            self.faults.append(f"{name} was made from version {row['parent']}, which is not there.")
        if kind == "batches":
            if row["replaces"] and row["replaces"] not in self.ids:
                self.faults.append(f"{name} corrects a record that is not there.")
            if not row["replaces"] and number in seen:
                self.faults.append(f"{title} has two batches {number}; both are kept.")
            if row["version"] not in self.numbers.get(("version", title), ()):
                self.faults.append(f"{name} was cooked from version {row['version']}, which is not there.")
        seen.add(number)

    def at_the_end(self, told_here: dict[tuple[str, str], int]) -> None:
        """Miss what was told and is not there."""
        most = dict(told_here)
        for kind, title, number in self.connection.execute(select(tables.told)).all():
            if isinstance(number, int):
                most[kind, title] = max(number, most.get((kind, title), 0))
            else:
                self.faults.append(f"The highest number given to a {kind} of {title} is damaged.")
        for (kind, title), highest in sorted(most.items()):
            if kind == tables.ROWS:
                gap = highest - self.counts.get(title, 0)
                self.faults += [f"{gap} rows of {title} were kept and are not there."] if gap > 0 else []
                continue
            there = self.numbers.get((kind, title), set())
            gone = [*islice((number for number in range(1, highest + 1) if number not in there), 6)]
            if gone:
                said = ", ".join(map(str, gone[:5])) + (" and more" if len(gone) > 5 else "")
                self.faults.append(f"{kind.capitalize()} {said} of {title} was saved and is not there.")
        for (kind, title), there in sorted(self.numbers.items()):
            if (last := max(there)) > most.get((kind, title), 0):
                self.notes.append(f"{kind.capitalize()} {last} of {title} was saved by a release before this one.")
        twice = select(tables.batches.c.title, tables.batches.c.number).where(tables.standing())
        twice = twice.group_by(tables.batches.c.title, tables.batches.c.number).having(func.count() > 1)
        for title, number in self.connection.execute(twice).all():
            self.faults.append(f"Batch {number} of {title} stands in two forms; take one of them back.")


def _chunks(connection: Connection, table: Table) -> Iterator[list[dict[str, Any]]]:
    """Rows in the order they were kept, a few hundred at a time, so that a large logbook does not fill the memory.

    They are equal on both engines: plain bytes, and without the number that the engine gave a row.
    """
    columns = [column for column in table.c if column.name != "seq"]
    streamed = connection.execute(select(*columns).order_by(table.c.seq), execution_options={"yield_per": CHUNK})
    for rows in streamed.mappings().partitions():
        yield [{n: bytes(v) if isinstance(v, memoryview) else v for n, v in row.items()} for row in rows]


def _movable(connection: Connection, table: Table) -> Iterator[list[dict[str, Any]]]:
    """Rows as both engines can hold them: the NUL that a reason could have in release 0.1.0 is left out of it."""
    for rows in _chunks(connection, table):
        for row in rows if table is tables.hidden else ():
            if "\0" in row["reason"] and whole(table.name, row):
                row["reason"] = CONTROL.sub("", row["reason"])
                row["seal"] = row["seal"] and seal_of(table.name, row)
        yield rows


def _print(connection: Connection, table: Table) -> str:
    """A fingerprint of all rows of a table."""
    digest = hashlib.sha256()
    for rows in _movable(connection, table):
        digest.update(repr(rows).encode())
    return digest.hexdigest()


def move(where: Where, to: Where, progress: Progress | None = None) -> Checked:
    """Copy every record of a logbook, history and photos included, into a new one of either kind, and check it there.

    Parameters
    ----------
    where, to : str or path
        Logbook files or addresses; the second must hold nothing yet. The first is left as it is.
    progress : callable, optional
        Called with done, all, and a word for what.

    Raises
    ------
    LogbookError
        If the target holds records, or is not equal afterwards; then nothing is left in it.
    """
    from spoonline.logbook.logbook import open_logbook

    with closing(open_logbook(where, create=False)) as source, closing(open_logbook(to)) as target:
        if source.store is target.store:
            raise LogbookError(f"{source.name} cannot be moved into itself; give a new name.")
        with source.store.reading() as here, target.store.writing() as there:
            if held := tables.held(there):
                raise LogbookError(f"The logbook {target.name} already holds {', '.join(held)}; move into a new one.")
            for table in tables.KINDS:
                count = 0
                for rows in _movable(here, table):
                    there.execute(table.insert(), rows)
                    count += len(rows)
                    if progress is not None:
                        progress(count, count, table.name)
                if _print(here, table) != _print(there, table):
                    differ = "differ after the move; the old logbook is untouched, so try again."
                    raise LogbookError(f"{table.name} {differ}")
            tables.note_told(there, here.execute(select(tables.told)).all())
        return check(target)
