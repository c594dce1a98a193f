"""Which column of an old sheet holds what: a proposal for each, with its reason, for a person to change.

``roles.csv`` lists what a column can hold; ``headings.csv`` the words that tell it, then those that tell its unit: the first
that is found in the heading decides.
"""

import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from typing import Any, NamedTuple

from spoonline import facts
from spoonline.facts.allergens import longest_names
from spoonline.flow import TOOLS
from spoonline.measures import SYSTEMS, read_table, typed
from spoonline.old_sheets.sheet import Sheet, saying
from spoonline.pots.records import STAGES

NOTE, APART = "note", " (old trials)"


class Role(NamedTuple):
    """What a column can hold: in words, of which kind, in which unit, and what a tool's figures are multiplied by."""

    label: str
    what: str
    unit: str
    factor: float


ROLES = {row["role"]: typed(Role, row) for row in read_table("roles.csv", "old_sheets")}
for _name, _kind in TOOLS.items():
    _unit = _kind.unit.split()[0]
    ROLES.setdefault(f"{_name} {_unit}", Role(f"{_name}: {_kind.asks[0].lower()}, {_unit}", _name, _unit, 1.0))
_HEADINGS = read_table("headings.csv", "old_sheets") + [{"what": each, "unit": "", "pattern": each} for each in TOOLS]
SEVERAL = {NOTE, "amount", *TOOLS}
FIGURES = {role.what for role in ROLES.values() if role.unit}


class Proposal(NamedTuple):
    """What a column is taken for, and why."""

    role: str
    why: str


def _asked(label: str, *options: Any, default: Any = "") -> Any:
    """A field of the choices, and how it is asked: by a list of options, the first unless said, or by a text."""
    pairs = [each if isinstance(each, tuple) else (each, each) for each in options]
    return field(default=pairs[0][1] if pairs else default, metadata={"label": label, "options": pairs})


@dataclass(frozen=True)
class Choices:
    """What a person decided: a role for each column (a key of ``ROLES``), and what is asked once for the whole sheet.

    The metadata of a field say how it is asked. "" and None ask about each row; ``litres`` [L] and ``temperature_c`` [C] hold
    where the sheet gives none; ``settings`` are the sizes of each tool, and a tool that is missing is asked for.
    """

    roles: tuple[str, ...]
    date_order: str = _asked("Dates such as 3/4/2026", ("ask", ""), "day first", "month first")
    decimal: str = _asked("Figures such as 1.250", ("ask", ""), ("decimal point", "."), ("decimal comma", ","))
    measures: str = _asked("Spoons and cups, if not said", *((name, key) for key, name in SYSTEMS.items()))
    dish: str = _asked("Dish, if not named")
    thickener: str = _asked("Thickener, if not named", ("ask", ""), *facts.rows.thickeners())
    liquid: str = _asked("Liquid, if not named", default="water")
    litres: float | None = _asked("Litres a pot, if not given", default=None)
    temperature_c: float | None = _asked("Degrees C, if not given", default=None)
    stage: str = _asked("Stage, if not given", *STAGES)
    equal_rows_are_pots: bool = _asked("Rows that say the same", ("ask", False), ("are several pots", True))
    apart: bool = _asked("Dishes the logbook has", (f"keep apart, as '...{APART}'", True), ("add to them", False))
    correct: bool = _asked("Rows changed since", ("correct their batch", True), ("are new pots", False))
    invented: bool = _asked("The data are", ("real", False), ("invented", True))
    settings: Mapping[str, Mapping[str, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for role in set(self.roles) - set(ROLES):
            raise saying.error("no role", came=role, known=", ".join(ROLES))
        for what in set(self.kinds) - SEVERAL:
            both = " and ".join(str(at) for at, kind in enumerate(self.kinds, start=1) if kind == what)
            saying.refuse(" " in both, "twice", came=both, what=what)

    @property
    def kinds(self) -> tuple[str, ...]:
        """What each column holds, whatever its unit."""
        return tuple(ROLES[role].what for role in self.roles)


def proposed_choices(sheet: Sheet) -> tuple[list[Proposal], Choices]:
    """Propose what each column of a sheet holds, with the reason, and choices that hold these proposals and nothing else.

    Notes
    -----
    Source: rules of this kit. What is not recognised goes to the note, and a unit is taken only where the heading names it.

    Examples
    --------
    >>> from spoonline.old_sheets import read_sheet
    >>> proposed_choices(read_sheet(b"Dish;Date;Corn starch;Ring cm\\nsoup;2026-01-08;42 g;6,4\\n"))[1].roles
    ('dish', 'date', 'amount', 'ring cm')
    """
    found: list[Proposal] = []
    for place, heading in enumerate(sheet.headings):
        made = _one(heading, sheet.column(place))
        what, taken = ROLES[made.role].what, [ROLES[each.role].what for each in found]
        if what in taken and what not in SEVERAL:
            made = Proposal(NOTE, f"{made.why}; but column {taken.index(what) + 1} is already taken as the {what}")
        elif what in FIGURES and (mark := sheet.marks[place]):
            made = Proposal(made.role, f"{made.why}; its decimal mark is a {'comma' if mark == ',' else 'point'}")
        found.append(made)
    return found, Choices(tuple(each.role for each in found))


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
    for row in _HEADINGS:
        what = row["what"]
        if not row["unit"] and (hit := re.search(rf"\b(?:{row['pattern']})\b", plain)):
            if what in TOOLS and not figures:
                return Proposal(NOTE, f"{hit[0]!r} in the heading, but the cells hold words")
            return _with_unit(what, plain, f"{hit[0]!r} in the heading")
    if sum(bool(read_date(cell, "day first")) for cell in cells[:50]) > len(cells[:50]) / 2:
        return Proposal("date", "most cells are dates")
    return Proposal(NOTE, "nothing in the heading or the cells says what it is")


def _with_unit(what: str, plain: str, why: str) -> Proposal:
    units = {row["unit"]: row["pattern"] for row in _HEADINGS if row["what"] == what and row["unit"]}
    for unit, pattern in units.items():
        if re.search(rf"(?<![\w/])(?:{pattern})(?![\w/])", plain):
            return Proposal(f"{what} {unit}", f"{why}, with its unit")
    if what not in ROLES:
        return Proposal(NOTE, f"{why}, but it names no unit: choose one")
    return Proposal(what, f"{why}; it names no unit, so each cell must" if units else why)


@lru_cache(maxsize=1024)
def named_in(text: str, part: str = "thickener") -> str:
    """The thickener, or the liquid, of the facts that a text names within its first 300 letters, or "".

    Examples
    --------
    >>> named_in("cornflour g"), named_in("starch"), named_in("Stock, L", "liquid")
    ('corn starch', '', 'stock')
    """
    words = re.findall(r"[^\W\d_]+(?:-[^\W\d_]+)?", text[:300].lower().replace("_", " "))

    def of_part(name: str) -> str | None:
        row = facts.known(name)
        return row.name if row and row.part == part else None

    return next((found for _, found in longest_names(words, of_part)), "")


_DAYS = {"day first": ("%d %m %Y", "%d %m %y"), "month first": ("%m %d %Y", "%m %d %y")}


def read_date(text: str, order: str) -> date | None:
    """A date in figures or with an English month; None if it is none, or if only the order can tell and "" came.

    Examples
    --------
    >>> read_date("23/1/2026", ""), read_date("3/4/2026", ""), read_date("3/4/2026", "day first")
    (datetime.date(2026, 1, 23), None, datetime.date(2026, 4, 3))
    """
    # 3/4/2026, 3rd April 2026 and 2026-04-03T12:30 become three words; strptime, unlike freer readers, fills in nothing
    plain = re.sub(r"^(\d{4}\S\d\d?\S\d\d?)[t ]\d\d?:\d\d.*", r"\1", text.strip().lower())
    plain = re.sub(r"(?<=\d)(?:st|nd|rd|th)\b|(?<=[a-z]{3})[a-z]+", "", plain)
    words = " ".join(re.split(r"[-/., ]+", plain))
    asked = [each for name, several in _DAYS.items() if order in ("", name) for each in several]
    found = set()
    for pattern in ("%Y %m %d", "%d %b %Y", "%b %d %Y", *asked) if re.search(r"\d", words[:20]) else ():
        with suppress(ValueError):
            found.add(datetime.strptime(words, pattern).date())
    return found.pop() if len(found) == 1 else None


def either_way(text: str) -> bool:
    """Whether a date has two readings, day first and month first."""
    read = {read_date(text, "day first"), read_date(text, "month first")}
    return None not in read and len(read) == 2
