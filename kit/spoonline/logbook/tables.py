"""The tables of a logbook, and the steps that bring an older one up to date.

Every row is only ever added. A correction is a new row that names the one it replaces; taking something back is a row in
``hidden``. The records themselves are canonical JSON in ``body``; the columns beside it only help to find them. Each row ends
with a ``seal``, a fingerprint of all its columns, so that a note or a date that changed by itself is noticed like a body that did.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Any
from uuid import uuid4

import sqlalchemy as sa
from sqlalchemy import Connection, Index, Table
from sqlalchemy.schema import CreateTable, SchemaItem
from sqlalchemy.sql.elements import ColumnElement
from sqlalchemy.sql.selectable import FromClause

from spoonline.logbook.rows import seal_of, vouched

metadata = sa.MetaData()


def _column(name: str, kind: type | int, **more: Any) -> sa.Column[Any]:
    """A column of a plain type, or of a text of so many characters at most."""
    plain: dict[type, sa.types.TypeEngine[Any]] = {int: sa.Integer(), str: sa.Text(), bytes: sa.LargeBinary()}
    return sa.Column(name, sa.String(kind) if isinstance(kind, int) else plain[kind], **more)


def _table(name: str, columns: dict[str, type | int], *more: SchemaItem, optional: str = "", unique: str = "") -> Table:
    """A table of records, numbered as they are kept."""
    made = [_column(each, columns[each], nullable=each == optional, unique=each == unique or None) for each in columns]
    made.append(_column("seal", 64))  # none in a row of an older release that could not be vouched for
    return Table(name, metadata, _column("seq", int, primary_key=True), *made, *more)


def _keyed(name: str, key: dict[str, type | int], columns: dict[str, type | int]) -> Table:
    """A table that holds no records: what stands under a key is overwritten."""
    keys = [_column(each, kind, primary_key=True, autoincrement=False) for each, kind in key.items()]
    return Table(name, metadata, *keys, *(_column(each, kind, nullable=False) for each, kind in columns.items()))


schema_version = _keyed("schema_version", {"number": int}, {})
versions = _table(
    "versions",
    {"title": 300, "number": int, "parent": int, "id": 64, "note": str, "cook": 200, "saved_at": 32, "body": str},
    sa.UniqueConstraint("title", "number"),
    optional="parent",
)
batches = _table(
    "batches",
    {"title": 300, "number": int, "version": int, "id": 64, "replaces": 64, "recorded_at": 32, "body": str},
    sa.ForeignKeyConstraint(["title", "version"], ["versions.title", "versions.number"]),
    Index("batches_of_title", "title", "number"),
    optional="replaces",
    unique="id",
)
hidden = _table(
    "hidden", {"kind": 20, "key": 400, "hidden": int, "reason": str, "at": 32}, Index("hidden_of_key", "kind", "key")
)
kept = _table(
    "kept",
    {"kind": 20, "title": 300, "key": 1200, "id": 64, "recorded_at": 32, "body": str},
    Index("kept_of_kind", "kind", "title"),
)
pictures = _table("pictures", {"id": 64, "media": 20, "data": bytes}, unique="id")
# What was typed and not saved yet.
drafts = _keyed("drafts", {"form": 40, "session": 40}, {"at": 32, "body": str})
# The highest number ever given within a title, so that a record that vanished is missed; and what is known of the whole logbook.
told = _keyed("told", {"kind": 20, "title": 300}, {"number": int})
about = _keyed("about", {"name": 40}, {"value": str})
# What ``told`` calls the number of rows of a table.
ROWS = "rows of"
# Indexes that came later than their tables.
LATER = (
    Index("versions_first", versions.c.number, versions.c.seq, versions.c.title),
    Index("batches_replaced", batches.c.replaces),
    Index("kept_of_time", kept.c.kind, kept.c.seq),
)
# The kinds of record, in the order in which they can be copied.
KINDS = (versions, batches, pictures, kept, hidden)


def insert(connection: Connection, table: Table, row: Mapping[str, Any]) -> None:
    """Add one row, sealed and counted."""
    connection.execute(table.insert().values(**row, seal=seal_of(table.name, row)))
    key = {"kind": ROWS, "title": table.name}
    count = sa.select(told.c.number).where(*(told.c[name] == each for name, each in key.items()))
    before = connection.execute(count).scalar()
    put(connection, told, key, number=1 + (before if isinstance(before, int) else 0))  # none yet, or a damaged one


def put(connection: Connection, table: Table, key: Mapping[str, Any], **value: Any) -> None:
    """Write what stands under a key, in place of what stood there; for the tables that hold no records."""
    there = [table.c[name] == each for name, each in key.items()]
    if connection.execute(table.update().where(*there).values(**value)).rowcount == 0:
        connection.execute(table.insert().values(**key, **value))


def held(connection: Connection) -> list[str]:
    """Names of the kinds of which there is a record."""
    return [each.name for each in KINDS if connection.execute(sa.select(each.c.seq).limit(1)).first() is not None]


def note_told(connection: Connection, numbers: Iterable[tuple[str, str, int]]) -> None:
    """Remember the highest number given so far to each kind within each title."""
    for kind, title, number in numbers:
        put(connection, told, {"kind": kind, "title": title}, number=number)


def shown(kind: str, key: ColumnElement[str] | sa.Column[str]) -> ColumnElement[bool]:
    """Whether a record is not hidden now: what was said of it last counts, nothing said is shown."""
    said = sa.select(hidden.c.hidden).where(hidden.c.kind == kind, hidden.c.key == key)
    last: sa.ScalarSelect[int] = said.order_by(hidden.c.seq.desc()).limit(1).scalar_subquery()
    return sa.func.coalesce(last, 0) == 0


def version_key(table: FromClause = versions) -> ColumnElement[str]:
    """What ``hidden`` calls a version."""
    return table.c.title + "\n" + sa.cast(table.c.number, sa.String)


def standing() -> ColumnElement[bool]:
    """Whether a batch record stands: neither hidden, nor corrected by one that is not hidden itself."""
    later = batches.alias("later")
    corrected = sa.select(later.c.seq).where(later.c.replaces == batches.c.id, shown("batch", later.c.id)).exists()
    return shown("batch", batches.c.id) & ~corrected


def _create(connection: Connection, *made: Table | Index) -> None:
    """Make indexes, and tables with the indexes they were born with; later indexes belong to later steps."""
    for each in made:
        if isinstance(each, Table):
            connection.execute(CreateTable(each))
            _create(connection, *each.indexes.difference(LATER))
        else:
            each.create(connection)


def _seal_all(connection: Connection) -> None:
    """Give every row its seal, where its content is still what it was kept with, and note the highest numbers given so far."""
    for made in (told, about):
        made.create(connection, checkfirst=True)
    for table in KINDS:
        if "seal" not in {column["name"] for column in sa.inspect(connection).get_columns(table.name)}:
            connection.exec_driver_sql(f"ALTER TABLE {table.name} ADD COLUMN seal VARCHAR(64)")
        plain = [column for column in table.c if column.name != "data"]
        rows = connection.execute(sa.select(*plain).order_by(table.c.seq)).mappings().all()
        seals = [{"row_": row["seq"], "seal_": seal_of(table.name, row)} for row in rows if vouched(table.name, row)]
        if seals:
            change = table.update().where(table.c.seq == sa.bindparam("row_")).values(seal=sa.bindparam("seal_"))
            connection.execute(change, seals)
        note_told(connection, [(ROWS, table.name, len(rows))])
    for kind, table in (("version", versions), ("batch", batches)):
        most = sa.select(sa.literal(kind), table.c.title, sa.func.max(table.c.number)).group_by(table.c.title)
        note_told(connection, connection.execute(most).all())


# One function a schema version, in order; opening a logbook runs those it has not seen, all in one transaction.
STEPS: tuple[Callable[[Connection], None], ...] = (
    lambda connection: _create(connection, versions, batches, hidden),
    lambda connection: _create(connection, kept),
    lambda connection: _create(connection, pictures, *LATER),
    lambda connection: _create(connection, drafts),
    _seal_all,
)
LATEST = len(STEPS)


def bring_up_to_date(connection: Connection) -> None:
    """Run the missing steps."""
    schema_version.create(connection, checkfirst=True)
    found = connection.execute(sa.select(schema_version.c.number)).scalar()
    if found is None:
        connection.execute(schema_version.insert().values(number=0))
    if (found or 0) < LATEST:
        for step in STEPS[found or 0 :]:
            step(connection)
        connection.execute(schema_version.update().values(number=LATEST))
        put(connection, about, {"name": "id"}, value=uuid4().hex)
