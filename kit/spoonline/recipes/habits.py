"""How one kitchen writes: whose spoons, which names, which decimal mark, how weights are rounded."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from spoonline.recipes.base import Kept


class Habits(Kept):
    """A kitchen's way of writing, for its screens and its cards; kept in the logbook, changed at any time.

    >>> Habits(kitchen="uk", names="uk", decimal=",").decimal
    ','
    """

    kind: ClassVar[str] = "habits"

    kitchen: Literal["us", "metric", "uk", "au"] = Field("us", description="whose spoons stand beside the grams")
    names: Literal["", "us", "uk"] = Field("", description="names of ingredients: as written, US or UK")
    decimal: Literal[".", ","] = Field(".", description="decimal mark")
    first_degrees: Literal["C", "F"] = Field("C", description="the temperature unit that is written first")
    rounding: Literal["usual", "tenths"] = Field("usual", description="grams of a card: by their size, or to a tenth")
    paper: Literal["a4", "letter", "a5", "5x8"] = Field("a4", description="paper that cards are printed on")
    language: str = Field("en", pattern="^[a-z]{2,3}$", description="catalogue of the card's wording")

    @property
    def key(self) -> str:
        """A kitchen has one set of habits."""
        return "habits"
