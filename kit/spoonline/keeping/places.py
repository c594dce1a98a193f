"""Whose limits, what takes the heat, how the food stands, and what others measured."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import NamedTuple, Self

from spoonline import facts
from spoonline.measures import Range, RecipeError, Sayings, read_table

said = Sayings("said.csv", "keeping", RecipeError)
CODE = "Your local code or inspector decides and may be stricter; a food business follows its licensed procedure."


class CoolingRule(NamedTuple):
    """The limits of one authority: down to each stage [C] within so many hours of passing ``start_c``.

    ``apart``: a second stage is counted from the end of the first, not from the start.
    """

    jurisdiction: str
    start_c: float
    stages: tuple[tuple[float, float], ...]
    source: str
    kind: str
    apart: bool = False

    @property
    def spans(self) -> tuple[tuple[float, float, float], ...]:
        """From where to where [C] each stage goes, and its hours."""
        first = self.stages[0][0]
        return tuple((first if self.apart and n else self.start_c, c, h) for n, (c, h) in enumerate(self.stages))

    @property
    def total_h(self) -> float:
        """Hours from the start to the end of the last stage, at the most."""
        hours = [each for _, each in self.stages]
        return sum(hours) if self.apart else hours[-1]

    @property
    def fahrenheit(self) -> Self:
        """The same limits in F: of US authorities the whole degrees that they are written in (135, 70, 41)."""
        places = 0 if self.jurisdiction.startswith("US ") else 4
        start, *ends = (round(c * 1.8 + 32, places) for c in (self.start_c, *(c for c, _ in self.stages)))
        stages = tuple((end, hours) for end, (_, hours) in zip(ends, self.stages, strict=True))
        return self._replace(start_c=start, stages=stages)

    @property
    def text(self) -> str:
        """The limits in words, with who says so."""
        parts = " and ".join(f"{begin:g} to {c:g} C within {h:g} h" for begin, c, h in self.spans)
        end = "" if len(self.stages) == 1 else " more" if self.apart else " in all"
        return f"{parts}{end} ({self.jurisdiction}; {self.source})"

    @property
    def beside(self) -> str:
        """The limits in words, and the quickest of all authorities' beside them."""
        quickest = min(cooling_rules().values(), key=lambda rule: rule.total_h)
        return self.text if quickest == self else f"{self.text}, stricter: {quickest.text}"


@cache
def cooling_rules() -> Mapping[str, CoolingRule]:
    """The cooling limits of every authority in the table of limits, by jurisdiction; the US model code first.

    Examples
    --------
    >>> cooling_rules()["France"].stages, cooling_rules()["Australia"].spans
    (((10.0, 2.0),), ((60.0, 21.0, 2.0), (21.0, 5.0, 4.0)))
    """
    limits, found = facts.rows.limits(), {}
    for row in (each for name, each in limits.items() if name.startswith("cooling start")):
        whose = row.name.removeprefix("cooling start")
        rows = [(f"cooling {stage}{whose}", f"cooling {hours}{whose}") for stage, hours in _STAGES]
        stages = tuple((limits[c].value, limits[hours].value) for c, hours in rows if hours in limits)
        apart = f"cooling stage 2 time{whose}" in limits
        found[row.jurisdiction] = CoolingRule(row.jurisdiction, row.value, stages, row.source, row.kind, apart)
    return MappingProxyType(found)


# What the table calls the temperature of a stage, and the hours within which it is due: in all, or from stage 1.
_STAGES = (("stage 1", "stage 1 time"), ("stage 2", "total time"), ("stage 2", "stage 2 time"))


USUAL_RULE = next(iter(cooling_rules().values()))  # the US model Food Code


# The figures of a jurisdiction, and which of two is the stricter.
_EITHER: Mapping[str, Callable[..., facts.rows.Limit]] = {"more": max, "less": min}
_STRICTER = {row["figure"]: _EITHER[row["stricter"]] for row in read_table("stricter.csv", "keeping")}


class Jurisdiction(NamedTuple):
    """Whose limits stand first in a kitchen: the rule of cooling, the figures by name, and what its law says without one."""

    name: str
    cooling: CoolingRule
    figures: Mapping[str, facts.rows.Limit]
    law: str

    def words(self, figure: str) -> str:
        """A figure with its authority, and the stricter one beside it.

        Examples
        --------
        >>> JURISDICTIONS["us"].words("hot holding").partition(", stricter: ")[0]
        'hot holding 57 C (US model Food Code)'
        """
        own, rows = self.figures[figure], [each.figures[figure] for each in JURISDICTIONS.values()]
        other = _STRICTER[figure](rows, key=lambda row: row.value)
        words = f"{figure} {own.value:g} {own.unit} ({own.jurisdiction})"
        beside = f", stricter: {other.value:g} {other.unit} ({other.jurisdiction})"
        return words if other.value == own.value else words + beside

    @property
    def text(self) -> str:
        """All its limits in words."""
        figures = "; ".join(map(self.words, self.figures))
        return " ".join(filter(None, (f"{self.name}: {figures}. Cooling: {self.cooling.beside}.", self.law, CODE)))


# By the word that a kitchen's habits keep (``Habits.jurisdiction``): the one switch that all limits and lists follow.
def _jurisdiction(row: Mapping[str, str]) -> Jurisdiction:
    figures = {each: facts.limit(row[each]) for each in _STRICTER}
    return Jurisdiction(row["name"], cooling_rules()[row["cooling"]], figures, row["law"])


JURISDICTIONS = {row["key"]: _jurisdiction(row) for row in facts.rows.read_table("jurisdictions.csv")}


def jurisdiction_of(word: str) -> Jurisdiction:
    """The jurisdiction of a kitchen's habit; RecipeError if it is none."""
    said.refuse(word not in JURISDICTIONS, "whose limits", came=word, known=", ".join(JURISDICTIONS))
    return JURISDICTIONS[word]


@dataclass(frozen=True)
class Surroundings:
    """What takes the heat: air or water temperature [C], heat transfer [W/m2 K] with its usual range (memory), what the top sees [C].

    ``top_c``: of a bath the room above it; None where the top sees what the rest does.
    """

    name: str
    ambient_c: float
    h: Range
    top_c: float | None = None


SURROUNDINGS: Mapping[str, Surroundings] = {
    name: Surroundings(name, float(air), Range(*map(float, h[:3])), float(h[3]) if h[3] else None)
    for name, air, *h in map(dict.values, facts.rows.read_table("surroundings.csv"))
}
STILL_AIR = SURROUNDINGS["fridge, still air"].h

# Wall: thickness over conductivity [m2 K/W] (memory).
MATERIALS = {"thin metal": 0.0, "glass or stoneware": 0.006, "plastic tub": 0.0125, "insulated": 0.5}
LIDS = {"open": 0.0, "loosely covered": 0.05, "lid on": 0.12}


@dataclass(frozen=True)
class Container:
    """How the food stands: depth of the food and inner width [cm], round or long, wall, lid, and on a rack or a solid shelf.

    Without a width the pan is taken as wide: heat leaves through the two faces only.
    """

    depth_cm: float
    diameter_cm: float | None = None
    length_cm: float | None = None
    width_cm: float | None = None
    material: str = "thin metal"
    lid: str = "open"
    on_rack: bool = True

    def __post_init__(self) -> None:
        sizes = [each for each in (self.depth_cm, self.diameter_cm, self.length_cm, self.width_cm) if each is not None]
        came, known = ", ".join(f"{each:g}" for each in sizes), ", ".join((*MATERIALS, *LIDS))
        said.refuse(not all(0.2 <= each <= 200 for each in sizes), "sizes of a pan", came=came)
        strange = self.material not in MATERIALS or self.lid not in LIDS
        said.refuse(strange, "wall and lid", wall=self.material, lid=self.lid, known=known)

    @property
    def spans_cm(self) -> tuple[float, ...]:
        """Both widths of the food [cm], alike if round; none where no width was given."""
        if self.diameter_cm is not None:
            return self.diameter_cm, self.diameter_cm
        return () if self.length_cm is None or self.width_cm is None else (self.length_cm, self.width_cm)

    @property
    def area_m2(self) -> float | None:
        """Area of the food's surface [m2], or None where no width was given."""
        share = 1.0 if self.diameter_cm is None else math.pi / 4
        return share * math.prod(self.spans_cm) / 1e4 if self.spans_cm else None

    def films(self, around: Surroundings, h: float) -> tuple[float, float, float]:
        """Heat transfer at bottom, top and side [W/m2 K], wall and lid counted."""
        wall = 1 / (1 / h + MATERIALS[self.material])
        in_bath = around.top_c is not None
        air = STILL_AIR.best if in_bath else h
        return wall if self.on_rack or in_bath else 0.0, 1 / (1 / air + LIDS[self.lid]), wall


def studies() -> list[dict[str, str]]:
    """Published measurements to set beside a forecast, a row each: food, depth_cm, method, outcome, source, place; most missed.

    ``depth_cm`` of a pot is worked out from its gallons, as deep as wide; ``place``: where a forecast must not promise more.
    """
    return facts.rows.read_table("cooling_studies.csv")
