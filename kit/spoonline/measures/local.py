"""How figures are written where the cook lives: decimal point or comma, on screen, on the card and when they are read."""

import re
from collections.abc import Callable
from contextvars import ContextVar
from functools import lru_cache, wraps
from typing import Any, TypeVar

F = TypeVar("F", bound=Callable[..., Any])
# A point between digits that is no part of a longer run such as a date, a version or an address.
_POINT = re.compile(r"(?<![\d.])(\d+)\.(\d+)(?![\d.]*\d|\.\w)")
# Of one context, so that two kitchens in one process do not mix; a notebook's cells and forms share theirs.
_MARK = ContextVar("decimal mark", default=".")


def write_decimals_with(mark: str) -> None:
    """Choose the decimal mark for everything shown and read from now on, in this context: ``"."`` or ``","``."""
    if mark not in (".", ","):
        raise ValueError(f"The decimal mark {mark!r} came; choose '.' or ','.")
    _MARK.set(mark)


def decimal_mark() -> str:
    """The mark that is chosen now."""
    return _MARK.get()


def localised(text: str, mark: str | None = None) -> str:
    """Text with its figures in the chosen decimal mark.

    >>> localised("0.35 Pa s (0.29-0.42), see version 2 of 2026-01-08", ",")
    '0,35 Pa s (0,29-0,42), see version 2 of 2026-01-08'
    """
    chosen = mark or decimal_mark()
    return text if chosen == "." else _POINT.sub(rf"\1{chosen}\2", text)


def cached_by_mark(read: F) -> F:
    """Keep what a reader made of a text, by system of measures and decimal mark; the mark of the context where none is given."""
    kept = lru_cache(maxsize=4096)(read)

    @wraps(read)
    def door(text: str, system: str = "us", decimal: str | None = None) -> Any:
        return kept(text, system, decimal or decimal_mark())

    door.cache_clear = kept.cache_clear  # type: ignore[attr-defined]  # a function may carry a further name
    return door  # type: ignore[return-value]  # the same signature as the reader's
