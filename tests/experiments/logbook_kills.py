"""Kill a writing process at random moments, and see whether anything it was told is saved has gone.

    python tests/experiments/logbook_kills.py [rounds] [sqlite|postgresql] [--crowd]

Each round a process records batches as fast as it can and prints the number of each that was acknowledged; it is killed
(SIGKILL) after a random time. Then the logbook is opened, checked whole, and compared with what was acknowledged. With
``--crowd`` the writer has opened the logbook twice and writes through both in turn, and another process opens it and ends
before the kill.
"""

from __future__ import annotations

import itertools
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from multiprocessing import get_context
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

TITLE = "Roast parsnip and pear soup"
WRITER = f"""
import itertools, sys
from datetime import date
import spoonline as sl
books = [sl.open_logbook(sys.argv[1]) for _ in range(int(sys.argv[2]))]
batch = sl.Batch(title={TITLE!r}, version=1, cooked_on=date(2026, 1, 8), note="x" * 400)
print("ready", flush=True)
for book in itertools.cycle(books):
    print(book.record(batch).id, flush=True)
"""


def one_round(where: str, rng: random.Random, known: set[str], crowd: bool = False) -> tuple[int, list[str], str]:
    """Run and kill one writer; how many it had acknowledged, which of all are lost, and what does not open."""
    import spoonline as sl
    from spoonline.logbook.care import check

    command = [sys.executable, "-c", WRITER, where, "2" if crowd else "1"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    if crowd:
        visitor = get_context("fork").Process(target=lambda: sl.open_logbook(where).close())
        visitor.start()
        visitor.join()
    time.sleep(rng.uniform(0.0, 0.25))
    os.kill(process.pid, signal.SIGKILL)
    acknowledged = [line.strip() for line in process.stdout.read().splitlines() if len(line.strip()) == 64]
    process.wait()
    process.stdout.close()
    known |= set(acknowledged)
    try:
        book = sl.open_logbook(where)
        there = {batch.id for batch in book.all_batches()}
        faults = check(book).faults
        book.close()
    except sl.KitchenError as err:
        return len(acknowledged), [], str(err)
    return len(acknowledged), sorted(known - there), "; ".join(faults)


def run(new_place: Callable[[], str], rounds: int, seed: int = 1, crowd: bool = False) -> tuple[int, int, int]:
    """Rounds of killing; records acknowledged, acknowledged ones lost, and rounds after which it did not open or was not whole.

    Twenty rounds share a logbook, so that each is killed again and again; then a new one begins.
    """
    import spoonline as sl

    rng, known, where = random.Random(seed), set[str](), ""
    told = lost = closed = 0
    for number in range(rounds):
        if number % 20 == 0:
            where, known = new_place(), set()
            book = sl.open_logbook(where)
            book.save(sl.Recipe(title=TITLE, ingredients=["1.5 l vegetable stock", "50 g corn starch"]))
            book.close()
        count, gone, fault = one_round(where, rng, known, crowd)
        told += count
        lost += len(gone)
        known -= set(gone)
        closed += bool(fault)
        if fault:
            print("  ", fault)
    return told, lost, closed


def main() -> None:
    """Both engines, or the one that is named."""
    import postgres

    crowd = "--crowd" in sys.argv
    words = [word for word in sys.argv[1:] if word != "--crowd"]
    rounds = int(words[0]) if words else 300
    kinds = words[1:] or ["sqlite", "postgresql"]
    if "sqlite" in kinds:
        with tempfile.TemporaryDirectory() as folder:
            count = itertools.count()
            print(f"sqlite: {rounds} rounds", end=", ", flush=True)
            print(
                "{} acknowledged, {} lost, {} times not whole".format(
                    *run(lambda: str(Path(folder) / f"{next(count)}.sqlite"), rounds, crowd=crowd)
                )
            )
    if "postgresql" in kinds:
        with postgres.serve(durable=True) as server:
            print(f"postgresql: {rounds} rounds", end=", ", flush=True)
            print("{} acknowledged, {} lost, {} times not whole".format(*run(server.database, rounds, crowd=crowd)))


if __name__ == "__main__":
    main()
