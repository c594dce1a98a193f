"""A logbook of somebody else, with hostile text in every field of every record, in every notebook of the real lab in chromium.

    python tests/experiments/lab_poison.py [part of a notebook's name] [choices of each list]

Each notebook is opened; each dish is chosen, every fold opened, and so many choices made in each other list. Whatever a page does
that it should not is counted: a script of the logbook that ran, a dialog, a request to elsewhere (or for what the text names), an
error of the page, a cell that failed, a traceback in a form.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from browser import lab as harness
from poisoned import hostile_logbook
from spoonline.measures import KitchenError

NOTEBOOKS = sorted(path.name for path in (Path(__file__).resolve().parents[2] / "notebooks").glob("*.ipynb"))
# Of a picture attached to a cell the lab asks once before it has resolved it (see ``NOISE`` in browser/lab.py).
OWN = ("data:", "blob:", "about:", "attachment:")
# A cell of code that cannot answer of such a dish says so in one sentence of ours, and shows no traceback.
SENTENCES = tuple(kind.__name__ for kind in KitchenError.__subclasses__())
IDLE = """() => { const now = window.jupyterapp.shell.currentWidget.sessionContext;
  return !now.pendingInput && now.session.kernel.status === 'idle'; }"""
OPEN_FOLDS = """() => { for (const each of document.querySelectorAll('.spoonline [aria-expanded=false]')) each.click();
  for (const each of document.querySelectorAll('.spoonline details')) each.open = true; }"""
LISTS = """() => [...document.querySelectorAll('.spoonline select')].map((each) =>
  [each.labels?.[0]?.textContent || '', each.options.length])"""
CHOOSE = """([place, at]) => { const list = document.querySelectorAll('.spoonline select')[place];
  if (!list || list.disabled || at >= list.options.length) return false;
  list.selectedIndex = at; list.dispatchEvent(new Event('change', {bubbles: true})); return true; }"""


@contextmanager
def hostile_lab(home: Path) -> Iterator[tuple[harness.Lab, int]]:
    """The lab over such a logbook, and in how many fields it is hostile."""
    folder = home / "kitchen"
    folder.mkdir(parents=True)
    fields = hostile_logbook(folder / "kitchen.sqlite")
    with harness.serve(home, demo=False) as lab:
        yield lab, fields


def watched(page: Any, lab: harness.Lab) -> Counter[str]:
    """What the page does from now on that a page of ours never should."""
    seen: Counter[str] = Counter()

    def dialog(shown: Any) -> None:
        seen[f"dialog: {shown.message[:80]}"] += 1
        shown.dismiss()

    def request(asked: Any) -> None:
        seen["requests"] += 1
        if not asked.url.startswith((lab.base, lab.base.replace("http", "ws"), *OWN)):
            seen[f"elsewhere: {asked.url[:80]}"] += 1
        elif asked.url.rpartition("/")[2] == "x":
            seen[f"asked for what the text names: {asked.url[:80]}"] += 1

    page.on("dialog", dialog)
    page.on("request", request)
    return seen


def settled(page: Any) -> None:
    """Once the kernel has answered, and what it showed is on the page."""
    page.wait_for_timeout(250)
    page.wait_for_function(IDLE, timeout=120_000)
    page.wait_for_timeout(250)


def look(page: Any, seen: Counter[str], where: str) -> None:
    """What stands on the page now."""
    seen["looks"] += 1
    text = page.evaluate("() => document.body.innerHTML")
    seen["hostile texts shown"] += text.count("window.ran=1")
    seen[f"traceback: {where}"] += "Traceback (most recent call last)" in text
    for frame in page.frames:
        seen[f"script ran: {where}"] += bool(frame.evaluate("() => window.ran"))
    seen[f"failed cell: {where}"] += len([name for name in page.evaluate(harness.ERRORS) if name not in SENTENCES])


def walk(page: Any, lab: harness.Lab, notebook: str, most: int = 2) -> Counter[str]:
    """Open a notebook and choose each dish and the first choices of every other list."""
    seen = watched(page, lab)
    harness.open_form(page, lab, notebook, said=SENTENCES)
    page.evaluate(OPEN_FOLDS)
    settled(page)
    look(page, seen, f"{notebook}, opened")
    lists = page.evaluate(LISTS)
    for place, (label, count) in enumerate(lists):
        dish = label.strip() == "Recipe"
        for at in range(count if dish else min(count, most)):
            if page.evaluate(CHOOSE, [place, at]):
                settled(page)
                page.evaluate(OPEN_FOLDS)
                settled(page)
                seen["dishes chosen" if dish else "other choices"] += 1
                look(page, seen, f"{notebook}, {label} {at}")
    for fault in harness.faults_of(page):
        seen[f"fault: {fault}"] += 1
    return +seen


COUNTS = ("requests", "looks", "hostile texts shown", "dishes chosen", "other choices")


def wrong(seen: Counter[str]) -> dict[str, int]:
    """What should not have been."""
    return {name: count for name, count in seen.items() if name not in COUNTS}


def main() -> int:
    """Walk every notebook and print what came of it."""
    given = sys.argv[1:]
    most = int(given.pop()) if given and given[-1].isdigit() else 2
    asked = [name for name in NOTEBOOKS if not given or given[0] in name]
    total: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as home, hostile_lab(Path(home)) as (lab, fields):
        print(f"hostile text in {fields} fields; {len(asked)} notebooks", flush=True)
        for notebook in asked:
            with harness.browse() as page:
                seen = walk(page, lab, notebook, most)
            total += seen
            print(
                f"{notebook}: " + ", ".join(f"{seen[name]} {name}" for name in COUNTS),
                *wrong(seen).items(),
                sep="\n  ",
                flush=True,
            )
    print("in all: " + ", ".join(f"{total[name]} {name}" for name in COUNTS))
    print(f"scripts, dialogs, requests elsewhere, errors, tracebacks: {sum(wrong(total).values())}")
    return bool(wrong(total))


if __name__ == "__main__":
    raise SystemExit(main())
