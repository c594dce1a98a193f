"""A logbook as a folder of readable files: JSON Lines for each kind, tables for a spreadsheet, and a manifest with counts and SHA-256."""

from __future__ import annotations

import hashlib
import json
import re
import secrets
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from glob import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Column, Connection, RowMapping, Select, Table, func, inspect, select
from sqlalchemy.exc import DataError, IntegrityError, InterfaceError, ProgrammingError

from spoonline import __version__
from spoonline.logbook import tables
from spoonline.logbook.engine import file_of
from spoonline.logbook.pictures import intact
from spoonline.logbook.rows import plain_json, seal_of, vouched
from spoonline.measures.errors import LogbookError, Progress, told_as
from spoonline.measures.files import content_of

if TYPE_CHECKING:
    from spoonline.logbook.logbook import Logbook

KINDS = tuple(table for table in tables.KINDS if table is not tables.pictures)
FORMAT = "spoonline logbook"
PHOTOS = "photos"
# An export that nothing was added to for so long [s] is not being written any more.
LEFT_S = 600
# What an export holds, and nothing else that a later one may replace.
OURS = re.compile(
    rf"manifest\.json|(versions|batches|readings)\.csv|{PHOTOS}|\w+\.jsonl|[0-9a-f]{{64}}\.(png|jpeg|webp)"
)
# What a database says of rows that no logbook holds.
UNFIT = (IntegrityError, DataError, ProgrammingError, InterfaceError, UnicodeError, OverflowError)


@contextmanager
def new_folder(folder: Path) -> Iterator[Path]:
    """A folder to write an export into; it takes the place of an earlier export only when it is whole.

    Raises `LogbookError` if the folder holds anything but an export, or cannot be written; what was there stays then.
    """
    folder = file_of(folder)
    part = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.part")
    before = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.before")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        _clear_away(folder)
        if folder.exists():
            strange = [
                path.name for path in [*folder.iterdir(), *folder.glob(f"{PHOTOS}/*")] if not OURS.fullmatch(path.name)
            ]
            if some := ", ".join(strange[:3]):
                raise LogbookError(f"The folder {folder.name} holds other files ({some}); choose an empty one.")
        part.mkdir(mode=0o700)
        yield part
        if folder.exists():
            part.chmod(folder.stat().st_mode)
            folder.rename(before)
        part.rename(folder)
    except OSError as err:
        raise LogbookError(f"The folder {folder.name} could not be written ({err.strerror}); choose another.") from err
    finally:
        if before.exists():  # half thrown away, it must not come back as what stood there
            before = before.rename(before.with_suffix(".part") if folder.exists() else folder)
        for left in {part, before} - {folder}:
            shutil.rmtree(left, ignore_errors=True)


def _clear_away(folder: Path) -> None:
    """What exports that were killed left beside a folder: what stood there goes back where nothing does, what was begun is removed."""
    eight = "[0-9a-f]" * 8  # of this folder, not of one whose name goes on
    for left in folder.parent.glob(f".{escape(folder.name)}.{eight}.*"):
        with suppress(FileNotFoundError):  # another export may have put it in its place meanwhile
            if left.suffix == ".before" and not folder.exists():
                left.rename(folder)
            elif left.suffix in (".before", ".part") and time.time() - left.stat().st_mtime > LEFT_S:
                shutil.rmtree(left, ignore_errors=True)


def write_folder(
    connection: Connection, folder: Path, *, names: bool = False, schema: int = tables.LATEST, progress: Progress | None = None
) -> None:  # fmt: skip
    """Write one ``.jsonl`` file a kind, the photos, and ``manifest.json`` into a new folder.

    ``names`` says whether the personal names of tasters go with it; tables of an older ``schema`` lack the later kinds.
    """
    found = inspect(connection)
    there = set(found.get_table_names())
    files: dict[str, dict[str, Any]] = {}
    for table in (each for each in KINDS if each.name in there):
        columns = {column["name"] for column in found.get_columns(table.name)}
        query = select(*(column for column in table.c if column.name in columns)).order_by(table.c.seq)
        count = connection.execute(select(func.count()).select_from(table)).scalar_one()
        path, digest = folder / f"{table.name}.jsonl", hashlib.sha256()
        with path.open("xb") as file:
            for done, row in enumerate(_by_and_by(connection, query, table.c.seq), start=1):
                line = f"{_line(table, dict(row), names)}\n".encode()
                file.write(line)
                digest.update(line)
                if progress is not None and (done % 500 == 0 or done == count):
                    progress(done, count, table.name)
        files[path.name] = {"lines": count, "sha256": digest.hexdigest()}
    if tables.pictures.name in there:
        files |= _write_photos(connection, folder)
    manifest = {"format": FORMAT, "schema": schema, "release": __version__, "files": files}
    if tables.told.name in there:
        query = select(tables.told).order_by(tables.told.c.kind, tables.told.c.title)
        manifest["told"] = [list(row) for row in connection.execute(query)]
    (folder / "manifest.json").write_text(json.dumps(manifest, indent=1, sort_keys=True) + "\n", encoding="utf-8")


def _by_and_by(connection: Connection, query: Select[Any], seq: Column[int]) -> Iterator[RowMapping]:
    """The rows of a query in order, some hundred read at a time."""
    after: int | None = None  # a damaged logbook may count from below nought
    while (
        rows := connection.execute((query if after is None else query.where(seq > after)).limit(500)).mappings().all()
    ):
        yield from rows
        after = rows[-1]["seq"]


def _write_photos(connection: Connection, folder: Path) -> dict[str, dict[str, Any]]:
    """One file a photo, named by its content; what is no photo of ours could name any file, and stays where it is."""
    files = {}
    table = tables.pictures
    rows = connection.execute(select(table.c.id, table.c.media, table.c.data).order_by(table.c.seq)).mappings()
    for row in filter(intact, rows):
        (folder / PHOTOS).mkdir(exist_ok=True)
        name = f"{PHOTOS}/{row['id']}.{row['media'].removeprefix('image/')}"
        (folder / name).write_bytes(row["data"])
        files[name] = {"sha256": row["id"], "media": row["media"]}
    return files


def _line(table: Table, row: dict[str, Any], names: bool) -> str:
    row.pop("seq")
    if "body" in row:
        row["body"] = _body(row["body"])
        if not names and isinstance(row["body"], dict) and row["body"].get("names"):
            row["body"]["names"] = []
            if row.get("seal"):
                row["seal"] = seal_of(table.name, row | {"body": plain_json(row["body"])})
    return plain_json(row)


def _body(text: str) -> Any:
    """A record as data; a damaged one goes along as the text that it is."""
    try:
        data = json.loads(text)
        return data if plain_json(data) == text else text
    except (ValueError, TypeError, RecursionError):
        return text


def _checked(folder: Path, name: str, sha256: str | None) -> bytes:
    """The content of a file that has the fingerprint which the manifest gives it."""
    with told_as(LogbookError(f"The export {folder.name!r} lacks {name}; copy the whole folder again."), OSError):
        data = content_of(folder / name)
    if not name.startswith(f"{PHOTOS}/"):
        data = data.replace(b"\r\n", b"\n")  # a copy may have taken on the line ends of its machine
    if hashlib.sha256(data).hexdigest() != sha256:
        raise LogbookError(f"{name} in {folder.name!r} was changed after the export; restore from an unchanged copy.")
    return data


def unfit(folder: Path) -> LogbookError:
    """What to say of an export that cannot be a logbook."""
    return LogbookError(f"The export {folder.name[:60]!r} is not whole; restore from an unchanged copy.")


def read_folder(folder: Path) -> tuple[list[tuple[Table, list[dict[str, Any]]]], list[tuple[str, str, int]]]:
    """Read an exported folder back, every file checked against the manifest: the rows of each kind, and the highest numbers told."""
    with told_as(unfit(folder), ValueError, TypeError, KeyError, AttributeError, RecursionError, OverflowError):
        return _read_folder(folder)


def _read_folder(folder: Path) -> tuple[list[tuple[Table, list[dict[str, Any]]]], list[tuple[str, str, int]]]:
    none = f"{folder.name!r} is not an exported logbook: it has no readable manifest.json."
    with told_as(LogbookError(none), OSError, ValueError):
        manifest = json.loads(content_of(folder / "manifest.json"))
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise LogbookError(f"{folder.name!r} is not an exported logbook: its manifest names another format.")
    if int(manifest.get("schema", 0)) > tables.LATEST:
        raise LogbookError(f"{folder.name!r} was exported by a newer spoonline; update spoonline and restore again.")
    contents, photos = [], []
    for table in KINDS:
        name = f"{table.name}.jsonl"
        if name not in manifest["files"] and int(manifest.get("schema", 0)) < tables.LATEST:
            continue  # an export from before this kind was kept
        lines = _checked(folder, name, manifest["files"].get(name, {}).get("sha256")).splitlines()
        rows = [json.loads(line) for line in lines]
        contents.append((table, [_row(table, row) for row in rows]))
    for name, said in manifest["files"].items():
        if name.startswith(f"{PHOTOS}/"):
            data = _checked(folder, f"{PHOTOS}/{Path(name).name}", said.get("sha256"))
            row = {"id": said["sha256"], "media": said.get("media", "")}
            photos.append(row | {"data": data, "seal": seal_of("pictures", row)})
    counts = [(tables.ROWS, table.name, len(rows)) for table, rows in [*contents, (tables.pictures, photos)]]
    told = [(str(kind), str(title), int(number)) for kind, title, number in manifest.get("told", counts)]
    for kind, counted in (("version", tables.versions), ("batch", tables.batches)) if "told" not in manifest else ():
        most: dict[str, int] = {}
        for row in next((rows for table, rows in contents if table is counted), []):
            most[row["title"]] = max(most.get(row["title"], 0), row["number"])
        told += [(kind, title, number) for title, number in most.items()]
    return [*contents, (tables.pictures, photos)], told


def _row(table: Table, row: dict[str, Any]) -> dict[str, Any]:
    """A row as it was kept; one of an older release gets its seal where its content is what its id says."""
    if not isinstance(row.get("body", ""), str):
        row = row | {"body": plain_json(row["body"])}
    return row if "seal" in row else row | {"seal": seal_of(table.name, row) if vouched(table.name, row) else None}


# What begins so, at the front of a cell or where a reader with another delimiter begins a new one, is a formula to a spreadsheet;
# marks without width and full-width signs do not hide it. An apostrophe before it makes it text.
FORMULA = re.compile(
    r"(^|[;|\t\r\n])(?=[\s\x00-\x1f\xad\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff]*[=+\-@\uff1d\uff0b\uff0d\uff20])"
)


def harmless(value: object) -> object:
    """A cell as it may stand in a spreadsheet file.

    >>> harmless("=1+1"), harmless(-3), harmless("-3 g"), harmless("salt;=1+1")
    ("'=1+1", -3, "'-3 g", "salt;'=1+1")
    """
    return FORMULA.sub(r"\1'", value) if isinstance(value, str) else value


def write_tables(book: Logbook, folder: Path, progress: Progress | None = None) -> None:
    """Write recipes, batches and readings as they stand as CSV files (UTF-8, comma), a piece at a time."""
    done, of = 0, len(book.titles())
    for name, table in book.tables():
        path = folder / f"{name}.csv"
        table.map(harmless).to_csv(path, mode="a", index=False, header=not path.exists(), lineterminator="\n")
        if progress is not None:
            done += table["title"].nunique() if name == "readings" else 0
            progress(done, max(done, of), "dishes as tables")
    if progress is not None:
        progress(of, of, "dishes as tables")
