"""Between records and rows: what stands in a column, and the canonical JSON beside it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any, TypeVar

from sqlalchemy import RowMapping

from spoonline.measures.errors import LogbookError
from spoonline.pots.records import Batch
from spoonline.recipes import Recipe, Record, Version, content_id
from spoonline.recipes.base import json_id

VERSION = ("title", "number", "parent", "id", "note", "cook", "saved_at")
BATCH = ("id", "title", "number", "version")
Kind = TypeVar("Kind", bound=Record)


def iso(moment: datetime) -> str:
    """A moment as UTC text, equal on both engines."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def plain_json(data: Any) -> str:
    """Data as JSON, keys in order."""
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def canonical(record: Record) -> str:
    """A record as JSON, keys in order."""
    return plain_json(record.model_dump(mode="json"))


def named_by_content(record: Kind, **given: Any) -> Kind:
    """The record with what the logbook gives it, and the id of all that."""
    made = record.model_copy(update={"id": "", **given})
    return made.model_copy(update={"id": content_id(made)})


def version_row(version: Version) -> dict[str, Any]:
    """The row of a version."""
    row = {name: getattr(version, name) for name in VERSION}
    return row | {"saved_at": iso(version.saved_at), "body": canonical(version.recipe)}


def batch_row(batch: Batch) -> dict[str, Any]:
    """The row of a batch."""
    assert batch.recorded_at is not None
    row = {name: getattr(batch, name) for name in BATCH}
    return row | {"replaces": batch.replaces or None, "recorded_at": iso(batch.recorded_at), "body": canonical(batch)}


# What was read and found whole once is not read again: a row that differs in a letter is another key.
@lru_cache(maxsize=1024)
def _version(body: str, *fields: Any) -> Version:
    return Version(recipe=Recipe(**json.loads(body)), **dict(zip(VERSION, fields, strict=True)))


@lru_cache(maxsize=4096)
def _batch(body: str, *fields: Any) -> Batch:
    data = json.loads(body)
    if tuple(data[name] for name in BATCH) != fields or json_id(data | {"id": ""}) != fields[0]:
        raise ValueError("the content is not what was recorded")
    return Batch.model_validate(data, context={"kept": True})  # its sense was checked when it was kept


@contextmanager
def damage_named(name: str) -> Iterator[None]:
    """Say of what cannot be read back which record it is."""
    try:
        yield
    except (ValueError, TypeError, KeyError) as err:
        raise LogbookError(f"{name} is damaged and was set apart; restore it from an export.") from err


def version_of(row: RowMapping) -> Version:
    """The version in a row; a damaged one is named."""
    with damage_named(f"{row['title']}, version {row['number']}"):
        return _version(row["body"], *(row[name] for name in VERSION))


def batch_of(row: RowMapping) -> Batch:
    """The batch in a row; a damaged one is named."""
    with damage_named(f"Batch {row['number']} of {row['title']}"):
        return _batch(row["body"], *(row[name] for name in BATCH))
