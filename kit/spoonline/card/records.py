"""What a cook adds to a version before it is handed over: a note for the reader, and points signed off with a reason."""

from __future__ import annotations

import re
from typing import Annotated, Any, ClassVar, Self

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from spoonline import facts
from spoonline.measures.errors import RecipeError
from spoonline.recipes import Kept, MaybeNumber
from spoonline.recipes.base import stored


def _listed(value: Any) -> Any:
    """Names with commas between them as a tuple; "none" is the empty one, and a blank no answer."""
    names = re.split(r"[,;]|\band\b", value) if isinstance(value, str) else value
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    return tuple(name for each in names if (name := str(each).strip(" .")) and name.casefold() != "none")


Answer = Annotated[tuple[str, ...] | None, BeforeValidator(_listed)]


class SignOff(Kept):
    """A point of the gate that a cook stands for, and why.

    Examples
    --------
    >>> SignOff(title="Gravy", version=2, point="label:vegetable stock", reason="Label read", contains="celery, wheat").contains
    ('celery', 'wheat')
    """

    kind: ClassVar[str] = "signoff"

    title: str = Field(min_length=1, max_length=300, description="the dish")
    version: int = Field(ge=1, description="number of the version; the next version is asked again")
    point: str = Field(min_length=1, max_length=700, description="the point's key, such as label:vegetable stock")
    reason: str = Field(min_length=3, max_length=500, description="why it may stand")
    cook: str = Field("", max_length=200, description="who signs")
    contains: Answer = Field(None, description="of a label: the allergens it names; 'none' where it names none")
    may_contain: Answer = Field(None, description="of a label: what it says it may contain")

    @model_validator(mode="after")
    def _read(self, info: ValidationInfo) -> Self:
        """A label is signed off with what it names, and never as naming nothing where its item is an allergen."""
        if stored(info):
            return self
        for word in (*(self.contains or ()), *(self.may_contain or ())):
            if not any(each.sure and each.lists for each in facts.allergens(word)):
                raise RecipeError(
                    f"{word!r} came where an allergen is wanted; write what the label names, such as 'celery, milk'."
                )
        item = self.point.removeprefix("label:")
        own = dict.fromkeys(each.member or each.group for each in facts.allergens(item) if each.sure and each.lists)
        if item != self.point and self.contains is None:
            raise RecipeError(f"Which allergens does the label of {item} name? Write them, or 'none'.")
        if item != self.point and own and not self.contains:
            raise RecipeError(
                f"{item} carries {', '.join(own)}, so 'none' cannot stand; write what its label names, or mend the line."
            )
        return self

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
    made_ahead: bool = Field(True, description="whether the card carries the box on cooling, keeping and reheating")

    @property
    def key(self) -> str:
        """One note a dish."""
        return self.title
