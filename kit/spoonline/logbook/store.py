"""One open database: its transactions, each told in one sentence where it fails, and writing that is tried again.

A process holds one store for each file or address, however often the logbook is opened in it. Nothing here ever opens the file
beside SQLite: closing any handle of one's own on it would drop the locks that SQLite holds for the whole process, and another
process could then delete what was just written.
"""

from __future__ import annotations

import os
import random
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from itertools import count
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, RowMapping, Select, func, select

from spoonline import __version__
from spoonline.logbook import engine as database
from spoonline.logbook import tables
from spoonline.measures.errors import LogbookError, Progress
from spoonline.measures.files import LIVE

T = TypeVar("T")
# A write that meets a lock or a lost connection is tried again this often, with pauses that double; who waited longer is told.
# Where others write meanwhile it is a queue, and worth a longer wait.
ATTEMPTS, PAUSE_S, PATIENCE_S, QUEUE_S = 5, 0.05, 4.0, 60.0

_OPEN: dict[str, Store] = {}
_OPENING = threading.RLock()


def open_store(where: database.Where, progress: Progress | None = None, *, create: bool = True) -> Store:
    """The store of a file or an address in this process, opened where it is not open yet."""
    key = str(where) if database.is_address(where) else str(database.file_of(where))
    with _OPENING:
        store = _OPEN.get(key)
        if store is None or not store.in_place():
            engine = database.connect(where, progress, create=create)
            store = _OPEN[key] = Store(engine, key)
        store.holders += 1
        return store


class Store:
    """A database of this process, shared by every logbook that was opened on it. ``key`` may hold a password: never shown."""

    def __init__(self, engine: Engine, key: str) -> None:
        self.engine, self.key = engine, key
        self.path = None if database.is_address(key) else Path(key)
        self.name = database.shown(engine.url) if self.path is None else self.path.name
        self.holders = 0
        self._file, self._as_left, self._id = self._identity(), self._written(), self._own_id()
        # The highest numbers told from here, by kind and title, and which release is known to stand as the last writer.
        self.told: dict[tuple[str, str], int] = {}
        self._stamped = False
        self._settled = True
        self._within = threading.local()
        self._live = [self.path.resolve()] if self.path else []
        LIVE.extend(self._live)

    def _found(self) -> os.stat_result | None:
        """What stands under the name of the file now; nothing where it was taken away, and for a database."""
        with suppress(OSError):
            return None if self.path is None else self.path.stat()
        return None

    def _identity(self) -> tuple[int, int]:
        found = self._found()
        return (found.st_dev, found.st_ino) if found and found.st_size else (0, 0)

    def _written(self) -> tuple[int, int, int] | None:
        """How the file was last written, by whomever."""
        found = self._found()
        return (found.st_size, found.st_mtime_ns, found.st_ctime_ns) if found else None

    def _own_id(self) -> str:
        """The name that this logbook gave itself when it was made."""
        with self._in_words(), self.engine.begin() as connection:
            return str(connection.execute(select(tables.about.c.value).where(tables.about.c.name == "id")).scalar())

    def in_place(self) -> bool:
        """Whether the file that is open still is the one that stands under its name, and was not emptied."""
        return self._identity() == self._file

    def _check_place(self) -> None:
        if not self.in_place():
            raise LogbookError(
                f"The logbook {self.name} was moved away, emptied or replaced while it was open; open it again, then press again. "
                "Nothing was saved."
            )
        if (found := self._found()) is None:
            return
        if found.st_nlink > 1:
            raise LogbookError(database.LINKED.format(name=self.name))
        if (now := self._written()) != self._as_left:
            # Another process wrote, or something was copied over it; what SQLite remembers of the file says nothing of that.
            self.engine.dispose()
            if self._own_id() != self._id:
                raise LogbookError(
                    f"Another logbook was copied over {self.name} while it was open; open it again, then press again. Nothing was saved."
                )
            self._as_left = now

    def release(self) -> None:
        """Let go of it; the last one to do so closes the database."""
        with _OPENING:
            self.holders -= 1
            if self.holders <= 0:
                if _OPEN.get(self.key) is self:
                    del _OPEN[self.key]
                self.engine.dispose()
                while self._live:
                    LIVE.remove(self._live.pop())

    @contextmanager
    def _in_words(self) -> Iterator[None]:
        try:
            yield
        except database.TROUBLES as err:
            raise database.trouble(err, self.name) from err

    @contextmanager
    def _told(self, begun: AbstractContextManager[Connection]) -> Iterator[Connection]:
        self._check_place()  # before SQLite looks at a file that is another one by now, and once more when nobody else writes
        with self._in_words(), begun as connection:
            self._check_place()
            yield connection

    def _settle(self) -> None:
        self._settled = self.path is None or database.settle(self.engine)
        self._as_left = self._written()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that reads; all it reads is of one moment, and so is what this thread reads besides before it ends."""
        if (within := getattr(self._within, "connection", None)) is not None:
            yield within
            return
        engine = self.engine
        if self.path is None:
            engine = engine.execution_options(isolation_level="REPEATABLE READ")
        with self._told(engine.begin()) as connection:
            self._within.connection = connection
            try:
                yield connection
            finally:
                self._within.connection = None
        if not self._settled:
            self._settle()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that writes; writers queue."""
        with self._told(database.writing(self.engine)) as connection:
            yield connection
        self._settle()

    def rows(self, query: Select[Any]) -> Sequence[RowMapping]:
        """What a query finds."""
        with self.reading() as connection:
            return connection.execute(query).mappings().all()

    def change(self, work: Callable[[Connection], T]) -> T:
        """Do a piece of writing whole or not at all; again where the database was in use or the connection was lost."""
        begun = time.monotonic()
        for attempt in count(1):
            self._check_place()
            as_left = self._as_left
            try:
                with database.writing(self.engine) as connection:
                    self._check_place()
                    done = work(connection)
                    if not self._stamped:
                        tables.put(connection, tables.about, {"name": "release"}, value=__version__)
                self._stamped = True
                self._settle()
                return done
            except database.TROUBLES as err:
                moves = self._written() != as_left  # others write: it is a queue, and nobody holds it up
                waited = time.monotonic() - begun > (QUEUE_S if moves else PATIENCE_S)
                if waited or (attempt >= ATTEMPTS and not moves) or not database.worth_another_try(err):
                    raise database.trouble(err, self.name) from err
                time.sleep(PAUSE_S * 2 ** min(attempt, ATTEMPTS) * (1 + random.random()) / 2)
        raise AssertionError("unreachable")

    def next_number(self, connection: Connection, kind: str, title: str) -> int:
        """The number of the next record of a title, never one that was told before; remembered in the same transaction."""
        table = tables.versions if kind == "version" else tables.batches
        known = tables.told.c.kind == kind, tables.told.c.title == title
        asked = (
            select(func.max(table.c.number)).where(table.c.title == title),
            select(tables.told.c.number).where(*known),
        )
        found = [connection.execute(each).scalar() for each in asked]
        there, noted = (each if isinstance(each, int) else 0 for each in found)  # none yet, or a damaged one
        here = self.told.get((kind, title), 0)
        if here > max(there, noted):
            raise LogbookError(
                f"{kind.capitalize()} {here} of {title} was saved from here and is no longer in the logbook {self.name}; nothing "
                "more was saved. Keep the file as it is, check it with spoonline check, and restore your last backup beside it."
            )
        number = max(there, noted) + 1
        tables.put(connection, tables.told, {"kind": kind, "title": title}, number=number)
        return number


# What a parent process holds open is neither used nor closed in its child: SQLite forbids both.
_OF_THE_PARENT: list[Any] = []


def _in_a_child() -> None:
    for store in _OPEN.values():
        _OF_THE_PARENT.append(store.engine.pool)
        store.engine.dispose(close=False)


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_in_a_child)
