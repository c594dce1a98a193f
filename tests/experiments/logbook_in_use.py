"""Back up and move a logbook while others write in it: copies that fail, are not whole, or lack what was acknowledged before.

    python tests/experiments/logbook_in_use.py [times] [sqlite|postgresql]

Three processes record as fast as they can and tell each pot that was acknowledged. Meanwhile the logbook is backed up and moved so
often; each copy is opened, checked whole, and held against what was acknowledged before it was begun. A sentence that something is
wrong is a false alarm: nothing is.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from experiments.logbook_kills import TITLE, WRITER

WRITERS = 3


def told_of(process: subprocess.Popen[str], told: list[str]) -> None:
    """Keep what a writer says was acknowledged."""
    assert process.stdout is not None
    told.extend(line.strip() for line in process.stdout if len(line) == 65)


def run(where: str, new_place: Callable[[], str], times: int) -> str:
    """Back up and move so often under load; the counts in a sentence."""
    import spoonline as sl
    from spoonline.logbook.care import backup, check, move

    with closing(sl.open_logbook(where)) as book:
        book.save(sl.Recipe(title=TITLE, ingredients=["1.5 l vegetable stock", "50 g corn starch"]))
    command = [sys.executable, "-c", WRITER, where, "1"]
    told: list[str] = []
    writers = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(WRITERS)]
    threads = [threading.Thread(target=told_of, args=(each, told)) for each in writers]
    alarms, lost, copies = list[str](), 0, dict[str, int]()
    try:
        for each in threads:
            each.start()
        with tempfile.TemporaryDirectory() as folder:
            for turn in range(times):
                for name, work in (("backup", backup), ("move", move)):
                    target = new_place() if name == "move" else str(Path(folder) / f"{turn}.sqlite")
                    before = set(told)
                    try:
                        work(where, target)
                        with closing(sl.open_logbook(target, create=False)) as copy:
                            alarms += check(copy).faults
                            lost += len(before - {each.id for each in copy.all_batches()})
                        copies[name] = copies.get(name, 0) + 1
                    except sl.KitchenError as err:
                        alarms.append(str(err))
    finally:
        ended = [each.poll() for each in writers]
        for each in writers:
            each.kill()
            each.wait()
        for thread in threads:
            thread.join()
    with closing(sl.open_logbook(where)) as book:
        lost += len(set(told) - {each.id for each in book.all_batches()})
        alarms += check(book).faults
    stopped = sum(code is not None for code in ended)
    made = ", ".join(f"{count} {name}s" for name, count in copies.items())
    return (
        f"{made} beside {WRITERS} writers: {len(told)} acknowledged, {lost} lost, {len(alarms)} false alarms, "
        f"{stopped} writers stopped" + "".join(f"\n  {each}" for each in alarms[:5])
    )


def main() -> None:
    """Both engines, or the one that is named."""
    import postgres

    times = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    kinds = sys.argv[2:] or ["sqlite", "postgresql"]
    if "sqlite" in kinds:
        with tempfile.TemporaryDirectory() as folder:
            place = iter(range(10_000))
            print(
                "sqlite:",
                run(f"{folder}/kitchen.sqlite", lambda: f"{folder}/moved{next(place)}.sqlite", times),
                flush=True,
            )
    if "postgresql" in kinds:
        with postgres.serve(durable=True) as server:
            print("postgresql:", run(server.database(), server.database, times))


if __name__ == "__main__":
    main()
