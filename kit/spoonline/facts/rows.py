"""The reference tables, read once: ingredients and thickeners, each figure with its source and kind."""

from __future__ import annotations

import csv
import difflib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from spoonline.measures.errors import ItemError
from spoonline.measures.units import unit

_HERE = Path(__file__).parent
US_ALLERGENS = frozenset(("milk", "egg", "fish", "crustaceans", "tree nuts", "peanut", "wheat", "soy", "sesame"))
EU_ALLERGENS = (US_ALLERGENS - {"wheat"}) | {
    "cereals with gluten",
    "celery",
    "mustard",
    "sulphites",
    "lupin",
    "molluscs",
}


@dataclass(frozen=True, slots=True)
class IngredientFacts:
    """Figures of one ingredient; None is "not reported", never zero.

    Composition is in g (or kcal, mg) per 100 g of the edible part; ``tsp_g``, ``tbsp_g``, ``cup_g`` are level
    US measures [g]; ``pieces`` holds g each by size or piece; ``edible_percent`` is what trimming leaves of
    the weight as bought. ``assumed`` are loose names that mean this row unless told otherwise;
    ``starch_kind`` is "reported", "derived" (carbohydrate less sugars and fibre: reads high), "rule" (taken
    as 0, where deriving is known to be wrong) or a source. ``contains`` is so by nature; ``check_label`` is a
    prompt to read the label, never a clearance.
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
    def g_per_ml(self) -> float | None:
        """Bulk density [g/mL] by the cup."""
        return self.density()

    @property
    def is_salt(self) -> bool:
        """Whether it is salt itself."""
        return self.sodium_mg is not None and self.sodium_mg > 30000

    def edible_g(self, bought_g: float) -> float | None:
        """What trimming leaves [g] of a mass as bought [g]; +-10 % unless you weigh your own trim."""
        return None if self.edible_percent is None else bought_g * self.edible_percent / 100

    def bought_g(self, edible_g: float) -> float | None:
        """What to buy [g] for an edible mass [g]; +-10 % unless you weigh your own trim."""
        return None if self.edible_percent is None else edible_g * 100 / self.edible_percent


@dataclass(frozen=True, slots=True)
class ThickenerFacts:
    """How one thickener works.

    ``strength`` is grams of maize starch that do the work of 1 g of it, both as they are (a roux: 1 g of
    roux, ``flour_share`` of it flour); ``strength_held`` the same after 10 min or more of heat; ``*_ln_sd``
    are standard uncertainties on the log scale. ``exponent`` is the power of viscosity in concentration.
    ``stage`` is ln(viscosity chilled, reheated to 85 C and whisked / fresh), ``cold`` ln(at 5 C / at 60 C).
    ``sources`` gives source and kind of each figure.
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
    sources: Mapping[str, tuple[str, str]]
    strength_held: float | None = None
    strength_held_ln_sd: float | None = None
    cold_ln_mean: float | None = None
    cold_ln_sd: float | None = None
    flour_share: float = 1.0


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of a code or of a material: value, unit, where it stands. Local codes may be stricter."""

    name: str
    value: float
    unit: str
    source: str
    kind: str
    jurisdiction: str = ""


def read_table(name: str) -> list[dict[str, str]]:
    """One of this room's own tables, row by row."""
    with (_HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def limits() -> Mapping[str, Limit]:
    """All limits by name: cooling, holding, reheating, keeping."""
    return MappingProxyType(
        {
            row["name"]: Limit(
                row["name"], float(row["value"]), row["unit"], row["source"], row["kind"], row["jurisdiction"]
            )
            for row in read_table("limits.csv")
        }
    )


def limit(name: str) -> Limit:
    """Look up a limit of a code; local codes may be stricter.

    Raises
    ------
    ItemError
        If there is no such limit here.

    Notes
    -----
    Source: stands in each row; mostly the US model Food Code as states adopt it.

    Examples
    --------
    >>> limit("cooling stage 1").value, limit("cooling stage 1").unit
    (21.0, 'C')
    """
    if name not in limits():
        raise ItemError(f"There is no limit {name!r} here; write one of {', '.join(limits())}.", list(limits()))
    return limits()[name]


def _typed(column: str, text: str) -> Any:
    parts = tuple(part.strip() for part in text.split(";") if part.strip())
    if column in ("aliases", "assumed", "contains", "check_label"):
        return parts
    if column == "pieces":
        return MappingProxyType({k: float(v) for k, _, v in (part.partition("=") for part in parts)})
    if column == "pours":
        return text == "1"
    if column in ("name", "ask", "part", "state", "starch_kind", "source", "kind"):
        return text
    return float(text) if text else None


@cache
def ingredients() -> Mapping[str, IngredientFacts]:
    """All ingredients by name, in the order of the alphabet."""
    rows = (IngredientFacts(**{c: _typed(c, t) for c, t in row.items()}) for row in read_table("ingredients.csv"))
    return MappingProxyType({row.name: row for row in rows})


@cache
def thickeners() -> Mapping[str, ThickenerFacts]:
    """All thickeners by name."""
    spreads = {"exponent": "exponent_sd", "strength": "strength_ln_sd", "strength_held": "strength_held_ln_sd"}
    spreads |= {"stage": "stage_ln_sd", "cold": "cold_ln_sd"}
    words = {field.name for field in fields(ThickenerFacts) if field.type == "str"}
    found: dict[str, dict[str, Any]] = {}
    for line in read_table("thickeners.csv"):
        row = found.setdefault(line["thickener"], {"name": line["thickener"], "sources": {}})
        figure = line["figure"]
        field = f"{figure}_ln_mean" if figure in ("stage", "cold") else figure
        row[field] = line["value"] if figure in words else float(line["value"])
        if figure in spreads:
            row[spreads[figure]] = float(line["spread"])
        row["sources"][figure] = (line["source"] or line["kind"], line["kind"])
    return MappingProxyType({name: ThickenerFacts(**row) for name, row in found.items()})


@cache
def ambiguous() -> Mapping[str, tuple[str, ...]]:
    """Names that mean different things in different kitchens, with what they can mean: asked, never guessed."""
    return MappingProxyType({row["name"]: tuple(row["can_mean"].split(";")) for row in read_table("ambiguous.csv")})


def _tidy(name: str) -> str:
    return " ".join(name.replace("-", " ").casefold().split())


@cache
def _index() -> dict[str, tuple[str, bool]]:
    """Every name in one spelling, to its row and whether that is assumed."""
    found = {_tidy(alias): (row.name, False) for row in ingredients().values() for alias in row.aliases}
    found |= {_tidy(row.name): (row.name, False) for row in ingredients().values()}
    found |= {_tidy(alias): (row.name, True) for row in ingredients().values() for alias in row.assumed}
    return found


def _spellings(plain: str) -> list[str]:
    """Write the name as it stands, then with its last word in the singular or the plural."""
    out = [plain]
    for ending, instead in (
        ("ves", "f"),
        ("ies", "y"),
        ("es", ""),
        ("s", ""),
        ("", "s"),
        ("", "es"),
        ("leaf", "leaves"),
    ):
        if plain.endswith(ending) and len(plain) > len(ending) + 2:
            out.append(plain[: len(plain) - len(ending)] + instead)
    return out


def _near(plain: str) -> list[str]:
    words, known = set(plain.split()), (*_index(), *ambiguous())
    pool = [name for name in known if words & set(name.split())] + [name for name in known if name[:3] == plain[:3]]
    return difflib.get_close_matches(plain, dict.fromkeys(pool[:30]), n=3, cutoff=0.6)


@lru_cache(maxsize=4096)
def find(name: str) -> tuple[str, bool] | None:
    """Find the row that a name means, as `lookup` does; None where nobody knows it.

    Raises
    ------
    ItemError
        If it means several things.

    Notes
    -----
    Source: names of the ingredient table.

    Examples
    --------
    >>> find("moonlight") is None
    True
    """
    for spelling in _spellings(_tidy(name)):
        if spelling in ambiguous():
            *several, last = ambiguous()[spelling]
            raise ItemError(f"{name!r} can mean {', '.join(several)} or {last}: which one?", [*several, last])
        if spelling in _index():
            return _index()[spelling]
    return None


def lookup(name: str) -> tuple[str, bool]:
    """Find the row that a name means, and whether that is assumed of a loose name ("flour").

    Raises
    ------
    ItemError
        If nobody knows it, or it means several things; the near names are in ``.data``.

    Notes
    -----
    Exact but for case, hyphens and the plural of the last word; never by a part of the name.

    Examples
    --------
    >>> lookup("Cornflour"), lookup("flour")
    (('corn starch', False), ('wheat flour', True))
    """
    found = find(name)
    if found is not None:
        return found
    near = _near(_tidy(name))
    hint = f"did you mean {', '.join(near)}?" if near else "write its amount in grams, and which part it plays."
    raise ItemError(f"There are no figures for {name[:60]!r} here; {hint}", near)


def resolve(name: str) -> str:
    """Find the row that a name means; see `lookup`.

    Raises
    ------
    ItemError
        If nobody knows it, or it means several things.

    Notes
    -----
    Source: names of the ingredient table.

    Examples
    --------
    >>> resolve("parsnips"), resolve("heavy cream")
    ('parsnip', 'double cream')
    """
    return lookup(name)[0]


def ingredient(name: str) -> IngredientFacts:
    """Look up the figures of an ingredient.

    Parameters
    ----------
    name : str
        Its name or an alias, exact but for case, hyphens and plural.

    Returns
    -------
    IngredientFacts
        Composition [g/100 g], level measures [g], pieces [g], trim [%], allergen prompts, source.

    Raises
    ------
    ItemError
        If nobody knows it, or it means several things; near names in ``.data``.

    Notes
    -----
    Source: USDA SR28 (public domain) unless the row says otherwise; allergen prompts are memory.

    Examples
    --------
    >>> ingredient("corn starch").water_g
    8.32
    """
    return ingredients()[resolve(name)]


def thickener(name: str) -> ThickenerFacts:
    """Look up how a thickener works.

    Parameters
    ----------
    name : str
        Its name or an alias. A plain "flour" is wheat flour, a plain "roux" white roux.

    Returns
    -------
    ThickenerFacts
        Strength on the maize scale, exponent, stages, behaviour, each with its source.

    Raises
    ------
    ItemError
        If it is no thickener of this kit.

    Notes
    -----
    Source: see ``sources`` of the row; strengths and stages are judged, and one's own batches overrule them.

    Examples
    --------
    >>> thickener("cornflour").strength, thickener("white roux").flour_share
    (1.0, 0.5)
    """
    table = thickeners()
    row = resolve(name)
    if row not in table:
        raise ItemError(f"{name!r} is no thickener with figures here; write one of {', '.join(table)}.", list(table))
    return table[row]
