"""Units at the doors: a pint quantity becomes a plain figure in the unit that the end of a name says, and a table says its units."""

import inspect
import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache, wraps
from typing import Any, TypeVar

from spoonline.measures.errors import KitchenError, as_said
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


# What a sentence calls the kinds that annotations name; no figure of a kitchen is smaller or larger than these.
KINDS = {row["kind"]: row["said"] for row in read_table("kinds.csv", "measures")}
LEAST, MOST = 1e-15, 1e15
_OR = re.compile(r" *\| *(?![^\[]*\])")
_SAME = {("None", "NoneType"), ("Mapping", "dict")}


def _figures(value: Any) -> bool:
    import numpy as np

    try:
        sizes, kind = np.abs(np.asarray(value).astype(float)), np.asarray(value).dtype.kind
    except (TypeError, ValueError, OverflowError):
        return False
    return kind in "iufO" and bool(sizes.size and np.all((sizes == 0) | ((sizes > LEAST) & (sizes < MOST))))


def fits(value: Any, wanted: str) -> bool:
    """Whether a value is of a kind that an annotation names, as far as its words tell.

    >>> fits(3, "str | None"), fits([1.0, 2], "Sequence[float]"), fits([1.0, "2"], "Sequence[float]"), fits("soup", "Recipe")
    (False, True, False, False)
    """
    if (either := _OR.split(wanted))[1:]:
        return any(fits(value, each) for each in either)
    head, _, inside = wanted.removesuffix("]").partition("[")
    kind = head.rpartition(".")[2]
    if kind in ("float", "int", "ArrayLike"):
        several = hasattr(value, "__len__") and kind != "ArrayLike"
        return not several and _figures(value) and (kind != "int" or hasattr(value, "__index__"))
    if kind in ("Sequence", "Iterable"):
        several = hasattr(value, "__iter__") and not isinstance(value, (str, bytes, dict))
        return several and all(fits(each, inside) for each in value)
    if kind == "tuple":
        return isinstance(value, tuple) and all(map(fits, value, inside.split(", ")))
    names = {each.__name__ for each in type(value).__mro__} | {"Any", "_empty"}
    return kind in names or (kind, type(value).__name__) in _SAME or callable(value)


def _kind(function: Callable[..., Any], name: str) -> str:
    """What the annotation of a parameter says; what has a name where the function stands, by that."""
    note = inspect.signature(function).parameters[name].annotation
    alias = [known for known, held in function.__globals__.items() if held is note]
    return next(iter(alias), note if isinstance(note, str) else getattr(note, "__name__", str(note)))


def _check(function: Callable[..., Any], given: Mapping[str, Any]) -> None:
    """Say what came where it is of another kind than the function wants."""
    for name, value in given.items():
        kind = _kind(function, name)
        if not fits(value, kind):
            heads = [each.partition("[")[0].rpartition(".")[2] for each in _OR.split(kind)]
            told = {"name": name, "came": as_said(value)[:60], "function": function.__name__}
            raise said.error("of a kind", **told, wanted=" or ".join(KINDS.get(each, f"a {each}") for each in heads))


def takes_quantities(function: F) -> F:
    """Let a function take pint quantities: each becomes a plain figure in the unit that its parameter's name ends in.

    A method's ``reading`` is in the unit of its tool (``self.unit``). Where the function fails, and not in a sentence of its own,
    what it was given is held against its annotations.
    """
    signature = inspect.signature(function)
    names = tuple(signature.parameters)

    def inside(name: str, value: Any, shown: str) -> Any:
        if not _is_quantity(value) or "Quantity" in _kind(function, name):
            return value
        return plain(value, unit_in(name) or (shown if name.startswith("reading") else ""), name)

    @wraps(function)
    def door(*given: Any, **named: Any) -> Any:
        try:
            if any(_is_quantity(value) for value in (*given, *named.values())):
                shown = str(getattr(given[0], "unit", "")).partition(" ")[0] if given else ""
                plainly = [inside(name, value, shown) for name, value in zip(names, given, strict=False)]
                given = (*plainly, *given[len(names) :])
                named = {name: inside(name, value, shown) for name, value in named.items()}
            return function(*given, **named)
        except KitchenError:
            raise
        except Exception:
            with suppress(TypeError):  # where an argument is missing, Python says so
                _check(function, signature.bind(*given, **named).arguments)
            raise

    return door  # type: ignore[return-value]  # the same signature, wider inputs


def settle(record: Any, **units: str) -> None:
    """The same for the fields of a frozen dataclass, from its ``__post_init__``; ``units`` are those that no name ends in."""
    for name, value in list(vars(record).items()):
        if _is_quantity(value):
            object.__setattr__(record, name, plain(value, units.get(name) or unit_in(name), name))
