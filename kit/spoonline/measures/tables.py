"""Tables that stand beside the code: figures and words, each a file of its room."""

from __future__ import annotations

import csv
import re
import tomllib
from pathlib import Path
from typing import Any


def read_table(name: str, room: str = "facts") -> list[dict[str, Any]]:
    """Read the rows of a table of a room (csv or toml) as they stand, each under the names of its columns."""
    with (Path(__file__).parent.parent / room / name).open(encoding="utf-8", newline="") as file:
        if name.endswith(".csv"):
            return list(csv.DictReader(file))
        return [{"name": row, **figures} for row, figures in tomllib.loads(file.read()).items()]


def patterns(name: str, room: str) -> dict[str, re.Pattern[str]]:
    """Read a table of words: what each row looks for in a text, in small letters or large, by its name."""
    return {row["name"]: re.compile(row["words"], re.IGNORECASE) for row in read_table(name, room)}
