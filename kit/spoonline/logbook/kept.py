"""What a kitchen keeps beside versions and batches: its own spoons, trimmings, pans, tastings, cooling logs, plans."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import Connection, select

from spoonline.logbook import tables
from spoonline.logbook.opened import Opened
from spoonline.logbook.rows import canonical, damage_named, iso, named_by_content
from spoonline.recipes import Habits, Kept

Kind = TypeVar("Kind", bound=Kept)


@dataclass(frozen=True)
class Draft:
    """What a form held and nobody saved: for a restarted kernel and a closed tab; never a record, never exported."""

    form: str
    session: str
    at: str
    fields: dict[str, Any]


class KeepsRecords(Opened):
    """The part of a logbook that keeps records of a kind of their own, and what is being typed."""

    def keep(self, record: Kind) -> Kind:
        """Keep a record, and give it its id and time; it takes the place of the last one with its key, which stays in the history."""
        at = self._now()
        made = named_by_content(record, recorded_at=at)
        row = {"kind": made.kind, "title": getattr(made, "title", ""), "key": made.key, "id": made.id}
        row |= {"recorded_at": iso(at), "body": canonical(made)}
        self._change(lambda connection: connection.execute(tables.kept.insert().values(**row)))
        return made

    def kept(self, kind: type[Kind], title: str | None = None, *, history: bool = False) -> list[Kind]:
        """Records of one kind as they stand now, oldest first; ``history`` gives every one that was ever kept.

        Raises `LogbookError` if one is damaged.
        """
        table = tables.kept
        query = select(table).where(table.c.kind == kind.kind).order_by(table.c.seq)
        if title is not None:
            query = query.where(table.c.title == title)
        if not history:
            query = query.where(tables.shown(kind.kind, table.c.id))
        found: dict[str, Kind] = {}
        for row in self._rows(query):
            with damage_named(f"A {kind.kind} kept on {row['recorded_at'][:10]}"):
                record = kind(**json.loads(row["body"]))
            key = row["id"] if history or not record.key else record.key
            found.pop(key, None)
            found[key] = record
        return list(found.values())

    @property
    def habits(self) -> Habits:
        """How this kitchen writes: what was kept last, else US spoons and a decimal point."""
        kept = self.kept(Habits)
        return kept[-1] if kept else Habits()

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
