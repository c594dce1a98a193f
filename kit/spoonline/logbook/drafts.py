"""What was typed and not saved: kept for a restarted kernel and a closed tab, never a record, never exported."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from spoonline.logbook import tables
from spoonline.logbook.opened import Opened
from spoonline.logbook.rows import iso


@dataclass(frozen=True)
class Draft:
    """What a form held: the form's name, the session that typed it, when, and its fields by name."""

    form: str
    session: str
    at: str
    fields: dict[str, Any]


class KeepsDrafts(Opened):
    """The part of a logbook that keeps what is being typed."""

    def draft(self, form: str, session: str, fields: dict[str, Any]) -> None:
        """Keep what a form holds now, in place of what the same session kept before; nothing typed keeps nothing."""
        table = tables.drafts
        row = {"form": form, "session": session, "at": iso(self._now()), "body": json.dumps(fields, sort_keys=True)}

        def work(connection: Connection) -> None:
            connection.execute(table.delete().where(table.c.form == form, table.c.session == session))
            if fields:
                connection.execute(table.insert().values(**row))

        self._change(work)

    def drafts(self, form: str) -> list[Draft]:
        """What was typed into a form and not saved, the latest first."""
        table = tables.drafts
        rows = self._rows(select(table).where(table.c.form == form).order_by(table.c.at.desc()))
        return [Draft(row["form"], row["session"], row["at"], json.loads(row["body"])) for row in rows]
