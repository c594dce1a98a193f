"""What was typed and not saved: kept for a restarted kernel and a closed tab, never a record, never exported."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Protocol

from spoonline.logbook import tables
from spoonline.logbook.rows import iso

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True)
class Draft:
    """What a form held: the form's name, the session that typed it, when, and its fields by name."""

    form: str
    session: str
    at: str
    fields: dict[str, Any]


class _Book(Protocol):
    def _now(self) -> datetime: ...
    def _change(self, work: Callable[[Connection], object]) -> object: ...
    def _read(self) -> AbstractContextManager[Connection]: ...


class KeepsDrafts:
    """The part of a logbook that keeps what is being typed."""

    def draft(self: _Book, form: str, session: str, fields: dict[str, Any]) -> None:
        """Keep what a form holds now, in place of what the same session kept before; nothing typed keeps nothing."""
        table = tables.drafts
        row = {"form": form, "session": session, "at": iso(self._now()), "body": json.dumps(fields, sort_keys=True)}

        def work(connection: Connection) -> None:
            connection.execute(table.delete().where(table.c.form == form, table.c.session == session))
            if fields:
                connection.execute(table.insert().values(**row))

        self._change(work)

    def drafts(self: _Book, form: str) -> list[Draft]:
        """What was typed into a form and not saved, the latest first."""
        from sqlalchemy import select

        table = tables.drafts
        query = select(table).where(table.c.form == form).order_by(table.c.at.desc())
        with self._read() as connection:
            rows = connection.execute(query).mappings().all()
        return [Draft(row["form"], row["session"], row["at"], json.loads(row["body"])) for row in rows]
