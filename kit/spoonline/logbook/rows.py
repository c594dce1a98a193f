"""Between records and rows: what stands in a column, and the canonical JSON beside it."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from spoonline.measures.errors import LogbookError
from spoonline.recipes import Recipe, Record, Version, content_id
from spoonline.trials.records import Batch

if TYPE_CHECKING:
    from sqlalchemy import RowMapping


def iso(moment: datetime) -> str:
    """A moment as UTC text, equal on both engines."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def canonical(record: Record) -> str:
    """A record as JSON, keys in order."""
    return json.dumps(
        record.model_dump(mode="json"), ensure_ascii=False, sort_keys=True, separators=(",", ":")
    )


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


def version_of(row: RowMapping) -> Version:
    """The version in a row; a damaged one is named."""
    try:
        recipe = Recipe(**json.loads(row["body"]))
        fields = {name: row[name] for name in ("title", "number", "parent", "id", "note", "cook", "saved_at")}
        return Version(recipe=recipe, **fields)
    except (ValueError, TypeError) as err:
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
    said = f"Batch {row['number']} of {row['title']} is damaged and was set apart; restore it from an export."
    try:
        found = Batch(**json.loads(row["body"]))
    except (ValueError, TypeError) as err:
        raise LogbookError(said) from err
    beside = all(getattr(found, name) == row[name] for name in ("id", "title", "number", "version"))
    if not beside or content_id(found.model_copy(update={"id": ""})) != row["id"]:
        raise LogbookError(said)
    return found
