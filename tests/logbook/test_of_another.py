"""A logbook, an export or a place that somebody else made: each answers or says one sentence; nothing hangs, and nothing outside is touched."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

import spoonline as sl
from spoonline.logbook import make_demo
from spoonline.logbook.care import backup, check, move
from spoonline.measures.errors import KitchenError, LogbookError

TITLE = "Roast parsnip and pear soup"


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A demo logbook and its export, closed."""
    folder = tmp_path_factory.mktemp("whole")
    with closing(make_demo(folder / "kitchen.sqlite")) as book:
        book.export(folder / "out")
    return folder


def changed(whole: Path, tmp_path: Path, *queries: str, given: tuple[Any, ...] = ()) -> Path:
    path = tmp_path / "kitchen.sqlite"
    shutil.copy(whole / "kitchen.sqlite", path)
    with closing(sqlite3.connect(path)) as raw:
        for query in queries:
            raw.execute(query, given)
        raw.commit()
    return path


def answers(ask: Callable[[], object]) -> str:
    """What is said of it, blank where it is answered; any other fault is a fault."""
    try:
        ask()
    except KitchenError as err:
        assert len(str(err)) < 500 and "\n" not in str(err), err
        return str(err)
    return ""


def used(path: Path, out: Path) -> list[str]:
    """All that a cook does with a logbook, and what was said of each."""

    def read(book: sl.Logbook) -> list[Callable[[], object]]:
        asks: list[Callable[[], object]] = [
            lambda: check(book).text,
            book.damaged,
            book.history,
            lambda: book.export(out / "out"),
        ]
        for title in book.titles()[:2]:
            for ask in (book.dish, book.batches, book.readings, book.versions):
                asks.append(lambda ask=ask, title=title: repr(ask(title)))
        asks.append(lambda: book.save(sl.Recipe(title=TITLE, ingredients=["1 l water", "30 g corn starch"])))
        asks.append(lambda: book.record(sl.Batch(title=TITLE, version=1, cooked_on="2026-01-08")))
        return [*asks, lambda: backup(path, out / "copy.sqlite"), lambda: move(path, out / "moved.sqlite")]

    try:
        with closing(sl.open_logbook(path)) as book:
            return [answers(ask) for ask in read(book)]
    except LogbookError as err:  # it does not open, or cannot even say what it holds
        return [str(err)]


HARM = (
    "drop table about", "drop table told", "drop table drafts", "drop table versions", "delete from schema_version", "delete from about",
    "alter table versions rename to other", "update told set number = 'x'", "update told set number = 1.5",
    "update told set number = 9223372036854775807", "update told set number = -5", "update about set value = x'ff'",
    "update versions set number = 9223372036854775807 where seq = (select max(seq) from versions)",
    "update versions set number = 1.5 where seq = 1", "update batches set number = 'x' where seq = 2",
    "update versions set title = x'ff' where seq = 1", "update versions set saved_at = 7", "update batches set recorded_at = 'never'",
    "update batches set body = 'null'", "update versions set body = '[]'", "update batches set body = ''", "update kept set body = '{}'",
    "update hidden set hidden = 'x'", "update versions set parent = number", "update versions set parent = 999",
    "update batches set replaces = id", "update versions set seal = 7", "update kept set kind = 'nothing known'",
    "insert into hidden (kind, key, hidden, reason, at) values ('version', 'no line', 7, 'x', 'y')",
    "insert into drafts values ('start', 'x', 'never', '[[]]')",
    "create trigger t before insert on versions begin select raise(abort, 'ha'); end",
    "create trigger t after insert on batches begin delete from batches; end",
)  # fmt: skip


@pytest.mark.parametrize("query", HARM)
def test_whatever_stands_in_a_logbook_it_answers_or_says_a_sentence(query: str, whole: Path, tmp_path: Path) -> None:
    said = used(changed(whole, tmp_path, query), tmp_path)
    assert len(said) in (1, 16) and all(len(each) < 500 for each in said)


EVIL = {
    "media": ("image/../../../evil", "image/" + "x" * 300, 7, "image/x\0y", "image/svg+xml"),
    "id": ("../../evil", "/etc/evil", b"\xff", "x" * 300),
    "data": ("text", b"", 5),
}


@pytest.mark.parametrize(("column", "value"), [(column, value) for column in EVIL for value in EVIL[column]])
def test_a_photo_names_no_file_outside_its_export(column: str, value: object, whole: Path, tmp_path: Path) -> None:
    photo = f"insert into pictures (id, media, data, seal) values ('{hashlib.sha256(b'x').hexdigest()}', 'image/png', x'78', 's')"
    path = changed(whole, tmp_path, photo)
    with closing(sqlite3.connect(path)) as raw:
        raw.execute(f"update pictures set {column} = ?", [value])
        raw.commit()
    place = tmp_path / "a" / "b"
    with closing(sl.open_logbook(path)) as book:
        assert [fault for fault in check(book).faults if fault.startswith("The photo ")]
        book.export(place / "out")
    assert {each.name for each in tmp_path.iterdir()} == {"a", "kitchen.sqlite"}
    assert [each.name for each in place.iterdir()] == ["out"] and not list(place.glob("out/photos/*"))
    sl.Logbook.restore(place / "out", tmp_path / "again.sqlite").close()


def test_an_export_takes_the_place_of_nothing_of_one_s_own(whole: Path, tmp_path: Path) -> None:
    for own in ("accounts.csv", "notes.json", "photos/garden.png"):
        folder = tmp_path / own.replace("/", "-")
        shutil.copytree(whole / "out", folder)
        (folder / own).parent.mkdir(exist_ok=True)
        (folder / own).write_text("mine")
        with (
            closing(sl.open_logbook(whole / "kitchen.sqlite")) as book,
            pytest.raises(LogbookError, match="holds other files"),
        ):
            book.export(folder)
        assert (folder / own).read_text() == "mine"


@pytest.mark.skipif(os.name != "posix", reason="pipes of another kind")
@pytest.mark.parametrize("name", ["manifest.json", "versions.jsonl", "kept.jsonl"])
@pytest.mark.parametrize("what", ["pipe", "endless", "loop", "folder"])
def test_an_export_that_never_ends_is_refused(what: str, name: str, whole: Path, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    shutil.copytree(whole / "out", folder)
    (folder / name).unlink()
    make: dict[str, Callable[[Path], object]] = {"pipe": os.mkfifo, "folder": Path.mkdir}
    make |= {"endless": lambda path: path.symlink_to("/dev/zero"), "loop": lambda path: path.symlink_to(name)}
    make[what](folder / name)
    assert answers(lambda: sl.Logbook.restore(folder, tmp_path / "new.sqlite").close())


def test_rows_and_manifests_of_other_shapes(whole: Path, tmp_path: Path) -> None:
    def restored(number: int) -> str:
        manifest = json.loads((folder / "manifest.json").read_text())
        text = (folder / "versions.jsonl").read_bytes().replace(b"\r\n", b"\n")
        manifest["files"]["versions.jsonl"]["sha256"] = hashlib.sha256(text).hexdigest()
        (folder / "manifest.json").write_text(json.dumps(manifest | more))
        return answers(lambda: sl.Logbook.restore(folder, tmp_path / f"{number}.sqlite").close())

    rows = [json.loads(line) for line in (whole / "out" / "versions.jsonl").read_text().splitlines()]
    kinds: list[tuple[dict[str, Any], dict[str, Any], bool]] = [
        ({"evil": 1}, {}, True), ({"seq": 1}, {}, False), ({"title": [1]}, {}, False), ({"title": None}, {}, False), ({"seal": 5}, {}, True),
        ({"body": None}, {}, True), ({"number": float("nan")}, {}, False), ({"id": None}, {}, False),
        ({}, {"schema": "0x5"}, False), ({}, {"schema": [5]}, False), ({}, {"schema": None}, False), ({}, {"schema": 1e999}, False),
        ({}, {"told": "abc"}, False), ({}, {"told": [[None] * 3]}, False), ({}, {"told": [["version", TITLE, 10**18]]}, True),
        ({}, {"told": [["version", TITLE, 10**30]]}, False), ({}, {"files": {"../../x": 5}}, False),
    ]  # fmt: skip
    for number, (change, more, restores) in enumerate(kinds):
        folder = tmp_path / f"out{number}"
        shutil.copytree(whole / "out", folder)
        (folder / "versions.jsonl").write_text("".join(json.dumps(row | change) + "\n" for row in rows))
        assert (restored(number) == "") is restores, (change, more)
    with closing(sl.open_logbook(tmp_path / "14.sqlite")) as book:
        assert "and more of Roast parsnip" in check(book).text, "a number beyond all counting is not counted up to"


@pytest.mark.parametrize(
    "moments",
    [
        (datetime(2026, 1, 8, tzinfo=UTC), datetime(1990, 1, 8, tzinfo=UTC), datetime(1970, 1, 1, tzinfo=UTC)),
        (datetime(1, 1, 1, tzinfo=UTC),), (datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=14))),),
        (datetime(9999, 12, 31, 23, tzinfo=UTC),), (datetime(9999, 12, 31, 23, tzinfo=timezone(timedelta(hours=-12))),),
    ],
)  # fmt: skip
def test_a_clock_that_goes_backwards_or_nowhere(moments: tuple[datetime, ...], tmp_path: Path) -> None:
    left = list(moments)
    with closing(
        sl.open_logbook(tmp_path / "kitchen.sqlite", clock=lambda: left.pop(0) if len(left) > 1 else left[0])
    ) as book:
        for grams in (60, 61, 62):
            said = answers(
                lambda grams=grams: book.save(
                    sl.Recipe(title="Gravy", ingredients=["1 l water", f"{grams} g wheat flour"])
                )
            )
        if not said:
            pot = book.record(sl.Batch(title="Gravy", version=3, cooked_on="2026-01-08"))
            book.take_back(pot)
            assert [each.number for each in book.all_versions("Gravy")] == [1, 2, 3] and book.all_batches() == []
        assert check(book).faults == () and len(book.history()) in (0, 5)


@pytest.mark.parametrize(
    "address",
    [
        "postgresql+psycopg://u@127.0.0.1:1/\ud800", "postgresql+psycopg://" + "x" * 300_000, "postgresql+psycopg://u@h\0/d",
        "postgresql+psycopg://u@127.0.0.1:99999/d", "postgresql+psycopg://u@[::1/d", "postgresql+psycopg://u@127.0.0.1:1/d?row_factory=x",
        "postgresql+nonsense://u@h/d", "sqlite:///x.sqlite", "file:///x", "://",
    ],
)  # fmt: skip
def test_an_address_that_leads_nowhere_is_one_short_sentence(address: str) -> None:
    assert answers(lambda: sl.open_logbook(address))


def test_a_file_that_goes_while_it_is_open_is_said(whole: Path, tmp_path: Path) -> None:
    for number, (gone, then) in enumerate(
        [(Path.unlink, None), (Path.unlink, Path.mkdir), (lambda path: shutil.rmtree(path.parent), None)]
    ):
        folder = tmp_path / f"{number}"
        folder.mkdir()
        path = folder / "kitchen.sqlite"
        shutil.copy(whole / "kitchen.sqlite", path)
        with closing(sl.open_logbook(path)) as book:
            store, settle = book.store, book.store._settle
            gone(path)
            if then:
                then(path)
            assert "moved away" in answers(book.titles)
            settle()  # as where it goes between the commit and this
            assert store._as_left is None or then


@pytest.mark.parametrize("moves", [False, True])
def test_a_queue_that_moves_is_waited_for_longer_than_a_lock(
    moves: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody else is always first; either one and the same, or one after another whose writing is done."""
    from spoonline.logbook import engine, store

    monkeypatch.setattr(engine, "BUSY_MS", 150)
    monkeypatch.setattr(store, "PATIENCE_S", 0.1)
    make_demo(tmp_path / "kitchen.sqlite").close()
    path, real, tries = tmp_path / "kitchen.sqlite", engine.writing, list[int]()
    with closing(sl.open_logbook(path)) as book, closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")

        def writing(given: Any) -> Any:
            tries.append(1)
            if len(tries) > 1:
                other.execute("UPDATE about SET value = value || '' WHERE name = 'id'")
                other.execute("COMMIT")
                other.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            if 1 < len(tries) < 4:
                other.execute("BEGIN IMMEDIATE")
            return real(given)

        monkeypatch.setattr(engine, "writing", writing)
        if moves:
            other.execute("UPDATE about SET value = value || '' WHERE name = 'id'")
            monkeypatch.setattr(store.Store, "_written", lambda _self: (len(tries), 0, 0))
        said = answers(lambda: book.save(sl.Recipe(title="Gravy", ingredients=["1 l water", "60 g wheat flour"])))
        assert ("is in use by another program" in said) is not moves and len(tries) == (4 if moves else 1)
        if other.in_transaction:
            other.execute("ROLLBACK")


# A cursor whose connection was cut cannot be closed any more, and the driver warns of it.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_database_that_is_cut_closed_or_shut_says_so(postgres_server, tmp_path: Path) -> None:
    import psycopg

    address = postgres_server.database()
    plain = address.replace("postgresql+psycopg", "postgresql")
    with closing(sl.open_logbook(address)) as book, psycopg.connect(plain, autocommit=True) as other:
        book.save(sl.Recipe(title="Gravy", ingredients=["1 l water", "60 g wheat flour"]))

        def cut(_done: int, _all: int, _what: str) -> None:
            postgres_server.end_sessions()

        assert answers(lambda: backup(address, tmp_path / "copy.sqlite", cut))
        assert not list(tmp_path.iterdir()), "nothing that looks like a backup is left"
        assert backup(address, tmp_path / "copy.sqlite").exists()
        other = psycopg.connect(plain, autocommit=True)
        other.execute(f"ALTER DATABASE {address.rpartition('/')[2]} SET default_transaction_read_only = on")
        book.store.engine.dispose()
        assert answers(lambda: book.save(sl.Recipe(title="New", ingredients=["1 l water"])))
        other.execute(f"ALTER DATABASE {address.rpartition('/')[2]} RESET default_transaction_read_only")
        book.store.engine.dispose()
        for query in ("DROP TABLE told", "ALTER TABLE versions RENAME TO other", "DROP SCHEMA public CASCADE"):
            other.execute(query)
            assert answers(lambda: book.save(sl.Recipe(title="New", ingredients=["1 l water"])))
            assert answers(lambda: check(book))
        other.close()
