"""Whose limits stand first: one switch in the habits of a kitchen, each figure with its authority, the stricter one beside it."""

from __future__ import annotations

import typing

import pytest

from spoonline import facts
from spoonline.keeping import JURISDICTIONS
from spoonline.measures.errors import RecipeError
from spoonline.recipes import Habits

# Read: SI 2013/2996 sch. 4, WSI 2006/31 sch. 4 and SSI 2006/3 sch. 4 (legislation.gov.uk); the French arrete of 21 December 2009 (a page of
# veterinary public health law, a trade paper); Food Code 3-501.16 and 3-403.11 in state texts; Standard 3.2.2 (Queensland Health).
# Home advice of 3 to 4 days where a law counts none (University of Illinois Extension).
FIGURES = {
    "us": (57, 5, 74, 2, 7), "england": (63, 8, 70, 2, 4), "scotland": (63, 5, 82, 2, 4), "eu": (63, 3, 63, 1, 4),
    "australia": (60, 5, 60, 2, 7),
}  # fmt: skip


@pytest.mark.parametrize("key", FIGURES)
def test_figures_of_each(key: str) -> None:
    place = JURISDICTIONS[key]
    assert tuple(row.value for row in place.figures.values()) == FIGURES[key]
    assert all(row.source and row.jurisdiction for row in place.figures.values())
    assert "local code or inspector decides" in place.text and "safe" not in place.text.lower()


def test_the_habit_is_the_switch() -> None:
    assert typing.get_args(Habits.model_fields["jurisdiction"].annotation) == tuple(JURISDICTIONS)
    with pytest.raises(RecipeError, match="jurisdiction"):
        Habits(jurisdiction="atlantis")


def test_the_stricter_stands_beside() -> None:
    us, england = JURISDICTIONS["us"], JURISDICTIONS["england"]
    assert us.words("hot holding").endswith(", stricter: 63 C (England, Wales and Northern Ireland)")
    assert england.words("hot holding") == "hot holding 63 C (England, Wales and Northern Ireland)"
    assert england.words("cold holding").endswith("8 C (England, Wales and Northern Ireland), stricter: 3 C (France)")
    assert ", stricter: 63 to 8 C within 1.5 h (UK habit" in us.text and "stricter: 63 to 8 C" not in england.text
    assert "refrigerator or a cool ventilated place" in JURISDICTIONS["scotland"].text


def test_what_is_revoked_is_not_cited() -> None:
    sources = " ".join(row.source for row in facts.rows.limits().values())
    assert "2005/3292" not in sources and "1995/2200" not in sources
