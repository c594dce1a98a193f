"""Which line and which step of a new version is which of the old one, before anything is compared."""

import difflib
from collections.abc import Callable

from spoonline.recipes.records import Ingredient, Recipe

Pair = tuple[int | None, int | None]

# Steps that share this much of their words are one step, re-written.
ALIKE = 0.6
SAME_VERB = 0.2
NEAR = 0.8  # two spellings of one unknown item


def twins(pairs: list[Pair]) -> list[tuple[int, int]]:
    """The pairs that have both."""
    return [(m, n) for m, n in pairs if m is not None and n is not None]


def match_lines(old: Recipe, new: Recipe) -> list[Pair]:
    """Pair the lines of two versions by what they are, as (place in old, place in new); None where there is no twin.

    Duplicates pair in their order; items that the facts do not know pair by near spelling as a last resort.
    """

    def alike(m: int, n: int) -> float:
        before, after = old.ingredients[m], new.ingredients[n]
        if _key(before) == _key(after):
            return 6.0 if before.preparation == after.preparation else 4.0
        # Only unknown items are matched by spelling: two known ones of like name (wheat and rice flour) are different.
        known = before.fact_name or after.fact_name
        near = 0.0 if known else difflib.SequenceMatcher(a=_key(after), b=_key(before)).ratio()
        return near if near >= NEAR else 0.0

    return _paired(len(old.ingredients), len(new.ingredients), alike)


def _key(line: Ingredient) -> str:
    return (line.fact_name or line.item).casefold()


def match_steps(old: Recipe, new: Recipe) -> list[Pair]:
    """Pair the steps of two versions: the same words first, then the most alike.

    Alike is the share of words in common blocks (difflib, Ratcliff and Obershelp) of at least 0.6, and a little more for two steps that
    begin with the same verb.
    """
    before, after = [step.text for step in old.steps], [step.text for step in new.steps]
    blocks = difflib.SequenceMatcher(a=before, b=after, autojunk=False).get_matching_blocks()
    stayed = {(block.a + n, block.b + n) for block in blocks for n in range(block.size)}

    def alike(m: int, n: int) -> float:
        if before[m] == after[n]:
            return 6.0 if (m, n) in stayed else 4.0
        a, b = before[m].casefold().split(), after[n].casefold().split()
        share = difflib.SequenceMatcher(a=a, b=b, autojunk=False).ratio() + SAME_VERB * (a[:1] == b[:1])
        return share if share >= ALIKE else 0.0

    return _paired(len(before), len(after), alike)


def _paired(old: int, new: int, alike: Callable[[int, int], float]) -> list[Pair]:
    """Pair places so that they are most alike in all, those of equal rank in their order; no twin where nothing is alike."""
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    scores = np.array([[alike(m, n) for n in range(new)] for m in range(old)]).reshape(old, new)
    apart = np.subtract.outer(np.arange(old), np.arange(new)) ** 2
    chosen = linear_sum_assignment(np.where(scores > 0, scores - 1e-7 * apart, 0.0), maximize=True)
    twins = {int(m): int(n) for m, n in zip(*chosen, strict=True) if scores[m, n] > 0}
    found = set(twins.values())
    return [(place, twins.get(place)) for place in range(old)] + [(None, n) for n in range(new) if n not in found]


def moved(pairs: list[Pair]) -> list[int]:
    """Places in the new version of what changed its order: the fewest that, taken out, leave the rest in order.

    >>> moved([(0, 0), (1, 3), (2, 1), (3, 2)])
    [3]
    """
    order = [n for _, n in sorted(twins(pairs))]

    def longest(runs: list[list[int]]) -> list[int]:
        return max(runs, key=lambda run: (len(run), -run[-1]), default=[])

    # The longest increasing run that ends at each place; what is in the longest of all stayed.
    runs: list[list[int]] = []
    for n in order:
        runs.append([*longest([run for run in runs if run[-1] < n]), n])
    return sorted(set(order) - set(longest(runs)))
