"""One quantity against one outcome: what is said of few pots, of bad input, and of pots that tell; ranges that hold."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import spoonline as sl
from experiments.effects import run
from spoonline.effects import Factor, compare_outcomes, plan_pots, read_effect, read_plan
from tiers import drawn


def pots(x, y, **more) -> pd.DataFrame:
    return pd.DataFrame({"butter_g_per_100g_flour": x, "spread_cm": y} | more)


def test_ranges_hold_and_a_flat_truth_is_not_told() -> None:
    """A small sample of ``tests/experiments/effects.py``; three standard errors beyond its bounds."""
    found = run(400)
    for name in ("average", "next pot"):
        share, cases = found[name]
        assert 86 - 300 * math.sqrt(0.1 / cases) < share < 94 + 300 * math.sqrt(0.06 / cases), name
    share, cases = found["flat: cannot tell is said"]
    assert share >= 90 - 300 * math.sqrt(0.09 / cases)
    assert found["real: told"][0] > 20, "and a real one often is"


@pytest.mark.parametrize(
    ("frame", "words"),
    [
        (pots([], []), "No pot has both butter and spread yet"),
        (pots([40], [6.0]), "One pot with both butter and spread (6 cm at 40 g/100g flour): cook another"),
        (
            pots([40, 40, 40.1], [6.0, 6.2, 6.1]),
            "All 3 pots hold 40 g/100g flour of butter: cook one with more or less",
        ),
        (pots([40, 50, 60], [6.0, 6.0, 6.0]), "All 3 pots came to 6 cm"),
        (
            pots([40, 60], [6.0, 7.0]),
            "Two pots do not show how far pots of one setting differ: cook one of them again.",
        ),
    ],
)
def test_few_pots_are_points_and_one_sentence(frame: pd.DataFrame, words: str) -> None:
    found = sl.effect(frame, "butter", "spread", aim=("spread", "cm", 6.2, 6.6))
    assert words in found.text and found.line is None and found.cannot_tell
    assert found.best(6.4) is None and found.pots_more is None and found.next_setting() is None
    with pytest.raises(sl.KitchenError, match="pot"):
        found.predict(50)
    if len(frame):
        assert found.figure("Invented data.").text.startswith("Invented data. Spread against butter.")


def test_cannot_tell_is_said_with_what_would_tell() -> None:
    found = read_effect(pots([40, 45, 50, 55, 60], [6.3, 7.0, 6.4, 7.1, 6.9]), "butter", "spread")
    assert found.cannot_tell and "Cannot tell yet whether butter changes spread" in found.text
    assert found.pots_more is not None and f"{found.pots_more} more pots like these would tell" in found.text
    assert found.best(6.5) is None


def test_what_meets_an_aim_and_what_lies_outside() -> None:
    found = sl.effect(
        pots([40, 45, 50, 55, 60], [6.02, 6.3, 6.61, 6.95, 7.18]), "butter", "spread", aim=("spread", "mm", 63, 67)
    )
    best = found.best()
    assert found.aim is not None and found.aim.unit == "cm" and best is not None and 46 < best.best < 50
    assert found.best(sl.units("65 mm")).best == pytest.approx(found.best(6.5).best)
    assert bool(found.inside(best.best)) and not found.inside(62.0)
    setting = found.next_setting()
    assert setting is not None and setting.chance == pytest.approx(
        float(np.max(found.chance(np.linspace(40, 60, 2000)))), abs=1e-3
    )
    beyond = found.best(8.5)
    assert beyond is None or not found.inside(beyond.best)
    high = read_effect(found.points.set_axis(["batch", "cooked_on", "butter_g_per_100g_flour", "spread_cm", "sd"], axis=1),
                       "butter", "spread", aim=("spread", "cm", 7.5, 7.9))  # fmt: skip
    assert "outside what was tried (extrapolated)" in high.text
    assert high.next_setting().settings[0] == pytest.approx(60) and "extrapolated" in high.next_setting(beyond=0.5).text
    picture = found.figure()
    assert picture.png()[:4] == b"\x89PNG" and "spread 6.3 to 6.7 cm" in [
        each.get_text() for each in picture.figure.legends[0].texts
    ]


def test_scales_follow_the_unit() -> None:
    lengths = read_effect(pots([40, 50, 60, 70], [6.0, 6.6, 7.3, 7.7]), "butter", "spread")
    assert lengths.scales == (True, True)
    with_none = read_effect(pots([0, 50, 60, 70], [5.0, 6.6, 7.3, 7.7]), "butter", "spread")
    assert with_none.scales == (False, True)
    scores = pd.DataFrame({"butter_g_per_100g_flour": [40, 50, 60], "crisp_score": [2, 4.1, 6]})
    assert read_effect(scores, "butter", "crisp").scales == (False, False)
    assert read_effect(scores, "butter", "crisp", scale="ratio").scales == (True, True)


def test_whole_scores_do_not_pretend_to_be_exact() -> None:
    scores = pd.DataFrame({"butter_g_per_100g_flour": [40, 50, 60], "crisp_score": [4, 5, 6]})
    average = read_effect(scores, "butter", "crisp").predict(50)[0]
    assert average.high - average.low > 1.0, "each was read to one point"


def test_pots_left_out_and_pots_of_one_day() -> None:
    frame = pots(
        [40, 50, 60, 60], [6.0, 6.6, 7.3, 12.0], left_out=["", "", "", "dropped"], cooked_on=["a", "a", "b", "b"]
    )
    assert len(read_effect(frame, "butter", "spread").points) == 3
    one_day, apart = (
        read_effect(pots([40, 50, 60, 45], [6.0, 6.7, 7.2, 6.2], cooked_on=days), "butter", "spread").predict(50)[0]
        for days in (["a"] * 4, ["a", "b", "c", "d"])
    )
    assert one_day.high / one_day.low > apart.high / apart.low, "the day itself may have been another"


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda f: sl.effect(f, "carrot", "spread"), "There is no column 'carrot'; choose one of butter_g_per_100g_flour, spread_cm"),
        (lambda f: sl.effect(f.assign(spread_mm=60), "butter", "spread"), "spread stands in cm and in mm; ask for spread_cm or spread_mm"),
        (lambda f: sl.effect(f.assign(spread_cm=["wide", 6, 7]), "butter", "spread"), "spread_cm holds 'wide' in row 0, where a number"),
        (lambda f: sl.effect(f, "butter", "spread", aim=("spread", "min", 6, 7)), "spread 6 to 7 min is aimed at, and spread is in cm"),
        (lambda f: sl.effect(f, "butter", "spread", aim=("spread", "score", 6, 7)), "give the aim in cm"),
        (lambda f: sl.effect(f, "butter", "spread", aim=("spread", "cm", 7, 6)), "the lower end stands first"),
        (lambda f: sl.effect(f, "butter", "spread", scale="log"), "'ratio' or 'plain' is wanted"),
        (lambda f: sl.effect(f, "butter", "spread").best(sl.units("7 min")), "a figure in cm is wanted"),
        (lambda f: sl.effect(f, "butter", "spread").chance(50), "No aim came"),
        (lambda f: sl.Outcome(name="spread", unit="wideness", values=[7]), "The unit 'wideness' came; a unit that the kitchen knows"),
        (lambda f: sl.Outcome(name="spread", unit="cm", values=["wide"]), "'wide' came where a number is wanted"),
        (lambda f: sl.Outcome(name="spread", unit="cm", values=[sl.units("7 min")]), "a figure in cm is wanted"),
        (lambda f: sl.Batch(title="B", version=1, cooked_on="2026-01-08", outcomes=[
            sl.Outcome(name="spread", unit="cm", values=[7]), sl.Outcome(name="Spread", unit="mm", values=[70])]),
         "spread came in cm and in mm; give it in one unit"),
        (lambda f: compare_outcomes(f, f), "take rows of the table of one dish"),
        (lambda f: read_plan(plan_pots("B", [Factor(name="butter", unit="g", low=1, high=2)], "spread", "cm"), f), "take the table of one dish"),
        (lambda f: sl.Aim(outcome="salt", unit="%"), "neither a low nor a high end"),
    ],
)  # fmt: skip
def test_bad_input_gets_one_sentence(ask, words: str) -> None:
    with pytest.raises(sl.KitchenError) as caught:
        ask(pots([40, 50, 60], [6.0, 6.6, 7.3]))
    assert words in str(caught.value) and str(caught.value).count("\n") == 0


def test_two_groups_are_compared_by_each_outcome() -> None:
    frame = pd.DataFrame({
        "version": [1, 1, 1, 2, 2, 2], "left_out": "", "cooked_on": [1, 2, 3, 1, 2, 3], "spread_cm": [6.0, 6.2, 6.1, 7.0, 7.3, 7.1],
        "crisp_score": [4, 5, 3, 4, 4, 5.0], "salt_percent": [1, np.nan, np.nan, 1, 1, 1.0],
    })  # fmt: skip
    frame.attrs["outcomes"] = {"spread_cm": "cm", "crisp_score": "score", "salt_percent": "%"}
    spread, crisp, salt = compare_outcomes(frame[frame["version"] == 1], frame[frame["version"] == 2])
    assert spread.different and spread.ratio and spread.difference.low < 7.13 / 6.1 < spread.difference.high
    assert "different" in spread.text and not crisp.different and "cannot tell" in crisp.text and not crisp.ratio
    assert salt.difference is None and "1 and 3 pots are too few to compare" in salt.text
    one_day = frame.assign(cooked_on=frame["version"])
    assert compare_outcomes(one_day[:3], one_day[3:])[0].text.endswith("only more days can say.")


def test_two_groups_against_students_t() -> None:
    """Welch and paired tests are not used: scipy's pooled t where no day has two pots."""
    from scipy.stats import ttest_ind

    rng = np.random.default_rng(2)
    one, two = rng.normal(5, 1, 4), rng.normal(6.5, 1, 5)
    frame = pd.DataFrame({"left_out": "", "cooked_on": range(9), "crisp_score": [*one, *two]})
    frame.attrs["outcomes"] = {"crisp_score": "score"}
    (found,) = compare_outcomes(frame[:4], frame[4:])
    theirs = ttest_ind(two, one)
    assert found.difference[1:] == pytest.approx(tuple(theirs.confidence_interval(0.9)))
    assert found.different == (theirs.pvalue <= 0.05)


SETTINGS = st.sampled_from([0.0, 40.0, 40.2, 55.0, 70.0, float("nan")])
FOUND = st.sampled_from([-1.0, 0.0, 3.0, 5.0, 5.1, 9.0, 1e6, float("nan")])


@drawn(300)
@given(st.lists(st.tuples(SETTINGS, FOUND, st.sampled_from([0.0, 0.4]), st.integers(1, 3)), max_size=8))
def test_any_pots_are_read_without_nonsense(rows: list[tuple[float, float, float, int]]) -> None:
    frame = pd.DataFrame(
        rows, columns=["butter_g_per_100g_flour", "spread_cm", "spread_cm_sd", "cooked_on"], dtype=float
    )
    found = sl.effect(frame, "butter", "spread", aim=("spread", "cm", 4, 6))
    assert "nan" not in found.text and "inf" not in found.text and found.text.endswith((".", ").")), found.text
    best, setting = found.best(), found.next_setting(beyond=0.5)
    if found.cannot_tell:
        assert best is None and setting is None
    else:
        average, single = found.predict(found.tried[0])
        assert single.low <= average.low <= average.best <= average.high <= single.high
        assert best is None or best.low <= best.best <= best.high
        assert setting is not None and 0 <= setting.chance <= 1 and "nan" not in setting.text
    assert len(found.table) in (9, len(found.points))


def test_an_aim_with_one_end_stays_inside_what_was_tried() -> None:
    """Chances near 1 go on rising where nobody has cooked; the setting nearest the middle that is as good is told."""
    frame = pots([44, 53, 62, 44, 53, 62], [5.5, 6.35, 7.2, 5.45, 6.4, 7.25])
    setting = sl.effect(frame, "butter", "spread", aim=("spread", "cm", 6.5, None)).next_setting(beyond=0.5)
    assert setting is not None and 53 < setting.settings[0] < 62 and "extrapolated" not in setting.text


@pytest.mark.parametrize(
    "unit", ["9**9**9", "9^9^9", "cm**9**9**9", "<b>", "cm; rm", "lambda: 1", "cm^99999999", "1e400 cm", "parsnips"]
)
def test_a_unit_that_would_be_worked_out_is_refused(unit: str) -> None:
    with pytest.raises(sl.KitchenError, match="unit"):
        sl.pots.Outcome(name="crisp", unit=unit, values=[1])


def test_an_oven_in_fahrenheit_is_the_oven_of_the_steps(demo: sl.Logbook) -> None:
    """356 F is 180 C: typed in another unit it is the same quantity, in the frame and for what counts as tested."""
    biscuit = sl.Recipe(
        title="Hall biscuits", ingredients=["200 g plain flour", "90 g butter"], steps=["Bake at 180 C for 12 minutes."],
        aims=[("spread", "cm", 6, 7)],
    )  # fmt: skip
    demo.save(biscuit)
    for number, (oven, spread) in enumerate(((356, 63), (356, 64), (392, 65), (356, 66)), start=1):
        demo.record(
            sl.Batch(
                title="Hall biscuits", version=1, cooked_on=f"2026-01-{number:02}",
                outcomes=[sl.pots.Outcome(name="spread", unit="mm", values=[spread])],
                quantities=[sl.pots.Quantity(name="oven", unit="F", value=oven)],
            )
        )  # fmt: skip
    dish = demo.dish("Hall biscuits")
    assert (dish.aims[0].count.inside, dish.aims[0].count.read) == (3, 3), "the pot at 200 C is another"
    assert dish.frame["oven_c"].tolist() == [180, 180, 200, 180]


def test_what_a_tool_reads_is_no_outcome_that_is_typed() -> None:
    with pytest.raises(sl.KitchenError, match="read and weighed"):
        sl.pots.Outcome(name="viscosity", unit="Pa s", values=[99])


@pytest.mark.parametrize("column", ["butter_g_per_100g_flour", "spread_cm", "spread_cm_sd"])
@pytest.mark.parametrize("odd", [np.inf, "much"])
def test_a_cell_that_is_no_figure_is_named(column: str, odd: object) -> None:
    frame = pots([40, 45, 50, 55], [6.0, 6.3, 6.9, 7.1]).assign(spread_cm_sd=0.1).astype(object)
    frame.loc[2, column] = odd
    with pytest.raises(sl.KitchenError, match="row 2, where a number is wanted"):
        sl.effect(frame, "butter", "spread")
