"""What handbooks and kitchens say replaces what: grams for one level tablespoon of wheat flour, by source, as they disagree."""

from functools import cache
from typing import NamedTuple

from spoonline.facts.rows import read_table, thickener
from spoonline.measures import typed

FLOUR = "wheat flour"


class Equivalence(NamedTuple):
    """Grams of a thickener for 7.8 g (a level tablespoon) of wheat flour, as one source has it."""

    thickener: str
    low_g: float
    high_g: float
    source: str
    kind: str


@cache
def equivalences() -> tuple[Equivalence, ...]:
    """All trade equivalences, row by row."""
    return tuple(typed(Equivalence, row) for row in read_table("equivalences.csv"))


def trade_ratios(old: str, new: str) -> tuple[Equivalence, ...]:
    """What each source says of one thickener in place of another [g for 1 g, low and high], both taken through flour.

    Empty where no source has both; raises `ItemError` if one is no thickener of this kit. Trade equivalences disagree by a
    factor two and assume nothing about cooking; they stand beside a dose, never in it.

    >>> [(round(each.low_g, 2), each.kind) for each in trade_ratios("corn starch", "arrowroot")]
    [(1.0, 'common practice'), (1.0, 'memory')]
    """
    flour = next(each for each in equivalences() if each.thickener == FLOUR).low_g

    def ratios_of(name: str) -> tuple[str, dict[str, Equivalence], Equivalence | None]:
        """The row's name, what each source says of it, and what stands for a source that is silent on flour."""
        row = thickener(name)
        # A roux or kneaded butter thickens by its flour.
        own, share = FLOUR if row.flour_share < 1 else row.name, row.flour_share
        rows = [each for each in equivalences() if each.thickener == own]
        by = {_who(each): each._replace(low_g=each.low_g / share, high_g=each.high_g / share) for each in rows}
        return row.name, by, Equivalence(own, flour / share, flour / share, "", "") if own == FLOUR else None

    (_, first, silent_first), (name, second, silent_second) = ratios_of(old), ratios_of(new)
    found = []
    for who in dict.fromkeys((*first, *second)):
        a, b = first.get(who, silent_first), second.get(who, silent_second)
        if a and b and (a.source or b.source) and not who.startswith("one level"):
            said_by = dict.fromkeys(each.source for each in (a, b) if each.source)
            kind = b.kind or a.kind
            found.append(Equivalence(name, b.low_g / a.high_g, b.high_g / a.low_g, "; then ".join(said_by), kind))
    return tuple(found)


def _who(row: Equivalence) -> str:
    """Rows of one source agree in kind and in the words before the colon."""
    return f"{row.source.partition(':')[0]} {row.kind}" if row.kind in ("published", "memory") else row.kind
