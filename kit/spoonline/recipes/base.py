"""What every stored record of this kit shares: frozen, canonical, and wrong input in one sentence."""

from __future__ import annotations

import hashlib
from decimal import Decimal
from typing import Annotated, Any, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError

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


Number = Annotated[Decimal, BeforeValidator(as_decimal)]
MaybeNumber = Annotated[Decimal | None, BeforeValidator(as_decimal)]


class Record(BaseModel):
    """A frozen record that serialises to canonical JSON, its numbers as decimal text."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)

    @classmethod
    def checked(cls, error: type[KitchenError] = RecipeError, /, **fields: Any) -> Self:
        """Build the record; whatever does not fit comes back as one sentence.

        Parameters
        ----------
        error : type of KitchenError
            The error to raise.
        **fields
            The fields of the record.

        Raises
        ------
        KitchenError
            Of the type asked for, naming the field and what is wanted there.
        """
        try:
            return cls(**fields)
        except ValidationError as err:
            first = err.errors()[0]
            where = " ".join(str(part) for part in first["loc"]) or cls.__name__
            raise error(f"{where}: {first['msg'].removeprefix('Value error, ')}.".replace("..", ".")) from err


def content_id(record: BaseModel) -> str:
    """SHA-256 (64 hex digits) of the record's canonical JSON (RFC 8785, numbers as decimal text).

    Examples
    --------
    >>> class Pan(Record):
    ...     tare_g: Number
    >>> content_id(Pan(tare_g=1200.0)) == content_id(Pan(tare_g="1200"))
    True
    """
    import rfc8785

    return hashlib.sha256(rfc8785.dumps(record.model_dump(mode="json"))).hexdigest()
