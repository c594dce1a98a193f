"""The logbook: versions and batches, kept for good, in one SQLite file or one PostgreSQL database."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, func, select

from spoonline.logbook import tables
from spoonline.logbook.csv_tables import write_tables
from spoonline.logbook.engine import connect
from spoonline.logbook.folder import read_folder, write_folder
from spoonline.logbook.opened import now
from spoonline.logbook.pictures import KeepsPictures
from spoonline.logbook.reads import ReadsRecords, listed
from spoonline.logbook.rows import batch_row, iso, named_by_content, version_of, version_row
from spoonline.measures.errors import LogbookError, Progress
from spoonline.pots.records import Batch
from spoonline.recipes import Kept, Recipe, Version, content_id


def open_logbook(
    where: str | os.PathLike[str], *, clock: Callable[[], datetime] = now, progress: Progress | None = None
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
    return Logbook(connect(where, progress), where, clock)


class Logbook(ReadsRecords, KeepsPictures):
    """Recipes, versions and batches. Made by :func:`open_logbook`; nothing in it is ever overwritten.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> book = open_logbook(pathlib.Path(tempfile.mkdtemp()) / "kitchen.sqlite")
    >>> for stock in ("1 l beef stock", "1.2 l beef stock"):
    ...     version = book.save(Recipe(title="Mushroom gravy", ingredients=[stock, "60 g wheat flour"]))
    >>> list(book.versions("Mushroom gravy").index)
    [1, 2]
    >>> book.close()
    """

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
        table, identity, made = tables.versions, content_id(recipe), list[Version]()

        def work(connection: Connection) -> Version:
            for earlier in made:  # a commit whose answer was lost on the way
                row = version_row(earlier)
                same = [table.c[name] == row[name] for name in ("title", "number", "id", "cook", "saved_at")]
                if connection.execute(select(table.c.seq).where(*same)).first():
                    return earlier
            last = connection.execute(self._latest(recipe.title)).mappings().first()
            numbers = list(connection.execute(self._numbers(recipe.title)).scalars())
            if parent is not None and parent not in numbers:
                raise LogbookError(f"{recipe.title!r} has no version {parent} to start from; it has {listed(numbers)}.")
            if last is not None and last["id"] == identity and parent in (None, last["number"]):
                return version_of(last)
            came = parent if parent is not None else last["number"] if last is not None else None
            given = {"id": identity, "number": max(numbers, default=0) + 1, "parent": came, "saved_at": self._now()}
            version = Version(title=recipe.title, note=note, cook=cook, recipe=recipe, **given)
            made.append(version)
            connection.execute(table.insert().values(**version_row(version)))
            return version

        return self._change(work)

    def record(self, batch: Batch) -> Batch:
        """Record a batch, and give it its number, id and time.

        Parameters
        ----------
        batch : Batch
            Of a version that is in the logbook. With ``replaces`` set it corrects an earlier record and keeps its number.

        Raises
        ------
        LogbookError
            If the version or the replaced batch is not in the logbook, or it cannot be written.
        """
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
            kept = named_by_content(batch, number=number, recorded_at=self._now())
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

    def export(self, folder: str | os.PathLike[str], *, names: bool = False, progress: Progress | None = None) -> Path:
        """Write everything, history included, as JSON Lines and CSV with a manifest; see :mod:`spoonline.logbook.folder`.

        Personal names of tasters stay behind unless ``names`` asks for them. ``progress`` is called with done, all, and a word for
        what; what it raises ends the export, and a folder without a manifest is refused by :meth:`restore`.
        """
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
        contents = read_folder(Path(folder))
        book = open_logbook(where)
        with book._write() as connection:
            if held := tables.held(connection, tables.metadata.sorted_tables):
                raise LogbookError(f"The logbook {book.name} already holds {listed(held)}; restore into a new one.")
            for table, rows in contents:
                if rows:
                    connection.execute(table.insert(), rows)
        return book
