"""Amounts, units and the first half of an ingredient line."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from spoonline.measures import Amount, AmountError, number, parse_amount, split_line, unit
from tiers import drawn

HALVES = ["1 1/2", "1½", "1 ½", "1.5", "1,5", "1-1/2", "1 and 1/2", "1 & 1/2", "1⁤½", "one and a half", "3/2", "1 1⁄2"]


@pytest.mark.parametrize("text", HALVES)
def test_a_fraction_in_every_spelling(text: str) -> None:
    assert parse_amount(f"{text} tbsp").value == 1.5
    assert number(text) == 1.5


@pytest.mark.parametrize(
    ("text", "value", "high", "name", "fill"),
    [
        ("2 1/2 heaped tbsp", 2.5, None, "tbsp", "heaped"),
        ("heaped", None, None, "", ""),
        ("2 heaping tablespoons", 2, None, "tbsp", "heaped"),
        ("2 levelled tsp.", 2, None, "tsp", "level"),
        ("a scant cup", 1, None, "cup", "scant"),
        ("a good tablespoonful", 1, None, "tbsp", "generous"),
        ("1 bare teaspoon", 1, None, "tsp", "scant"),
        ("3", 3, None, "", ""),
        ("2-3", 2, 3, "", ""),
        ("2 or 3", 2, 3, "", ""),
        ("2 to 3 tbsp", 2, 3, "tbsp", ""),
        ("2 cups to 3 cups", 2, 3, "cup", ""),
        ("1 1/2-2 cups", 1.5, 2, "cup", ""),
        ("one or two cloves", 1, 2, "clove", ""),
        ("1 T", 1, None, "tbsp", ""),
        ("1 t", 1, None, "tsp", ""),
        ("1 fl. oz.", 1, None, "fl oz", ""),
        ("1 lb 8 oz", 1.5, None, "lb", ""),
        ("2 x 400 g tins", 800, None, "g", ""),
        ("2 400 g tins", 800, None, "g", ""),
        ("a 400 g tin", 400, None, "g", ""),
        ("14-oz can", 14, None, "oz", ""),
        ("half a dozen", 6, None, "", ""),
        ("two dozen", 24, None, "", ""),
        ("a pinch", 1, None, "pinch", ""),
        ("2 large", 2, None, "", ""),
        ("1/4 cup (57 g)", 0.25, None, "cup", ""),
        ("~ 2 l", 2, None, "l", ""),
        ("0 g", 0, None, "g", ""),
    ],
)
def test_amounts(text: str, value: float | None, high: float | None, name: str, fill: str) -> None:
    if value is None:
        with pytest.raises(AmountError, match="no amount"):
            parse_amount(text)
        return
    amount = parse_amount(text)
    assert (amount.value, amount.high, amount.unit, amount.fill, amount.text) == (value, high, name, fill, text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1,250 g", "thousands or decimals"),
        ("", "Nothing was written"),
        ("two glimmers", "no amount"),
        ("-2 cups", "no amount"),
        ("1e5 g", "no amount"),
        ("nan g", "no amount"),
        ("inf", "no amount"),
        ("1/0 cup", "divides by nothing"),
        ("1 5/4 cups", "no mixed number"),
        ("1.5.2 g", "no figure"),
        ("3-2 cups", "range"),
        ("2-14 oz", "range"),
        ("1 250 g", "no amount"),
        ("2 heaped kg", "only a spoon or a cup"),
        ("3 tbsp + 2 g", "unlike"),
        ("1 oz 2 lb", "no amount"),
        ("1 tsp 2 oz", "do not go together"),
        ("2 (400 g)", "one of them or all together"),
        ("9" * 30 + " g", "too long"),
        ("1 tbsp" + " x" * 400, "too long"),
    ],
)
def test_nonsense_and_what_could_be_two_is_refused_in_a_sentence(text: str, words: str) -> None:
    with pytest.raises(AmountError, match=words) as caught:
        parse_amount(text)
    assert str(caught.value)[-1] in ".?"


def test_the_system_travels_with_the_amount() -> None:
    assert parse_amount("1 cup").measure.size == 236.5882365
    assert parse_amount("1 metric cup").measure.size == 250
    assert parse_amount("1 cup", "metric").measure.size == 250
    assert parse_amount("1 US cup", "metric").measure.size == 236.5882365
    assert parse_amount("1 Australian tbsp").measure.size == 20
    assert parse_amount("1 imperial pint").measure.size == pytest.approx(568.26125)


def test_unknown_units_and_systems_are_refused() -> None:
    with pytest.raises(AmountError, match="no unit"):
        unit("furlong")
    with pytest.raises(AmountError, match="no system"):
        unit("cup", "martian")
    with pytest.raises(AmountError, match="have no quart"):
        unit("quart", "metric")
    with pytest.raises(AmountError, match="no system"):
        parse_amount("1 cup", "martian")


def test_scaling_an_amount() -> None:
    amount = parse_amount("2-3 heaped tbsp").scaled(0.5)
    assert (amount.value, amount.high, amount.text) == (1, 1.5, "1-1.5 heaped tbsp")
    assert parse_amount(amount.text) == amount


def test_split_line_keeps_what_is_written() -> None:
    head = split_line("2 large onions, peeled")
    assert head.amount is not None
    assert (head.amount.text, head.size, head.rest) == ("2 large", "large", "onions, peeled")
    head = split_line("2 cans (14 oz each) beans")
    assert head.amount is not None
    assert (head.amount.value, head.amount.unit, head.rest) == (28, "oz", "beans")
    assert "28 oz in all" in head.notes[0]
    assert split_line("salt to taste").amount is None


FRACTIONS = {0: "", 0.25: "1/4", 0.5: "1/2", 0.75: "3/4"}


@drawn(200)
@given(
    st.integers(0, 40),
    st.sampled_from(sorted(FRACTIONS)),
    st.sampled_from(["", "level ", "heaped ", "scant "]),
    st.sampled_from(["tsp", "tbsp", "cup"]),
)
def test_what_is_written_is_read(whole: int, part: float, fill: str, name: str) -> None:
    if whole + part == 0:
        return
    text = " ".join(p for p in (str(whole) if whole else "", FRACTIONS[part]) if p)
    amount = parse_amount(f"{text} {fill}{name}")
    assert (amount.value, amount.fill, amount.unit) == (whole + part, fill.strip(), name)


@drawn(400)
@given(st.one_of(st.text(max_size=60), st.text("0123456789/.,-½x() gtbspcuporanheaped%", max_size=40)))
@example("½" * 5)
@example("1 " * 100)
@example("(" * 50)
@example("1 cup (2 cups (3 cups")
@example("²")
@example("\ud800")
@example("İİ 1 cup")
def test_any_text_is_an_amount_or_one_sentence(text: str) -> None:
    try:
        amount = parse_amount(text)
    except AmountError as err:
        assert len(str(err).split()) > 4
    else:
        assert isinstance(amount, Amount)
        assert math.isfinite(amount.value) and amount.value >= 0
        assert amount.high is None or amount.high > amount.value
    try:
        split_line(text)
    except AmountError as err:
        assert len(str(err).split()) > 4
