"""What a cook adds to a version before it is handed over: a note for the reader, and points signed off with a reason."""

import re
from typing import ClassVar

from pydantic import Field

from spoonline.card.words import said
from spoonline.facts.allergens import Allergen, allergens
from spoonline.recipes import Kept, MaybeNumber


class SignOff(Kept):
    """A point of the gate that a cook stands for, and why.

    Examples
    --------
    >>> read = SignOff(title="Gravy", version=2, point="label:beef stock", reason="Label read", contains="celery, wheat")
    >>> read.contains, SignOff(title="Gravy", version=2, point="untested", reason="Cooked for years").contains
    ('celery, wheat', '')
    """

    kind: ClassVar[str] = "signoff"
    key_fields: ClassVar[tuple[str, ...]] = ("title", "version", "point")  # a later reason takes its place

    title: str = Field(min_length=1, max_length=300, description="the dish")
    version: int = Field(ge=1, description="number of the version; the next version is asked again")
    point: str = Field(min_length=1, max_length=700, description="the point's key, such as label:vegetable stock")
    reason: str = Field(min_length=3, max_length=500, description="why it may stand")
    cook: str = Field("", max_length=200, description="who signs")
    contains: str = Field("", max_length=300, description="of a label: the allergens it names, or 'none'")
    may_contain: str = Field("", max_length=300, description="of a label: what it says it may contain")

    def hold(self) -> None:
        """A label is signed off with what it names, and never as naming nothing where its item is an allergen."""
        item = self.point.partition("label:")[2]
        told = re.split(r"[,;/&+]|\band\b", f"{self.contains},{self.may_contain or 'none'}")
        for word in told if item else ():
            strange = word.strip(" .").casefold() != "none" and not self.named(word)
            said.refuse(strange, "no allergen", came=word.strip(), item=item)
        own = ", ".join(dict.fromkeys(each.member or each.group for each in self.named(item)))
        said.refuse(own and not self.named(self.contains), "carries", item=item, own=own)

    @staticmethod
    def named(text: str) -> list[Allergen]:
        """The allergens that a text surely names."""
        return [each for each in allergens(text) if each.sure and each.lists]


class CardNote(Kept):
    """What stands on the card beside the recipe."""

    kind: ClassVar[str] = "cardnote"
    key_fields: ClassVar[tuple[str, ...]] = ("title",)  # one note a dish

    title: str = Field(min_length=1, max_length=300, description="the dish")
    note: str = Field("", max_length=600, description="short note under the title")
    prep_minutes: MaybeNumber = Field(None, ge=0, le=5000, description="getting ready: peeling, weighing [min]")
    credit: str = Field("", max_length=200, description="who is to be named for the recipe")
    made_ahead: bool | None = Field(None, description="whether the card has the box on made ahead; none: if it is kept")
