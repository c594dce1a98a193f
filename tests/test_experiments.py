"""Each long experiment once in a small size, as its command: it runs, and prints figures.

Those not named here have a small sample of their own beside the room they are about (kills, writers, mishaps and later releases in
``tests/logbook``; cooling and dinners in ``tests/keeping``; effects, invented kitchens, the dose curve against brute force) or need a browser.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

REPO = Path(__file__).resolve().parents[1]
HERE = REPO / "tests" / "experiments"
SMALL = {
    "card_faces.py 2": r"HTML over bare jinja2 on the same lines: [\d.]+",
    "constants.py 2 1 facts/equivalences.csv": r"in all 2, \d noticed",
    "facts_figures.py 2": r"composition: 28\d\d figures",
    "flow_round_trips.py 20 1": r"\de-\d\d|0\.0",
    "flow_synthetic_kitchen.py 20": r"\d",
    "logbook_size.py 0.003 sqlite": r"opening, the first time in a process: [\d.]+ ms",
    "logbook_stories.py 1 sqlite": r"\n0 stories went wrong",
    "measures_lines.py": r"corpus: .* of \d+",
    "mend_pots.py 3": r"clear +new +mend",
    "mutants.py regression 1": r"regression: 1 mutants, \d noticed",
    "stews.py 5": r"stews: liquid in its 90 % range",
    "trials_compare.py 3": r"six days, truly x1\.5: called different \d+ of 100",
}
ELSEWHERE = {
    "dose_kitchens.py", "effects.py", "keeping_cooling.py", "keeping_dinners.py", "logbook_kills.py", "logbook_mishaps.py",
    "logbook_in_use.py", "logbook_schema_changes.py", "logbook_writers.py", "trials_oracle.py",
}  # fmt: skip
BROWSER = {"card_hostile.py", "lab_poison.py", "lab_pictures.py", "lab_speed.py", "lab_work.py"}
LONG = {"size.py", "card_pages.py", "figures_seen.py"}  # a minute and more at any size; sheets for somebody to look at


@pytest.mark.long
@pytest.mark.parametrize("command", SMALL)
def test_an_experiment_runs_in_a_small_size(command: str) -> None:
    """Within a minute on a busy machine; some ten seconds on an idle one."""
    name, *given = command.split()
    path = os.pathsep.join([str(REPO / "kit"), str(REPO / "tests")])
    environment = os.environ | {"PYTHONPATH": path}
    done = subprocess.run(
        [sys.executable, str(HERE / name), *given],
        capture_output=True,
        text=True,
        timeout=240,
        env=environment,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert re.search(SMALL[command], done.stdout), done.stdout[-2000:]


def test_every_experiment_is_run_somewhere_or_said_not_to_be() -> None:
    run = {command.split()[0] for command in SMALL}
    assert run | ELSEWHERE | BROWSER | LONG == {path.name for path in HERE.glob("*.py")}
    assert not run & (ELSEWHERE | BROWSER | LONG)
