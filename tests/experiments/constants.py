"""Make one constant after the other a quarter larger, and see whether the tests of its table notice.

    python tests/experiments/constants.py [constants or "all"] [seed] [table ...]

A constant is a figure in a table of the package (csv, toml) or in ``dose/priors.py``. Some of each table are drawn by lot, or all are
taken; each is changed in a copy of the package, and the quick tests named beside its table run on it in a fork, the quickest first, until
one fails, in two processes. Prints each constant that no test noticed with the kind of its row, which is the reason: a judged figure or one
from memory has nothing to be held against, and one read once nothing but the row's own sums. Then how many of each table and of each kind
were noticed.
"""

from __future__ import annotations

import csv
import importlib
import io
import json
import multiprocessing
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))
from mutants import HEAVY, PACKAGE, REPO, passes

# The tests of each table; what a cached function reads is read again in a fork of a session whose tests are collected, which is quick.
READ_BY_FUNCTIONS = {
    "facts/limits.csv": ["witness/test_limits.py", "witness/test_keeping_heat.py", "keeping/test_limits_and_words.py"],
    "facts/thickeners.toml": [
        "witness/test_kitchen_thickeners.py", "witness/test_usda_tables.py", "facts/test_judged.py", "facts/test_composition.py",
    ],
    "facts/juices.csv": ["witness/test_cooking_yields.py", "facts/test_juices.py", "facts/test_judged.py"],
    "facts/ingredients.csv": [
        "witness/test_usda_tables.py", "facts/test_composition.py", "facts/test_relations.py", "facts/test_tables.py",
    ],
    "facts/equivalences.csv": ["facts/test_judged.py"],
}  # fmt: skip
READ_ON_IMPORT = {
    "facts/heat_of_parts.csv": ["witness/test_keeping_heat.py", "witness/test_keeping_cooling.py"],
    "facts/surroundings.csv": [
        "witness/test_keeping_heat.py",
        "witness/test_keeping_cooling.py",
        "keeping/test_cooling.py",
    ],
    "facts/flow_cups.csv": ["witness/test_flow_instruments.py"],
    "dose/priors.py": [
        "witness/test_statistics_priors.py",
        "witness/test_kitchen_thickeners.py",
        "dose/test_dose_curve.py",
    ],
    "flow/everyday.csv": ["witness/test_everyday.py"],
    "flow/expected.csv": ["witness/test_flow_instruments.py", "flow"],
    "flow/master_curve.csv": ["witness/test_flow_spreading.py"],
    "flow/trough.csv": ["witness/test_flow_spreading.py"],
}
# Where a constant stands, the number of its line, and the line with a quarter more there.
Changed = tuple[str, int, str]
TABLES = READ_BY_FUNCTIONS | READ_ON_IMPORT
MOST = 500  # constants that one process takes in one go
FIGURE = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?:e-?\d+)?(?![\w.])")


def larger(figure: str) -> str:
    """A quarter more than a figure; of 0, a quarter."""
    return f"{float(figure) * 1.25 or 0.25:.6g}"


def lines_of(name: str) -> list[str]:
    """The lines of a table of the package."""
    return (PACKAGE / name).read_text(encoding="utf-8").split("\n")


def changed(name: str) -> Iterator[Changed]:
    """Each constant of a table: where it stands, and its line with a quarter more there."""
    lines, of = lines_of(name), ""
    if name.endswith(".csv"):
        head, *rows = csv.reader(lines)
        for n, row in enumerate(rows, 1):
            for c, cell in enumerate(row):
                figures = head[c] == "pieces" or (FIGURE.fullmatch(cell) and head[c] != "pours")
                for found in FIGURE.finditer(cell) if figures else ():
                    new = cell[: found.start()] + larger(found[0]) + cell[found.end() :]
                    out = io.StringIO()
                    csv.writer(out, lineterminator="").writerow([*row[:c], new, *row[c + 1 :]])
                    kind = row[head.index("kind")] if "kind" in head else "no kind"
                    yield f"{row[0][:40]}, {head[c]} {found[0]} ({kind})", n, out.getvalue()
        return
    for n, line in enumerate(lines):
        of = line if line.startswith("[") else of
        assigned = re.match(r"^ *[A-Za-z_]+(?:, [A-Z_]+)*(?:: \w+)? = (?=[\d(\[-])", line)
        kind = re.search(r'"(published|computed|common practice|memory|judged)"\]$', line)
        for found in FIGURE.finditer(re.sub(r'".*"|#.*', "", line), assigned.end()) if assigned else ():
            said = f"{of} {line[:60].strip()}: {found[0]} ({kind[1] if kind else 'as its table says'})"
            yield said, n, line[: found.start()] + larger(found[0]) + line[found.end() :]


def put(table: Path, lines: list[str], each: Changed) -> None:
    """Write a table with one line changed."""
    table.write_text("\n".join([*lines[: each[1]], each[2], *lines[each[1] + 1 :]]), encoding="utf-8")


class EachInAFork:
    """A session that runs its tests once, then again for each changed table in a fork of itself, the quickest first until one fails."""

    def __init__(self, table: Path, lines: list[str], tried: list[Changed], told: Path) -> None:
        self.table, self.lines, self.tried, self.told = table, lines, tried, told

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: Any) -> bool:
        seconds: dict[Any, float] = {}
        for item in session.items:
            begun = time.monotonic()
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=None)
            seconds[item] = time.monotonic() - begun
        assert not session.testsfailed
        order = sorted((item for item in seconds if seconds[item] < 5), key=seconds.__getitem__)
        unnoticed = []
        for each in self.tried:
            put(self.table, self.lines, each)
            child = os.fork()
            if child == 0:
                signal.alarm(int(60 + 5 * sum(seconds.values())))
                self._run(session, order)
            if os.waitpid(child, 0)[1] == 0:
                unnoticed.append(each[0])
        self.told.write_text(json.dumps(unnoticed), encoding="utf-8")
        return True

    def _run(self, session: Any, order: list[Any]) -> None:
        code = 1
        try:
            for module in [
                each for name, each in sys.modules.items() if name.partition(".")[0] in ("spoonline", "tests")
            ]:
                for value in vars(module).values():
                    if hasattr(value, "cache_clear"):
                        value.cache_clear()
            for item in order:
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=None)
                if session.testsfailed:
                    break
            else:
                code = 0
        finally:
            os._exit(code)


def session_of_forks(places: list[str], kit: Path, tried: list[Changed], name: str) -> list[str]:
    """Which of these changed tables no test notices, by one session that is forked."""
    told, log = kit.parent / "unnoticed.json", kit.parent / "log.txt"
    child = os.fork()
    if child == 0:
        code = 99
        try:
            for number in (1, 2):
                os.dup2(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), number)
            os.chdir(REPO)
            sys.path[:] = [str(kit), *(each for each in sys.path if Path(each) != REPO / "kit")]
            options = ["-q", "-m", "not long", "-p", "no:cacheprovider", "-p", "no:nbval", "--benchmark-skip"]
            options += ["-W", "ignore::pytest.PytestAssertRewriteWarning", "-o", "addopts=--import-mode=importlib"]
            plugin = EachInAFork(kit / "spoonline" / name, lines_of(name), tried, told)
            code = int(pytest.main([*options, *places], plugins=[plugin]))
        finally:
            os._exit(code)
    os.waitpid(child, 0)
    assert told.exists(), log.read_text(encoding="utf-8")[-3000:]
    return list(json.loads(told.read_text(encoding="utf-8")))


def run(name: str, tried: list[Changed]) -> list[str]:
    """Those of these constants of a table that no test noticed."""
    places = [str(REPO / "tests" / each) for each in TABLES[name]]
    with tempfile.TemporaryDirectory() as folder:
        kit = Path(folder) / "kit"
        os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(Path(folder) / "hypothesis")
        shutil.copytree(REPO / "kit", kit, ignore=shutil.ignore_patterns("__pycache__"))
        (Path(folder) / "demo").symlink_to(REPO / "demo")
        if name in READ_BY_FUNCTIONS:
            return session_of_forks(places, kit, tried, name)
        assert passes(places, kit, [], 1200), (kit.parent / "log.txt").read_text(encoding="utf-8")[-3000:]
        _, seconds = json.loads((kit.parent / "calls.json").read_text(encoding="utf-8"))
        quickest = sorted((each for each in seconds if seconds[each] < 5), key=lambda each: seconds[each])
        left = []
        for each in tried:
            put(kit / "spoonline" / name, lines_of(name), each)
            if passes(places, kit, quickest, 60 + 5 * sum(seconds.values())):
                left.append(each[0])
        return left


def kind_of(said: str) -> str:
    """The kind of the row that a constant stands in."""
    return said.rpartition("(")[2].rstrip(")")


def _run(part: tuple[str, list[Changed]]) -> tuple[str, int, list[str]]:
    return part[0], len(part[1]), run(*part)


if __name__ == "__main__":
    much, seed, *tables = sys.argv[1:] + ["all", "1"][len(sys.argv) - 1 :]
    for module in HEAVY:
        importlib.import_module(module)
    parts = []
    for name in tables or [each for each in TABLES if not each.startswith("flow/")]:
        every = list(changed(name))
        tried = random.Random(int(seed)).sample(every, len(every) if much == "all" else min(int(much), len(every)))
        parts += [(name, tried[start : start + MOST]) for start in range(0, len(tried), MOST)]
    total, missed = Counter[str](), Counter[str]()
    kinds, unseen = Counter(kind_of(each) for _, tried in parts for each, *_ in tried), Counter[str]()
    with multiprocessing.get_context("fork").Pool(2, maxtasksperchild=1) as pool:
        for name, count, left in pool.imap_unordered(_run, parts, chunksize=1):
            print("".join(f"  {name}: {said}\n" for said in left), end="", flush=True)
            total[name] += count
            missed[name] += len(left)
            unseen.update(map(kind_of, left))
    for name in total:
        print(f"{name}: {total[name]} constants a quarter larger, {total[name] - missed[name]} noticed")
    for kind, count in kinds.most_common():
        print(f"{kind}: {count}, {count - unseen[kind]} noticed")
    every, noticed = total.total(), total.total() - missed.total()
    print(f"in all {every}, {noticed} noticed ({100 * noticed / max(every, 1):.1f} of 100)")
