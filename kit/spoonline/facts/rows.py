"""The reference tables, read once: ingredients and thickeners, each figure with its source and kind."""

import difflib
import unicodedata
from collections.abc import Mapping
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Any, NamedTuple

from spoonline.measures import ItemError, one_of, typed, unit
from spoonline.measures.tables import read_table as read_table

# What a last word is in the singular or the plural: its ending, and what stands instead.
_ENDINGS = (("ves", "f"), ("ies", "y"), ("es", ""), ("s", ""), ("", "s"), ("", "es"), ("leaf", "leaves"))


class IngredientFacts(NamedTuple):
    """Figures of one ingredient; None is "not reported", never zero.

    Composition is in g (or kcal, mg) per 100 g of the edible part; ``tsp_g``, ``tbsp_g``, ``cup_g`` are level US measures
    [g]; ``pieces`` holds g each by size or piece; ``edible_percent`` is what trimming leaves of the weight as bought.
    ``assumed`` are loose names that mean this row unless told otherwise; ``starch_kind`` is "reported", "derived"
    (carbohydrate less sugars and fibre: reads high), "rule" (taken as 0, where deriving is known to be wrong) or a source.
    ``contains`` is so by nature; ``check_label`` is a prompt to read the label, never a clearance.
    """

    name: str
    aliases: tuple[str, ...]
    assumed: tuple[str, ...]
    ask: str
    part: str
    pours: bool
    tsp_g: float | None
    tbsp_g: float | None
    cup_g: float | None
    state: str
    pieces: Mapping[str, float]
    water_g: float | None
    protein_g: float | None
    fat_g: float | None
    carbohydrate_g: float | None
    fibre_g: float | None
    sugars_g: float | None
    starch_g: float | None
    starch_kind: str
    ash_g: float | None
    alcohol_g: float | None
    energy_kcal: float | None
    sodium_mg: float | None
    edible_percent: float | None
    contains: tuple[str, ...]
    check_label: tuple[str, ...]
    source: str
    kind: str

    def density(self, measure: str = "cup") -> float | None:
        """Bulk density [g/mL] as filled into this measure; None where no spoon or cup of it has a weight."""
        order = {"tsp": ("tsp", "tbsp", "cup"), "tbsp": ("tbsp", "cup", "tsp"), "dsp": ("tbsp", "tsp", "cup")}
        for name in order.get(measure, ("cup", "tbsp", "tsp")):
            mass: float | None = getattr(self, f"{name}_g")
            if mass is not None:
                return mass / (unit(name, "us").size or 1.0)
        return None

    @property
    def is_salt(self) -> bool:
        """Whether it is salt itself."""
        return self.sodium_mg is not None and self.sodium_mg > 30000

    def edible_g(self, bought_g: float) -> float | None:
        """What trimming leaves [g] of a mass as bought [g]; +-10 % unless you weigh your own trim."""
        return None if self.edible_percent is None else bought_g * self.edible_percent / 100


class ThickenerFacts(NamedTuple):
    """How one thickener works; ``sources`` gives source and kind of each figure.

    ``strength`` is grams of maize starch that do the work of 1 g of it, both as they are (a roux: 1 g of roux,
    ``flour_share`` of it flour); ``strength_held`` the same after 10 min or more of heat; ``*_ln_sd`` are standard
    uncertainties on the log scale. ``exponent`` is the power of viscosity in concentration. ``stage`` is ln(viscosity
    chilled, reheated to 85 C and whisked / fresh), ``cold`` ln(at 5 C / at 60 C). ``way`` is how it goes into a hot pot. A gum has
    a ``law`` of its own: dose [g/L], viscosity there at 60 C [Pa s], its spread, activation [kJ/mol], its spread, flow index.
    """

    name: str
    strength: float
    strength_ln_sd: float
    exponent: float
    exponent_sd: float
    stage_ln_mean: float
    stage_ln_sd: float
    starch_percent: float
    water_percent: float
    clarity: str
    boil: str
    acid: str
    chill: str
    freeze: str
    dairy: str
    add: str
    way: str
    sources: Mapping[str, tuple[str, str]]
    strength_held: float | None = None
    strength_held_ln_sd: float | None = None
    cold_ln_mean: float | None = None
    cold_ln_sd: float | None = None
    flour_share: float = 1.0
    law: tuple[float, ...] | None = None


class Limit(NamedTuple):
    """A limit of a code or of a material: value, unit, where it stands. Local codes may be stricter."""

    name: str
    value: float
    unit: str
    source: str
    kind: str
    jurisdiction: str = ""


class Juice(NamedTuple):
    """What an ingredient gives its pot, g per g as put in: ``juice_g_per_g`` (below 0: it takes up liquid), its ``sd``, melted fat.

    ``puree_eta1_pa_s`` is what its cooked flesh blended alone reads (60 C, 50 1/s), with a spread on the log scale;
    ``starch_free_share`` the part of its own starch that blending frees. None is "not known".
    """

    name: str
    cooking: str
    juice_g_per_g: float
    sd: float
    fat_g_per_g: float
    puree_eta1_pa_s: float | None
    puree_ln_sd: float | None
    starch_free_share: float | None
    starch_free_sd: float | None
    source: str
    kind: str


@cache
def limits() -> Mapping[str, Limit]:
    """All limits by name: cooling, holding, reheating, keeping."""
    return MappingProxyType({row["name"]: typed(Limit, row) for row in read_table("limits.csv")})


def limit(name: str) -> Limit:
    """Look up a limit of a code by its name; local codes may be stricter.

    Source: stands in each row; mostly the US model Food Code as states adopt it.

    >>> limit("cooling stage 1").value, limit("cooling stage 1").unit
    (21.0, 'C')
    """
    return one_of(limits(), name, "limit")


@cache
def ingredients() -> Mapping[str, IngredientFacts]:
    """All ingredients by name, in the order of the alphabet; a thickener's row holds how it thickens as well."""
    rows = sorted((*read_table("ingredients.csv"), *read_table("thickeners.toml")), key=lambda row: row["name"])
    return MappingProxyType({row["name"]: typed(IngredientFacts, row) for row in rows})


@cache
def thickeners() -> Mapping[str, ThickenerFacts]:
    """All thickeners by name."""
    return MappingProxyType({row["name"]: _thickener(row) for row in read_table("thickeners.toml")})


def _thickener(row: dict[str, Any]) -> ThickenerFacts:
    """How a thickener works, from its table: a list there ends with source and kind, before them stand the figure and its spread."""
    known = ThickenerFacts._fields
    found: dict[str, Any] = {"name": row["name"], "way": row["way"], "sources": {}}
    for figure, (*values, source, kind) in ((name, given) for name, given in row.items() if isinstance(given, list)):
        names = [each for each in (figure, f"{figure}_ln_mean", f"{figure}_ln_sd", f"{figure}_sd") if each in known]
        found |= zip(names, [values] if figure == "law" else values, strict=False)
        found["sources"][figure] = (source, kind)
    return ThickenerFacts(**found)


@cache
def ambiguous() -> Mapping[str, tuple[str, ...]]:
    """Names that mean different things in different kitchens, with what they can mean: asked, never guessed."""
    return MappingProxyType({row["name"]: tuple(row["can_mean"].split(";")) for row in read_table("ambiguous.csv")})


def tidy(name: str) -> str:
    """A name in one spelling: small letters, no accents, hyphens as spaces, "&" as and."""
    bare = "".join(each for each in unicodedata.normalize("NFKD", name) if not unicodedata.combining(each))
    return " ".join(bare.replace("-", " ").replace("&", " and ").replace("\u2019", "'").casefold().split())


@cache
def _index() -> dict[str, tuple[str, bool]]:
    """Every name in one spelling, to its row and whether that is assumed."""
    found = {tidy(alias): (row.name, False) for row in ingredients().values() for alias in row.aliases}
    found |= {tidy(row.name): (row.name, False) for row in ingredients().values()}
    found |= {tidy(alias): (row.name, True) for row in ingredients().values() for alias in row.assumed}
    return found


def spellings(plain: str) -> list[str]:
    """Write the name as it stands, then with its last word in the singular or the plural."""
    fits = [each for each in _ENDINGS if plain.endswith(each[0]) and len(plain) > len(each[0]) + 2]
    return [plain, *(plain.removesuffix(ending) + instead for ending, instead in fits)]


def _near(plain: str) -> list[str]:
    words, known = set(plain.split()), (*_index(), *ambiguous())
    pool = [name for name in known if words & set(name.split())] + [name for name in known if name[:3] == plain[:3]]
    return difflib.get_close_matches(plain, dict.fromkeys(pool[:30]), n=3, cutoff=0.6)


@lru_cache(maxsize=4096)
def find(name: str) -> tuple[str, bool] | None:
    """Find the row that a name means, and whether that is assumed of a loose name ("flour"); None where nobody knows it.

    Exact but for case, hyphens and the plural of the last word; never by a part of the name. Raises `ItemError` if it means
    several things.

    >>> find("Cornflour"), find("flour"), find("moonlight")
    (('corn starch', False), ('wheat flour', True), None)
    """
    for spelling in spellings(tidy(name)):
        if spelling in ambiguous():
            *several, last = ambiguous()[spelling]
            raise ItemError(f"{name!r} can mean {', '.join(several)} or {last}: which one?", [*several, last])
        if spelling in _index():
            return _index()[spelling]
    return None


@lru_cache(maxsize=8192)
def meanings(name: str) -> tuple[str, ...]:
    """Rows that a name may mean; none where nobody knows it.

    >>> meanings("Cornflour"), meanings("mustard"), meanings("moonlight")
    (('corn starch',), ('prepared mustard', 'mustard powder'), ())
    """
    try:
        row = find(name)
    except ItemError as err:
        return tuple(map(str, err.data or ()))
    return row[:1] if row else ()


def known(name: str) -> IngredientFacts | None:
    """Look up the figures of an ingredient; None where nobody knows the name, or it means several things.

    >>> known("Cornflour").name, known("moonlight")
    ('corn starch', None)
    """
    found = meanings(name)
    return ingredients()[found[0]] if len(found) == 1 else None


def resolve(name: str) -> str:
    """Find the name of the row that a name means; the `ItemError` where there is none, or are several, has the near names in ``.data``.

    >>> resolve("parsnips"), resolve("heavy cream")
    ('parsnip', 'heavy cream')
    """
    found = find(name)
    if found is not None:
        return found[0]
    near = _near(tidy(name))
    hint = f"did you mean {', '.join(near)}?" if near else "write its amount in grams, and which part it plays."
    raise ItemError(f"There are no figures for {name[:60]!r} here; {hint}", near)


# Ways of cooking, and what else each may be read as; and the classes of those that have no row of their own.
COOKING = {"stewed": (), "boiled": ("stewed",), "pressure": ("stewed",), "fried": (), "roasted": (), "any": ("stewed",)}
_CLASSES = ("meat", "fish", "shellfish", "vegetable", "fruit")
_SEA = {"fish": "fish", "crustaceans": "shellfish", "molluscs": "shellfish"}


@cache
def juices() -> Mapping[tuple[str, str], Juice]:
    """All rows of the table of juices, by ingredient or class and way of cooking.

    >>> row = juices()["beef chuck", "stewed"]
    >>> row.juice_g_per_g, row.sd, row.kind
    (0.34, 0.045, 'computed')
    """
    found = {}
    for row in read_table("juices.csv"):
        for name in row["name"].split(";"):
            found[name, row["cooking"]] = typed(Juice, row | {"name": name, "fat_g_per_g": row["fat_g_per_g"] or "0"})
    return MappingProxyType(found)


def juice(name: str, cooking: str = "stewed") -> Juice | None:
    """Find what an ingredient, else its class (meat, fish, shellfish, vegetable, fruit), gives its pot; None where nobody knows.

    Boiled or under pressure is read as stewed. Source: stands in each row; USDA's and Bognar's cooking yields, or judged.

    >>> juice("beef chuck", "pressure").juice_g_per_g, juice("red lentils").juice_g_per_g
    (0.34, -1.73)
    """
    ways = (cooking, "any", *one_of(COOKING, cooking, "way of cooking"))
    keys: tuple[str, ...] = (name,)
    if name not in _CLASSES:
        row = ingredient(name)
        sea = next((_SEA[word] for word in row.contains if word in _SEA and row.part == "meat"), row.part)
        keys = (row.name, sea)
    return next((juices()[key, way] for key in keys for way in ways if (key, way) in juices()), None)


@cache
def _names() -> Mapping[str, Mapping[str, str]]:
    return {row["name"]: row for row in read_table("names.csv")}


def local_name(item: str, spelling: str = "") -> str:
    """The item as a "us" or "uk" kitchen calls it; as it was written where they call it the same, or no spelling is asked for.

    Source: common practice, no source. Only names are changed, never the ingredient; each reads back as the same row.

    >>> local_name("corn starch", "uk"), local_name("courgettes", "us"), local_name("parsnips", "us")
    ('cornflour', 'zucchini', 'parsnips')
    """
    if spelling not in ("", "us", "uk"):
        raise ItemError(f"There is no spelling {spelling!r}; choose us or uk, or nothing to leave it as written.")
    row = known(item) if spelling else None
    return _names()[row.name][spelling] if row and row.name in _names() else item


def ingredient(name: str) -> IngredientFacts:
    """Look up the figures of an ingredient: composition [g/100 g], level measures [g], pieces [g], trim [%], allergen prompts, source.

    Raises `ItemError` as `resolve` does. Source: USDA SR28 (public domain) unless the row says otherwise; allergen prompts
    are memory.

    >>> ingredient("corn starch").water_g
    8.32
    """
    return ingredients()[resolve(name)]


def thickener(name: str) -> ThickenerFacts:
    """Look up how a thickener works: strength on the maize scale, exponent, stages, behaviour, each with its source.

    A plain "flour" is wheat flour, a plain "roux" white roux. Raises `ItemError` if it is no thickener of this kit.
    Source: see ``sources`` of the row; strengths and stages are judged, and one's own batches overrule them.

    >>> thickener("cornflour").strength, thickener("white roux").flour_share
    (1.0, 0.5)
    """
    return one_of(thickeners(), resolve(name), "thickener")
