"""What every stored record of this kit shares: frozen, canonical, and wrong input in one sentence."""

from __future__ import annotations

import hashlib
import re
from datetime import datetime
from decimal import Decimal
from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, ValidationInfo, field_validator

from spoonline.measures.doors import plain, unit_in
from spoonline.measures.errors import KitchenError, RecipeError


def as_decimal(value: Any) -> Any:
    """Keep six significant digits as plain decimal text, so that equal amounts have equal text."""
    if value is None or value == "":
        return None
    try:
        number = Decimal(str(value).strip().replace(",", "."))
    except ArithmeticError as err:
        raise ValueError(f"{value!r} came where a number is wanted") from err
    if not number.is_finite():
        raise ValueError(f"{value!r} came where a finite number is wanted")
    return Decimal(f"{Decimal(f'{number:.6g}').normalize():f}")


_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")

Number = Annotated[Decimal, BeforeValidator(as_decimal)]
MaybeNumber = Annotated[Decimal | None, BeforeValidator(as_decimal)]


class Record(BaseModel):
    """A frozen record that serialises to canonical JSON, its numbers as decimal text."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)

    # The branch of the error tree that a wrong field of this record belongs to.
    wrong: ClassVar[type[KitchenError]] = RecipeError

    @field_validator("*", mode="before")
    @classmethod
    def _plain_text(cls, value: Any, info: ValidationInfo) -> Any:
        """A pint quantity in the unit of its field; no control characters in text: PostgreSQL refuses some, and nobody typed them."""
        if isinstance(value, dict):
            return {name: plain(each, unit_in(str(name)), str(name)) for name, each in value.items()}
        value = plain(value, cls.unit_of(info), info.field_name or "")
        return _CONTROL.sub("", value) if isinstance(value, str) else value

    @classmethod
    def unit_of(cls, info: ValidationInfo) -> str:
        """The unit of a field: that at the end of its name; a record whose field has another says so here."""
        return unit_in(info.field_name or "")

    def __init__(self, **fields: Any) -> None:
        try:
            super().__init__(**fields)
        except ValidationError as err:
            raise self.wrong(_sentence(err, type(self).__name__)) from err


class Kept(Record):
    """A record that the logbook keeps beside versions and batches; a later one of the same key stands for the earlier."""

    # What the logbook files it under; every kept kind has its own word.
    kind: ClassVar[str] = ""

    id: str = Field("", description="SHA-256 of the record's canonical JSON; given by the logbook")
    recorded_at: datetime | None = Field(None, description="when it was kept (UTC); given by the logbook")

    @property
    def key(self) -> str:
        """What it is about; blank where every record stands for itself."""
        return ""


def _sentence(err: ValidationError, name: str) -> str:
    """The first fault that pydantic found, as one sentence that names the place."""
    first = err.errors()[0]
    cause = first.get("ctx", {}).get("error")
    if isinstance(cause, KitchenError):
        return str(cause)
    place = " ".join(str(part + 1) if isinstance(part, int) else str(part).replace("_", " ") for part in first["loc"])
    came = f" ({first['input']!r} came)" if isinstance(first["input"], (str, int, float, Decimal)) else ""
    said = first["msg"].removeprefix("Value error, ").rstrip(".")
    return f"{name}{', ' + place if place else ''}: {said[0].lower()}{said[1:]}{came}."


def content_id(record: BaseModel) -> str:
    """SHA-256 (64 hex digits) of the record's canonical JSON (RFC 8785, numbers as decimal text).

    >>> class Pan(Record):
    ...     tare_g: Number
    >>> content_id(Pan(tare_g=1200.0)) == content_id(Pan(tare_g="1200"))
    True
    """
    return json_id(record.model_dump(mode="json"))


def json_id(data: dict[str, Any]) -> str:
    """The same for a record that is plain JSON data already."""
    import rfc8785

    return hashlib.sha256(rfc8785.dumps(data)).hexdigest()
