"""Reading a logbook: its recipes, versions and batches as they stand, their history, and what is damaged in it."""

from __future__ import annotations

import difflib
import operator
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import RowMapping, Select, Table, exists, select

from spoonline.logbook import tables
from spoonline.logbook.opened import Opened
from spoonline.logbook.rows import batch_of, version_of
from spoonline.measures.errors import LogbookError
from spoonline.pots.records import Batch
from spoonline.recipes import Recipe, Version

if TYPE_CHECKING:
    import pandas as pd

    from spoonline.dish import Dish


class ReadsRecords(Opened):
    """The reading half of a logbook."""

    def _standing(self, title: str) -> Select[Any]:
        """Versions of a title that are not hidden."""
        table = tables.versions
        return select(table).where(table.c.title == title, tables.shown("version", tables.version_key()))

    def _latest(self, title: str) -> Select[Any]:
        return self._standing(title).order_by(tables.versions.c.number.desc()).limit(1)

    def _numbers(self, title: str) -> Select[Any]:
        table = tables.versions
        return select(table.c.number).where(table.c.title == title).order_by(table.c.number)

    def titles(self) -> list[str]:
        """Titles of all recipes with a version that is not hidden, in the order they were first saved."""
        # Every title has a version 1, so the index of first versions lists the titles without reading the rest.
        first, any_ = tables.versions, tables.versions.alias("any")
        query = select(first.c.title).where(first.c.number == 1).order_by(first.c.seq)
        if self._rows(select(tables.hidden.c.seq).where(tables.hidden.c.kind == "version").limit(1)):
            query = query.where(
                exists().where(any_.c.title == first.c.title, tables.shown("version", tables.version_key(any_)))
            )
        return [str(row["title"]) for row in self._rows(query)]

    def recipe(self, title: str, version: int | None = None) -> Recipe:
        """Return a recipe: the latest version, or the one asked for; raises `LogbookError` as :meth:`version` does."""
        return self.version(title, version).recipe

    def version(self, title: str, number: int | None = None) -> Version:
        """Return a version with its number, parent, note and id; the latest unless said.

        Raises `LogbookError` if there is no such title or version, or its content no longer has its id.
        """
        table = tables.versions
        asked = select(table).where(table.c.title == title, table.c.number == number)
        rows = self._rows(self._latest(title) if number is None else asked)
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
        rows = self._rows(self._standing(title).order_by(tables.versions.c.number))
        if not rows:
            raise self._nothing(title, None)
        return [found for row in rows if (found := whole_version(row)) is not None]

    def versions(self, title: str) -> pd.DataFrame:
        """One row a version: version, parent, saved_at, cook, note, dose_g_per_l, liquid_l, id."""
        import pandas as pd

        heads = ["version", "parent", "saved_at", "cook", "note", "dose_g_per_l", "liquid_l", "id"]
        rows = [
            (it.number, it.parent, it.saved_at, it.cook, it.note, it.recipe.dose_g_per_l, it.recipe.liquid_l, it.id)
            for it in self.all_versions(title)
        ]
        return pd.DataFrame(rows, columns=heads).astype({"parent": "Int64"}).set_index("version")

    def branches(self, title: str) -> dict[int, list[Version]]:
        """Versions from which more than one other was made, with those: two cooks may have saved at once."""
        found: dict[int, list[Version]] = {}
        for version in self.all_versions(title):
            if version.parent is not None:
                found.setdefault(version.parent, []).append(version)
        return {parent: children for parent, children in found.items() if len(children) > 1}

    def all_batches(self, title: str | None = None) -> list[Batch]:
        """Batches as they stand now: corrected ones in their last form, taken-back and damaged ones left out; oldest first."""
        table = tables.batches
        query = select(table).where(tables.standing())
        if title is not None:
            query = query.where(table.c.title == title)
        rows = self._rows(query.order_by(table.c.title, table.c.number))
        if not rows and title is not None and not self._rows(self._numbers(title)):
            raise self._nothing(title, None)
        return [found for row in rows if (found := whole_batch(row)) is not None]

    def batches(self, title: str | None = None) -> pd.DataFrame:
        """One row a batch, units in the column names; see :func:`spoonline.pots.batch_table`."""
        from spoonline.pots.table import batch_table

        records = self.all_batches(title)
        recipes = {key: self.version(*key).recipe for key in {(record.title, record.version) for record in records}}
        return batch_table(records, recipes)

    def readings(self, title: str | None = None) -> pd.DataFrame:
        """One row a reading, units in the column names; see :func:`spoonline.pots.readings_table`."""
        from spoonline.pots.table import readings_table

        return readings_table(self.all_batches(title))

    def dish(self, title: str, version: int | None = None) -> Dish:
        """A dish at its latest version, or the one asked for, as every screen and card sees it."""
        from spoonline.dish import Dish

        found = self.version(title, version)
        return Dish(found.recipe, found, tuple(self.all_versions(title)), tuple(self.all_batches(title)))

    def history(self, title: str | None = None, last: int | None = None) -> pd.DataFrame:
        """Who did what and when, oldest first: at, who, what, from_what; of one dish only, and only the last so many, where asked.

        Versions saved and what they came from, batches recorded and what they correct, what was taken back or brought back
        and why, and what else is kept.
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
            did = "took back" if row["hidden"] else "brought back"
            if title is None or title in name:
                events.append((row["at"], "", f"{did} {name}", row["reason"]))
        events.sort(key=operator.itemgetter(0))
        return pd.DataFrame(events[-last:] if last else events, columns=["at", "who", "what", "from_what"])

    def _late(self, table: Table, title: str | None, last: int | None) -> list[RowMapping]:
        """Rows of a table in the order they were kept; only the last so many, and only those of one dish, where asked."""
        query = select(table).order_by(table.c.seq.desc())
        if title is not None:
            query = query.where(table.c.title == title)
        return list(reversed(self._rows(query if last is None else query.limit(last))))

    def damaged(self, titles: Sequence[str] | None = None) -> list[str]:
        """Every record whose content no longer has the id it was kept under, one sentence each; of some dishes only where asked."""
        names = []
        for title in [None] if titles is None else titles:
            pots, recipes = (self._late(table, title, None) for table in (tables.batches, tables.versions))
            names += [f"{row['title']}, version {row['number']}" for row in recipes if whole_version(row) is None]
            names += [f"Batch {row['number']} of {row['title']}" for row in pots if whole_batch(row) is None]
        return [f"{name} is damaged and set apart; restore it from an export." for name in names]

    def _nothing(self, title: str, number: int | None) -> LogbookError:
        """What to say of a title or version that is not there."""
        numbers = [row["number"] for row in self._rows(self._numbers(title))]
        if numbers and number is not None:
            return LogbookError(f"{title!r} has no version {number}; it has {listed(numbers)}.")
        known = self.titles()
        near = difflib.get_close_matches(title, known, n=3, cutoff=0.4)
        if not known:
            return LogbookError(f"There is no recipe {title!r}; this logbook is still empty. Save a recipe first.")
        hint = f"did you mean {listed(near)}?" if near else f"it holds {listed(known[:5])}."
        return LogbookError(f"There is no recipe {title!r} in the logbook {self.name}; {hint}", near)


# Whether a version still has the content of its id; asked once for each content.
intact = lru_cache(maxsize=1024)(Version.intact)


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
