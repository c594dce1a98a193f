"""Forecast and log: what they promise, over random pots and readings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from experiments.keeping_cooling import compare
from spoonline.keeping import (
    SURROUNDINGS,
    Container,
    CoolingLog,
    Food,
    boiling_c,
    cautions_for,
    cooling_rules,
    deepest_cm,
    food,
    food_of,
    forecast,
    ice_inside,
    read_logger,
    read_readings,
    two_point,
    verdict,
)
from spoonline.measures.errors import ReadingError, RecipeError
from spoonline.recipes import Recipe

THICK = Food(0.56, 1000.0, 4000.0)
CODE = cooling_rules()["US model Food Code"]
SOUP = Recipe(title="Soup", ingredients=["2 l vegetable stock", "1 kg parsnips", "60 g corn starch"], servings=8)


def test_series_against_finite_differences() -> None:
    found = compare(12, seed=3)
    assert found["worst"] < 1e-3
    assert found["worst energy fault"] < 1e-9


@given(st.floats(1, 20), st.floats(0.5, 5), st.sampled_from(list(SURROUNDINGS)))
@settings(max_examples=15, deadline=None)
def test_deeper_is_slower_and_nothing_warms(depth: float, more: float, where: str) -> None:
    shallow, deep = (forecast(THICK, Container(each), [(SURROUNDINGS[where], None)]) for each in (depth, depth + more))
    assert shallow.hours[0].best < deep.hours[0].best
    for found in (shallow, deep):
        assert np.all(np.diff(found.centre_c) <= 1e-6)
        assert found.hours[0].low <= found.hours[0].best <= found.hours[0].high


def test_two_phases_of_the_same_air_are_one() -> None:
    air = SURROUNDINGS["fridge with a fan"]
    for pot in (Container(6), Container(12, diameter_cm=24)):
        one = forecast(THICK, pot, [(air, None)])
        two = forecast(THICK, pot, [(air, 40), (air, None)])
        assert two.hours[1].best == pytest.approx(one.hours[1].best, rel=1e-3)
        stirred = [
            forecast(THICK, pot, phases, stirred_pa_s=0.001).hours[1].best
            for phases in ([(air, None)], [(air, 40), (air, None)])
        ]
        assert stirred[0] == pytest.approx(stirred[1], rel=1e-6)


def test_what_slows_it_slows_it() -> None:
    air = SURROUNDINGS["fridge with a fan"]
    base = Container(5)
    plain = forecast(THICK, base, [(air, None)]).hours[1].best
    for worse in ({"lid": "lid on"}, {"material": "plastic tub"}, {"on_rack": False}):
        assert forecast(THICK, replace(base, **worse), [(air, None)]).hours[1].best > plain
    assert forecast(THICK, replace(base, diameter_cm=20), [(air, None)]).hours[1].best < plain
    assert forecast(THICK, replace(base, length_cm=30, width_cm=20), [(air, None)]).hours[1].best < plain


def test_counter_first_costs_time_and_never_ends_there() -> None:
    counter, fridge = SURROUNDINGS["counter"], SURROUNDINGS["fridge with a fan"]
    straight = forecast(THICK, Container(5), [(fridge, None)], start_c=60)
    late = forecast(THICK, Container(5), [(counter, 60), (fridge, None)], start_c=60)
    assert late.hours[0].best > straight.hours[0].best
    back = forecast(THICK, Container(5), [(fridge, 30), (counter, 60), (fridge, None)], start_c=60)
    assert back.hours[0].best > straight.hours[0].best, "a place that comes again is not taken for the last"
    only = forecast(THICK, Container(5), [(counter, None)])
    assert only.chance == "misses" and "longer than 96 h" in only.text


def test_deepest_layer_just_passes() -> None:
    around = SURROUNDINGS["fridge with a fan"]
    deep = deepest_cm(THICK, Container(5), around, CODE)
    assert deep is not None and 1 < deep < 5
    slow = replace(around, h=around.h._replace(best=around.h.low, high=around.h.low))
    assert forecast(THICK, Container(deep), [(slow, None)], start_c=57).chance == "meets"
    assert forecast(THICK, Container(deep + 0.2), [(slow, None)], start_c=57).chance != "meets"
    assert deepest_cm(THICK, Container(5), SURROUNDINGS["counter"], CODE) is None


@given(st.floats(25, 98), st.floats(0, 20))
def test_ice_counts_its_water_and_the_heat_balances(hot: float, cold: float) -> None:
    ice = ice_inside(SOUP, hot, cold, 3900)
    rest = SOUP.mass_g - ice.ice_g
    assert rest * 3.9 * (hot - cold) == pytest.approx(ice.ice_g * (334 + 4.18 * cold), rel=1e-9)
    assert ice.hold_back_l == pytest.approx(ice.ice_g / 1000)
    assert ("Ice alone cannot" in ice.text) == (ice.hold_back_l > SOUP.liquid_l)


def test_wrong_input_is_said() -> None:
    with pytest.raises(RecipeError, match=r"0\.2 to 200 cm"):
        Container(0)
    with pytest.raises(RecipeError, match="choose of"):
        Container(5, lid="cling")
    with pytest.raises(RecipeError, match="minutes above 0"):
        forecast(THICK, Container(5), [(SURROUNDINGS["counter"], None), (SURROUNDINGS["counter"], None)])
    with pytest.raises(RecipeError, match="57 to 110"):
        forecast(THICK, Container(5), [(SURROUNDINGS["counter"], None)], start_c=20)
    with pytest.raises(RecipeError, match="-500 to 5000"):
        boiling_c(9000)
    with pytest.raises(RecipeError, match="No line"):
        food_of(Recipe(title="Air", ingredients=["a little moonlight"]))
    with pytest.raises(RecipeError, match="composition"):
        food(water=0)


# Newton cooling from 90 C: the true times are known exactly
@given(st.floats(0.3, 4.0), st.lists(st.floats(0.05, 12.0), min_size=1, max_size=12), st.sampled_from([0.0, 3.0, 4.5]))
def test_verdict_never_claims_what_the_true_curve_denies(tau: float, more: list[float], around: float) -> None:
    times = [0.0, *np.cumsum(more)]
    points = [(60 * t, around + (90 - around) * np.exp(-t / tau)) for t in times]
    begin, *reach = (tau * np.log((90 - around) / (c - around)) for c in (57, 21, 5))
    truth = [took - begin <= hours for took, hours in zip(reach, (2, 6), strict=True)]
    said = verdict(points, CODE)
    if said == "meets both stages":
        assert truth == [True, True]
    if said == "misses stage 1":
        assert not truth[0]
    if said == "misses stage 2":
        assert not truth[1]


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([(0, 60), (60, 50), (170, 21), (350, 5)], "not enough readings"),
        ([(0, 60), (1, 57), (121, 21.5)], "misses stage 1"),
        ([(0, 57), (110, 20), (361, 5.5)], "misses stage 2"),
        ([(0, 50), (30, 20), (60, 4)], "not enough readings"),
        ([(0, 50), (121, 30)], "misses stage 1"),
        ([(0, 57), (60, 30), (70, 74), (75, 57), (180, 20), (400, 4)], "meets both stages"),
        # rewarmed above a limit: nobody knows, or a miss; reheated after all the time had gone: a miss
        ([(0, 57), (60, 20), (90, 40), (350, 5)], "not enough readings"),
        ([(0, 57), (60, 20), (300, 5), (350, 9)], "not enough readings"),
        ([(0, 57), (110, 20), (150, 30), (350, 5)], "misses stage 1"),
        ([(0, 57), (200, 40), (400, 30), (410, 74), (500, 20), (700, 4)], "misses stage 2"),
        ([(0, 57), (110, 20), (400, 9), (410, 74), (411, 57), (500, 20), (700, 4)], "misses stage 2"),
        ([(0, 57), (200, 40), (210, 74), (211, 57), (300, 20), (500, 4)], "meets both stages"),
        # right on the limit, and too late
        ([(0, 57), (121, 21), (350, 5)], "misses stage 1"),
        ([(0, 57), (120, 21), (361, 5)], "misses stage 2"),
        ([(0, 57), (120, 21), (360, 5), (900, 5)], "meets both stages"),
    ],
)
def test_verdicts(points: list[tuple[float, float]], said: str) -> None:
    assert verdict(points, CODE) == said


def test_one_stage_rule() -> None:
    france = cooling_rules()["France"]
    assert verdict([(0, 63), (110, 10)], france) == "meets the limit"
    assert verdict([(0, 63), (130, 12)], france) == "misses the limit"
    log = CoolingLog(readings=read_readings("0 63\n130 12"), jurisdiction="France")
    assert log.verdict == "misses the limit" and "written procedure" in log.next_step


# Australia (60 to 21 C in 2 h, then to 5 C in 4 h more) as given by a council, and US meat plants (130 to 80 F in 1.5 h, then to 40 F in
# 5 h) as given in a trade guide: both count the second stage from the end of the first. The Food Code counts both from 57 C: read.
@pytest.mark.parametrize(
    ("whose", "points", "said"),
    [
        ("Australia", [(0, 60), (60, 21), (300, 5)], "meets both stages"),
        ("Australia", [(0, 60), (59, 22), (60, 21), (330, 5)], "misses stage 2"),
        ("Australia", [(0, 60), (30, 40), (60, 21), (330, 5.1)], "misses stage 2"),
        ("Australia", [(0, 60), (30, 40), (60, 20), (290, 4)], "not enough readings"),
        ("Australia", [(0, 60), (119, 21.5), (120, 21), (359, 5)], "meets both stages"),
        ("US meat plants (FSIS)", [(0, 54.4), (30, 26.7), (340, 4.5)], "misses stage 2"),
        ("US meat plants (FSIS)", [(0, 54.4), (89, 26.8), (90, 26.7), (389, 4.4)], "meets both stages"),
        ("US model Food Code", [(0, 57), (60, 21), (360, 5)], "meets both stages"),
    ],
)
def test_when_the_second_stage_begins(whose: str, points: list[tuple[float, float]], said: str) -> None:
    assert verdict(points, cooling_rules()[whose]) == said


def test_what_is_typed_in_f_is_held_in_f() -> None:
    # 135, 70 and 41 F are the Food Code's own figures; 70 F is 21.11 C, and 134 F is under the start
    assert CoolingLog(readings=read_readings("0 135 F\n120 70 F\n360 41 F")).verdict == "meets both stages"
    assert CoolingLog(readings=read_readings("0 135\n120 71\n360 41", "F")).verdict == "misses stage 1"
    assert CoolingLog(readings=read_readings("0 57\n120 21.11\n360 5")).verdict == "misses stage 1"
    logger = read_logger("minutes,probe F\n0,135\n120,70\n360,41\n")
    assert CoolingLog(readings=logger).verdict == "meets both stages"
    meat = CoolingLog(readings=read_readings("0 130 F\n90 80 F\n390 40 F"), jurisdiction="US meat plants (FSIS)")
    assert meat.verdict == "meets both stages"
    south = CoolingLog(readings=read_readings("0 140 F\n120 70 F\n360 41 F"), jurisdiction="Australia")
    assert south.verdict == "misses stage 1", "70 F is no figure of that law: 21 C is 69.8 F"


def test_a_log_that_starts_cold_says_so_in_one_sentence() -> None:
    (said,) = CoolingLog(readings=read_readings("0 50\n30 20\n60 4")).flags
    assert said.startswith("The log starts at 50 C with no reading at 57 C or above") and said.count(".") == 1
    assert CoolingLog(readings=read_readings("0 50\n30 20\n60 4")).verdict == "not enough readings"


def test_typed_readings() -> None:
    rows = read_readings("2:05 pm 135 F\n15:10 38,5\n4:00 pm; 20 °C")
    assert [float(each.minutes) for each in rows] == [0, 65, 115]
    assert [float(each.temperature_c) for each in rows] == [57.22, 38.5, 20.0]
    assert float(read_readings("0 135\n1 h 30 min 70", "F")[1].temperature_c) == pytest.approx(21.11)
    for text, match in (
        ("soon 5", "no time"),
        ("14:05 57\n30 40", "mixed"),
        ("25:10 40", "no time of day"),
        ("", "No reading"),
        ("57", "a time and"),
    ):
        with pytest.raises(ReadingError, match=match):
            read_readings(text)
    with pytest.raises(ReadingError, match="wrong order"):
        CoolingLog(readings=read_readings("10 57\n20 40\n15 30"))


def test_logger_files() -> None:
    text = (
        "Date Time,Temp (°C),Battery\n2026-01-08T13:00:00,60.0,3\n2026-01-08T13:05:00,,3\n2026-01-08T14:00:00,41.5,3\n"
    )
    rows = read_logger(text)
    assert [(float(each.minutes), float(each.temperature_c)) for each in rows] == [(0, 60), (60, 41.5)]
    assert len(read_logger("minutes\tprobe\n0\t57\n5\t50\n", "C")) == 2
    assert [
        float(each.minutes) for each in read_logger("Zeit time;Temp C\n08.01.2026 23:30;57,0\n09.01.2026 00:30;30,0\n")
    ] == [0, 60]
    for text, match in (
        ("minutes,probe\n0,57", "neither C nor F"), ("a,b\n1,2", "which column"), ("", "no rows"),
        ("time,temp C,probe C\n0,5,5", "which column"), ("time,temp C\nnoon,5", "Row 2"),
    ):  # fmt: skip
        with pytest.raises(ReadingError, match=match):
            read_logger(text)


def test_early_forecast_says_act() -> None:
    late = two_point((0, 57), (60, 50), 3.0)
    assert "Act now" in late.text and late.hours[0] > 2
    assert "never" in two_point((0, 57), (60, 30), 6.0).text
    with pytest.raises(ReadingError, match="go down"):
        two_point((0, 40), (10, 45), 3.0)


def test_log_is_kept_with_its_batch(demo) -> None:
    title = demo.titles()[0]
    for text in ("0 57\n60 40", "0 57\n114 21\n354 5"):
        demo.keep(CoolingLog(title=title, batch=1, readings=read_readings(text)))
    (log,) = demo.kept(CoolingLog)
    assert log.verdict == "meets both stages" and log.batch == 1
    with pytest.raises(ReadingError, match="choose of"):
        CoolingLog(jurisdiction="the moon", readings=read_readings("0 57"))


def test_flags_and_next_steps() -> None:
    log = CoolingLog(readings=read_readings("0 50\n10 54\n150 30"))
    assert len(log.flags) == 2
    assert log.verdict == "misses stage 1" and "reheat to 74 C once" in log.next_step and "local code" in log.next_step


def test_cautions_stand_by_their_step() -> None:
    assert len(cautions_for("Pressure-cook, then blend; make a caramel; whisk in the yolks; cool; reheat")) == 6
    assert cautions_for("Peel.") == ()


def test_a_clock_may_be_written_with_dots_and_is_no_count_of_minutes() -> None:
    dotted, usual = (CoolingLog(readings=read_readings(f"9{m}00 80\n13{m}00 30\n22{m}30 4")) for m in ".:")
    assert [each.minutes for each in dotted.readings] == [each.minutes for each in usual.readings] == [0, 240, 810]
    assert dotted.verdict == usual.verdict != "meets both stages"
    assert read_readings("0 80\n12.5 min 57")[1].minutes == read_readings("0 80\n12.5 57")[1].minutes == 12.5


@pytest.mark.parametrize("typed", ["14:05", "2:05 pm", "14:05 71; 14:35 50", "12:00 71 60"])
def test_a_line_is_one_time_and_one_temperature(typed: str) -> None:
    with pytest.raises(ReadingError, match="a time and a temperature are wanted"):
        read_readings(typed)


def test_clocks_with_a_dot_and_a_clock_that_runs_back() -> None:
    read = read_readings("2.05 pm 57\n2.50 pm 40")
    assert [float(each.minutes) for each in read] == [0, 45]
    back = CoolingLog(readings=read_readings("14:05 71\n13:55 20\n18:00 4"))
    assert any("24 hours lie between two readings" in each for each in back.flags)
    assert CoolingLog(readings=read_readings("23:30 57\n0:30 35\n1:24 21")).flags == ()
