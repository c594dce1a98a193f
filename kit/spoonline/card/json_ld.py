"""The card for machines: schema.org/Recipe as JSON-LD, each property in its own meaning."""

from __future__ import annotations

import base64
import json
from typing import Any

from spoonline.card.content import CardContent, MethodStep
from spoonline.card.method import iso_duration
from spoonline.card.words import words

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
        which is the card's own text; nothing is claimed of diets, and an image is there only where there is a photo.

    Notes
    -----
    Source: schema.org Recipe, HowToSection, HowToStep, NutritionInformation. ``performTime`` is what the steps say;
    ``totalTime`` is given only where every step and the getting ready say theirs. Nutrients with gaps are left out.
    """
    from spoonline.card.render import to_text

    wording = words(content.language, content.variant)
    found: dict[str, Any] = {"@context": "https://schema.org", "@type": "Recipe", "name": content.title}
    if content.photo is not None:
        data = base64.b64encode(content.photo.data).decode()
        found["image"] = {
            "@type": "ImageObject",
            "contentUrl": f"data:{content.photo.media};base64,{data}",
            "encodingFormat": content.photo.media,
            "caption": content.photo.alt or wording.say("photo", title=content.title),
        }
    found |= {
        "description": content.note or None,
        "creditText": content.credit or None,
        "inLanguage": wording.lang,
        "version": str(content.number) if content.number is not None else None,
        "identifier": content.identity or None,
        "dateCreated": content.saved_on or None,
        "datePublished": (content.printed_on or None) if content.is_finished else None,
        "creativeWorkStatus": "Published" if content.is_finished else "Draft",
        "recipeYield": [
            each for each in (content.serves and wording.say("serves", serves=content.serves), content.makes) if each
        ]
        or None,
        **_times(content),
        "recipeIngredient": [
            " ".join(part for part in (line.grams, line.item, f"({line.household})" if line.household else "") if part)
            + (f", {line.preparation}" if line.preparation else "")
            for line in content.lines
        ]
        or None,
        "recipeInstructions": _instructions(content.method) or None,
        "tool": [{"@type": "HowToTool", "name": wording.phrase(check.tool)} for check in content.checks] or None,
        "nutrition": _nutrition(content),
        "text": to_text(content),
    }
    return json.dumps({key: value for key, value in found.items() if value is not None}, ensure_ascii=False, indent=1)


def _times(content: CardContent) -> dict[str, str]:
    times, out = content.times, {}
    if times.prep is not None:
        out["prepTime"] = iso_duration(times.prep)
    if times.steps and times.timed == times.steps:
        out |= {"cookTime": iso_duration(times.cooking), "performTime": iso_duration(times.active + times.waiting)}
    if times.complete:
        out["totalTime"] = iso_duration(times.total)
    return out


def _instructions(method: tuple[MethodStep, ...]) -> list[dict[str, Any]]:
    """Steps as HowToStep; under a heading, in a HowToSection whose positions count on."""
    out: list[dict[str, Any]] = []
    group, inside = "", out
    for number, step in enumerate(method, start=1):
        if step.group and step.group != group:
            inside = []
            out.append({"@type": "HowToSection", "name": step.group, "position": number, "itemListElement": inside})
        elif step.group != group:
            inside = out
        group = step.group
        made: dict[str, Any] = {"@type": "HowToStep", "position": number, "text": step.text}
        inside.append(made)
    return out


def _nutrition(content: CardContent) -> dict[str, str] | None:
    whole = {each.key: each for each in content.nutrition if each.whole}
    if "energy" not in whole:
        return None
    units = {"kcal": "calories"}
    figures = {NUTRIENTS[key]: f"{each.value:g} {units.get(each.unit, each.unit)}" for key, each in whole.items()}
    return {"@type": "NutritionInformation", "servingSize": content.serving, **figures}
