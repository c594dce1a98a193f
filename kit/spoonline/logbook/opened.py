"""An open logbook: its transactions, each told in one sentence where it fails, and writing that is tried again."""

from __future__ import annotations

import os
import random
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, RowMapping, Select
from sqlalchemy.exc import SQLAlchemyError

from spoonline.logbook.engine import is_address, trouble, worth_another_try, writing

T = TypeVar("T")
# A write that meets a lock or a lost connection is tried again this often, with pauses that double.
ATTEMPTS, PAUSE_S = 5, 0.05


def now() -> datetime:
    """The machine's time, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


class Opened:
    """What every part of a logbook stands on. ``where`` is its file or address as it was given, a password included: never shown."""

    def __init__(self, engine: Engine, where: str | os.PathLike[str], clock: Callable[[], datetime] = now) -> None:
        self._engine = engine
        self._now = clock
        self.where = str(where)
        self.name = engine.url.render_as_string(hide_password=True) if is_address(where) else Path(where).name

    @property
    def brought_up(self) -> str:
        """What to tell whoever opened an older logbook just now; blank for one of today."""
        copy = self._engine.get_execution_options().get("spoonline_copy", "")
        return (
            f"The logbook {self.name} is of an older kind and was brought up to date; as it was it is kept in {copy}."
            if copy
            else ""
        )

    def __repr__(self) -> str:
        """Name the logbook, with any password masked."""
        return f"<Logbook {self.name}>"

    def close(self) -> None:
        """Close the file or the connection."""
        self._engine.dispose()

    @contextmanager
    def _told(self, begun: AbstractContextManager[Connection]) -> Iterator[Connection]:
        try:
            with begun as connection:
                yield connection
        except (SQLAlchemyError, UnicodeError) as err:
            raise trouble(err, self.name) from err

    def _read(self) -> AbstractContextManager[Connection]:
        return self._told(self._engine.begin())

    def _write(self) -> AbstractContextManager[Connection]:
        return self._told(writing(self._engine))

    def _rows(self, query: Select[Any]) -> Sequence[RowMapping]:
        with self._read() as connection:
            return connection.execute(query).mappings().all()

    def _change(self, work: Callable[[Connection], T]) -> T:
        """Do a piece of writing whole or not at all; again where the database was in use or the connection was lost."""
        for attempt in range(ATTEMPTS):
            try:
                with writing(self._engine) as connection:
                    return work(connection)
            except (SQLAlchemyError, UnicodeError) as err:
                if attempt + 1 == ATTEMPTS or not worth_another_try(err):
                    raise trouble(err, self.name) from err
                time.sleep(PAUSE_S * 2**attempt * (1 + random.random()))
        raise AssertionError("unreachable")
