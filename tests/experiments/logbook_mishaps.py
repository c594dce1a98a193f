"""A full disk, a folder that cannot be written, a file cut short, and flipped bytes: what a cook reads, and what is lost.

    python tests/experiments/logbook_mishaps.py [places]

The full disk is a small tmpfs where this machine lets one be mounted, else a limit on the size of files.
"""

from __future__ import annotations

import collections
import random
import re
import resource
import shutil
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

import spoonline as sl
from spoonline.logbook import make_demo
from spoonline.logbook.care import check
from spoonline.tasters import Session

TITLE = "Roast parsnip and pear soup"


def until_full(path: Path) -> tuple[int, str, int]:
    """Record until it fails: how many were acknowledged, what was said, and how many are there afterwards."""
    book = make_demo(path)
    before = len(book.all_batches())
    told, said = 0, ""
    while not said and told < 20_000:
        try:
            book.record(sl.Batch(title=TITLE, version=1, cooked_on=date(2026, 1, 8), note="x" * 3000))
            told += 1
        except sl.KitchenError as err:
            said = str(err)
    book.close()
    again = sl.open_logbook(path)
    there = len(again.all_batches()) - before
    again.close()
    return told, said, there


def full_disk() -> None:
    """In a process of its own, so that the limit ends with it."""
    with tempfile.TemporaryDirectory() as folder:
        mounted = (
            subprocess.run(["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", folder], capture_output=True).returncode
            == 0
        )
        try:
            if mounted:
                told, said, there = until_full(Path(folder) / "kitchen.sqlite")
                print(f"full disk (2 MB tmpfs): {told} acknowledged, {told - there} of them lost; said: {said}")
                return
        finally:
            if mounted:
                subprocess.run(["umount", folder], check=True)
        import signal

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (2_000_000, resource.RLIM_INFINITY))
        told, said, there = until_full(Path(folder) / "kitchen.sqlite")
        print(f"full disk (files limited to 2 MB): {told} acknowledged, {told - there} of them lost; said: {said}")


def read_only() -> None:
    """A folder and a file without the right to write; root may write anyway, so another user tries."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        path = Path(folder) / "kitchen.sqlite"
        make_demo(path).close()
        path.chmod(0o444)
        Path(folder).chmod(0o555)
        code = (
            "import os, sys, spoonline as sl, spoonline.logbook.care, sqlalchemy.dialects.sqlite\n"
            "os.geteuid() == 0 and (os.setgid(65534), os.setuid(65534))\n"
            "try: sl.open_logbook(sys.argv[1])\nexcept sl.KitchenError as err: print(err)\nelse: print('opened')"
        )
        for name in (path, Path(folder) / "new.sqlite"):
            done = subprocess.run([sys.executable, "-c", code, str(name)], capture_output=True, text=True)
            print(f"read-only, {name.name}: {done.stdout.strip() or done.stderr.strip()[-200:]}")
        Path(folder).chmod(0o755)


def everything(book: sl.Logbook) -> str:
    """All that can be read of a logbook, as text."""
    versions = [each for title in book.titles() for each in book.all_versions(title)]
    kept = [each for kind in (sl.OwnSpoon, sl.Pan, Session) for each in book.kept(kind, history=True)]
    return "\n".join(map(repr, (*versions, *book.all_batches(), *kept, book.history().to_csv())))


def damage(places: int = 100, seed: int = 1) -> tuple[int, int]:
    """Cut the file, and flip a byte, at random places of a demo with more pots in it.

    Batches that were read and differ from what was kept, and places where anything reads otherwise and check finds nothing.
    """
    unnamed = all_wrong = 0
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        whole = Path(folder) / "whole.sqlite"
        book = make_demo(whole)
        for number in range(300):
            book.record(sl.Batch(title=TITLE, version=1 + number % 5, cooked_on=date(2026, 1, 8), note=f"pot {number}"))
        book.take_back(book.correct(book.all_batches(TITLE)[-1], note="corrected"), "taken back")
        all_, before = {batch.id: batch for batch in book.all_batches()}, everything(book)
        book.close()
        size = whole.stat().st_size
        for what in ("cut short", "one byte flipped"):
            seen: collections.Counter[str] = collections.Counter()
            kept, wrong, examples = [], 0, {}
            for place in rng.sample(range(100, size), places):
                path = Path(folder) / "hurt.sqlite"
                for each in Path(folder).glob("hurt*"):
                    each.unlink()
                shutil.copy(whole, path)
                if what == "cut short":
                    with path.open("r+b") as file:
                        file.truncate(place)
                else:
                    data = bytearray(path.read_bytes())
                    data[place] ^= 1 << rng.randrange(8)
                    path.write_bytes(bytes(data))
                try:
                    book = sl.open_logbook(path)
                    try:
                        found = check(book)
                        read = book.all_batches()
                        kept.append(len(read) / len(all_))
                        wrong += sum(all_.get(batch.id) != batch for batch in read)
                        said = "opened, check finds no fault" if not found.faults else "opened, check names it"
                        if not found.faults and everything(book) != before:
                            said = "opened, check finds no fault, and something reads otherwise"
                            unnamed += 1
                        if found.faults:
                            examples.setdefault(said, found.faults[0])
                    finally:
                        book.close()
                except sl.KitchenError as err:
                    said = "refused in a sentence: " + re.sub(r"\\(.*\\)", "(...)", str(err))[:60]
                    examples.setdefault(said, str(err))
                seen[said] += 1
            mean = 100 * sum(kept) / len(kept) if kept else 0.0
            print(
                f"{what} at {places} random places: where it opened {mean:.1f} % of the batches are read, {wrong} of them other than kept"
            )
            all_wrong += wrong
            for said, count in seen.most_common():
                print(f"  {count}: {said}" + (f" ({examples[said]})" if said in examples else ""))
    return all_wrong, unnamed


if __name__ == "__main__":
    read_only()
    damage(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
    full_disk()
