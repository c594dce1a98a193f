"""Eight writers on one logbook, 200 batches each: lost, doubled, order, and how long they wait.

python tests/experiments/logbook_writers.py [writers] [batches]
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

TITLE = "Roast parsnip and pear soup"
WRITER = f"""
import json, sys, time
from datetime import date
import spoonline as sl
where, who, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
book = sl.open_logbook(where)
print("ready", flush=True)
sys.stdin.readline()
waits, made = [], []
for n in range(count):
    start = time.perf_counter()
    made.append(book.record(sl.Batch(title={TITLE!r}, version=1, cooked_on=date(2026, 1, 8), cook=who, note=str(n))).number)
    waits.append(time.perf_counter() - start)
print(json.dumps([made, waits]), flush=True)
"""


def run(where: str, writers: int = 8, batches: int = 200) -> str:
    """Let them all write at once and compare what is there with what each was told."""
    import spoonline as sl

    book = sl.open_logbook(where)
    book.save(sl.Recipe(title=TITLE, ingredients=["1.5 l vegetable stock", "50 g corn starch"]))
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, where, f"cook {n}", str(batches)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for n in range(writers)
    ]
    for process in processes:
        assert process.stdout is not None and process.stdout.readline() == "ready\n"
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("go\n")
        process.stdin.flush()
    told, waits = {}, []
    for n, process in enumerate(processes):
        out, _ = process.communicate(timeout=600)
        made, waited = json.loads(out)
        told[f"cook {n}"] = made
        waits += waited
    there = book.all_batches()
    book.close()
    numbers = [batch.number for batch in there]
    lost = sum(number not in set(numbers) for made in told.values() for number in made)
    doubled = len(numbers) - len(set(numbers))
    in_order = all(
        [batch.note for batch in there if batch.cook == who] == [str(n) for n in range(batches)] for who in told
    )
    waits.sort()
    late = waits[int(0.99 * len(waits))]
    return (
        f"{writers} writers x {batches}: {len(numbers)} there, {lost} lost, {doubled} doubled, each cook's order "
        f"{'kept' if in_order else 'NOT kept'}; wait median {1000 * median(waits):.1f} ms, 99 of 100 {1000 * late:.0f} ms, "
        f"worst {1000 * waits[-1]:.0f} ms"
    )


def main() -> None:
    """Both engines."""
    import postgres

    writers, batches = (int(each) for each in (sys.argv[1:3] or (8, 200)))
    with tempfile.TemporaryDirectory() as folder:
        print("sqlite:", run(str(Path(folder) / "kitchen.sqlite"), writers, batches))
    with postgres.serve(durable=True) as server:
        print("postgresql:", run(server.database(), writers, batches))


if __name__ == "__main__":
    main()
