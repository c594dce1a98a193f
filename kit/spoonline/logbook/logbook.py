"""The logbook: versions and batches, kept for good, in one SQLite file or one PostgreSQL database."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from spoonline.logbook import tables
from spoonline.logbook.engine import connect, is_address, trouble, writing
from spoonline.logbook.kept import KeepsRecords
from spoonline.logbook.rows import batch_of, batch_row, iso, version_of, version_row
from spoonline.measures.errors import LogbookError
from spoonline.recipes import Kept, Recipe, Version, content_id
from spoonline.trials.records import Batch

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy import Connection, Engine, RowMapping


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def open_logbook(where: str | os.PathLike[str], *, clock: Callable[[], datetime] = _now) -> Logbook:
    """Open a logbook, creating what is missing.

    Parameters
    ----------
    where : str or path
        A file such as ``"kitchen.sqlite"``, or ``"postgresql+psycopg://user@host/name"``.
    clock : callable, optional
        Where the time of a record comes from; the machine's clock unless said.

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
    return Logbook(connect(where), str(where), clock)


class Logbook(KeepsRecords):
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
        with self._write() as connection:
            rows = self._version_rows(connection, recipe.title)
            numbers = [int(row["number"]) for row in rows]
            if parent is not None and parent not in numbers:
                raise LogbookError(
                    f"{recipe.title!r} has no version {parent} to start from; it has {_list(numbers)}."
                )
            identity = content_id(recipe)
            shown = [
                row
                for row in rows
                if not self._is_hidden(connection, "version", f"{recipe.title}\n{row['number']}")
            ]
            if shown and parent is None and shown[-1]["id"] == identity:
                return version_of(shown[-1])
            version = Version(
                title=recipe.title,
                number=max(numbers, default=0) + 1,
                id=identity,
                parent=parent if parent is not None else (int(shown[-1]["number"]) if shown else None),
                note=note,
                cook=cook,
                saved_at=self._now(),
                recipe=recipe,
            )
            connection.execute(tables.versions.insert().values(**version_row(version)))
        return version

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

        table = tables.batches
        with self._write() as connection:
            row = self._version_row(connection, batch.title, batch.version)
            batch.cooked(version_of(row).recipe)
            if batch.replaces:
                old = connection.execute(select(table).where(table.c.id == batch.replaces)).mappings().first()
                if old is None or old["title"] != batch.title:
                    raise LogbookError(
                        f"The batch to correct ({batch.replaces[:12]}) is not in this logbook; choose it from the table."
                    )
                number = int(old["number"])
            else:
                last = connection.execute(
                    select(func.max(table.c.number)).where(table.c.title == batch.title)
                ).scalar()
                number = int(last or 0) + 1
            kept = batch.model_copy(update={"number": number, "id": "", "recorded_at": self._now()})
            kept = kept.model_copy(update={"id": content_id(kept)})
            connection.execute(table.insert().values(**batch_row(kept)))
        return kept

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
        with self._write() as connection:
            connection.execute(
                tables.hidden.insert().values(
                    kind=kind, key=key, hidden=hide, reason=reason, at=iso(self._now())
                )
            )

    # -- reading ------------------------------------------------------------------------------------------------

    def titles(self) -> list[str]:
        """Titles of all recipes with a version that is not hidden, in the order they were first saved."""
        from sqlalchemy import func, select

        table = tables.versions
        with self._read() as connection:
            rows = connection.execute(
                select(table.c.title).group_by(table.c.title).order_by(func.min(table.c.seq))
            )
            return [title for (title,) in rows if self._shown_versions(connection, title)]

    def recipe(self, title: str, version: int | None = None) -> Recipe:
        """Return a recipe: the latest version, or the one asked for.

        Raises
        ------
        LogbookError
            If there is no such title or version.
        """
        return self.version(title, version).recipe

    def version(self, title: str, number: int | None = None) -> Version:
        """Return a version with its number, parent, note and id; the latest unless said.

        Raises
        ------
        LogbookError
            If there is no such title or version, or its content no longer has its id.
        """
        with self._read() as connection:
            if number is None:
                shown = self._shown_versions(connection, title)
                if not shown:
                    raise self._no_title(connection, title)
                found = version_of(shown[-1])
            else:
                found = version_of(self._version_row(connection, title, number))
        if not found.intact():
            raise LogbookError(
                f"{found.name} is damaged: its content no longer has the id {found.short_id}; restore it from an export."
            )
        return found

    def all_versions(self, title: str) -> list[Version]:
        """All versions of a title that are not hidden, first to last."""
        with self._read() as connection:
            rows = self._shown_versions(connection, title)
            if not rows:
                raise self._no_title(connection, title)
            return [version_of(row) for row in rows]

    def versions(self, title: str) -> pd.DataFrame:
        """One row a version: version, parent, saved_at, cook, note, dose_g_per_l, liquid_l, id."""
        import pandas as pd

        rows = [
            {
                "version": each.number,
                "parent": each.parent,
                "saved_at": each.saved_at,
                "cook": each.cook,
                "note": each.note,
                "dose_g_per_l": each.recipe.dose_g_per_l,
                "liquid_l": each.recipe.liquid_l,
                "id": each.id,
            }
            for each in self.all_versions(title)
        ]
        return pd.DataFrame(rows).astype({"parent": "Int64"}).set_index("version")

    def all_batches(self, title: str | None = None) -> list[Batch]:
        """Batches as they stand now: corrected ones in their last form, taken-back ones left out; oldest first."""
        from sqlalchemy import select

        table = tables.batches
        query = select(table).order_by(table.c.seq)
        if title is not None:
            query = query.where(table.c.title == title)
        with self._read() as connection:
            if title is not None and not self._version_rows(connection, title):
                raise self._no_title(connection, title)
            records = [batch_of(row) for row in connection.execute(query).mappings()]
            gone = self._hidden_keys(connection, "batch")
        replaced = {record.replaces for record in records if record.replaces and record.id not in gone}
        standing = [record for record in records if record.id not in gone and record.id not in replaced]
        return sorted(standing, key=lambda record: (record.title, record.number))

    def batches(self, title: str | None = None) -> pd.DataFrame:
        """One row a batch, units in the column names; see :func:`spoonline.trials.batch_table`."""
        from spoonline.trials.table import batch_table

        records = self.all_batches(title)
        recipes = {}
        for key in {(record.title, record.version) for record in records}:
            recipes[key] = self.version(*key).recipe
        return batch_table(records, recipes)

    # -- in and out ---------------------------------------------------------------------------------------------

    def export(self, folder: str | os.PathLike[str]) -> Path:
        """Write everything, history included, as JSON Lines with a manifest; see :mod:`spoonline.logbook.folder`."""
        from spoonline.logbook.folder import write_folder

        with self._read() as connection:
            return write_folder(connection, Path(folder))

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
            if book._version_rows(connection, None):
                raise LogbookError(f"The logbook {book.name} already holds recipes; restore into a new one.")
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
        except SQLAlchemyError as err:
            raise trouble(err, self.name) from err

    @contextmanager
    def _read(self) -> Iterator[Connection]:
        from sqlalchemy.exc import SQLAlchemyError

        try:
            with self._engine.begin() as connection:
                yield connection
        except SQLAlchemyError as err:
            raise trouble(err, self.name) from err

    def _version_rows(self, connection: Connection, title: str | None) -> Sequence[RowMapping]:
        from sqlalchemy import select

        table = tables.versions
        query = select(table).order_by(table.c.number)
        if title is not None:
            query = query.where(table.c.title == title)
        return connection.execute(query).mappings().all()

    def _shown_versions(self, connection: Connection, title: str) -> list[RowMapping]:
        gone = self._hidden_keys(connection, "version")
        return [
            row for row in self._version_rows(connection, title) if f"{title}\n{row['number']}" not in gone
        ]

    def _version_row(self, connection: Connection, title: str, number: int) -> RowMapping:
        rows = self._version_rows(connection, title)
        if not rows:
            raise self._no_title(connection, title)
        for row in rows:
            if row["number"] == number:
                return row
        raise LogbookError(
            f"{title!r} has no version {number}; it has {_list([int(row['number']) for row in rows])}."
        )

    def _hidden_keys(self, connection: Connection, kind: str) -> set[str]:
        from sqlalchemy import select

        table = tables.hidden
        state: dict[str, bool] = {}
        for row in connection.execute(
            select(table).where(table.c.kind == kind).order_by(table.c.seq)
        ).mappings():
            state[str(row["key"])] = bool(row["hidden"])
        return {key for key, gone in state.items() if gone}

    def _is_hidden(self, connection: Connection, kind: str, key: str) -> bool:
        return key in self._hidden_keys(connection, kind)

    def _no_title(self, connection: Connection, title: str) -> LogbookError:
        import difflib

        from sqlalchemy import select

        table = tables.versions
        known = [name for (name,) in connection.execute(select(table.c.title).distinct())]
        near = difflib.get_close_matches(title, known, n=3, cutoff=0.4)
        if not known:
            return LogbookError(
                f"There is no recipe {title!r}; this logbook is still empty. Save a recipe first."
            )
        hint = f"did you mean {_list(near)}?" if near else f"it holds {_list(known[:5])}."
        return LogbookError(f"There is no recipe {title!r} in the logbook {self.name}; {hint}", near)


def _list(values: Sequence[object]) -> str:
    return ", ".join(repr(value) if isinstance(value, str) else str(value) for value in values) or "none"
