"""From a dish and its evidence to what a card says: every figure is worked out here, once."""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from spoonline import facts, keeping
from spoonline.card import gate
from spoonline.card.content import TURNS, CardContent, CardLine, Check, MethodStep, Nutrient, Photo, in_decimals
from spoonline.card.method import both_degrees, times
from spoonline.card.nutrition import Rule, label_round
from spoonline.card.records import CardNote, SignOff
from spoonline.card.thickness import checks, has_thickness, mends, sauce_litres
from spoonline.card.words import TEXT, Words, words
from spoonline.dish import AimCount, Dish
from spoonline.dose import reheating
from spoonline.facts.allergens import Allergen, allergen_list, allergens, is_known
from spoonline.measures import METRIC, or_none, print_dose, split_line
from spoonline.pots import LAST_POTS, SOUP_DENSITY_KG_M3, STAGES, TESTED_DAYS, TESTED_POTS, BandCount
from spoonline.recipes import Fate, Habits, Ingredient, Recipe, dimension_of
from spoonline.recipes.nutrition import UNITS, summed

Carried = list[Allergen]
Labels = dict[str, tuple[str, ...]]

PIECES = ("vegetable", "fruit", "meat")
# How an aim is measured, by what its unit measures.
MEASURED = {"[length]": "length", "[mass]": "mass"}


def gather(
    dish: Dish, style: Habits, note: CardNote, *, printed_on: date | None = None, photo: Photo | None = None,
    signoffs: Sequence[SignOff] = (),
) -> CardContent:  # fmt: skip
    """Gather everything a card prints.

    Parameters
    ----------
    dish : Dish
        At the version to print; without one the card says that it is not saved.
    style : Habits
        The house style: household measures, names, decimal mark, unit of temperature, rounding.
    note : CardNote
        Short note, time for getting ready, credit, and whether the box on made ahead is printed.
    printed_on : date, optional
        Date on the card; none is printed unless given.
    photo : Photo, optional
    signoffs : sequence of SignOff
        Points of the gate that were signed off.

    Returns
    -------
    CardContent
    """
    recipe, version, wording = dish.recipe, dish.version, words(style.language, style.names)
    evidence = evidence_text(dish, wording) if has_thickness(recipe) else ""
    aims = tuple(aimed(each, recipe, wording) for each in dish.aims)
    signed = gate.signatures(signoffs, recipe.title, dish.number)
    by = allergen_list(style.jurisdiction)
    contains, may_contain, labels = _allergens(recipe, by["name"], signed)
    left = {item: may for item, may in labels.items() if f"label:{item}" not in signed}
    ask = [(facts.local_name(item, style.names), map(wording.phrase, may)) for item, may in left.items() if may]
    finished_g, makes, makes_range = _yield(dish, wording)
    if not makes.startswith(recipe.makes):  # what was written, and what it does not say
        more = [each for each in makes.split(", ") if each.casefold() not in recipe.makes.casefold()]
        makes = ", ".join([recipe.makes, *more])
    by_piece = recipe.makes and recipe.yield_g is None and recipe.yield_l is None
    steps, lines = [step.text for step in recipe.steps], [line.line for line in recipe.ingredients]
    care = keeping.beside(steps, recipe.kind, style.jurisdiction, lines, f"{recipe.title}. {note.note}")
    box = {*keeping.made_ahead(recipe.kind, style.jurisdiction)}
    later = {name for name, stage in STAGES.items() if stage.thickened and not stage.fresh}
    read = {each.stage for pot in dish.alike for each in pot.batch.readings}
    kept = recipe.kind == "cold" or bool(later & read) or any(box & {*each} for each in care)
    carries = kept if note.made_ahead is None else note.made_ahead
    shown = " ".join((evidence, *(each.good for each in aims))).strip()
    points = gate.points(
        recipe, wording, evidence=shown, is_tested=dish.tested.enough, saved=version is not None, labels=labels,
        groups={each.group for each in (*contains, *may_contain)}, by=by["name"], note=note.note, cooling=carries or not kept,
        whose=style.jurisdiction,
    )  # fmt: skip
    content = CardContent(
        title=TURNS.sub("", recipe.title).strip() or wording.say("untitled"), note=note.note, credit=note.credit,
        number=dish.number, identity=version.short_id if version else "",
        version=wording.say("version", title=version.title, number=version.number) if version else wording.say("not_saved"),
        saved_on=version.saved_at.date().isoformat() if version else "",
        printed_on=printed_on.isoformat() if printed_on else "",
        serves="" if by_piece else recipe.serves, makes=makes, makes_range=makes_range, times=times(recipe, wording, note.prep_minutes),
        lines=tuple(_line(recipe, *each, style, wording) for each in zip(recipe.ingredients, recipe.fates, strict=True)),
        method=tuple(
            MethodStep(both_degrees(step.text, style.first_degrees), step.group,
                       tuple(both_degrees(wording.phrase(each), style.first_degrees) for each in lines if each not in box))
            for step, lines in zip(recipe.steps, care, strict=True)
        ),
        tested=evidence, read_at=_stages(dish, wording) if evidence else "", **_thickness(dish, style, wording),
        contains=_named(contains, by, wording), beside=_named(contains, by, wording, listed=False),
        may_contain=_named(may_contain, by, wording), allergen_list=wording.phrase(by["says"]),
        allergen_note=wording.phrase(keeping.ALLERGENS), not_checked=tuple(item for item, may in left.items() if not may),
        check_label=tuple(f"{item} ({', '.join(may)})" for item, may in ask),
        cautions=_cautions(dish, style, wording) if carries else (),
        **_nutrition(recipe, style.kitchen, finished_g, wording),
        points=gate.signed(points, signed), invented=recipe.invented, photo=photo,
        language=style.language, variant=style.names, decimal=style.decimal, aims=aims, baked=not has_thickness(recipe),
    )  # fmt: skip
    return in_decimals(content, style.decimal)


def evidence_text(dish: Dish, wording: Words) -> str:
    """What the pots of this version have shown, and no more."""
    if dish.aim is None:
        return "" if dish.aims else wording.say("no_target")
    ten = min(9, round(10 * dish.next.chance)) if dish.next is not None else "some"
    return _count_text(dish.in_band, "", wording, ten=ten)


def _count_text(count: BandCount, kind: str, wording: Words, **figures: object) -> str:
    partly = "partly_one" if count.read == 1 else "partly"
    entry = "untested" if not count.read else "tested" if count.enough else partly
    return wording.say(
        f"{kind}{entry}", inside=count.inside, cooked=count.read, days=count.days, wanted=TESTED_POTS, last=LAST_POTS,
        on_days=TESTED_DAYS, **figures,
    )  # fmt: skip


def aimed(counted: AimCount, recipe: Recipe, wording: Words) -> Check:
    """A further aim: what it should come to, how the method (or else anybody) measures that, and what its pots have shown."""
    aim, count = counted.aim, counted.count
    entry = "aim_most" if aim.low is None else "aim_least" if aim.high is None else "aim_between"
    outcome, unit = (wording.phrase(each) for each in (aim.outcome, aim.unit))
    said = wording.say(entry, outcome=outcome, unit=unit, low=aim.low, high=aim.high)
    way = "aim_how_" + ("score" if aim.unit == "score" else MEASURED.get(dimension_of(aim.unit), "other"))
    does = re.compile(rf"\b(?:{'|'.join(wording.editor[way])})\b(?!\s+(?:\d|out\b))[^.;]*", re.IGNORECASE)
    found = [(each[0], number) for number, step in enumerate(recipe.steps, 1) for each in does.finditer(step.text)]
    how = wording.say("aim_how_step", does=_upper(found[-1][0]), step=found[-1][1]) if found else wording.say(way)
    return Check("", how, _upper(said), _count_text(count, "aim_", wording, aim=said))


def _upper(text: str) -> str:
    """The text as a sentence begins."""
    return text[:1].upper() + text[1:]


def _stages(dish: Dish, wording: Words) -> str:
    """When those pots were read, if any was."""
    pots = [pot.batch for pot in dish.alike]
    names = dict.fromkeys(wording.phrase(each.stage) for pot in pots for each in pot.readings if not each.set_apart)
    return wording.say("read_at", stages=", ".join(names)) if names else ""


def _thickness(dish: Dish, style: Habits, wording: Words) -> dict[str, Any]:
    """The box on thickness: dose, aim, how it is checked, and what mends it."""
    recipe, aim = dish.recipe, dish.aim
    doses = {facts.local_name(name, style.names): dose for name, dose in dish.doses_g_per_l.items() if dose > 0}
    found: dict[str, Any] = {
        "dose": tuple(wording.say("dose", dose=print_dose(dose), name=name) for name, dose in doses.items()),
        "weigh_it": wording.say("weigh_it_blended" if recipe.kind == "blended" else "weigh_it"),
        "target": "", "served_at": "", "checks": (), "mends": (), "mend_how": (), "mend_caption": wording.say("mend_caption"),
    }  # fmt: skip
    if aim is None or not has_thickness(recipe):
        return found
    found["served_at"] = both_degrees(f"{aim.temperature_c} C", style.first_degrees)
    found["target"] = wording.say(
        "target", viscosity=aim.viscosity_pa_s, temperature=found["served_at"], low=f"{aim.low_pa_s:.2g}",
        high=f"{aim.high_pa_s:.2g}", rate=aim.shear_rate_per_s,
    )  # fmt: skip
    found["checks"] = checks(aim, wording)
    tool = found["checks"][0].tool if found["checks"] else ""
    if dish.curve is not None:
        both = (dish.curve.thickener, recipe.main_liquid or "water")
        thickener, liquid = (facts.local_name(name, style.names) for name in both)
        found["mends"] = mends(dish.curve, aim, tool, wording, thickener=thickener, liquid=liquid)
        way = facts.thickener(dish.curve.thickener).way
        found["mend_how"] = (wording.say(f"add_how_{way}"), wording.say("liquid_how"))
        litres = sauce_litres(dish.curve, aim) if any(each.fate == "whole" for each in recipe.fates) else None
        if litres:  # what the card says it makes counts the pieces too
            found["mend_caption"] = wording.say("mend_caption_whole", litres=f"{litres:.2g}")
    return found


def grams_text(line: Ingredient, rounding: str = "usual") -> str:
    """Mass as a card prints it: thickener and seasoning to half a gram, the rest by size; or all to a tenth."""
    if line.mass_g is None:
        return ""
    if rounding == "tenths":
        return f"{float(line.mass_g):.1f} g"
    if TEXT["in grams"].fullmatch(line.amount) and float(line.amount.split()[0]) == float(line.mass_g):
        return line.amount  # as it was typed, or set to be weighed
    return facts.print_grams(float(line.mass_g), fine=line.part in ("thickener", "seasoning"))


def _line(recipe: Recipe, line: Ingredient, fate: Fate, style: Habits, wording: Words) -> CardLine:
    thickens = has_thickness(recipe) and fate.fate == "thickens" and line.mass_g is not None
    household = wording.say("weighed") if thickens else _measure(line, style.kitchen, wording, recipe.measures)
    name = facts.local_name(line.item, style.names)
    return CardLine(grams_text(line, style.rounding), household, name, line.preparation, line.group, thickens)


def _measure(line: Ingredient, system: str, wording: Words, measures: str) -> str:
    """What was typed in pieces, spoons or pounds, as typed; of grams and millilitres what a cook would measure, blank for nothing:
    liquids in cups, little in spoons, whole things by count, none of them more than a tenth out."""
    head = or_none(split_line, line.amount, measures)
    typed = head.amount if head else None
    if line.mass_g is None or (line.amount and (typed is None or typed.unit not in METRIC or " x " in line.amount)):
        return line.amount.partition("(")[0].strip() or line.amount
    mass_g = float(line.mass_g)
    whole = str(or_none(facts.household, mass_g, line.item, system=system, strict=False) or "")
    for text in dict.fromkeys((whole.partition(" and ")[0], whole)):  # one spoon, where one is near enough
        held, read = or_none(facts.grams, text, line.item, system), or_none(split_line, text, system)
        if held is None or read is None or read.amount is None or abs(held.mass_g / mass_g - 1) > 0.1:
            continue
        unit, kind = read.amount.unit, read.amount.measure.kind
        if kind == "piece":
            fits = "1/2" not in text and not TEXT["cut"].search(f"{line.item}, {line.preparation}")
        else:
            poured = line.row is not None and line.row.pours
            fits = kind == "volume" and (poured or (unit not in ("cup", *METRIC) and line.part not in PIECES))
        as_typed = unit in METRIC and typed is not None and typed.measure.kind == kind  # 3 l stay 3 l, not 3000 ml
        return "" if not fits else line.amount if as_typed else wording.measure(text)
    return ""


def _allergens(recipe: Recipe, by: str, signed: Mapping[str, SignOff]) -> tuple[Carried, Carried, Labels]:
    """What is in it by nature and by labels read, what it may contain, and labels to read with what they may name (nothing: anything)."""
    read = [(line.item, allergens(line.item), allergens(line.preparation)) for line in recipe.ingredients]
    contains = [each for _, found, _ in read for each in found if each.sure]
    own, labels = {each.group for each in contains}, Labels()
    for item, found, beside in read:  # what only stands beside a name ("in breadcrumbs") is asked
        unsure = [each for each in found if not each.sure] + [each for each in beside if each.group not in own]
        asked = [each.group for each in unsure if by in each.lists]
        if (new := dict.fromkeys([*labels.get(item, ()), *asked])) or not is_known(item):
            labels[item] = tuple(new)
    answers = [signed[key] for item in labels if (key := f"label:{item}") in signed]
    contains += [each for answer in answers for each in answer.named(answer.contains)]
    return contains, [each for answer in answers for each in answer.named(answer.may_contain)], labels


def _named(found: Iterable[Allergen], by: Mapping[str, Any], wording: Words, *, listed: bool = True) -> tuple[str, ...]:
    """Groups on the list, or beside it, each with its members; what the list calls wheat is not gluten once more."""
    groups: dict[str, dict[str, None]] = {}
    for each in found:
        again = each.group in by["within"] and each.member in ("", "wheat", "spelt")
        if each.lists and (by["name"] in each.lists) == listed and not again:
            groups.setdefault(wording.phrase(each.group), {})[wording.phrase(each.member)] = None
    members = {group: ", ".join(filter(None, some)) for group, some in groups.items()}
    return tuple(f"{group} ({some})" if some else group for group, some in members.items())


def _yield(dish: Dish, wording: Words) -> tuple[float, str, str]:
    """Finished mass [g], how a card says it, and its range: as weighed, as measured, or put in less what boils away."""
    recipe = dish.recipe
    baked = "" if has_thickness(recipe) else "_baked"  # has no litres
    if recipe.yield_g is not None:
        grams = float(recipe.yield_g)
        volume = f"{grams / SOUP_DENSITY_KG_M3:.2g}"
        return grams, wording.say(f"finished_mass{baked}", grams=f"{grams:.0f}", litres=volume), ""
    if recipe.yield_l is not None:
        litres = float(recipe.yield_l)
        grams = litres * SOUP_DENSITY_KG_M3
        rounded = f"{grams:.3g}" if grams < 1000 else f"{10 * round(grams / 10)}"
        return grams, wording.say("finished_mass", grams=rounded, litres=f"{litres:.3g}"), ""
    if not recipe.mass_g > 0:
        return 0.0, "", ""
    loss, sd = dish.loss
    lost, sd = loss * recipe.mass_g, sd * recipe.mass_g
    left = (recipe.mass_g - each for each in (lost, lost + 2 * sd, max(lost - 2 * sd, 0)))
    best, low, high = (facts.print_grams(each).removesuffix(" g") for each in left)
    grams = recipe.mass_g - lost
    volume, key = f"{grams / SOUP_DENSITY_KG_M3:.2g}", "about_mass" if lost else "finished_mass"
    spread = wording.say("makes_range", low=low, high=high) if lost else ""
    return grams, wording.say(key + baked, grams=best, litres=volume), spread


def _nutrition(recipe: Recipe, kitchen: str, finished_g: float, wording: Words) -> dict[str, Any]:
    """The nutrients of one serving, how large that is, and how they were worked out."""
    servings, sums = float(recipe.servings or 0), summed(recipe)
    one = f"{finished_g / servings:.0f}" if servings and finished_g else ""
    entry = "serving_share" if one else "serving_plain"
    serving = wording.say(entry, serves=recipe.servings, grams=one) if servings else ""
    if not servings or len(sums["energy"][1]) >= len(recipe.ingredients):
        why = wording.say("no_masses" if servings else "no_servings")
        return {"nutrition": (), "serving": serving, "nutrition_note": wording.say("nutrition_none", why=why)}
    rule: Rule = "us" if kitchen == "us" else "eu"
    missing = dict.fromkeys(item for _, lacking in sums.values() for item in lacking)
    found = []
    for key, (total, lacking) in sums.items():
        unit, value = UNITS[key], total / servings
        rounded = label_round(key, value, rule)
        named, amount = key, f"{rounded:g} {unit}"
        # EU labels give energy in kJ too (1 kcal = 4.184 kJ), and salt, sodium times 2.5 (Regulation 1169/2011, Annex I; memory).
        if (rule, key) == ("eu", "energy"):
            amount = wording.say("kilojoules", kj=f"{4.184 * value:.0f}", kcal=f"{rounded:g}")
        elif (rule, key) == ("eu", "sodium"):
            named, amount = "salt", f"{label_round('salt', value * 2.5 / 1000, rule):g} g"
        if lacking and not rounded:  # "at least 0" says nothing
            continue
        text = wording.say("at_least", amount=amount) if lacking else amount
        found.append(Nutrient(key, rounded, unit, named, text, not lacking))
    note = wording.say("nutrition_method", rule=wording.say(f"rule_{rule}"))
    if missing:
        note = f"{note} {wording.say('nutrition_missing', names=', '.join(missing))}"
    return {"nutrition": tuple(found), "serving": serving, "nutrition_note": note}


def _cautions(dish: Dish, style: Habits, wording: Words) -> tuple[str, ...]:
    """Cooling, keeping and reheating, with what this dish itself asks for first."""
    found = [*map(wording.phrase, keeping.made_ahead(dish.recipe.kind, style.jurisdiction))]
    if dish.curve is not None and dish.aim is not None and keeping.REHEATING in keeping.made_ahead(dish.recipe.kind):
        advice = reheating(dish.curve, dish.curve.dose_g_per_l)
        named = {name: facts.local_name(advice.figures[name], style.names) for name in ("liquid", "thickener")}
        found.insert(0, wording.phrase(advice.template).format(**advice.figures | named))
    return tuple(both_degrees(text, style.first_degrees) for text in found)
