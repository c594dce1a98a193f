"""What a stage of a dinner does to its food, and which dishes are refused before any hour is planned."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from spoonline.keeping.cautions import ROUNDED_C
from spoonline.keeping.places import Jurisdiction
from spoonline.measures import RecipeError, Sayings, parse_temperature, patterns

if TYPE_CHECKING:
    from spoonline.keeping.dinner import DinnerDish

_WORDS = patterns("stage_words.csv", "keeping")
COLD = ("chill", "freeze", "thaw")  # after these the food is in a fridge or a freezer
HOT = ("heat", "reheat", "hold")
KINDS = (*COLD, *HOT, "cold", "prepare")
_SAID = Sayings("refusals.toml", "keeping", RecipeError).table


def kind_of(text: str) -> str:
    """What a stage does by its words: one of the kinds, "prepare" where none is named, "" where it does two things.

    Examples
    --------
    >>> kind_of("Thaw in the fridge"), kind_of("Simmer, then puree"), kind_of("Peel"), kind_of("Simmer and chill")
    ('thaw', 'heat', 'prepare', '')
    """
    found = {kind for kind in (*COLD, *HOT) if _WORDS[kind].search(text)}
    found -= {"heat"} if "reheat" in found else set()
    plain = "chill" if _WORDS["in a fridge"].search(text) else "prepare"
    return plain if not found else found.pop() if len(found) == 1 else ""


def refusals(dish: DinnerDish, place: Jurisdiction) -> Iterator[str]:
    """What is refused of a dish whatever the hours: each with the rule, its authority, and what would mend it."""
    names = {"hot": "hot holding", "reheating": "reheating", "hours": "reheating time", "keeping": "keeping"}
    limits = {name: place.figures[figure].value for name, figure in names.items()}
    known = {name: place.words(figure) for name, figure in names.items()}
    known |= {"cooling": place.cooling.text, "dish": dish.title, "keep": f"{dish.keeps} days"}
    state, before, heated, reheated = "raw", "", False, 0
    for stage, after in zip(dish.stages, (*dish.stages[1:], None), strict=True):
        kind, said = stage.kind, {name: words.search(stage.text) for name, words in _WORDS.items()}
        degrees = [" ".join(each) for each in _WORDS["degrees"].findall(stage.text)]  # of a range its low end
        said_c = [parse_temperature(each).celsius for each in degrees]
        celsius = min(said_c, default=math.inf)
        again = kind == "reheat" or (kind == "heat" and heated and state == "cold")
        reheated += again
        late = stage.latest_day > (after.earliest_day if after else 0)
        broken = {
            "two_things": not kind,
            "counter": kind in COLD and said["on a counter"],
            "thaw": kind == "thaw" and not said["in a fridge"] and not said["on a counter"],
            "hold_cold": kind == "hold" and state != "hot",
            "hold_at_what": kind == "hold" and not degrees,
            "hold_low": kind == "hold" and celsius < limits["hot"],
            "never_heated": kind == "reheat" and not heated,
            "heat_low": kind == "heat" and max(said_c, default=math.inf) < limits["hot"],
            "reheat_low": again and celsius < limits["reheating"] - ROUNDED_C,
            "reheat_warmer": again and said["in a warmer"],
            "reheat_slow": again and stage.minutes > 60 * limits["hours"],
            "reheat_twice": again and reheated == 2,
            "reheat_chill": kind in COLD and before == "reheat",
            "chill_long": kind == "chill" and state == "hot" and stage.minutes > 60 * place.cooling.total_h,
            "freeze_hot": kind == "freeze" and state == "hot",
            "overnight": kind not in COLD and (late or said["left overnight"]),
            "keeps": (stage.keeps_days or 0) > limits["keeping"],
            "use_by": stage.latest_day >= dish.days(stage, place),
        }
        known |= {"stage": f"{dish.title}, {stage.text!r},", "minutes": f"{stage.minutes:g}"}
        known |= {"typed": str(stage.keeps_days), "day": str(stage.latest_day + 1)}
        yield from (_SAID[name].format_map(known) for name, fault in broken.items() if fault)
        if kind in (*HOT, *COLD):
            state, before = ("hot" if kind in HOT else "cold"), (before if kind == "hold" else kind)
        heated |= kind in HOT
    if not any(stage.kind in (*HOT, "cold", "") for stage in dish.stages):
        yield _SAID["no_heat"].format_map(known)


def too_warm(title: str, place: Jurisdiction) -> str:
    """What is said of a dish that would fit only where its food stands warm, or is not probed."""
    return _SAID["too_warm"].format(dish=title, hot=place.words("hot holding"), cooling=place.cooling.text)
