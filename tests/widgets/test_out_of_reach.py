"""What no dose and no scale can do is said, and stops nothing else."""

from __future__ import annotations

import pytest

import spoonline as sl
from spoonline.measures import AmountError
from spoonline.widgets import DosePanel, MakeAheadPanel

SOUP = "Roast parsnip and pear soup"


def test_an_aim_no_starch_reaches_offers_no_dose(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    panel.how.viscosity.value = "900"
    assert "No dose of corn starch makes it so thick" in panel.answer.value and "400" not in panel.save.description


def test_a_dose_that_weighs_nothing_is_refused(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    panel.dose.value = "0,001"
    assert "Dose: " in panel.alert.value + panel.dose_message.value and "no fault of yours" not in panel.alert.value
    before = demo.version(SOUP).number
    panel.save.click()
    assert demo.version(SOUP).number == before


def test_a_trace_of_starch_does_not_end_the_curve(demo: sl.Logbook) -> None:
    weighed = [{"line": 6, "item": "corn starch", "typed": "0.05 g", "mass_g": 0.05, "sd_g": 0.289}]
    read = {"tool": "spatula", "settings": {"length_cm": 8, "width_cm": 10, "seconds": 10}, "values": [0.4]}
    batch = sl.Batch(
        title=SOUP, version=5, cooked_on="2026-02-08", weighed=weighed, readings=[read | {"temperature_c": 60}]
    )
    demo.record(batch)
    assert demo.dish(SOUP).curve is not None and demo.dish(SOUP).next is not None


def test_a_comma_is_no_thousand() -> None:
    with pytest.raises(AmountError, match="with a point"):
        sl.units("1,5 l")


@pytest.mark.parametrize("when", ["1230", "20261224"])
def test_a_dinner_has_a_day_and_a_time(demo: sl.Logbook, when: str) -> None:
    panel = MakeAheadPanel(demo)
    panel.dinner.at.value = when
    panel.dinner.go.click()
    assert "write the day and the time" in panel.alert.value
