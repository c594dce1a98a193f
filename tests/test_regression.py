"""The regression against scipy's own distribution: what is known of the noise beforehand, and where the next observation lies."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from spoonline.measures.errors import BatchError
from spoonline.regression import fit_line

DESIGN, Y = np.column_stack([np.ones(4), np.arange(4.0)]), np.array([1.0, 1.2, 0.9, 1.1])


def test_noise_is_pooled_with_what_was_known() -> None:
    alone, pooled = fit_line(DESIGN, Y), fit_line(DESIGN, Y, 0.3, 6.0)
    assert alone.noise_df == 2 and pooled.noise_df == 8
    assert pooled.noise_variance == pytest.approx((2 * alone.noise_variance + 6 * 0.3**2) / 8)
    assert fit_line(DESIGN[:2], Y[:2], 0.3, 6.0).noise_variance == pytest.approx(0.09)
    with pytest.raises(BatchError, match="nothing to show how far pots"):
        fit_line(DESIGN[:2], Y[:2])


def test_the_next_observation_and_the_average() -> None:
    line, row = fit_line(DESIGN, Y), np.array([1.0, 1.5])
    at = float(row @ line.mean)
    wide = np.sqrt(line.noise_variance * (1 + 1 / 4))  # the middle of four
    chance = stats.t.cdf((1.2 - at) / wide, 2) - stats.t.cdf((0.8 - at) / wide, 2)
    assert line.chance_between(0.8, 1.2, row) == pytest.approx(chance)
    half = stats.t.ppf(0.95, 2) * np.sqrt(line.noise_variance / 4)
    assert line.average(row) == pytest.approx((at, at - half, at + half))
