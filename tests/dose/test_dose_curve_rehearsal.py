"""The rehearsal: its kitchens are what they say, its counts are repeatable, and its ranges hold."""

from __future__ import annotations

import numpy as np
import pytest

from dose.rehearsal import Habits, Rehearsal, invent_kitchen, rehearse
from spoonline.dose import pots_needed
from spoonline.measures.errors import BatchError, Stopped

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
    with pytest.raises(BatchError, match="a factor above 1"):
        rehearse(kitchens=1, pots=1, band=1.0)


def test_share_of_kitchens_as_published() -> None:
    """Score range of 81/263 at 95 %: 0.2553 to 0.3662; of 0/20: 0 to 0.1611 (Newcombe, Stat. Med. 17, 1998, 857; memory)."""
    empty = np.zeros(2)
    for done, of, low, high in ((81, 263, 0.2553, 0.3662), (0, 20, 0.0, 0.1611)):
        found = Rehearsal(of, 1, 1.2, *[empty] * 6).share(done / of, level=0.95)
        assert (found.low, found.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


def test_a_rehearsal_stops_when_told_and_covers_what_was_done() -> None:
    def enough(done: int, _of: int, _what: str) -> None:
        if done == 4:
            raise Stopped("Stopped.")

    stopped = rehearse(kitchens=50, pots=1, seed=3, progress=enough)
    whole = rehearse(kitchens=4, pots=1, seed=3)
    assert stopped.kitchens == 4 and "In 4 invented kitchens" in stopped.text
    assert stopped.lands.tolist() == whole.lands.tolist()
    assert rehearse(kitchens=3, pots=1, progress=lambda *_: False).kitchens == 3, "only Stopped stops"


def test_pots_needed_is_the_first_that_is_enough() -> None:
    shares = [np.array(each) for each in ([0.2, 0.5, 0.8, 0.9], [0.2, 0.3, 0.4, 0.79])]
    assert [Rehearsal(10, 3, 1.2, each, each, *[each] * 4).pots_needed for each in shares] == [2, None]


def test_kitchens_of_a_weaker_starch_use_more_of_it_for_the_same_dish() -> None:
    for seed in range(5):
        maize, flour = (invent_kitchen(np.random.default_rng(seed), Habits(), each) for each in (1.0, 0.58))
        assert flour.dose_g_per_l == pytest.approx(maize.dose_g_per_l / 0.58)
        # the flour itself takes up some water and thins the paste less, so the thickness is alike, not equal
        assert flour.target_pa_s == pytest.approx(maize.target_pa_s, rel=0.25)
    out = rehearse(kitchens=30, pots=2, thickener="wheat flour")
    assert out.range_holds[0] > 0.75 and out.lands[0] < out.lands[2]


def test_the_kit_says_what_was_counted() -> None:
    """A few kitchens of the table, cooked again: the shares of 60 lie within three standard errors of those it keeps."""
    out = rehearse(kitchens=60, pots=3, seed=9)
    for pots in range(4):
        kept = pots_needed.RIGHT[pots] / pots_needed.KITCHENS
        assert abs(out.within_10[pots] - kept) <= 3 * np.sqrt(kept * (1 - kept) / 60)
    assert pots_needed.pots_needed().startswith(
        "2 pots at the suggested doses usually bring the dose of one starch right"
    )
