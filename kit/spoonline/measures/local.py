"""How figures are written where the cook lives: decimal point or comma, on screen and on the card."""

from __future__ import annotations

import re

# A point between digits that is no part of a longer run such as a date, a version or an address.
_POINT = re.compile(r"(?<![\d.])(\d+)\.(\d+)(?![\d.]*\d|\.\w)")
_NOW = {"decimal": "."}


def write_decimals_with(mark: str) -> None:
    """Choose the decimal mark for everything shown from now on: ``"."`` or ``","``."""
    if mark not in (".", ","):
        raise ValueError(f"The decimal mark {mark!r} came; choose '.' or ','.")
    _NOW["decimal"] = mark


def decimal_mark() -> str:
    """The mark that is chosen now."""
    return _NOW["decimal"]


def localised(text: str, mark: str | None = None) -> str:
    """Text with its figures in the chosen decimal mark.

    >>> localised("0.35 Pa s (0.29-0.42), see version 2 of 2026-01-08", ",")
    '0,35 Pa s (0,29-0,42), see version 2 of 2026-01-08'
    """
    chosen = _NOW["decimal"] if mark is None else mark
    return text if chosen == "." else _POINT.sub(rf"\1{chosen}\2", text)
