"""What a card says, as plain data: gathered once, so that every form of the card prints the same figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date
from typing import Any

from spoonline import facts, flow, keeping
from spoonline.measures.errors import ItemError, KitchenError
from spoonline.measures.local import localised
from spoonline.recipes import Habits, Ingredient, Recipe, Target, Version
from spoonline.trials import Batch, dish_curve, reheating, tested
from spoonline.trials.priors import FLOW_INDEX
from spoonline.trials.thickness import SOUP_DENSITY_KG_M3

# Three batches of the final version inside the band before "tested" may be printed (as the USDA words a standardised recipe).
TESTED_BATCHES = 3


@dataclass(frozen=True)
class Line:
    """One ingredient line in both measures."""

    grams: str
    household: str
    error: str
    item: str
    preparation: str
    group: str


@dataclass(frozen=True)
class Check:
    """One way to check the thickness at home."""

    tool: str
    how: str
    reading: str


@dataclass(frozen=True)
class CardContent:
    """Everything a card prints."""

    title: str
    version: str
    identity: str
    printed_on: str
    serves: str
    makes: str
    lines: tuple[Line, ...]
    steps: tuple[str, ...]
    dose: tuple[str, ...]
    target: str
    checks: tuple[Check, ...]
    tested: str
    is_tested: bool
    contains: tuple[str, ...]
    check_label: tuple[str, ...]
    allergen_note: str
    cautions: tuple[str, ...]
    notes: tuple[str, ...] = field(default=())
    invented: bool = False

    def in_decimals(self, mark: str) -> CardContent:
        """The same content with its figures in this decimal mark; what a person typed stays as typed."""
        return self if mark == "." else replace(self, **_in_decimals(self, mark))


TYPED = frozenset(
    {"title", "steps", "item", "preparation", "group", "notes", "version", "identity", "printed_on"}
)


def _in_decimals(part: Any, mark: str) -> dict[str, Any]:
    def turned(value: Any) -> Any:
        if isinstance(value, str):
            return localised(value, mark)
        if isinstance(value, tuple):
            return tuple(turned(each) for each in value)
        return replace(value, **_in_decimals(value, mark)) if isinstance(value, (Line, Check)) else value

    return {each.name: turned(getattr(part, each.name)) for each in fields(part) if each.name not in TYPED}


def grams_text(line: Ingredient) -> str:
    """Mass as a card prints it: thickener and seasoning to half a gram, the rest by size."""
    if line.mass_g is None:
        return ""
    return facts.print_grams(float(line.mass_g), fine=line.part in ("thickener", "seasoning"))


def _line(line: Ingredient, system: str, names: str) -> Line:
    household, error = line.amount, ""
    if line.mass_g is not None:
        try:
            spoons = facts.household(float(line.mass_g), line.item, system=system)
        except KitchenError:
            pass
        else:
            # Where no spoon comes near enough, the measure is the scale.
            household = "by weight" if str(spoons).endswith(" g") else str(spoons)
            if abs(spoons.error_percent) > (10 if line.part == "seasoning" else 5):
                error = f"{spoons.error_percent:+.0f} %"
    return Line(
        grams_text(line), household, error, facts.local_name(line.item, names), line.preparation, line.group
    )


def _checks(target: Target) -> tuple[Check, ...]:
    """What the kitchen's tools show at the target and at both ends of its band."""
    found = []
    for name, how in (("spatula", flow.how("spatula")), ("ring", flow.how("ring"))):
        tool = flow.usual(name)
        shown = []
        for viscosity in (target.low_pa_s, float(target.viscosity_pa_s), target.high_pa_s):
            consistency = viscosity * float(target.shear_rate_per_s) ** (1 - FLOW_INDEX)
            fluid = flow.Fluid(consistency, FLOW_INDEX, SOUP_DENSITY_KG_M3)
            reading = float(tool.reading(fluid))
            if tool.flags(reading):
                break
            shown.append(reading)
        else:
            low, high = sorted((shown[0], shown[2]))
            found.append(Check(name, how, f"{shown[1]:.1f} {tool.unit} ({low:.1f} to {high:.1f})"))
    return tuple(found)


def _allergens(recipe: Recipe) -> tuple[tuple[str, ...], tuple[str, ...], str]:
    contains: dict[str, None] = {}
    labels: dict[str, None] = {}
    unknown = []
    for line in recipe.ingredients:
        try:
            row = facts.ingredient(line.item)
        except ItemError:
            unknown.append(line.item)
            continue
        contains |= dict.fromkeys(row.contains)
        if row.check_label:
            labels[f"{line.item} ({', '.join(row.check_label)})"] = None
    note = "Not fully checked: " + ", ".join(unknown) + ". " if unknown else ""
    return tuple(contains), tuple(labels), note + keeping.ALLERGENS


def gather(
    recipe: Recipe,
    version: Version | None = None,
    batches: Sequence[Batch] = (),
    *,
    habits: Habits | None = None,
    printed_on: date | None = None,
) -> CardContent:
    """Gather everything a card prints.

    Parameters
    ----------
    recipe : Recipe
    version : Version, optional
        The saved version it is; without one the card says so.
    batches : sequence of Batch
        Batches of the dish; only those of this version count as tests of it.
    habits : Habits, optional
        How the kitchen writes: household measures, names of ingredients, decimal mark.
    printed_on : date, optional
        Date on the card; none is printed unless given.

    Returns
    -------
    CardContent
    """
    habits = habits or Habits()
    cooked, inside = tested(batches, recipe, version.number) if version else (0, 0)
    is_tested = inside >= TESTED_BATCHES and inside == cooked
    if recipe.target is None:
        words = "No thickness target is set, so no batch could be held against it."
    elif cooked == 0:
        words = "Not tested yet: no batch of this version has been read."
    else:
        words = (
            f"{inside} of {cooked} {'batch' if cooked == 1 else 'batches'} of this version inside the band. "
        )
        words += (
            "Tested."
            if is_tested
            else f"Not tested yet: {TESTED_BATCHES} batches, all inside the band, are wanted."
        )
    contains, labels, allergen_note = _allergens(recipe)
    target = ""
    if recipe.target is not None:
        aim = recipe.target
        target = (
            f"{aim.viscosity_pa_s} Pa s at {aim.temperature_c} C (band {aim.low_pa_s:.2g} to {aim.high_pa_s:.2g} Pa s, "
            f"quoted at {aim.shear_rate_per_s} 1/s)"
        )
    cautions = keeping.MADE_AHEAD
    if any("puree" in step.text.casefold() or "blend" in step.text.casefold() for step in recipe.steps):
        cautions = (keeping.HOT_LIQUID, *cautions)
    if any(line.fact_name == "egg yolk" for line in recipe.ingredients) and recipe.thickeners_g:
        cautions = (keeping.YOLK, *cautions)
    back = _reheated(recipe, version, batches)
    content = CardContent(
        title=recipe.title,
        version=version.name if version else "not saved yet",
        identity=version.short_id if version else "",
        printed_on=printed_on.isoformat() if printed_on else "",
        serves=f"{recipe.servings}" if recipe.servings is not None else "",
        makes=_makes(recipe),
        lines=tuple(_line(line, habits.kitchen, habits.names) for line in recipe.ingredients),
        steps=tuple(step.text for step in recipe.steps),
        dose=tuple(
            f"{dose:.1f} g of {name} per litre of liquid" for name, dose in recipe.doses_g_per_l.items()
        ),
        target=target,
        checks=_checks(recipe.target) if recipe.target else (),
        tested=words,
        is_tested=is_tested,
        contains=contains,
        check_label=labels,
        allergen_note=allergen_note,
        cautions=(back, *cautions) if back else cautions,
        notes=tuple(recipe.questions),
        invented=recipe.invented,
    )
    return content.in_decimals(habits.decimal)


def _reheated(recipe: Recipe, version: Version | None, batches: Sequence[Batch]) -> str:
    """What to stir in after chilling and reheating, from every pot of the dish that was read again."""
    if recipe.main_thickener is None or recipe.liquid_l <= 0 or recipe.target is None:
        return ""
    own = [batch for batch in batches if version is not None and batch.version == version.number]
    dish = dish_curve(recipe, own, {version.number: recipe} if version is not None else {})
    again = [batch for batch in batches if not batch.left_out]
    return reheating(dish, recipe.doses_g_per_l[dish.thickener], again).text


def _makes(recipe: Recipe) -> str:
    if recipe.yield_g is not None:
        return f"about {recipe.yield_g} g"
    if recipe.yield_l is not None:
        return f"about {recipe.yield_l} L"
    return f"about {facts.print_grams(recipe.mass_g)} put in" if recipe.mass_g else ""
