"""The cautions that stand beside a dish made ahead; their words, and whose figures they are, are in ``cautions.toml``."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files

from spoonline.flow import NOT_CLINICAL as NOT_CLINICAL

_ALL: dict[str, dict[str, str]] = tomllib.loads(
    (files("spoonline.keeping") / "cautions.toml").read_text(encoding="utf-8")
)
# Each by its name, in the order of the names: one more in the file is one more here.
ALLERGENS, COOLING, HOT_LIQUID, HOT_SUGAR, KEEPING, LOCAL_CODE, PRESSURE, REHEATING, YOLK = (
    _ALL[name]["text"] for name in sorted(_ALL)
)
MADE_AHEAD: tuple[str, ...] = (COOLING, KEEPING, REHEATING, LOCAL_CODE)


def cautions_for(step: str) -> tuple[str, ...]:
    """Find the cautions that belong beside a step of the method; an empty answer is no approval.

    Examples
    --------
    >>> cautions_for("Puree until smooth.") == (HOT_LIQUID,), cautions_for("Peel the pears.")
    (True, ())
    """
    said = (each for each in _ALL.values() if "beside" in each)
    return tuple(each["text"] for each in said if re.search(each["beside"], step, re.IGNORECASE))
