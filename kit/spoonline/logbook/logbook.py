"""The logbook: versions and batches, kept for good, in one SQLite file or one PostgreSQL database."""

from __future__ import annotations

import os
import random
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from spoonline.logbook import tables
from spoonline.logbook.drafts import KeepsDrafts
from spoonline.logbook.engine import connect, is_address, trouble, worth_another_try, writing
from spoonline.logbook.kept import KeepsRecords
from spoonline.logbook.pictures import KeepsPictures
from spoonline.logbook.reads import ReadsRecords, listed
from spoonline.logbook.rows import batch_row, iso, version_of, version_row
from spoonline.measures.errors import LogbookError, Progress
from spoonline.recipes import Kept, Recipe, Version, content_id
from spoonline.trials.records import Batch

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine, RowMapping

T = TypeVar("T")
# A write that meets a lock or a lost connection is tried again this often, with pauses that double.
ATTEMPTS, PAUSE_S = 5, 0.05


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def open_logbook(
    where: str | os.PathLike[str], *, clock: Callable[[], datetime] = _now, progress: Progress | None = None
) -> Logbook:
    """Open a logbook, creating what is missing.

    Parameters
    ----------
    where : str or path
        A file such as ``"kitchen.sqlite"``, or ``"postgresql+psycopg://user@host/name"``.
    clock : callable, optional
        Where the time of a record comes from; the machine's clock unless said.
    progress : callable, optional
        Called with done, all, and a word for what, while an older logbook is copied before its tables are changed; what it
        raises ends the opening and leaves the logbook as it was.

    Returns
    -------
    Logbook

    Raises
    ------
    LogbookError
        If it is not a logbook, is locked, cannot be written or comes from a newer version.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> book = open_logbook(pathlib.Path(tempfile.mkdtemp()) / "kitchen.sqlite")
    >>> version = book.save(Recipe(title="Mushroom gravy", ingredients=["1 l beef stock", "60 g wheat flour"]))
    >>> version.number, book.recipe("Mushroom gravy").dose_g_per_l
    (1, 60.0)
    >>> book.close()
    """
    return Logbook(connect(where, progress), str(where), clock)


class Logbook(ReadsRecords, KeepsRecords, KeepsPictures, KeepsDrafts):
    """Recipes, versions and batches. Made by :func:`open_logbook`; nothing in it is ever overwritten."""

    def __init__(self, engine: Engine, where: str, clock: Callable[[], datetime] = _now) -> None:
        self._engine = engine
        self._now = clock
        self.name = engine.url.render_as_string(hide_password=True) if is_address(where) else Path(where).name

    def __repr__(self) -> str:
        """Name the logbook, with any password masked."""
        return f"<Logbook {self.name}>"

    def close(self) -> None:
        """Close the file or the connection."""
        self._engine.dispose()

    # -- writing ------------------------------------------------------------------------------------------------

    def save(self, recipe: Recipe, note: str = "", *, cook: str = "", parent: int | None = None) -> Version:
        """Save a recipe as the next version of its title.

        Parameters
        ----------
        recipe : Recipe
        note : str
            What was changed and why.
        cook : str
            Who saves it.
        parent : int, optional
            The version it was made from; the latest one unless said.

        Returns
        -------
        Version
            As saved. If the latest version is the same to the letter, that one is returned and nothing is added.

        Raises
        ------
        LogbookError
            If it cannot be written, or there is no such parent.
        """
        identity, made = content_id(recipe), list[Version]()

        def work(connection: Connection) -> Version:
            for earlier in made:  # a commit whose answer was lost on the way
                if self._there(connection, earlier):
                    return earlier
            last = self._last(connection, recipe.title)
            numbers = self._numbers(connection, recipe.title)
            if parent is not None and parent not in numbers:
                raise LogbookError(f"{recipe.title!r} has no version {parent} to start from; it has {listed(numbers)}.")
            if last is not None and last["id"] == identity and parent in (None, last["number"]):
                return version_of(last)
            version = Version(
                title=recipe.title,
                number=max(numbers, default=0) + 1,
                id=identity,
                parent=parent if parent is not None else (int(last["number"]) if last is not None else None),
                note=note,
                cook=cook,
                saved_at=self._now(),
                recipe=recipe,
            )
            made.append(version)
            connection.execute(tables.versions.insert().values(**version_row(version)))
            return version

        return self._change(work)

    def record(self, batch: Batch) -> Batch:
        """Record a batch.

        Parameters
        ----------
        batch : Batch
            Of a version that is in the logbook. With ``replaces`` set it corrects an earlier record and keeps its number.

        Returns
        -------
        Batch
            With the number, id and time it was given.

        Raises
        ------
        LogbookError
            If the version or the replaced batch is not in the logbook, or it cannot be written.
        """
        from sqlalchemy import func, select

        table, made = tables.batches, list[Batch]()
        batch.cooked(self.version(batch.title, batch.version).recipe)

        def work(connection: Connection) -> Batch:
            for earlier in made:
                if connection.execute(select(table.c.seq).where(table.c.id == earlier.id)).first():
                    return earlier
            if batch.replaces:
                query = select(table.c.title, table.c.number).where(table.c.id == batch.replaces)
                old = connection.execute(query).mappings().first()
                if old is None or old["title"] != batch.title:
                    raise LogbookError(
                        f"The batch to correct ({batch.replaces[:12]}) is not in this logbook; choose it from the table."
                    )
                number = int(old["number"])
            else:
                most = select(func.max(table.c.number)).where(table.c.title == batch.title)
                number = int(connection.execute(most).scalar() or 0) + 1
            kept = batch.model_copy(update={"number": number, "id": "", "recorded_at": self._now()})
            kept = kept.model_copy(update={"id": content_id(kept)})
            if connection.execute(select(table.c.seq).where(table.c.id == kept.id)).first():
                return kept  # the same correction twice within a second: it is there already
            made.append(kept)
            connection.execute(table.insert().values(**batch_row(kept)))
            return kept

        return self._change(work)

    def take_back(self, record: Version | Batch | Kept, reason: str = "") -> None:
        """Hide a version or a batch; it stays in the logbook and :meth:`bring_back` shows it again."""
        self._mark(record, 1, reason)

    def bring_back(self, record: Version | Batch | Kept, reason: str = "") -> None:
        """Show again what was taken back."""
        self._mark(record, 0, reason)

    def _mark(self, record: Version | Batch | Kept, hide: int, reason: str) -> None:
        if isinstance(record, Version):
            kind, key = "version", f"{record.title}\n{record.number}"
        else:
            kind, key = ("batch" if isinstance(record, Batch) else record.kind), record.id
        row = {"kind": kind, "key": key, "hidden": hide, "reason": reason, "at": iso(self._now())}
        self._change(lambda connection: connection.execute(tables.hidden.insert().values(**row)))

    # -- in and out ---------------------------------------------------------------------------------------------

    def export(self, folder: str | os.PathLike[str], *, names: bool = False, progress: Progress | None = None) -> Path:
        """Write everything, history included, as JSON Lines and CSV with a manifest; see :mod:`spoonline.logbook.folder`.

        Personal names of tasters stay behind unless ``names`` asks for them. ``progress`` is called with done, all, and a word for
        what; what it raises ends the export, and a folder without a manifest is refused by :meth:`restore`.
        """
        from spoonline.logbook.csv_tables import write_tables
        from spoonline.logbook.folder import write_folder

        with self._read() as connection:
            written = write_folder(connection, Path(folder), names=names, progress=progress)
        write_tables(self, written)
        return written

    @staticmethod
    def restore(folder: str | os.PathLike[str], where: str | os.PathLike[str]) -> Logbook:
        """Make a new logbook from an exported folder, after checking every line against the manifest.

        Raises
        ------
        LogbookError
            If the folder is not an export, was changed, or ``where`` already holds records.
        """
        from spoonline.logbook.folder import read_folder

        contents = read_folder(Path(folder))
        book = open_logbook(where)
        with book._write() as connection:
            held = [table.name for table in tables.metadata.sorted_tables if table not in (tables.schema_version, tables.drafts)
                    and connection.execute(table.select().limit(1)).first() is not None]  # fmt: skip
            if held:
                raise LogbookError(f"The logbook {book.name} already holds {listed(held)}; restore into a new one.")
            for table, rows in contents:
                if rows:
                    connection.execute(table.insert(), rows)
        return book

    # -- inside -------------------------------------------------------------------------------------------------

    @contextmanager
    def _write(self) -> Iterator[Connection]:
        from sqlalchemy.exc import SQLAlchemyError

        try:
            with writing(self._engine) as connection:
                yield connection
        except (SQLAlchemyError, UnicodeError) as err:
            raise trouble(err, self.name) from err

    @contextmanager
    def _read(self) -> Iterator[Connection]:
        from sqlalchemy.exc import SQLAlchemyError

        try:
            with self._engine.begin() as connection:
                yield connection
        except (SQLAlchemyError, UnicodeError) as err:
            raise trouble(err, self.name) from err

    def _change(self, work: Callable[[Connection], T]) -> T:
        """Do a piece of writing whole or not at all; again where the database was in use or the connection was lost."""
        from sqlalchemy.exc import SQLAlchemyError

        for attempt in range(ATTEMPTS):
            try:
                with writing(self._engine) as connection:
                    return work(connection)
            except (SQLAlchemyError, UnicodeError) as err:
                if attempt + 1 == ATTEMPTS or not worth_another_try(err):
                    raise trouble(err, self.name) from err
                time.sleep(PAUSE_S * 2**attempt * (1 + random.random()))
        raise AssertionError("unreachable")

    def _last(self, connection: Connection, title: str) -> RowMapping | None:
        """The latest version of a title that is not hidden."""
        from sqlalchemy import select

        table = tables.versions
        query = select(table).where(table.c.title == title, tables.shown("version", tables.version_key()))
        return connection.execute(query.order_by(table.c.number.desc()).limit(1)).mappings().first()

    def _numbers(self, connection: Connection, title: str) -> list[int]:
        from sqlalchemy import select

        table = tables.versions
        return list(
            connection.execute(select(table.c.number).where(table.c.title == title).order_by(table.c.number)).scalars()
        )

    def _there(self, connection: Connection, version: Version) -> bool:
        from sqlalchemy import select

        table, row = tables.versions, version_row(version)
        same = [table.c[name] == row[name] for name in ("title", "number", "id", "cook", "saved_at")]
        return connection.execute(select(table.c.seq).where(*same)).first() is not None
