"""Between records and rows: what stands in a column, the canonical JSON beside it, and what vouches for both."""

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any, TypeVar

from pydantic import ValidationError

from spoonline.measures.errors import LogbookError, told_as
from spoonline.pots.records import Batch
from spoonline.recipes import Kept, Recipe, Record, Version, content_id
from spoonline.recipes.base import json_id

VERSION = ("title", "number", "parent", "id", "note", "cook", "saved_at")
BATCH = ("id", "title", "number", "version", "replaces", "recorded_at")
MOST_KEY = 600  # letters that a database of an earlier release takes
KEPT = ("kind", "title", "key", "id", "recorded_at")
AnyRecord = TypeVar("AnyRecord", bound=Record)


class SetApartError(LogbookError):
    """A record that this release cannot show; it stays in the logbook as it is."""


def iso(moment: datetime) -> str:
    """A moment as UTC text, equal on both engines."""
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="seconds") + "Z"


def plain_json(data: Any) -> str:
    """Data as JSON, keys in order."""
    # A damaged column may hold bytes; they stand for themselves, so that the seal is wrong and nothing stops.
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"), default=repr)


def canonical(record: Record) -> str:
    """A record as JSON, keys in order."""
    return plain_json(record.model_dump(mode="json"))


def named_by_content(record: AnyRecord, **given: Any) -> AnyRecord:
    """The record with what the logbook gives it, and the id of all that."""
    made = record.model_copy(update={"id": "", **given})
    return made.model_copy(update={"id": content_id(made)})


def seal_of(table: str, row: Mapping[Any, Any]) -> str:
    """SHA-256 of a row: of every column but its place, its seal, and the pixels of a photo, which have their own."""
    columns = {name: row[name] for name in row if name not in ("seq", "seal", "data")}
    return hashlib.sha256(plain_json([table, columns]).encode("utf-8", "surrogatepass")).hexdigest()


def vouched(table: str, row: Mapping[Any, Any]) -> bool:
    """Whether the content of a row without a seal is what its id says, and its columns what its content says."""
    try:
        if table == "versions":
            return bool(json_id(json.loads(row["body"])) == row["id"])
        if table in ("batches", "kept"):
            data = json.loads(row["body"])
            # Names of tasters may have stayed behind when it was exported; its id was made with them.
            withheld = row.get("kind") == "session" and data.get("names") == []
            columns = {name: data[name] for name in BATCH} if table == "batches" else {"id": data["id"]}
            same = all((row[name] or "") == value for name, value in columns.items())
            return bool(same and (withheld or json_id(data | {"id": ""}) == row["id"]))
    except (ValueError, TypeError, KeyError, RecursionError):
        return False
    return True


def whole(table: str, row: Mapping[Any, Any]) -> bool:
    """Whether a row is what was kept: by its seal, or by its id where it has none."""
    return vouched(table, row) if row["seal"] is None else row["seal"] == seal_of(table, row)


def version_row(version: Version) -> dict[str, Any]:
    """The row of a version."""
    row = {name: getattr(version, name) for name in VERSION}
    return row | {"saved_at": iso(version.saved_at), "body": canonical(version.recipe)}


def batch_row(batch: Batch) -> dict[str, Any]:
    """The row of a batch."""
    assert batch.recorded_at is not None
    row = {name: getattr(batch, name) for name in BATCH}
    return row | {"replaces": batch.replaces or None, "recorded_at": iso(batch.recorded_at), "body": canonical(batch)}


def kept_row(record: Kept) -> dict[str, Any]:
    """The row of any other record."""
    assert record.recorded_at is not None
    key = record.key if len(record.key) <= MOST_KEY else hashlib.sha256(record.key.encode()).hexdigest()
    row = {"kind": record.kind, "title": getattr(record, "title", ""), "key": key, "id": record.id}
    return row | {"recorded_at": iso(record.recorded_at), "body": canonical(record)}


def name_of(table: str, row: Mapping[Any, Any]) -> str:
    """What the record in a row is called in a sentence."""
    if table == "versions":
        return f"{row['title']}, version {row['number']}"
    if table == "batches":
        return f"Batch {row['number']} of {row['title']}"
    if table == "pictures":
        return f"The photo {str(row['id'])[:12]}"
    if table == "hidden":
        did = "taken back" if row["hidden"] else "brought back"
        return f"What was {did} on {str(row['at'])[:10]} ({row['reason'] or 'no reason said'})"
    of = f" of {row['title']}" if row["title"] else ""
    return f"The {row['kind']}{of} kept on {str(row['recorded_at'])[:10]}"


def _damaged(table: str, row: Mapping[Any, Any]) -> SetApartError:
    return SetApartError(f"{name_of(table, row)} is damaged and was set apart; restore it from an export.")


# What was read and found whole once is not read again: a row that differs in a letter is another key.
@lru_cache(maxsize=4096)
def _read(kind: type[AnyRecord], table: str, names: tuple[str, ...], *values: Any) -> AnyRecord:
    row = dict(zip(names, values, strict=True))
    if not whole(table, row):
        raise _damaged(table, row)
    return parsed(kind, table, row)


def parsed(kind: type[AnyRecord], table: str, row: Mapping[Any, Any]) -> AnyRecord:
    """The record in a row that is known to be whole; see :func:`record_of`."""
    newer = "was written by a newer release of spoonline and is kept as it is"
    with told_as(_damaged(table, row), ValueError, TypeError, RecursionError):
        body = json.loads(row["body"])
        with told_as(SetApartError(f"{name_of(table, row)} {newer}; update spoonline to see it."), ValidationError):
            if kind is Version:
                body = {each: row[each] for each in VERSION} | {"recipe": Recipe.read(body)}
            return kind.read(body)


def record_of(kind: type[AnyRecord], row: Mapping[Any, Any]) -> AnyRecord:
    """The record in a row; `SetApartError`, which names it, where it is damaged or newer than this release."""
    known = {Version: ("versions", VERSION), Batch: ("batches", BATCH)}
    table, columns = known.get(kind, ("kept", KEPT))
    names = (*columns, "body", "seal")
    found = _read(kind, table, names, *(row[each] for each in names))
    assert isinstance(found, kind)
    return found


def look_at(table: str, row: Mapping[Any, Any]) -> None:
    """Raise `SetApartError` where a record cannot be shown; of a kind that may be unknown here, where it is not what was kept."""
    if table != "kept":
        record_of(Version, row) if table == "versions" else record_of(Batch, row)
    elif not whole(table, row):
        raise _damaged(table, row)
