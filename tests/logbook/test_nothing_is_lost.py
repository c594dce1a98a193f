"""What was lost, overwritten or believed in silence once, and is not any more; each was seen on release 0.1.0."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

import spoonline as sl
from spoonline import cli
from spoonline.dose import pot_now
from spoonline.logbook.care import backup, check, move
from spoonline.logbook.store import open_store
from spoonline.measures import ReadingError
from spoonline.recipes import Habits

TITLE = "Roast parsnip and pear soup"


def recipe(grams: float = 50) -> sl.Recipe:
    return sl.Recipe(title=TITLE, ingredients=["1.5 l vegetable stock", f"{grams:g} g corn starch"])


def pot(**more: object) -> sl.Batch:
    return sl.Batch(title=TITLE, version=1, cooked_on=date(2026, 1, 8), **more)


@pytest.mark.parametrize("record", [sl.Pan(name="own pan", tare_g=900), Habits(kitchen="uk"), recipe()])
def test_the_demo_never_takes_the_place_of_a_kitchen(tmp_path: Path, record: object) -> None:
    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        if isinstance(record, sl.Recipe):
            book.take_back(book.save(record))
        else:
            book.keep(record)
        held = book.holds
    assert "was left alone" in cli.fill_demo(tmp_path)
    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        assert book.holds == held and book.titles() == []


def test_the_demo_fills_a_logbook_that_holds_nothing(tmp_path: Path) -> None:
    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        book.draft("batch", "x", {"note": "half typed"})
        assert "put there" in cli.fill_demo(tmp_path), "also while it is open here"
        assert len(book.titles()) == 6 and book.drafts("batch")


def test_nothing_opens_the_file_beside_sqlite(repo: Path) -> None:
    """Closing a handle of one's own on a live database file drops every lock this process holds on it."""
    for path in (repo / "kit" / "spoonline" / "logbook").glob("*.py"):
        text = path.read_text(encoding="utf-8")
        # "xb" opens only a file that was not there
        assert ".open(" not in text.replace("Image.open(", "").replace('.open("xb")', ""), path.name
        assert "shutil.copy" not in text and "copyfile" not in text, path.name


def test_one_store_for_a_file_however_it_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "kitchen.sqlite"
    first = sl.open_logbook(path)
    (tmp_path / "link.sqlite").symlink_to(path)
    monkeypatch.chdir(tmp_path)
    others = [
        sl.open_logbook(each)
        for each in ("kitchen.sqlite", tmp_path / "link.sqlite", tmp_path / "." / "kitchen.sqlite")
    ]
    assert {id(each.store) for each in others} == {id(first.store)}
    first.close()
    first.close()
    others[0].save(recipe())
    for each in others:
        assert each.titles() == [TITLE]
        each.close()
    again = open_store(path)
    assert again is not first.store
    again.release()


@pytest.mark.parametrize("name", ["what's for dinner?.sqlite", "50% off?x=1.sqlite", ":memory:", "file:soup#2.sqlite"])
def test_a_name_means_the_file_of_that_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.chdir(tmp_path)
    with closing(sl.open_logbook(name)) as book:
        book.save(recipe())
    assert [path.name for path in tmp_path.iterdir()] == [name]
    backup(name, "copy.sqlite")
    with closing(sl.open_logbook("copy.sqlite")) as copy:
        assert copy.titles() == [TITLE]


def test_a_file_that_was_replaced_takes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "kitchen.sqlite"
    book = sl.open_logbook(path)
    book.save(recipe())
    book.record(pot())
    path.rename(tmp_path / "away.sqlite")
    for act in (lambda: book.record(pot(minutes=7)), lambda: book.titles()):
        with pytest.raises(sl.KitchenError, match="moved away, emptied or replaced while it was open; open it again"):
            act()
    other = sl.open_logbook(path)
    assert other.titles() == [] and other.store is not book.store
    other.close()
    book.close()
    with closing(sl.open_logbook(tmp_path / "away.sqlite")) as found:
        assert len(found.all_batches()) == 1


def test_a_number_that_was_told_is_missed(place) -> None:
    with closing(sl.open_logbook(place)) as book:
        book.save(recipe())
        for minutes in (1, 2, 3):
            book.record(pot(minutes=minutes))
        with book.store.writing() as connection:
            connection.exec_driver_sql("delete from batches where number in (2, 3)")
        assert f"Batch 2, 3 of {TITLE} was saved and is not there." in check(book).text
        assert book.record(pot(minutes=4)).number == 4, "a number is never told twice"
        with book.store.writing() as connection:  # as if a file of before had taken its place
            connection.exec_driver_sql("delete from batches where number = 4")
            connection.exec_driver_sql("update told set number = 1 where kind = 'batch'")
        assert f"Batch 2, 3, 4 of {TITLE} was saved and is not there." in check(book).text
        with pytest.raises(sl.KitchenError, match=r"Batch 4 of .* was saved from here and is no longer in the logbook"):
            book.record(pot(minutes=5))


CHANGES = [
    "update versions set note = 'other' where number = 1", "update versions set cook = 'X' where number = 1",
    "update versions set saved_at = '2020-01-01T00:00:00Z' where number = 1", "update versions set parent = null where number = 2",
    "update versions set body = replace(body, '50', '51') where number = 2", "update hidden set hidden = 0", "update hidden set reason = ''",
    "update kept set body = replace(body, '900', '901')", "update kept set key = 'x'", "update batches set replaces = null",
    "update batches set recorded_at = '2020-01-01T00:00:00Z'", "update batches set seal = null, number = 3 where replaces is not null",
    "update pictures set media = 'text/html'", "delete from versions where number = 2", "delete from batches where replaces is null",
    "delete from pictures", "delete from kept where kind = 'pan'", "delete from hidden", "delete from batches where replaces is not null",
]  # fmt: skip


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook with something of everything."""
    import io

    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (4, 3)).save(out, "PNG")
    path = tmp_path_factory.mktemp("full") / "kitchen.sqlite"
    with closing(sl.open_logbook(path)) as book:
        book.save(recipe(40), "a note", cook="M.")
        book.save(recipe(50), "second", cook="A.")
        kept = book.record(pot(pot_before_g=4000, pot_after_g=3900), photo=out.getvalue(), caption="the pot")
        book.correct(kept, note="the scale was read wrong")
        book.take_back(book.keep(sl.Pan(name="own pan", tare_g=900)), "given away")
    return path


@pytest.mark.parametrize("change", CHANGES)
def test_check_notices_every_change(full: Path, tmp_path: Path, change: str) -> None:
    path = tmp_path / "kitchen.sqlite"
    shutil.copy(full, path)
    with closing(sl.open_logbook(path)) as book:
        assert check(book).faults == ()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        assert connection.execute(change).rowcount > 0
        connection.commit()
    with closing(sl.open_logbook(path)) as book:
        assert check(book).faults, change


def test_check_and_backup_of_an_empty_file_or_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    empty = tmp_path / "empty.sqlite"
    empty.write_bytes(b"")
    for command in ("check", "backup", "move", "card"):
        more = {"check": [], "card": ["--logbook", str(empty), "--out", str(tmp_path / "x")]}.get(
            command, [str(tmp_path / "new.sqlite")]
        )
        assert cli.main([command, *([TITLE] if command == "card" else [str(empty)]), *more]) == 1, command
        assert "holds no logbook" in capsys.readouterr().err
    assert empty.read_bytes() == b"", "and it is left as it is"
    assert cli.main(["check", str(tmp_path / "none.sqlite")]) == 1
    assert not (tmp_path / "none.sqlite").exists()
    os.mkfifo(tmp_path / "pipe.sqlite")
    with pytest.raises(sl.KitchenError, match="no ordinary file"):
        sl.open_logbook(tmp_path / "pipe.sqlite")


def test_restore_says_by_its_exit_what_it_found(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with closing(sl.open_logbook(tmp_path / "a.sqlite")) as book:
        book.save(recipe())
        book.record(pot(pot_before_g=4000, pot_after_g=3900))
        book.export(tmp_path / "good")
        with book.store.writing() as connection:
            connection.exec_driver_sql("update batches set body = replace(body, '4000', '4001')")
        book.export(tmp_path / "bad")
    assert cli.main(["restore", str(tmp_path / "good"), str(tmp_path / "b.sqlite")]) == 0
    assert cli.main(["restore", str(tmp_path / "bad"), str(tmp_path / "c.sqlite")]) == 1
    assert "1 fault." in capsys.readouterr().out


def test_an_export_that_fails_leaves_the_one_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if sys.platform != "linux":
        pytest.skip("the limit on file sizes is tried on Linux only")
    code = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); import spoonline as sl\n"
        "book = sl.open_logbook(sys.argv[1]); book.save(sl.Recipe(title='Soup', ingredients=['1 l water'])); book.export(sys.argv[2])\n"
        "for n in range(150): book.record(sl.Batch(title='Soup', version=1, cooked_on='2026-01-08', note='x' * 900 + str(n)))\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, resource.RLIM_INFINITY))\n"
        "try: book.export(sys.argv[2])\n"
        "except sl.KitchenError as err: print(err)\n"
        "book.close()\n"
    )
    out = tmp_path / "out"
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "a.sqlite"), str(out)], capture_output=True, text=True, check=True
    )
    assert "could not be written" in done.stdout
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.sqlite", "out"], "nothing half-made is left"
    with closing(sl.Logbook.restore(out, tmp_path / "b.sqlite")) as book:
        assert book.titles() == ["Soup"]
    with closing(sl.open_logbook(tmp_path / "a.sqlite")) as book:
        book.export(out)
    with closing(sl.Logbook.restore(out, tmp_path / "c.sqlite")) as book:
        assert len(book.all_batches()) == 150


def test_a_photo_that_cannot_be_kept_keeps_no_pot(place) -> None:
    import io

    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (4, 3)).save(out, "PNG")
    with closing(sl.open_logbook(place)) as book:
        book.save(recipe())
        for photo, caption in ((out.getvalue(), "x" * 501), (b"no photo", "")):
            with pytest.raises(sl.KitchenError):
                book.record(pot(), photo=photo, caption=caption)
        assert book.all_batches() == [] and book.pictures(TITLE) == []
        kept = book.record(pot(), photo=out.getvalue(), caption="from above")
        better = book.correct(kept, note="the clock was fast")
        assert [each.caption for each in book.pictures(TITLE, better)] == ["from above"], (
            "a photo goes with the correction"
        )


def test_what_is_copied_while_others_write_is_of_one_moment(tmp_path: Path) -> None:
    import threading

    path, done = tmp_path / "kitchen.sqlite", threading.Event()
    book = sl.open_logbook(path)
    book.save(recipe())

    def write() -> None:
        minutes = 0
        while not done.is_set():
            minutes += 1
            book.record(pot(minutes=minutes % 4000, note=str(minutes)))

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for number in range(6):
            backup(path, tmp_path / f"copy{number}.sqlite")
            assert move(path, tmp_path / f"moved{number}.sqlite").faults == ()
    finally:
        done.set()
        writer.join()
        book.close()
    with closing(sl.open_logbook(tmp_path / "copy5.sqlite")) as copy:
        assert check(copy).faults == () and copy.all_batches()


def test_a_second_name_for_the_file_is_refused(tmp_path: Path) -> None:
    """Two names, two journals: what one writes, the other loses."""
    path = tmp_path / "kitchen.sqlite"
    with closing(sl.open_logbook(path)) as book:
        book.save(recipe())
        os.link(path, tmp_path / "other.sqlite")
        with pytest.raises(sl.KitchenError, match=r"has a second name on this disk \(a hard link\)"):
            book.record(pot())
        with pytest.raises(sl.KitchenError, match="second name"):
            sl.open_logbook(tmp_path / "other.sqlite")
        (tmp_path / "other.sqlite").unlink()
        assert book.record(pot()).number == 1


def test_the_file_alone_holds_everything_whoever_reads(tmp_path: Path) -> None:
    path = tmp_path / "kitchen.sqlite"
    with closing(sl.open_logbook(path)) as book, closing(sqlite3.connect(path)) as reader:
        book.save(recipe())
        for minutes in range(1, 6):
            reader.execute("BEGIN")
            reader.execute("SELECT count(*) FROM batches").fetchone()
            reader.execute("COMMIT")
            book.record(pot(minutes=minutes))
        shutil.copy(path, tmp_path / "copy.sqlite")
        with closing(sl.open_logbook(tmp_path / "copy.sqlite")) as copy:
            assert copy.all_batches() == book.all_batches()
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM batches").fetchone()
        assert book.record(pot(minutes=6)).number == 6, "kept, though it cannot be moved into the file just now"
        reader.execute("COMMIT")
        assert len(book.all_batches()) == 6, "whoever reads next moves it"
        shutil.copy(path, tmp_path / "later.sqlite")
        with closing(sl.open_logbook(tmp_path / "later.sqlite")) as copy:
            assert len(copy.all_batches()) == 6


def test_another_logbook_put_over_an_open_one_stays_itself(tmp_path: Path) -> None:
    """What the second file of the one that was open still held would be read as if it belonged to the new one."""
    path, other = tmp_path / "kitchen.sqlite", tmp_path / "other.sqlite"
    with closing(sl.open_logbook(other)) as book:
        book.save(sl.Recipe(title="Gravy", ingredients=["1 l beef stock"]))
    with closing(sl.open_logbook(path)) as book:
        for minutes in range(1, 30):
            book.save(recipe(minutes))
        other.replace(path)
        with closing(sl.open_logbook(path)) as now:
            assert now.titles() == ["Gravy"] and now.save(recipe()).number == 1 and check(now).faults == ()
        with pytest.raises(sl.KitchenError, match="emptied or replaced"):
            book.save(recipe(99))
    with closing(sl.open_logbook(path)) as now:
        assert now.titles() == ["Gravy", TITLE] and check(now).faults == ()


@pytest.mark.parametrize("how", [shutil.move, shutil.copyfile])
def test_an_empty_logbook_that_is_open_spoils_nothing_put_in_its_place(tmp_path: Path, how) -> None:
    """Making the tables is moved into the file as well: what the second file still held was played over whatever came there."""
    mine, path = tmp_path / "mine.sqlite", tmp_path / "kitchen.sqlite"
    with closing(sl.open_logbook(mine)) as book:
        book.save(recipe())
        book.record(pot())
    command = [sys.executable, "-c", f"import os, spoonline as sl; sl.open_logbook({str(path)!r}); os._exit(9)"]
    assert subprocess.run(command, check=False).returncode == 9
    how(mine, path)
    with closing(sl.open_logbook(path)) as book:
        assert len(book.all_batches()) == 1 and check(book).faults == ()


def test_another_logbook_copied_over_an_open_one_takes_nothing(tmp_path: Path) -> None:
    path, other = tmp_path / "kitchen.sqlite", tmp_path / "other.sqlite"
    with closing(sl.open_logbook(other)) as book:
        for minutes in range(1, 30):
            book.save(recipe(minutes))
    with closing(sl.open_logbook(path)) as book, closing(sl.open_logbook(path)) as twin:
        book.save(recipe())
        book.record(pot())
        shutil.copyfile(other, path)
        for act in (lambda: book.record(pot(minutes=7)), lambda: twin.titles()):
            with pytest.raises(
                sl.KitchenError,
                match=r"Another logbook was copied over kitchen\.sqlite while it was open; open it again",
            ):
                act()
    with closing(sl.open_logbook(path)) as book:
        assert len(book.all_versions(TITLE)) == 29 and book.all_batches() == [] and check(book).faults == ()


def test_the_history_says_what_a_correction_changed(place) -> None:
    with closing(sl.open_logbook(place)) as book:
        book.save(recipe())
        later = book.correct(book.record(pot(minutes=30)), minutes=35)
        book.take_back(later)
        history = book.history()
        assert history["from_what"].iloc[-2].endswith(": minutes 30 -> 35")
        assert history["what"].iloc[-1] == f"took back the correction of batch 1 of {TITLE}"


@pytest.mark.parametrize("change", ["UPDATE schema_version SET number = -1", "INSERT INTO schema_version VALUES (4)"])
def test_a_logbook_of_no_known_schema_is_left_alone(tmp_path: Path, change: str) -> None:
    path = tmp_path / "kitchen.sqlite"
    with closing(sl.open_logbook(path)) as book:
        book.save(recipe())
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute(change)
    before = path.read_bytes()
    with pytest.raises(sl.KitchenError, match="Which schema this logbook has cannot be read; keep the file as it is"):
        sl.open_logbook(path)
    assert path.read_bytes() == before


def test_an_emptied_file_takes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "kitchen.sqlite"
    with closing(sl.open_logbook(path)) as book:
        book.save(recipe())
        os.truncate(path, 0)
        with pytest.raises(sl.KitchenError, match="emptied or replaced"):
            book.record(pot())


def test_one_pot_never_stands_in_two_forms(place) -> None:
    with closing(sl.open_logbook(place)) as book:
        book.save(recipe())
        first = book.record(pot(minutes=50))
        one = book.correct(first, minutes=51)
        assert book.correct(one, minutes=51) == one, "nothing differs: nothing is added"
        book.take_back(one)
        other = book.correct(first, minutes=52)
        with pytest.raises(sl.KitchenError, match="was corrected otherwise meanwhile; take that correction back first"):
            book.bring_back(one)
        assert book.all_batches() == [other] and check(book).faults == ()


def test_one_damaged_row_stops_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "kitchen.sqlite"
    with closing(sl.open_logbook(path)) as book:
        book.save(recipe())
        book.save(sl.Recipe(title="Gravy", ingredients=["1 l beef stock", "60 g wheat flour"]))
        book.record(pot())
        book.record(sl.Batch(title="Gravy", version=1, cooked_on=date(2026, 1, 9)))
    for number, body in enumerate(("", "[]", "[" * 2000, '{"title": "x"}', b"\xff\xfe", '{"a": 1e999999}')):
        hurt = tmp_path / f"hurt{number}.sqlite"
        shutil.copy(path, hurt)
        with closing(sqlite3.connect(hurt)) as raw:
            raw.execute("update versions set body = ? where title = 'Gravy'", (body,))
            raw.commit()
        with closing(sl.open_logbook(hurt)) as book:
            assert list(book.batches()["title"]) == [TITLE] and len(book.damaged()) == 1
            assert len(check(book).faults) == 1
            out = book.export(tmp_path / f"out{number}")
        backup(hurt, tmp_path / f"backup{number}.sqlite")
        with closing(sl.Logbook.restore(out, tmp_path / f"again{number}.sqlite")) as again:
            assert again.recipe(TITLE) == recipe() and len(check(again).faults) == 1


@pytest.mark.parametrize(
    "name", ["n" * 300 + ".sqlite", "n\0ul.sqlite", "kitchen\udc80.sqlite", "postgresql+psycopg://[::1"]
)
def test_names_that_no_file_can_have(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.chdir(tmp_path)
    try:
        sl.open_logbook(name).close()  # a lone surrogate is a name on some machines
    except sl.KitchenError as err:
        assert len(str(err)) < 300


def test_wrong_kinds_and_numbers_get_a_sentence(place) -> None:
    with closing(sl.open_logbook(place)) as book:
        book.save(recipe())
        for act in (
            lambda: book.save(None), lambda: book.record("a pot"), lambda: book.keep(7), lambda: book.take_back(None),
            lambda: book.version(TITLE, 10**30),
            lambda: book.record(sl.Batch(title=TITLE, version=10**30, cooked_on="2026-01-08")),
        ):  # fmt: skip
            with pytest.raises(sl.KitchenError):
                act()


def test_a_stored_reading_that_cannot_be_read_is_set_apart(tmp_path: Path) -> None:
    size = {"length_cm": 8, "width_cm": 10, "seconds": 10}
    good = sl.Reading(tool="spatula", settings=size, values=[2.6], temperature_c=60)
    bad = sl.Reading.read(good.model_dump() | {"values": ["99"]})  # as no release takes it any more
    with pytest.raises(ReadingError, match="99 g on the spatula came"):
        sl.Reading(tool="spatula", settings=size, values=[99], temperature_c=60)
    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        book.save(recipe())
        for minutes, readings in enumerate(((good,), (bad,), (good, bad), (good,))):
            made = pot(pot_before_g=3000, pot_after_g=2900, minutes=minutes)
            book.record(made.model_copy(update={"readings": readings}))
    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        dish = book.dish(TITLE)
        assert list(dish.left_out) == [2] and "99 g on the spatula came" in dish.left_out[2]
        assert dish.curve is not None and len(dish.viscosities[1]) == 3
        assert book.batches(TITLE)["viscosity_pa_s"].isna().tolist() == [False, True, False, False]
        told = book.readings(TITLE)
        assert told["viscosity_pa_s"].isna().tolist() == [bool(each) for each in told["left_out"]]
        assert told["left_out"].str.startswith("99 g").tolist() == [False, True, False, True, False]
        assert len(pd.read_csv(book.export(tmp_path / "out") / "readings.csv")) == 5
        second = book.correct(book.all_batches()[1], note="the spatula dropped")
        assert second.readings == (bad,) and book.correct(second, left_out="not read").left_out == "not read"
        assert book.correct(book.all_batches()[2], readings=[good]).readings == (good,)
        assert pot_now(second, recipe(), None, None).text == ""


def test_what_was_worked_out_of_a_record_is_not_stored_with_it(tmp_path: Path) -> None:
    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        soup = book.save(recipe()).recipe
        assert soup.kind and soup.liquid and soup.fates
        more = soup.changed(servings=10)
        assert (
            more.newer_fields == () and book.save(more).number == 2 and book.save(more.changed(servings=10)).number == 2
        )
        assert check(book).faults == ()


def test_what_is_kept_again_in_the_second_in_which_it_was_taken_back_stands(tmp_path: Path) -> None:
    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        for _ in range(4):
            pan = book.keep(sl.Pan(name="own pan", tare_g=900))
            assert book.kept(sl.Pan) == [pan]
            book.take_back(pan)
            assert book.kept(sl.Pan) == []
        assert check(book).faults == ()
