"""Opening the database: SQLite file or PostgreSQL address, every failure one sentence."""

import os
import re
import sqlite3
from contextlib import AbstractContextManager, closing, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, make_url, select
from sqlalchemy.exc import SQLAlchemyError

from spoonline.facts.rows import read_table
from spoonline.logbook import tables
from spoonline.measures.errors import LogbookError, Progress, told_as

Where = str | os.PathLike[str]  # a file, or the address of a database
BUSY_MS, SETTLE_MS = 5000, 100
# By its second name the file would be opened as if it were another one, and what either name writes is lost to the other.
LINKED = "{name} has a second name on this disk (a hard link); remove that link or make it a copy, then open the logbook again."
EMPTY = "{name} is empty and holds no logbook; restore a backup or an export under another name."
UNREAD = "The address could not be read; write it as postgresql+psycopg://name@host/database, an @ in a password as %40, or give a file name."
LATIN = "The database {name} keeps its text as {found}, which lacks letters that a kitchen writes; make one WITH ENCODING 'UTF8'."
MOST_ADDRESS = 300
# Any number will do, as long as nobody else in the database takes the same one.
WRITERS = 70_663_366


def is_address(where: Where) -> bool:
    """Whether ``where`` is a database address, even one that is written wrongly, and not a file."""
    return re.search(r"://|^postgres\w*[:+]|\bpassword=", str(where)) is not None


def address_of(where: Where) -> tuple[URL, dict[str, str]]:
    """An address without the passwords of its query, and those passwords; what is wrong with it is said without any of it."""
    with suppress(SQLAlchemyError, ValueError):
        url = make_url(str(where))
        secret = {name: str(value) for name, value in url.query.items() if "password" in name}
        if (
            "@" not in (url.host or "") and len(shown(url)) < MOST_ADDRESS
        ):  # with an @ a part of the password was taken for the host
            return url.difference_update_query(secret), secret
    raise LogbookError(UNREAD)


def shown(url: URL) -> str:
    """An address as it may be shown."""
    return url.set(query={}).render_as_string(hide_password=True)


def file_of(where: Where) -> Path:
    """The one file that a path means, whichever way it is written."""
    unfit = LogbookError(f"{str(where)[:60]!a} can be no file name; give one such as kitchen.sqlite.")
    with told_as(unfit, OSError, ValueError, RuntimeError, TypeError):
        if not str(where).strip():  # a path would take it for the folder that is open
            raise unfit
        path = Path(os.path.realpath(Path(where).expanduser()))
        str(path).encode()  # raises, as the next does, where no file can have that name
        path.exists()
        return path


def connect(where: Where, progress: Progress | None = None, *, create: bool = True) -> Engine:
    """Open a logbook's database, creating what is missing unless ``create`` is false; see :func:`spoonline.logbook.open_logbook`."""
    if is_address(where):
        url, secret = address_of(where)
        name = shown(url)
        try:
            engine = create_engine(url, pool_pre_ping=True, connect_args=secret)
            _postgres_habits(engine)
        except ImportError as err:
            raise LogbookError(
                f"A database address needs its driver, and {err.name} is not installed; install spoonline with its extra [postgres]."
            ) from err
        except SQLAlchemyError as err:
            raise LogbookError(UNREAD) from err
    else:
        path = file_of(where)
        name = path.name
        check_file(path, create)
        only_ours(path)
        engine = create_engine(URL.create("sqlite", database=str(path)))
        _sqlite_habits(engine)
    try:
        with engine.begin() as connection:
            if (
                is_address(where)
                and (text := connection.exec_driver_sql("SHOW server_encoding").scalar_one()) != "UTF8"
            ):
                raise LogbookError(LATIN.format(name=name, found=text))
            found = _found_version(connection)
        if found == 0 and not create:
            raise LogbookError(EMPTY.format(name=name))
        if found > tables.LATEST:
            raise LogbookError(
                f"The logbook {name} was written by a newer spoonline (schema {found}, this one knows {tables.LATEST}); "
                "update spoonline and open it again. Nothing was changed."
            )
        if 0 < found < tables.LATEST:
            from spoonline.logbook.care import before_migration

            kept = before_migration(engine, where, found, progress)
            engine.update_execution_options(spoonline_copy=kept.name)
        if found < tables.LATEST:
            with writing(engine) as connection:
                tables.bring_up_to_date(connection)
            if engine.dialect.name == "sqlite":
                settle(engine)
    except BaseException as err:  # an interrupted kernel too: no file stays open
        engine.dispose()
        if isinstance(err, TROUBLES):
            raise trouble(err, name) from err
        raise
    return engine


def _found_version(connection: Connection) -> int:
    known = inspect(connection).get_table_names()
    if "schema_version" in known:
        numbers = connection.execute(select(tables.schema_version.c.number)).scalars().all()
        if len(numbers) > 1 or any(not isinstance(number, int) or number < 1 for number in numbers):
            raise LogbookError(
                "Which schema this logbook has cannot be read; keep the file as it is, and restore your last export or backup beside it."
            )
        return numbers[0] if numbers else 0
    if known:
        raise LogbookError("This database holds other tables and no logbook; give a new name, or that of a logbook.")
    return 0


def check_file(path: Path, create: bool) -> None:
    """What can be said of a file without opening it; whether it is a logbook, SQLite says."""
    name, there, parent = path.name, path.exists(), path.parent
    for wrong, sentence in (
        (path.is_dir(), "{name!r} is a folder; give the name of a logbook file in it, such as kitchen.sqlite."),
        (not parent.is_dir(), "The folder of {name!r} does not exist; make it first, or choose another."),
        (there and not path.is_file(), "{name} is no ordinary file; give the name of a logbook file, such as kitchen.sqlite."),
        (there and not create and path.stat().st_size == 0, EMPTY),
        (there and path.stat().st_nlink > 1, LINKED),
        (there and not os.access(path, os.R_OK), "The logbook {name} cannot be read; check its permissions."),
        (there and not os.access(path, os.W_OK),
         "The logbook {name} cannot be written; check its permissions, or copy it to your own folder."),
        (not there and not create, "There is no logbook {name!r} here; check its name, or go to its folder first."),
        (not there and not os.access(parent, os.W_OK), "The folder of {name} cannot be written; choose a folder of your own."),
    ):  # fmt: skip
        if wrong:
            raise LogbookError(sentence.format(name=name))


def only_ours(path: Path) -> None:
    """Where there is no file yet, make one that nobody else can read, without opening it; SQLite would let everybody.

    Where a system cannot do that, SQLite makes the file as the system has it.
    """
    with suppress(OSError, AttributeError):
        os.mknod(path, 0o600)


def _sqlite_habits(engine: Engine) -> None:
    @event.listens_for(engine, "connect")
    def _on_connect(raw: Any, record: Any) -> None:
        record.info["pool"] = engine.pool
        # The driver's own transactions leave DDL outside; we say BEGIN ourselves, so that a failed step rolls back whole.
        raw.isolation_level = None
        # A damaged page can hold bytes that are no text: the record is then set apart by its id, and the rest still reads.
        raw.text_factory = lambda data: data.decode("utf-8", "replace")
        for habit in (f"busy_timeout = {BUSY_MS}", "synchronous = EXTRA", "foreign_keys = ON"):
            raw.execute(f"PRAGMA {habit}").close()
        # Readers and a writer do not wait for one another; see settle for the second file that this makes.
        raw.execute("PRAGMA journal_mode = WAL").close()

    @event.listens_for(engine, "checkin")
    def _on_checkin(_raw: Any, record: Any) -> None:
        # one that was still in use when the others were let go belongs to no engine any more
        if record.info.get("pool") is not engine.pool:
            record.close()

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        write = connection.get_execution_options().get("spoonline_write", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


def settle(engine: Engine) -> bool:
    """Move what stands in SQLite's second file into the logbook's own, and empty the second: somebody may copy the first alone, or
    put another logbook over it. Whether that was possible; somebody who reads just now may hold it up, and is waited for briefly."""
    with closing(engine.raw_connection()) as raw:
        try:
            raw.execute(f"PRAGMA busy_timeout = {SETTLE_MS}").close()
            return not raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        except sqlite3.Error:  # what was acknowledged stands in the second file, and is moved another time
            return False
        finally:
            raw.execute(f"PRAGMA busy_timeout = {BUSY_MS}").close()


def _postgres_habits(engine: Engine) -> None:
    if engine.dialect.name != "postgresql":
        engine.dispose()
        raise LogbookError(
            f"An address of {engine.dialect.name} came; write postgresql+psycopg://name@host/database, or give a file name."
        )

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        # Writers queue, as they do on a file: numbers of versions and batches are given one at a time.
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {BUSY_MS}")
        if connection.get_execution_options().get("spoonline_write", False):
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS})")


def worth_another_try(err: Exception) -> bool:
    """Whether a failed write may work the next time: the database was in use, or the connection was lost."""
    if getattr(err, "connection_invalidated", False):
        return True
    passing = ("locked", "busy", "lock timeout", "deadlock", "connection", "terminating", "closed")
    return any(word in str(getattr(err, "orig", err)).lower() for word in passing)


def writing(engine: Engine) -> AbstractContextManager[Connection]:
    """Begin a transaction that takes the write lock at once, so that two writers queue and do not fail half-way."""
    return engine.execution_options(spoonline_write=True).begin()


# What can go wrong in a database; ``troubles.csv`` has the words by which it is known, the first row that fits, and what to say then.
TROUBLES = (SQLAlchemyError, UnicodeError, OverflowError)
_SAID = read_table("troubles.csv", "logbook")  # read while all is well


def trouble(err: Exception, name: str) -> LogbookError:
    """Turn a database error into one sentence; never with a password in it."""
    text = str(getattr(err, "orig", err)).strip().splitlines()
    short = text[0] if text else type(err).__name__
    if isinstance(err, UnicodeError):
        short = "its text cannot be read" if isinstance(err, UnicodeDecodeError) else "no such character"
    said = next(row["sentence"] for row in _SAID if any(word in short for word in row["words"].split("|")))
    return LogbookError(said.format(name=name, short=short))
