"""Reading a logbook: its recipes, versions, batches and other records as they stand, their history, and what is set apart."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from itertools import islice
from typing import TYPE_CHECKING, Any, TypeVar

from sqlalchemy import RowMapping, Select, Table, exists, func, select

from spoonline.logbook import tables
from spoonline.logbook.pictures import Picture, intact
from spoonline.logbook.rows import AnyRecord, SetApartError, look_at, plain_json, record_of
from spoonline.logbook.store import Store
from spoonline.measures.errors import LogbookError
from spoonline.pots.records import Batch
from spoonline.recipes import Habits, Kept, Recipe, Version

if TYPE_CHECKING:
    import pandas as pd

    from spoonline.dish import Dish
    from spoonline.dose.priors import Prior

# A dish is worked out from so many of its pots, those that were cooked last; tables, exports and the check have all of them.
MOST_POTS = 200
# Pots by which the dishes that were cooked last are found; how many of those with one starch teach it, and by how many of the last pots
# of each.
LATE_POTS, MOST_DISHES, TAUGHT_BY = 400, 20, 20
# Batches of which a table of all is made at once.
PIECE = 1000
# Dishes that are kept worked out for as long as their records stay the same.
KEPT_DISHES = 40
COOKED_ON = re.compile(r'"cooked_on":"([0-9-]+)')

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
        self._dishes: dict[tuple[object, ...], Dish] = {}

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

    def cooked_in(self, pan: str) -> list[Batch]:
        """The last pots of any dish that were cooked in a pan whose name begins so, the latest first."""
        table = tables.batches
        named = table.c.body.contains(f'"pan":{plain_json(pan)[:-1]}', autoescape=True)
        query = select(table).where(named, tables.standing()).order_by(table.c.seq.desc()).limit(LATE_POTS)
        return [each for each in _readable(Batch, self.store.rows(query)) if each.pan.startswith(pan)]

    def batches(self, title: str | None = None, *, pots: int | None = None) -> pd.DataFrame:
        """One row a batch, units in the column names; see :func:`spoonline.pots.batch_table`.

        Of one title also every quantity that went in and every outcome, named with their units in ``.attrs``; of so many of its last
        ``pots`` where that is given, as a screen shows them.
        """
        records = self._last_pots(title, pots)[0] if pots and title else self.all_batches(title)
        return self._table(records, outcomes=title is not None)

    def _table(self, records: Sequence[Batch], *, outcomes: bool = False) -> pd.DataFrame:
        """The frame of some batches."""
        from spoonline.pots.table import batch_table

        table = tables.versions
        query = select(table).where(table.c.title.in_({each.title for each in records}))
        # without its version a pot cannot be worked out; :meth:`damaged` names it
        recipes = {(each.title, each.number): each.recipe for each in _readable(Version, self.store.rows(query))}
        standing = [each for each in records if (each.title, each.version) in recipes]
        return batch_table(standing, recipes, outcomes=outcomes)

    def pieces(self) -> Iterator[list[Batch]]:
        """All batches as :meth:`all_batches` gives them, dish by dish, some thousand at a time; one piece at least."""
        table = tables.batches
        piece: list[Batch] = []
        for row in self.store.rows(select(table.c.title).distinct().order_by(table.c.title)):
            if len(piece) >= PIECE:
                yield piece
                piece = []
            piece += self.all_batches(row["title"])
        yield piece

    def tables(self) -> Iterator[tuple[str, pd.DataFrame]]:
        """Recipes, batches and readings as they stand, piece by piece, each with the name of its table."""
        import pandas as pd

        from spoonline.pots.table import readings_table

        each = [self.versions(title).reset_index().assign(title=title) for title in self.titles()]
        yield "versions", pd.concat(each, ignore_index=True) if each else pd.DataFrame()
        for piece in self.pieces():
            yield "batches", self._table(piece)
            yield "readings", readings_table(piece)

    def readings(self, title: str | None = None) -> pd.DataFrame:
        """One row a reading, units in the column names; see :func:`spoonline.pots.readings_table`."""
        from spoonline.pots.table import readings_table

        return readings_table(self.all_batches(title))

    def dish(self, title: str, version: int | None = None, *, pots: int = MOST_POTS) -> Dish:
        """A dish at its latest version, or the one asked for, as every screen and card sees it: worked out from so many of its last pots,
        and where its curve is asked for from what the kitchen's others taught."""
        return self._dish(title, version, pots, self.last)

    def _dish(self, title: str, version: int | None, pots: int, asked: tuple[int, ...] = ()) -> Dish:
        """The dish with what the kitchen's others taught of a starch when the logbook was at the place ``asked``, or by itself.

        Its records are read each time; while they are the very same, it is the same dish, with all that was worked out of it.
        """
        from spoonline.dish import Dish

        found, versions = self.version(title, version), tuple(self.all_versions(title))
        batches, of = self._last_pots(title, pots)
        kitchen = partial(self.learned, title) if asked else None
        made, key = Dish(found.recipe, found, versions, batches, kitchen, of), (title, found.number, pots, asked)
        known = self._dishes.pop(key, made)
        held = [[id(each) for each in (dish.version, *dish.versions, *dish.batches)] for dish in (known, made)]
        self._dishes[key] = made = known if held[0] == held[1] and known.of == of else made
        if len(self._dishes) > KEPT_DISHES:
            self._dishes.pop(next(iter(self._dishes)), None)
        return made

    def _last_pots(self, title: str, most: int) -> tuple[tuple[Batch, ...], int]:
        """The pots of a dish that were cooked last, as :meth:`all_batches` gives them, and how many stand."""
        table = tables.batches
        rows = self.store.rows(select(table).where(table.c.title == title, tables.standing()).order_by(table.c.number))
        last = sorted(range(len(rows)), key=lambda place: _cooked_on(rows[place]))[-most:]
        found = _readable(Batch, [rows[place] for place in sorted(last)])
        return tuple(found), len(rows) if len(rows) > most else len(found)

    def learned(self, title: str, thickener: str) -> Prior:
        """What the other dishes of this kitchen have taught of a thickener: the latest that were cooked with it, each with its own pots."""
        from spoonline.dose import kitchen_prior

        with self.store.reading():
            found = (dish.curve for dish in self._others(title, TAUGHT_BY, thickener))
            curves = (each.curve for each in found if each is not None)
            taught = (each for each in curves if each.doses.size and each.prior.thickener == thickener)
            last = [*islice(taught, MOST_DISHES)]
        return kitchen_prior(reversed(last), thickener)

    def repeated(self, title: str) -> Iterator[list[float]]:
        """What the last pots of each version of this kitchen's other dishes read [Pa s], by which pots differ; the last cooked first."""
        pots = 0
        for dish in self._others(title, MOST_POTS):
            yield from dish.viscosities.values()
            pots += len(dish.batches)
            if pots >= MOST_POTS:
                break

    def _others(self, title: str, pots: int, thickener: str = "") -> Iterator[Dish]:
        """The other dishes, of one thickener where it is named, the last cooked first, each with so many of its last pots."""
        for other in self._lately_cooked(title):
            with suppress(SetApartError):  # a damaged one teaches nothing
                if thickener in ("", self.recipe(other).main_thickener):
                    yield self._dish(other, None, pots)

    def _lately_cooked(self, title: str) -> list[str]:
        """Titles with pots but for this one, the last cooked first."""
        table, standing = tables.batches, set(self.titles()) - {title}
        pots = select(table.c.title).where(tables.standing()).order_by(table.c.seq.desc()).limit(LATE_POTS)
        return [each for each in dict.fromkeys(row["title"] for row in self.store.rows(pots)) if each in standing]

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
        table = tables.batches
        rows = self.store.rows(select(table.c.id, table.c.number).where(table.c.title == title))
        stands = self.store.rows(select(table.c.number).where(table.c.title == title, tables.standing()))
        standing = {row["number"] for row in stands}
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
        rows = self.store.rows(select(table).where(table.c.id == picture.sha256))
        if not rows or not intact(rows[0]):
            raise LogbookError("The photo is missing or damaged; restore it from a backup, or add it again.")
        return bytes(rows[0]["data"])

    def _nothing(self, title: str, number: int | None) -> LogbookError:
        """What to say of a title or version that is not there."""
        numbers = [row["number"] for row in self.store.rows(self._numbers(title))]
        if numbers and number is not None:
            return LogbookError(f"{title!r} has no version {number}; it has {listed(numbers)}.")
        known = self.titles()
        near = difflib.get_close_matches(str(title), known, n=3, cutoff=0.4)
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


def _cooked_on(row: RowMapping) -> str:
    """The day of a batch, without reading the rest of its record; blank where it is damaged."""
    found = COOKED_ON.search(str(row["body"]))
    return found[1] if found else ""


def _typed(row: RowMapping) -> dict[str, Any]:
    """What a draft holds; nothing where it is damaged."""
    with suppress(ValueError, TypeError, RecursionError):
        fields, _ = json.loads(row["body"]), datetime.fromisoformat(row["at"])
        return fields if isinstance(fields, dict) else {}
    return {}


def listed(values: Sequence[object]) -> str:
    """Values in a sentence."""
    return ", ".join(repr(value) if isinstance(value, str) else str(value) for value in values) or "none"
