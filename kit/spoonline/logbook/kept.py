"""What a kitchen keeps beside versions and batches: its own spoons, trimmings, pans, tastings, cooling logs, plans."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import datetime
from typing import TYPE_CHECKING, Protocol, TypeVar

from spoonline.logbook import tables
from spoonline.logbook.rows import canonical, iso
from spoonline.measures.errors import LogbookError
from spoonline.recipes import Kept, content_id

if TYPE_CHECKING:
    from sqlalchemy import Connection

Kind = TypeVar("Kind", bound=Kept)


class _Book(Protocol):
    name: str

    def _now(self) -> datetime: ...
    def _change(self, work: Callable[[Connection], object]) -> object: ...
    def _read(self) -> AbstractContextManager[Connection]: ...


class KeepsRecords:
    """The part of a logbook that keeps records of a kind of their own."""

    def keep(self: _Book, record: Kind) -> Kind:
        """Keep a record; one with a key takes the place of the last one with that key, which stays in the history.

        Parameters
        ----------
        record : Kept

        Returns
        -------
        Kept
            With the id and time it was given.

        Raises
        ------
        LogbookError
            If it cannot be written.
        """
        made = record.model_copy(update={"id": "", "recorded_at": self._now()})
        made = made.model_copy(update={"id": content_id(made)})
        assert made.recorded_at is not None
        row = {
            "kind": made.kind, "title": getattr(made, "title", ""), "key": made.key, "id": made.id,
            "recorded_at": iso(made.recorded_at), "body": canonical(made),
        }  # fmt: skip
        self._change(lambda connection: connection.execute(tables.kept.insert().values(**row)))
        return made

    def kept(self: _Book, kind: type[Kind], title: str | None = None, *, history: bool = False) -> list[Kind]:
        """Records of one kind as they stand now, oldest first; ``history`` gives every one that was ever kept.

        Raises
        ------
        LogbookError
            If a record is damaged.
        """
        from sqlalchemy import select

        table = tables.kept
        query = select(table).where(table.c.kind == kind.kind).order_by(table.c.seq)
        if title is not None:
            query = query.where(table.c.title == title)
        if not history:
            query = query.where(tables.shown(kind.kind, table.c.id))
        with self._read() as connection:
            rows = connection.execute(query).mappings().all()
        found: dict[str, Kind] = {}
        for row in rows:
            try:
                record = kind(**json.loads(row["body"]))
            except (ValueError, TypeError) as err:
                raise LogbookError(
                    f"A {kind.kind} kept on {row['recorded_at'][:10]} is damaged and was set apart; restore it from an export."
                ) from err
            key = row["id"] if history or not record.key else record.key
            found.pop(key, None)
            found[key] = record
        return list(found.values())
