"""How long each screen, ``check`` and export take over a large logbook, and what memory they ask for; beside the plainest SQL.

    python tests/experiments/size.py [DISHESxPOTS ...] [--postgresql] [--only SCREEN] [--cpu]

without sizes: 1000x100 (dishes x pots each), 1x5000 and 1x300. The records are those of the demo, each dish and pot under its own name, with
its own figures. ``--postgresql`` does all of it on a server of its own too.

Each screen opens in a process of its own, without a browser. ``opens``: its form is built; ``choice``: another dish, or an aim, is
chosen; ``heard``: another process saved a pot and the form shows it. MB: the most memory of that process above a bare kernel, spoonline
and its libraries included. Each process has one thread of linear algebra, as the kernels of the lab have. ``--cpu`` counts seconds
of this process's processor time, for a machine that is busy with other work (a database's own time is not in them).
``SQL``: the rows that the screen shows, read by hand (sqlite3 or psycopg) and their JSON parsed; ``ratio``: ``opens`` over that.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from statistics import median
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import large

SIZES, PATIENCE_S, LAST, PAGE = ("1000x100", "1x5000", "1x300"), 400.0, 200, 30
CLOCK = time.process_time if "--cpu" in sys.argv else time.perf_counter
SCREENS = ("start", "stove", "dose", "compare", "card", "flow", "plan", "ingredients", "tasters", "import", "ahead")
JOBS = (*SCREENS, "check", "export")


def by_hand(where: str) -> Any:
    """A bare connection."""
    if "://" in where:
        import psycopg

        return psycopg.connect(where.replace("postgresql+psycopg", "postgresql"))
    import sqlite3

    return sqlite3.connect(where)


def plainest(where: str, job: str, title: str) -> Callable[[], object] | None:
    """What reads the rows of a job by hand; none where it reads none."""
    mark = "%s" if "://" in where else "?"
    raw = by_hand(where)

    def parsed(query: str, *given: object) -> list[Any]:
        return [json.loads(row[0]) for row in raw.execute(query.replace("?", mark), given).fetchall()]

    def dish(name: str) -> None:
        parsed("SELECT body FROM versions WHERE title = ? ORDER BY number", name)
        parsed(f"SELECT body FROM batches WHERE title = ? ORDER BY number DESC LIMIT {LAST}", name)

    def start() -> None:
        names = raw.execute("SELECT title FROM versions WHERE number = 1 ORDER BY seq").fetchall()
        for (name,) in names[-PAGE:]:
            parsed("SELECT body FROM versions WHERE title = ? ORDER BY number", name)
            parsed("SELECT body FROM batches WHERE title = ? ORDER BY number DESC LIMIT 1", name)
            raw.execute(f"SELECT count(*) FROM batches WHERE title = {mark}", (name,)).fetchall()

    def everything() -> None:
        for name in ("versions", "batches", "kept"):
            for row in raw.execute(f"SELECT * FROM {name} ORDER BY seq"):
                json.loads(row[-2])

    shown: dict[str, Callable[[], object]] = {
        name: lambda: dish(title) for name in ("stove", "dose", "compare", "card")
    }
    shown |= dict.fromkeys(("check", "export"), everything) | {"start": start}
    shown["tasters"] = lambda: parsed("SELECT body FROM versions WHERE title = ?", title)
    return shown.get(job)


def panel_of(job: str, book: Any) -> Any:
    """The form of a screen."""
    from spoonline import widgets

    names = {"start": "Start", "ahead": "MakeAhead"}
    kind = getattr(widgets, f"{names.get(job, job.capitalize())}Panel")
    return kind() if job == "flow" else kind(book)


def choose(job: str, panel: Any, titles: list[str]) -> Callable[[], object] | None:
    """One choice that a cook makes on a screen: another dish, or where there is one dish another aim or pair of versions."""
    field = getattr(panel, "title", None)
    if job in ("stove", "compare", "card", "tasters", "dose") and len(titles) > 1:
        other = next(title for title in reversed(titles) if title != field.value)
        return lambda: field.set_trait("value", other)
    if job == "dose":
        return lambda: panel.how.like.set_trait("value", panel.how.like.options[1][1])
    if job == "compare":
        return lambda: panel.old.set_trait("value", panel.old.options[0][1])
    if job in ("card", "stove"):
        return lambda: panel.number.set_trait("value", panel.number.options[0][1])
    return None


def seconds(job: Callable[[], object] | None) -> float | None:
    """How long something takes [s]."""
    if job is None:
        return None
    begun = CLOCK()
    job()
    return CLOCK() - begun


ANOTHER = """
import sys, spoonline as sl
book = sl.open_logbook(sys.argv[1])
pot = book.dish(sys.argv[2]).batches[-1]
book.record(pot.changed(id="", number=0, recorded_at=None, note=sys.argv[3]))
book.close()
"""


def one(job: str, where: str) -> dict[str, Any]:
    """One job of this process."""
    import ipykernel.ipkernel  # noqa: F401
    import ipywidgets  # noqa: F401

    if job == "bare":
        return {"peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}
    from spoonline.logbook import open_logbook, passing_demo
    from spoonline.logbook.care import check

    os.environ["SPOONLINE_RAISE"] = "1"
    found: dict[str, Any] = {}
    with closing(open_logbook(where)) as book, tempfile.TemporaryDirectory() as folder:
        titles = book.titles()
        with passing_demo() as demo:  # libraries and facts are read before anything is timed
            demo.export(Path(folder) / "demo") if job in ("check", "export") else panel_of(job, demo).close_all()
        if job == "check":
            found["opens"] = seconds(lambda: found.update(faults=len(check(book).faults)))
        elif job == "export":
            found["opens"] = seconds(lambda: book.export(Path(folder) / "out"))
        else:
            os.chdir(folder)
            made: list[Any] = []
            found["opens"] = seconds(lambda: made.append(panel_of(job, book)))
            found["choice"] = seconds(choose(job, made[0], titles))
            if job != "flow":
                shown = getattr(getattr(made[0], "title", None), "value", "") or titles[-1]
                shown = shown if shown in titles else titles[-1]
                saved = [sys.executable, "-c", ANOTHER, where, shown, f"{job} {time.time()}"]
                subprocess.run(saved, check=True, env=os.environ)
                found["heard"] = seconds(made[0].look)
            found["wrong"] = "" if job == "flow" else made[0].alert.value
        found["peak"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        plain = plainest(where, job, titles[0])
        if plain is not None:
            plain()
            found["by_hand"] = median(seconds(plain) or 0.0 for _ in range(1 if job in ("check", "export") else 9))
    return found


def told(job: str, where: str) -> dict[str, Any]:
    """What a process of its own found of a job."""
    try:
        done = subprocess.run(
            [sys.executable, __file__, "--one", job, where, *sys.argv[1:]], capture_output=True, text=True, timeout=PATIENCE_S, check=False,
            env=os.environ | {"OPENBLAS_NUM_THREADS": "1"},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return {"late": True}
    if done.returncode:
        raise SystemExit(done.stderr)
    answer: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return answer


def table(where: str, only: str) -> Iterator[str]:
    """The jobs of one logbook, a line each."""
    bare = told("bare", where)["peak"]
    yield f"{'':12} {'opens s':>8} {'choice s':>9} {'heard s':>8} {'MB':>5} {'SQL ms':>8} {'ratio':>6}"
    for job in JOBS:
        if only and only != job:
            continue
        found = told(job, where)
        if "late" in found:
            yield f"{job:12} more than {PATIENCE_S:g} s"
            continue
        cells = [f"{found[name]:.2f}" if found.get(name) is not None else "" for name in ("opens", "choice", "heard")]
        hand = found.get("by_hand")
        ratio = f"{1000 * hand:8.1f} {found['opens'] / hand:6.1f}" if hand else ""
        more = (
            f"  {found['faults']} faults"
            if job == "check"
            else found.get("wrong", "")[:90].partition('"alert"></div>')[0][23:]
        )
        yield f"{job:12} {cells[0]:>8} {cells[1]:>9} {cells[2]:>8} {found['peak'] - bare:5.0f} {ratio}{more}"


def main() -> None:
    """Build each logbook, and say what each job took."""
    given = sys.argv[1:]
    if given[:1] == ["--one"]:
        print(json.dumps(one(*given[1:3])))
        return
    only = given[given.index("--only") + 1] if "--only" in given else ""
    sizes = [each for each in given if each.replace("x", "").isdigit()] or list(SIZES)
    with tempfile.TemporaryDirectory() as folder:
        for size in sizes:
            where = str(Path(folder) / f"{size}.sqlite")
            compare(size, where, only)
        if "--postgresql" in given:
            import postgres

            with postgres.serve(durable=True) as server:
                for size in sizes:
                    compare(size, server.database(), only)


def compare(size: str, where: str, only: str) -> None:
    """One logbook of a size."""
    dishes, pots = map(int, size.split("x"))
    begun = time.perf_counter()
    large.fill(where, dishes, pots)
    if "://" in where:
        with closing(by_hand(where)) as raw:
            raw.autocommit = True
            raw.execute("ANALYZE")
    kind = "postgresql" if "://" in where else f"sqlite, {Path(where).stat().st_size / 1e6:.0f} MB"
    print(f"\n{dishes} dishes x {pots} pots, {kind} (made in {time.perf_counter() - begun:.0f} s)", flush=True)
    for line in table(where, only):
        print(line, flush=True)


if __name__ == "__main__":
    main()
