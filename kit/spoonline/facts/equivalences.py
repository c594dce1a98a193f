"""What the trade says replaces what: grams for one level tablespoon of wheat flour, by source, as they disagree."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from spoonline.facts.rows import read_table, thickener

FLOUR = "wheat flour"
# A roux or kneaded butter thickens by its flour.
MADE_OF_FLOUR = ("white roux", "brown roux", "beurre manie")


@dataclass(frozen=True, slots=True)
class Equivalence:
    """Grams of a thickener for 7.8 g (a level tablespoon) of wheat flour, as one source has it."""

    thickener: str
    low_g: float
    high_g: float
    source: str
    kind: str


@cache
def equivalences() -> tuple[Equivalence, ...]:
    """All trade equivalences, row by row."""
    return tuple(
        Equivalence(row["thickener"], float(row["low_g"]), float(row["high_g"]), row["source"], row["kind"])
        for row in read_table("equivalences.csv")
    )


def trade_ratios(old: str, new: str) -> tuple[Equivalence, ...]:
    """What each source says of one thickener in place of another, both taken through flour.

    Parameters
    ----------
    old, new : str
        Names of thickeners.

    Returns
    -------
    tuple of Equivalence
        Grams of the new one (low, high) for 1 g of the old, by source; empty where no source has both.

    Raises
    ------
    ItemError
        If one is no thickener of this kit.

    Notes
    -----
    Trade equivalences disagree by a factor two and assume nothing about cooking; they stand beside a dose, never in it.

    Examples
    --------
    >>> [(round(each.low_g, 2), each.kind) for each in trade_ratios("corn starch", "arrowroot")]
    [(1.0, 'common practice'), (1.0, 'memory')]
    """
    before, after = (thickener(name) for name in (old, new))
    flour = next(each for each in equivalences() if each.thickener == FLOUR).low_g

    def said(name: str, share: float) -> dict[str, Equivalence]:
        own = FLOUR if name in MADE_OF_FLOUR else name
        rows = [each for each in equivalences() if each.thickener == own]
        return {
            _who(each): Equivalence(name, each.low_g / share, each.high_g / share, each.source, each.kind)
            for each in rows
        }

    first, second = said(before.name, before.flour_share), said(after.name, after.flour_share)
    measured = flour / before.flour_share, flour / after.flour_share
    found = []
    for who in dict.fromkeys((*first, *second)):
        a, b = first.get(who), second.get(who)
        if a is None and (before.name == FLOUR or before.name in MADE_OF_FLOUR):
            a = Equivalence(before.name, measured[0], measured[0], "", "")
        if b is None and (after.name == FLOUR or after.name in MADE_OF_FLOUR):
            b = Equivalence(after.name, measured[1], measured[1], "", "")
        if a and b and (a.source or b.source) and not who.startswith("one level"):
            said_by = dict.fromkeys(each.source for each in (a, b) if each.source)
            kind = b.kind or a.kind
            found.append(Equivalence(after.name, b.low_g / a.high_g, b.high_g / a.low_g, "; then ".join(said_by), kind))
    return tuple(found)


def _who(row: Equivalence) -> str:
    """Rows of one source agree in kind and in the words before the colon."""
    return f"{row.source.partition(':')[0]} {row.kind}" if row.kind in ("published", "memory") else row.kind
