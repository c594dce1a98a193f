"""The tools of a kitchen by name; a new one is a file beside this one with its class, and nothing else."""

from __future__ import annotations

from dataclasses import fields
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

from spoonline.flow.instrument import TOOLS, Instrument
from spoonline.measures.errors import ItemError, ReadingError

NOT_CLINICAL = (
    "This is a kitchen thickness reading. It does not classify food for people with swallowing difficulty; that needs a "
    "qualified practitioner and the full published test set at serving temperature."
)


def tool(name: str) -> type[Instrument]:
    """The tool of this name; ItemError if there is none."""
    if name not in TOOLS:
        raise ItemError(f"There is no tool {name!r} here; choose one of {', '.join(TOOLS)}.", list(TOOLS))
    return TOOLS[name]


def instrument(name: str, **settings: float) -> Instrument:
    """A tool with these settings, as kitchens use it; ReadingError if one is missing, unknown or not above 0.

    Examples
    --------
    >>> instrument("spatula", length_cm=8, width_cm=10, seconds=10).name
    'spatula'
    """
    kind = tool(name)
    wanted, came = (", ".join(sorted(each)) or "no size" for each in (kind.labels(), settings))
    if wanted != came:
        raise ReadingError(f"The {name} needs {wanted}; {came} came.")
    return kind(**settings, **kind.fixed)


def usual(name: str) -> Instrument:
    """A tool with its usual settings."""
    return instrument(name, **usual_settings(name))


def usual_settings(name: str) -> dict[str, float]:
    """The usual settings of a tool, by name."""
    return {each.name: float(each.default) for each in fields(tool(name)) if each.metadata}  # type: ignore[arg-type]  # every size has a usual value


def unit_of(name: str) -> str:
    """The unit of a tool's readings."""
    return tool(name).unit


for _each in iter_modules([str(Path(__file__).parent)]):
    import_module(f"spoonline.flow.{_each.name}")
