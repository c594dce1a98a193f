"""A dinner made ahead: its dishes with their stages, the tools, the free hours; and what is refused before any hour is planned."""

import math
import re
from collections.abc import Callable, Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, ClassVar, Literal

from pydantic import Field

from spoonline import facts
from spoonline.keeping.cautions import ROUNDED_C
from spoonline.keeping.places import Jurisdiction, said
from spoonline.measures import AmountError, RecipeError, Sayings, parse_minutes, parse_temperature, patterns, told_as
from spoonline.recipes import Kept, MaybeNumber, Number, Record, fault

MOST_DAYS = 6
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


class DinnerStage(Record):
    """One stage of a dish: what is done, for how long, with which tools, on which days before the dinner."""

    text: str = Field(min_length=1, max_length=300, description="what is done")
    active_min: Number = Field(default=Decimal(0), ge=0, le=1440, description="first the cook's hands are in it [min]")
    waiting_min: Number = Field(default=Decimal(0), ge=0, le=2880, description="then it goes by itself [min]")
    tools: tuple[str, ...] = Field((), description="what it occupies from beginning to end: burner, oven, a named pot")
    earliest_day: int = Field(MOST_DAYS, ge=0, le=MOST_DAYS, description="days before the dinner, at the most")
    latest_day: int = Field(0, ge=0, le=MOST_DAYS, description="days before the dinner, at the least")
    alone: bool = Field(False, description="true where nobody need be there while it waits, such as chilling")
    keeps_days: int | None = Field(None, ge=1, le=90, description="days it keeps, its own is day 1; none: home advice")
    within_min: MaybeNumber = Field(None, ge=0, description="what comes next begins within so long of its end [min]")
    does: Literal[KINDS] | None = Field(None, description="what it does to the food; none: judged from its words")  # type: ignore[valid-type]  # the kinds stand in one place

    def hold(self) -> None:
        """Its days in order, and minutes for it."""
        fault(self.latest_day > self.earliest_day, said("days", of=self))
        fault(self.minutes == 0, f"{self.text!r} takes no time; write its minutes, such as 20+40")

    @property
    def kind(self) -> str:
        """What it does to the food: as given, else by its words; "" where these say two things."""
        return self.does or kind_of(self.text)

    @property
    def minutes(self) -> float:
        """How long it takes in all [min]."""
        return float(self.active_min + self.waiting_min)


class DinnerDish(Record):
    """A dish with its stages in order."""

    title: str = Field(min_length=1, max_length=300)
    stages: tuple[DinnerStage, ...] = Field(min_length=1, max_length=20)

    @property
    def keeps(self) -> int:
        """Days it keeps, that of its preparation being day 1: the fewest given of a stage, else the shorter home advice."""
        given = [stage.keeps_days for stage in self.stages if stage.keeps_days is not None]
        return min(given, default=int(facts.limit("keeping home").value))

    @property
    def frozen(self) -> list[int]:
        """The first stage by which it is frozen and the one after it; none where it is not frozen."""
        return next(([n, n + 1] for n, each in enumerate(self.stages[:-1]) if each.kind == "freeze"), [])

    def days(self, stage: DinnerStage, place: Jurisdiction) -> int:
        """Within how many days of a stage the dish is eaten; freezing stops the days that it keeps, never those of the code.

        What only thaws for a dish has not begun to be prepared.
        """
        before = self.stages[: self.stages.index(stage) + 1]
        if all(each.kind == "thaw" for each in before):
            return MOST_DAYS + 1
        code = int(place.figures["keeping"].value)
        return code if self.frozen else min(code, self.keeps)


class FreeHours(Record):
    """When the cook is there: a stretch of one day."""

    day: int = Field(ge=0, le=MOST_DAYS, description="days before the dinner")
    start: time
    end: time = Field(description="23:59 means midnight")

    def hold(self) -> None:
        """It ends after it begins."""
        came = f"from {self.start:%H:%M} to {self.end:%H:%M} came"
        fault(self.end <= self.start, f"{came}; the end must be later on the same day")


class Dinner(Kept):
    """A dinner to plan.

    Examples
    --------
    >>> lunch = Dinner(name="Winter lunch", serve_at="2026-01-22T12:30", guests=24, tools={"burner": 2},
    ...                dishes=read_dishes("Mushroom gravy\\n- Simmer; 15+20; burner; day 1"),
    ...                free=[FreeHours(day=1, start="14:00", end="17:00")])
    >>> lunch.dishes[0].stages[0].tools
    ('burner',)
    """

    kind: ClassVar[str] = "dinner"
    key_fields: ClassVar[tuple[str, ...]] = ("name",)  # planned again, the last stands

    name: str = Field(min_length=1, max_length=200)
    serve_at: datetime = Field(description="local time")
    guests: int = Field(ge=1, le=10000)
    dishes: tuple[DinnerDish, ...] = Field(min_length=1, max_length=20)
    free: tuple[FreeHours, ...] = Field(min_length=1, max_length=50)
    tools: dict[str, int] = Field(default_factory=lambda: {"burner": 4, "oven": 1}, description="how many of each")
    note: str = Field("", max_length=2000)

    def hold(self) -> None:
        """Tools that are there, and dishes that can be told apart."""
        for dish, stage, tool in ((d, s, tool) for d in self.dishes for s in d.stages for tool in s.tools):
            fault(self.tools.get(tool, 0) < 1, said("no tool", dish=dish.title, stage=stage.text, tool=tool))
        names = {dish.title for dish in self.dishes}
        fault(len(names) < len(self.dishes), "two dishes have one name; tell them apart")

    def day(self, before: int) -> date:
        """The date so many days before."""
        return self.serve_at.date() - timedelta(days=before)


# What a part of a stage may say, in small letters, and the fields that it gives; a word of none of these is a tool.
_PARTS: tuple[tuple[str, Callable[[re.Match[str]], dict[str, Any]]], ...] = (
    (r"(\d+)(?:\s*\+\s*(\d+))?(?:\s*min)?", lambda hit: {"active_min": hit[1], "waiting_min": hit[2] or 0}),
    (r"days?\s*-?(\d)(?:\s*(?:to|-)\s*-?(\d))?", lambda hit: _days(int(hit[1]), int(hit[2] or hit[1]))),
    (r"keeps\s+(\d+)\s*(?:days?|d)?", lambda hit: {"keeps_days": int(hit[1])}),
    (r"within\s+(.+)", lambda hit: {"within_min": math.floor(parse_minutes(hit[1]))}),
    (r"alone", lambda hit: {"alone": True}),
    ("|".join(KINDS), lambda hit: {"does": hit[0]}),
    (r"[a-z][\w ,]*", lambda hit: {"tools": tuple(filter(None, map(str.strip, hit[0].split(","))))}),
)


def _days(*before: int) -> dict[str, int]:
    return {"earliest_day": max(before), "latest_day": min(before)}


def read_dishes(text: str) -> tuple[DinnerDish, ...]:
    """Read dishes: a title on a line of its own, its stages below it, each behind a dash.

    Parameters
    ----------
    text : str
        A stage is ``- what; active+waiting; tools; day 2 to 1; keeps 3; within 20 min; alone``, in any order after the first;
        days are days before the dinner. What it does to the food may stand as a word: heat, reheat, chill, freeze, thaw, hold,
        prepare, cold (of what is made cold); else its own words say it.

    Raises
    ------
    RecipeError
        If a stage has no dish, says no minutes, or says something that is none of these.

    Examples
    --------
    >>> soup, = read_dishes("Roast parsnip and pear soup\\n- Roast; 20+35; oven; day 2-1\\n- Reheat; 10+10; burner, big pot; day 0")
    >>> [(str(s.active_min), str(s.waiting_min), s.tools, s.earliest_day, s.latest_day) for s in soup.stages]
    [('20', '35', ('oven',), 2, 1), ('10', '10', ('burner', 'big pot'), 0, 0)]
    """
    dishes: list[tuple[str, list[DinnerStage]]] = []
    for line in filter(None, map(str.strip, text.splitlines())):
        if not line.startswith("-"):
            dishes.append((line.rstrip(":"), []))
        else:
            said.refuse(not dishes, "no dish", stage=line[:60])
            dishes[-1][1].append(_stage(line.lstrip("- ")))
    for title, stages in dishes:
        said.refuse(not stages, "no stage", dish=title[:60])
    return tuple(DinnerDish(title=title, stages=tuple(stages)) for title, stages in dishes)


def _stage(line: str) -> DinnerStage:
    head, *parts = (part.strip() for part in line.split(";"))
    fields: dict[str, Any] = {"text": head}
    for part in filter(None, parts):
        read = ((re.fullmatch(pattern, part.lower()), give) for pattern, give in _PARTS)
        hit, give = next((each for each in read if each[0]), (None, None))
        if hit is None or give is None:
            raise RecipeError(said("not understood", stage=head, part=part))
        with told_as(RecipeError(said("within", stage=head, part=part)), AmountError):
            fields |= give(hit)
    return DinnerStage(**fields)


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
