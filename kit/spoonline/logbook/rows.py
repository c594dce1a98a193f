"""Between records and rows: what stands in a column, and the canonical JSON beside it."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from spoonline.measures.errors import LogbookError
from spoonline.recipes import Recipe, Record, Version
from spoonline.recipes.base import json_id
from spoonline.trials.records import Batch

if TYPE_CHECKING:
    from sqlalchemy import RowMapping


def iso(moment: datetime) -> str:
    """A moment as UTC text, equal on both engines."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def canonical(record: Record) -> str:
    """A record as JSON, keys in order."""
    return json.dumps(record.model_dump(mode="json"), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def version_row(version: Version) -> dict[str, Any]:
    """The row of a version."""
    return {
        "title": version.title,
        "number": version.number,
        "parent": version.parent,
        "id": version.id,
        "note": version.note,
        "cook": version.cook,
        "saved_at": iso(version.saved_at),
        "body": canonical(version.recipe),
    }


# What was read and found whole once is not read again: a row that differs in a letter is another key.
@lru_cache(maxsize=1024)
def _version(body: str, *fields: Any) -> Version:
    names = ("title", "number", "parent", "id", "note", "cook", "saved_at")
    return Version(recipe=Recipe(**json.loads(body)), **dict(zip(names, fields, strict=True)))


@lru_cache(maxsize=4096)
def _batch(body: str, identity: str, title: str, number: int, version: int) -> Batch:
    data = json.loads(body)
    beside = (data["id"], data["title"], data["number"], data["version"]) == (identity, title, number, version)
    if not beside or json_id(data | {"id": ""}) != identity:
        raise ValueError("the content is not what was recorded")
    return Batch.model_validate(data, context={"kept": True})  # it was checked when it was kept


def version_of(row: RowMapping) -> Version:
    """The version in a row; a damaged one is named."""
    try:
        return _version(
            *(row[name] for name in ("body", "title", "number", "parent", "id", "note", "cook", "saved_at"))
        )
    except (ValueError, TypeError, KeyError) as err:
        raise LogbookError(
            f"{row['title']}, version {row['number']} is damaged and was set apart; restore it from an export."
        ) from err


def batch_row(batch: Batch) -> dict[str, Any]:
    """The row of a batch."""
    assert batch.recorded_at is not None
    return {
        "title": batch.title,
        "number": batch.number,
        "version": batch.version,
        "id": batch.id,
        "replaces": batch.replaces or None,
        "recorded_at": iso(batch.recorded_at),
        "body": canonical(batch),
    }


def batch_of(row: RowMapping) -> Batch:
    """The batch in a row; a damaged one is named."""
    try:
        return _batch(*(row[name] for name in ("body", "id", "title", "number", "version")))
    except (ValueError, TypeError, KeyError) as err:
        raise LogbookError(
            f"Batch {row['number']} of {row['title']} is damaged and was set apart; restore it from an export."
        ) from err
