"""Every limit typed a second time, in the unit and the words of its authority; the source beside each.

The texts of the US model code were read as states adopted them, SI 2013/2996 (England), WSI 2006/31 (Wales) and SSI 2006/3 (Scotland) as
they stand, what France and Australia ask as a page or a guide gives it; Northern Ireland's SR 2006/3 is from memory, a habit is nobody's
text. A slip of one typing is told by the other.
"""

from __future__ import annotations

import pytest

from spoonline.facts.rows import limits
from witness.kinds import by_source

pytestmark = pytest.mark.kind("published")

FOOD_CODE_F = {  # Fahrenheit, as the model code prints them first: 3-501.14, 3-501.16, 3-403.11, 3-401.11, 3-501.13
    "cooling start": 135, "cooling stage 1": 70, "cooling stage 2": 41, "hot holding": 135, "cold holding": 41, "reheating": 165,
    "cooking poultry": 165, "cooking fish": 145, "thawing": 41, "thawing in running water": 70,
}  # fmt: skip
HOME_F = {"cooking mince": 160, "cooking eggs": 160}  # foodsafety.gov chart of safe minimum internal temperatures
PLANT_F = {
    "cooling start fsis": 130,
    "cooling stage 1 fsis": 80,
    "cooling stage 2 fsis": 40,
}  # FSIS Appendix B, option 1
CELSIUS = {
    "hot holding uk": 63, "cold holding uk": 8, "hot holding scotland": 63, "reheating scotland": 82,  # the regulations named above
    "reheating uk": 70, "cooking poultry uk": 70, "cooking mince uk": 70, "cooking eggs uk": 70,  # 70 C for 2 min, UK advice
    "cooking poultry australia": 75, "cooking mince australia": 75,  # FSANZ
    "cooling start australia": 60, "cooling stage 1 australia": 21, "cooling stage 2 australia": 5,  # Standard 3.2.2: 60, 21, 5
    "hot holding australia": 60, "cold holding australia": 5, "reheating australia": 60,
    "cooling start france": 63, "cooling stage 2 france": 10, "hot holding france": 63, "cold holding france": 3, "reheating france": 63,
    "cooling start uk": 63, "cooling stage 2 uk": 8,  # common practice, no source: 90 minutes to below 8
    "yolk liaison": 85,  # common practice, no source
}  # fmt: skip
TIMES = {  # in the unit of the row
    "cooling stage 1 time": (2, "h"), "cooling total time": (6, "h"), "cooling from room temperature": (4, "h"), "reheating time": (2, "h"),
    "reheating hold": (15, "s"), "keeping retail": (7, "d"), "keeping home": (3, "d"), "keeping home longest": (4, "d"),
    "freezing home": (3, "months"), "refrigerate home": (2, "h"), "cooling stage 1 time fsis": (1.5, "h"), "cooling stage 2 time fsis": (5, "h"),
    "cooling stage 1 time australia": (2, "h"), "cooling stage 2 time australia": (4, "h"), "reheating time australia": (2, "h"),
    "cooling total time france": (2, "h"), "reheating time france": (1, "h"), "keeping france": (4, "d"), "cooling total time uk": (1.5, "h"),
}  # fmt: skip
ACID = {"thickening of acid": (3.5, "pH")}


@pytest.mark.parametrize(("name", "kind"), by_source((name, row.kind) for name, row in limits().items()))
def test_a_limit_is_what_its_authority_says(name: str, kind: str) -> None:
    """Fahrenheit rounds to the Celsius printed with it: whole degrees in the model code, tenths in a plant's rule."""
    row = limits()[name]
    if name in PLANT_F:
        assert (row.value, row.unit) == (round((PLANT_F[name] - 32) / 1.8, 1), "C")
    elif name in FOOD_CODE_F or name in HOME_F:
        assert (row.value, row.unit) == (round(((FOOD_CODE_F | HOME_F)[name] - 32) / 1.8), "C")
    else:
        assert (row.value, row.unit) == ((TIMES | ACID).get(name) or (CELSIUS[name], "C"))
    assert row.source and row.kind == kind
