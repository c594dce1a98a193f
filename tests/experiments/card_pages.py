"""Every leaf of the demo's cards and of awkward ones on four papers, as pictures for people to look at: one sheet a paper.

    python tests/experiments/card_pages.py FOLDER [pixels of a leaf's width]

Prints how many leaves each card has; a card of the demo with more than front, back and proof leaf ends with 1.
"""  # fmt: skip

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from PIL import Image

import spoonline as sl
from card.test_leaf import AWKWARD, photo
from spoonline.card.pdf import PAPERS
from spoonline.logbook import passing_demo

TURNED = sl.Recipe(
    title="Soup \u202egvary of leeks", ingredients=["1 l vegetable stock", "30 g corn starch"], steps=["Stir."]
)


def cards(book: sl.Logbook) -> Iterator[sl.RecipeCard]:
    """The demo's, one of them with a tall photo, then awkward ones."""
    own = [sl.RecipeCard.from_logbook(book, title) for title in book.titles()]
    yield from own
    yield replace(own[1], photo=photo(200, 1000))
    yield from map(sl.RecipeCard, (*AWKWARD.values(), TURNED))


def main() -> int:
    """Write the sheets and say how many leaves there are."""
    out, width, most = Path(sys.argv[1]), int("".join(sys.argv[2:3]) or 420), 0
    out.mkdir(parents=True, exist_ok=True)
    with passing_demo() as book:
        made = list(cards(book))
        for paper in PAPERS:
            rows = [[Image.open(io.BytesIO(leaf)).convert("RGB") for leaf in card.leaves(paper)] for card in made]
            high = width * rows[0][0].height // rows[0][0].width
            sheet = Image.new("RGB", (6 * (width + 8), -(-sum(map(len, rows)) // 6) * (high + 8)), "#777")
            for place, leaf in enumerate(leaf for row in rows for leaf in row):
                at = (place % 6 * (width + 8), place // 6 * (high + 8))
                sheet.paste(leaf.resize((width, high), Image.Resampling.LANCZOS), at)
            sheet.save(out / f"{paper}.png")
            print(
                f"{paper}: "
                + ", ".join(f"{card.recipe.title[:20]} {len(row)}" for card, row in zip(made, rows, strict=True))
            )
            most = max([most, *(len(row) for row in rows[: len(book.titles())])])
    return most > 3


if __name__ == "__main__":
    raise SystemExit(main())
