"""Tables that stand beside the code: figures and words, each a file of its room."""

import csv
import re
import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar, get_type_hints

from spoonline.measures.errors import AmountError, KitchenError

T = TypeVar("T")
_hints = cache(get_type_hints)  # evaluated once a kind


def _parts(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(";") if part.strip())


def _figures(text: str) -> Mapping[str, float]:
    return MappingProxyType({name: float(value) for name, _, value in (part.partition("=") for part in _parts(text))})


# How the text of a table becomes the value of a field of this kind.
_AS: Mapping[Any, Callable[[str], Any]] = {
    str: str, float: float, float | None: lambda text: float(text) if text else None, bool: lambda text: text == "1",
    tuple[str, ...]: _parts, Mapping[str, float]: _figures,
}  # fmt: skip


def typed(kind: Callable[..., T], row: Mapping[str, Any]) -> T:
    """A row of a table as a record, each text as its field wants it: blank where the row says nothing."""
    return kind(**{name: _AS[wanted](str(row.get(name, ""))) for name, wanted in _hints(kind).items()})


def read_table(name: str, room: str = "facts") -> list[dict[str, Any]]:
    """Read the rows of a table of a room (csv or toml) as they stand, each under the names of its columns."""
    with (Path(__file__).parent.parent / room / name).open(encoding="utf-8", newline="") as file:
        if name.endswith(".csv"):
            return list(csv.DictReader(file))
        return [{"name": row, **figures} for row, figures in tomllib.loads(file.read()).items()]


def patterns(name: str, room: str) -> dict[str, re.Pattern[str]]:
    """Read a table of words: what each row looks for in a text, in small letters or large, by its name.

    A row may hold those above it: ``<<number>>`` is what the row called number looks for.
    """
    found: dict[str, re.Pattern[str]] = {}
    for row in read_table(name, room):
        words = re.sub("<<(.+?)>>", lambda held: found[held[1]].pattern, row["words"])
        found[row["name"]] = re.compile(words, re.IGNORECASE)
    return found


class Sayings:
    """The sentences of a room by name, each said with what is known put into it; what the room refuses is an error of this branch.

    >>> Sayings("said.csv", "flow", AmountError)("hardly left")
    'The puddle has hardly left the ring: wait longer.'
    """

    def __init__(self, name: str, room: str, wrong: type[KitchenError]) -> None:
        self.table: dict[str, str] = {row["name"]: row["said"] for row in read_table(name, room)}
        self.wrong = wrong

    def __call__(self, what: str, /, **known: Any) -> str:
        """The sentence of this name."""
        return self.table[what].format_map(known)

    def error(self, what: str, /, **known: Any) -> KitchenError:
        """The sentence of this name as an error, what came beside it."""
        return self.wrong(self(what, **known), known.get("came"))

    def refuse(self, when: object, what: str, /, **known: Any) -> None:
        """Raise the sentence of this name where something holds that must not."""
        if when:
            raise self.error(what, **known)


said = Sayings("refusals.csv", "measures", AmountError)
refuse = said.refuse
