"""From a recipe and its evidence to what a card says: every figure is worked out here, once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from spoonline import facts, keeping
from spoonline.card import gate
from spoonline.card.content import CardContent, Check, Line, Mend, MethodStep, Nutrient, Photo
from spoonline.card.method import both_degrees, times
from spoonline.card.nutrition import as_printed, label_round, rule_of, summed
from spoonline.card.records import CardNote, SignOff
from spoonline.card.thickness import ADDED, checks, mends
from spoonline.card.words import Words, words
from spoonline.dose import DishCurve, dish_curve, reheating
from spoonline.measures.errors import ItemError, KitchenError
from spoonline.pots import Batch, tested
from spoonline.pots.contents import USUAL_LOSS
from spoonline.pots.thickness import SOUP_DENSITY_KG_M3
from spoonline.recipes import Habits, Ingredient, Recipe, Version

# Three batches of the final version inside the band before "tested" may be printed (as the USDA words a standardised recipe).
TESTED_BATCHES = 3
# How far the share that boils away strays from pot to pot (judged).
LOSS_SD = 0.03


def gather(
    recipe: Recipe,
    version: Version | None = None,
    batches: Sequence[Batch] = (),
    *,
    habits: Habits | None = None,
    printed_on: date | None = None,
    photo: Photo | None = None,
    note: CardNote | None = None,
    signoffs: Sequence[SignOff] = (),
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
        The house style: household measures, names, decimal mark, unit of temperature, rounding.
    printed_on : date, optional
        Date on the card; none is printed unless given.
    photo : Photo, optional
    note : CardNote, optional
        Short note, time for getting ready, credit, and whether the box on made ahead is printed.
    signoffs : sequence of SignOff
        Points of the gate that were signed off.

    Returns
    -------
    CardContent
    """
    style, note = habits or Habits(), note or CardNote(title=recipe.title)
    said = words(style.language, style.names)
    number = version.number if version else None
    cooked, inside = tested(batches, recipe, number) if number is not None else (0, 0)
    is_tested = inside >= TESTED_BATCHES and inside == cooked
    dish = _dish(recipe, version, batches)
    evidence = _evidence(recipe, said, cooked, inside, is_tested)
    aim, served_at = "", ""
    found_checks: tuple[Check, ...] = ()
    if recipe.target is not None:
        target = recipe.target
        served_at = both_degrees(f"{target.temperature_c} C", style.first_degrees)
        aim = said.say(
            "target", viscosity=target.viscosity_pa_s, temperature=served_at, low=f"{target.low_pa_s:.2g}",
            high=f"{target.high_pa_s:.2g}", rate=target.shear_rate_per_s,
        )  # fmt: skip
        found_checks = checks(target, said)
    mend_tool = found_checks[0].tool if found_checks else ""
    found_mends: tuple[Mend, ...] = ()
    mend_how: tuple[str, ...] = ()
    if dish is not None and recipe.target is not None:
        found_mends = mends(
            recipe, dish, mend_tool, said,
            thickener=facts.local_name(dish.thickener, style.names), liquid=facts.local_name(recipe.main_liquid or "water", style.names),
        )  # fmt: skip
        mend_how = (said.say(ADDED.get(dish.thickener, "add_how")), said.say("liquid_how"))
    contains, labels, unknown = _allergens(recipe)
    finished_g, makes = _yield(recipe, dish, said)
    nutrition, nutrition_note = _nutrition(recipe, style.kitchen, said)
    servings = float(recipe.servings) if recipe.servings is not None else None
    share = ""
    if servings is not None:
        one = f"{finished_g / servings:.0f}" if finished_g else ""
        share = said.say("serving_share" if one else "serving_plain", serves=recipe.servings, grams=one)
    points = gate.points(
        recipe, said, tested=evidence, is_tested=is_tested, saved=version is not None,
        labels=[*(item for item, _ in labels), *unknown], cooling=note.made_ahead,
    )  # fmt: skip
    content = CardContent(
        title=recipe.title,
        note=note.note,
        credit=note.credit,
        version=said.say("version", title=version.title, number=version.number) if version else said.say("not_saved"),
        number=number,
        identity=version.short_id if version else "",
        saved_on=version.saved_at.date().isoformat() if version else "",
        printed_on=printed_on.isoformat() if printed_on else "",
        serves=f"{recipe.servings}" if recipe.servings is not None else "",
        makes=makes,
        times=times(recipe, said, float(note.prep_minutes) if note.prep_minutes is not None else None),
        lines=tuple(_line(line, style, said) for line in recipe.ingredients),
        method=tuple(
            MethodStep(
                both_degrees(step.text, style.first_degrees),
                step.group,
                None if step.minutes is None else float(step.minutes),
            )
            for step in recipe.steps
        ),
        dose=tuple(
            said.say("dose", dose=f"{dose:.1f}", name=facts.local_name(name, style.names))
            for name, dose in recipe.doses_g_per_l.items()
            if dose == dose
        ),
        target=aim,
        served_at=served_at,
        checks=found_checks,
        mends=found_mends,
        mend_tool=mend_tool,
        mend_how=mend_how,
        tested=evidence,
        is_tested=is_tested,
        contains=tuple(said.phrase(each) for each in contains),
        check_label=tuple(
            f"{facts.local_name(item, style.names)} ({', '.join(map(said.phrase, may))})" for item, may in labels
        ),
        not_checked=unknown,
        allergen_note=said.phrase(keeping.ALLERGENS),
        care=_care(recipe, style, said),
        cautions=_cautions(recipe, dish, batches, style, said) if note.made_ahead else (),
        nutrition=nutrition,
        serving=share,
        nutrition_note=nutrition_note,
        points=gate.signed(points, signoffs, recipe.title, number),
        invented=recipe.invented,
        photo=photo,
        language=style.language,
        variant=style.names,
    )
    return content.in_decimals(style.decimal)


def _dish(recipe: Recipe, version: Version | None, batches: Sequence[Batch]) -> DishCurve | None:
    """The dose curve from this version's own pots; None where there is no dose to speak of."""
    if recipe.main_thickener is None or recipe.liquid_l <= 0:
        return None
    own = [batch for batch in batches if version is not None and batch.version == version.number]
    try:
        return dish_curve(recipe, own, {version.number: recipe} if version is not None else {})
    except KitchenError:
        return None


def _evidence(recipe: Recipe, said: Words, cooked: int, inside: int, is_tested: bool) -> str:
    if recipe.target is None:
        return said.say("no_target")
    if cooked == 0:
        return said.say("untested")
    return said.say("tested" if is_tested else "partly", inside=inside, cooked=cooked, wanted=TESTED_BATCHES)


def grams_text(line: Ingredient, rounding: str = "usual") -> str:
    """Mass as a card prints it: thickener and seasoning to half a gram, the rest by size; or all to a tenth."""
    if line.mass_g is None:
        return ""
    if rounding == "tenths":
        return f"{float(line.mass_g):.1f} g"
    return facts.print_grams(float(line.mass_g), fine=line.part in ("thickener", "seasoning"))


def _line(line: Ingredient, style: Habits, said: Words) -> Line:
    household = line.amount
    if line.mass_g is not None:
        try:
            # Only the thickener is refused a spoon that is too far off: its dose is what the card is about.
            strict = line.part == "thickener"
            spoons = facts.household(float(line.mass_g), line.item, system=style.kitchen, strict=strict)
        except KitchenError:
            pass
        else:
            # Where no spoon comes near enough, the measure is the scale.
            household = said.say("by_weight") if str(spoons).endswith(" g") else said.measure(str(spoons))
            off = spoons.error_percent
            if abs(off) > (10 if line.part == "seasoning" and not facts.ingredient(line.item).is_salt else 5):
                household = said.say(
                    "measure_more" if off > 0 else "measure_less", household=household, error=f"{abs(off):.0f}"
                )
    return Line(
        grams_text(line, style.rounding),
        household,
        facts.local_name(line.item, style.names),
        line.preparation,
        line.group,
    )


def _allergens(recipe: Recipe) -> tuple[tuple[str, ...], tuple[tuple[str, tuple[str, ...]], ...], tuple[str, ...]]:
    """What is in it by nature; labels to read with what they may say; items that nobody knows."""
    contains: dict[str, None] = {}
    labels: dict[str, tuple[str, ...]] = {}
    unknown: dict[str, None] = {}
    for line in recipe.ingredients:
        try:
            row = facts.ingredient(line.item)
        except ItemError:
            unknown[line.item] = None
            continue
        contains |= dict.fromkeys(row.contains)
        if row.check_label:
            labels[line.item] = row.check_label
    return tuple(contains), tuple(labels.items()), tuple(unknown)


def _yield(recipe: Recipe, dish: DishCurve | None, said: Words) -> tuple[float, str]:
    """Finished mass [g] and how a card says it: as weighed, as measured, or put in less what boils away."""
    if recipe.yield_g is not None:
        grams = float(recipe.yield_g)
        return grams, said.say("finished_mass", grams=f"{grams:.0f}", litres=f"{grams / SOUP_DENSITY_KG_M3:.2g}")
    if recipe.yield_l is not None:
        litres = float(recipe.yield_l)
        grams = litres * SOUP_DENSITY_KG_M3
        return grams, said.say(
            "finished_mass", grams=f"{grams:.3g}" if grams < 1000 else f"{10 * round(grams / 10)}", litres=f"{litres:g}"
        )
    if not recipe.mass_g > 0:
        return 0.0, ""
    loss = dish.loss if dish is not None else USUAL_LOSS
    best, low, high = (
        facts.print_grams(recipe.mass_g * (1 - each)).removesuffix(" g")
        for each in (loss, loss + 2 * LOSS_SD, max(loss - 2 * LOSS_SD, 0))
    )
    grams = recipe.mass_g * (1 - loss)
    return grams, said.say("about_mass", grams=best, low=low, high=high, litres=f"{grams / SOUP_DENSITY_KG_M3:.2g}")


def _nutrition(recipe: Recipe, kitchen: str, said: Words) -> tuple[tuple[Nutrient, ...], str]:
    if recipe.servings is None:
        return (), said.say("nutrition_none", why=said.say("no_servings"))
    sums, rule = summed(recipe), rule_of(kitchen)
    missing = tuple(dict.fromkeys(item for each in sums for item in each.missing))
    if len(sums[0].missing) >= len(recipe.ingredients):
        return (), said.say("nutrition_none", why=said.say("no_masses"))
    found = []
    for each in sums:
        one = each.value / float(recipe.servings)
        named, figures = as_printed(each.key, one, each.unit, rule)
        shown = said.say("kilojoules", **figures) if "kj" in figures else figures["amount"]
        if each.missing:
            shown = said.say("at_least", amount=shown)
        value = label_round(each.key, one, rule)
        found.append(Nutrient(each.key, value, each.unit, named, shown, not each.missing))
    told = said.say("nutrition_method", rule=said.say(f"rule_{rule}"))
    if missing:
        told = f"{told} {said.say('nutrition_missing', names=', '.join(missing))}"
    return tuple(found), told


def _care(recipe: Recipe, style: Habits, said: Words) -> tuple[str, ...]:
    """What a cook must mind while cooking, from the steps themselves; cooling and reheating have their own box."""
    found = dict.fromkeys(text for step in recipe.steps for text in keeping.cautions_for(step.text))
    if any(line.fact_name == "egg yolk" for line in recipe.ingredients) and recipe.thickeners_g:
        found[keeping.YOLK] = None
    return tuple(
        both_degrees(said.phrase(text), style.first_degrees) for text in found if text not in keeping.MADE_AHEAD
    )


def _cautions(
    recipe: Recipe, dish: DishCurve | None, batches: Sequence[Batch], style: Habits, said: Words
) -> tuple[str, ...]:
    """Cooling, keeping and reheating, with what this dish itself asks for first."""
    found = []
    if dish is not None and recipe.target is not None:
        again = [batch for batch in batches if not batch.left_out]
        advice = reheating(dish, recipe.doses_g_per_l[dish.thickener], again)
        named = {name: facts.local_name(advice.figures[name], style.names) for name in ("liquid", "thickener")}
        found.append(said.phrase(advice.template).format(**advice.figures | named))
    return tuple(both_degrees(said.phrase(each), style.first_degrees) for each in (*found, *keeping.MADE_AHEAD))
