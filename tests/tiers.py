"""Two tiers of tests: quick ones, and those marked ``long`` (a browser, many processes, many examples).

python -m pytest                    all of them
python -m pytest -m "not long"      the quick ones
python -m pytest -m long            the rest, and every example of what the quick ones try with few
"""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import settings

# What ``-m`` asked for; conftest sets it before any test is read.
TIER = ""


def examples(most: int, few: int) -> int:
    """So many examples: few in the quick tier, else all."""
    return few if TIER == "not long" else most


def sequences(usual: int) -> int:
    """So many random sequences of a form's controls: as SPOONLINE_SEQUENCES asks for, which takes long, or the usual number."""
    return int(os.environ.get("SPOONLINE_SEQUENCES", usual))


def again_in_long(test: Callable[..., Any]) -> Callable[..., Any]:
    """A test of the quick tier with few examples is of the long one too, with all of them."""
    return pytest.mark.long(test) if TIER.startswith("long") else test


def drawn(most: int, few: int = 20, **more: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Settings of a property that hypothesis tries: few examples in the quick tier, all in the long one."""
    settled = settings(max_examples=examples(most, few), deadline=None, **more)
    return lambda test: again_in_long(settled(test))
