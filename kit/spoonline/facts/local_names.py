"""What an ingredient is called in a US and in a UK kitchen."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from spoonline.facts.rows import find, read_table
from spoonline.measures.errors import ItemError


@cache
def _names() -> Mapping[str, Mapping[str, str]]:
    return {row["name"]: row for row in read_table("names.csv")}


def local_name(item: str, spelling: str = "") -> str:
    """The item as a "us" or "uk" kitchen calls it; as it was written where they call it the same, or no spelling is asked for.

    Source: common practice, no source. Only names are changed, never the ingredient; each reads back as the same row.

    >>> local_name("corn starch", "uk"), local_name("courgettes", "us"), local_name("parsnips", "us")
    ('cornflour', 'zucchini', 'parsnips')
    """
    if spelling not in ("", "us", "uk"):
        raise ItemError(f"There is no spelling {spelling!r}; choose us or uk, or nothing to leave it as written.")
    try:
        row = find(item) if spelling else None
    except ItemError:
        row = None
    return _names()[row[0]][spelling] if row and row[0] in _names() else item
