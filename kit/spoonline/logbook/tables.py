"""The tables of a logbook, and the steps that bring an older one up to date.

Every row is only ever added. A correction is a new row that names the one it replaces; taking something back is a row in
``hidden``. The records themselves are canonical JSON in ``body``; the columns beside it only help to find them.
"""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import (
    Column,
    Connection,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    ScalarSelect,
    String,
    Table,
    Text,
    UniqueConstraint,
    cast,
    func,
    select,
)
from sqlalchemy.sql.elements import ColumnElement
from sqlalchemy.sql.selectable import FromClause

metadata = MetaData()

schema_version = Table("schema_version", metadata, Column("number", Integer, primary_key=True, autoincrement=False))

versions = Table(
    "versions",
    metadata,
    Column("seq", Integer, primary_key=True),
    Column("title", String(300), nullable=False),
    Column("number", Integer, nullable=False),
    Column("parent", Integer),
    Column("id", String(64), nullable=False),
    Column("note", Text, nullable=False),
    Column("cook", String(200), nullable=False),
    Column("saved_at", String(32), nullable=False),
    Column("body", Text, nullable=False),
    UniqueConstraint("title", "number"),
)

batches = Table(
    "batches",
    metadata,
    Column("seq", Integer, primary_key=True),
    Column("title", String(300), nullable=False),
    Column("number", Integer, nullable=False),
    Column("version", Integer, nullable=False),
    Column("id", String(64), nullable=False, unique=True),
    Column("replaces", String(64)),
    Column("recorded_at", String(32), nullable=False),
    Column("body", Text, nullable=False),
    ForeignKeyConstraint(["title", "version"], ["versions.title", "versions.number"]),
    Index("batches_of_title", "title", "number"),
)

hidden = Table(
    "hidden",
    metadata,
    Column("seq", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("key", String(400), nullable=False),
    Column("hidden", Integer, nullable=False),
    Column("reason", Text, nullable=False),
    Column("at", String(32), nullable=False),
    Index("hidden_of_key", "kind", "key"),
)

kept = Table(
    "kept",
    metadata,
    Column("seq", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("title", String(300), nullable=False),
    Column("key", String(600), nullable=False),
    Column("id", String(64), nullable=False),
    Column("recorded_at", String(32), nullable=False),
    Column("body", Text, nullable=False),
    Index("kept_of_kind", "kind", "title"),
)

pictures = Table(
    "pictures",
    metadata,
    Column("seq", Integer, primary_key=True),
    Column("id", String(64), nullable=False, unique=True),
    Column("media", String(20), nullable=False),
    Column("data", LargeBinary, nullable=False),
)
# What was typed and not saved yet: no record, so the one table whose rows are overwritten.
drafts = Table(
    "drafts",
    metadata,
    Column("form", String(40), primary_key=True),
    Column("session", String(40), primary_key=True),
    Column("at", String(32), nullable=False),
    Column("body", Text, nullable=False),
)
# Indexes that came later than their tables.
LATER = (
    Index("versions_first", versions.c.number, versions.c.seq, versions.c.title),
    Index("batches_replaced", batches.c.replaces),
    Index("kept_of_time", kept.c.kind, kept.c.seq),
)


def shown(kind: str, key: ColumnElement[str] | Column[str]) -> ColumnElement[bool]:
    """Whether a record is not hidden now: what was said of it last counts, nothing said is shown."""
    last: ScalarSelect[int] = (
        select(hidden.c.hidden)
        .where(hidden.c.kind == kind, hidden.c.key == key)
        .order_by(hidden.c.seq.desc())
        .limit(1)
        .scalar_subquery()
    )
    return func.coalesce(last, 0) == 0


def version_key(table: FromClause = versions) -> ColumnElement[str]:
    """What ``hidden`` calls a version."""
    return table.c.title + "\n" + cast(table.c.number, String)


def standing() -> ColumnElement[bool]:
    """Whether a batch record stands: neither hidden, nor corrected by one that is not hidden itself."""
    later = batches.alias("later")
    corrected = select(later.c.seq).where(later.c.replaces == batches.c.id, shown("batch", later.c.id)).exists()
    return shown("batch", batches.c.id) & ~corrected


def _first(connection: Connection) -> None:
    _create(connection, versions, batches, hidden)


def _kept(connection: Connection) -> None:
    _create(connection, kept)


def _pictures(connection: Connection) -> None:
    _create(connection, pictures)
    for index in LATER:
        index.create(connection)


def _drafts(connection: Connection) -> None:
    _create(connection, drafts)


def _create(connection: Connection, *made: Table) -> None:
    """Make tables with the indexes they were born with; later indexes belong to later steps."""
    for table in made:
        held = [index for index in LATER if index.table is table]
        for index in held:
            table.indexes.discard(index)
        try:
            table.create(connection)
        finally:
            table.indexes.update(held)


# One function a schema version, in order; opening a logbook runs those it has not seen, all in one transaction.
STEPS: tuple[Callable[[Connection], None], ...] = (_first, _kept, _pictures, _drafts)
LATEST = len(STEPS)


def bring_up_to_date(connection: Connection) -> int:
    """Run the missing steps; return the version found before (0 for an empty logbook)."""
    schema_version.create(connection, checkfirst=True)
    found = connection.execute(select(schema_version.c.number)).scalar()
    number = 0 if found is None else int(found)
    if number < LATEST:
        for step in STEPS[number:]:
            step(connection)
        if found is None:
            connection.execute(schema_version.insert().values(number=LATEST))
        else:
            connection.execute(schema_version.update().values(number=LATEST))
    return number
