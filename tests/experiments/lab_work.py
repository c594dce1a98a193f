"""What a cook's work costs on a screen: height of every form, and actions, fields, scrolls and seconds of six tasks, in the real lab.

    python tests/experiments/lab_work.py [folder for pictures] [heights | tasks]

Needs chromium. A scroll is counted where the next thing to press or to read lies outside the view. Seconds are those of the machine, from
the address or the press that begins a task to the answer; a person's own are longer by the same actions.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from browser import lab as harness

NOTEBOOKS = sorted(
    (path.name for path in (Path(__file__).resolve().parents[2] / "notebooks").glob("*.ipynb")),
    key=lambda name: int(name.partition("_")[0]),
)
# A laptop, and a tablet that opens one notebook at a time.
LAPTOP, TABLET = (1366, 768, "lab/tree"), (820, 1180, "doc/tree")
# Height of the form, how much of it stands in the first view, and how far the page reaches.
SIZES = """() => {
  const form = [...document.querySelectorAll('.spoonline')].find((each) => each.offsetParent !== null);
  const page = form.closest('.jp-WindowedPanel-outer') || form.closest('.jp-Notebook');
  const box = form.getBoundingClientRect(), seen = page.getBoundingClientRect();
  const shown = Math.min(box.bottom, seen.bottom, innerHeight) - Math.max(box.top, seen.top);
  const fields = [...form.querySelectorAll('input, select, textarea, button')].filter((each) => each.offsetParent !== null);
  const inside = fields.filter((each) => each.getBoundingClientRect().bottom <= Math.min(seen.bottom, innerHeight)).length;
  return [box.height, shown / box.height, inside, fields.length, page.scrollHeight];
}"""
SEEN = """(node) => {
  const page = node.closest('.jp-WindowedPanel-outer') || document.documentElement;
  const box = node.getBoundingClientRect(), seen = page.getBoundingClientRect();
  const bar = node.closest('.sl-bar') ? null : document.querySelector('.spoonline .sl-bar');
  const top = Math.max(seen.top, bar && bar.offsetParent ? bar.getBoundingClientRect().bottom : 0);
  return box.top >= top - 2 && Math.min(box.bottom, box.top + 40) <= Math.min(seen.bottom, innerHeight) + 2;
}"""


def heights(lab: harness.Lab, pictures: Path) -> None:
    """The height of every form in screens, and how much of it is seen at once."""
    print("| notebook | laptop: screens, in view, controls in view | tablet: the same |\n|---|---|---|")
    for name in NOTEBOOKS:
        cells = []
        for width, height, prefix in (LAPTOP, TABLET):
            with harness.browse(width, height, has_touch=width < 1000) as page:
                harness.open_form(page, lab, name, prefix)
                page.wait_for_timeout(700)
                tall, share, inside, fields, _ = page.evaluate(SIZES)
                page.screenshot(path=pictures / f"{name[:-6]}-{width}-view.png")
                page.set_viewport_size({"width": width, "height": 3000})
                page.wait_for_timeout(500)
                page.screenshot(path=pictures / f"{name[:-6]}-{width}.png")
                cells.append(f"{tall / height:.2f}, {100 * share:.0f} %, {inside} of {fields}")
        print(f"| {name[:-6]} | {' | '.join(cells)} |", flush=True)


class Cook:
    """Counts what it does to a page."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.actions = self.fields = self.scrolls = 0
        self.began = time.perf_counter()

    def reach(self, place: Any) -> Any:
        """Bring a control or an answer into view, one screen a scroll."""
        place.wait_for()
        for _ in range(20):
            if place.evaluate(SEEN):
                return place
            down = place.evaluate("(node) => node.getBoundingClientRect().top > innerHeight / 2")
            before = place.evaluate("(node) => node.getBoundingClientRect().top")
            size = self.page.viewport_size
            self.page.mouse.move(size["width"] * 0.5, size["height"] * 0.6)
            self.page.mouse.wheel(0, (0.8 if down else -0.8) * size["height"])
            self.page.wait_for_timeout(250)
            self.scrolls += 1
            if place.evaluate("(node) => node.getBoundingClientRect().top") == before:
                self.scrolls -= 1
                place.scroll_into_view_if_needed()
                return place
        return place

    def press(self, place: Any) -> None:
        """Click or tap once."""
        self.reach(place).click()
        self.actions += 1

    def type(self, place: Any, text: str) -> None:
        """Put the cursor into a field and type or paste."""
        self.press(place)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.insert_text(text)
        self.fields += 1

    def choose(self, place: Any, which: Any) -> None:
        """Choose from a list: two presses."""
        self.reach(place).select_option(which)
        self.actions += 2

    def read(self, place: Any) -> None:
        """See an answer."""
        self.reach(place)


def main() -> None:
    """Heights, then tasks."""
    out = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp(prefix="lab-work-"))
    what = sys.argv[2:] or ["heights"]
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home, harness.serve(Path(home)) as lab:
        if "heights" in what:
            heights(lab, out)


if __name__ == "__main__":
    main()
