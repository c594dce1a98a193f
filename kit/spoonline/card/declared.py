"""What a card declares of allergens: from its lines, from the labels that were read, and what is still to be asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from spoonline import facts
from spoonline.card.records import SignOff
from spoonline.card.words import Words
from spoonline.recipes import Recipe


@dataclass(frozen=True)
class Declared:
    """Allergens of a recipe under one list.

    ``labels`` are items whose label must be read, with the groups it may name (none where nobody knows the item); ``answers`` the labels
    that were read, by item.
    """

    by: facts.AllergenList
    own: tuple[facts.Allergen, ...]
    labels: Mapping[str, tuple[str, ...]]
    answers: Mapping[str, SignOff]

    @property
    def contains(self) -> tuple[facts.Allergen, ...]:
        """What is in it by nature, and what its labels name."""
        return (*self.own, *(each for answer in self.answers.values() for each in _of(answer.contains or ())))

    @property
    def may_contain(self) -> tuple[facts.Allergen, ...]:
        """What its labels say that it may contain."""
        return tuple(each for answer in self.answers.values() for each in _of(answer.may_contain or ()))

    @property
    def open(self) -> dict[str, tuple[str, ...]]:
        """Labels that nobody has read."""
        return {item: may for item, may in self.labels.items() if item not in self.answers}

    def names(self, found: Iterable[facts.Allergen], wording: Words, *, listed: bool = True) -> tuple[str, ...]:
        """Groups on the list, or beside it, each with its members."""
        groups: dict[str, dict[str, None]] = {}
        for each in found:
            doubled = each.group in self.by.within and each.member in ("", "wheat", "spelt")
            if each.lists and (self.by.name in each.lists) == listed and not doubled:
                groups.setdefault(each.group, {}).update({wording.phrase(each.member): None} if each.member else {})
        named = {wording.phrase(group): ", ".join(members) for group, members in groups.items()}
        return tuple(f"{group} ({members})" if members else group for group, members in named.items())


def declare(recipe: Recipe, by: facts.AllergenList, answers: Mapping[str, SignOff]) -> Declared:
    """Read the allergens of every line.

    Parameters
    ----------
    recipe : Recipe
    by : AllergenList
        The list that the kitchen follows; only its groups are asked for.
    answers : mapping of str to SignOff
        Labels that were read, by item.

    Returns
    -------
    Declared
    """
    own: dict[facts.Allergen, None] = {}
    labels: dict[str, dict[str, None]] = {}
    for line in recipe.ingredients:
        found = facts.allergens(line.item)
        own |= dict.fromkeys(each for each in found if each.sure)
        asked = [each.group for each in found if not each.sure and by.name in each.lists]
        if asked or not facts.is_known(line.item):
            labels.setdefault(line.item, {}).update(dict.fromkeys(asked))
    carried = {each.group for each in own}
    for (
        line
    ) in recipe.ingredients:  # what only stands beside a name ("in breadcrumbs") is asked, unless another line has it
        beside = (each for each in facts.allergens(line.preparation) if each.sure and by.name in each.lists)
        if more := [each.group for each in beside if each.group not in carried]:
            labels.setdefault(line.item, {}).update(dict.fromkeys(more))
    asked_of = {item: tuple(groups) for item, groups in labels.items()}
    return Declared(by, tuple(own), asked_of, {item: answers[item] for item in labels if item in answers})


def _of(words: Iterable[str]) -> list[facts.Allergen]:
    return [each for word in words for each in facts.allergens(word) if each.sure]
