"""Which allergens a name carries, on which lists they stand, and what a text claims of a dish; by whole words, never by a part of one."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import TypeVar

from spoonline.facts.lines import PREPARED
from spoonline.facts.rows import find, known, read_table, spellings, tidy
from spoonline.measures.errors import ItemError

_WORD = re.compile(r"[^\W_]+(?:'[^\W_]+)?")
_LONGEST = 5  # words of a name
Meaning = TypeVar("Meaning")


@dataclass(frozen=True, slots=True)
class AllergenList:
    """A list by which allergens are declared: who follows it, how a card calls it, its groups, what its wheat says already, where it was read."""

    name: str
    jurisdictions: tuple[str, ...]
    says: str
    groups: tuple[str, ...]
    within: tuple[str, ...]
    source: str
    kind: str


@dataclass(frozen=True, slots=True)
class Allergen:
    """One group that a name carries, its member where the name tells it ("almonds"), the lists that name it, and whether that is sure.

    What is not sure is asked of the label. Meat and honey stand on no list, and only contradict a claim.
    """

    group: str
    member: str = ""
    lists: tuple[str, ...] = ()
    sure: bool = True


@cache
def allergen_lists() -> tuple[AllergenList, ...]:
    """All lists of allergens."""
    rows = read_table("allergen_lists.toml")
    return tuple(AllergenList(**{k: tuple(v) if isinstance(v, list) else v for k, v in row.items()}) for row in rows)


def allergen_list(jurisdiction: str) -> AllergenList:
    """The list that a jurisdiction follows, as ``Habits.jurisdiction`` names it.

    Source: Regulation (EU) 1169/2011 Annex II; FD&C Act 201(qq); Food Standards Code schedule 9. Raises `ItemError` where there is none.

    >>> len(allergen_list("us").groups), len(allergen_list("scotland").groups)
    (9, 14)
    """
    followed = {place: each for each in allergen_lists() for place in each.jurisdictions}
    if jurisdiction not in followed:
        raise ItemError(f"No list of allergens is known for {jurisdiction!r}; write one of {', '.join(followed)}.")
    return followed[jurisdiction]


def longest_names(words: Sequence[str], meaning: Callable[[str], Meaning | None]) -> Iterator[tuple[str, Meaning]]:
    """Every name in a row of words, longest first, with what it means; a word belongs to one name only."""
    at = 0
    while at < len(words):
        for length in range(min(_LONGEST, len(words) - at), 0, -1):
            name = " ".join(words[at : at + length])
            if (found := meaning(name)) is not None:
                yield name, found
                at += length
                break
        else:
            at += 1


@cache
def _named() -> dict[str, tuple[Allergen, ...]]:
    """What the table says of each name; nothing, where it only sounds like one."""
    found: dict[str, tuple[Allergen, ...]] = {}
    for row in read_table("allergens.csv"):
        one = Allergen(row["group"], row["member"], tuple(filter(None, row["lists"].split(";"))), row["says"] == "is")
        for name in row["names"].split(";"):
            found[name] = (*found.get(name, ()), one) if one.group else ()
    return found


@lru_cache(maxsize=16384)
def carried(name: str) -> tuple[Allergen, ...] | None:
    """What one whole name carries: sure what each of its meanings carries, asked what some may; None where nobody knows the name.

    >>> carried("mustard")[0].sure, carried("coconut cream")[0].sure, carried("moonlight")
    (True, False, None)
    """
    own = next((_named()[each] for each in spellings(tidy(name)) if each in _named()), None)
    try:
        found = find(name)
        meanings = found[:1] if found else ()
    except ItemError as err:
        meanings = tuple(err.data)
    if own is None and not meanings:
        return None
    rows = [known(each) for each in meanings]
    groups = dict.fromkeys(group for row in rows if row for group in (*row.contains, *row.check_label))
    groups |= dict.fromkeys(["meat"] if any(row and row.part == "meat" and not row.contains for row in rows) else ())
    told = {each.group for each in own or ()}
    more = (
        Allergen(
            group, "", tuple(each.name for each in allergen_lists() if group in each.groups),
            all(row and group in (*row.contains, row.part) for row in rows),
        )
        for group in groups if group not in told
    )  # fmt: skip
    return (*(own or ()), *more)


def _words(text: str) -> list[str]:
    return _WORD.findall(tidy(text).replace("\u2019", "'"))


def named_allergens(text: str) -> Iterator[tuple[str, tuple[Allergen, ...]]]:
    """The names in a text that the tables know, each with what it carries."""
    return longest_names(_words(text), carried)


@lru_cache(maxsize=4096)
def allergens(text: str) -> tuple[Allergen, ...]:
    """What the names in a text carry, such as an ingredient as written; what the text itself says it is without is asked, never taken as told.

    >>> [each.member or each.group for each in allergens("roasted hazelnuts")], allergens("coconut")[:0]
    (['hazelnuts'], ())
    """
    without = {group for _, against, _ in claims(text, "item") for group in against}
    found = (each for _, some in named_allergens(text) for each in some)
    return tuple(dict.fromkeys(replace(each, sure=each.sure and each.group not in without) for each in found))


def is_known(text: str) -> bool:
    """Whether the whole text is one name that the tables know, but for words of preparation.

    >>> is_known("fresh squid, cleaned"), is_known("crab moonlight")
    (True, False)
    """
    words = _words(text)
    return any(carried(" ".join(each)) is not None for each in (words, [w for w in words if w not in PREPARED]))


@cache
def _claims() -> list[tuple[re.Pattern[str], tuple[str, ...], str]]:
    return [
        (
            re.compile(rf"\b(?:{row['claim']})\b", re.IGNORECASE),
            tuple(filter(None, row["against"].split(";"))),
            row["about"],
        )
        for row in read_table("claims.csv")
    ]


def claims(text: str, about: str = "dish") -> Iterator[tuple[str, tuple[str, ...], bool]]:
    """What a text claims: the words, the groups that contradict them, and whether a sign-off can stand for them before a machine.

    ``about`` is "dish" for a recipe's title, note and steps, "item" for an ingredient as written.

    >>> next(claims("A dairy-free soup"))
    ('dairy-free', ('milk',), True)
    """
    for pattern, against, where in _claims():
        if about in where:
            yield from ((found[0].strip(), against, "never" not in where) for found in pattern.finditer(text))
