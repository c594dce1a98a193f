"""Two versions against the one they both came from: what each changed, and where they collide."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from spoonline.recipes.changes import Basis, Change, changes
from spoonline.recipes.records import Recipe

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class ThreeWay:
    """What two versions changed since their common parent.

    ``rows`` hold item, what it was, in the first, in the second, and a verdict: only the first, only the second, both alike,
    or both differently.
    """

    rows: tuple[tuple[str, str, str, str, str], ...]

    @property
    def table(self) -> pd.DataFrame:
        """The rows as a DataFrame."""
        import pandas as pd

        return pd.DataFrame(self.rows, columns=["item", "was", "first", "second", "verdict"])

    @property
    def text(self) -> str:
        """One sentence: how many changes each made, and where they collide."""
        first, second, alike, _ = (sum(row[4] == word for row in self.rows) for word in VERDICTS)
        clash = ", ".join(dict.fromkeys(row[0] for row in self.rows if row[4] == VERDICTS[3]))
        said = f"Only in the first {first}, only in the second {second}, in both alike {alike} changes"
        return f"{said}; both changed, differently: {clash}." if clash else f"{said}; none collide."


VERDICTS = ("only the first", "only the second", "both alike", "both differently")


def three_way(parent: Recipe, first: Recipe, second: Recipe, per: Basis = "") -> ThreeWay:
    """Compare two versions with their common parent, amounts per what :func:`changes` compares them.

    >>> soup = [Recipe(title="Soup", ingredients=["1 l water", f"{g} g corn starch", s]) for g, s in
    ...         ((30, "8 g salt"), (33, "8 g salt"), (36, "6 g salt"))]
    >>> three_way(*soup).text
    'Only in the first 0, only in the second 1, in both alike 0 changes; both changed, differently: corn starch.'
    """
    found: list[dict[tuple[str, str], Change]] = []
    for version in (first, second):
        rows = [row for row in changes(parent, version, per).rows if row.real and row.kind != "words"]
        found.append({(row.kind if row.kind not in ("added", "removed") else "amount", row.item): row for row in rows})
    a, b = found
    lines = []
    for key in dict.fromkeys((*a, *b)):
        one, two = a.get(key), b.get(key)
        place = 0 if two is None else 1 if one is None else 2 if one.new == two.new else 3
        was = (one or two).old  # type: ignore[union-attr]  # one of the two changed
        said = [was if change is None else change.new or "left out" for change in (one, two)]
        lines.append((key[1], was, said[0], said[1], VERDICTS[place]))
    return ThreeWay(tuple(lines))
