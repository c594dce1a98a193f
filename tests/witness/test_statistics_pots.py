"""Comparing pots: published and reference-library values of Student's and equivalence tests, minimum differences, pooling.

Our functions work on ln viscosity, so each published sample goes in as exp(x).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.power import TTestIndPower

from spoonline.dose.compare import DAY_SHARE, READ_SPREAD, Spread, compare_pots, pooled_spread
from spoonline.dose.priors import USUAL_DF
from spoonline.regression import difference_shown

pytestmark = pytest.mark.kind("computed")

# Student's sleep data (memory, confirmed by the printed results).
SLEEP = ([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0], [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])
# Clinic data of the test of statsmodels' equivalence tests (tests/test_tost.py).
CLINIC = (
    [2.84, 2.51, 2.41, 2.95, 3.14, 3.79, 4.14, 3.85, 3.02, 3.45, 5.37, 3.81, 4.19, 3.16, 3.84],
    [2.60, 2.82, 2.18, 3.46, 4.01, 3.04, 3.47, 4.06, 2.91, 3.59, 4.51, 3.16, 3.86, 3.31, 3.02],
)


def shown_in_sds(first: float, second: float) -> float:
    return difference_shown(first + second - 2) * math.sqrt(1 / first + 1 / second)


def both(data: tuple[list[float], list[float]], **more: Any) -> Any:
    return compare_pots(*(np.exp(each).tolist() for each in data), **more)


def test_equivalence_on_the_clinic_data() -> None:
    """Difference .1646667 (statsmodels' tests, read); the two one-sided tests and the range of statsmodels in this run."""
    from statsmodels.stats.weightstats import CompareMeans

    first, second = (np.array(each) for each in CLINIC)
    pooled = math.sqrt((first.var(ddof=1) + second.var(ddof=1)) / 2)
    found, there = (
        both((CLINIC[1], CLINIC[0]), same_factor=math.exp(0.6), spread=Spread(pooled, 28.0, "")),
        CompareMeans.from_data(first, second),
    )
    assert found.ratio is not None and math.log(found.ratio.best) == pytest.approx(0.1646667, abs=1e-6)
    assert [math.log(each) for each in found.ratio][1:] == pytest.approx(list(there.tconfint_diff(0.10)), abs=1e-6)
    assert found.same_p == pytest.approx(float(there.ttost_ind(-0.6, 0.6)[0]), abs=1e-6) and found.same


@pytest.mark.parametrize(
    ("n", "sds"), [(2, 5.653), (3, 3.071), (4, 2.381), (5, 2.024), (6, 1.796), (8, 1.507), (10, 1.325), (12, 1.197)]
)  # fmt: skip
def test_the_least_difference_that_shows(n: int, sds: float) -> None:
    """statsmodels TTestIndPower, two-sided .05, power .8 (computed with it)."""
    assert shown_in_sds(n, n) == pytest.approx(sds, abs=0.002)


def test_against_statsmodels_itself() -> None:
    """The reference library in this run."""
    power = TTestIndPower()
    for first, second in ((3, 3), (3, 6), (2, 9), (12, 12)):
        there = power.solve_power(None, first, 0.05, 0.8, ratio=second / first)
        assert shown_in_sds(first, second) == pytest.approx(float(there), rel=1e-4)


def test_how_many_pots() -> None:
    """16.7147 of each for d = 1 with the spread of those pots (statsmodels, computed); 15.7 where the spread is known (normal, computed)."""
    assert shown_in_sds(16.7147, 16.7147) == pytest.approx(1.0, abs=1e-4)
    found = compare_pots([1.0, 1.0], [math.exp(0.15)] * 2, spread=Spread(0.15, 1e7, ""))
    assert found.needed == 16 and pytest.approx(15.698, abs=1e-3) == 2 * (1.959964 + 0.841621) ** 2


@pytest.mark.kind("published")
def test_pooling_is_that_of_the_certified_one_way_table() -> None:
    """SiRstv (NIST): pooled SD within instruments .104076068334656; the belief mixed in is taken out again here."""
    data = [
        [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
        [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
        [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
        [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
        [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
    ]
    spread = pooled_spread([np.exp(np.array(group) - 196).tolist() for group in data])
    pooled = math.sqrt((spread.ln_sd**2 * spread.df - USUAL_DF * READ_SPREAD**2) / (spread.df - USUAL_DF))
    assert pooled == pytest.approx(0.104076068334656, abs=1e-8)


@pytest.mark.kind("practice")
def test_the_repeatability_limit() -> None:
    """1.96 sqrt 2 = 2.7718585823 (ISO 5725, common practice): 10 % SD is a factor 1.32."""
    lots = pooled_spread([np.exp(0.1 * np.array([-1.0, 1.0]) / math.sqrt(2)).tolist()] * 4000)
    assert lots.ln_sd == pytest.approx(0.10, abs=2e-4)
    assert f"factor {math.exp(2.7718585823 * 0.1):.2f}" in lots.text


@pytest.mark.parametrize(
    ("first", "second", "different"),
    [([0.3, 0.3], [0.3, 0.3], False), ([0.3, 0.3], [0.36, 0.36], False), ([0.3, 0.3, 0.3], [0.9, 0.9, 0.9], True)],
)
@pytest.mark.kind("own")
def test_pots_that_read_alike_keep_the_usual_spread(first: list[float], second: list[float], different: bool) -> None:
    """A scale that shows two pots alike proves no spread of 0: 16 % that weighs like 6 pots (judged) stays mixed in."""
    found, df = compare_pots(first, second), USUAL_DF + len(first) + len(second) - 2
    error = READ_SPREAD * math.sqrt(USUAL_DF / df) * math.sqrt(2 / len(first))
    assert found.different is different and found.ratio is not None
    assert math.log(found.ratio.high / found.ratio.low) == pytest.approx(2 * error * stats.t.ppf(0.95, df), rel=1e-6)
    assert found.detectable is not None and found.detectable > 1.2


def test_with_the_kitchens_spread_it_is_the_t_of_that_spread() -> None:
    """With the pooled SD of the two groups themselves it is Student's t of scipy; p .0791867 for the sleep data (equal variances)."""
    first, second = (np.array(each) for each in SLEEP)
    pooled = math.sqrt((first.var(ddof=1) + second.var(ddof=1)) / 2)
    found, wanted = both(SLEEP, spread=Spread(pooled, 18.0, "")), stats.ttest_ind(second, first)
    assert found.p_value == pytest.approx(float(wanted.pvalue), abs=1e-9) == pytest.approx(0.0791867, abs=1e-6)
    assert found.ratio is not None
    assert np.log([found.ratio.low, found.ratio.high]) == pytest.approx(
        list(wanted.confidence_interval(0.90)), abs=1e-9
    )


@pytest.mark.kind("own")
def test_what_a_day_has_in_common_goes_out_where_both_were_cooked_on_it() -> None:
    spread, pots = Spread(0.15, 50.0, ""), ([0.30, 0.31, 0.29], [0.36, 0.35, 0.37])

    def width(days: tuple[list[int], list[int]] | None) -> float:
        found = compare_pots(*pots, days=days, spread=spread).ratio
        assert found is not None
        return math.log(found.high / found.low) / (2 * float(stats.t.ppf(0.95, 50)) * 0.15)

    assert width(None) == pytest.approx(math.sqrt(2 / 3))
    assert width(([1, 2, 3], [1, 2, 3])) == pytest.approx(math.sqrt((1 - DAY_SHARE) * 2 / 3)), "the same three days"
    assert width(([1, 1, 1], [2, 2, 2])) == pytest.approx(math.sqrt((1 - DAY_SHARE) * 2 / 3 + 2 * DAY_SHARE)), (
        "a day each"
    )
    assert "one day only" in compare_pots(*pots, days=([1, 1, 1], [2, 2, 2]), spread=spread).text
