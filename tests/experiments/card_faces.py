"""Time and size of every face of a normal card, a booklet of 50, and both as ratios to bare typst and jinja2 on the same content.

python tests/experiments/card_faces.py [cards of the booklet]
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import jinja2
import typst

from card.test_card import card_of
from spoonline.card import FACES, booklet
from spoonline.card.page import lay_out
from spoonline.logbook import passing_demo

PLAIN = jinja2.Environment(autoescape=True).from_string(
    "<h1>{{ t }}</h1>{% for line in lines %}<p>{{ line }}</p>{% endfor %}"
)
BARE = b"""#set document(title: "card")
#set text(lang: "en")
#let d = json(bytes(sys.inputs.d))
#for c in d { heading(c.title); for line in c.lines { par(line) }; pagebreak(weak: true) }"""


CARDS = int(sys.argv[1]) if len(sys.argv) > 1 else 50


def timed(work: Callable[[], object], times: int = 7) -> float:
    """Median seconds, after one run to warm up."""
    work()
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return sorted(found)[times // 2]


def main() -> int:
    """Measure and print."""
    with passing_demo() as book:
        card, titles = card_of(book), book.titles()
        cards = [card_of(book, titles[place % len(titles)]) for place in range(CARDS)]
    gathering = timed(lambda: type(card)(card.recipe, card.version, card.batches).content, 3)
    print(f"gathering the content (curve included): {1000 * gathering:.0f} ms")
    seconds = {}
    for form in FACES:
        seconds[form] = timed(lambda form=form: card.face(form))
        print(f"{form:9} {1000 * seconds[form]:7.2f} ms {len(card.face(form)) / 1000:7.1f} kB")
    for paper in ("letter", "a5", "5x8"):
        print(
            f"pdf {paper:6} {1000 * timed(lambda paper=paper: card.face('pdf', paper)):7.2f} ms {len(card.face('pdf', paper)) / 1000:7.1f} kB"
        )

    def lines(content: object) -> list[str]:
        return [line for line in card.text().splitlines() if line]

    bare_html = timed(lambda: PLAIN.render(t=card.content.title, lines=lines(card.content)))
    one = json.dumps([{"title": card.content.title, "lines": lines(card.content)}])
    bare_pdf = timed(
        lambda: typst.compile(BARE, sys_inputs={"d": one}, pdf_standards=["ua-1"], ignore_system_fonts=True)
    )
    print(
        f"HTML over bare jinja2 on the same lines: {seconds['html'] / bare_html:.1f}; PDF over bare typst: {seconds['pdf'] / bare_pdf:.1f}"
    )
    laid = timed(lambda: [lay_out(each.content) for each in cards], 3)
    whole = timed(lambda: booklet(cards), 3)
    many = json.dumps(
        [{"title": each.content.title, "lines": [line for line in each.text().splitlines() if line]} for each in cards]
    )
    bare_many = timed(
        lambda: typst.compile(BARE, sys_inputs={"d": many}, pdf_standards=["ua-1"], ignore_system_fonts=True), 3
    )
    size = len(booklet(cards))
    print(f"booklet of {CARDS}: {whole:.2f} s, {size / 1e6:.2f} MB; laying out {1000 * laid:.0f} ms of it")
    print(f"bare typst on the same lines: {bare_many:.2f} s; ratio {whole / bare_many:.1f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
