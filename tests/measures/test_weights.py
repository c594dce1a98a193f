"""Spreads, spoons, rounding for print, temperatures and times."""

from __future__ import annotations

import math
from statistics import geometric_mean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spoonline.measures import (
    AmountError,
    parse_amount,
    parse_minutes,
    parse_temperature,
    print_grams,
    round_volume,
    scale_sd_g,
    spoon_from_weighings,
    unit,
    weigh,
    weighed,
)
from tiers import drawn


def test_a_scale_is_better_than_a_spoon_and_a_level_spoon_than_a_heaped_one() -> None:
    shares = []
    for text in ("30 g", "2 level tbsp", "2 heaped tbsp"):
        mass, sd = weigh(parse_amount(text), g_per_ml=0.5)
        shares.append(sd / mass)
    assert shares[0] < 0.01 < shares[1] < 0.12 < shares[2]


def test_a_range_is_its_middle_with_its_width() -> None:
    mass, sd = weigh(parse_amount("20-30 g"))
    assert mass == 25
    assert sd == pytest.approx(math.hypot(10 / math.sqrt(12), 1 / math.sqrt(12)))


def test_many_pieces_average_out() -> None:
    one, many = (weigh(parse_amount(n), g_each=100, each_relative_sd=0.2) for n in ("1", "16"))
    assert list(one) == [100, 20]
    assert many[1] / many[0] == pytest.approx(0.05)


@pytest.mark.parametrize("text", ["a pinch", "a glug", "2 handfuls", "1 ladle"])
def test_by_feel_asks_for_a_weighing(text: str) -> None:
    with pytest.raises(AmountError, match=r"has no size.*weigh it once"):
        weigh(parse_amount(text), g_per_ml=1)


def test_a_liquid_cannot_be_heaped() -> None:
    with pytest.raises(AmountError, match="liquid cannot be heaped"):
        weigh(parse_amount("1 heaped tbsp"), g_per_ml=1, liquid=True)
    assert weigh(parse_amount("1 generous tbsp"), g_per_ml=1, liquid=True)[0] > 14.8


def test_weights_that_are_none_are_refused() -> None:
    for bad in (-1, math.nan, math.inf):
        with pytest.raises(AmountError, match="no mass"):
            weighed(bad)
        with pytest.raises(AmountError, match="no mass"):
            print_grams(bad)
        with pytest.raises(AmountError, match="above 0"):
            round_volume(bad)
    assert weighed(0).relative_sd == 0
    with pytest.raises(AmountError, match="no step"):
        scale_sd_g(0)
    with pytest.raises(AmountError, match="household set"):
        round_volume(10, "martian")


def test_a_scale_of_finer_step_knows_more() -> None:
    assert weighed(20, 0.1).sd_g == pytest.approx(weighed(20, 1.0).sd_g / 10)


@drawn(60)
@given(st.lists(st.floats(1, 60), min_size=3, max_size=12))
def test_ones_own_spoon(grams: list[float]) -> None:
    spoon = spoon_from_weighings(grams)
    assert spoon.range.best == pytest.approx(geometric_mean(grams))
    assert spoon.range.low <= spoon.range.best <= spoon.range.high
    assert spoon.range.low * spoon.range.high == pytest.approx(spoon.range.best**2)


@pytest.mark.parametrize("grams", [[], [12, 15], [12, 0, 15], [12, math.nan, 15], [12, -1, 14], [[1, 2], [3, 4]]])
def test_a_spoon_needs_weighings(grams: list[float]) -> None:
    with pytest.raises(AmountError, match="weigh"):
        spoon_from_weighings(grams)


@pytest.mark.parametrize(
    ("mass", "plain", "fine"),
    [
        (0, "0 g", "0 g"),
        (0.34, "0.3 g", "0.34 g"),
        (3.44, "3 g", "3.4 g"),
        (52.4, "52 g", "52.5 g"),
        (99.4, "99 g", "99.5 g"),
        (102.4, "100 g", "102.5 g"),
        (897.6, "900 g", "897.5 g"),
        (1234.9, "1230 g", "1235 g"),
        (1235.0, "1240 g", "1235 g"),
    ],
)
def test_printing_grams(mass: float, plain: str, fine: str) -> None:
    assert print_grams(mass) == plain
    assert print_grams(mass, fine=True) == fine


@drawn(200)
@given(st.floats(0.7, 2000), st.sampled_from(["us", "metric", "au"]))
def test_spoons_and_cups_come_near_and_say_how_near(volume_ml: float, system: str) -> None:
    found = round_volume(volume_ml, system)
    assert found.volume_ml == pytest.approx(volume_ml * (1 + found.error_percent / 100))
    read = [parse_amount(part, system) for part in found.text.split(" and ")]
    assert len(read) <= 2
    assert sum(a.value * float(a.measure.size or 0) for a in read) == pytest.approx(found.volume_ml)
    if volume_ml > 15:
        assert abs(found.error_percent) < 12.5


def test_whole_measures_come_back_as_themselves() -> None:
    for system in ("us", "metric", "uk", "au"):
        for name in ("tsp", "tbsp"):
            size = unit(name, system).size
            assert size is not None
            assert round_volume(size, system).text == f"1 {name}"
            assert round_volume(size, system).error_percent == pytest.approx(0)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("62 C", 62),
        ("-18 °C", -18),
        ("180 degrees C", 180),
        ("160 C fan", 180),
        ("fan 160C", 180),
        ("160°C (fan)", 180),
        ("gas mark 4", (350 - 32) / 1.8),
        ("gas mark ½", (250 - 32) / 1.8),
        ("gas 1/4", (225 - 32) / 1.8),
        ("350°F (177°C)", (350 - 32) / 1.8),
        ("180C/fan 160C/gas 4", 180),
        ("62,5 C", 62.5),
    ],
)
def test_temperatures(text: str, celsius: float) -> None:
    assert parse_temperature(text).celsius == pytest.approx(celsius)


@pytest.mark.parametrize("text", ["", "180", "hot", "gas 12", "gas 0", "1000 C", "200 C or 350 F", "1,250 C", "F"])
def test_what_is_no_temperature(text: str) -> None:
    with pytest.raises(AmountError):
        parse_temperature(text)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("10 min", 10),
        ("45 mins.", 45),
        ("1 h 15 min", 75),
        ("1h15m", 75),
        ("1 hour and 5 minutes", 65),
        ("1½ hours", 90),
        ("one and a half hours", 90),
        ("an hour", 60),
        ("half an hour", 30),
        ("90 s", 1.5),
        ("2 min 30 s", 2.5),
        ("1,5 h", 90),
    ],
)
def test_times(text: str, minutes: float) -> None:
    assert parse_minutes(text) == minutes


@pytest.mark.parametrize("text", ["", "10", "overnight", "10-12 min", "1,250 min", "min", "1/0 h"])
def test_what_is_no_time(text: str) -> None:
    with pytest.raises(AmountError):
        parse_minutes(text)


@drawn(200)
@given(st.text("0123456789/.,-½°CFgasmrk hoursefinuted()", max_size=40))
def test_any_text_is_a_temperature_a_time_or_a_sentence(text: str) -> None:
    for read in (parse_temperature, parse_minutes):
        try:
            read(text)
        except AmountError as err:
            assert len(str(err).split()) > 4
