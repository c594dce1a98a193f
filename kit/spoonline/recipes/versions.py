"""Versions of a recipe: numbered, dated, named by their content, each with its parent."""

from __future__ import annotations

from datetime import datetime

from pydantic import Field

from spoonline.recipes.base import Record
from spoonline.recipes.records import Recipe


class Version(Record):
    """One saved version of a recipe. Nothing is ever overwritten: a change is a new version."""

    title: str = Field(description="the recipe's title; the versions of one title form its history")
    number: int = Field(ge=1, description="1, 2, 3 ... within the title")
    id: str = Field(pattern="^[0-9a-f]{64}$", description="SHA-256 of the recipe's canonical JSON as it was stored")
    parent: int | None = Field(None, description="number of the version it was made from")
    note: str = Field("", max_length=2000, description="what was changed and why, in the cook's words")
    cook: str = Field("", max_length=200, description="who saved it")
    saved_at: datetime = Field(description="when it was saved (UTC)")
    recipe: Recipe = Field(description="the recipe itself")

    @property
    def name(self) -> str:
        """Title and number, as screens and cards print them."""
        return f"{self.title}, version {self.number}"

    @property
    def short_id(self) -> str:
        """First twelve digits of the content id; enough to tell any two versions of a kitchen apart."""
        return self.id[:12]

    def _repr_html_(self) -> str:
        return self.recipe.page(f"{self.name} ({self.note or 'no note'}): {self.recipe.dose_text}")
