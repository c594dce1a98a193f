"""What a cook adds to a version before it is handed over: a note for the reader, and points signed off with a reason."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from spoonline.recipes import Kept, MaybeNumber


class SignOff(Kept):
    """A point of the gate that a cook stands for, and why.

    Examples
    --------
    >>> SignOff(title="Gravy", version=2, point="label:vegetable stock", reason="Label read: no celery").version
    2
    """

    kind: ClassVar[str] = "signoff"

    title: str = Field(min_length=1, max_length=300, description="the dish")
    version: int = Field(ge=1, description="number of the version; the next version is asked again")
    point: str = Field(min_length=1, max_length=700, description="the point's key, such as label:vegetable stock")
    reason: str = Field(min_length=3, max_length=500, description="why it may stand")
    cook: str = Field("", max_length=200, description="who signs")

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
