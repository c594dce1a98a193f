"""Every error that spoonline raises on purpose.

The tree, whole::

    ValueError
    └── KitchenError            what came, what is wanted, what to do next, in one sentence
        ├── AmountError         an amount or a unit that could not be read
        ├── ItemError           an ingredient, thickener or tool with no figures, or with several
        ├── ReadingError        a thickness reading that this tool cannot give
        ├── RecipeError         a recipe or version that does not hold together
        ├── BatchError          a batch that does not hold together
        ├── LogbookError        a logbook that cannot be opened, read or written
        └── Stopped             what a progress callback raises to end long work

Nobody needs more than ``except ValueError``; the branches let a form show the sentence beside the right field.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, TypeVar

T = TypeVar("T")
# How long work says how far it is: the number done, the number of all, and a word for what.
Progress = Callable[[int, int, str], object]
MOST_SAID = 800  # letters of a sentence


class KitchenError(ValueError):
    """One sentence for a person: what came, what is wanted, what to do next.

    ``data`` is what it is about (a line, a value, a list of near names), for a form that wants to show it.

    Examples
    --------
    >>> from spoonline.facts import grams
    >>> try:
    ...     grams("1.250 g", "wheat flour")
    ... except KitchenError as err:
    ...     print(err)
    '1.250' g: thousands or decimals? Write 1250 g, or 1.25 g.
    """

    def __init__(self, message: str, data: Any = None) -> None:
        # What came may be a whole page; how the sentence begins and ends says what was wrong and what to do.
        short = f"{message[: MOST_SAID // 2]} [...] {message[-MOST_SAID // 2 :]}"
        super().__init__(message if len(message) <= MOST_SAID else short)
        self.data = data

    def _render_traceback_(self) -> list[str]:
        """In a notebook the sentence stands alone, without the lines of code that led to it."""
        return [str(self)]


def as_said(value: object) -> str:
    """What came, as a person writes it: a word in quotes, figures without the name of their type.

    >>> from decimal import Decimal
    >>> as_said("soon"), as_said(Decimal("142")), as_said([Decimal("1.5"), None])
    ("'soon'", '142', '1.5, nothing')
    """
    plain = value.tolist() if hasattr(value, "tolist") else value  # numpy's own
    if isinstance(plain, (list, tuple)):
        return ", ".join(map(as_said, plain))
    return repr(plain) if isinstance(plain, str) else "nothing" if plain is None else str(plain)


@contextmanager
def told_as(error: KitchenError, *faults: type[Exception]) -> Iterator[None]:
    """Say this error instead of such a fault; what an error of its own kind says already stands."""
    try:
        yield
    except faults as err:
        if isinstance(err, type(error)):
            raise
        raise error from err


def or_none(read: Callable[..., T], *given: Any, **named: Any) -> T | None:
    """What a function makes of what it is given; None where it refuses it."""
    try:
        return read(*given, **named)
    except KitchenError:
        return None


class AmountError(KitchenError):
    """An amount or a unit that could not be read."""


class ItemError(KitchenError):
    """An ingredient, thickener or tool that has no figures here, or that could be several."""


def one_of(table: Mapping[str, T], name: str, what: str) -> T:
    """The row of a table by its name; the `ItemError` where there is none says which there are, and has them in ``.data``."""
    if not isinstance(name, str) or name not in table:
        raise ItemError(f"There is no {what} {name!r} here; choose one of {', '.join(table)}.", list(table))
    return table[name]


class ReadingError(KitchenError):
    """A thickness reading that this tool cannot give, or from which nothing follows."""


class RecipeError(KitchenError):
    """A recipe or a version that does not hold together."""


class BatchError(KitchenError):
    """A batch that does not hold together."""


class LogbookError(KitchenError):
    """A logbook that cannot be opened, read or written."""


class Stopped(KitchenError):  # noqa: N818 - asked for, so no error
    """What a progress callback raises to end the work that called it; what was finished by then is whole."""
