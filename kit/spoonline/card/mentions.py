"""Which ingredients a method speaks of: by their names and aliases, never by a part of a word."""

import re
from collections.abc import Iterator

from spoonline.card.words import TEXT, Words
from spoonline.facts.allergens import longest_names
from spoonline.facts.rows import meanings
from spoonline.recipes import Ingredient, Recipe, singular


def tokens(text: str) -> list[str]:
    """Words of a text in one spelling."""
    return TEXT["word"].findall(text.casefold())


def named(text: str, words: Words) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Every name of an ingredient in a text, longest first, with what it may mean."""
    skip = set(words.editor["not_an_ingredient"])
    names = longest_names(tokens(text), lambda name: () if name in skip else meanings(name) or None)
    return ((name, found) for name, found in names if found)


def uses(line: Ingredient, text: str, words: Words) -> bool:
    """Whether a step's text uses this line: by name, by its last word, or by a word for all of its part."""
    spoken = {singular(word) for word in tokens(text)}
    own = tokens(line.item.partition(" from ")[0])  # "fat from the roasting tin" is the fat
    done = re.search(r"\bto (\w+)$", line.preparation)  # "1 egg, beaten, to glaze"
    own = own[-2:] if own and own[-1] in words.editor["form_of"] else own[-1:]  # the lemon of lemon juice
    if any(singular(word) in spoken for word in own) or (done and singular(done[1].casefold()) in spoken):
        return True
    if any(line.fact_name in found for _, found in named(text, words) if line.fact_name):
        return True
    plain = f" {' '.join(tokens(text))} "
    # "stir in the rest", but neither "the rest of the stock" nor "keep the rest warm"
    for kept in words.editor["kept_back"]:
        plain = plain.replace(f" {kept} ", " ")
    return any(f" {name} " in plain and line.part in parts for name, parts in words.collective.items())


def first_uses(recipe: Recipe, words: Words) -> list[int | None]:
    """For each line, the first step (from 1) that uses it; None where no step does."""

    def first(line: Ingredient) -> int | None:
        return next((at for at, step in enumerate(recipe.steps, start=1) if uses(line, step.text, words)), None)

    return [first(line) for line in recipe.ingredients]


def unlisted(recipe: Recipe, words: Words) -> list[tuple[int, str]]:
    """Ingredients that a step names and no line lists: step number (from 1) and the name."""
    known = {line.fact_name for line in recipe.ingredients}
    texts = (text for line in recipe.ingredients for text in (line.item, line.group))
    lines = [{singular(word) for word in tokens(text)} for text in texts]
    parts = {line.part for line in recipe.ingredients}
    found: dict[tuple[int, str], None] = {}
    for number, step in enumerate(recipe.steps, start=1):
        for name, can_mean in named(step.text, words):
            own = {singular(word) for word in name.split()}
            # A name may stand for several lines together, such as a roux for its flour and butter.
            together = parts & set(words.collective.get(name, ()))
            if not (known & set(can_mean) or together or any(own <= line for line in lines)):
                found[number, name] = None
    return list(found)
