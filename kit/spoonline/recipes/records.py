"""A recipe as a frozen record: lines, steps, target, and the few figures that follow from them.

One definition each, used by every screen and card:

* **liquid** [L]: what pours (water, stock, milk, cream, wine, juice; not fat, not puree), plus the juice of pieces that stay whole, less
  what dry goods take up; nothing boiled off, and none from what is blended. Juice is a forecast, so it has a range.
* **mass** [g]: all weighed lines together, as put in.
* **dose** [g/L]: grams of thickener per litre of that liquid.
"""

from __future__ import annotations

import math
import re
import unicodedata
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from typing import Any, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from spoonline import facts
from spoonline.measures import Range, cues, frame_html, frame_of, kitchen_amount, or_none, print_dose, takes_quantities
from spoonline.measures.weights import totals
from spoonline.recipes.aims import Aim
from spoonline.recipes.base import MaybeNumber, Number, Record, said, stored
from spoonline.recipes.fates import Fate, fates, kind_of
from spoonline.recipes.ingredient import Ingredient as Ingredient
from spoonline.recipes.ingredient import Part, pours_l, pours_sd_l, times, with_fate

# A stiff paste holds about 135 g/L; past this a figure is a slip of the key, not a dish.
MOST_DOSE_G_PER_L = 400.0


class Step(Record):
    """One step of the method."""

    text: str = Field(min_length=1, max_length=4000, description="what to do")
    minutes: MaybeNumber = Field(None, ge=0, description="how long [min], where the text says so")
    temperature_c: MaybeNumber = Field(None, ge=-50, le=400, description="temperature [C], where the text says so")
    group: str = Field("", description="the heading it stands under")

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, data: Any, info: ValidationInfo) -> Any:
        if isinstance(data, str):
            data = {"text": data}
        if not info.context and isinstance(data, dict) and data.get("text"):
            data = cues(str(data["text"]), nights=True)._asdict() | data
        return data


class Target(Record):
    """The thickness aimed at: a viscosity at a stated shear rate and temperature, and the band around it.

    Examples
    --------
    >>> aim = Target(viscosity_pa_s="0.4", shear_rate_per_s=50)
    >>> round(aim.low_pa_s, 2), round(aim.high_pa_s, 2), aim.against_band(0.5)
    (0.33, 0.48, 'thicker than')
    """

    viscosity_pa_s: Number = Field(gt=0, le=1000, description="viscosity aimed at [Pa s]")
    band: Number = Field(Decimal("1.2"), gt=1, le=5, description="the band is the target times and divided by this")
    temperature_c: Number = Field(Decimal("60"), ge=0, le=100, description="temperature it is read at [C]")
    shear_rate_per_s: Number = Field(Decimal("1"), gt=0, le=1000, description="shear rate it is quoted at [1/s]")

    @property
    def low_pa_s(self) -> float:
        """Lower end of the band [Pa s]."""
        return float(self.viscosity_pa_s / self.band)

    @property
    def high_pa_s(self) -> float:
        """Upper end of the band [Pa s]."""
        return float(self.viscosity_pa_s * self.band)

    @takes_quantities
    def against_band(self, viscosity_pa_s: float) -> str:
        """Say how a viscosity [Pa s] compares with the band: ``thinner than``, ``inside`` or ``thicker than`` it."""
        if viscosity_pa_s < self.low_pa_s:
            return "thinner than"
        return "thicker than" if viscosity_pa_s > self.high_pa_s else "inside"


class Recipe(Record):
    """A recipe: what goes in, what is done, for how many, and how thick it should be.

    Lines and steps may be given as plain text; they are read as :meth:`from_text` reads them.

    Examples
    --------
    >>> soup = Recipe(title="Roast parsnip and pear soup",
    ...               ingredients=["1.5 l vegetable stock", "42 g corn starch"], steps=["Simmer 5 min."], servings=6)
    >>> round(soup.liquid_l, 2), round(soup.dose_g_per_l, 1)
    (1.5, 28.0)
    """

    title: str = Field(min_length=1, max_length=300, description="the name of the dish")
    ingredients: tuple[Ingredient, ...] = Field((), max_length=200, description="what goes in, in order of use")
    steps: tuple[Step, ...] = Field((), max_length=200, description="what is done, in order")
    measures: Literal["us", "label", "metric", "uk", "au"] = Field("us", description="whose spoons it was read in")
    servings: MaybeNumber = Field(None, gt=0, le=100000, description="how many it serves; the middle of a range")
    servings_high: MaybeNumber = Field(None, gt=0, le=100000, description="the upper end of that range")
    makes: str = Field("", max_length=200, description="what it makes, as written, such as 'about 1 pint'")
    yield_g: MaybeNumber = Field(None, gt=0, description="finished mass [g], where it was weighed")
    yield_l: MaybeNumber = Field(None, gt=0, description="finished volume [L], where it was measured")
    target: Target | None = Field(None, description="the thickness aimed at")
    aims: tuple[Aim, ...] = Field((), max_length=20, description="what else it should come to: sweetness, spread, salt")
    invented: bool = Field(False, description="true for demonstration data")

    @model_validator(mode="before")
    @classmethod
    def _lines(cls, data: Any, info: ValidationInfo) -> Any:
        """Lines that are text are read in the spoons of this recipe."""
        if info.context or not isinstance(data, dict) or not isinstance(data.get("ingredients"), (list, tuple)):
            return data
        measures = str(data.get("measures", "us"))
        read = [Ingredient.fields_of(each, measures) if isinstance(each, str) else each for each in data["ingredients"]]
        return data | {"ingredients": read}

    @field_validator("title")
    @classmethod
    def _one_form(cls, title: str, info: ValidationInfo) -> str:
        return title if stored(info) else unicodedata.normalize("NFC", " ".join(title.split()))

    @model_validator(mode="after")
    def _judged(self, info: ValidationInfo) -> Self:
        """What becomes of each line is kept with it; a version that was stored without is judged on reading, its id untouched, and
        what is so filled in does not count among the fields that were stored (``model_fields_set``)."""
        if not (stored(info) and all(line.fate for line in self.ingredients)):
            lines = []
            for line, fate in zip(self.ingredients, fates(self), strict=True):
                lines.append(line if line.fate and stored(info) else with_fate(line, fate))
                if stored(info):
                    lines[-1].model_fields_set.intersection_update(line.model_fields_set)
            object.__setattr__(self, "ingredients", tuple(lines))
        if not stored(info) and self.too_much_thickener:
            raise ValueError(self.too_much_thickener)
        return self

    @classmethod
    @takes_quantities
    def from_text(
        cls, text: str, measures: str = "us", decimal: str | None = None, like: Recipe | None = None, **fields: Any
    ) -> Recipe:
        """Read a pasted recipe.

        Parameters
        ----------
        text : str
            First line the title; an optional ``Serves N`` or ``Makes N g``; ingredient lines up to a blank line (headings end with
            a colon); then the method, one numbered or plain line a step. What was not understood stands in :attr:`questions`.
        measures : str, optional
            Whose spoons and cups are meant: "us", "label", "metric", "uk" or "au". A line ``Measures: au`` in the text rules.
        decimal : str, optional
            The kitchen's decimal mark, "." or ","; that of the context unless given.
        like : Recipe, optional
            A recipe that this text was made from: a line that still reads as it did stays as it was, weight and all.
        **fields
            Further fields of the recipe, such as ``target``.

        Raises
        ------
        RecipeError
            If there is no title or no line at all.

        Examples
        --------
        >>> soup = Recipe.from_text('''Mushroom gravy
        ... Serves 8
        ... 1 l beef stock
        ... 60 g wheat flour
        ...
        ... 1. Simmer for 10 minutes.''')
        >>> soup.title, float(soup.servings), soup.dose_g_per_l, float(soup.steps[0].minutes)
        ('Mushroom gravy', 8.0, 60.0, 10.0)
        """
        from spoonline.recipes.text import fields_from_text

        return cls(**(fields_from_text(text, measures, decimal, like) | fields))

    @property
    def text(self) -> str:
        """The recipe as text that :meth:`from_text` reads back (all but the target)."""
        from spoonline.recipes.text import to_text

        return to_text(self)

    def page(self, title: str) -> str:
        """The recipe as a small page under this title: its lines as a table, then its steps."""
        rows = [(line.amount, line.item, line.preparation, line.part, line.mass_g) for line in self.ingredients]
        frame = frame_of(rows, "amount", "item", "preparation", "part", "mass_g")
        return frame_html(frame.astype({"mass_g": float}), title, [step.text for step in self.steps])

    def _repr_html_(self) -> str:
        serves = f", serves {self.servings}" if self.servings is not None else ""
        return self.page(f"{self.title}{serves}: {self.liquid_l:.3g} L of liquid, {self.dose_text}")

    @property
    def serves(self) -> str:
        """How many it serves, as a range where one was given; blank where nobody said."""
        if self.servings is None or self.servings_high is None:
            ends = [] if self.servings is None else [float(self.servings)]
        else:
            ends = [float(2 * self.servings - self.servings_high), float(self.servings_high)]
        return "-".join(f"{end:g}" if end == round(end) else f"{end:.2g}" for end in ends)

    def of_part(self, *parts: Part) -> tuple[Ingredient, ...]:
        """Lines that play one of these parts, in order."""
        return tuple(line for line in self.ingredients if line.part in parts)

    @cached_property
    def fates(self) -> tuple[Fate, ...]:
        """What becomes of each line, in order; see :func:`spoonline.recipes.fates.fates`."""
        if all(line.fate for line in self.ingredients):
            return tuple(Fate.of(line) for line in self.ingredients)
        pairs = zip(self.ingredients, fates(self), strict=True)
        return tuple(Fate.of(line) if line.fate else judged for line, judged in pairs)

    @cached_property
    def kind(self) -> str:
        """Which kind of dish it is: poured, blended, stew, dough, cold or custard."""
        return kind_of(self)

    @property
    def poured_l(self) -> float:
        """What is poured in [L], cream too; nothing where it only binds a dough."""
        return sum(pours_l(line, fate) for line, fate in zip(self.ingredients, self.fates, strict=True))

    @cached_property
    def liquid(self) -> Range:
        """Liquid [L] with its 90 % range: poured, plus the juice of whole pieces, less what dry goods take up; nothing boiled off.

        The range is that of the juices (their spreads stand in ``facts/juices.csv``; each line errs on its own) and of what is poured
        by spoons, cups and counts; grams and millilitres are taken as measured.
        """
        best = variance = 0.0
        for line, fate in zip(self.ingredients, self.fates, strict=True):
            mass, sd = float(line.mass_g or 0) / 1000, float(line.sd_g or 0) / 1000
            poured = pours_l(line, fate)
            juice, juice_sd = fate.gives
            best += poured + juice * mass
            variance += (juice * sd) ** 2 + (juice_sd * mass) ** 2 + pours_sd_l(line, fate) ** 2
        if self.kind == "dough":
            return Range(0.0, 0.0, 0.0)
        best, spread = round(best, 9), 1.6449 * math.sqrt(variance)  # else 1.3 + 0.1 + 0.1 L of juice is not 1.5 L
        return Range(max(best, 0.0), max(best - spread, 0.0), max(best + spread, 0.0))

    @property
    def liquid_l(self) -> float:
        """Best estimate of the :attr:`liquid` [L]."""
        return self.liquid.best

    @property
    def mass_g(self) -> float:
        """Mass of all weighed lines, as put in [g]."""
        return sum(float(line.mass_g) for line in self.ingredients if line.mass_g is not None)

    @property
    def finished_g(self) -> float:
        """Finished mass [g]: as weighed where the recipe says so, else what was put in."""
        return float(self.yield_g) if self.yield_g is not None else self.mass_g

    @property
    def thickener_g(self) -> float:
        """Mass of all thickener lines [g]."""
        return sum(self.thickeners_g.values())

    @property
    def thickeners_g(self) -> dict[str, float]:
        """Mass of each thickener [g], by the name that the facts know it under."""
        pairs = zip(self.ingredients, self.fates, strict=True)
        thickens = (line for line, fate in pairs if fate.fate == "thickens")
        return totals((line.fact_name or line.item, float(line.mass_g)) for line in thickens if line.mass_g is not None)

    @property
    def dose_g_per_l(self) -> float:
        """Thickener per litre of liquid [g/L], all thickeners together; 0 without any and for a dough, NaN without liquid."""
        return self._per_litre(self.thickener_g)

    @property
    def dose_text(self) -> str:
        """The dose of all thickeners in words."""
        dose = self.dose_g_per_l
        return f"{print_dose(dose)} g/L" if dose == dose else "no liquid with a known amount"

    @property
    def too_much_thickener(self) -> str:
        """What is wrong with a dose above 400 g/L, which no dish holds; blank where nothing is."""
        most_l = self.liquid.high
        if not (most_l > 0 and self.thickener_g > MOST_DOSE_G_PER_L * most_l) or any(fate.asks for fate in fates(self)):
            return ""
        return said("stiff paste", grams=self.thickener_g, litres=most_l, dose=self.thickener_g / most_l)

    @property
    def doses_g_per_l(self) -> dict[str, float]:
        """Thickener per litre of liquid [g/L], each by name."""
        return {name: self._per_litre(mass) for name, mass in self.thickeners_g.items()}

    def _per_litre(self, mass_g: float) -> float:
        if mass_g == 0 or self.kind == "dough":
            return 0.0
        liquid_l = self.liquid_l
        return mass_g / liquid_l if liquid_l > 0 else math.nan

    @property
    def main_liquid(self) -> str | None:
        """Item of the largest liquid line of known weight."""
        pours = [line for line in self.of_part("liquid") if line.mass_g is not None]
        return max(pours, key=lambda line: float(line.mass_g or 0)).item if pours else None

    @property
    def main_thickener(self) -> str | None:
        """The thickener with the largest mass, by its name in the facts, or None."""
        return max(self.thickeners_g.items(), key=lambda each: each[1], default=(None, 0.0))[0]

    @property
    def questions(self) -> tuple[str, ...]:
        """What the lines leave open, one sentence a line, in the order of the lines."""
        found = []
        for number, (line, fate) in enumerate(zip(self.ingredients, fates(self), strict=True), start=1):
            read = facts.read_line(line.line, self.measures)
            asks = [*(read.notes if line.mass_g is None else read.doubts), *([fate.asks] if fate.asks else [])]
            if line.mass_g is None and not asks:
                asks = [said("no mass")]
            found += [f"Line {number}, {line.line!r}: {' '.join(asks)}"] if asks else []
        return tuple(found)

    @takes_quantities
    def scaled(
        self, factor: float | None = None, *, servings: float | None = None, liquid_l: float | None = None
    ) -> Recipe:
        """Scale every line by one factor; the steps are unchanged, since times do not scale.

        Parameters
        ----------
        factor : float, optional
            What to multiply by.
        servings : float, optional
            Or: for how many.
        liquid_l : float, optional
            Or: to how much liquid [L].

        Raises
        ------
        RecipeError
            If not exactly one is given, if it is not above 0, or if this recipe does not say its servings or liquid.

        Examples
        --------
        >>> soup = Recipe(title="Gravy", ingredients=["1 l stock", "2 tbsp corn starch"], servings=4)
        >>> [line.amount for line in soup.scaled(servings=6).ingredients]
        ['1.5 l', '3 tbsp']
        """
        ways = {"factor": (factor, 1.0), "servings": (servings, self.servings), "liquid_l": (liquid_l, self.liquid_l)}
        given = {name: (wanted, now) for name, (wanted, now) in ways.items() if wanted is not None}
        said.refuse(len(given) != 1, "one way", came=", ".join(given) or "none")
        ((wanted, now),) = given.values()
        if not now:
            lacks = "has no liquid" if servings is None else "does not say how many it serves"
            raise said.error("cannot scale", title=self.title, lacks=lacks)
        factor = wanted / float(now)
        said.refuse(not (math.isfinite(factor) and 0 < factor <= 10000), "scale", factor=factor)
        lines = tuple(line.scaled(factor, self.measures) for line in self.ingredients)
        more = times(self, factor, "servings", "servings_high", "yield_g", "yield_l")
        more["makes"] = _makes(self.makes, factor, self.measures)
        return self.model_copy(update={"ingredients": lines} | more)


def _makes(text: str, factor: float, measures: str) -> str:
    """What a recipe makes, times a factor, in the words it was written with."""
    found = re.fullmatch(r"((?:about|approx\.?|roughly)\s+)?(.*?)(\s[a-z][a-z ]*)?", text)
    if found is None:
        return ""
    about, amount, of_what = found.groups()
    for plain, words in ((f"{amount}{of_what or ''}", ""), (amount, of_what)):  # "1 l", "24 biscuits"
        if made := or_none(kitchen_amount, plain, factor, measures):
            return f"{about or ''}{made}{words or ''}"
    return ""


class Version(Record):
    """One saved version of a recipe. Nothing is ever overwritten: a change is a new version."""

    title: str = Field(description="the recipe's title; the versions of one title form its history")
    number: int = Field(ge=1, description="1, 2, 3 ... within the title")
    id: str = Field(pattern="^[0-9a-f]{64}$", description="SHA-256 of the recipe's canonical JSON as it was stored")
    parent: int | None = Field(None, description="number of the version it was made from")
    note: str = Field("", max_length=2000, description="what was changed and why, in the cook's words")
    cook: str = Field("", max_length=200, description="who saved it")
    saved_at: datetime = Field(description="when it was saved (UTC)")
    recipe: Recipe = Field(description="the recipe itself")

    @property
    def name(self) -> str:
        """Title and number, as screens and cards print them."""
        return f"{self.title}, version {self.number}"

    @property
    def short_id(self) -> str:
        """First twelve digits of the content id; enough to tell any two versions of a kitchen apart."""
        return self.id[:12]

    def _repr_html_(self) -> str:
        return self.recipe.page(f"{self.name} ({self.note or 'no note'}): {self.recipe.dose_text}")
