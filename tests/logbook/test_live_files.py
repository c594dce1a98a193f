"""No door of ours opens a logbook that is open here by hand: closing such a handle drops the locks that SQLite holds for the process."""

from __future__ import annotations

import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

import spoonline as sl
from spoonline.card import load_style
from spoonline.measures.files import LIVE, content_of
from spoonline.old_sheets import read_sheet

# Another process that tries to write at once, and says whether it may.
TRIES = """import sqlite3, sys
raw = sqlite3.connect(sys.argv[1], timeout=0, isolation_level=None)
try:
    raw.execute("BEGIN IMMEDIATE")
    print("free")
except sqlite3.OperationalError:
    print("held")"""


def elsewhere(path: Path) -> str:
    return subprocess.run(
        [sys.executable, "-c", TRIES, str(path)], check=True, capture_output=True, text=True
    ).stdout.strip()


def manifest(path: Path) -> None:
    """An export whose manifest leads to the logbook."""
    folder = path.with_name("export")
    folder.mkdir()
    (folder / "manifest.json").symlink_to(path)
    sl.Logbook.restore(folder, path.with_name("restored.sqlite"))


@pytest.mark.parametrize("door", [load_style, lambda path: read_sheet(str(path)), manifest, content_of])
@pytest.mark.parametrize("end", ["", "-wal", "-shm"])
def test_a_lock_held_here_is_still_held_after_somebody_named_the_file(door, end: str, tmp_path: Path) -> None:
    path = tmp_path / "kitchen.sqlite"
    with closing(sl.open_logbook(path)) as book:
        book.save(sl.Recipe(title="Gravy", ingredients=["1 l water"]))
        with book.store.engine.begin() as connection:
            connection.exec_driver_sql("INSERT INTO about VALUES ('held', 'x')")
            assert elsewhere(path) == "held"
            named = path.with_name(path.name + end)
            if named.exists():
                with pytest.raises((sl.KitchenError, OSError)):
                    door(named)
            assert elsewhere(path) == "held"
    assert path.resolve() not in LIVE and content_of(path).startswith(b"SQLite format 3")
