"""Whose limits, what takes the heat, how the food stands, and what others measured."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from spoonline import facts
from spoonline.measures.errors import RecipeError
from spoonline.measures.ranges import Range

CODE = "Your local code or inspector decides and may be stricter; a food business follows its licensed procedure."


@dataclass(frozen=True)
class CoolingRule:
    """The limits of one authority: from ``start_c`` down to each stage [C] within so many hours of passing ``start_c``."""

    jurisdiction: str
    start_c: float
    stages: tuple[tuple[float, float], ...]
    source: str
    kind: str

    @property
    def text(self) -> str:
        """The limits in words, with who says so."""
        parts = " and ".join(f"{self.start_c:g} to {c:g} C within {h:g} h" for c, h in self.stages)
        return f"{parts}{' in all' if len(self.stages) > 1 else ''} ({self.jurisdiction}; {self.source})"


@cache
def cooling_rules() -> Mapping[str, CoolingRule]:
    """The cooling limits of every authority in the table of limits, by jurisdiction; the US model code first.

    Examples
    --------
    >>> cooling_rules()["France"].stages
    ((10.0, 2.0),)
    """
    limits, found = facts.rows.limits(), {}
    for start in (row for name, row in limits.items() if name.startswith("cooling start")):
        whose = start.name.removeprefix("cooling start")
        rows = [(f"cooling {stage}{whose}", f"cooling {hours}{whose}") for stage, hours in _STAGES]
        stages = tuple((limits[stage].value, limits[hours].value) for stage, hours in rows if stage in limits)
        found[start.jurisdiction] = CoolingRule(start.jurisdiction, start.value, stages, start.source, start.kind)
    return MappingProxyType(found)


# What the table calls the temperature of a stage, and the hours within which it is due.
_STAGES = (("stage 1", "stage 1 time"), ("stage 2", "total time"))


def usual_rule() -> CoolingRule:
    """The US model Food Code."""
    return next(iter(cooling_rules().values()))


@dataclass(frozen=True)
class Surroundings:
    """What takes the heat: air or water temperature [C] and heat transfer [W/m2 K] with its usual range (memory)."""

    name: str
    ambient_c: float
    h: Range


SURROUNDINGS: Mapping[str, Surroundings] = {
    name: Surroundings(name, float(air), Range(*map(float, h[:3])))
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
        if not all(math.isfinite(each) and 0.2 <= each <= 200 for each in sizes):
            raise RecipeError(f"Sizes of {', '.join(f'{each:g}' for each in sizes)} cm came; 0.2 to 200 cm are wanted.")
        if self.material not in MATERIALS or self.lid not in LIDS:
            raise RecipeError(f"{self.material!r}, {self.lid!r} came; choose of {', '.join((*MATERIALS, *LIDS))}.")

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
        in_bath = "bath" in around.name
        air = STILL_AIR.best if in_bath else h
        return wall if self.on_rack or in_bath else 0.0, 1 / (1 / air + LIDS[self.lid]), wall


def studies() -> list[dict[str, str]]:
    """Published measurements to set beside a forecast, a row each: food, depth_cm, method, outcome, source; most missed the limits."""
    return facts.rows.read_table("cooling_studies.csv")
