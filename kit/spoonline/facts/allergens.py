"""Which allergens a name carries, on which lists they stand, and what a text claims of a dish; by whole words, never by a part of one."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from typing import Any, NamedTuple, TypeVar

from spoonline.facts.lines import PREPARED
from spoonline.facts.rows import known, meanings, read_table, spellings, tidy
from spoonline.measures.errors import ItemError

_WORD = re.compile(r"[^\W_]+(?:'[^\W_]+)?")
_LONGEST = 5  # words of a name
Meaning = TypeVar("Meaning")


class Allergen(NamedTuple):
    """One group that a name carries, its member where the name tells it ("almonds"), the lists that name it, and whether that is sure.

    What is not sure is asked of the label. Meat and honey stand on no list, and only contradict a claim.
    """

    group: str
    member: str = ""
    lists: tuple[str, ...] = ()
    sure: bool = True


@cache
def allergen_lists() -> Mapping[str, Mapping[str, Any]]:
    """The lists by which allergens are declared, by name: who follows each, how a card calls it, its groups, its source."""
    return {row["name"]: row for row in read_table("allergen_lists.toml")}


def allergen_list(jurisdiction: str) -> Mapping[str, Any]:
    """The list that a jurisdiction follows, as ``Habits.jurisdiction`` names it.

    Source: Regulation (EU) 1169/2011 Annex II; FD&C Act 201(qq); Food Standards Code schedule 9. Raises `ItemError` where there is none.

    >>> len(allergen_list("us")["groups"]), len(allergen_list("scotland")["groups"])
    (9, 14)
    """
    followed = {place: row for row in allergen_lists().values() for place in row["jurisdictions"]}
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

    >>> carried("mustard")[0].sure, carried("desiccated coconut")[0].sure, carried("moonlight")
    (True, False, None)
    """
    may_mean = meanings(name)
    spelled = [*spellings(tidy(name)), *(map(tidy, may_mean) if len(may_mean) == 1 else ())]
    own, rows = next((_named()[each] for each in spelled if each in _named()), None), [known(each) for each in may_mean]
    if own is None and not rows:
        return None
    groups = dict.fromkeys(each for row in rows if row for each in (*row.contains, *row.check_label))
    sure = {group for group in groups if all(row and group in row.contains for row in rows)}
    found = [each for each in own or () if each.sure or each.group not in sure]
    for group in [each for each in groups if each not in {one.group for one in found}]:
        lists = tuple(by for by, row in allergen_lists().items() if group in row["groups"])
        found.append(Allergen(group, "", lists, group in sure))
    return tuple(found)


def named_allergens(text: str) -> Iterator[tuple[str, tuple[Allergen, ...]]]:
    """The names in a text that the tables know, each with what it carries."""
    return longest_names(_WORD.findall(tidy(text)), carried)


@lru_cache(maxsize=4096)
def allergens(text: str) -> tuple[Allergen, ...]:
    """What the names in a text carry, such as an ingredient as written; what the text itself says it is without is asked, never taken as told.

    >>> [each.member or each.group for each in allergens("roasted hazelnuts")], allergens("nutmeg")
    (['hazelnuts'], ())
    """
    without = {group for _, against in claims(text, "item") for group in against}
    found = (each for _, some in named_allergens(text) for each in some)
    return tuple(dict.fromkeys(each._replace(sure=each.sure and each.group not in without) for each in found))


def is_known(text: str) -> bool:
    """Whether the whole text is one name that the tables know, but for words of preparation.

    >>> is_known("fresh squid, cleaned"), is_known("crab moonlight")
    (True, False)
    """
    bare = " ".join(word for word in _WORD.findall(tidy(text)) if word not in PREPARED)
    return carried(text) is not None or carried(bare) is not None


# What a pattern of claims.csv writes in capitals; a hyphen may be any, or none.
_SHORT = {row["short"]: row["written"] for row in read_table("claim_words.csv")}


@cache
def _claims() -> list[tuple[re.Pattern[str], list[str], str]]:
    found = []
    for row in read_table("claims.csv"):
        pattern = row["claim"]
        for short, written in _SHORT.items():
            pattern = pattern.replace(short, written)
        found.append((re.compile(rf"\b(?:{pattern})\b", re.IGNORECASE), row["against"].split(";"), row["about"]))
    return found


def claims(text: str, about: str = "dish") -> Iterator[tuple[str, list[str]]]:
    """What a text claims, in its own words, and the groups that contradict them ("*": nothing can prove it); a warning claims nothing.

    ``about`` is "dish" for a recipe's title, note and steps, "item" for an ingredient as written.

    >>> next(claims("A dairy-free soup"))
    ('dairy-free', ['milk'])
    """
    for pattern, against, where in _claims():
        if about in where:
            for found in pattern.finditer(text):
                before = text[: found.start()].rstrip()
                if not any(warns.search(before) for warns, _, where in _claims() if where == "warning"):
                    named = (each.group for _, some in named_allergens(found[0]) for each in some)
                    yield found[0].strip(), [*named] if against == ["named"] else against
