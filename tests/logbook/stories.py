"""Stories of a logbook: kernels, other processes, copies and kills in any order, and a count of what was acknowledged.

:func:`tell` starts this file as a program, with another kit where one is named. That program imports the package once, never
opens a logbook itself, and forks every process of a story from there: a kernel with its handles, another notebook, a command.
"""

from __future__ import annotations

import atexit
import gc
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from contextlib import closing, suppress
from dataclasses import dataclass, field
from itertools import count
from multiprocessing import Pipe
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine, text

import spoonline as sl
from spoonline.logbook import care
from spoonline.recipes import OwnSpoon

HERE = Path(__file__).resolve()
TITLE = "Roast parsnip and pear soup"
EVERYTHING = (
    "SELECT 'version', title, number, id FROM versions UNION ALL SELECT 'pot', title, number, id FROM batches "
    "UNION ALL SELECT 'kept', title, 0, id FROM kept UNION ALL SELECT 'taken back', title, number, id "
    "FROM batches JOIN hidden ON hidden.key = batches.id WHERE hidden.hidden = 1"
)
WRONG = ("lost", "told twice", "not whole", "false alarms", "broken")
# A process that hangs ends the run with what had happened.
PATIENCE_S = 60


class Hand:
    """The far end, a kernel or another process; it can be asked to do its own methods and what takes care of a logbook."""

    def __init__(self, line: Any) -> None:
        self.line, self.books = line, list[sl.Logbook]()

    def serve(self) -> None:
        """Do what is asked until told to end; what is open then is left to the end of the process, as a kernel leaves it."""
        while asked := self.line.recv():
            name, *args = asked
            try:
                self.line.send(("done", (getattr(self, name, None) or getattr(care, name))(*args)))
            except sl.KitchenError as err:
                self.line.send(("refused", str(err)))
            except Exception:
                self.line.send(("broken", traceback.format_exc()))

    def open(self, where: str) -> int:
        self.books.append(sl.open_logbook(where))
        return len(self.books) - 1

    def close(self, at: int) -> None:
        self.books[at].close()

    def write(self, at: int, whats: list[str], first: int) -> None:
        """Keep one thing after the other, and tell what was told of it."""
        book = self.books[at]
        for n, what in enumerate(whats, start=first):
            if what == "kept":
                made = book.keep(OwnSpoon(item="corn starch", measure="1 tbsp", masses_g=[9 + n / 1000, 9, 8]))
            elif what == "version":
                made = book.save(sl.Recipe(title=TITLE, ingredients=["1.5 l stock", f"{20 + n / 100:g} g corn starch"]))
            else:
                number = book.version(TITLE).number
                made = book.record(sl.Batch(title=TITLE, version=number, cooked_on="2026-01-08", note=f"pot {n}"))
            if what == "taken back":
                book.take_back(made, "burnt")
            self.line.send(("told", at, (what, getattr(made, "title", ""), getattr(made, "number", 0), made.id)))

    def export(self, where: str, to: str) -> None:
        folder = tempfile.mkdtemp(dir=Path.cwd())
        with closing(sl.open_logbook(where)) as book:
            book.export(folder)
        sl.Logbook.restore(folder, to).close()

    def older(self, where: str) -> list[tuple[Any, ...]]:
        """Lay a logbook of the first release there, less what the last step of its schema brought."""
        shutil.copyfile(HERE.parents[1] / "earlier" / "0.1.0" / "kitchen.sqlite", where)
        with closing(sqlite3.connect(where)) as raw:
            raw.executescript("DROP TABLE drafts; UPDATE schema_version SET number = 3")
            return raw.execute(EVERYTHING).fetchall()

    def look(self, where: str) -> tuple[tuple[str, ...], set[tuple[Any, ...]]]:
        """What ``check`` finds, and all that is there, read beside the package."""
        with closing(sl.open_logbook(where)) as book:
            faults = care.check(book).faults
        engine = create_engine(where if "://" in where else f"sqlite:///{where}")
        with engine.connect() as connection:
            there = {tuple(row) for row in connection.execute(text(EVERYTHING))}
        engine.dispose()
        return faults, there


@dataclass(eq=False)
class Place:
    """A logbook or a copy of one: the ways to name it, what must be in it, and what was found."""

    ways: list[str]
    told: list[tuple[Any, ...]] = field(default_factory=list)
    missing: set[tuple[Any, ...]] = field(default_factory=set)
    alarms: int = 0


class Process:
    """The near end: it is asked one thing at a time, and what it acknowledges is kept with the place."""

    def __init__(self, story: Story) -> None:
        self.story, self.asked, self.killed, self.handles = story, "", False, dict[int, Place]()
        self.line, far = Pipe()
        self.pid = os.fork()
        if not self.pid:
            os.chdir(story.folder)
            self.line.close()  # else it would never hear that the one who asks is gone
            Hand(far).serve()
            # What the end of an interpreter is to a logbook, without taking apart all that was imported: ten times as quick.
            atexit._run_exitfuncs()
            gc.collect()
            os._exit(0)
        far.close()

    def ask(self, name: str, *args: Any, wait: bool = True) -> list[Any]:
        """Ask, and hear the answer, now or when it is next needed."""
        self.finish()
        self.asked, self.place = name, self.story.place
        self.story.said.append(f"{self.pid} {name} {args}"[:200])
        self.line.send((name, *args))
        return self.finish() if wait else []

    def finish(self) -> list[Any]:
        """Hear all that is said to what was asked: the answer in a list, or nothing where it was not done."""
        while self.asked:
            assert self.line.poll(PATIENCE_S), self.story.said
            try:
                kind, *said = self.line.recv()
            except (EOFError, OSError):
                kind, *said = "broken", "it ended in the middle"
            if kind == "told":
                self.handles[said[0]].told.append(said[1])
                self.story.score["acknowledged"] += 1
                continue
            name, self.asked = self.asked, ""
            if kind == "done":
                if name == "open":
                    self.handles[said[0]] = self.place
                return said
            if not self.killed:
                self.story.score[kind] += 1
                self.story.said.append(f"  {kind}: {said[0]}")
        return []

    def write(self, whats: list[str]) -> None:
        """Begin to keep some things through one of its handles."""
        self.finish()
        if self.handles:
            self.ask("write", self.story.rng.choice(list(self.handles)), whats, next(self.story.numbers), wait=False)

    def end(self, kill: bool = False) -> None:
        """End it, cleanly after what it is doing or killed at once; what it had acknowledged by then counts."""
        self.killed = kill
        if kill:
            os.kill(self.pid, signal.SIGKILL)
        self.finish()
        self.story.said.append(f"{self.pid} {'is killed' if kill else 'ends'}")
        with suppress(OSError):
            self.line.send(None)
        os.waitpid(self.pid, 0)
        self.line.close()


class Story:
    """One story of one logbook; afterwards ``score`` counts and ``said`` tells what happened."""

    def __init__(self, folder: Path, server: Any, engine: str, seed: int) -> None:
        self.server, self.engine, self.rng = server, engine, random.Random(f"{engine} {seed}")
        self.folder = Path(tempfile.mkdtemp(dir=folder))
        self.score, self.said, self.numbers = Counter[str](), [f"{engine}, seed {seed}"], count(step=100)
        self.kernels, self.place = list[Process](), self.new_place(engine)
        self.places = [self.place]

    def new_place(self, engine: str) -> Place:
        """Where no logbook is yet; a file by its whole path, from the folder one works in, and through both kinds of link."""
        if engine == "postgresql":
            return Place([self.server.database()])
        home = self.folder / f"home{next(self.numbers)}"
        home.mkdir()
        (self.folder / f"to-{home.name}").symlink_to(home)
        (self.folder / f"{home.name}.sqlite").symlink_to(home / "kitchen.sqlite")
        names = (f"{home.name}/kitchen.sqlite", f"to-{home.name}/kitchen.sqlite", f"{home.name}.sqlite")
        return Place([names[0], *(f"{self.folder}/{name}" for name in names)])

    def way(self) -> str:
        return self.rng.choice(self.place.ways)

    def look(self, place: Place, quiet: bool = False) -> bool:
        """A fresh process opens, checks and counts, and finds it whole; ``quiet``: nobody else is there, so that a fault is one."""
        told, other = set(place.told), Process(self)
        answer = other.ask("look", self.rng.choice(place.ways))
        other.end(kill=True)  # it has closed all that it opened
        if not answer and not quiet:
            return True  # counted as refused
        faults, there = answer[0] if answer else (("it does not open",), set())
        place.alarms += bool(faults) and not quiet
        self.said += [f"  {fault}" for fault in faults] + [f"  lacks {row}" for row in told - there - place.missing]
        place.missing |= told - there
        return not faults

    def count(self) -> Story:
        """Look at every place in quiet, and add up."""
        for place in self.places:
            whole = self.look(place, quiet=True)
            numbered = {row for row in place.told if row[1] == TITLE and row[2]}
            self.score["told twice"] += len(numbered) - len({row[:3] for row in numbered})
            self.score["lost"] += len(place.missing)
            self.score["not whole"] += not whole
            self.score["false alarms"] += whole * place.alarms
        shutil.rmtree(self.folder)
        return self

    def opens(self) -> None:
        """A kernel opens the logbook once more, or closes the first of three handles."""
        kernel = self.rng.choice(self.kernels)
        kernel.finish()
        if len(kernel.handles) < 3:
            kernel.ask("open", self.way())
        else:
            del kernel.handles[at := min(kernel.handles)]
            kernel.ask("close", at)

    def some(self, count: int) -> list[str]:
        return self.rng.choices(("pot", "version", "kept", "taken back"), (5, 2, 1, 1), k=count)

    def writes(self) -> None:
        """A kernel keeps some things, and the story goes on meanwhile."""
        self.rng.choice(self.kernels).write(self.some(self.rng.choice((1, 3, 6, 20))))

    def visits(self) -> None:
        """Another process opens, and perhaps writes; it ends, or is killed over either."""
        kill = self.rng.random() < 0.5
        self.visit(self.some(self.rng.choice((0, 40 if kill else 3))), kill)

    def visit(self, whats: list[str], kill: bool = False) -> None:
        other = Process(self)
        other.ask("open", self.way(), wait=False)
        if whats:
            other.write(whats)
        time.sleep(self.rng.uniform(0, 0.2) if kill else 0)
        self.ends(other, kill)

    def is_copied(self) -> None:
        """A kernel or another process makes a backup, a restored export or a move; the story may go on there."""
        name, told = self.rng.choice(("backup", "export", "move")), list(self.place.told)
        to = self.new_place("sqlite" if name == "backup" else self.rng.choice(("sqlite", self.engine)))
        process = self.rng.choice([*self.kernels, None]) or Process(self)
        if process.ask(name, self.way(), to.ways[0]):
            to.told = told
            self.score["copies"] += 1
            self.score["not whole"] += not self.look(to, quiet=True) or bool(to.missing)
            if self.rng.random() < 0.3:
                self.place = to
                self.places.append(to)
        if process not in self.kernels:
            process.end(kill=True)

    def restarts(self) -> None:
        """A kernel ends, cleanly or killed, and another begins."""
        self.ends(self.kernels.pop(0), self.rng.random() < 0.5)
        self.kernels.append(Process(self))
        self.kernels[-1].ask("open", self.way(), wait=False)

    def ends(self, process: Process, kill: bool) -> None:
        process.end(kill)
        if kill:
            self.look(self.place)

    def any(self) -> Story:
        """Everything in any order. At the beginning several may open at once what is new, or of an older schema."""
        beginning = self.rng.choice(("ordinary", "at once", "older"))
        if beginning == "older" and self.engine == "sqlite":
            other = Process(self)
            self.place.told += other.ask("older", self.place.ways[0])[0]
            other.end()
        elif beginning == "ordinary":
            self.visit(["version"])
        self.kernels = [Process(self) for _ in range(self.rng.choice((1, 2)))]
        for kernel in self.kernels:
            kernel.ask("open", self.way(), wait=False)
        self.kernels[0].write(["version", "pot"])
        self.kernels[0].finish()
        moments = (self.opens, self.writes, self.visits, lambda: self.look(self.place), self.is_copied, self.restarts)
        for moment in self.rng.choices(moments, (4, 7, 4, 2, 3, 1), k=self.rng.randint(8, 14)):
            moment()
        for kernel in self.kernels:
            self.ends(kernel, self.rng.random() < 0.5)
        return self.count()

    def found(self, openers: int, writers: int, kill: bool) -> Story:
        """How records were lost: some openers in one kernel, another process that opens and ends, then three pots a writer."""
        self.visit(["version"])
        self.kernels = [Process(self) for _ in range(writers)]
        for _ in range(openers):
            self.kernels[0].ask("open", self.way())
        self.visit([])
        for kernel in self.kernels[1:]:
            kernel.ask("open", self.way())
        for kernel in self.kernels * 3:
            kernel.write(["pot"])
            kernel.finish()
        for kernel in self.kernels:
            kernel.end(kill)
        return self.count()


def tell(stories: list[tuple[Any, ...]], server: Any = None, kit: str = "") -> list[tuple[dict[str, int], list[str]]]:
    """Tell stories, each an engine, a seed, and of the kind that was found its openers, writers and end; score and tale of each."""
    environment = os.environ | ({"PYTHONPATH": kit} if kit else {})
    with tempfile.TemporaryDirectory(prefix="spoonline-stories-") as folder:
        command = [sys.executable, str(HERE), json.dumps([folder, server.port if server else 0, stories])]
        done = subprocess.run(command, stdout=subprocess.PIPE, env=environment, check=True)
    return [json.loads(line) for line in done.stdout.splitlines()]


def main() -> None:
    """Tell the stories of the command line."""
    sys.path.insert(0, str(HERE.parents[1]))
    import pandas  # noqa: F401  # loaded once, before the processes are forked
    import sqlalchemy.dialects.postgresql.psycopg
    import sqlalchemy.dialects.sqlite  # noqa: F401  # loaded for the same reason

    import postgres

    folder, port, stories = json.loads(sys.argv[1])
    server = postgres.Server(port, Path(), (), None, made=1000 * os.getpid())  # type: ignore[arg-type]  # only its address is used here
    assert sl.Recipe(title=TITLE, ingredients=["1.5 l stock", "20 g corn starch"]).liquid_l  # units are worked out once
    gc.freeze()  # which no process need walk through when it ends
    for engine, seed, *found in stories:
        story = Story(Path(folder).resolve(), server, engine, seed)
        story = story.found(*found) if found else story.any()
        print(json.dumps([story.score, story.said]), flush=True)


if __name__ == "__main__":
    main()
