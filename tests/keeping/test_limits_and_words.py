"""What stands at a limit, and what is written out: each limit itself passes, and a sentence says which one does not."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from spoonline.keeping import (
    SURROUNDINGS,
    Container,
    CoolingLog,
    Food,
    Surroundings,
    calendar,
    cooling_rules,
    deepest_cm,
    forecast,
    plan,
    read_readings,
    use_by,
)
from spoonline.keeping.cooling import Forecast
from spoonline.measures.errors import RecipeError
from spoonline.measures.ranges import Range

from .test_dinner import dinner

THICK = Food(0.56, 1000.0, 4000.0)
CODE = cooling_rules()["US model Food Code"]  # 57 to 21 C within 2 h, to 5 C within 6 h in all (3-501.14)


def took(first: tuple[float, float, float], second: tuple[float, float, float]) -> Forecast:
    none = np.zeros(1)
    return Forecast(none, none, none, none, CODE, (Range(*first), Range(*second)))


@pytest.mark.parametrize(
    ("first", "second", "head"),
    [
        ((1.5, 1.2, 2.0), (4, 3, 6.0), "it would meet both stages: 57 to 21 C in 1.5 h (1.2 to 2.0 h) (limit 2 h)"),
        ((2.5, 2.1, 3), (7, 6.2, 8), "it would miss both stages"),
        ((1.5, 1.2, 1.8), (7, 6.2, 8), "it would miss stage 2"),
        ((2.5, 2.1, 3), (5, 4, 5.9), "it would miss stage 1"),
        ((1.9, 1.2, 2.1), (4, 3, 5), "it may miss stage 1"),
        ((1.5, 1.2, 2.0), (6, 5, math.inf), "it may miss stage 2: 57 to 21 C in 1.5 h"),
    ],
)
def test_a_forecast_says_which_stage(first: tuple, second: tuple, head: str) -> None:
    assert head in took(first, second).text
    assert ("longer than 96 h)" in took(first, second).text) == math.isinf(second[2])


def test_one_stage_is_called_the_limit() -> None:
    none, french = np.zeros(1), cooling_rules()["France"]  # 10 C within 2 h
    assert "would meet the limit" in Forecast(none, none, none, none, french, (Range(1, 0.8, 1.9),)).text
    assert CODE.text.startswith("57 to 21 C within 2 h and 57 to 5 C within 6 h in all (US model Food Code; ")
    assert french.text.startswith("63 to 10 C within 2 h (France; ")


def test_a_stirred_pot_cools_by_its_whole_surface() -> None:
    # Newton's law with every face counted: heat held over the sum of h A, each face through water's own film (400 W/m2 K, memory)
    air, across, deep = 10.0, 0.2, 0.1
    face = 1 / (1 / air + 1 / 400)
    area = 2 * math.pi * across**2 / 4 + math.pi * across * deep
    tau_h = 1000 * 4000 * math.pi * across**2 / 4 * deep / (face * area) / 3600
    around = Surroundings("air", 3.0, Range(air, air, air))
    found = forecast(THICK, Container(10, diameter_cm=20), [(around, None)], start_c=57, stirred_pa_s=0.001)
    assert found.hours[0].best == pytest.approx(tau_h * math.log((57 - 3) / (21 - 3)), rel=1e-3)
    shelf = forecast(
        THICK, Container(10, diameter_cm=20, on_rack=False), [(around, None)], start_c=57, stirred_pa_s=0.001
    )
    less = area - math.pi * across**2 / 4
    assert shelf.hours[0].best / found.hours[0].best == pytest.approx(area / less, rel=1e-3), "no heat through a shelf"


def test_the_deepest_layer_is_found_to_a_millimetre() -> None:
    around = Surroundings("air", 3.0, Range(15, 15, 15))
    deep = deepest_cm(THICK, Container(5), around, CODE)
    assert deep is not None
    meets = [
        forecast(THICK, Container(deep + more), [(around, None)], start_c=57).chance == "meets" for more in (0, 0.1)
    ]
    assert meets == [True, False]


def test_the_ceiling_of_the_search_is_no_answer() -> None:
    cold = Surroundings("brine", -20.0, Range(5e4, 5e4, 5e4))
    assert deepest_cm(THICK, Container(5, diameter_cm=5), cold, CODE, 0.001) == math.inf
    fridge = SURROUNDINGS["fridge with a fan"]
    for around in (fridge, replace(fridge, ambient_c=-20.0, h=Range(200, 200, 200))):
        assert (deepest_cm(THICK, Container(5), around, CODE) or 0) < 5.1, "a published trial missed there at 5.1 cm"


@pytest.mark.parametrize("viscosity", [0.0, -1.0, math.nan, 1e9])
def test_a_thickness_of_no_food_is_said(viscosity: float) -> None:
    with pytest.raises(RecipeError, match=r"such as 0\.001 for stock"):
        forecast(THICK, Container(5), [(SURROUNDINGS["counter"], None)], stirred_pa_s=viscosity)


def test_logs_of_two_days_stand_beside_each_other(demo) -> None:
    title = demo.titles()[0]
    readings = read_readings("0 57\n114 21")
    for day in (date(2026, 1, 8), date(2026, 1, 9), None):
        demo.keep(CoolingLog(title=title, batch=1, started_on=day, readings=readings))
    assert [each.started_on for each in demo.kept(CoolingLog)] == [date(2026, 1, 8), date(2026, 1, 9), None]


def test_a_rise_of_two_degrees_is_the_probe_and_more_is_not() -> None:
    assert CoolingLog(readings=read_readings("0 57\n10 55\n20 57\n120 30")).flags == ()
    (said,) = CoolingLog(readings=read_readings("0 57\n10 55\n20 57.1\n120 30")).flags
    assert "rose from 55 to 57.1 C by 20 min" in said


def test_a_calendar_says_who_made_it_and_with_what() -> None:
    made = plan(dinner())
    text = calendar(made, datetime(2026, 1, 1, tzinfo=UTC)).replace("\r\n ", "")
    assert "PRODID:" in text and "VERSION:2.0" in text, "RFC 5545 3.6: both are required"
    with_tools = next(task for task in made.tasks if task.stage.tools)
    assert "With: " + "\\, ".join(with_tools.stage.tools) in text
    assert text.count("DTEND") == len(made.tasks), "serving is a moment"
    assert text.count("DTSTAMP:20260101T000000Z") == len(made.tasks) + 1


def test_only_what_is_made_ahead_is_dated() -> None:
    made = plan(
        dinner(
            "Soup\n- Simmer; 20; burner; day 1; keeps 3\n- Chill; 5+55; day 1\nSauce\n- Boil; 30; burner; day 0",
            "1: 9:00-12:00\n0: 9:00-12:30",
        )
    )
    (line,) = use_by(made)
    assert line.startswith("Soup: Use by 2026-01-23"), "made on the 21st, day 1; US home advice is 3 days"


def test_a_container_knows_its_surface() -> None:
    assert Container(10, diameter_cm=20).area_m2 == pytest.approx(math.pi * 0.1**2)
    assert Container(5, length_cm=53, width_cm=32.5).area_m2 == pytest.approx(0.53 * 0.325), (
        "a full gastronorm pan, EN 631"
    )
    assert Container(5).area_m2 is None and Container(5, length_cm=53).spans_cm == ()


def test_a_plan_says_when_to_begin_and_with_what() -> None:
    made = plan(
        dinner(
            "Soup\n- Simmer; 20+40; burner; day 1; keeps 3\n- Chill; 5+55; day 1\nSauce\n- Boil; 30; burner; day 0",
            "1: 9:00-12:00\n0: 9:00-12:30",
        )
    )
    assert (
        made.text
        == "It fits: 3 stages and 2 probe checks on 2 days, 65 min hands-on; begin on Wednesday 21 January at 09:50 with Soup: Simmer."
    )
    one = plan(dinner("Sauce\n- Boil; 30; burner; day 0", "0: 9:00-12:30"))
    assert "1 stages on 1 day, 30 min hands-on" in one.text
