"""The gate between a draft and a finished card: what is missing, each point with what mends it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from spoonline import keeping
from spoonline.card.content import MendBy, Point
from spoonline.card.mentions import first_uses, unlisted
from spoonline.card.records import SignOff
from spoonline.card.thickness import has_thickness
from spoonline.card.words import Words
from spoonline.facts.allergens import claims, named_allergens
from spoonline.facts.rows import meanings
from spoonline.recipes import Recipe, check

FEW = 3  # lines that no step names: more are one point
MOST_KEY = 700  # letters of a point's name that a sign-off can keep
_KINDS = {"two measures": "measures", "by feel": "line", "not understood": "line"}


def points(
    recipe: Recipe, words: Words, *, evidence: str, is_tested: bool, saved: bool, labels: Mapping[str, tuple[str, ...]],
    groups: set[str], by: str, note: str, cooling: bool, whose: str = "us",
) -> tuple[Point, ...]:  # fmt: skip
    """List what keeps a card from being finished.

    Parameters
    ----------
    recipe : Recipe
    words : Words
    evidence : str
        What the card says of its batches.
    is_tested, saved : bool
        Whether enough batches landed in the band; whether it is a saved version.
    labels : mapping of str to tuple of str
        Items whose label must be read, with the groups that it may name.
    groups : set of str
        Allergens that it contains, or may contain.
    by : str
        The list of allergens that the kitchen follows.
    note : str
        The note under the title.
    cooling : bool
        Whether the card carries cooling advice, or needs none.
    whose : str
        Whose limits a step is held against, as in `Habits.jurisdiction`.

    Returns
    -------
    tuple of Point
        Keys stay the same while the recipe's line or step stays the same.
    """
    named: dict[str, Point] = {}

    def add(key: str, entry: str, mend_by: MendBy, **figures: object) -> None:
        named.setdefault(key, Point(key, words.say(f"gate_{entry}", **figures), mend_by))

    if not saved:
        add("not saved", "not_saved", "write")
    read = has_thickness(recipe)
    if recipe.target is None and read and not recipe.aims:
        add("target", "target", "dose")
    if not is_tested and (read or recipe.aims):
        add("untested", "untested", "cook", evidence=evidence)
    if recipe.servings is None and recipe.yield_g is None and recipe.yield_l is None:
        add("yield", "yield", "write")
    if not recipe.steps:
        add("method", "method", "write")
    for each in check(recipe).findings:
        figures = {"line": each.line, "written": each.written, "said": words.phrase(each.said)}
        if each.kind in _KINDS:
            add(f"{_KINDS[each.kind]}:{each.written}", "line", "ingredients", **figures)
        elif each.kind == "by volume" and read and recipe.ingredients[each.line - 1].part == "thickener":
            add(f"spooned:{each.written}", "spooned", "ingredients", **figures)
    if recipe.steps:
        for number, name in unlisted(recipe, words):
            add(f"unlisted:{number}:{name}", "unlisted", "write", step=number, item=name)
        firsts = zip(recipe.ingredients, first_uses(recipe, words), strict=True)
        unused = dict.fromkeys(line.item for line, first in firsts if first is None)
        if len(unused) > FEW:  # a method of a line or two: one point, not one for each
            items = ", ".join(unused)
            add(f"unused:{items}"[:MOST_KEY], "all_unused", "write", items=items)
        else:
            for item in unused:
                add(f"unused:{item}", "unused", "write", item=item)
    for (number, name), limit in sorted(keeping.against_limits(recipe, whose).items()):
        add(f"limit:{number}:{name}", "limit", "write", step=number, limit=words.phrase(limit))
    for item in labels:
        add(f"label:{item}", "label", "card", item=item)
    if not cooling:
        add("cooling", "cooling", "card")
    return (*named.values(), *_said(recipe, note, words, by, groups, groups.union(*labels.values())))


def _said(recipe: Recipe, note: str, words: Words, by: str, groups: set[str], asked: set[str]) -> Iterator[Point]:
    """Claims on the dish, and allergens that its title, note or steps name and no line carries."""
    items, claimed = " ".join(line.item.casefold() for line in recipe.ingredients), set[str]()
    texts = [(words.say("gate_in_title"), recipe.title, ""), (words.say("gate_in_note"), note, "")]
    for number, step in enumerate(recipe.steps, start=1):
        texts.append((words.say("gate_in_step", step=number), f"{step.group}: {step.text}", items))
    for where, text, products in texts:
        for claim, against in claims(text):
            key, whole = claim.casefold(), claim in text  # not part of a longer claim
            text = text.replace(claim, " . ")
            # In a step, "the low-fat yogurt" is the name of what goes in.
            if not whole or key in products or key in claimed:
                continue
            claimed.add(key)
            names = ", ".join(words.phrase(group) for group in against if group in groups)
            entry = "against" if names else "never" if "*" in against else "claim"
            said = words.say(f"gate_{entry}", where=where, claim=claim, names=names)
            yield Point(f"claim:{key}", said, "write", claim=claim, refuses=entry != "claim")
        for name, found in named_allergens(text):
            new = {words.phrase(each.group): each for each in found if each.sure and by in each.lists}
            names = ", ".join(group for group, each in new.items() if each.group not in asked)
            # A step that names what there are figures for is a point of its own already.
            if names and name not in words.editor["not_an_ingredient"] and not (products and meanings(name)):
                said = words.say("gate_named", where=where, name=name, names=names)
                yield Point(f"named:{name}", said, "write")


def signatures(signoffs: Iterable[SignOff], title: str, version: int | None) -> dict[str, SignOff]:
    """What was signed off for this very version, the last one of each; a label only where it was told what it names."""
    mine = (each for each in signoffs if each.title == title and each.version == version)
    return {each.point: each for each in mine if each.contains or not each.point.startswith("label:")}


def signed(found: Iterable[Point], own: Mapping[str, SignOff]) -> tuple[Point, ...]:
    """The points with their reasons, but for those that no reason can stand for."""
    reasons = ((point, None if point.refuses else own.get(point.key)) for point in found)
    return tuple(replace(p, reason=it.reason, cook=it.cook, names=it.contains) if it else p for p, it in reasons)
