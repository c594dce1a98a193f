"""The cautions that stand beside a dish made ahead; their words, and whose figures they are, are in ``cautions.toml``."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files
from typing import Any

from spoonline.flow import NOT_CLINICAL as NOT_CLINICAL

_ALL: dict[str, dict[str, Any]] = tomllib.loads(
    (files("spoonline.keeping") / "cautions.toml").read_text(encoding="utf-8")
)


def caution(name: str, kind: str = "") -> str:
    """The words of a caution for a kind of dish; blank where it is none for that kind.

    Examples
    --------
    >>> caution("HOT_LIQUID", "blended")[:18], caution("HOT_LIQUID", "cold")
    ('Hot thick liquids ', '')
    """
    return str(_ALL[name].get("instead", {}).get(kind, _ALL[name]["text"]))


def made_ahead(kind: str = "") -> tuple[str, ...]:
    """Cooling, keeping and reheating of a kind of dish made ahead, and whose word rules."""
    return tuple(filter(None, (caution(name, kind) for name in ("COOLING", "KEEPING", "REHEATING", "LOCAL_CODE"))))


COOLING, KEEPING, REHEATING, LOCAL_CODE, HOT_LIQUID, PRESSURE, HOT_SUGAR, YOLK, ALLERGENS = map(
    caution,
    ("COOLING", "KEEPING", "REHEATING", "LOCAL_CODE", "HOT_LIQUID", "PRESSURE", "HOT_SUGAR", "YOLK", "ALLERGENS"),
)
MADE_AHEAD = made_ahead()


def cautions_for(step: str, kind: str = "") -> tuple[str, ...]:
    """Find the cautions that belong beside a step of the method, for a kind of dish; an empty answer is no approval.

    Examples
    --------
    >>> cautions_for("Puree until smooth.") == (HOT_LIQUID,), cautions_for("Peel the pears.")
    (True, ())
    """
    beside = (name for name, row in _ALL.items() if "beside" in row and re.search(row["beside"], step, re.IGNORECASE))
    return tuple(filter(None, (caution(name, kind) for name in beside)))
