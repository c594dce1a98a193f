"""Looking after a logbook: back it up and prove it, check every record, move it between a file and a database."""

from __future__ import annotations

import hashlib
import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Engine, RowMapping, Table, func, select

from spoonline.logbook import tables
from spoonline.logbook.engine import is_address
from spoonline.logbook.folder import read_folder, write_folder
from spoonline.logbook.reads import whole_batch, whole_version
from spoonline.measures.errors import LogbookError, Progress

if TYPE_CHECKING:
    from spoonline.logbook.logbook import Logbook

CHUNK = 500


@dataclass(frozen=True)
class Checked:
    """What a check found: how many records of each kind, and every fault in one sentence."""

    name: str
    counts: dict[str, int]
    faults: tuple[str, ...]

    @property
    def text(self) -> str:
        """The outcome in sentences."""
        held = ", ".join(f"{count} {kind}" for kind, count in self.counts.items())
        if not self.faults:
            return f"{self.name}: {held}; every record has the content it was kept with."
        return "\n".join([f"{self.name}: {held}; {len(self.faults)} faults.", *(f"- {fault}" for fault in self.faults)])


def backup(where: str | os.PathLike[str], to: str | os.PathLike[str], progress: Progress | None = None) -> Path:
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
    target = Path(to).expanduser()
    if target.exists():
        raise LogbookError(f"{target.name} exists already; give the backup a new name.")
    if is_address(where):
        try:
            move(where, target, progress)
        except BaseException:  # an empty file would look like a backup
            for end in ("", "-wal", "-shm"):
                target.with_name(target.name + end).unlink(missing_ok=True)
            raise
        return target
    source = Path(where).expanduser()
    if not source.exists():
        raise LogbookError(f"There is no logbook {source.name!r} to back up; check the name.")
    _copy_file(source, target, progress)
    return target


def _copy_file(source: Path, target: Path, progress: Progress | None = None) -> None:
    """SQLite's own online copy, checked afterwards page by page and table by table."""
    told = None if progress is None else (lambda _status, left, total: progress(total - left, total, "pages"))
    part = target.with_name(target.name + ".part")
    try:
        with closing(sqlite3.connect(source)) as here, closing(sqlite3.connect(part)) as there:
            here.backup(there, pages=200, progress=told)
        if _prints(part) != _prints(source):
            raise LogbookError(
                f"The copy {target.name} is not equal to {source.name}; try another disk. The logbook is untouched."
            )
        part.replace(target)
    except (sqlite3.Error, OSError) as err:
        raise LogbookError(f"The backup {target.name} could not be written ({err}); the logbook is untouched.") from err
    finally:
        part.unlink(missing_ok=True)


def _prints(path: Path) -> dict[str, str]:
    """A fingerprint of every table of a SQLite file; raises where the file is not whole."""
    with closing(sqlite3.connect(path)) as connection:
        verdict = connection.execute("PRAGMA integrity_check").fetchone()[0]
        if verdict != "ok":
            raise sqlite3.DatabaseError(f"{path.name}: {verdict}")
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name").fetchall()
        found = {}
        for (name,) in names:
            digest = hashlib.sha256()
            for row in connection.execute(f'SELECT * FROM "{name}" ORDER BY rowid'):
                digest.update(repr(row).encode())
            found[name] = digest.hexdigest()
        return found


def before_migration(
    engine: Engine, where: str | os.PathLike[str], schema: int, progress: Progress | None = None
) -> Path:
    """Keep a proven copy beside the logbook before its tables are changed.

    A file gets a copy of itself; a database gets an export folder in the folder one works in.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    if not is_address(where):
        path = Path(where).expanduser()
        target = path.with_name(f"{path.stem}.before-schema-{tables.LATEST}-{stamp}{path.suffix}")
        _copy_file(path, target, progress)
        return target
    folder = Path.cwd() / f"{engine.url.database}-before-schema-{tables.LATEST}-{stamp}"
    with engine.begin() as connection:
        write_folder(connection, folder, names=True, schema=schema, progress=progress)
    read_folder(folder)
    return folder


def check(book: Logbook, progress: Progress | None = None) -> Checked:
    """Read every record and hold it against the id it was kept under.

    ``progress`` is called with done, all, and a word for what.
    """
    counts, faults, ids, known = {}, [], set[str](), set[tuple[str, int]]()
    if book._engine.dialect.name == "sqlite":
        with book._read() as connection:
            verdict = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
        faults += [f"The file itself: {each}." for each in verdict if each != "ok"]
    for table in tables.KINDS:
        with book._read() as connection:
            total = connection.execute(select(func.count()).select_from(table)).scalar_one()
        done = 0
        for rows in _chunks(book, table):
            done += len(rows)
            faults += [fault for row in rows if (fault := _fault(table, row, known, ids))]
            if progress is not None:
                progress(done, total, table.name)
        counts[table.name] = done
    return Checked(book.name, counts, tuple(faults))


def _chunks(book: Logbook, table: Table) -> Iterator[Sequence[RowMapping]]:
    """Rows in the order they were kept, a few hundred at a time, so that a large logbook does not fill the memory."""
    with book._read() as connection:
        streamed = connection.execution_options(yield_per=CHUNK).execute(select(table).order_by(table.c.seq))
        yield from streamed.mappings().partitions()


def _fault(table: Table, row: Any, known: set[tuple[str, int]], ids: set[str]) -> str | None:
    """What is wrong with one row, or None."""
    if table is tables.versions:
        known.add((row["title"], row["number"]))
        name = f"{row['title']}, version {row['number']}"
        if whole_version(row) is None:
            return f"{name} no longer has the content it was saved with."
        if row["parent"] is not None and (row["title"], row["parent"]) not in known:
            return f"{name} was made from version {row['parent']}, which is not there."
    elif table is tables.batches:
        ids.add(row["id"])
        name = f"Batch {row['number']} of {row['title']}"
        if whole_batch(row) is None:
            return f"{name} no longer has the content it was recorded with."
        if row["replaces"] and row["replaces"] not in ids:
            return f"{name} corrects a record that is not there."
        if (row["title"], row["version"]) not in known:
            return f"{name} was cooked from version {row['version']}, which is not there."
    elif table is tables.pictures and hashlib.sha256(bytes(row["data"])).hexdigest() != row["id"]:
        return f"The photo {row['id'][:12]} no longer has its content."
    return None


def move(where: str | os.PathLike[str], to: str | os.PathLike[str], progress: Progress | None = None) -> Checked:
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
        If the target holds records, or is not equal afterwards.
    """
    from spoonline.logbook.logbook import open_logbook

    source = open_logbook(where)
    target = open_logbook(to)
    try:
        with target._write() as connection:
            if held := tables.held(connection):
                raise LogbookError(f"The logbook {target.name} already holds {', '.join(held)}; move into a new one.")
            for table in tables.KINDS:
                count = 0
                for rows in _chunks(source, table):
                    connection.execute(table.insert(), [_without_seq(row) for row in rows])
                    count += len(rows)
                    if progress is not None:
                        progress(count, count, table.name)
        for table in tables.KINDS:
            if _digest(source, table) != _digest(target, table):
                raise LogbookError(f"{table.name} differ after the move; the old logbook is untouched, so try again.")
        return check(target)
    finally:
        source.close()
        target.close()


def _without_seq(row: RowMapping) -> dict[str, Any]:
    """A row as it is equal on both engines: by the names of its columns, without the number that the engine gave it."""
    plain = {name: bytes(value) if isinstance(value, memoryview) else value for name, value in row.items()}
    return {name: plain[name] for name in sorted(plain) if name != "seq"}


def _digest(book: Logbook, table: Table) -> str:
    digest = hashlib.sha256()
    for rows in _chunks(book, table):
        for row in rows:
            digest.update(repr(_without_seq(row)).encode())
    return digest.hexdigest()
