"""A corpus of ingredient lines as handbooks write them: read, asked, and never read wrongly."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from spoonline.facts import ingredient, read_line
from spoonline.measures import AmountError, ItemError
from tiers import drawn

TOKENS = "1 2 1/2 ½ - , . ( ) x of or and cup tbsp g oz tin pinch onion butter chopped heaped a"
CORPUS = Path(__file__).parents[1] / "measures" / "corpus.csv"


def corpus() -> list[dict[str, str]]:
    with CORPUS.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def verdict(row: dict[str, str]) -> str:
    """Say whether the reading is right, asks, or is wrong (asking where a reading was expected is told apart)."""
    found = read_line(row["line"])
    if found.item is None or found.mass is None:
        return "asked" if found.notes and (found.item or "") in (row["item"], "") else "wrong: asks nothing"
    assert found.amount is not None and found.mass is not None
    if row["outcome"] == "ask":
        return "wrong: guessed"
    same = (
        abs(found.amount.value - float(row["value"])) < 1e-3
        and (found.amount.high is None) == (row["high"] == "")
        and (row["high"] == "" or found.amount.high == float(row["high"]))
        and found.amount.unit == row["unit"]
        and found.item == row["item"]
        and (row["mass_g"] == "" or found.mass.mass_g == pytest.approx(float(row["mass_g"]), rel=0.006))
    )
    return "right" if same else f"wrong: {found.amount}, {found.item}, {found.mass}"


def test_the_corpus_is_read_or_asked_and_never_wrong() -> None:
    rows = corpus()
    assert len(rows) >= 300
    verdicts = {row["line"]: verdict(row) for row in rows}
    assert {line: v for line, v in verdicts.items() if v.startswith("wrong")} == {}
    wanted = {row["line"] for row in rows if row["outcome"] == "read"}
    right = {line for line, v in verdicts.items() if v == "right"}
    assert right == wanted
    assert len(right) >= 0.75 * len(rows)


def test_the_corpus_check_can_fail() -> None:
    line = {"line": "2 cups flour", "outcome": "read", "value": "2", "high": "", "unit": "cup", "item": "wheat flour"}
    assert verdict(line | {"mass_g": "250"}) == "right"
    assert verdict(line | {"mass_g": "275"}).startswith("wrong")
    assert verdict(line | {"value": "3", "mass_g": ""}).startswith("wrong")
    assert verdict(line | {"outcome": "ask", "mass_g": ""}) == "wrong: guessed"


def test_an_item_that_was_read_is_found_again() -> None:
    for row in corpus():
        found = read_line(row["line"])
        if found.item is not None:
            assert ingredient(found.item_text).name == found.item, row["line"]


def test_a_line_written_back_reads_the_same() -> None:
    for row in corpus():
        found = read_line(row["line"])
        if found.item is not None and found.amount is not None and found.mass is not None:
            again = read_line(f"{found.amount.text} {found.item_text}, {found.preparation}")
            assert again.item == found.item, row["line"]
            assert again.mass is not None
            assert again.mass.mass_g == pytest.approx(found.mass.mass_g), row["line"]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("2 tbsp flour", "Read 'flour' as wheat flour"),
        ("1 cup water", "US customary: 1 cup = 236.6 mL"),
        ("30 g corn flour", "which one?"),
        ("1,250 g flour", "thousands or decimals"),
        ("8 oz stock", "by weight or fluid ounces"),
        ("900 g parsnips, peeled", "about 765 g is left"),
        ("1 tsp salt", "which salt"),
        ("2 x 400 g tins tomatoes", "800 g in all"),
        ("a knob of butter", "weigh it once"),
        ("salt to taste", "No amount is given"),
        ("butter or margarine, 30 g", "which one?"),
        ("salt and pepper", "each on its own line"),
        ("2 cups", "No ingredient is named"),
        ("2 glimers of parsly", "no figures"),
        ("1 metric cup milk", "metric: 1 cup = 250 mL"),
        ("2 tbsp (30 g) flour", "not the same (30 and 16 g): which one?"),
        ("1 cup rice, cooked", "before or after cooking"),
    ],
)
def test_what_is_guessed_is_said_and_what_is_ambiguous_is_asked(line: str, words: str) -> None:
    assert any(words in note for note in read_line(line).notes), read_line(line).notes


def test_a_weight_beside_a_measure_is_the_surer() -> None:
    found = read_line("1/4 cup (60 g) butter")
    assert found.mass is not None and found.mass.mass_g == 60
    assert found.amount is not None and found.amount.unit == "cup"


def test_fresh_is_never_read_as_dried() -> None:
    assert read_line("1 tsp fresh turmeric").item is None
    assert read_line("1 tsp fresh oregano").item == "fresh oregano"
    assert read_line("2 sprigs thyme").item == "fresh thyme"
    assert read_line("1 tin chickpeas").item == "canned chickpeas"
    assert read_line("1 cup cooked quinoa").item is None


def test_names_are_exact_never_a_part_of_one() -> None:
    for wrong in ("starch", "corn", "butter beans", "cream crackers", "milk shake", "rice cake", "salted"):
        with pytest.raises(ItemError):
            ingredient(wrong)
    with pytest.raises(ItemError) as caught:
        ingredient("cornstarsh")
    assert "cornstarch" in caught.value.data


@drawn(300)
@given(
    st.one_of(
        st.text(max_size=120),
        st.lists(
            st.sampled_from(
                [
                    "1",
                    "2",
                    "1/2",
                    "½",
                    "-",
                    ",",
                    ".",
                    "(",
                    ")",
                    "x",
                    "of",
                    "or",
                    "and",
                    "cup",
                    "tbsp",
                    "g",
                    "oz",
                    "tin",
                    "pinch",
                    "onion",
                    "butter",
                    "chopped",
                    "heaped",
                    "a",
                ]
            ),
            max_size=14,
        ).map(" ".join),
    )
)
@example("\ud800 1 cup")
@example("chopped " * 60)
@example("\x00")
@example("1 cup " + "(" * 80)
def test_any_line_gives_a_reading(text: str) -> None:
    found = read_line(text)
    assert (found.item is not None and found.mass is not None) or found.notes
    if found.mass is not None:
        assert found.mass.mass_g >= 0 and found.mass.sd_g >= 0
    assert all(len(note.split()) > 2 and note[-1] in ".?" for note in found.notes), found.notes


def test_grams_refuses_where_a_reading_asks() -> None:
    from spoonline.facts import grams

    with pytest.raises(AmountError, match="weigh"):
        grams("a pinch", "salt")
    with pytest.raises(ItemError, match="no weight here"):
        grams("1 cup", "dried pasta")
    with pytest.raises(AmountError, match="known are"):
        grams("2", "celery")
    with pytest.raises(ItemError, match="no figures"):
        grams("1 cup", "moonlight")
    assert grams("30 g", "moonlight").mass_g == 30
