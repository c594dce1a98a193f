"""Each notebook's form, driven as a cook would over the demo: every figure it says is compared strictly."""

from __future__ import annotations

import ipywidgets as w
import pytest

import spoonline as sl
from widgets.drivers import DRIVERS, kept


@pytest.mark.parametrize("name", DRIVERS)
def test_a_form_says_what_it_said(demo: sl.Logbook, name: str) -> None:
    assert DRIVERS[name](demo) == kept()[name]
    w.Widget.close_all()


def test_nothing_saved_goes_uncompared() -> None:
    assert list(kept()) == list(DRIVERS) and all(kept().values())
