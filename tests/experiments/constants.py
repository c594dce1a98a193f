"""Make one constant after the other a quarter larger, and see whether the quick tests of its table notice.

    python tests/experiments/constants.py [constants or "all"] [seed] [table]

A constant is a figure in a table of the package (csv, toml) or in ``dose/priors.py``. Some of each table are drawn by lot, or all are
taken; each is changed in a copy of the package, and the tests named beside its table run on it in a fork, the quickest first. Prints each
that no test noticed, and how many of each table were noticed.
"""

from __future__ import annotations

import csv
import importlib
import io
import json
import os
import random
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
from mutants import HEAVY, PACKAGE, REPO, passes

HEAT = ["witness/test_limits.py", "witness/test_keeping_heat.py", "witness/test_keeping_cooling.py", "keeping"]
TABLES = {
    "facts/limits.csv": HEAT,
    "facts/heat_of_parts.csv": HEAT,
    "facts/surroundings.csv": HEAT,
    "facts/thickeners.toml": ["witness/test_kitchen_thickeners.py", "witness/test_usda_tables.py", "facts", "dose"],
    "facts/juices.csv": ["witness/test_cooking_yields.py", "witness/test_constants.py", "facts", "recipes", "pots"],
    "facts/ingredients.csv": ["witness/test_usda_tables.py", "witness/test_kitchen_measures.py", "facts"],
    "facts/equivalences.csv": ["witness/test_kitchen_thickeners.py", "facts", "dose"],
    "facts/flow_cups.csv": ["witness/test_flow_instruments.py", "flow"],
    "flow/everyday.csv": ["witness/test_everyday.py", "flow", "dose"],
    "flow/expected.csv": ["witness/test_flow_instruments.py", "flow"],
    "flow/master_curve.csv": ["witness/test_flow_spreading.py", "flow"],
    "flow/trough.csv": ["witness/test_flow_spreading.py", "witness/test_flow_instruments.py", "flow"],
    "dose/priors.py": ["witness/test_statistics_priors.py", "witness/test_kitchen_thickeners.py", "dose"],
}
FIGURE = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?:e-?\d+)?(?![\w.])")


def larger(figure: str) -> str:
    """A quarter more than a figure; of 0, a quarter."""
    return f"{float(figure) * 1.25 or 0.25:.6g}"


def changed(name: str) -> Iterator[tuple[str, str]]:
    """Each constant of a table: where it stands, and the table's text with a quarter more there."""
    text = (PACKAGE / name).read_text(encoding="utf-8")
    if name.endswith(".csv"):
        rows = list(csv.reader(io.StringIO(text)))
        for r, row in enumerate(rows[1:], 1):
            for c, cell in enumerate(row):
                for found in FIGURE.finditer(cell) if rows[0][c] == "pieces" or FIGURE.fullmatch(cell) else ():
                    new = cell[: found.start()] + larger(found[0]) + cell[found.end() :]
                    out = io.StringIO()
                    csv.writer(out, lineterminator="\n").writerows(
                        [*rows[:r], [*row[:c], new, *row[c + 1 :]], *rows[r + 1 :]]
                    )
                    yield f"{row[0][:40]}, {rows[0][c]} {found[0]}", out.getvalue()
        return
    lines, of = text.split("\n"), ""
    for n, line in enumerate(lines):
        of = line if line.startswith("[") else of
        assigned = re.match(r"^ *[A-Za-z_]+(?:, [A-Z_]+)*(?:: \w+)? = (?=[\d(\[-])", line)
        for found in FIGURE.finditer(re.sub(r'".*"|#.*', "", line), assigned.end()) if assigned else ():
            new = line[: found.start()] + larger(found[0]) + line[found.end() :]
            yield f"{of} {line[:60].strip()}: {found[0]}", "\n".join([*lines[:n], new, *lines[n + 1 :]])


def run(count: int, seed: int, name: str) -> tuple[int, list[str]]:
    """How many constants of a table were tried, and those that no test noticed."""
    every = list(changed(name))
    tried = random.Random(seed).sample(every, min(count, len(every)))
    places = [str(REPO / "tests" / each) for each in TABLES[name] if (REPO / "tests" / each).exists()]
    left = []
    with tempfile.TemporaryDirectory() as folder:
        kit = Path(folder) / "kit"
        os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(Path(folder) / "hypothesis")
        shutil.copytree(REPO / "kit", kit, ignore=shutil.ignore_patterns("__pycache__"))
        (Path(folder) / "demo").symlink_to(REPO / "demo")
        assert passes(places, kit, [], 1200), (kit.parent / "log.txt").read_text(encoding="utf-8")
        _, seconds = json.loads((kit.parent / "calls.json").read_text(encoding="utf-8"))
        quickest = sorted((each for each in seconds if seconds[each] < 5), key=lambda each: seconds[each])
        for said, text in tried:
            (kit / "spoonline" / name).write_text(text, encoding="utf-8")
            if passes(places, kit, quickest, 60 + 5 * sum(seconds.values())):
                left.append(said)
                print(f"  {name}: {said}", flush=True)
    return len(tried), left


if __name__ == "__main__":
    much, seed, *tables = sys.argv[1:] + ["20", "1"][len(sys.argv) - 1 :]
    for module in HEAVY:
        importlib.import_module(module)
    total, missed = 0, 0
    for table in tables or TABLES:
        tried, left = run(10**9 if much == "all" else int(much), int(seed), table)
        print(
            f"{table}: {tried} of {sum(1 for _ in changed(table))} constants tried, {tried - len(left)} noticed",
            flush=True,
        )
        total, missed = total + tried, missed + len(left)
    print(
        f"{total} constants a quarter larger, {total - missed} noticed ({100 * (total - missed) / max(total, 1):.0f} of 100)"
    )
