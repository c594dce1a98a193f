"""One quantity against one outcome beside statsmodels in the same run, and NIST's certified sets."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from spoonline.dose.compare import DAY_SHARE
from spoonline.effects import read_effect
from witness.test_statistics_regression import NORRIS

pytestmark = pytest.mark.kind("computed")

# Pontius, NIST StRD, linear regression (memory: data and certified figures, which agree to 11 digits)
PONTIUS = """
.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599 1.52399 1.63194 1.73947 1.84646 1.95392
2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474 .98300 1.09150 1.20004 1.30818 1.41613 1.52408 1.63159 1.73965
1.84696 1.95445 2.06177 2.16829
"""


@pytest.mark.kind("published")
def test_norris() -> None:
    """Certified: -0.262323073774029 + 1.00211681802045 x, residual SD 0.884796396144373, 34 degrees of freedom."""
    y, x = np.array([[float(each) for each in pair.split(",")] for pair in NORRIS.split()]).T
    found = read_effect(pd.DataFrame({"x": x, "y": y}), "x", "y")
    assert found.line is not None and found.line.mean.size == 2 and not found.cannot_tell
    assert found.predict(500.0)[0].best == pytest.approx(-0.262323073774029 + 1.00211681802045 * 500, rel=1e-12)
    assert (found.line.noise_variance**0.5, found.line.noise_df) == (pytest.approx(0.884796396144373, rel=1e-9), 34)


@pytest.mark.kind("memory")
def test_pontius_bends() -> None:
    """Certified: 0.673565789473684e-3 + 0.732059160401003e-6 x - 0.316081871345029e-14 x^2, residual SD 0.205177424076185e-3."""
    y, x = np.array(PONTIUS.split(), dtype=float), np.tile(np.arange(1, 21) * 150000.0, 2)
    found = read_effect(pd.DataFrame({"x": x, "y": y}), "x", "y")
    assert found.line is not None and found.line.mean.size == 3 and "The line bends." in found.text
    certified = 0.673565789473684e-3 + 0.732059160401003e-6 * x - 0.316081871345029e-14 * x**2
    assert np.asarray(found.predict(x)[0].best) == pytest.approx(certified, rel=1e-11)
    assert found.line.noise_variance**0.5 == pytest.approx(0.205177424076185e-3, rel=1e-9)
    best = found.best(float(found.predict(1.0e6)[0].best))
    assert best is not None and best.best == pytest.approx(1.0e6)


@pytest.mark.parametrize("days", [[1, 2, 3, 4, 5, 6, 7], [1, 1, 1, 2, 2, 3, 3]])
def test_both_ranges_are_those_of_statsmodels(days: list[int]) -> None:
    """Least squares, generalised where pots of one day are alike: 90 % ranges of the average and of a pot on another day."""
    import statsmodels.api as models

    rng = np.random.default_rng(4)
    x = rng.uniform(100, 300, 7)
    y = 2 + 0.02 * x + rng.normal(0, 0.4, 7)
    found = read_effect(
        pd.DataFrame({"carrot_g_per_l": x, "sweetness_score": y, "cooked_on": days}), "carrot", "sweetness"
    )
    day = np.array(days)
    alike = np.where(day[:, None] == day, DAY_SHARE, 0.0) + (1 - DAY_SHARE) * np.eye(7)
    theirs = models.GLS(y, models.add_constant(x), sigma=alike).fit()
    at = np.array([90.0, 200.0, 310.0])
    rows = models.add_constant(at)
    average, single = found.predict(at)
    assert np.column_stack(average[1:]) == pytest.approx(theirs.get_prediction(rows).conf_int(alpha=0.1), rel=1e-9)
    half = (
        np.sqrt(theirs.scale + theirs.get_prediction(rows).se_mean ** 2) * 2.015048
    )  # Student's t, 0.95, 5 degrees of freedom (tables)
    assert np.column_stack(single[1:]) == pytest.approx(
        np.column_stack([average.best - half, average.best + half]), rel=1e-6
    )
    assert found.cannot_tell == (theirs.pvalues[1] > 0.08)


@pytest.mark.kind("own")
def test_the_setting_is_fiellers() -> None:
    """Fieller's range by its definition: at its ends the band of the average just holds the target, between them it does, beyond it does not."""
    x, y = [2, 4, 6, 8], [1.1, 2.0, 2.9, 4.2]
    found = read_effect(pd.DataFrame({"x": x, "y": y}), "x", "y")
    best = found.best(2.5)
    assert best is not None
    inside, beyond = found.predict((best.low + best.best) / 2)[0], found.predict(best.high + 0.1)[0]
    assert inside.low < 2.5 < inside.high and not beyond.low < 2.5 < beyond.high
    for end in best[1:]:
        average = found.predict(end)[0]
        assert min(abs(average.low - 2.5), abs(average.high - 2.5)) < 1e-9


def test_scatter_of_tasters_weighs_a_pot() -> None:
    """Weighted least squares of statsmodels, thrice: a pot weighs by the spread of pots and what its own tasters differ by, half that of all."""
    import statsmodels.api as models

    x, y = np.array([100.0, 150, 200, 250, 300]), np.array([4.0, 5.6, 5.5, 5.2, 7.1])
    sd = np.array([0.3, 0.9, 0.3, 0.9, 0.3])
    frame = pd.DataFrame({"carrot_g_per_l": x, "sweetness_score": y, "sweetness_score_sd": sd})
    own, variance = (sd**2 + np.mean(sd**2)) / 2, np.ones(5)
    for _ in range(3):
        theirs = models.WLS(y, models.add_constant(x), weights=1 / variance).fit()
        total = max(theirs.scale, np.mean(own) / 2 + 0.1**2 / 12)
        variance = (max(total - np.mean(own), 0.0) + own) / total
    found = read_effect(frame, "carrot", "sweetness")
    assert found.predict(200.0)[0].best == pytest.approx(float(theirs.predict([[1.0, 200.0]])[0]), rel=1e-9)
    assert found.line is not None and found.line.noise_variance == pytest.approx(total)
    plain = read_effect(frame.drop(columns="sweetness_score_sd"), "carrot", "sweetness")
    assert plain.predict(200.0)[0].best != pytest.approx(found.predict(200.0)[0].best, abs=1e-3), "they do weigh"
