"""One line of a recipe: what it says, what it weighs, and what becomes of it in the pot."""

from __future__ import annotations

import difflib
import re
from typing import Any, Literal, Self, get_args

from pydantic import Field, ValidationInfo, model_validator

from spoonline import facts
from spoonline.facts.rows import IngredientFacts
from spoonline.measures import kitchen_amount, or_none, split_line
from spoonline.recipes.base import MaybeNumber, Record, as_decimal, said, stored
from spoonline.recipes.fates import FATES, Fate, refused

Part = Literal["liquid", "thickener", "fat", "vegetable", "fruit", "meat", "dairy", "seasoning", "other"]
PARTS: tuple[Part, ...] = get_args(Part)
TOLD = re.compile(r"\s*\[\s*(\w+(?:[ -]\w+)?)\s*\]?\s*$")
MOST_ITEM, MOST_TYPED = 300, 1000  # characters of an item and of a line
METRIC = ("ml", "cl", "dl", "l")


class Ingredient(Record):
    """One line of a recipe.

    ``Ingredient(amount="30 g", item="corn starch")`` fills what it can from the facts; what is given is kept.
    """

    amount: str = Field("", description="the amount as written, such as '2 heaped tbsp'; blank for 'to taste'")
    item: str = Field(min_length=1, max_length=300, description="what it is, as written")
    preparation: str = Field("", description="what is done to it first, such as 'peeled and diced'")
    part: Part = Field("other", description="its part in the dish; decides what counts as liquid and thickener")
    group: str = Field("", description="the heading it stands under, such as 'To finish'")
    mass_g: MaybeNumber = Field(None, ge=0, description="mass [g]; none where only a weighing can tell")
    sd_g: MaybeNumber = Field(None, ge=0, description="standard uncertainty of that mass [g]")
    volume_ml: MaybeNumber = Field(None, ge=0, description="volume [mL], for liquids only")
    fate: str = Field("", description="what becomes of it in the pot: pours, blended, whole, melts, thickens or dough")
    fate_from: Literal["", "judged", "told"] = Field("", description="whether that was judged, or told by a cook")
    fate_share: MaybeNumber = Field(None, gt=0, le=1, description="share of the line it is of; the rest stays whole")
    juice_g_per_g: MaybeNumber = Field(None, description="juice of a whole piece [g/g]; below 0 it takes liquid up")
    juice_sd_g_per_g: MaybeNumber = Field(None, ge=0, description="standard uncertainty of that [g/g]")
    basis: str = Field("", description="where the mass came from, in words")
    typed: str = Field("", max_length=1000, description="the line as it was typed; blank where it was made of fields")

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, data: Any, info: ValidationInfo) -> Any:
        if isinstance(data, str):
            return cls.fields_of(data)
        if info.context or not isinstance(data, dict) or not data.get("item"):
            return data
        if data.get("mass_g") is not None or data.get("typed"):
            return data
        read = cls.fields_of(f"{data.get('amount', '')} {data['item']}".strip())
        return {**read, "typed": "", **{key: value for key, value in data.items() if value is not None}}

    @classmethod
    def fields_of(cls, line: str, measures: str = "us", decimal: str | None = None) -> dict[str, Any]:
        """Read one written line, such as ``"2 large onions, peeled and diced"``, into the fields of a record.

        ``measures`` are whose spoons and cups are meant where the line does not say; ``decimal`` is the kitchen's decimal mark.

        A part in square brackets at its end (``"1 l whey [liquid]"``) says what an unknown item does in the dish, a fate
        (``"800 g carrots, sliced [whole]"``) what becomes of it; ``mass_g`` is missing where the line does not tell it.
        """
        words = set[str]()
        while (told := TOLD.search(line)) and told[1].lower() in (*PARTS, *FATES):
            if told[1].lower() in FATES and words & {*FATES} - {told[1].lower()}:
                break  # two fates: what is left of the line is refused
            words.add(told[1].lower())
            line = line[: told.start()]
        read = facts.read_line(line.replace("[", "(").replace("]", ")"), measures, decimal)
        item, typed = (read.item_text or read.text)[:MOST_ITEM], line.strip()[:MOST_TYPED]
        fields: dict[str, Any] = {"amount": _as_written(read), "item": item, "typed": typed}
        fields["preparation"] = read.preparation
        if part := words & set(PARTS):
            fields["part"] = part.pop()
        elif read.pours:
            fields["part"] = "liquid"
        elif read.item is not None:
            fields["part"] = facts.ingredient(read.item).part
        if read.mass is not None:
            fields |= {"mass_g": read.mass.mass_g, "sd_g": read.mass.sd_g, "basis": read.mass.basis}
            volumes = [each for each in read.measures if each.measure.kind == "volume"]
            by_mass = any(each.measure.kind == "mass" for each in read.measures)
            if fields.get("part") == "liquid" and volumes and not by_mass:
                # A litre that was written stays a litre; going through its mass would round it.
                first = min(volumes, key=lambda each: each.unit not in METRIC)
                if first.fill in ("", "level"):
                    fields["volume_ml"] = first.middle * (first.measure.size or 0.0)
        if fate := words & set(FATES):
            fields |= {"fate": fate.pop(), "fate_from": "told"}
        return fields

    @model_validator(mode="after")
    def _volume(self, info: ValidationInfo) -> Self:
        if self.fate and self.fate not in FATES:
            raise ValueError(said("no fate", fate=self.fate, fates=", ".join(FATES)))
        if stored(info):
            return self
        if self.part == "liquid" and self.volume_ml is None and self.mass_g is not None:
            object.__setattr__(self, "volume_ml", as_decimal(float(self.mass_g) / density_g_per_ml(self.item)))
        if fault := _misread(self) or (refused(self.fate, self) if self.told else ""):
            raise ValueError(fault)
        return self

    def reweighed(self, amount: str, mass_g: float, sd_g: float, basis: str = "weighed", typed: str = "") -> Ingredient:
        """The same line with another amount, weighed [g]; the volume of a liquid follows, and the words where they stay as ``typed``."""
        new = {"amount": amount, "mass_g": mass_g, "sd_g": sd_g, "volume_ml": None, "basis": basis, "typed": typed}
        return self.changed(**new)

    def scaled(self, factor: float, measures: str = "us") -> Ingredient:
        """The line times a factor: masses exactly, the written amount as a kitchen measures it (:func:`kitchen_amount`)."""
        update: dict[str, Any] = times(self, factor, "mass_g", "sd_g", "volume_ml") | {"typed": ""}
        if self.amount and factor != 1:
            mass = None if self.mass_g is None else float(self.mass_g) * factor
            fine = self.part == "thickener" or bool(self.row and self.row.is_salt)  # half a gram of these matters
            read = or_none(kitchen_amount, self.amount, factor, measures, mass, fine=fine)
            # An amount nobody could read stays as written, with the factor beside it, so that nothing is lost.
            update["amount"] = read or f"{self.amount} x {factor:.3g}"
        return self.model_copy(update=update)

    @property
    def told(self) -> str:
        """The fate that a cook told; blank where it was judged."""
        return self.fate if self.fate_from == "told" else ""

    def telling(self, fate: str) -> Ingredient:
        """The line with another fate as the cook's word, or blank: to be judged again; a share that was kept stays with its fate.

        Raises a `RecipeError` where it cannot be.
        """
        if fate == self.told:
            return self
        return self.changed(fate=fate, fate_from="told" if fate else "", fate_share=None)

    @property
    def row(self) -> IngredientFacts | None:
        """What the facts know of this item, or None."""
        return facts.known(self.item)

    @property
    def fact_name(self) -> str | None:
        """The name under which the facts know this item, or None."""
        return self.row.name if self.row else None

    @property
    def line(self) -> str:
        """The line as it was typed, or as one would write it."""
        if self.typed:
            return self.typed
        head = f"{self.amount} {self.item}".strip()
        return f"{head}, {self.preparation}" if self.preparation else head


def _misread(line: Ingredient) -> str:
    """What is wrong with a word in square brackets that was left at the end of a line; blank where it is a remark."""
    found = TOLD.search(line.typed)
    if found is None:
        return ""
    if found[1].lower() in FATES:
        return said("two fates", item=line.item, one=found[1], other=line.fate)
    near = (difflib.get_close_matches(word, (*PARTS, *FATES), cutoff=0.7) for word in found[1].lower().split())
    return refused(found[1], line) if any(near) else ""


def _as_written(read: facts.LineReading) -> str:
    """The measuring part of a line in the cook's own words; a measure that stood further on comes behind it in brackets."""
    if read.amount is None:
        return ""
    words = read.amount.text or str(read.amount)
    counted = " in all" if read.amount.measure.kind == "piece" else ""
    there = or_none(split_line, words, read.amount.system)
    return words + "".join(f" ({each}{counted})" for each in read.others[len(there.others) if there else 0 :])


def times(record: Record, factor: float, *names: str) -> dict[str, Any]:
    """Fields of a record times a factor; what is not known stays so."""
    values = {name: getattr(record, name) for name in names}
    return {name: as_decimal(None if value is None else float(value) * factor) for name, value in values.items()}


def with_fate(line: Ingredient, fate: Fate) -> Ingredient:
    """The line with what becomes of it kept."""
    juice = {"juice_g_per_g": as_decimal(fate.juice_g_per_g), "juice_sd_g_per_g": as_decimal(fate.juice_sd_g_per_g)}
    share = None if fate.fate_share == 1 else as_decimal(fate.fate_share)
    return line.model_copy(update={"fate": fate.fate, "fate_from": fate.fate_from, "fate_share": share, **juice})


def density_g_per_ml(item: str) -> float:
    """Density of a liquid [g/mL]; 1.0 where the facts have none (thin stocks and water lie within 4 % of it)."""
    row = facts.known(item)
    return (row.density() if row else None) or 1.0


def pours_l(line: Ingredient, fate: Fate) -> float:
    """What a line pours [L]."""
    return float(line.volume_ml or line.mass_g or 0) / 1000 if FATES[fate.fate].counts_as_liquid else 0.0


def pours_sd_l(line: Ingredient, fate: Fate) -> float:
    """Standard uncertainty of what a line pours [L]: of its spoons, cups or count, none of grams and millilitres."""
    head = or_none(split_line, line.amount)
    amount = head.amount if head else None
    if amount is None or amount.measure.kind == "mass" or amount.unit in METRIC or not line.mass_g:
        return 0.0
    return pours_l(line, fate) * float(line.sd_g or 0) / float(line.mass_g)
