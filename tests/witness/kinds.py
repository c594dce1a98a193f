"""What each case of a table stands on, where the table says it beside each figure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

SAID = {"common practice": "practice", "memory": "memory", "computed": "computed"}


def by_source(rows: Iterable[tuple[Any, ...]]) -> list[Any]:
    """The rows as cases, each of the kind that its last column, its source, says; one that says none was published and read."""
    return [
        pytest.param(
            *row, marks=pytest.mark.kind(next((SAID[each] for each in SAID if each in str(row[-1])), "published"))
        )
        for row in rows
    ]
