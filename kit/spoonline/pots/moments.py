"""A pot in order: its moments as records, and every batch, old ones too, read as such a story."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import time
from functools import lru_cache
from typing import TYPE_CHECKING, ClassVar, Literal, get_args

from pydantic import Field

from spoonline.measures import BatchError, KitchenError, Sayings, read_table
from spoonline.recipes import Ingredient, MaybeNumber, Recipe, Record, fault

if TYPE_CHECKING:
    from spoonline.pots.records import Batch, Reading

Kind = Literal[
    "put in", "taken out", "put back", "weighed", "strained", "read", "held", "boiled off", "blended", "chilled", "reheated",
]  # fmt: skip
What = Literal["", "solids", "served", "fat", "sauce"]

# What each kind cannot do without: one of these fields, and how one says it.
NEEDS = {row["kind"]: row for row in read_table("needs.csv", "pots")}
said = Sayings("said.csv", "pots", BatchError)


class Moment(Record):
    """One entry of a pot's story; which fields it needs follows from its kind.

    Examples
    --------
    >>> Moment(kind="strained", mass_g=640).text
    'strained: 640 g of sauce'
    """

    wrong: ClassVar[type[KitchenError]] = BatchError

    kind: Kind = Field(description=f"one of {', '.join(get_args(Kind))}")
    at: time | None = Field(None, description="clock time, if wished")
    line: int | None = Field(None, ge=1, description="put in: number of the recipe's line, from 1")
    item: str = Field("", max_length=300, description="put in: what, where it is no line of the recipe")
    mass_g: MaybeNumber = Field(None, ge=0, description="what went in, out or off, pot and contents, or sauce [g]")
    sd_g: MaybeNumber = Field(None, ge=0, description="standard uncertainty of a mass put in [g]")
    volume_ml: MaybeNumber = Field(None, ge=0, description="strained: sauce [mL]")
    what: What = Field("", description="taken out: solids, served (a ladle of everything), fat or sauce")
    all_of_it: bool = Field(False, description="taken out, solids: whether no piece is left in the pot")
    pot: str = Field("", max_length=200, description="weighed: which pot")
    tare_g: MaybeNumber = Field(None, gt=0, description="weighed: the pot empty [g]")
    reading: Reading | None = Field(None, description="read: the reading, at its stage")
    minutes: MaybeNumber = Field(None, ge=0, le=5000, description="held, reheated: how long [min]")
    temperature_c: MaybeNumber = Field(None, ge=-30, le=150, description="held: how hot [C]")
    note: str = Field("", max_length=2000)

    def hold(self) -> None:
        """What its kind cannot do without."""
        needs = NEEDS.get(self.kind, {"fields": "kind", "wanted": ""})
        missing = all(getattr(self, name) in (None, "") for name in needs["fields"].split())
        fault(missing, said("moment: needs", of=self, **needs))
        untold = self.kind == "put in" and self.line is None and self.mass_g is None
        fault(untold, said("moment: how much", of=self))
        fault(self.kind == "taken out" and not self.what, said("moment: what"))
        named, unit = self.kind not in ("put in", "read", "held"), "g" if self.mass_g == 0 else "mL"
        fault(named and 0 in (self.mass_g, self.volume_ml), said("moment: nothing weighed", of=self, unit=unit))
        fault(self.tare_g is not None and self.tare_g >= (self.mass_g or 0), said("moment: tare", of=self))

    @property
    def text(self) -> str:
        """The moment in words."""
        mass = f"{self.mass_g} g" if self.mass_g is not None else ""
        unit = mass or (f"{self.volume_ml} mL" if self.volume_ml is not None else "")
        words = {
            "put in": f"{mass} {self.item}".strip() if self.item else f"line {self.line}", "taken out": f"{unit}, {self.what}",
            "weighed": f"{unit} {self.pot}".strip(), "strained": f"{unit} of sauce", "held": f"{self.minutes} min",
            "read": self.reading.stage if self.reading else "",
        }.get(self.kind, unit)  # fmt: skip
        return f"{self.kind}: {words}" if words else self.kind


def in_order(moments: Sequence[Moment]) -> None:
    """Refuse moments whose clock runs back, and a line that is put in twice."""
    last, lines = None, set[int]()
    for number, moment in enumerate(moments, start=1):
        if moment.kind == "chilled":
            last = None  # the next day the clock starts anew
        elif moment.at is not None:
            back = 0 if last is None else 60 * (last.hour - moment.at.hour) + last.minute - moment.at.minute
            here = f"moment {number} ({moment.text}) is at {moment.at:%H:%M}"
            fault(
                0 < back < 12 * 60, f"{here}, before the one above at {last or moment.at:%H:%M}"
            )  # more is past midnight
            last = moment.at
        if moment.kind == "put in" and moment.line is not None:
            twice = moment.line in lines
            fault(twice, f"line {moment.line} is put in twice; write the second time as an item with its grams")
            lines.add(moment.line)


# A moment of a story and, where something is put in, the line as it went in.
Told = tuple[Moment, Ingredient | None]


def with_put_in(moments: Sequence[Moment], recipe: Recipe) -> Recipe:
    """The recipe with the masses that its moments put in, and with what went in beside it as further lines."""
    lines = list(recipe.ingredients)
    for moment in moments:
        if moment.kind != "put in" or moment.mass_g is None:
            continue
        sd = 0.289 if moment.sd_g is None else float(moment.sd_g)
        place = len(lines) if moment.line is None else moment.line - 1
        if moment.line is None:
            lines.append(Ingredient(**Ingredient.fields_of(moment.item)))
        if place < len(lines):
            lines[place] = lines[place].reweighed(f"{moment.mass_g} g", float(moment.mass_g), sd)
    return recipe.model_copy(update={"ingredients": tuple(lines)})


def story(batch: Batch, recipe: Recipe) -> tuple[Recipe, list[Told]]:
    """Read a batch as moments in order: the recipe as it was cooked, and what happened to it.

    Lines that no moment names go in first, as the recipe has them; of these a thickener only after what was read before it. A
    batch without moments is everything put in, weighed, cooked, weighed again, and read.

    Raises
    ------
    BatchError
        If a moment puts in a line that the recipe has not, or a reading of before stands after a thickener.
    """
    cooked = batch.cooked(recipe)
    own = len(recipe.ingredients)
    moments = as_moments(batch)
    named = {moment.line for moment in moments if moment.kind == "put in"}
    if wrong := next((line for line in named if line is not None and line > own), None):
        raise said.error("no such line", came=wrong, title=recipe.title, lines=own)
    pairs = zip(cooked.ingredients, cooked.fates, strict=True)
    thickens = [fate.fate == "thickens" and line.mass_g != 0 for line, fate in pairs]
    late = max((n for n, moment in enumerate(moments, start=1) if _is_before(moment)), default=0)
    lines = [n for n in range(1, own + 1) if n not in named]
    unnamed = [(n, _of("put in", n)) for n in lines]
    told: list[Told] = [(each, cooked.ingredients[n - 1]) for n, each in unnamed if not (late and thickens[n - 1])]
    further, thick = own, False
    for number, moment in enumerate(moments, start=1):
        line = None
        if moment.kind == "put in":
            place = further if moment.line is None else moment.line - 1
            further += moment.line is None
            line, thick = cooked.ingredients[place], thick or thickens[place]
        said.refuse(thick and _is_before(moment), "before after")
        told.append((moment, line))
        if number == late:
            told += [(each, cooked.ingredients[n - 1]) for n, each in unnamed if thickens[n - 1]]
    return cooked, told


@lru_cache(maxsize=256)
def _of(kind: Kind, line: int | None = None) -> Moment:
    return Moment.model_construct(kind=kind, line=line)


def _is_before(moment: Moment) -> bool:
    return moment.kind == "read" and moment.reading is not None and moment.reading.stage == "before"


def as_moments(batch: Batch) -> list[Moment]:
    """The moments of a batch: its own, else its readings; two masses told beside them are all in, and at the end but for readings."""
    reads = [_of("read").model_copy(update={"reading": each}) for each in batch.readings]  # checked as it was read
    found = list(batch.moments) or [each for each in reads if _is_before(each)]
    if batch.evaporated_g is not None and all(each.kind != "weighed" for each in found):
        goes_in = [n for n, each in enumerate(found, start=1) if each.kind == "put in" or _is_before(each)]
        all_in = max(goes_in, default=0)
        found.insert(all_in, Moment.model_construct(kind="weighed", mass_g=batch.pot_before_g))
        end = next((n for n, each in enumerate(found) if n > all_in and each.kind == "read"), len(found))
        found.insert(end, Moment.model_construct(kind="weighed", mass_g=batch.pot_after_g))
    return found if batch.moments else found + [each for each in reads if not _is_before(each)]
