"""Units at the doors: a pint quantity becomes a plain figure in the unit that the end of a name says, and a table says its units."""

import inspect
import re
from collections.abc import Callable
from functools import cache, wraps
from typing import Any, TypeVar

from spoonline.measures.tables import read_table, said

F = TypeVar("F", bound=Callable[..., Any])
# The end of a name, and the unit it says as docstrings and pages print it.
ENDS = {row["end"]: row["unit"] for row in read_table("name_ends.csv", "measures")}
_END = re.compile(rf"(?:^|_)({'|'.join(ENDS)})(?:_(?:sd|low|high))*$")


@cache
def unit_in(name: str) -> str:
    """The unit that a name ends in; blank where it ends in none. A table's ``_sd``, ``_low`` and ``_high`` have that of their figure.

    >>> unit_in("dose_g_per_l"), unit_in("sauce_g_sd"), unit_in("minutes"), unit_in("flow_index")
    ('g/L', 'g', 'min', '')
    """
    found = _END.search(name)
    return ENDS[found[1]] if found and (found[0] != name or len(found[1]) > 2) else ""


def as_pint(unit: str) -> str:
    """The unit as pint reads it: "kg/m3" is kg/m^3, "C" degC, "F" degF (no kitchen has farads), "g/100g flour" grams a hectogram."""
    if unit in ("C", "F"):
        return f"deg{unit}"
    return re.sub(r"(?<=[a-z])(\d)", r"^\1", unit.removesuffix(" flour").replace("/100g", "/hg"))


def _is_quantity(value: Any) -> bool:
    """Whether it is a pint quantity, of whatever registry, or a list that holds one."""
    return hasattr(value, "m_as") or (isinstance(value, (list, tuple)) and any(hasattr(each, "m_as") for each in value))


def plain(value: Any, unit: str, name: str = "a figure") -> Any:
    """A figure or an array in this unit: a pint quantity is converted, a list of them too; anything else is taken as in the unit already.

    Raises `AmountError` if the quantity measures something else.

    >>> from spoonline.measures.registry import units
    >>> plain(units("2 cup_au"), "mL"), plain(31.0, "g/L")
    (500, 31.0)
    """
    if not _is_quantity(value):
        return value
    if isinstance(value, (list, tuple)):
        return [plain(each, unit, name) for each in value]
    try:
        return value.m_as(as_pint(unit))
    except (TypeError, ValueError) as err:  # pint's errors of dimension and of an offset are TypeErrors
        wanted = f"a figure in {unit}" if unit else "a figure without a unit"
        raise said.error("quantity of", name=name, came=value, wanted=wanted, unit=as_pint(unit)) from err


def takes_quantities(function: F) -> F:
    """Let a function take pint quantities: each becomes a plain figure in the unit that its parameter's name ends in.

    A method's ``reading`` is in the unit of its tool (``self.unit``).
    """
    names = tuple(inspect.signature(function).parameters)

    @wraps(function)
    def door(*given: Any, **named: Any) -> Any:
        if not any(_is_quantity(value) for value in (*given, *named.values())):
            return function(*given, **named)
        shown = str(getattr(given[0], "unit", "")).partition(" ")[0]

        def inside(name: str, value: Any) -> Any:
            return plain(value, unit_in(name) or (shown if name.startswith("reading") else ""), name)

        plainly = [inside(name, value) for name, value in zip(names, given, strict=False)]
        return function(*plainly, *given[len(names) :], **{name: inside(name, value) for name, value in named.items()})

    return door  # type: ignore[return-value]  # the same signature, wider inputs


def settle(record: Any, **units: str) -> None:
    """The same for the fields of a frozen dataclass, from its ``__post_init__``; ``units`` are those that no name ends in."""
    for name, value in list(vars(record).items()):
        if _is_quantity(value):
            object.__setattr__(record, name, plain(value, units.get(name) or unit_in(name), name))
