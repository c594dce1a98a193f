"""A cook's own measures: weighed spoonfuls and splashes, weighed trimmings, pans with their tare and size, habits of writing."""

import math
from collections.abc import Iterable
from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, Field, ValidationInfo

from spoonline import facts
from spoonline.measures import Amount, AmountError, KitchenError, Spoon, Weight, parse_amount, spoon_from_weighings
from spoonline.recipes.base import Kept, MaybeNumber, Number, fault, stored
from spoonline.recipes.records import Ingredient, Recipe


def _fact_name(name: str, info: ValidationInfo) -> str:
    return name if stored(info) else facts.resolve(name)


Whose = Literal["us", "england", "scotland", "eu", "australia"]
FactName = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_fact_name)]


class OwnSpoon(Kept):
    """One measure of one ingredient as this cook takes it: a heaped tablespoon of starch, a splash of stock.

    Examples
    --------
    >>> mine = OwnSpoon(item="corn starch", measure="1 heaped tbsp", masses_g=[12, 15, 11, 9, 13])
    >>> mine.text
    '1 heaped tbsp (12 g; yours ran 9 to 15)'
    """

    wrong: ClassVar[type[KitchenError]] = AmountError
    kind: ClassVar[str] = "spoon"

    item: FactName = Field(description="what is spooned, by its name in the facts")
    measure: str = Field(min_length=1, max_length=60, description="one measure, such as '1 heaped tbsp' or 'a splash'")
    masses_g: tuple[Number, ...] = Field(min_length=3, max_length=50, description="weighings of single ones [g]")
    cook: str = Field("", max_length=200)

    def hold(self) -> None:
        """One measure, and weighings above 0."""
        amount = self.amount
        one = amount.measure.kind in ("volume", "feel", "piece") and amount.middle == 1
        fault(not one, f"{self.measure!r} came; write one measure, such as '1 heaped tbsp' or 'a splash'")
        fault(min(self.masses_g) <= 0, "a weighing of 0 g or less came; take it out and weigh again")

    @property
    def amount(self) -> Amount:
        """The measure, read."""
        return parse_amount(self.measure)

    @property
    def key(self) -> str:
        """Item and measure: a new set of weighings takes the place of the old one."""
        return "\n".join((self.item, *_kind(self.amount)))

    @property
    def spoon(self) -> Spoon:
        """Mean and spread of the weighings [g]."""
        return spoon_from_weighings([float(mass) for mass in self.masses_g])

    @property
    def text(self) -> str:
        """As one would print it on a card."""
        masses = (self.spoon.mean_g, min(self.masses_g), max(self.masses_g))
        mean, least, most = (f"{each:.0f}" if each >= 5 else f"{each:.1f}" for each in masses)
        return f"{self.measure} ({mean} g; yours ran {least} to {most})"

    def weight(self, count: float) -> Weight:
        """What so many of them weigh, with the spread of the spoons and of their mean."""
        spoon = self.spoon
        sd = spoon.sd_g * math.sqrt(count + count**2 / spoon.n)
        return Weight(count * spoon.mean_g, sd, f"your own {self.measure}, {spoon.n} weighed")


class OwnTrim(Kept):
    """What trimming left of one ingredient, weighed.

    Examples
    --------
    >>> OwnTrim(item="parsnips", whole_g=800, trimmed_g=660).left
    0.825
    """

    wrong: ClassVar[type[KitchenError]] = AmountError
    kind: ClassVar[str] = "trim"
    key_fields: ClassVar[tuple[str, ...]] = ("item",)

    item: FactName = Field(description="what was trimmed, by its name in the facts")
    whole_g: Number = Field(gt=0, description="as bought [g]")
    trimmed_g: Number = Field(gt=0, description="as it goes into the pot [g]")

    def hold(self) -> None:
        """No more is left than there was."""
        more = self.trimmed_g > self.whole_g
        fault(more, f"{self.trimmed_g} g was left of {self.whole_g} g; weigh it whole first, then trimmed")

    @property
    def left(self) -> float:
        """Share that is left."""
        return float(self.trimmed_g / self.whole_g)


class Pan(Kept):
    """A pan, jug or tin: what it weighs empty, and how wide it is inside.

    Examples
    --------
    >>> round(Pan(name="28 cm pot", tare_g=2150, diameter_cm=28).surface_cm2)
    616
    """

    kind: ClassVar[str] = "pan"
    key_fields: ClassVar[tuple[str, ...]] = ("name",)

    name: str = Field(min_length=1, max_length=200, description="what it is called here")
    tare_g: MaybeNumber = Field(None, gt=0, description="mass when empty, without lid [g]")
    diameter_cm: MaybeNumber = Field(None, gt=0, le=200, description="inner diameter of a round one [cm]")
    length_cm: MaybeNumber = Field(None, gt=0, le=200, description="inner length of a square-cornered one [cm]")
    width_cm: MaybeNumber = Field(None, gt=0, le=200, description="its inner width [cm]")
    depth_cm: MaybeNumber = Field(None, gt=0, le=100, description="inner depth [cm]")

    @property
    def size(self) -> str:
        """How wide it is inside, in words; blank where it was not measured."""
        if self.diameter_cm is not None:
            return f"{self.diameter_cm:f} cm round"
        return "" if self.length_cm is None or self.width_cm is None else f"{self.length_cm:f} x {self.width_cm:f} cm"

    @property
    def surface_cm2(self) -> float | None:
        """Open surface [cm2], or None where it was not measured."""
        if self.diameter_cm is not None:
            return math.pi / 4 * float(self.diameter_cm) ** 2
        return float(self.length_cm * self.width_cm) if self.length_cm and self.width_cm else None


class Habits(Kept):
    """A kitchen's way of writing, for its screens and its cards; kept in the logbook, changed at any time.

    >>> Habits(kitchen="uk", names="uk", decimal=",").decimal
    ','
    """

    kind: ClassVar[str] = "habits"
    key_fields: ClassVar[tuple[str, ...]] = ("kind",)  # a kitchen has one set of habits

    kitchen: Literal["us", "metric", "uk", "au"] = Field("us", description="whose spoons stand beside the grams")
    names: Literal["", "us", "uk"] = Field("", description="names of ingredients: as written, US or UK")
    decimal: Literal[".", ","] = Field(".", description="decimal mark")
    first_degrees: Literal["C", "F"] = Field("C", description="the temperature unit that is written first")
    rounding: Literal["usual", "tenths"] = Field("usual", description="grams of a card: by their size, or to a tenth")
    paper: Literal["a4", "letter", "a5", "5x8"] = Field("a4", description="paper that cards are printed on")
    language: str = Field("en", pattern="^[a-z]{2,3}$", description="catalogue of the card's wording")
    jurisdiction: Whose = Field("us", description="whose limits and allergens stand first")


def _kind(amount: Amount) -> tuple[str, str, str]:
    """What makes two measures the same one: unit, kitchen and filling."""
    unit = amount.measure
    system = amount.system if unit.kind == "volume" else ""
    return (unit.name, system, "" if amount.fill == "level" else amount.fill)


def own_weight(amount: Amount, item: str, spoons: Iterable[OwnSpoon]) -> Weight | None:
    """What an amount weighs by the cook's own spoons, or None where none of them fits."""
    name, wanted = facts.resolve(item), _kind(amount)
    fits = [spoon for spoon in spoons if spoon.item == name and _kind(spoon.amount) == wanted]
    return fits[-1].weight(amount.middle) if fits else None


def with_own(recipe: Recipe, spoons: Iterable[OwnSpoon]) -> Recipe:
    """The recipe with every line that was spooned weighed by the cook's own spoons instead of a table.

    Lines that were put on a scale are left alone; the written amounts stay.

    >>> mine = OwnSpoon(item="corn starch", measure="1 heaped tbsp", masses_g=[12, 15, 11, 9, 13])
    >>> soup = Recipe(title="Soup", ingredients=["1 l vegetable stock", "4 heaped tbsp corn starch"])
    >>> [float(line.mass_g) for line in with_own(soup, [mine]).ingredients]
    [1014.42, 48.0]
    """
    known = tuple(spoons)
    lines = tuple(_by_own(line, known, recipe.measures) for line in recipe.ingredients)
    return recipe if lines == recipe.ingredients else recipe.model_copy(update={"ingredients": lines})


def _by_own(line: Ingredient, spoons: tuple[OwnSpoon, ...], measures: str) -> Ingredient:
    read = facts.read_line(line.line, measures)
    if read.item is None or any(each.measure.kind == "mass" for each in read.measures):
        return line
    weights = filter(None, (own_weight(each, read.item, spoons) for each in read.measures))
    weight = next(weights, None)
    return line if weight is None else line.reweighed(line.amount, *weight, line.typed)
