"""Which column of an old sheet holds what: a proposal for each, with its reason, for a person to change."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from spoonline import facts
from spoonline.flow.kitchen_tools import TOOLS
from spoonline.measures.errors import BatchError, KitchenError
from spoonline.old_sheets.sheet import Sheet
from spoonline.pots.records import Stage

NOTE = "note"
DateOrder = Literal["", "day first", "month first"]


@dataclass(frozen=True)
class Role:
    """What a column can hold: in words, of which kind, in which unit, and what its figures are multiplied by."""

    label: str
    what: str
    unit: str = ""
    factor: float = 1.0


def _units(what: str, label: str, **units: float) -> dict[str, Role]:
    written = {what: Role(f"{label}, unit written in each cell", what)}
    return written | {f"{what} {unit}": Role(f"{label}, {unit}", what, unit, factor) for unit, factor in units.items()}


ROLES: dict[str, Role] = {
    NOTE: Role("to the note", NOTE),
    "dish": Role("dish", "dish"),
    "version": Role("version or recipe note", "version"),
    "date": Role("date cooked", "date"),
    "cook": Role("cook", "cook"),
    "kind": Role("which thickener", "kind"),
    **_units("amount", "thickener", g=1, kg=1000, **dict.fromkeys(("level tsp", "level tbsp", "heaped tsp", "heaped tbsp", "g/L"), 1)),
    **_units("liquid", "liquid", L=1, ml=1, cup=1),
    **_units("before", "pot and contents before", g=1, kg=1000),
    **_units("after", "pot and contents after", g=1, kg=1000),
    **_units("minutes", "time in between", min=1, h=60),
    **_units("temperature", "temperature when read", C=1, F=1),
    "left out": Role("why the pot does not count", "left out"),
    "stage": Role("stage of the reading", "stage"),
    "ring cm": Role("ring: radius of the puddle, cm", "ring", "cm"),
    "ring mm": Role("ring: radius of the puddle, mm", "ring", "mm", 0.1),
    "ring across cm": Role("ring: puddle right across, cm", "ring", "cm", 0.5),
    "ring across mm": Role("ring: puddle right across, mm", "ring", "mm", 0.05),
    "spatula g": Role("spatula: held per wet side, g", "spatula", "g"),
    "spatula both g": Role("spatula: held on both sides, g", "spatula", "g", 0.5),
    "trough cm": Role("trough: distance from the gate, cm", "trough", "cm"),
    "syringe mL": Role("syringe: left in it, mL", "syringe", "mL"),
    "flow cup s": Role("flow cup: time, s", "flow cup", "s"),
    "viscosity Pa s": Role("viscosity with no tool, Pa s (kept in the note)", "viscosity", "Pa s"),
    "words": Role("thickness in words (kept in the note)", "words"),
}  # fmt: skip
SEVERAL = {NOTE, "amount", "words", "viscosity", *TOOLS}

# Tried in this order on the heading, written with spaces; the first that is found decides.
_HEADINGS: list[tuple[str, str]] = [
    ("left out", r"left out"),
    ("viscosity", r"viscosity|pa ?s\b"), ("temperature", r"temp(erature)?|celsius|fahrenheit|deg(rees)?"),
    ("ring", r"ring|puddle|spread|radius|radii|diameter"), ("spatula", r"spatula|held"), ("syringe", r"syringe"),
    ("trough", r"trough|gate"), ("flow cup", r"flow cup"), ("date", r"date|day|cooked on|when"), ("after", r"after|end|final"),
    ("before", r"before|start|initial"), ("minutes", r"min(ute)?s?|time|simmer(ed)?|hours?"), ("stage", r"stage"),
    ("liquid", r"liquid|stock|broth|water|milk|lit(re|er)s?|volume"), ("amount", r"dose|g/l|g per l"),
    ("kind", r"(which|kind|type|name) .*|.* (kind|type|used)"), ("version", r"version|variant|attempt|try"),
    ("cook", r"cook|chef|who|by"), ("words", r"thickness|texture|consistency|result|how thick"),
    ("dish", r"dish|recipe|title|soup|sauce|gravy|product"), (NOTE, r"notes?|remarks?|comments?"),
]  # fmt: skip
_MASSES = [("kg", r"kg"), ("g", r"g|grams?")]
_UNITS: dict[str, list[tuple[str, str]]] = {
    "amount": [("g/L", r"g ?(/|per) ?l"), ("heaped tbsp", r"heaped (tbsp|tablespoons?)"), ("heaped tsp", r"heaped (tsp|teaspoons?)"),
               ("level tbsp", r"level (tbsp|tablespoons?)"), ("level tsp", r"level (tsp|teaspoons?)"), *_MASSES],
    "liquid": [("ml", r"ml|millilit(re|er)s?"), ("L", r"l|lit(re|er)s?"), ("cup", r"cups?")], "before": _MASSES, "after": _MASSES,
    "minutes": [("min", r"min(ute)?s?"), ("h", r"h|hours?")],
    "temperature": [("C", r"°? ?c|celsius"), ("F", r"°? ?f|fahrenheit")],
    "ring": [("across mm", r"diameter.*\bmm"), ("across cm", r"diameter.*\bcm"), ("mm", r"mm"), ("cm", r"cm")],
    "spatula": [("both g", r"both.*\bg"), ("g", r"g|grams?")], "syringe": [("mL", r"ml")], "trough": [("cm", r"cm")],
    "flow cup": [("s", r"s|sec(ond)?s?")], "viscosity": [("Pa s", r"pa ?s")],
}  # fmt: skip


@dataclass(frozen=True)
class Proposal:
    """What a column is taken for, and why."""

    role: str
    why: str


@dataclass(frozen=True)
class Choices:
    """What a person decided: a role for each column, and what is asked once for the whole sheet.

    Attributes
    ----------
    roles : tuple of str
        A key of ``ROLES`` for each column.
    date_order : str
        "day first" or "month first" for dates such as 3/4/2026; "" asks.
    dish, thickener, liquid : str
        Where the sheet names none; "" asks.
    litres, temperature_c : float or None
        Liquid of a pot [L] and temperature of readings [C] where the sheet gives none; None asks.
    stage : str
        Stage of the readings where the sheet gives none.
    settings : mapping
        Sizes of each tool, by tool; a tool that is missing is asked for.
    equal_rows_are_pots, invented : bool
        Whether rows that say the same are several pots, and whether these are demonstration data.
    """

    roles: tuple[str, ...]
    date_order: DateOrder = ""
    dish: str = ""
    thickener: str = ""
    liquid: str = "water"
    litres: float | None = None
    temperature_c: float | None = None
    stage: Stage = "hot"
    settings: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    equal_rows_are_pots: bool = False
    invented: bool = False

    def __post_init__(self) -> None:
        strange = [role for role in self.roles if role not in ROLES]
        if strange:
            raise BatchError(f"A column cannot hold {strange[0]!r}; choose one of {', '.join(ROLES)}.")
        kinds = [ROLES[role].what for role in self.roles]
        twice = next((kind for kind in kinds if kind not in SEVERAL and kinds.count(kind) > 1), "")
        if twice:
            places = " and ".join(str(at) for at, kind in enumerate(kinds, start=1) if kind == twice)
            raise BatchError(f"Columns {places} are both taken for the {twice}; send one of them to the note.")

    @property
    def tools(self) -> tuple[str, ...]:
        """The tools whose readings the sheet holds."""
        kinds = [ROLES[role].what for role in self.roles]
        return tuple(name for name in TOOLS if name in kinds)


def propose(sheet: Sheet) -> list[Proposal]:
    """Propose what each column of a sheet holds, with the reason; what is not recognised goes to the note.

    Notes
    -----
    Source: rules of this kit. A unit is taken only where the heading names it.

    Examples
    --------
    >>> from spoonline.old_sheets.sheet import read_sheet
    >>> [each.role for each in propose(read_sheet(b"Dish;Date;Corn starch;Ring cm\\nsoup;2026-01-08;42 g;6,4\\n"))]
    ['dish', 'date', 'amount', 'ring cm']
    """
    found: list[Proposal] = []
    for place, heading in enumerate(sheet.headings):
        made = _one(heading, sheet.column(place))
        what = ROLES[made.role].what
        same = [at for at, each in enumerate(found, start=1) if ROLES[each.role].what == what]
        if same and what not in SEVERAL:
            made = Proposal(NOTE, f"{made.why}; but column {same[0]} is already taken for the {what}")
        found.append(made)
    return found


def _one(heading: str, cells: list[str]) -> Proposal:
    plain = re.sub(r"[^\w/°]+|_", " ", heading.lower()).strip()
    if not cells:
        return Proposal(NOTE, "the column is empty")
    thickener, figures = named_in(plain), any(re.search(r"\d", cell) for cell in cells)
    if thickener or re.search(r"\bthickener|\bstarch", plain):
        if not figures and not thickener:
            return Proposal("kind", f"{heading!r} in the heading, and the cells hold words")
        named = f"{heading!r} in the heading" + (f", which names {thickener}" if thickener else "")
        return _with_unit("amount", plain, named)
    for what, pattern in _HEADINGS:
        if hit := re.search(rf"\b(?:{pattern})\b", plain):
            if what in ("ring", "viscosity", "spatula", "words") and re.search(r"\b(low|high|rate)\b", plain):
                return Proposal(NOTE, f"{heading!r} is no reading of its own")
            if not figures and (what in TOOLS or what == "viscosity"):
                return Proposal("words", f"{hit[0]!r} in the heading, but the cells hold words")
            return _with_unit(what, plain, f"{hit[0]!r} in the heading")
    if sum(bool(read_date(cell, "day first")) for cell in cells) > len(cells) / 2:
        return Proposal("date", "most cells are dates")
    return Proposal(NOTE, "nothing in the heading or the cells says what it is")


def _with_unit(what: str, plain: str, why: str) -> Proposal:
    if what not in _UNITS:
        return Proposal(what, why)
    for unit, pattern in _UNITS[what]:
        if re.search(rf"(?<![\w/])(?:{pattern})(?![\w/])", plain):
            part, word = {"ring": ("the radius", "radi"), "spatula": ("one wet side", "side")}.get(what, ("", ""))
            taken = f"; taken as {part}" if part and unit in ("cm", "mm", "g") and word not in plain else ""
            return Proposal(f"{what} {unit}", f"{why}, with its unit{taken}")
    if what in ROLES:
        return Proposal(what, f"{why}; it names no unit, so each cell must")
    return Proposal(NOTE, f"{why}, but it names no unit: choose one")


def named_in(text: str, part: str = "thickener") -> str:
    """The thickener, or the liquid, of the facts that a text names, or "".

    Examples
    --------
    >>> named_in("cornflour g"), named_in("starch"), named_in("Stock, L", "liquid")
    ('corn starch', '', 'stock')
    """
    words = re.findall(r"[^\W\d_]+(?:-[^\W\d_]+)?", text.lower().replace("_", " "))
    for length in (3, 2, 1):
        for start in range(len(words) - length + 1):
            try:
                row = facts.ingredient(" ".join(words[start : start + length]))
            except KitchenError:
                continue
            if row.part == part:
                return row.name
    return ""


_NAMED = re.compile(r"(?:(\d{1,2})(?:st|nd|rd|th|\.)?[ -])?([a-z]{3,9})\.?[ -](?:(\d{1,2})(?:st|nd|rd|th)?,? )?(\d{4})")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def read_date(text: str, order: DateOrder) -> date | None:
    """A date in figures or with an English month; None if it is none, or if only the order can tell and "" came.

    Examples
    --------
    >>> read_date("23/1/2026", ""), read_date("3/4/2026", ""), read_date("3/4/2026", "day first")
    (datetime.date(2026, 1, 23), None, datetime.date(2026, 4, 3))
    """
    plain = text.strip().lower()
    if iso := re.fullmatch(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[t ]\d{1,2}:\d{2}.*)?", plain):
        return _day(int(iso[1]), int(iso[2]), int(iso[3]))
    if named := _NAMED.fullmatch(plain):
        before, month, after, year = named.groups()
        known = month[:3] in _MONTHS and bool(before) != bool(after)
        return _day(int(year), 1 + _MONTHS.index(month[:3]), int(before or after)) if known else None
    parts = re.fullmatch(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})", plain)
    if not parts:
        return None
    first, second, full = int(parts[1]), int(parts[3]), int(parts[4]) + (2000 if len(parts[4]) == 2 else 0)
    days = {"day first": _day(full, second, first), "month first": _day(full, first, second)}
    possible = {each for each in days.values() if each is not None}
    return days[order] if order else possible.pop() if len(possible) == 1 else None


def either_way(text: str) -> bool:
    """Whether a date has two readings, day first and month first."""
    readings = {read_date(text, "day first"), read_date(text, "month first")}
    return None not in readings and len(readings) == 2


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
