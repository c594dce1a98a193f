"""A thousand hostile titles and names on every face: no output breaks, and no script runs in a real chromium.

    python tests/experiments/card_hostile.py [how many]

Half come from the list (alone and joined), half are any text that hypothesis draws. Prints the counts.
"""

from __future__ import annotations

import shutil
import sys
import time
import warnings
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from hypothesis import HealthCheck, Phase, given, settings

from card.hostile import ANY, HOSTILE, card, check, chromium, ran


def drawn(many: int) -> list[str]:
    """Texts: the list first, then what hypothesis draws."""
    found = list(HOSTILE)

    @settings(
        max_examples=4 * many,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate],
    )
    @given(ANY)
    def draw(text: str) -> None:
        found.append(text)

    draw()
    return list(dict.fromkeys(found))[:many]


def main() -> int:
    """Try them all and print what came of it."""
    warnings.simplefilter("ignore")
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    texts, refused, broken, scripts = drawn(many), 0, [], []
    start = time.perf_counter()
    made = []
    for text in texts:
        one = card(text)
        if one is None:
            refused += 1
            continue
        try:
            check(one)
        except Exception as err:
            broken.append((text, repr(err)[:200]))
        made.append((text, one))
    print(
        f"{len(texts)} texts, {refused} refused as empty, {len(made)} cards of five faces in {time.perf_counter() - start:.0f} s"
    )
    print(f"outputs broken or not as typed: {len(broken)}", *broken[:10], sep="\n  ")
    if shutil.which("chromium"):
        start = time.perf_counter()
        with chromium() as page:
            assert ran(page, "<script>window.ran=1</script>") == ["script"]
            scripts = [(text, did) for text, one in made if (did := ran(page, one.html()))]
        print(
            f"pages in chromium: {len(made)} in {time.perf_counter() - start:.0f} s; scripts, dialogs, errors, requests: {len(scripts)}",
            *scripts[:10],
            sep="\n  ",
        )
    else:
        print("there is no chromium on the path, so no page was opened")
    return bool(broken or scripts)


if __name__ == "__main__":
    raise SystemExit(main())
