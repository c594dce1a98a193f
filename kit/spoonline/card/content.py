"""What a card says, as plain data: gathered once, so that every face of the card prints the same figures."""

import base64
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import partial
from typing import Any, Literal

from spoonline.measures.local import localised

MendBy = Literal["write", "cook", "dose", "ingredients", "card"]


@dataclass(frozen=True)
class CardLine:
    """One ingredient line: its grams, what was typed in counts or spoons or else a household measure, and whether it thickens."""

    grams: str
    household: str
    item: str
    preparation: str
    group: str
    thickens: bool = False


@dataclass(frozen=True)
class MethodStep:
    """One step as printed, its temperatures in both units, the heading it stands under, and what to take care of in it."""

    text: str
    group: str
    care: tuple[str, ...] = ()


@dataclass(frozen=True)
class Times:
    """Minutes [min]: hands busy, waiting, of that cooking, getting ready; and how many steps say a time."""

    active: float
    waiting: float
    cooking: float
    timed: int
    steps: int
    prep: float | None = None

    @property
    def total(self) -> float:
        """All of them together, one after the other [min]."""
        return self.active + self.waiting + (self.prep or 0.0)

    @property
    def complete(self) -> bool:
        """Whether every step and the getting ready say their time, so that a total may be published."""
        return self.prep is not None and 0 < self.steps == self.timed


@dataclass(frozen=True)
class Check:
    """What is aimed at as a cook sees it: what a tool shows at the target and in which range it is good, or another outcome; and how."""

    tool: str
    how: str
    reading: str
    good: str = ""


@dataclass(frozen=True)
class Mend:
    """What to do when it reads otherwise: its thickness over the target's, what the tool shows, what to do with its 90 % range; and
    where something is added, how much of what."""

    times: str
    reading: str
    do: str
    amount: str = ""
    what: str = ""


@dataclass(frozen=True)
class Nutrient:
    """One nutrient of one serving: value as a label rounds it, unit, whether ingredients without figures may add to it.

    ``named`` and ``text`` are the word of the catalogue and the figure that this kitchen's labels print for it.
    """

    key: str
    value: float
    unit: str
    named: str
    text: str
    whole: bool


@dataclass(frozen=True)
class Point:
    """One thing that keeps a card a draft: its key, what is wanted, what mends it, the reason if signed off.

    ``mend_by`` is one of: writing the recipe, cooking, setting the dose, going through the ingredients, or this card itself.
    ``claim`` is what the text claims of the dish; ``refuses``: no reason can stand for it; ``names``: what a label read names.
    """

    key: str
    text: str
    mend_by: MendBy
    reason: str = ""
    cook: str = ""
    claim: str = ""
    refuses: bool = False
    names: str = ""


def data_uri(media: str, data: bytes) -> str:
    """A file as an address that carries it."""
    return f"data:{media};base64,{base64.b64encode(data).decode()}"


@dataclass(frozen=True)
class Photo:
    """A picture file, its media type, and what it shows in words."""

    data: bytes
    media: str
    alt: str


@dataclass(frozen=True)
class CardContent:
    """Everything a card prints; texts are final but for the wording around them."""

    title: str
    note: str
    credit: str
    version: str
    number: int | None
    identity: str
    saved_on: str
    printed_on: str
    serves: str
    makes: str
    makes_range: str
    times: Times
    lines: tuple[CardLine, ...]
    method: tuple[MethodStep, ...]
    dose: tuple[str, ...]
    weigh_it: str
    target: str
    served_at: str
    checks: tuple[Check, ...]
    mends: tuple[Mend, ...]
    mend_how: tuple[str, ...]
    mend_caption: str
    tested: str
    read_at: str
    contains: tuple[str, ...]
    beside: tuple[str, ...]
    may_contain: tuple[str, ...]
    allergen_list: str
    check_label: tuple[str, ...]
    not_checked: tuple[str, ...]
    allergen_note: str
    cautions: tuple[str, ...]
    nutrition: tuple[Nutrient, ...]
    serving: str
    nutrition_note: str
    points: tuple[Point, ...] = ()
    invented: bool = False
    photo: Photo | None = None
    language: str = "en"
    variant: str = ""
    decimal: str = "."
    aims: tuple[Check, ...] = ()
    baked: bool = False

    @property
    def open_points(self) -> tuple[Point, ...]:
        """Points that are neither mended nor signed off."""
        return tuple(point for point in self.points if not point.reason)

    @property
    def is_finished(self) -> bool:
        """Whether nothing is left open, so that the card is no draft."""
        return not self.open_points


TYPED = frozenset(
    {"title", "note", "credit", "method", "item", "preparation", "group", "version", "identity", "printed_on",
     "saved_on", "key", "named", "reason", "cook", "names", "photo", "check_label", "not_checked", "claim", "decimal"}
)  # fmt: skip


# Signs that turn the direction of all that follows (overrides, embeddings, isolates): they would print a foot backwards.
TURNS = re.compile("[\u202a-\u202e\u2066-\u2069]")


def in_decimals(content: CardContent, mark: str) -> CardContent:
    """The same content with its figures in this decimal mark, all text in one Unicode form; typed words stay as typed."""
    one_form = partial(unicodedata.normalize, "NFC")
    told: CardContent = rewritten(content, lambda text: localised(one_form(text), mark), TYPED, one_form)
    return told


def rewritten(part: Any, usual: Callable[[str], str], names: frozenset[str], others: Callable[[str], str]) -> Any:
    """The same content with each text changed in the usual way, or, in the fields of these names, in another."""
    if isinstance(part, str):
        return usual(part)
    if isinstance(part, tuple):
        return tuple(rewritten(each, usual, names, others) for each in part)
    if not is_dataclass(part) or isinstance(part, type):
        return part
    ways = {each.name: others if each.name in names else usual for each in fields(part)}
    return replace(part, **{name: rewritten(getattr(part, name), way, names, others) for name, way in ways.items()})
