"""Turn a logbook of today into one as an earlier schema left it."""

from __future__ import annotations

from sqlalchemy import inspect

import spoonline as sl
from spoonline.logbook import tables


def to_schema(book: sl.Logbook, steps: int) -> None:
    """Take away what the steps after this one made."""
    gone = [tables.told, tables.about]
    gone += [table for table, born in ((tables.drafts, 4), (tables.pictures, 3), (tables.kept, 2)) if steps < born]
    with book.store.engine.begin() as connection:
        for table in gone:
            table.drop(connection)
        for index in tables.LATER if steps < 3 else ():
            if index.table not in gone:
                index.drop(connection)
        for table in tables.KINDS:
            if table not in gone and "seal" in {each["name"] for each in inspect(connection).get_columns(table.name)}:
                connection.exec_driver_sql(f"ALTER TABLE {table.name} DROP COLUMN seal")
        connection.execute(tables.schema_version.update().values(number=steps))
