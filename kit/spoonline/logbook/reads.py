"""Reading a logbook: its recipes, versions and batches as they stand, their history, and what is damaged in it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from contextlib import AbstractContextManager
from functools import lru_cache
from typing import TYPE_CHECKING

from spoonline.logbook import tables
from spoonline.logbook.rows import batch_of, version_of
from spoonline.measures.errors import LogbookError
from spoonline.recipes import Recipe, Version
from spoonline.trials.records import Batch

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy import Connection, RowMapping, Select, Table


class ReadsRecords(ABC):
    """The reading half of a logbook."""

    name: str

    @abstractmethod
    def _read(self) -> AbstractContextManager[Connection]:
        """A connection for one reading; the logbook itself knows how it is opened."""

    def _rows(self, query: Select[tuple[object, ...]]) -> Sequence[RowMapping]:
        with self._read() as connection:
            return connection.execute(query).mappings().all()

    def titles(self) -> list[str]:
        """Titles of all recipes with a version that is not hidden, in the order they were first saved."""
        from sqlalchemy import exists, select

        # Every title has a version 1, so the index of first versions lists the titles without reading the rest.
        first, any_ = tables.versions, tables.versions.alias("any")
        query = select(first.c.title).where(first.c.number == 1).order_by(first.c.seq)
        if self._rows(select(tables.hidden.c.seq).where(tables.hidden.c.kind == "version").limit(1)):
            query = query.where(
                exists().where(any_.c.title == first.c.title, tables.shown("version", tables.version_key(any_)))
            )
        return [str(row["title"]) for row in self._rows(query)]

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
        from sqlalchemy import select

        table = tables.versions
        query = select(table).where(table.c.title == title)
        if number is None:
            query = query.where(tables.shown("version", tables.version_key())).order_by(table.c.number.desc()).limit(1)
        else:
            query = query.where(table.c.number == number)
        rows = self._rows(query)
        if not rows:
            raise self._nothing(title, number)
        found = version_of(rows[0])
        if not intact(found):
            raise LogbookError(
                f"{found.name} is damaged: its content no longer has the id {found.short_id}; restore it from an export."
            )
        return found

    def all_versions(self, title: str) -> list[Version]:
        """All versions of a title that are not hidden, first to last; a damaged one is set apart (see :meth:`damaged`)."""
        from sqlalchemy import select

        table = tables.versions
        query = select(table).where(table.c.title == title, tables.shown("version", tables.version_key()))
        rows = self._rows(query.order_by(table.c.number))
        if not rows:
            raise self._nothing(title, None)
        return [found for row in rows if (found := whole_version(row)) is not None]

    def versions(self, title: str) -> pd.DataFrame:
        """One row a version: version, parent, saved_at, cook, note, dose_g_per_l, liquid_l, id."""
        import pandas as pd

        rows = [
            {
                "version": each.number, "parent": each.parent, "saved_at": each.saved_at, "cook": each.cook, "note": each.note,
                "dose_g_per_l": each.recipe.dose_g_per_l, "liquid_l": each.recipe.liquid_l, "id": each.id,
            }
            for each in self.all_versions(title)
        ]  # fmt: skip
        return pd.DataFrame(rows).astype({"parent": "Int64"}).set_index("version")

    def branches(self, title: str) -> dict[int, list[Version]]:
        """Versions from which more than one other was made, with those: two cooks may have saved at once."""
        found: dict[int, list[Version]] = {}
        for version in self.all_versions(title):
            if version.parent is not None:
                found.setdefault(version.parent, []).append(version)
        return {parent: children for parent, children in found.items() if len(children) > 1}

    def all_batches(self, title: str | None = None) -> list[Batch]:
        """Batches as they stand now: corrected ones in their last form, taken-back and damaged ones left out; oldest first."""
        from sqlalchemy import select

        table = tables.batches
        query = select(table).where(tables.standing())
        if title is not None:
            query = query.where(table.c.title == title)
        rows = self._rows(query.order_by(table.c.title, table.c.number))
        if not rows and title is not None and not self._knows(title):
            raise self._nothing(title, None)
        return [found for row in rows if (found := whole_batch(row)) is not None]

    def batches(self, title: str | None = None) -> pd.DataFrame:
        """One row a batch, units in the column names; see :func:`spoonline.trials.batch_table`."""
        from spoonline.trials.table import batch_table

        records = self.all_batches(title)
        recipes = {key: self.version(*key).recipe for key in {(record.title, record.version) for record in records}}
        return batch_table(records, recipes)

    def history(self, title: str | None = None, last: int | None = None) -> pd.DataFrame:
        """Who did what and when, oldest first: at, who, what, from_what.

        Versions saved and what they came from, batches recorded and what they correct, what was taken back or brought back
        and why, and what else is kept.

        Parameters
        ----------
        title : str, optional
            Of one dish only.
        last : int, optional
            Only so many of the latest events.
        """
        import pandas as pd

        events: list[tuple[str, str, str, str]] = []
        for row in self._late(tables.versions, title, last):
            came = f"version {row['parent']}" if row["parent"] is not None else ""
            events.append((row["saved_at"], row["cook"], f"saved {row['title']}, version {row['number']}", came))
        names: dict[str, str] = {}
        for row in self._late(tables.batches, title, last):
            names[row["id"]] = f"batch {row['number']} of {row['title']}"
            batch = whole_batch(row)
            what = "corrected" if row["replaces"] else "recorded"
            before = f"record {row['replaces'][:12]}" if row["replaces"] else f"version {row['version']}"
            events.append((row["recorded_at"], batch.cook if batch else "", f"{what} {names[row['id']]}", before))
        for row in self._late(tables.kept, title, last):
            names[row["id"]] = f"a {row['kind']}" + (f" of {row['title']}" if row["title"] else "")
            events.append((row["recorded_at"], "", f"kept {names[row['id']]}", ""))
        for row in self._late(tables.hidden, None, last):
            name = names.get(row["key"], row["key"].replace("\n", ", version "))
            if title is None or title in name:
                events.append(
                    (row["at"], "", f"{'took back' if row['hidden'] else 'brought back'} {name}", row["reason"])
                )
        events.sort(key=_moment)
        return pd.DataFrame(events[-last:] if last else events, columns=["at", "who", "what", "from_what"])

    def _late(self, table: Table, title: str | None, last: int | None) -> list[RowMapping]:
        """Rows of a table in the order they were kept; only the last so many, and only those of one dish, where asked."""
        from sqlalchemy import select

        query = select(table).order_by(table.c.seq.desc())
        if title is not None:
            query = query.where(table.c.title == title)
        return list(reversed(self._rows(query if last is None else query.limit(last))))

    def damaged(self, titles: Sequence[str] | None = None) -> list[str]:
        """Every record whose content no longer has the id it was kept under, one sentence each; of some dishes only where asked."""
        found = []
        for title in [None] if titles is None else titles:
            found += [
                f"{row['title']}, version {row['number']} is damaged and set apart; restore it from an export."
                for row in self._late(tables.versions, title, None)
                if whole_version(row) is None
            ]
            found += [
                f"Batch {row['number']} of {row['title']} is damaged and set apart; restore it from an export."
                for row in self._late(tables.batches, title, None)
                if whole_batch(row) is None
            ]
        return found

    def _knows(self, title: str) -> bool:
        from sqlalchemy import select

        table = tables.versions
        return bool(self._rows(select(table.c.seq).where(table.c.title == title).limit(1)))

    def _nothing(self, title: str, number: int | None) -> LogbookError:
        """What to say of a title or version that is not there."""
        import difflib

        from sqlalchemy import select

        table = tables.versions
        numbers = [
            row["number"]
            for row in self._rows(select(table.c.number).where(table.c.title == title).order_by(table.c.number))
        ]
        if numbers and number is not None:
            return LogbookError(f"{title!r} has no version {number}; it has {listed(numbers)}.")
        known = self.titles()
        near = difflib.get_close_matches(title, known, n=3, cutoff=0.4)
        if not known:
            return LogbookError(f"There is no recipe {title!r}; this logbook is still empty. Save a recipe first.")
        hint = f"did you mean {listed(near)}?" if near else f"it holds {listed(known[:5])}."
        return LogbookError(f"There is no recipe {title!r} in the logbook {self.name}; {hint}", near)


def _moment(event: tuple[str, str, str, str]) -> str:
    return event[0]


@lru_cache(maxsize=1024)
def intact(version: Version) -> bool:
    """Whether a version still has the content of its id; asked once for each content."""
    return version.intact()


def whole_version(row: RowMapping) -> Version | None:
    """The version in a row, or None where its content no longer has its id."""
    try:
        found = version_of(row)
    except LogbookError:
        return None
    return found if intact(found) else None


def whole_batch(row: RowMapping) -> Batch | None:
    """The batch in a row, or None where its content no longer has its id."""
    try:
        return batch_of(row)
    except LogbookError:
        return None


def listed(values: Sequence[object]) -> str:
    """Values in a sentence."""
    return ", ".join(repr(value) if isinstance(value, str) else str(value) for value in values) or "none"
