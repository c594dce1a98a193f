"""What every stored record of this kit shares: frozen, canonical, and wrong input in one sentence."""

import hashlib
import re
from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Any, ClassVar, Self

from pydantic import BaseModel, BeforeValidator, Field, ValidationInfo, field_validator, model_validator
from pydantic_core import ValidationError

from spoonline.measures import KitchenError, RecipeError, Sayings, as_said, plain, read_table, unit_in

said = Sayings("said.csv", "recipes", RecipeError)
MOST_POWER = 300  # of ten: what a float can hold


def fault(when: object, sentence: str) -> None:
    """Refuse a record that holds what it cannot; the sentence gets the record's name."""
    if when:
        raise ValueError(sentence)


def as_decimal(value: Any) -> Any:
    """Keep six significant digits as plain decimal text, so that equal amounts have equal text."""
    if value is None or value == "":
        return None
    return _decimal_text(value) if isinstance(value, str) else _decimal(value)


def _decimal(value: Any) -> Decimal:
    try:
        number = Decimal(str(value).strip().replace(",", "."))
    except ArithmeticError as err:
        raise ValueError(f"{as_said(value)} came where a number is wanted") from err
    if not number.is_finite() or (number and abs(number.adjusted()) > MOST_POWER):
        raise ValueError(f"{as_said(value):.40} came where a finite number is wanted")
    return Decimal(f"{Decimal(f'{number:.6g}').normalize():f}")


_decimal_text = lru_cache(maxsize=4096)(_decimal)  # a kitchen's records hold the same figures again and again
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")

Number = Annotated[Decimal, BeforeValidator(as_decimal)]
MaybeNumber = Annotated[Decimal | None, BeforeValidator(as_decimal)]


# How a record comes about, told to the validators: read back as it was stored, or changed in some of its fields.
STORED, CHANGED = {"stored": True}, {"changed": True}


def stored(info: ValidationInfo) -> bool:
    """Whether a record is read back from where it is kept: then nothing is worked out, completed or judged anew."""
    return bool((info.context or {}).get("stored"))


class Record(BaseModel, frozen=True, extra="allow", str_strip_whitespace=True):
    """A frozen record that serialises to canonical JSON, its numbers as decimal text.

    What a person gives is held against sense; what was stored (:meth:`read`) is taken as it is, with every field that a later
    release wrote and this one does not know (:attr:`newer_fields`).
    """

    # The branch of the error tree that a wrong field of this record belongs to.
    wrong: ClassVar[type[KitchenError]] = RecipeError

    @field_validator("*", mode="before")
    @classmethod
    def _plain_text(cls, value: Any, info: ValidationInfo) -> Any:
        """A pint quantity in the unit of its field; no control characters in text: PostgreSQL refuses some, and nobody typed them."""
        if not stored(info):
            if isinstance(value, dict):
                return {name: plain(each, unit_in(str(name)), str(name)) for name, each in value.items()}
            value = plain(value, cls.unit_of(info), info.field_name or "")
        return CONTROL.sub("", value) if isinstance(value, str) else value

    @model_validator(mode="before")
    @classmethod
    def _known(cls, data: Any, info: ValidationInfo) -> Any:
        if not info.context and isinstance(data, dict) and (unknown := data.keys() - cls.model_fields.keys()):
            raise ValueError(f"there is no field {min(unknown)!r}; the fields are {', '.join(cls.model_fields)}")
        return data

    @model_validator(mode="after")
    def _held(self, info: ValidationInfo) -> Self:
        if not stored(info):
            self.hold()
        return self

    def hold(self) -> None:
        """Hold what a person gave against sense: a `ValueError` says what is wrong with it."""

    @classmethod
    def unit_of(cls, info: ValidationInfo) -> str:
        """The unit of a field: that at the end of its name; a record whose field has another says so here."""
        return unit_in(info.field_name or "")

    def __init__(self, **fields: Any) -> None:
        try:
            super().__init__(**fields)
        except ValidationError as err:
            raise self.wrong(_sentence(err, type(self).__name__)) from err

    # Ours adds a sentence and nothing else; unmarked, pydantic would build nested records by it, without their context.
    __init__.__pydantic_base_init__ = True  # type: ignore[attr-defined]  # a function may carry a further name

    @classmethod
    def read(cls, data: dict[str, Any]) -> Self:
        """The record that was stored as this JSON data, as it was stored.

        A field that came later has its default; one that only a later release knows is kept. Raises `ValueError` where the
        data is no such record.
        """
        return cls.model_validate(data, context=STORED)

    def changed(self, **fields: Any) -> Self:
        """The record with other values in some fields, held against sense; fields of a later release go along."""
        # by name: what was worked out of a record stands beside its fields
        held = {name: getattr(self, name) for name in type(self).model_fields} | (self.model_extra or {})
        try:
            return type(self).model_validate(held | fields, context=CHANGED)
        except ValidationError as err:
            raise self.wrong(_sentence(err, type(self).__name__)) from err

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """The record with other values in some fields, as they are; what was worked out of the former stays behind."""
        made = super().model_copy(update=update, deep=deep)
        for name in made.__dict__.keys() - type(self).model_fields.keys():
            del made.__dict__[name]
        return made

    def copy(self, **changed: Any) -> Self:
        """As :meth:`model_copy`: pydantic's older name would keep what was worked out."""
        return self.model_copy(**changed)

    @property
    def newer_fields(self) -> tuple[str, ...]:
        """Names of fields, here or in a part of the record, that a later release wrote and this one does not know."""
        found = list(self.model_extra or ())
        for name in type(self).model_fields:
            value = getattr(self, name)
            for part in value if isinstance(value, tuple) else (value,):
                found += part.newer_fields if isinstance(part, Record) else ()
        return tuple(dict.fromkeys(found))


class Kept(Record):
    """A record that the logbook keeps beside versions and batches; a later one of the same key stands for the earlier."""

    # What the logbook files it under; every kept kind has its own word.
    kind: ClassVar[str] = ""
    # The fields by which two records are of the same thing; none where every record stands for itself.
    key_fields: ClassVar[tuple[str, ...]] = ()

    id: str = Field("", description="SHA-256 of the record's canonical JSON; given by the logbook")
    recorded_at: datetime | None = Field(None, description="when it was kept (UTC); given by the logbook")

    @property
    def key(self) -> str:
        """What it is about, by its `key_fields`: of the same key the last record stands."""
        values = (getattr(self, name) for name in self.key_fields)
        return "\n".join("" if value is None else str(value) for value in values)


# What pydantic says in words of its own trade, by its name of the fault.
PLAINLY: dict[str, str] = {row["fault"]: row["said"] for row in read_table("plainly.csv", "recipes")}
# What a form calls a field.
FIELDS: dict[str, str] = {row["field"]: row["said"] for row in read_table("field_words.csv", "recipes")}


def _sentence(err: ValidationError, name: str) -> str:
    """The first fault that pydantic found, as one sentence that names the place."""
    first = err.errors()[0]
    cause = first.get("ctx", {}).get("error")
    if isinstance(cause, KitchenError):
        return str(cause)
    parts = (part + 1 if isinstance(part, int) else FIELDS.get(part, part.replace("_", " ")) for part in first["loc"])
    place = " ".join(map(str, parts))
    told = PLAINLY.get(first["type"], "").format(**first.get("ctx", {}))
    told = told or first["msg"].removeprefix("Value error, ").rstrip(".")
    given = isinstance(first["input"], str | int | float | Decimal) and first["input"] != ""
    came = f" ({as_said(first['input'])} came)" if given and " came where " not in told else ""
    name = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).capitalize()  # "Pot plan", not the name of a class
    head = place if place in FIELDS.values() else f"{name}{', ' + place if place else ''}"
    return f"{head}: {told[0].lower()}{told[1:]}{came}."


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
