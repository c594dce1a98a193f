"""The logbook: versions, batches and what else a kitchen keeps, for good, in one SQLite file or one PostgreSQL database."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, select

from spoonline.logbook import rows, tables
from spoonline.logbook.engine import Where, file_of
from spoonline.logbook.folder import UNFIT, new_folder, read_folder, unfit, write_folder, write_tables
from spoonline.logbook.pictures import Picture, cleaned
from spoonline.logbook.reads import AnyKept, Reads, listed
from spoonline.logbook.store import Store, open_store
from spoonline.measures import takes_quantities
from spoonline.measures.errors import LogbookError, Progress, told_as
from spoonline.pots.records import Batch
from spoonline.recipes import Kept, Recipe, Record, Version, content_id
from spoonline.recipes.base import CONTROL

AnyNumbered = TypeVar("AnyNumbered", Version, Batch)
# What the logbook gives a batch; the rest is what the cook said of it.
GIVEN = ("id", "number", "recorded_at")
# Two pots never agree in every reading and every gram; the same figures within so many seconds are one pot saved twice.
ONE_POT_S = 10


def now() -> datetime:
    """The machine's time, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


@takes_quantities
def open_logbook(
    where: Where, *, clock: Callable[[], datetime] = now, progress: Progress | None = None, create: bool = True
) -> Logbook:  # fmt: skip
    """Open a logbook, creating what is missing.

    Parameters
    ----------
    where : str or path
        A file such as ``"kitchen.sqlite"``, or ``"postgresql+psycopg://user@host/name"``.
    clock : callable, optional
        Where the time of a record comes from; the machine's clock unless said.
    progress : callable, optional
        Called with done, all, and a word for what, while an older logbook is copied before its tables are changed; what it
        raises ends the opening and leaves the logbook as it was.
    create : bool
        Whether a logbook is made where there is none yet.

    Raises
    ------
    LogbookError
        If it is not a logbook, is not there and may not be made, is locked, cannot be written or comes from a newer version.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> book = open_logbook(pathlib.Path(tempfile.mkdtemp()) / "kitchen.sqlite")
    >>> version = book.save(Recipe(title="Mushroom gravy", ingredients=["1 l beef stock", "60 g wheat flour"]))
    >>> version.number, book.recipe("Mushroom gravy").dose_g_per_l
    (1, 60.0)
    >>> book.close()
    """
    return Logbook(open_store(where, progress, create=create), clock)


class Logbook(Reads):
    """Recipes, versions and batches. Made by :func:`open_logbook`; nothing in it is ever overwritten.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> book = open_logbook(pathlib.Path(tempfile.mkdtemp()) / "kitchen.sqlite")
    >>> for stock in ("1 l beef stock", "1.2 l beef stock"):
    ...     version = book.save(Recipe(title="Mushroom gravy", ingredients=[stock, "60 g wheat flour"]))
    >>> list(book.versions("Mushroom gravy").index)
    [1, 2]
    >>> book.close()
    """

    def __init__(self, store: Store, clock: Callable[[], datetime] = now) -> None:
        super().__init__(store)
        self._now, self._closed = clock, False

    def close(self) -> None:
        """Let go of the file or the connection, which closes with the last logbook that has it open here; used again, it opens again."""
        if not self._closed:
            self._closed = True
            self.store.release()

    def save(self, recipe: Recipe, note: str = "", *, cook: str = "", parent: int | None = None) -> Version:
        """Save a recipe as the next version of its title.

        Parameters
        ----------
        recipe : Recipe
        note : str
            What was changed and why.
        cook : str
            Who saves it.
        parent : int, optional
            The version it was made from; the latest one unless said.

        Returns
        -------
        Version
            As saved. If the latest version is the same to the letter, that one is returned and nothing is added.

        Raises
        ------
        LogbookError
            If it cannot be written, or there is no such parent.
        """
        _wanted(recipe, Recipe)
        table, identity, made = tables.versions, content_id(recipe), list[Version]()

        def work(connection: Connection) -> Version:
            for earlier in made:  # a commit whose answer was lost on the way
                row = rows.version_row(earlier)
                same = [table.c[name] == row[name] for name in ("title", "number", "id", "cook", "saved_at")]
                if connection.execute(select(table.c.seq).where(*same)).first():
                    return earlier
            last = connection.execute(self._latest(recipe.title)).mappings().first()
            numbers = list(connection.execute(self._numbers(recipe.title)).scalars())
            if parent is not None and parent not in numbers:
                raise LogbookError(f"{recipe.title!r} has no version {parent} to start from; it has {listed(numbers)}.")
            if last is not None and parent in (None, last["number"]):
                with suppress(rows.SetApartError):
                    if (latest := rows.record_of(Version, last)).recipe == recipe:
                        return latest
            came = parent if parent is not None else last["number"] if last is not None else None
            number = self.store.next_number(connection, "version", recipe.title)
            given = {"id": identity, "number": number, "parent": came, "saved_at": self._now()}
            version = Version(title=recipe.title, note=note, cook=cook, recipe=recipe, **given)
            # A line that was put in since is judged as the version is made, and that is part of what is stored.
            version = version.model_copy(update={"id": content_id(version.recipe)})
            made.append(version)
            tables.insert(connection, table, rows.version_row(version))
            return version

        return self._told("version", self.store.change(work))

    def _told(self, kind: str, record: AnyNumbered) -> AnyNumbered:
        """Remember the number that a cook is told, so that its loss would be noticed."""
        told, key = self.store.told, (kind, record.title)
        told[key] = max(told.get(key, 0), record.number)
        return record

    def record(self, batch: Batch, *, photo: bytes = b"", caption: str = "", again: bool = False) -> Batch:
        """Record a batch, and give it its number, id and time.

        Parameters
        ----------
        batch : Batch
            Of a version that is in the logbook. With ``replaces`` set it corrects an earlier record and keeps its number; see
            :meth:`correct`.
        photo, caption
            A photo of it (a PNG, JPEG or WebP file) and what it shows; kept with the batch or not at all.
        again : bool
            Whether a pot may have every figure of one that was recorded a few seconds ago.

        Raises
        ------
        LogbookError
            If the version or the replaced batch is not in the logbook, the latter was corrected already, the same pot was
            recorded just now, or it cannot be written.
        """
        _wanted(batch, Batch)
        table, made = tables.batches, list[Batch]()
        batch.cooked(self.version(batch.title, batch.version).recipe)
        image = self._photo(batch, photo, caption) if photo else None

        def work(connection: Connection) -> Batch:
            for earlier in made:
                if connection.execute(select(table.c.seq).where(table.c.id == earlier.id)).first():
                    return earlier
            moment = self._now()
            if batch.replaces:
                number = self._corrected(connection, batch)
            else:
                if not again:
                    self._not_twice(connection, batch, moment)
                number = self.store.next_number(connection, "batch", batch.title)
            kept = rows.named_by_content(batch, number=number, recorded_at=moment)
            made.append(kept)
            tables.insert(connection, table, rows.batch_row(kept))
            if image is not None:
                self._attach(connection, kept, *image)
            return kept

        return self._told("batch", self.store.change(work))

    def correct(self, batch: Batch, **fields: Any) -> Batch:
        """Record what was wrong in a batch: other values in some of its fields; the earlier record stays in the history.

        Parameters
        ----------
        batch : Batch
            As it stands in the logbook.
        **fields
            What is different, such as ``left_out="boiled over"``, ``readings=...`` or ``weighed=...``.

        Raises
        ------
        LogbookError
            If the batch was corrected or taken back meanwhile, or it cannot be written.

        Examples
        --------
        >>> import tempfile, pathlib
        >>> book = open_logbook(pathlib.Path(tempfile.mkdtemp()) / "kitchen.sqlite")
        >>> version = book.save(Recipe(title="Gravy", ingredients=["1 l stock", "60 g wheat flour"]))
        >>> pot = book.record(Batch(title="Gravy", version=1, cooked_on="2026-01-15", minutes=30))
        >>> pot = book.correct(pot, left_out="boiled over")
        >>> [(each.number, each.left_out, float(each.minutes)) for each in book.all_batches()]
        [(1, 'boiled over', 30.0)]
        >>> book.close()
        """
        new = batch.changed(**fields | {name: getattr(batch, name) for name in (*GIVEN, "replaces")})
        return batch if new == batch else self.record(new.changed(replaces=batch.id, id="", recorded_at=None))

    def _corrected(self, connection: Connection, batch: Batch) -> int:
        """The number of the record that a batch corrects; refused where that one does not stand any more."""
        table = tables.batches
        old = connection.execute(select(table).where(table.c.id == batch.replaces)).mappings().first()
        if old is None or old["title"] != batch.title:
            raise LogbookError(f"The batch to correct ({batch.replaces[:12]}) is not in this logbook; choose another.")
        stands = select(table.c.seq).where(table.c.id == batch.replaces, tables.standing())
        if connection.execute(stands).first() is None:
            raise LogbookError(
                f"Batch {old['number']} of {old['title']} was corrected or taken back meanwhile; open it again as it stands now, "
                "then correct that. Nothing was saved."
            )
        return int(old["number"])

    def _not_twice(self, connection: Connection, batch: Batch, moment: datetime) -> None:
        """Refuse a pot that has every figure of one recorded a moment ago."""
        if not (batch.readings or batch.weighed or batch.pot_before_g is not None):
            return
        table = tables.batches
        since = rows.iso(moment - timedelta(seconds=ONE_POT_S))
        lately = table.c.title == batch.title, table.c.recorded_at >= since, tables.shown("batch", table.c.id)
        same = json.loads(rows.canonical(batch))
        for row in connection.execute(select(table).where(*lately)).mappings():
            body = json.loads(row["body"])
            if all(body.get(name) == same[name] for name in same if name not in GIVEN):
                raise LogbookError(
                    f"This pot was saved a moment ago as batch {row['number']}, figure for figure; if it really is another one, "
                    "say what differs in its note and save it then."
                )

    def take_back(self, record: Version | Batch | Kept, reason: str = "") -> None:
        """Hide a version or a batch; it stays in the logbook and :meth:`bring_back` shows it again."""
        self._mark(record, 1, reason)

    def bring_back(self, record: Version | Batch | Kept, reason: str = "") -> None:
        """Show again what was taken back."""
        self._mark(record, 0, reason)

    def _mark(self, record: Version | Batch | Kept, hide: int, reason: str) -> None:
        _wanted(record, Version, Batch, Kept)
        if isinstance(record, Version):
            kind, key = "version", f"{record.title}\n{record.number}"
        else:
            kind, key = ("batch" if isinstance(record, Batch) else record.kind), record.id
        row = {"kind": kind, "key": key, "hidden": hide, "reason": CONTROL.sub("", reason), "at": rows.iso(self._now())}

        def work(connection: Connection) -> None:
            tables.insert(connection, tables.hidden, row)
            if isinstance(record, Batch):
                table = tables.batches
                same = table.c.title == record.title, table.c.number == record.number, tables.standing()
                if len(connection.execute(select(table.c.seq).where(*same)).all()) > 1:
                    raise LogbookError(
                        f"Batch {record.number} of {record.title} was corrected otherwise meanwhile; take that correction back first."
                    )

        self.store.change(work)

    def keep(self, record: AnyKept) -> AnyKept:
        """Keep a record, and give it its id and time; it takes the place of the last one with its key, which stays in the history.

        If the one that stands is the same to the letter, that one is returned and nothing is added.
        """
        _wanted(record, Kept)
        plain = rows.named_by_content(record, recorded_at=None).id
        for each in self.kept(type(record)) if record.key else ():
            if rows.named_by_content(each, recorded_at=None).id == plain:
                return each
        made, table = rows.named_by_content(record, recorded_at=self._now()), tables.kept
        if self.store.rows(select(table.c.seq).where(table.c.id == made.id, ~tables.shown(made.kind, table.c.id))):
            self.bring_back(made, "kept again")  # within the second in which it was taken back
        else:
            self.store.change(lambda connection: tables.insert(connection, table, rows.kept_row(made)))
        return made

    def draft(self, form: str, session: str, fields: dict[str, Any]) -> None:
        """Keep what a form holds now, in place of what the same session kept before; nothing typed keeps nothing."""
        table = tables.drafts
        row = {"form": form, "session": session, "body": json.dumps(fields, sort_keys=True)}

        def work(connection: Connection) -> None:
            connection.execute(table.delete().where(table.c.form == form, table.c.session == session))
            if fields:
                connection.execute(table.insert().values(**row, at=rows.iso(self._now())))

        self.store.change(work)

    def attach(self, batch: Batch, data: bytes, caption: str = "") -> Picture:
        """Keep a photo (a PNG, JPEG or WebP file) of a batch as it was recorded.

        Raises `LogbookError` if the batch was not recorded yet, the file is no such photo, or it cannot be written.
        """
        if not batch.id:
            raise LogbookError("The batch was not recorded yet; save it first, then add the photo.")
        stored, picture = self._photo(batch, data, caption)
        return self.store.change(lambda connection: self._attach(connection, batch, stored, picture))

    @staticmethod
    def _photo(batch: Batch, data: bytes, caption: str) -> tuple[bytes, Picture]:
        """A photo as it will be kept, and what is said of it; refused before anything is written."""
        stored, media, width, height = cleaned(data)
        about = {"title": batch.title, "batch": batch.id, "caption": caption, "media": media}
        digest = hashlib.sha256(stored).hexdigest()
        return stored, Picture(sha256=digest, width=width, height=height, **about)

    def _attach(self, connection: Connection, batch: Batch, stored: bytes, picture: Picture) -> Picture:
        table = tables.pictures
        if connection.execute(select(table.c.seq).where(table.c.id == picture.sha256)).first() is None:
            tables.insert(connection, table, {"id": picture.sha256, "media": picture.media, "data": stored})
        made = rows.named_by_content(picture, batch=batch.id, recorded_at=self._now())
        tables.insert(connection, tables.kept, rows.kept_row(made))
        return made

    def export(self, folder: Where, *, names: bool = False, progress: Progress | None = None) -> Path:
        """Write everything, history included, as JSON Lines and CSV with a manifest; see :mod:`spoonline.logbook.folder`.

        Personal names of tasters stay behind unless ``names`` asks for them. An export that lies in the folder already is replaced
        when the new one is whole, and not before. ``progress`` is called with done, all, and a word for what; what it raises ends
        the export.
        """
        with new_folder(Path(folder)) as made, self.store.reading() as connection:
            write_folder(connection, made, names=names, progress=progress)
            write_tables(self, made, progress)
        return Path(folder)

    @staticmethod
    def restore(folder: Where, where: Where) -> Logbook:
        """Make a new logbook from an exported folder, after checking every line against the manifest.

        Raises
        ------
        LogbookError
            If the folder is not an export, was changed, or ``where`` already holds records.
        """
        contents, told = read_folder(file_of(folder))
        book = open_logbook(where)
        try:
            with book.store.writing() as connection, told_as(unfit(file_of(folder)), *UNFIT):
                if held := tables.held(connection):
                    raise LogbookError(f"The logbook {book.name} already holds {listed(held)}; restore into a new one.")
                for table, kept in contents:
                    if kept:
                        connection.execute(table.insert(), kept)
                tables.note_told(connection, told)
        except BaseException:  # an interrupted kernel too: no file stays open
            book.close()
            raise
        return book


def _wanted(record: object, *kinds: type[Record]) -> None:
    """Refuse what is no record of one of these kinds."""
    if not isinstance(record, kinds):
        names = " or ".join(kind.__name__ for kind in kinds)
        raise LogbookError(f"{str(record)[:60]!r} came, a {type(record).__name__}; give a {names}.")
