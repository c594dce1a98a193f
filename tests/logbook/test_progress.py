"""Long work on a logbook says how far it is, and what stops it leaves the logbook as it was."""

from __future__ import annotations

from pathlib import Path

import pytest

import spoonline as sl
from logbook.older import to_schema
from spoonline.logbook.care import backup, check
from spoonline.measures.errors import Stopped

RECIPE = sl.Recipe(title="Mushroom gravy", ingredients=["1 l vegetable stock", "60 g wheat flour"])


class Told:
    """Counts what is told; stops at the first word where asked."""

    def __init__(self, stop: type[BaseException] | None = None) -> None:
        self.seen: list[tuple[int, int, str]] = []
        self.stop = stop

    def __call__(self, done: int, of: int, what: str) -> None:
        self.seen.append((done, of, what))
        if self.stop is not None:
            raise self.stop("enough")


def older(where: object) -> None:
    """A logbook as the schema before today's left it."""
    book = sl.open_logbook(where)
    book.save(RECIPE)
    to_schema(book, 3)
    book.close()


def test_bringing_an_older_logbook_up_is_told_and_can_be_interrupted(
    place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    older(place)
    # An interrupted kernel, and a Stop of ours: both leave the older logbook, and no copy that looks whole.
    for stop in (KeyboardInterrupt, Stopped):
        with pytest.raises(stop):
            sl.open_logbook(place, progress=Told(stop))
    left = [path for path in tmp_path.rglob("*before-schema*") if path.suffix == ".part" or path.is_file()]
    assert not [path for path in left if path.suffix in (".part", ".sqlite")]
    for folder in (path for path in tmp_path.iterdir() if path.is_dir()):
        with pytest.raises(sl.KitchenError, match="no readable manifest"):
            sl.Logbook.restore(folder, tmp_path / "no.sqlite")
    told = Told()
    book = sl.open_logbook(place, progress=told)
    assert book.recipe("Mushroom gravy") == RECIPE and check(book).faults == ()
    assert told.seen and all(0 <= done <= of for done, of, _ in told.seen) and told.seen[-1][0] == told.seen[-1][1]
    (copy,) = (
        path.name for path in tmp_path.iterdir() if "before-schema" in path.name and path.name in book.brought_up
    )
    assert "was brought up to date" in book.brought_up and copy
    book.close()
    told = Told()
    again = sl.open_logbook(place, progress=told)
    assert again.brought_up == ""
    again.close()
    assert told.seen == [], "today's logbook is opened at once"


def test_export_check_and_backup_tell_and_stop(demo: sl.Logbook, tmp_path: Path) -> None:
    before = demo.all_batches()
    for name, work in {
        "export": lambda told: demo.export(tmp_path / "out", progress=told),
        "check": lambda told: check(demo, told),
        "backup": lambda told: backup(tmp_path / "demo.sqlite", tmp_path / "copy.sqlite", told),
    }.items():
        with pytest.raises(Stopped):
            work(Told(Stopped))
        if name == "export":
            with pytest.raises(sl.KitchenError, match="no readable manifest"):
                sl.Logbook.restore(tmp_path / "out", tmp_path / "no.sqlite")
        told = Told()
        work(told)
        assert told.seen and told.seen[-1][0] == told.seen[-1][1], name
    assert not list(tmp_path.glob("*.part"))
    again = sl.Logbook.restore(tmp_path / "out", tmp_path / "again.sqlite")
    copy = sl.open_logbook(tmp_path / "copy.sqlite")
    assert again.all_batches() == copy.all_batches() == before == demo.all_batches()
    again.close()
    copy.close()


def test_a_stopped_backup_of_a_database_leaves_no_file(place, tmp_path: Path) -> None:
    book = sl.open_logbook(place)
    book.save(RECIPE)
    (tmp_path / "copy.sqlite.txt").write_text("mine")
    for stop in (Stopped, KeyboardInterrupt):
        with pytest.raises(stop):
            backup(book.where, tmp_path / "copy.sqlite", Told(stop))
        assert [path.name for path in tmp_path.glob("copy*")] == ["copy.sqlite.txt"], (
            "nothing of ours, all of the cook's"
        )
    backup(book.where, tmp_path / "copy.sqlite")
    again = sl.open_logbook(tmp_path / "copy.sqlite")
    assert again.recipe("Mushroom gravy") == RECIPE
    again.close()
    book.close()
