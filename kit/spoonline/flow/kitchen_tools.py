"""The tools of a kitchen by name: usual sizes, resolution, how the test is done; a new one is a kind here and an entry in the toml file."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from spoonline.flow.flow_cup import FlowCup
from spoonline.flow.instrument import Instrument
from spoonline.flow.ring import Ring
from spoonline.flow.spatula import Spatula
from spoonline.flow.syringe import Syringe
from spoonline.flow.trough import Trough
from spoonline.measures.errors import ItemError, ReadingError

NOT_CLINICAL = (
    "This is a kitchen thickness reading. It does not classify food for people with swallowing difficulty; that needs a "
    "qualified practitioner and the full published test set at serving temperature."
)


@dataclass(frozen=True)
class Tool:
    """A kitchen tool: its class, usual settings, fixed options, resolution in its own unit, the test in a sentence and in steps."""

    kind: type[Instrument]
    usual: dict[str, float]
    fixed: dict[str, Any]
    resolution: float
    how: str
    steps: list[str]


_ROWS = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))
_KINDS: tuple[type[Instrument], ...] = (Ring, Spatula, Trough, Syringe, FlowCup)
TOOLS = {kind.name: Tool(kind, **_ROWS[kind.name]) for kind in _KINDS}


def tool(name: str) -> Tool:
    """The tool of this name; ItemError if there is none."""
    if name not in TOOLS:
        raise ItemError(f"{name!r} is no thickness tool here; choose one of {', '.join(TOOLS)}.", list(TOOLS))
    return TOOLS[name]


def instrument(name: str, **settings: float) -> Instrument:
    """A tool with these settings, as kitchens use it; ReadingError if one is missing, unknown or not above 0.

    Examples
    --------
    >>> instrument("spatula", length_cm=8, width_cm=10, seconds=10).name
    'spatula'
    """
    row = tool(name)
    missing, strange = set(row.usual) - set(settings), set(settings) - set(row.usual)
    if missing or strange:
        raise ReadingError(
            f"The {name} needs {', '.join(row.usual)}; missing {', '.join(sorted(missing)) or 'none'}, "
            f"unknown {', '.join(sorted(strange)) or 'none'}."
        )
    return row.kind(**settings, **row.fixed)


def usual(name: str) -> Instrument:
    """A tool with its usual settings."""
    return instrument(name, **tool(name).usual)


def usual_settings(name: str) -> dict[str, float]:
    """The usual settings of a tool, by name."""
    return dict(tool(name).usual)


def resolution(name: str) -> float:
    """Standard uncertainty of one reading by hand, in the tool's unit (judged)."""
    return tool(name).resolution


def unit_of(name: str) -> str:
    """The unit of a tool's readings."""
    return tool(name).kind.unit


def how(name: str) -> str:
    """How the test is done, in one sentence."""
    return tool(name).how
