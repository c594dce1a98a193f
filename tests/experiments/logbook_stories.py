"""Tell stories of a logbook and count what was acknowledged and lost: several handles, other processes, copies, kills.

    python tests/experiments/logbook_stories.py [stories] [sqlite|postgresql ...] [--found] [--kit PATH]

``--found`` tells only stories of the kind in which records of release 0.1.0 were lost, every combination of openers, writers
and end in turn. ``--kit`` runs them with another kit, such as the ``kit`` folder of an earlier checkout.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from contextlib import nullcontext
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

COLUMNS = ("acknowledged", "lost", "told twice", "copies", "not whole", "false alarms", "refused", "broken")


def main() -> None:
    """One row an engine; then the tale of the first story that went wrong, and what was refused how often."""
    import postgres
    from logbook import stories

    parser = argparse.ArgumentParser()
    parser.add_argument("stories", type=int, nargs="?", default=100)
    parser.add_argument("engines", nargs="*", default=["sqlite", "postgresql"])
    parser.add_argument("--found", action="store_true")
    parser.add_argument("--kit", default="")
    given = parser.parse_args()
    print("engine", "stories", *COLUMNS, "seconds", sep=" | ")
    for engine in given.engines:
        begun = time.perf_counter()
        found = [(n % 3 + 1, n // 3 % 2 + 1, n // 6 % 2 == 0) if given.found else () for n in range(given.stories)]
        with postgres.serve() if engine == "postgresql" else nullcontext() as server:
            told = stories.tell([(engine, n, *each) for n, each in enumerate(found)], server, given.kit)
        total: Counter[str] = sum((Counter(score) for score, _ in told), Counter())
        figures = [total[name] for name in COLUMNS]
        print(engine, len(told), *figures, f"{time.perf_counter() - begun:.0f}", sep=" | ", flush=True)
        wrong = [said for score, said in told if any(score.get(name) for name in stories.WRONG)]
        print(f"{len(wrong)} stories went wrong", *(wrong[0] if wrong else ()), sep="\n")
        refused = Counter(line for _, said in told for line in said if line.startswith("  refused"))
        print(*(f"{often} times{line}" for line, often in refused.most_common(8)), sep="\n")


if __name__ == "__main__":
    main()
