"""Small samples of the long experiments: a killed writer, eight writers, a flipped byte; both engines where there are two."""

from __future__ import annotations

import importlib.util
import random
import sys
from pathlib import Path
from types import ModuleType

import pytest

import spoonline as sl
from spoonline.logbook import make_demo
from spoonline.logbook.care import check

HERE = Path(__file__).resolve().parents[1] / "experiments"


def experiment(name: str) -> ModuleType:
    """An experiment as a module."""
    spec = importlib.util.spec_from_file_location(name, HERE / f"{name}.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.long
def test_a_killed_writer_loses_nothing_that_was_acknowledged(place) -> None:
    told, lost, closed = experiment("logbook_kills").run(lambda: str(place), 4)
    assert (lost, closed) == (0, 0) and told >= 0


@pytest.mark.long
def test_writers_at_once_lose_and_double_nothing(place) -> None:
    said = experiment("logbook_writers").run(str(place), 4, 15)
    assert said.startswith("4 writers x 15: 60 there, 0 lost, 0 doubled, each cook's order kept")


def test_a_flipped_byte_never_gives_a_batch_that_was_not_kept(tmp_path: Path) -> None:
    rng = random.Random(5)
    whole = make_demo(tmp_path / "whole.sqlite")
    kept = {batch.id: batch for batch in whole.all_batches()}
    whole.close()
    data = (tmp_path / "whole.sqlite").read_bytes()
    named = 0
    for number, place in enumerate(rng.sample(range(100, len(data)), 25)):
        hurt = bytearray(data)
        hurt[place] ^= 1 << rng.randrange(8)
        path = tmp_path / f"hurt{number}.sqlite"
        path.write_bytes(bytes(hurt))
        try:
            book = sl.open_logbook(path)
        except sl.KitchenError:
            named += 1
            continue
        try:
            assert all(kept.get(batch.id) == batch for batch in book.all_batches())
            named += bool(check(book).faults)
        except sl.KitchenError as err:
            assert str(err).count(".") <= 3
            named += 1
        finally:
            book.close()
    assert named > 0


@pytest.mark.long
def test_a_full_disk_loses_nothing_that_was_acknowledged() -> None:
    if sys.platform != "linux":
        pytest.skip("the limit on file sizes is tried on Linux only")
    import subprocess

    code = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (600_000, resource.RLIM_INFINITY));"
        f"sys.path.insert(0, {str(HERE)!r}); import logbook_mishaps as m, tempfile; from pathlib import Path;"
        "told, said, there = m.until_full(Path(tempfile.mkdtemp()) / 'kitchen.sqlite'); print(told, there, said)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    told, there, said = done.stdout.split(" ", 2)
    assert int(told) == int(there) > 0
    assert "full" in said or "could not be used" in said


def test_records_are_read_as_stored_under_releases_that_never_were() -> None:
    tried, records, wrong = experiment("logbook_schema_changes").run(8, records=80, seed=3)
    assert (tried, wrong) == (8, 0) and records >= 80
