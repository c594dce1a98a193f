"""The card for machines: schema.org/Recipe as JSON-LD, each property in its own meaning."""

import json
import re
from datetime import timedelta
from itertools import groupby
from typing import Any

from pydantic import TypeAdapter

from spoonline.card.content import TURNS, CardContent, CardLine, MethodStep, data_uri, rewritten
from spoonline.card.words import words

# Fields that hold names of ingredients.
ITEMS = frozenset({"lines", "check_label", "not_checked", "photo"})

# Our nutrients under the names of schema.org/NutritionInformation.
NUTRIENTS = {
    "energy": "calories", "fat": "fatContent", "carbohydrate": "carbohydrateContent", "sugars": "sugarContent",
    "fibre": "fiberContent", "protein": "proteinContent", "sodium": "sodiumContent",
}  # fmt: skip


def to_json_ld(content: CardContent) -> str:
    """The card as JSON-LD.

    Parameters
    ----------
    content : CardContent

    Returns
    -------
    str
        One JSON object, not escaped for HTML. What schema.org has no property for (dose, target, evidence) stands in ``text``,
        which is the card's own text; nothing is claimed of diets, what a cook claims and nothing proves is left out ("[...]"), and an
        image is there only where there is a photo.

    Notes
    -----
    Source: schema.org Recipe, HowToSection, HowToStep, NutritionInformation. ``performTime`` is what the steps say;
    ``totalTime`` is given only where every step and the getting ready say theirs. Nutrients with gaps are left out.
    """
    from spoonline.card.render import to_text

    wording, content = words(content.language, content.variant), _proved(content)
    found: dict[str, Any] = {"@context": "https://schema.org", "@type": "Recipe", "name": content.title}
    if content.photo is not None:
        media, words_of = content.photo.media, content.photo.alt or wording.say("photo", title=content.title)
        image = {"@type": "ImageObject", "contentUrl": data_uri(media, content.photo.data), "encodingFormat": media}
        found["image"] = image | {"caption": words_of}
    serves = wording.say("serves", serves=content.serves) if content.serves else ""
    found |= {
        "description": content.note, "creditText": content.credit, "inLanguage": wording.lang,
        "version": "" if content.number is None else str(content.number), "identifier": content.identity,
        "dateCreated": content.saved_on, "datePublished": content.printed_on if content.is_finished else "",
        "creativeWorkStatus": "Published" if content.is_finished else "Draft",
        "recipeYield": [each for each in (serves, content.makes) if each], **_times(content),
        "recipeIngredient": [_ingredient(line) for line in content.lines], "recipeInstructions": _instructions(content.method),
        "tool": [{"@type": "HowToTool", "name": wording.phrase(check.tool)} for check in content.checks],
        "nutrition": _nutrition(content), "text": to_text(content),
    }  # fmt: skip
    kept = {key: value for key, value in found.items() if value}
    return TURNS.sub("", json.dumps(kept, ensure_ascii=False, indent=1))


def _proved(content: CardContent) -> CardContent:
    """The card without claims that nothing proves; what goes in keeps its name."""
    unproved = (re.escape(point.claim) for point in content.open_points if point.claim)
    claim = re.compile("|".join(unproved) or "(?!)", re.IGNORECASE)
    left: CardContent = rewritten(content, lambda text: claim.sub("[...]", text), ITEMS, str)
    return left


def _ingredient(line: CardLine) -> str:
    household = f"({line.household})" if line.household else ""
    text = " ".join(part for part in (line.grams, line.item, household) if part)
    return f"{text}, {line.preparation}" if line.preparation else text


def _times(content: CardContent) -> dict[str, str]:
    times, minutes = content.times, dict[str, float]()
    if times.prep is not None:
        minutes["prepTime"] = times.prep
    if times.steps and times.timed == times.steps:
        minutes |= {"cookTime": times.cooking, "performTime": times.active + times.waiting}
    if times.complete:
        minutes["totalTime"] = times.total
    # ISO 8601, such as PT1H15M.
    spans = {key: timedelta(minutes=each) for key, each in minutes.items()}
    return dict(TypeAdapter(dict[str, timedelta]).dump_python(spans, mode="json"))


def _instructions(method: tuple[MethodStep, ...]) -> list[dict[str, Any]]:
    """Steps as HowToStep; under a heading, in a HowToSection whose positions count on."""
    out: list[dict[str, Any]] = []
    for group, run in groupby(enumerate(method, start=1), key=lambda numbered: numbered[1].group):
        steps = [{"@type": "HowToStep", "position": number, "text": step.text} for number, step in run]
        section = {"@type": "HowToSection", "name": group, "position": steps[0]["position"], "itemListElement": steps}
        out += [section] if group else steps
    return out


def _nutrition(content: CardContent) -> dict[str, str] | None:
    whole = {each.key: each for each in content.nutrition if each.whole}
    if "energy" not in whole:
        return None
    units = {"kcal": "calories"}
    figures = {NUTRIENTS[key]: f"{each.value:g} {units.get(each.unit, each.unit)}" for key, each in whole.items()}
    return {"@type": "NutritionInformation", "servingSize": content.serving, **figures}
