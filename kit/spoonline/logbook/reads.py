"""Reading a logbook: its recipes, versions, batches and other records as they stand, their history, and what is set apart."""

from __future__ import annotations

import difflib
import hashlib
import json
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

from sqlalchemy import RowMapping, Select, Table, exists, func, select

from spoonline.logbook import tables
from spoonline.logbook.pictures import Picture
from spoonline.logbook.rows import AnyRecord, SetApartError, look_at, record_of
from spoonline.logbook.store import Store
from spoonline.measures.errors import LogbookError
from spoonline.pots.records import Batch
from spoonline.recipes import Habits, Kept, Recipe, Version

if TYPE_CHECKING:
    import pandas as pd

    from spoonline.dish import Dish
    from spoonline.dose import DoseCurve
    from spoonline.dose.priors import Prior

# Pots by which the dishes that were cooked last are found, and how many of those with one starch teach it.
LATE_POTS, MOST_DISHES = 400, 20

AnyKept = TypeVar("AnyKept", bound=Kept)


@dataclass(frozen=True)
class Draft:
    """What a form held and nobody saved: for a restarted kernel and a closed tab; never a record, never exported."""

    form: str
    session: str
    at: str
    fields: dict[str, Any]


class Reads:
    """The reading half of a logbook, over its store."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._curves: dict[tuple[str, ...], DoseCurve | None] = {}

    def __repr__(self) -> str:
        """Name the logbook, with any password masked."""
        return f"<Logbook {self.name}>"

    @property
    def name(self) -> str:
        """The file's name, or the address without its password."""
        return self.store.name

    @property
    def where(self) -> str:
        """File or address as it can be opened again, a password included: never shown."""
        return self.store.key

    @property
    def brought_up(self) -> str:
        """What to tell whoever opened an older logbook just now; blank for one of today."""
        copy = self.store.engine.get_execution_options().get("spoonline_copy", "")
        older = "is of an older kind and was brought up to date"
        return f"The logbook {self.name} {older}; as it was it is kept in {copy}." if copy else ""

    @property
    def release(self) -> str:
        """The release of spoonline that wrote in it last; blank where none since 0.1.0 did."""
        rows = self.store.rows(select(tables.about.c.value).where(tables.about.c.name == "release"))
        return str(rows[0]["value"]) if rows else ""

    @property
    def holds(self) -> list[str]:
        """Kinds of which there is a record, hidden ones too."""
        with self.store.reading() as connection:
            return tables.held(connection)

    @property
    def last(self) -> tuple[int, ...]:
        """The place of the last record of each kind, of what was taken back too: another one whenever anybody saved something."""
        with self.store.reading() as connection:
            return tuple(connection.execute(select(func.max(each.c.seq))).scalar() or 0 for each in tables.KINDS)

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
        if self.store.rows(select(tables.hidden.c.seq).where(tables.hidden.c.kind == "version").limit(1)):
            seen = any_.c.title == first.c.title, tables.shown("version", tables.version_key(any_))
            query = query.where(exists().where(*seen))
        return [str(row["title"]) for row in self.store.rows(query)]

    def recipe(self, title: str, version: int | None = None) -> Recipe:
        """Return a recipe: the latest version, or the one asked for; raises `LogbookError` as :meth:`version` does."""
        return self.version(title, version).recipe

    def version(self, title: str, number: int | None = None) -> Version:
        """Return a version with its number, parent, note and id; the latest unless said.

        Raises `LogbookError` if there is no such title or version, if it is damaged, or if only a newer release can show it.
        """
        table = tables.versions
        asked = select(table).where(table.c.title == title, table.c.number == number)
        rows = self.store.rows(self._latest(title) if number is None else asked)
        if not rows:
            raise self._nothing(title, number)
        return record_of(Version, rows[0])

    def all_versions(self, title: str) -> list[Version]:
        """All versions of a title that are not hidden, first to last; one that cannot be shown is set apart (see :meth:`damaged`)."""
        rows = self.store.rows(self._standing(title).order_by(tables.versions.c.number))
        if not rows:
            raise self._nothing(title, None)
        return _readable(Version, rows)

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
        rows = self.store.rows(query.order_by(table.c.title, table.c.number))
        if not rows and title is not None and not self.store.rows(self._numbers(title)):
            raise self._nothing(title, None)
        return _readable(Batch, rows)

    def batches(self, title: str | None = None) -> pd.DataFrame:
        """One row a batch, units in the column names; see :func:`spoonline.pots.batch_table`.

        Of one title also every quantity that went in and every outcome, named with their units in ``.attrs``.
        """
        from spoonline.pots.table import batch_table

        records, recipes = self.all_batches(title), dict[tuple[str, int], Recipe]()
        for key in {(record.title, record.version) for record in records}:
            with suppress(LogbookError):  # its pots cannot be worked out without it; :meth:`damaged` names it
                recipes[key] = self.version(*key).recipe
        standing = [each for each in records if (each.title, each.version) in recipes]
        return batch_table(standing, recipes, outcomes=title is not None)

    def readings(self, title: str | None = None) -> pd.DataFrame:
        """One row a reading, units in the column names; see :func:`spoonline.pots.readings_table`."""
        from spoonline.pots.table import readings_table

        return readings_table(self.all_batches(title))

    def dish(self, title: str, version: int | None = None) -> Dish:
        """A dish at its latest version, or the one asked for, as every screen and card sees it."""
        return self._dish(title, version, partial(self.learned, title))

    def _dish(self, title: str, version: int | None = None, *learned: Callable[[str], Prior]) -> Dish:
        """The dish with what the kitchen's others taught of a starch, or by itself where that is not to be asked."""
        from spoonline.dish import Dish

        found = self.version(title, version)
        return Dish(found.recipe, found, tuple(self.all_versions(title)), tuple(self.all_batches(title)), *learned)

    def learned(self, title: str, thickener: str) -> Prior:
        """What the other dishes of this kitchen have taught of a thickener: the latest that were cooked with it, each with its own pots."""
        from spoonline.dose import kitchen_prior

        curves: list[DoseCurve] = []
        for other, ids in self._lately_cooked().items():
            if other == title or len(curves) == MOST_DISHES:
                continue
            if ids not in self._curves:
                found = self._dish(other).curve
                self._curves[ids] = found.curve if found is not None else None
            curve = self._curves[ids]
            if curve is not None and curve.doses.size and curve.prior.thickener == thickener:
                curves.append(curve)
        return kitchen_prior(reversed(curves), thickener)

    def _lately_cooked(self) -> dict[str, tuple[str, ...]]:
        """Titles with pots, the last cooked first, each with the ids of its records by which its curve is known again."""
        found: dict[str, list[str]] = {}
        table = tables.batches
        pots = select(table.c.title, table.c.id).where(tables.standing()).order_by(table.c.seq.desc())
        for row in self.store.rows(pots.limit(LATE_POTS)):
            found.setdefault(row["title"], []).append(row["id"])
        of_dish = tables.versions.c
        versions = select(of_dish.title, of_dish.id).where(of_dish.title.in_(found)).order_by(of_dish.number)
        for row in self.store.rows(versions):
            found[row["title"]].append(row["id"])
        standing = set(self.titles())
        return {title: tuple(ids) for title, ids in found.items() if title in standing}

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
        known: dict[str, Batch] = {}
        for row in self._late(tables.batches, title, last):
            names[row["id"]] = f"batch {row['number']} of {row['title']}"
            batch = _readable(Batch, [row])
            what = "corrected" if row["replaces"] else "recorded"
            before = f"record {str(row['replaces'])[:12]}" if row["replaces"] else f"version {row['version']}"
            if batch:
                known[row["id"]] = batch[0]
                if row["replaces"] in known:
                    before += f": {known[row['replaces']].changes(batch[0]) or 'a photo'}"
            events.append((row["recorded_at"], batch[0].cook if batch else "", f"{what} {names[row['id']]}", before))
        for row in self._late(tables.kept, title, last):
            names[row["id"]] = f"a {row['kind']}" + (f" of {row['title']}" if row["title"] else "")
            events.append((row["recorded_at"], "", f"kept {names[row['id']]}", ""))
        for row in self._late(tables.hidden, None, last):
            name = names.get(row["key"], str(row["key"]).replace("\n", ", version "))
            name = f"the correction of {name}" if row["key"] in known and known[row["key"]].replaces else name
            did = "took back" if row["hidden"] else "brought back"
            if title is None or title in name:
                events.append((row["at"], "", f"{did} {name}", row["reason"]))
        events.sort(key=lambda event: str(event[0]))
        return pd.DataFrame(events[-last:] if last else events, columns=["at", "who", "what", "from_what"])

    def _late(self, table: Table, title: str | None, last: int | None) -> list[RowMapping]:
        """Rows of a table in the order they were kept; only the last so many, and only those of one dish, where asked."""
        query = select(table).order_by(table.c.seq.desc())
        if title is not None:
            query = query.where(table.c.title == title)
        return list(reversed(self.store.rows(query if last is None else query.limit(last))))

    def damaged(self, titles: Sequence[str] | None = None) -> list[str]:
        """Every record that cannot be shown, one sentence each: damaged, or of a newer release.

        Of some dishes only where asked; what belongs to no dish, drafts too, is under "".
        """
        found = []
        for title in [None] if titles is None else titles:
            for table in (tables.versions, tables.batches, tables.kept):
                for row in self._late(table, title, None):
                    try:
                        look_at(table.name, row)
                    except SetApartError as err:
                        found.append(str(err))
        for row in self.store.rows(select(tables.drafts)) if titles is None or "" in titles else ():
            if row["body"] != "{}" and not _typed(row):
                found.append(
                    f"What was typed into the form {row['form']!r} and not saved is damaged and was set apart."
                )
        return found

    def kept(self, kind: type[AnyKept], title: str | None = None, *, history: bool = False) -> list[AnyKept]:
        """Records of one kind as they stand now, oldest first; ``history`` gives every one that was ever kept.

        One that cannot be shown is set apart; :meth:`damaged` names it.
        """
        table = tables.kept
        query = select(table).where(table.c.kind == kind.kind).order_by(table.c.seq)
        if title is not None:
            query = query.where(table.c.title == title)
        if not history:
            query = query.where(tables.shown(kind.kind, table.c.id))
        found: dict[str, AnyKept] = {}
        for row in self.store.rows(query):
            for record in _readable(kind, [row]):
                key = row["id"] if history or not row["key"] else row["key"]
                found.pop(key, None)
                found[key] = record
        return list(found.values())

    @property
    def habits(self) -> Habits:
        """How this kitchen writes: what was kept last, else US spoons and a decimal point."""
        kept = self.kept(Habits)
        return kept[-1] if kept else Habits()

    def drafts(self, form: str) -> list[Draft]:
        """What was typed into a form and not saved, the latest first."""
        table = tables.drafts
        rows = self.store.rows(select(table).where(table.c.form == form).order_by(table.c.at.desc()))
        return [Draft(row["form"], row["session"], row["at"], fields) for row in rows if (fields := _typed(row))]

    def batch_numbers(self, title: str) -> dict[str, int]:
        """The number of every record of a batch that stands, by id; records that were corrected lead to the same batch."""
        table, standing = tables.batches, {batch.number for batch in self.all_batches(title)}
        rows = self.store.rows(select(table.c.id, table.c.number).where(table.c.title == title))
        return {row["id"]: row["number"] for row in rows if row["number"] in standing}

    def pictures(self, title: str, batch: Batch | None = None) -> list[Picture]:
        """Photos of a dish, or of one of its batches, oldest first; those of a record that a batch corrects are its own."""
        found = self.kept(Picture, title)
        if batch is None:
            return found
        numbers = self.batch_numbers(title)
        return [each for each in found if numbers.get(each.batch) == batch.number]

    def picture_data(self, picture: Picture) -> bytes:
        """The stored file of a photo; raises `LogbookError` if it is not there, or is damaged."""
        table = tables.pictures
        rows = self.store.rows(select(table.c.data).where(table.c.id == picture.sha256))
        if not rows or hashlib.sha256(bytes(rows[0]["data"])).hexdigest() != picture.sha256:
            raise LogbookError("The photo is missing or damaged; restore it from a backup, or add it again.")
        return bytes(rows[0]["data"])

    def _nothing(self, title: str, number: int | None) -> LogbookError:
        """What to say of a title or version that is not there."""
        numbers = [row["number"] for row in self.store.rows(self._numbers(title))]
        if numbers and number is not None:
            return LogbookError(f"{title!r} has no version {number}; it has {listed(numbers)}.")
        known = self.titles()
        near = difflib.get_close_matches(title, known, n=3, cutoff=0.4)
        if not known:
            return LogbookError(f"There is no recipe {title!r}; this logbook is still empty. Save a recipe first.")
        hint = f"did you mean {listed(near)}?" if near else f"it holds {listed(known[:5])}."
        return LogbookError(f"There is no recipe {title!r} in the logbook {self.name}; {hint}", near)


def _readable(kind: type[AnyRecord], rows: Sequence[RowMapping]) -> list[AnyRecord]:
    """The records in rows, without those that cannot be shown."""
    found = []
    for row in rows:
        with suppress(SetApartError):
            found.append(record_of(kind, row))
    return found


def _typed(row: RowMapping) -> dict[str, Any]:
    """What a draft holds; nothing where it is damaged."""
    with suppress(ValueError, TypeError, RecursionError):
        fields, _ = json.loads(row["body"]), datetime.fromisoformat(row["at"])
        return fields if isinstance(fields, dict) else {}
    return {}


def listed(values: Sequence[object]) -> str:
    """Values in a sentence."""
    return ", ".join(repr(value) if isinstance(value, str) else str(value) for value in values) or "none"
