"""What a cook adds to a version before it is handed over: a note for the reader, and points signed off with a reason."""

import re
from typing import ClassVar, Self

from pydantic import Field, ValidationInfo, model_validator

from spoonline.facts.allergens import Allergen, allergens
from spoonline.measures.errors import RecipeError
from spoonline.recipes import Kept, MaybeNumber
from spoonline.recipes.base import stored


class SignOff(Kept):
    """A point of the gate that a cook stands for, and why.

    Examples
    --------
    >>> read = SignOff(title="Gravy", version=2, point="label:beef stock", reason="Label read", contains="celery, wheat")
    >>> read.contains, SignOff(title="Gravy", version=2, point="untested", reason="Cooked for years").contains
    ('celery, wheat', '')
    """

    kind: ClassVar[str] = "signoff"

    title: str = Field(min_length=1, max_length=300, description="the dish")
    version: int = Field(ge=1, description="number of the version; the next version is asked again")
    point: str = Field(min_length=1, max_length=700, description="the point's key, such as label:vegetable stock")
    reason: str = Field(min_length=3, max_length=500, description="why it may stand")
    cook: str = Field("", max_length=200, description="who signs")
    contains: str = Field("", max_length=300, description="of a label: the allergens it names, or 'none'")
    may_contain: str = Field("", max_length=300, description="of a label: what it says it may contain")

    @model_validator(mode="after")
    def _read(self, info: ValidationInfo) -> Self:
        """A label is signed off with what it names, and never as naming nothing where its item is an allergen."""
        item = self.point.partition("label:")[2]
        if stored(info) or not item:
            return self
        for word in re.split(r"[,;/&+]|\band\b", f"{self.contains},{self.may_contain or 'none'}"):
            if word.strip(" .").casefold() != "none" and not self.named(word):
                came = f"{word.strip()!r} came of the label of {item}"
                raise RecipeError(f"{came}; write which allergens it names, such as 'celery, milk', or 'none'.")
        own = ", ".join(dict.fromkeys(each.member or each.group for each in self.named(item)))
        if own and not self.named(self.contains):
            raise RecipeError(f"{item} carries {own}, so 'none' cannot stand; write what its label names.")
        return self

    @staticmethod
    def named(text: str) -> list[Allergen]:
        """The allergens that a text surely names."""
        return [each for each in allergens(text) if each.sure and each.lists]

    @property
    def key(self) -> str:
        """One reason a point of a version; a later one takes its place."""
        return f"{self.title}\n{self.version}\n{self.point}"


class CardNote(Kept):
    """What stands on the card beside the recipe."""

    kind: ClassVar[str] = "cardnote"

    title: str = Field(min_length=1, max_length=300, description="the dish")
    note: str = Field("", max_length=600, description="short note under the title")
    prep_minutes: MaybeNumber = Field(None, ge=0, le=5000, description="getting ready: peeling, weighing [min]")
    credit: str = Field("", max_length=200, description="who is to be named for the recipe")
    made_ahead: bool | None = Field(None, description="whether the card has the box on made ahead; none: if it is kept")

    @property
    def key(self) -> str:
        """One note a dish."""
        return self.title
