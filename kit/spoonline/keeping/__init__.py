"""Cooling, keeping and reheating: figures with their authority, and the cautions that go beside them."""

from spoonline.keeping.cautions import (
    ALLERGENS,
    COOLING,
    HOT_LIQUID,
    KEEPING,
    LOCAL_CODE,
    MADE_AHEAD,
    NOT_CLINICAL,
    REHEATING,
    TASTING,
    YOLK,
)

__all__ = [
    "ALLERGENS",
    "COOLING",
    "HOT_LIQUID",
    "KEEPING",
    "LOCAL_CODE",
    "MADE_AHEAD",
    "NOT_CLINICAL",
    "REHEATING",
    "TASTING",
    "YOLK",
]
