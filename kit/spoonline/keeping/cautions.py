"""The cautions that stand beside a dish made ahead; their words, and whose figures they are, are in ``cautions.toml``."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files

from spoonline.flow import NOT_CLINICAL as NOT_CLINICAL

_ALL: dict[str, dict[str, str]] = tomllib.loads(
    (files("spoonline.keeping") / "cautions.toml").read_text(encoding="utf-8")
)
COOLING = _ALL["COOLING"]["text"]
KEEPING = _ALL["KEEPING"]["text"]
REHEATING = _ALL["REHEATING"]["text"]
LOCAL_CODE = _ALL["LOCAL_CODE"]["text"]
HOT_LIQUID = _ALL["HOT_LIQUID"]["text"]
PRESSURE = _ALL["PRESSURE"]["text"]
HOT_SUGAR = _ALL["HOT_SUGAR"]["text"]
YOLK = _ALL["YOLK"]["text"]
ALLERGENS = _ALL["ALLERGENS"]["text"]

MADE_AHEAD: tuple[str, ...] = (COOLING, KEEPING, REHEATING, LOCAL_CODE)


def cautions_for(step: str) -> tuple[str, ...]:
    """Find the cautions that belong beside a step of the method; an empty answer is no approval.

    Examples
    --------
    >>> cautions_for("Puree until smooth.") == (HOT_LIQUID,), cautions_for("Peel the pears.")
    (True, ())
    """
    return tuple(
        each["text"] for each in _ALL.values() if "beside" in each and re.search(each["beside"], step, re.IGNORECASE)
    )
