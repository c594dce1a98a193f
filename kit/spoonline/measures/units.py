"""What a measure is called and how much it holds: all read from ``kitchen_units.txt``, because a cup means nothing without its kitchen."""

import re
from functools import cache
from pathlib import Path
from typing import NamedTuple

from spoonline.measures.tables import read_table, refuse

SYSTEMS: dict[str, str] = {row["kitchen"]: row["name"] for row in read_table("kitchens.csv", "measures")}


class Unit(NamedTuple):
    """A unit and what it measures.

    ``kind`` is mass, volume, length, piece (counted) or feel; ``size`` is in g, mL or cm for the first three, for a word of
    feel what print takes it for [mL] where it says so, else None.
    """

    name: str
    kind: str
    size: float | None
    system: str


COUNT = Unit("", "piece", None, "us")  # of what is counted without a word for it


def _read(text: str) -> tuple[dict[str, str], dict[str, str]]:
    """Every spelling with the kitchen's own name for it, and the group of each row by its name in the registry."""
    spellings: dict[str, str] = {}
    groups: dict[str, str] = {}
    group = ""
    for line in text.replace("#:", "").splitlines():
        first, *words = (part.replace("_", " ").strip() for part in line.partition("#")[0].split("="))
        if line.startswith("@"):
            group = line.removeprefix("@group").strip() if line.startswith("@group") else ""
        elif words:
            name = first.removesuffix(f" {group}")
            groups[first.replace(" ", "_")] = group
            others = [word for word in words[1 if group else 0 :] if word]
            spellings |= {name: name} | dict.fromkeys(others, name)
    return spellings, groups


SPELLINGS, GROUPS = _read(Path(__file__).with_name("kitchen_units.txt").read_text(encoding="utf-8"))
FEEL, PIECES = (tuple(name for name, group in GROUPS.items() if group == kind) for kind in ("feel", "piece"))


def known_as(spelling: str) -> str:
    """The kitchen's name for a spelling of a unit ("tablespoons"); blank where it is none."""
    plain = re.sub(r"[.\s-]+", " ", spelling).strip().lower()
    return SPELLINGS.get(plain) or SPELLINGS.get(plain.removesuffix("s"), "")


@cache
def unit(name: str, system: str = "us") -> Unit:
    """Look up a unit by its name or any spelling of it ("tablespoons") in a system of measures ("us", "label", "metric", "uk", "au").

    Raises `AmountError` if the unit or the system is not known, or the system has no such unit. The sizes, each with its
    source, stand in ``kitchen_units.txt``.

    >>> unit("cup", "us").size, unit("cup", "metric").size, unit("tablespoons", "au").size
    (236.5882365, 250.0, 20.0)
    """
    refuse(system not in SYSTEMS, "system", came=system, known=", ".join(SYSTEMS))
    key = known_as(name)
    refuse(not key, "unit", came=name)
    own = key.replace(" ", "_")
    own = own if own in GROUPS else f"{own}_{system}"
    refuse(own not in GROUPS, "no such unit", came=key, system=SYSTEMS[system])
    return Unit(key, *_size(own), system)


def _size(name: str) -> tuple[str, float | None]:
    """Kind and size [g], [mL] or [cm] of a unit of the registry."""
    group = GROUPS[name]
    if group == "piece":
        return group, None
    from spoonline.measures.registry import units

    one = units.Quantity(1.0, name)
    for kind, inside in (("mass", "g"), ("volume", "ml"), ("length", "cm")):
        if one.is_compatible_with(inside):
            # the sizes are exact and have fewer digits; the rest is dust of the arithmetic
            return group if group == "feel" else kind, float(f"{one.m_as(inside):.15g}")
    return group, None
