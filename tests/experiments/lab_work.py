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
            before, tall = (
                place.evaluate("(node) => node.getBoundingClientRect().top"),
                self.page.viewport_size["height"],
            )
            self.page.mouse.move(self.page.viewport_size["width"] * 0.3, tall * 0.6)
            self.page.mouse.wheel(0, max(-0.8 * tall, min(0.8 * tall, before - 0.4 * tall)))
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

    def choose(self, place: Any, which: int) -> None:
        """Choose from a list: two presses."""
        self.reach(place).select_option(index=which)
        self.actions += 2

    def read(self, place: Any) -> None:
        """See an answer."""
        self.reach(place)


SOUP = """Leek and potato soup of the hall
Serves 8

600 g leeks
400 g potatoes
1.5 l vegetable stock
45 g corn starch

1. Simmer the leeks and potatoes in the stock for 20 minutes and blend.
2. Slake the corn starch, stir it in and boil 2 minutes."""
STOVE = "1_at_the_stove.ipynb"


def own_soup(cook: Cook, form: Any) -> None:
    """A soup of one's own is pasted and saved."""
    cook.type(form.get_by_label("Recipe", exact=True), SOUP)
    thick = form.get_by_label("How thick should it be?")
    if thick.count():
        # the lab writes the spaces of a choice as ones that do not break
        offered = [" ".join(words.split()) for words in thick.locator("option").all_text_contents()]
        cook.choose(thick, next(n for n, words in enumerate(offered) if "thick white sauce" in words))
    cook.press(form.get_by_role("button", name="Save this recipe"))
    cook.read(form.locator("[role=status]").get_by_text("Saved Leek and potato soup").first)


def too_thin(cook: Cook, form: Any) -> None:
    """A pot is too thin now: what to do."""
    cook.type(form.get_by_label("Temperature of the food"), "61")
    cook.type(form.get_by_label("Held per wet side, g"), "2.9")
    cook.read(form.get_by_text("Too thin: 2.9 g per wet side").first)


def pot_recorded(cook: Cook, form: Any) -> None:
    """A pot is recorded: both weighings, its reading and how it was."""
    # another pot on each screen: the same one twice within seconds is refused
    cook.type(form.get_by_label("Temperature of the food"), "62" if cook.page.viewport_size["width"] > 1000 else "63")
    cook.type(form.get_by_label("Held per wet side, g"), "3.7")
    cook.type(form.get_by_label("Pot, everything in, g"), "5200")
    cook.type(form.get_by_label("The same at the end, g"), "4980")
    cook.press(form.get_by_role("button", name="right", exact=True))
    cook.press(form.get_by_role("button", name="Save this pot"))
    cook.read(form.locator("[role=status]").get_by_text("Saved batch").first)


def next_dose(cook: Cook, form: Any) -> None:
    """The dose of the next pot, from the start page."""
    cook.press(form.get_by_role("link", name="set the next dose: Mushroom gravy"))
    other = harness.form_of(cook.page, "2_set_the_thickness.ipynb")
    cook.read(other.locator(".sl-answer").get_by_text("Cook the next pot").first)


def compared(cook: Cook, form: Any) -> None:
    """Two versions and their pots are compared."""
    cook.read(form.locator(".sl-answer").first)
    cook.read(form.get_by_role("heading", name="How the pots came out"))
    cook.read(form.get_by_role("heading", name="Can anyone tell?"))


def printed(cook: Cook, form: Any) -> None:
    """The card goes to the printer; where only a file is given, its opening and printing are two more presses."""
    prints = form.get_by_role("button", name="Print this card")
    if prints.count():
        cook.press(prints)
        cook.page.locator("iframe.sl-print").wait_for(state="attached")
        return
    cook.press(form.get_by_role("button", name="Hand over the card"))
    with cook.page.expect_download():
        cook.press(form.get_by_role("link", name="Download the card for paper (PDF)"))
    cook.actions += 2


TASKS: dict[str, tuple[str, Callable[[Cook, Any], None]]] = {
    "own soup in": ("0_start_here.ipynb", own_soup), "too thin now": (STOVE, too_thin), "pot recorded": (STOVE, pot_recorded),
    "next time's dose": ("0_start_here.ipynb", next_dose), "two compared": ("3_compare.ipynb", compared),
    "card printed": ("4_finish_the_card.ipynb", printed),
}  # fmt: skip


def tasks(lab: harness.Lab) -> None:
    """What each of the six tasks takes, on both screens."""
    print(
        "| task | screen | actions | fields | scrolls | seconds | form in first view |\n|---|---|---|---|---|---|---|"
    )
    for what, (notebook, work) in TASKS.items():
        for name, (width, height, prefix) in {"laptop": LAPTOP, "tablet": TABLET}.items():
            with harness.browse(width, height) as page:
                cook = Cook(page)
                form = harness.open_form(page, lab, notebook, prefix)
                cook.actions += 1
                _, share, *_ = page.evaluate(SIZES)
                work(cook, form)
                took = time.perf_counter() - cook.began
                row = what, name, cook.actions, cook.fields, cook.scrolls, f"{took:.0f}", f"{100 * share:.0f} %"
                print(f"| {' | '.join(map(str, row))} |", flush=True)


def main() -> None:
    """Heights, then tasks."""
    out = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp(prefix="lab-work-"))
    what = sys.argv[2:] or ["heights", "tasks"]
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home, harness.serve(Path(home)) as lab:
        if "heights" in what:
            heights(lab, out)
        if "tasks" in what:
            tasks(lab)


if __name__ == "__main__":
    main()
