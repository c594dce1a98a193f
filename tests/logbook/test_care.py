"""Backup, migration, check, move, photos, tables for a spreadsheet, two cooks at once, a lost connection, and what is damaged."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
import threading
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from sqlalchemy import inspect

import spoonline as sl
from logbook.older import to_schema
from spoonline.logbook import make_demo, tables
from spoonline.logbook.care import backup, check, move
from spoonline.logbook.folder import harmless
from spoonline.logbook.pictures import MOST_BYTES, cleaned
from spoonline.measures.errors import LogbookError
from spoonline.recipes import OwnSpoon
from spoonline.tasters import Sample, plan_session

TITLE = "Roast parsnip and pear soup"


def recipe(grams: float = 52) -> sl.Recipe:
    return sl.Recipe(title=TITLE, ingredients=["1.5 l vegetable stock", f"{grams:g} g corn starch"], servings=8)


def pot(version: int = 1, **more: object) -> sl.Batch:
    return sl.Batch(title=TITLE, version=version, cooked_on=date(2026, 1, 8), **more)


@pytest.fixture
def book(place):
    opened = sl.open_logbook(place)
    yield opened
    opened.close()


def photo(form: str = "JPEG", size: tuple[int, int] = (60, 40), **more: object) -> bytes:
    """A photo that is red on its left half, so that a turn shows."""
    made = Image.new("RGB", size, "white")
    made.paste("red", (0, 0, size[0] // 2, size[1]))
    out = io.BytesIO()
    made.save(out, form, **more)
    return out.getvalue()


class TestMigration:
    def old(self, place: object, steps: int) -> None:
        """A logbook as an earlier spoonline left it, with a recipe and a batch in it."""
        book = sl.open_logbook(place)
        book.save(recipe())
        book.record(pot())
        to_schema(book, steps)
        book.close()

    @pytest.mark.parametrize("steps", [1, 2, 3, 4])
    def test_an_older_logbook_is_brought_up_after_a_proven_backup(
        self, place, steps: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        self.old(place, steps)
        book = sl.open_logbook(place)
        assert book.recipe(TITLE) == recipe() and len(book.all_batches()) == 1
        book.keep(OwnSpoon(item="corn starch", measure="1 heaped tbsp", masses_g=[12, 13, 14]))
        assert check(book).faults == ()
        book.close()
        kept = [path for path in tmp_path.iterdir() if "before-schema" in path.name]
        assert len(kept) == 1
        if kept[0].is_dir():
            again = sl.Logbook.restore(kept[0], tmp_path / "again.sqlite")
        else:
            raw = sqlite3.connect(kept[0])
            assert raw.execute("select number from schema_version").fetchone() == (steps,)
            raw.close()
            again = sl.open_logbook(kept[0])
        assert again.recipe(TITLE) == recipe() and len(again.all_batches()) == 1
        again.close()

    def test_a_step_that_fails_rolls_back_whole_on_both_engines(
        self, place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        self.old(place, 1)

        def half(connection: Any) -> None:
            tables.pictures.create(connection)
            raise LogbookError("power cut")

        monkeypatch.setattr(tables, "STEPS", (*tables.STEPS[:2], half, *tables.STEPS[3:]))
        with pytest.raises(LogbookError, match="power cut"):
            sl.open_logbook(place)
        monkeypatch.undo()
        monkeypatch.chdir(tmp_path)
        from spoonline.logbook.engine import connect

        monkeypatch.setattr(tables, "LATEST", 1)
        monkeypatch.setattr(tables, "STEPS", tables.STEPS[:1])
        engine = connect(place)
        assert not {"kept", "pictures"} & set(inspect(engine).get_table_names())
        engine.dispose()

    def test_opening_today_s_logbook_makes_no_backup(
        self, place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        sl.open_logbook(place).close()
        sl.open_logbook(place).close()
        assert not [path for path in tmp_path.iterdir() if "before-schema" in path.name]


class TestBackupCheckMove:
    def test_a_backup_is_made_of_a_logbook_in_use(self, tmp_path: Path) -> None:
        book = make_demo(tmp_path / "kitchen.sqlite")
        told: list[tuple[int, int, str]] = []
        with book.store.writing() as connection:
            connection.execute(tables.hidden.insert().values(kind="test", key="x", hidden=0, reason="", at=""))
            backup(tmp_path / "kitchen.sqlite", tmp_path / "copy.sqlite", lambda *step: told.append(step))
        copy = sl.open_logbook(tmp_path / "copy.sqlite")
        assert copy.all_batches() == book.all_batches() and copy.titles() == book.titles()
        assert told and told[-1][0] == told[-1][1]
        with pytest.raises(LogbookError, match="exists already"):
            backup(tmp_path / "kitchen.sqlite", tmp_path / "copy.sqlite")
        with pytest.raises(LogbookError, match=r"no logbook 'none\.sqlite'"):
            backup(tmp_path / "none.sqlite", tmp_path / "copy2.sqlite")
        copy.close()
        book.close()

    def test_a_backup_of_a_broken_file_is_refused(self, tmp_path: Path) -> None:
        make_demo(tmp_path / "kitchen.sqlite").close()
        data = bytearray((tmp_path / "kitchen.sqlite").read_bytes())
        data[6000:9000] = b"\x55" * 3000
        (tmp_path / "kitchen.sqlite").write_bytes(bytes(data))
        with pytest.raises(LogbookError, match="could not be written"):
            backup(tmp_path / "kitchen.sqlite", tmp_path / "copy.sqlite")
        assert not list(tmp_path.glob("copy*"))

    def test_there_and_back_between_the_engines(self, postgres_server, tmp_path: Path) -> None:
        book = make_demo(tmp_path / "kitchen.sqlite")
        batch = book.all_batches(TITLE)[0]
        picture = book.attach(batch, photo(), "On the plate")
        book.take_back(book.all_batches(TITLE)[1], "spilt")
        before = (book.titles(), book.all_batches(), book.history().to_dict())
        book.close()
        address = postgres_server.database()
        assert move(tmp_path / "kitchen.sqlite", address).faults == ()
        told: list[str] = []
        assert move(address, tmp_path / "back.sqlite", lambda _done, _all, what: told.append(what)).faults == ()
        assert {"versions", "batches", "pictures"} <= set(told)
        for where in (address, tmp_path / "back.sqlite"):
            again = sl.open_logbook(where)
            assert (again.titles(), again.all_batches(), again.history().to_dict()) == before
            assert cleaned(again.picture_data(picture))[2:] == (60, 40)
            again.record(pot(1))  # numbering goes on
            again.close()
        with pytest.raises(LogbookError, match="already holds"):
            move(address, tmp_path / "back.sqlite")

    def test_check_names_every_fault(self, book: sl.Logbook) -> None:
        book.save(recipe(42))
        book.save(recipe(52))
        kept = book.record(pot(2))
        book.record(pot(2))
        assert check(book).text.endswith("every record has the content it was kept with.")
        with book.store.engine.begin() as connection:
            connection.exec_driver_sql("update versions set body = replace(body, '42', '43') where number = 1")
            connection.exec_driver_sql(
                "update batches set body = replace(body, '2026-01-08', '2026-01-09') where number = 1"
            )
        found = check(book)
        assert len(found.faults) == 2 and "version 1" in found.text and "Batch 1" in found.text
        assert len(book.damaged()) == 2
        # The rest opens and goes on.
        assert [each.number for each in book.all_versions(TITLE)] == [2]
        assert [each.number for each in book.all_batches(TITLE)] == [2]
        assert book.recipe(TITLE) == recipe(52)
        assert book.record(pot(2)).number == 3 and kept.number == 1


class TestTwoCooks:
    def test_two_versions_from_one_parent_are_both_kept_and_told(self, place) -> None:
        first = sl.open_logbook(place)
        start = first.save(recipe(42))
        second = sl.open_logbook(place)
        made: dict[str, sl.Recipe] = {}
        gate = threading.Barrier(2)

        def save(book: sl.Logbook, cook: str, grams: float) -> None:
            gate.wait()
            made[cook] = book.save(recipe(grams), "at once", cook=cook, parent=start.number)

        threads = [threading.Thread(target=save, args=each) for each in ((first, "M.", 48), (second, "A.", 55))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        branches = first.branches(TITLE)
        assert list(branches) == [1]
        assert {child.cook for child in branches[1]} == {"M.", "A."} and {c.number for c in branches[1]} == {2, 3}
        assert second.branches(TITLE) == branches
        first.close()
        second.close()

    def test_history_says_who_did_what_and_from_what(self, book: sl.Logbook) -> None:
        book.save(recipe(42), cook="M.")
        book.save(recipe(52), cook="A.")
        kept = book.record(pot(2, cook="A."))
        book.record(pot(2, cook="M.", replaces=kept.id, note="the scale was read wrong"))
        book.take_back(book.all_batches(TITLE)[0], "wrong pot")
        said = book.history(TITLE)
        assert list(said["what"]) == [
            f"saved {TITLE}, version 1", f"saved {TITLE}, version 2", f"recorded batch 1 of {TITLE}", f"corrected batch 1 of {TITLE}",
            f"took back the correction of batch 1 of {TITLE}",
        ]  # fmt: skip
        assert list(said["who"])[:4] == ["M.", "A.", "A.", "M."] and said["from_what"].iloc[1] == "version 1"
        assert said["from_what"].iloc[-1] == "wrong pot"


def test_a_lost_connection_is_opened_again_and_nothing_is_lost(postgres_server) -> None:
    book = sl.open_logbook(postgres_server.database())
    book.save(recipe())
    for number in range(1, 6):
        postgres_server.end_sessions()
        assert book.record(pot()).number == number
    assert len(book.all_batches(TITLE)) == 5
    book.close()


def test_a_write_whose_answer_was_lost_is_not_done_twice(place, monkeypatch: pytest.MonkeyPatch) -> None:
    """The commit arrives and the line breaks before the answer: the second try finds the record and adds none."""
    from sqlalchemy.exc import OperationalError

    from spoonline.logbook import engine as room

    book = sl.open_logbook(place)
    book.save(recipe())
    real, broken = room.writing, []

    class Broken:
        def __init__(self, engine: object) -> None:
            self.inner = real(engine)

        def __enter__(self) -> object:
            return self.inner.__enter__()

        def __exit__(self, *what: object) -> object:
            out = self.inner.__exit__(*what)
            if not broken and what[0] is None:
                broken.append(True)
                raise OperationalError("commit", {}, Exception("connection closed"))
            return out

    monkeypatch.setattr(room, "writing", Broken)
    assert book.record(pot()).number == 1
    broken.clear()
    assert book.save(recipe(60)).number == 2
    monkeypatch.undo()
    assert len(book.all_batches()) == 1 and len(book.all_versions(TITLE)) == 2
    book.close()


class TestPhotos:
    def test_upright_and_without_place(self, book: sl.Logbook) -> None:
        exif = Image.Exif()
        exif[0x0112] = 6  # to be turned a quarter to the right
        exif[0x010F] = "A camera"
        exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)  # a place
        book.save(recipe())
        batch = book.record(pot())
        kept = book.attach(batch, photo(exif=exif, comment=b"secret"), "A plate")
        data = book.picture_data(kept)
        with Image.open(io.BytesIO(data)) as shown:
            assert shown.size == (40, 60) and (kept.width, kept.height) == (40, 60)
            assert not shown.getexif() and "comment" not in shown.info
            top, bottom = shown.getpixel((20, 5)), shown.getpixel((20, 55))
        assert top[1] < 80 < 180 < bottom[1], "the red half is on top after a quarter turn"
        assert b"secret" not in data and b"A camera" not in data
        assert book.pictures(TITLE, batch) == [kept]
        book.attach(batch, photo(exif=exif, comment=b"other"))
        with book.store.reading() as connection:
            assert len(connection.execute(tables.pictures.select()).all()) == 1, "the same pixels are stored once"

    @pytest.mark.parametrize("form", ["PNG", "JPEG", "WEBP"])
    def test_kinds(self, form: str) -> None:
        data, media, *_ = cleaned(photo(form))
        assert media == f"image/{form.lower()}" and cleaned(data)[2:] == (60, 40)

    def test_large_ones_are_made_smaller_and_nonsense_is_refused(self, book: sl.Logbook) -> None:
        assert cleaned(photo("PNG", (4000, 1000)))[2:] == (2000, 500)
        for bad, said in (
            (b"not a photo", "no photo that can be read"),
            (photo("GIF"), "no photo that can be read"),
            (photo("PNG")[:60], "no photo that can be read"),
            (b"\x00" * (MOST_BYTES + 1), "MB are the most"),
            (photo("PNG", (9000, 9000)), "million are the most"),
        ):
            with pytest.raises(LogbookError, match=said):
                cleaned(bad)
        book.save(recipe())
        with pytest.raises(LogbookError, match="save it first"):
            book.attach(pot(), photo())

    def test_they_go_out_and_come_back(self, book: sl.Logbook, tmp_path: Path) -> None:
        book.save(recipe())
        kept = book.attach(book.record(pot()), photo("WEBP"))
        book.export(tmp_path / "out")
        again = sl.Logbook.restore(tmp_path / "out", tmp_path / "again.sqlite")
        assert again.picture_data(kept) == book.picture_data(kept)
        again.close()
        stored = next((tmp_path / "out" / "photos").iterdir())
        stored.write_bytes(stored.read_bytes() + b"x")
        with pytest.raises(LogbookError, match="was changed after the export"):
            sl.Logbook.restore(tmp_path / "out", tmp_path / "third.sqlite")


class TestExport:
    def test_tables_for_a_spreadsheet(self, tmp_path: Path) -> None:
        book = make_demo(tmp_path / "kitchen.sqlite")
        book.record(pot(5, cook="=cmd|' /C calc'!A0", note="+1"))
        folder = book.export(tmp_path / "out")
        rows = list(csv.DictReader(io.StringIO((folder / "batches.csv").read_text(encoding="utf-8"))))
        assert len(rows) == len(book.all_batches()) and "dose_g_per_l" in rows[0] and "viscosity_pa_s" in rows[0]
        for name in ("versions.csv", "batches.csv", "readings.csv"):
            for row in csv.reader(io.StringIO((folder / name).read_text(encoding="utf-8"))):
                assert not [cell for cell in row if cell[:1] in "=+@\t" and cell], row
        assert any(cell.startswith("'=cmd") for row in rows for cell in row.values())
        book.close()

    def test_a_negative_number_stays_a_number(self) -> None:
        assert harmless(-1.5) == -1.5 and harmless("") == ""

    def test_names_of_tasters_stay_in_the_logbook_unless_asked(self, book: sl.Logbook, tmp_path: Path) -> None:
        book.save(recipe(42))
        book.save(recipe(52))
        samples = [Sample(label="version 1", version=1), Sample(label="version 2", version=2)]
        session = plan_session(TITLE, "pair", samples, 4).model_copy(update={"names": ("Ann", "Ben", "Cleo", "Dan")})
        book.keep(session)
        without = (book.export(tmp_path / "a") / "kept.jsonl").read_text()
        with_ = (book.export(tmp_path / "b", names=True) / "kept.jsonl").read_text()
        assert "Cleo" not in without and "Cleo" in with_
        assert json.loads(without)["body"]["tasters"] == 4

    def test_an_export_of_an_older_schema_is_restored(self, tmp_path: Path) -> None:
        book = make_demo(tmp_path / "kitchen.sqlite")
        folder = book.export(tmp_path / "out")
        manifest = json.loads((folder / "manifest.json").read_text())
        manifest["schema"] = 1
        del manifest["files"]["kept.jsonl"]
        (folder / "kept.jsonl").unlink()
        (folder / "manifest.json").write_text(json.dumps(manifest))
        again = sl.Logbook.restore(folder, tmp_path / "again.sqlite")
        assert again.all_batches() == book.all_batches()
        again.close()
        book.close()
