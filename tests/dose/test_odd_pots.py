"""Pots that stand out of their version, with the reason that the record shows."""

from __future__ import annotations

import math

import pytest

from pots.pots import SOUP, pot, reading
from spoonline.dose import Spread, odd_pots
from spoonline.dose.compare import ODD_SDS, OddPot
from spoonline.pots import Batch, CookedPot, Weighed, cooked_pot
from spoonline.recipes import Recipe

USUAL = Spread(0.15, 4, "judged")


def seen(*batches: Batch, versions: dict[int, Recipe] | None = None) -> list[CookedPot]:
    return [cooked_pot(each, versions or {1: SOUP, 2: SOUP}, SOUP.target) for each in batches]


def odd(*batches: Batch) -> list[OddPot]:
    return odd_pots(seen(*batches), USUAL)


def test_a_pot_is_named_from_two_and_a_half_standard_deviations_on() -> None:
    others = [pot(n, 1.0) for n in (1, 2, 3)]
    limit = math.exp(ODD_SDS * 0.15 * math.sqrt(1 + 1 / 3))
    assert odd(*others, pot(4, limit * 0.99)) == []
    (found,) = odd(*others, pot(4, limit * 1.01))
    assert found.pot.batch.number == 4 and found.ratio == pytest.approx(limit * 1.01, rel=1e-3)
    assert (
        f"Batch 4 is {limit * 1.01:.2f} times thicker than the other pots of version 1 (2.6 standard deviations)"
        in found.text
    )
    (thin,) = odd(*others, pot(4, 0.5))
    assert "2.00 times thinner" in thin.text


def test_only_pots_of_its_own_version_that_count_are_the_others() -> None:
    others = [pot(n, 1.0) for n in (1, 2, 3)]
    assert odd(*others, pot(4, 3.0, version=2)) == []
    assert odd(*others, pot(4, 3.0, left_out="spilt")) == [], "a pot that was left out is not named"
    assert [each.pot.batch.number for each in odd(*others, pot(4, 3.0), pot(5, 40.0, left_out="x"))] == [4]


def test_the_record_gives_the_reason_where_it_shows_one() -> None:
    weighed = [pot(n, 1.0, pot_before_g=2000, pot_after_g=1940) for n in (1, 2, 3)]
    (found,) = odd(*weighed, pot(4, 2.0, pot_before_g=2000, pot_after_g=1700))
    assert found.reasons == ("more boiled away (300 g against 60 g)",)
    more = Weighed(line=2, item="corn starch", typed="40", mass_g=40, sd_g=1)
    (found,) = odd(*weighed, pot(4, 2.0, weighed=(more,), pot_before_g=2000, pot_after_g=1940))
    assert found.reasons == ("starch to water is +32 %",)
    (found,) = odd(*weighed, pot(4, 0.5, pot_before_g=2000, pot_after_g=1700))
    assert found.reasons == (), "boiled away more, and yet thinner: that is no reason"
    assert "the record shows no reason" in found.text
    (found,) = odd(*weighed, pot(4, reading(2.0, tool="ring")))
    tool, doubtful = found.reasons
    assert tool == "read with the ring, the others with the spatula" and doubtful.startswith(
        "The puddle is 3.2 mm thin"
    )
    (found,) = odd(*weighed, pot(4, reading(3.0, 40)))
    assert found.reasons == ("read at 40 C where the others were read at 60 C",)
    (found,) = odd(*weighed, pot(4, reading(1.5, 90)))
    assert found.reasons == (), "read hotter, and yet thicker: that is no reason either"


def test_readings_that_do_not_count_give_no_reason() -> None:
    others = [pot(n, 1.0) for n in (1, 2, 3)]
    cold, wrong = reading(9.0, 5, "ring", "chilled"), reading(9.0, 20, "ring", left_out="a lump")
    (found,) = odd(*others, pot(4, 2.0, cold, wrong))
    assert found.reasons == (), "neither a chilled reading nor one that was left out says how the pot was read"
