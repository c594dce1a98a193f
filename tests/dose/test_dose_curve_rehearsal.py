"""The rehearsal: its kitchens are what they say, its counts are repeatable, and its ranges hold."""

from __future__ import annotations

import numpy as np
import pytest

from spoonline.dose.rehearsal import Habits, invent_kitchen, rehearse
from spoonline.measures.errors import BatchError

EXACT = Habits(batch_sd=0.0, loss=(0.09, 0.09), loss_sd=0.0)


@pytest.mark.parametrize("seed", range(20))
def test_kitchens_are_no_power_law_but_lawful(seed: int) -> None:
    kitchen = invent_kitchen(np.random.default_rng(seed), Habits())
    percent = np.geomspace(0.5, 8, 400)
    eta = np.array([kitchen.average(each) for each in percent]) - kitchen.base_pa_s
    slope = np.diff(np.log(eta)) / np.diff(np.log(percent))
    assert np.all(slope > 0)
    assert np.ptp(slope) > 0.5  # bends where the granules begin to touch
    assert np.all(np.diff(np.log(eta)) < 0.2)  # and has no step there
    assert kitchen.average(float(kitchen.pot.percent(kitchen.dose_g_per_l))) == pytest.approx(kitchen.target_pa_s)


def test_an_exact_cook_gets_the_target_at_the_right_dose() -> None:
    rng = np.random.default_rng(4)
    kitchen = invent_kitchen(rng, EXACT)
    dose, _, eta = kitchen.cook(kitchen.dose_g_per_l, rng)
    assert dose == pytest.approx(kitchen.dose_g_per_l)
    assert eta == pytest.approx(kitchen.target_pa_s)


def test_same_seed_same_answer_and_progress_is_told() -> None:
    told: list[tuple[int, int]] = []
    one = rehearse(kitchens=3, pots=1, seed=5, progress=lambda *each: told.append(each[:2]))
    two = rehearse(kitchens=3, pots=1, seed=5)
    assert told == [(1, 3), (2, 3), (3, 3)]
    assert one.lands == pytest.approx(two.lands)
    assert "3 invented kitchens" in one.text


@pytest.mark.long
def test_ranges_hold_and_pots_help() -> None:
    out = rehearse(kitchens=60, pots=3, seed=9)
    assert np.all(out.range_holds > 0.78)  # 0.90 less two and a half standard errors of 60
    assert out.within_10[3] > out.within_10[0] + 0.3
    assert out.lands[3] > 2 * out.lands[0]
    assert np.all(np.abs(out.lands - out.promised) < 0.15)
    assert np.all(np.diff(out.landed_by_then) >= 0)


def test_nothing_to_rehearse() -> None:
    with pytest.raises(BatchError, match="0 kitchens and 3 pots"):
        rehearse(kitchens=0)
