"""Pots for tests: what a tool would read of a fluid of flow index 0.5 with a known viscosity."""

from __future__ import annotations

from datetime import date
from typing import Any

from spoonline import flow
from spoonline.pots import Batch, Reading, cooked_pot, cooked_pot_of
from spoonline.pots.contents import PotContents
from spoonline.pots.contents import contents as in_state
from spoonline.pots.evaporation import forecast
from spoonline.pots.thickness import SOUP_DENSITY_KG_M3
from spoonline.recipes import Recipe, Target

SOUP = Recipe(
    title="Celery soup", ingredients=["1 l vegetable stock", "30 g corn starch"], target=Target(viscosity_pa_s="1", band="1.25")
)  # fmt: skip


def reading(
    viscosity_pa_s: float, celsius: float = 60, tool: str = "spatula", stage: str = "hot", **more: Any
) -> Reading:
    """A reading of a pot that has this viscosity at 1 1/s and the temperature at which it is read."""
    value = float(flow.usual(tool).reading(flow.Fluid(viscosity_pa_s, 0.5, SOUP_DENSITY_KG_M3)))
    settings = {name: str(size) for name, size in flow.usual_settings(tool).items()}
    return Reading(tool=tool, settings=settings, values=[f"{value:.6g}"], temperature_c=celsius, stage=stage, **more)


def pot(number: int, *readings: Reading | float, version: int = 1, **more: Any) -> Batch:
    """A pot of the soup; a bare figure is a reading of that viscosity [Pa s] at 60 C."""
    read = [each if isinstance(each, Reading) else reading(each) for each in readings]
    given = {
        "title": SOUP.title,
        "version": version,
        "number": number,
        "cooked_on": date(2026, 1, number),
        "readings": read,
    } | more
    return Batch(**given)


def contents(recipe: Recipe, evaporated_g: float | None = None) -> PotContents:
    """The water phase of a pot of this recipe after so much has gone as steam; as forecast unless said."""
    return in_state(cooked_pot_of(recipe, forecast(recipe)[0] if evaporated_g is None else evaporated_g))


def inside(batch: Batch, recipe: Recipe) -> PotContents | None:
    """The water phase of a pot when it was last read fresh."""
    return cooked_pot(batch, {batch.version: recipe}, None).inside
