"""Which line and which step of a new version is which of the old one, before anything is compared."""

from __future__ import annotations

import difflib

from spoonline.recipes.records import Ingredient, Recipe

Pair = tuple[int | None, int | None]

# Steps that share this much of their words are one step, re-written.
ALIKE = 0.6
SAME_VERB = 0.2


def match_lines(old: Recipe, new: Recipe) -> list[Pair]:
    """Pair the lines of two versions by what they are, as (place in old, place in new); None where there is no twin.

    Duplicates pair in their order; items that the facts do not know pair by near spelling as a last resort.
    """

    def key(line: Ingredient) -> str:
        return (line.fact_name or line.item).casefold()

    left = list(range(len(new.ingredients)))
    twins: dict[int, int] = {}

    def take(place: int, fits: list[int]) -> None:
        if fits:
            twins[place] = fits[0]
            left.remove(fits[0])

    for same_words in (True, False):
        for place, line in enumerate(old.ingredients):
            if place not in twins:
                fits = [n for n in left if key(new.ingredients[n]) == key(line)]
                if same_words:
                    fits = [n for n in fits if new.ingredients[n].preparation == line.preparation]
                take(place, fits)
    for place, line in enumerate(old.ingredients):
        # Only unknown items are matched by spelling: two known ones of like name (wheat and rice flour) are different.
        if place not in twins and line.fact_name is None:
            names = {key(new.ingredients[n]): n for n in left if new.ingredients[n].fact_name is None}
            near = difflib.get_close_matches(key(line), list(names), n=1, cutoff=0.8)
            take(place, [names[each] for each in near])
    return _pairs(twins, len(old.ingredients), len(new.ingredients))


def match_steps(old: Recipe, new: Recipe) -> list[Pair]:
    """Pair the steps of two versions: the same words first, then the most alike.

    Alike is the share of words in common blocks (difflib, Ratcliff and Obershelp) of at least 0.6.
    """
    before, after = [step.text for step in old.steps], [step.text for step in new.steps]
    twins: dict[int, int] = {}
    for block in difflib.SequenceMatcher(a=before, b=after, autojunk=False).get_matching_blocks():
        twins |= {block.a + n: block.b + n for n in range(block.size)}
    free = [n for n in range(len(after)) if n not in twins.values()]

    def rank(m: int, n: int) -> tuple[float, int, int, int]:
        same = before[m] == after[n]
        return (-2.0, 0, m, n) if same else (-_alike(before[m], after[n]), abs(m - n), m, n)

    for minus, _, m, n in sorted(rank(m, n) for m in range(len(before)) if m not in twins for n in free):
        if -minus >= ALIKE and m not in twins and n in free:
            twins[m] = n
            free.remove(n)
    return _pairs(twins, len(before), len(after))


def _alike(first: str, second: str) -> float:
    """Share of common words, and a little more for two steps that begin with the same verb."""
    a, b = first.casefold().split(), second.casefold().split()
    return difflib.SequenceMatcher(a=a, b=b, autojunk=False).ratio() + (SAME_VERB if a[:1] == b[:1] else 0.0)


def _pairs(twins: dict[int, int], old: int, new: int) -> list[Pair]:
    found = set(twins.values())
    return [(place, twins.get(place)) for place in range(old)] + [(None, n) for n in range(new) if n not in found]


def moved(pairs: list[Pair]) -> list[int]:
    """Places in the new version of what changed its order: the fewest that, taken out, leave the rest in order.

    >>> moved([(0, 0), (1, 3), (2, 1), (3, 2)])
    [3]
    """
    order = [n for _, n in sorted((m, n) for m, n in pairs if m is not None and n is not None)]

    def longest(runs: list[list[int]]) -> list[int]:
        return max(runs, key=lambda run: (len(run), -run[-1]), default=[])

    # The longest increasing run that ends at each place; what is in the longest of all stayed.
    runs: list[list[int]] = []
    for n in order:
        runs.append([*longest([run for run in runs if run[-1] < n]), n])
    return sorted(set(order) - set(longest(runs)))
