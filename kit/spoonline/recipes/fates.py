"""What becomes of each line in the pot: it pours, is blended, stays whole, melts, thickens, or is dough.

Judged from the item, its preparation and the method; the cook's own word at the end of a line ("800 g carrots, sliced [whole]") rules.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from spoonline import facts
from spoonline.facts.rows import Juice
from spoonline.measures import patterns, read_table, typed
from spoonline.recipes.base import said

if TYPE_CHECKING:
    from spoonline.recipes.records import Ingredient, Recipe


class Becomes(NamedTuple):
    """A fate: whether it is part of the sauce, counts as liquid, gives up juice, and the share of its starch that it sets free.

    Source: shares judged, 0.3 to 0.6 where a blender opens the cells (the rest stays inside them), little where a piece stays whole.
    """

    name: str
    in_sauce: bool
    counts_as_liquid: bool = False
    gives_juice: bool = False
    starch_freed: float = 0.45


FATES = {row["name"]: typed(Becomes, row) for row in read_table("fates.csv", "recipes")}


class Fate(NamedTuple):
    """What becomes of one line: the fate, whether it was judged or told, the share of the line that it holds for (the rest
    stays whole), the juice that its whole part gives up (below 0: liquid that it takes up) with its standard uncertainty [g/g],
    and what is asked.
    """

    fate: str
    fate_from: str = "judged"
    fate_share: float = 1.0
    juice_g_per_g: float | None = None
    juice_sd_g_per_g: float | None = None
    asks: str = ""

    @classmethod
    def of(cls, line: Ingredient) -> Fate:
        """The fate that is kept with a line."""
        juice, sd = (None if each is None else float(each) for each in (line.juice_g_per_g, line.juice_sd_g_per_g))
        return cls(line.fate, line.fate_from or "judged", float(line.fate_share or 1), juice, sd)

    @property
    def gives(self) -> tuple[float, float]:
        """Juice of the whole line [g/g] with its standard uncertainty: of the part that stays whole, or all that dry goods take up."""
        juice, sd = self.juice_g_per_g or 0.0, self.juice_sd_g_per_g or 0.0
        part = 1.0 if FATES[self.fate].gives_juice or juice < 0 else 1 - self.fate_share
        return part * juice, part * sd


# liquid to flour by mass: known doughs and batters lie below 2.5, sauces and pastry cream above 7 (purees_and_stews, 7a)
DOUGH_BELOW, THICKENS_FROM = 2.5, 5.0
# Meat that is browned first loses so much of its juice as steam [g/g] (judged: 0.05 to 0.10).
BROWNED_OFF = 0.05
_SHARES = {"two thirds": 2 / 3, "three quarters": 0.75, "half": 0.5, "a third": 1 / 3, "a quarter": 0.25, "some": 0.3}
_SHARE = re.compile(rf"\b({'|'.join(_SHARES)})\b(?! an hour)", re.IGNORECASE)
WORDS = patterns("fate_words.csv", "recipes")
OF_PART = {"thickener": "thickens", "liquid": "pours", "fat": "melts", "seasoning": "melts"}
# An unknown item of less than this is a seasoning [g].
SMALL_G = 50.0
PLURALS = {"ies": "y", "oes": "o", "ches": "ch", "shes": "sh", "ves": "f", "ss": "ss", "s": ""}
# g starch per 100 g from which a grated vegetable boils away to nothing (potato has 15)
STARCHY_FROM = 8.0


def fates(recipe: Recipe) -> tuple[Fate, ...]:
    """Say what becomes of each line of a recipe.

    A line's own word rules; else: names of the thickener table thicken; what pours, pours; vegetables and fruit that are in the
    pot when a step blends or sieves are blended (half of them where it says so); flour with little liquid beside it is dough.

    Examples
    --------
    >>> from spoonline.recipes import Recipe
    >>> soup = Recipe(title="Soup", ingredients=["600 g swede, diced", "900 ml stock", "8 g cornflour"], steps=["Simmer, then blend."])
    >>> [each.fate for each in fates(soup)]
    ['blended', 'pours', 'thickens']
    """
    method = _Method(recipe)
    doughs, asks = _doughs(recipe, method)
    found = []
    for number, line in enumerate(recipe.ingredients):
        if line.fate_from == "told":
            fate, share = line.fate or "whole", float(line.fate_share or 1)
        elif number in doughs:
            fate, share = "dough", 1.0
        else:
            fate, share = _by_itself(line, method)
        juice, sd = (None, None) if fate in ("pours", "thickens", "dough") else _juice(line, method)
        # pulses drink from the pot before they are blended; oats and bread swell within the soup
        swells = juice is not None and juice < 0 and line.part == "vegetable"
        if share == 1 and not FATES[fate].gives_juice and not swells:
            juice = sd = None
        found.append(Fate(fate, line.fate_from or "judged", share, juice, sd, asks.get(number, "")))
    return tuple(found)


def judged(recipe: Recipe) -> tuple[Fate, ...]:
    """Say what would be judged of each line without the cook's own word for it; see :func:`fates`.

    Examples
    --------
    >>> from spoonline.recipes import Recipe
    >>> soup = Recipe(title="Soup", ingredients=["600 g swede [whole]", "900 ml stock"], steps=["Simmer, then blend."])
    >>> [each.fate for each in judged(soup)], soup.ingredients[0].fate
    (['blended', 'pours'], 'whole')
    """
    found = list(fates(recipe))
    for number, line in enumerate(recipe.ingredients):
        if line.fate_from == "told":
            lines = list(recipe.ingredients)
            lines[number] = line.model_copy(update={"fate": "", "fate_from": ""})
            found[number] = fates(recipe.model_copy(update={"ingredients": tuple(lines)}))[number]
    return tuple(found)


def kind_of(recipe: Recipe) -> str:
    """Say which kind of dish it is by what becomes of its lines: poured, blended, stew, dough, cold or custard."""
    mass = dict.fromkeys([*FATES, "meat", "vegetables", "egg"], 0.0)
    for line, fate in zip(recipe.ingredients, recipe.fates, strict=True):
        grams = float(line.mass_g or 0)
        mass[fate.fate] += fate.fate_share * grams
        whole = grams * (1 - fate.fate_share if fate.fate != "whole" else 1.0)
        if is_meat(line):
            mass["meat"] += whole
        elif line.part == "vegetable" and fate.fate == "melts":
            mass["blended"] += grams  # pulses that fall apart thicken as if blended
        elif line.part == "vegetable":
            mass["vegetables"] += whole
        if fate.fate == "melts" and WORDS["egg"].search(line.item):
            mass["egg"] += grams
    much = 0.1 * recipe.mass_g
    if mass["dough"] and (not mass["pours"] or max(mass["pours"], mass["meat"]) < much):
        return "dough"  # fruit under a crumble, with a little lemon, is baked and not a sauce
    if mass["meat"] > much or mass["vegetables"] > mass["pours"]:
        return "stew"
    if recipe.steps and not any(WORDS["cooks"].search(step.text) for step in recipe.steps):
        return "cold"
    if mass["egg"]:
        return "custard"
    serves = [text for text in sentences(recipe) if WORDS["serves"].search(text)]
    if serves and WORDS["served cold"].search(serves[-1]) and not WORDS["served hot"].search(serves[-1]):
        return "cold"
    return "blended" if mass["blended"] > much else "poured"


def is_meat(line: Ingredient) -> bool:
    """Whether a line is meat or fish, by its part or, where nobody knows the item, by its name."""
    return line.part == "meat" or (line.part == "other" and bool(WORDS["meat"].search(line.item)))


def is_starchy(line: Ingredient) -> bool:
    """Whether the facts know so much starch in it that grated it boils away, like potato."""
    return line.row is not None and (line.row.starch_g or 0) >= STARCHY_FROM


def part_of(line: Ingredient) -> str:
    """The part of a line; of an item that nobody knows meat by its name, and a vegetable where it is cut up."""
    if is_meat(line):
        return "meat"
    cut = line.part == "other" and line.fact_name is None and WORDS["cut"].search(line.preparation)
    return "vegetable" if cut else line.part


def refused(fate: str, line: Ingredient) -> str:
    """Say why a cook's word cannot be; blank where it can.

    >>> from spoonline.recipes import Ingredient
    >>> refused("thickens", Ingredient(item="potato", amount="500 g"))
    "'potato' cannot be [thickens]: only thickeners of the table thicken; write [blended], [whole] or [melts]."
    """
    if fate not in FATES:
        return said("no fate", fate=fate, fates=", ".join(FATES))
    row = line.row
    if fate == "thickens" and line.part != "thickener":
        return said("cannot thicken", item=line.item)
    flour = "flour" in (line.fact_name or line.item).casefold()
    if fate == "pours" and (line.part in ("thickener", "fat") or flour or (row and row.part == "meat")):
        return said("cannot pour", item=line.item)
    return ""


def _by_itself(line: Ingredient, method: _Method) -> tuple[str, float]:
    """Fate of a line and the share of it, by part, preparation and the steps that blend."""
    if line.part in OF_PART and not _is_leaf(line):
        return OF_PART[line.part], 1.0
    share = method.blends(line)
    if re.search(r"\b(?:mashed|pureed)\b" + (r"|\bgrated\b" if is_starchy(line) else ""), line.preparation):
        share = max(share, 0.5 if "half" in line.preparation else 1.0)
    if share:
        return "blended", share
    unknown = line.part == "other" and line.fact_name is None and not is_meat(line)
    small = unknown and float(line.mass_g or 0) < SMALL_G
    return ("melts" if line.part == "dairy" or small or _falls_apart(line) else "whole"), 1.0


def sentences(recipe: Recipe) -> list[str]:
    """The method in sentences, in order."""
    return [each for step in recipe.steps for each in re.split(r"[.;](?:\s|$)", step.text)]


class _Method:
    """The method as sentences, in order, and where in them each line comes in, is lifted out or is blended."""

    def __init__(self, recipe: Recipe) -> None:
        self.solids = [line for line in recipe.ingredients if line.part not in ("liquid", "fat", "seasoning")]
        self.soup = not recipe.steps and WORDS["soups"].search(recipe.title)
        self.sentences = sentences(recipe)

    def blends(self, line: Ingredient) -> float:
        """The largest share of a line that a step blends; 0 where none does."""
        comes, lifted, most = self._comes(line), False, float(bool(self.soup and not is_meat(line)))
        for number, sentence in enumerate(self.sentences):
            lifted = lifted or bool(WORDS["lifts"].search(sentence) and _names(line, sentence))
            for verb in WORDS["blends"].finditer(sentence):
                what = WORDS["object ends"].split(sentence[verb.end() :], maxsplit=1)[0]
                if _names(line, what):
                    hit = True
                elif verb["named"]:
                    hit = bool(_names(line, sentence[: verb.start()]))
                elif any(_names(each, what) for each in self.solids):
                    hit = False
                else:
                    everything = re.search(r"\b(?:everything|all)\b", what)
                    hit = comes < (number, verb.start()) and not lifted and bool(everything or not is_meat(line))
                if hit:
                    part = _SHARE.search(what)
                    most = max(most, _SHARES[part[1].lower()] if part else 1.0)
        return most

    def browned(self, line: Ingredient) -> bool:
        """Whether a sentence browns, fries or sweats this line."""
        return any(WORDS["dry heat"].search(text) and _names(line, text) for text in self.sentences)

    def _comes(self, line: Ingredient) -> tuple[int, int]:
        """Where a line is first named; before the first sentence where it never is."""
        places = ((number, _names(line, sentence)) for number, sentence in enumerate(self.sentences))
        return next((each for each in places if each[1]), (-1, 0))


def _names(line: Ingredient, text: str) -> int:
    """Where a text names this line, by a noun of its own or the word for its part, counted from 1; 0 where it does not."""
    own, group = _own_words(line.item, line.fact_name or ""), WORDS.get("meats" if is_meat(line) else line.part)
    names = (place for place, word in _words(text) if word in own or (group and group.search(word)))
    return next(names, 0)


@lru_cache(maxsize=4096)
def _words(text: str) -> tuple[tuple[int, str], ...]:
    """The words of a text in the singular, each with its place counted from 1."""
    return tuple((found.start() + 1, singular(found[0])) for found in re.finditer(r"[^\W\d_]+", text))


@lru_cache(maxsize=2048)
def _own_words(item: str, name: str) -> frozenset[str]:
    """The nouns that a method would call an item by: its last word, those of its name, and every word that is no preparation."""
    words = _words(f"{re.sub(r'[(].*?[)]', ' ', item)} {name}")
    return frozenset(word for _, word in words if len(word) > 2 and not WORDS["no noun"].search(word))


@lru_cache(maxsize=4096)
def singular(word: str) -> str:
    """A word of a method or of an item without its plural ending.

    >>> singular("Tomatoes"), singular("leaves"), singular("watercress")
    ('tomato', 'leaf', 'watercress')
    """
    word = word.casefold()
    for ending, instead in PLURALS.items():
        if word.endswith(ending) and len(word) > len(ending) + 1:
            return word.removesuffix(ending) + instead
    return word


def _doughs(recipe: Recipe, method: _Method) -> tuple[set[int], dict[int, str]]:
    """Numbers of the lines that are dough, and what is asked of flour that could be either."""
    groups: dict[str, list[int]] = {}
    lines, crusts = recipe.ingredients, any(WORDS["crust"].search(text) for text in (recipe.title, *method.sentences))
    for number, line in enumerate(lines):
        groups.setdefault(line.group, []).append(number)
    doughs, asks = set[int](), dict[int, str]()
    for group, numbers in groups.items():
        flours = [n for n in numbers if (lines[n].fact_name or lines[n].item).casefold().endswith("flour")]
        told = {lines[n].fate for n in flours if lines[n].fate_from == "told"}
        flour = sum(float(lines[n].mass_g or 0) for n in flours)
        if flour == 0 or told - {"dough"}:
            continue
        liquid = _wet(recipe, numbers, method)
        if liquid == 0 and not WORDS["crust"].search(group):
            liquid = _wet(recipe, range(len(lines)), method)
            if liquid == 0 and not told and not crusts:
                continue  # its liquid is not known yet, and nothing says dough
        if told or liquid < DOUGH_BELOW * flour:
            for n, line in ((n, lines[n]) for n in numbers):
                bound = line.part in ("liquid", "fat", "seasoning", "dairy")
                if n in flours or bound or (line.part == "other" and _falls_apart(line)):
                    doughs.add(n)
        elif liquid < THICKENS_FROM * flour:
            asks[flours[0]] = said("sauce or batter", flour=flour, liquid=liquid)
    return doughs, asks


def _is_leaf(line: Ingredient) -> bool:
    """Whether it is a herb that is counted in leaves, sprigs or bunches: it stays what it is, however long it cooks."""
    return line.row is not None and not {"leaf", "sprig", "bunch"}.isdisjoint(line.row.pieces)


def _falls_apart(line: Ingredient) -> bool:
    """Whether a line melts into what it stands in, by its name; hard-boiled eggs do not."""
    firm = WORDS["made firm"].search(f"{line.item} {line.preparation}")
    return bool(WORDS["falls apart"].search(line.fact_name or line.item)) and not (firm or is_meat(line))


def _wet(recipe: Recipe, numbers: Iterable[int], method: _Method) -> float:
    """Mass of what pours, and of the juice of pieces, among some lines [g]."""
    lines = [recipe.ingredients[number] for number in numbers]
    poured = sum(float(line.mass_g or 0) for line in lines if line.part == "liquid")
    pieces = [line for line in lines if line.part not in ("liquid", "thickener", "fat", "seasoning")]
    return poured + sum(max(_juice(line, method)[0] or 0.0, 0.0) * float(line.mass_g or 0) for line in pieces)


def _juice(line: Ingredient, method: _Method) -> tuple[float | None, float | None]:
    """Juice of a whole piece [g/g] and its standard uncertainty; below 0 where it takes liquid up."""
    meat, browned = is_meat(line), method.browned(line)
    pressure = any(WORDS["pressure"].search(text) for text in method.sentences)
    row = juice_row(line, "pressure" if pressure else "stewed" if meat else "fried" if browned else "boiled")
    if row is None:
        return None, None
    return max(row.juice_g_per_g - BROWNED_OFF, 0.0) if meat and browned else row.juice_g_per_g, row.sd


def juice_row(line: Ingredient, cooking: str) -> Juice | None:
    """The row of the juice table for a line, else for its part, and a way of cooking; None where it has none."""
    part = part_of(line)
    row = facts.juice(line.fact_name, cooking) if line.fact_name else None
    return row or (facts.juice(part, cooking) if part in ("meat", "vegetable", "fruit") else None)
