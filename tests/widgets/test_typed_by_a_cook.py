"""What a cook types that is nearly right: days with a time, whole numbers, and refusals in a cook's words."""

from __future__ import annotations

from datetime import date, datetime

import pytest

import spoonline as sl
from spoonline.measures import KitchenError
from spoonline.recipes import Habits
from spoonline.tasters import Session
from spoonline.widgets import IngredientsPanel, MakeAheadPanel, StovePanel, TastersPanel
from spoonline.widgets.parts.typed import day, figure, figures, in_store, moment

SOUP = "Roast parsnip and pear soup"


@pytest.mark.parametrize(
    ("typed", "kitchen", "hour"),
    [
        ("2026-12-24 12:30", "us", 12), ("2026-12-24T12:30", "uk", 12), ("24.12.2026 12:30", "uk", 12), ("24.12.2026, 12.30", "us", 12),
        ("12/24/2026 6:30 pm", "us", 18), ("24 Dec 2026 0:30", "uk", 0),
    ],
)  # fmt: skip
def test_a_day_and_a_time_are_read_as_people_write_them(typed: str, kitchen: str, hour: int) -> None:
    assert moment(typed, kitchen) == datetime(2026, 12, 24, hour, 30)


def test_an_hour_a_unit_and_two_places_of_one_thing_are_read() -> None:
    assert moment("24.12.2026 6 pm", "uk") == moment("24.12.2026 18:00", "uk")
    assert figure("0,4 Pa s", "Target", "Pa s") == 0.4 and figure("5 kg", "Pot", "g") == 5000 == figure(
        "5000 g", "Pot", "g"
    )
    assert in_store("onions: 500 g\nflour: 1 kg\nonions: 200 g") == {"onions": "500 g plus 200 g", "flour": "1 kg"}


def test_the_order_of_a_day_is_the_kitchens() -> None:
    assert (moment("3/4/2026 12:00", "uk").month, moment("3/4/2026 12:00", "us").month) == (4, 3)
    assert day("24.12.2025 12:30", "uk") == date(2025, 12, 24)


def test_a_dinner_without_a_day_or_a_time_is_asked_for_it(demo: sl.Logbook) -> None:
    wrong = ("", "2026-12-24", "24.12.2026", "12:30", "2026-12-24 25:30", "2026-12-24 13:30 pm", "24/12 12:30")
    for typed in wrong:
        with pytest.raises(KitchenError, match=r"^Served at: .* came; write the day and the time, such as"):
            moment(typed, "uk")
    panel = MakeAheadPanel(demo)
    panel.dinner.at.value = "2026-12-24"
    panel.dinner.go.click()
    assert "write the day and the time" in panel.alert.value and panel.dinner.plan is None
    panel.close_all()


def test_guests_and_tasters_are_whole_people(demo: sl.Logbook) -> None:
    ahead, tasters = MakeAheadPanel(demo), TastersPanel(demo)
    for typed in ("7,5", "0", ""):
        ahead.dinner.guests.value = tasters.tasters.value = typed
        ahead.dinner.go.click()
        assert f"Guests: &#x27;{typed}&#x27; came; a whole number from 1 up is wanted" in ahead.alert.value
        assert f"Tasters: &#x27;{typed}&#x27; came; a whole number from 1 up is wanted" in tasters.power.value
    ahead.close_all()
    tasters.close_all()


def test_a_day_of_other_forms_is_read_in_the_kitchens_order(demo: sl.Logbook) -> None:
    demo.keep(Habits(kitchen="uk"))
    ahead, tasters = MakeAheadPanel(demo), TastersPanel(demo)
    ahead.log_part.on.value, ahead.log_part.readings.value = "3/4/2026", "14:05 71\n14:35 57"
    assert ahead.log_part.made().started_on == date(2026, 4, 3)
    tasters.title.value, tasters.day.value = "Mushroom gravy", "3/4/2026"
    tasters.plan.click()
    assert demo.kept(Session, "Mushroom gravy")[0].day == date(2026, 4, 3)
    ahead.close_all()
    tasters.close_all()


def test_refusals_name_fields_as_forms_do(demo: sl.Logbook) -> None:
    panel = IngredientsPanel(demo)
    own = panel.own
    own.item.value, own.measure.value, own.masses.value = "corn starch", "1 tbsp", "12; 11"
    own.save_spoon.click()
    own.item.value, own.whole.value, own.trimmed.value = "parsnips", "0", "0"
    own.save_trim.click()
    own.pan.value, own.tare.value = "a pot", "9999999"
    own.save_pan.click()
    said = panel.alert.value
    for words in ("Weights of five of them, g: 3 at least are wanted", "Before trimming, whole, g: a figure above 0"):
        assert words in said
    panel.close_all()
    stove = StovePanel(demo)
    stove.title.value, stove.before.value = SOUP, "0"
    stove.save.click()
    assert "Pot, everything in, g: a figure above 0 is wanted (0 came)." in stove.alert.value
    stove.close_all()
    for wrong, words in (
        (lambda: sl.Target(viscosity_pa_s=0), "Target viscosity, Pa s: a figure above 0 is wanted (0 came)."),
        (lambda: sl.Target(viscosity_pa_s=1, temperature_c=101), "Temperature, C: 100 at most is wanted (101 came)."),
    ):
        with pytest.raises(KitchenError) as caught:
            wrong()
        assert str(caught.value) == words


def test_a_unit_that_begins_like_the_tools_is_left_whole() -> None:
    assert figures("3g 4 g", "Held", "g") == [3.0, 4.0]
    with pytest.raises(KitchenError, match="'kg' came"):
        figures("1 kg", "Held", "g")
