"""What a stage of a dinner does to its food, and which dishes are refused before any hour is planned."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from typing import TYPE_CHECKING

from spoonline import facts
from spoonline.keeping.places import Jurisdiction
from spoonline.measures import parse_temperature

if TYPE_CHECKING:
    from spoonline.keeping.dinner import DinnerDish, DinnerStage

_WORDS = {
    row["kind"]: re.compile(row["words"], re.IGNORECASE) for row in facts.rows.read_table("stage_words.csv", "keeping")
}
KINDS = (*_WORDS, "cold", "prepare")
COLD = ("chill", "freeze", "thaw")  # after these the food is in a fridge or a freezer
HOT = ("heat", "reheat", "hold")
FIGURES = {"hold": "hot holding", "reheat": "reheating"}
_FRIDGE = re.compile(r"\bfridge|\brefrigerator|\bcold room|\bice[- ](?:water )?bath|\bwalk-in", re.IGNORECASE)
_COUNTER = re.compile(
    r"\bcounter\b|\b(?:work|table) ?top|\broom temperature|\bwindow|\bin the kitchen\b|\boutside\b|\bon the side\b|\bbench|\brack\b(?!.*fridge)",
    re.IGNORECASE,
)
_LEFT = re.compile(r"\b(?:leave|left|leaving|stand|standing|sit|rest)\b[^.;]*\bovernight\b", re.IGNORECASE)
_DEGREES = re.compile(r"\d+(?:[.,]\d+)? ?(?:°|deg\w*\.?)? ?[CF]\b")
_SAID: dict[str, str] = tomllib.loads((files("spoonline.keeping") / "refusals.toml").read_text(encoding="utf-8"))


def kind_of(text: str) -> str:
    """What a stage does by its words: one of the kinds, "prepare" where none is named, "" where it does two things.

    Examples
    --------
    >>> kind_of("Thaw in the fridge"), kind_of("Simmer, then puree"), kind_of("Peel"), kind_of("Simmer and chill")
    ('thaw', 'heat', 'prepare', '')
    """
    found = {kind for kind, words in _WORDS.items() if words.search(text)}
    if "reheat" in found:
        found -= {"heat"}
    if not found:
        return "chill" if _FRIDGE.search(text) else "prepare"
    return found.pop() if len(found) == 1 else ""


def refusals(dish: DinnerDish, place: Jurisdiction) -> Iterator[str]:
    """What is refused of a dish whatever the hours: each with the rule, its authority, and what would mend it."""
    figures = {"hot holding": "hot", "reheating": "reheating", "reheating time": "hours", "keeping": "keeping"}
    known = {name: place.words(figure) for figure, name in figures.items()} | {"cooling": place.cooling.text}
    known |= {"dish": dish.title, "keep": f"{dish.keeps} days"}
    state, before, heated, reheated = "raw", "", False, 0
    for stage, after in zip(dish.stages, (*dish.stages[1:], None), strict=True):
        faults = list(_faults(stage, state, place))
        if stage.kind == "reheat" or (stage.kind == "heat" and heated and state == "cold"):
            reheated += 1
            faults += ["never_heated"] * (not heated) + ["reheat_twice"] * (reheated == 2)
            faults += ["reheat_slow"] * (stage.minutes > 60 * place.figures["reheating time"].value)
        if stage.kind in COLD and before == "reheat":
            faults.append("reheat_chill")
        if stage.latest_day >= dish.days(stage, place):
            faults.append("use_by")
        out = _LEFT.search(stage.text) or stage.latest_day > (after.earliest_day if after else 0)
        if stage.kind not in COLD and out:
            faults.append("overnight")
        own = {"typed": stage.keeps_days, "day": stage.latest_day + 1, "minutes": f"{stage.minutes:g}"}
        for name in faults:
            yield _SAID[name].format(stage=f"{dish.title}, {stage.text!r},", **own, **known)
        heated |= stage.kind in HOT
        before = stage.kind if stage.kind in (*HOT, *COLD) and stage.kind != "hold" else before
        state = "hot" if stage.kind in HOT else "cold" if stage.kind in COLD else state
    if not any(stage.kind in (*HOT, "cold", "") for stage in dish.stages):
        yield _SAID["no_heat"].format(**known)


def _faults(stage: DinnerStage, state: str, place: Jurisdiction) -> Iterator[str]:
    """The rules that a stage breaks by itself, by name, after food that is raw, hot or cold."""
    kind = stage.kind
    celsius = min((parse_temperature(each).celsius for each in _DEGREES.findall(stage.text)), default=None)
    if not kind:
        yield "two_things"
    if kind in COLD and _COUNTER.search(stage.text):
        yield "counter"
    elif kind == "thaw" and not _FRIDGE.search(stage.text):
        yield "thaw"
    if kind == "hold" and state != "hot":
        yield "hold_cold"
    if kind == "hold" and celsius is None:
        yield "hold_at_what"
    for low in ("hold", "reheat"):
        if kind == low and celsius is not None and celsius < place.figures[FIGURES[low]].value:
            yield f"{low}_low"
    if kind == "chill" and state == "hot" and stage.minutes > 60 * place.cooling.total_h:
        yield "chill_long"
    if kind == "freeze" and state == "hot":
        yield "freeze_hot"
    if stage.keeps_days is not None and stage.keeps_days > place.figures["keeping"].value:
        yield "keeps"


def too_warm(title: str, place: Jurisdiction) -> str:
    """What is said of a dish that would fit only where its food stands warm, or is not probed."""
    return _SAID["too_warm"].format(dish=title, hot=place.words("hot holding"), cooling=place.cooling.text)
