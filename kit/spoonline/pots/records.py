"""A cooked batch and its thickness readings, as frozen records."""

from __future__ import annotations

import statistics
from datetime import date, datetime
from functools import cached_property, lru_cache
from typing import Any, ClassVar, Literal, NamedTuple, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from spoonline import flow
from spoonline.measures import BatchError, KitchenError, ReadingError, frame_html, read_table, typed
from spoonline.pots.moments import Moment, in_order, said, with_put_in
from spoonline.recipes import MaybeNumber, Number, Recipe, Record, column_of, dimension_of, fault, stored


class Stage(NamedTuple):
    """A stage at which a pot is read: fresh, or after something was done to it that no temperature explains; or nothing thickened yet.

    ``temperature_c`` is where its thickness is foretold [C], as served if None. What is believed of a stage that is not fresh before
    a pot was read at it: ``ln_mean`` and ``ln_sd`` of viscosity there over fresh, unless the thickener has a ``figure`` of it.
    """

    fresh: bool = False
    thickened: bool = True
    temperature_c: float | None = None
    figure: str = ""
    ln_mean: float = 0.0
    ln_sd: float = 0.3


# Chilled: where the thickener has no figure for the cold, between waxy (1.0) and maize or flour (1.6), judged.
STAGES = {row["name"]: typed(Stage, row) for row in read_table("stages.csv", "pots")}

# Four radii of one puddle should agree this well; a wider scatter means a tilted plate or a lump.
RADII_SCATTER = 0.03


def known_stage(name: str) -> Stage:
    """The stage of this name; a ReadingError if there is none."""
    if name not in STAGES:
        raise ReadingError(said("no stage", came=name, known=", ".join(STAGES)))
    return STAGES[name]


@lru_cache(maxsize=1024)
def mean_sd(values: tuple[Number, ...]) -> float:
    """Standard uncertainty of the mean of some values by their scatter; 0 where one value tells none."""
    return statistics.stdev(map(float, values)) / len(values) ** 0.5 if len(values) > 1 else 0.0


@lru_cache(maxsize=256)
def _instrument(tool: str, settings: tuple[tuple[str, Number], ...]) -> Any:
    return flow.instrument(tool, **{name: float(value) for name, value in settings})


class Reading(Record):
    """One thickness reading of one pot: the tool, its settings, what it showed, when and how hot.

    Examples
    --------
    >>> size = {"length_cm": 8, "width_cm": 10, "seconds": 10}
    >>> round(Reading(tool="spatula", settings=size, values=[1.9, 2.1], temperature_c=60).mean, 2)
    2.0
    """

    wrong: ClassVar[type[KitchenError]] = ReadingError

    tool: str = Field(description="name of the tool: ring, spatula, ...")
    settings: dict[str, Number] = Field(description="the tool's own sizes, such as radius_cm and height_cm")
    values: tuple[Number, ...] = Field(min_length=1, max_length=20, description="what was read, in the tool's unit")
    temperature_c: Number = Field(ge=-5, le=110, description="temperature of the food when read [C]")
    stage: str = Field("hot", description="before (nothing thickened yet), hot, served, chilled, reheated, ...")
    note: str = Field("", max_length=2000)
    left_out: str = Field("", max_length=500, description="why this reading does not count; blank if it does")

    @classmethod
    def unit_of(cls, info: ValidationInfo) -> str:
        """What was read is in the tool's unit."""
        tool = info.data.get("tool")
        if info.field_name == "values" and tool in flow.TOOLS:
            return flow.unit_of(tool).split()[0]
        return super().unit_of(info)

    @model_validator(mode="after")
    def _readable(self, info: ValidationInfo) -> Self:
        # stored or not: a stage or tool that only a later release knows cannot be worked with here
        known_stage(self.stage)
        flow.tool(self.tool)
        if stored(info):
            self.__dict__["kept"] = True
        if not self.kept and not self.left_out and (wrong := self.set_apart):
            raise ReadingError(wrong)
        return self

    def __hash__(self) -> int:
        return hash((self.tool, self.values, self.temperature_c))

    @cached_property
    def mean(self) -> float:
        """Mean of what was read, in the tool's unit."""
        return statistics.fmean(float(value) for value in self.values)

    @cached_property
    def sd(self) -> float:
        """Standard uncertainty of that mean, in the tool's unit: its scatter, never below the tool's own resolution."""
        return float(max(flow.tool(self.tool).resolution, mean_sd(self.values)))

    @cached_property
    def brought(self) -> dict[tuple[float | None, float | None, float], Any]:
        """What it comes to at the conditions that were asked for; see :func:`spoonline.pots.thickness.brought_to`."""
        return {}

    @cached_property
    def kept(self) -> bool:
        """Whether it was read back from where it is kept: then it stays as it is, also where its pot is corrected."""
        return False

    @cached_property
    def set_apart(self) -> str:
        """Why it does not count, blank if it does: left out by a cook, or a stored one that no tool of this release could have shown."""
        from spoonline.pots.thickness import unread

        return self.left_out or unread(self)

    def instrument(self) -> Any:
        """The tool with its settings; a ReadingError if there is no such tool or a setting is missing."""
        return _instrument(self.tool, tuple(self.settings.items()))

    @cached_property
    def flags(self) -> tuple[str, ...]:
        """What is doubtful about the reading, one sentence each."""
        found = list(self.instrument().flags(self.mean))
        if len(self.values) > 1:
            scatter = mean_sd(self.values) * len(self.values) ** 0.5 / self.mean
            apart = said("scatter", count=len(self.values), percent=100 * scatter)
            found += [apart] if scatter > RADII_SCATTER else []
        return tuple(found)


Moment.model_rebuild(_types_namespace={"Reading": Reading})


class Weighed(Record):
    """What was really put in where it differs from the recipe."""

    line: int = Field(ge=1, description="number of the recipe's line, from 1")
    item: str = Field(description="the item of that line, so that a moved line is noticed")
    typed: str = Field(description="what was typed")
    mass_g: Number = Field(ge=0, description="mass put in [g]; 0 means none")
    sd_g: Number = Field(ge=0, description="standard uncertainty of that mass [g]")


# Columns of a pot that nobody types.
READ_OR_WEIGHED = ("viscosity_pa_s", "dose_g_per_l")


class Named(Record):
    """Something with a name and a unit that the kitchen knows."""

    name: str = Field(min_length=1, max_length=60, description="what it is, such as oven or spread")
    unit: str = Field(description="its unit, or score")

    @classmethod
    def unit_of(cls, info: ValidationInfo) -> str:
        """A figure is in the record's own unit."""
        return str(info.data.get("unit", ""))

    @field_validator("unit")
    @classmethod
    def _known_unit(cls, unit: str, info: ValidationInfo) -> str:
        if not stored(info):
            dimension_of(unit)
            name = str(info.data.get("name", ""))
            fault(column_of(name, unit) in READ_OR_WEIGHED, said("follows", name=name, unit=unit))
        return unit

    @property
    def column(self) -> str:
        """The column of ``book.batches(title)`` that holds it."""
        return column_of(self.name, self.unit)


class Quantity(Named):
    """Something that was varied on purpose and stands in no line or step of the recipe, or otherwise than there.

    >>> Quantity(name="oven", unit="C", value=180).column
    'oven_c'
    """

    wrong: ClassVar[type[KitchenError]] = BatchError

    value: Number = Field(description="how much, in that unit")


class Outcome(Named):
    """Something that one pot came to: measured or scored, once or several times, at a stage.

    Examples
    --------
    >>> found = Outcome(name="sweetness", unit="score", values=[6, 7, 5])
    >>> found.mean, round(found.sd, 2), found.column
    (6.0, 0.58, 'sweetness_score')
    """

    wrong: ClassVar[type[KitchenError]] = ReadingError

    values: tuple[Number, ...] = Field(min_length=1, max_length=100, description="what was found, in that unit")
    stage: str = Field("served", description="hot, served, chilled, reheated, ...")
    note: str = Field("", max_length=2000)
    left_out: str = Field("", max_length=500, description="why this outcome does not count; blank if it does")

    @field_validator("stage")
    @classmethod
    def _stage(cls, stage: str) -> str:
        known_stage(stage)
        return stage

    @property
    def mean(self) -> float:
        """Mean of what was found, in its unit."""
        return statistics.fmean(float(value) for value in self.values)

    @property
    def sd(self) -> float:
        """Standard uncertainty of that mean, in its unit: its scatter; 0 where one value tells none."""
        return mean_sd(self.values)

    @property
    def column(self) -> str:
        """The column of ``book.batches(title)`` that holds it; one that is not fresh has its stage in the name."""
        return column_of(self.name if STAGES[self.stage].fresh else f"{self.name} {self.stage}", self.unit)


# Of a batch what the logbook gives, and what lists of it are called where a correction changes them.
GIVEN = ("title", "number", "id", "replaces", "recorded_at")
LISTS = {"weighed": "what was weighed", "quantities": "what was varied", "moments": "the story"}
LISTS |= {"readings": "the readings", "outcomes": "the outcomes"}


class Batch(Record):
    """One cooking of one version.

    Examples
    --------
    >>> Batch(title="Gravy", version=1, cooked_on="2026-01-08", pot_before_g=3100, pot_after_g=2950).evaporated_g
    150.0
    """

    wrong: ClassVar[type[KitchenError]] = BatchError

    title: str = Field(description="title of the recipe")
    version: int = Field(ge=1, description="number of the version that was cooked")
    number: int = Field(0, ge=0, description="1, 2, 3 ... within the title; given by the logbook")
    id: str = Field("", description="SHA-256 of the batch's canonical JSON; given by the logbook")
    cooked_on: date = Field(description="day it was cooked")
    cook: str = Field("", max_length=200)
    pan: str = Field("", max_length=200)
    weighed: tuple[Weighed, ...] = Field((), description="only the lines that differ from the recipe")
    pot_before_g: MaybeNumber = Field(None, gt=0, description="pot and contents, everything in [g]")
    pot_after_g: MaybeNumber = Field(None, gt=0, description="the same pot and contents at the end [g]")
    minutes: MaybeNumber = Field(None, ge=0, le=5000, description="time from everything in to the end [min]")
    readings: tuple[Reading, ...] = ()
    moments: tuple[Moment, ...] = Field((), max_length=500, description="the pot's story in order; none: the short way")
    outcomes: tuple[Outcome, ...] = Field((), max_length=200, description="what it came to beside its thickness")
    quantities: tuple[Quantity, ...] = Field((), max_length=50, description="what was varied beside its lines")
    plan: str = Field("", max_length=200, description="name of the plan it was cooked from; blank for none")
    plan_pot: int = Field(0, ge=0, description="number of the pot in that plan; 0 for none")
    note: str = Field("", max_length=4000)
    felt: Literal["", "too thin", "right", "too thick"] = Field("", description="how the cook found it")
    left_out: str = Field("", max_length=500, description="why this batch does not count; blank if it does")
    replaces: str = Field("", description="id of the batch record that this one corrects")
    recorded_at: datetime | None = Field(None, description="when it was recorded (UTC); given by the logbook")

    def hold(self) -> None:
        """Moments in order, one unit a name, and a pot that lost what it can; what its story read are readings."""
        in_order(self.moments)
        units: dict[str, str] = {}
        for each in (*self.outcomes, *self.quantities):
            first = units.setdefault(each.name.casefold(), each.unit)
            fault(first != each.unit, said("two units", name=each.name, first=first, then=each.unit))
        read = [moment.reading for moment in self.moments if moment.reading is not None]
        if further := [each for each in read if each not in self.readings]:
            object.__setattr__(self, "readings", (*self.readings, *further))
        lost = self.evaporated_g or 0.0
        fault(lost < 0, said("pot gained", of=self, gain=-lost))
        fault(lost > 0.8 * float(self.pot_before_g or 0), said("pot lost", of=self, lost=lost))

    @property
    def evaporated_g(self) -> float | None:
        """Mass lost from the pot [g], or None where it was not weighed twice."""
        if self.pot_before_g is None or self.pot_after_g is None:
            return None
        return float(self.pot_before_g - self.pot_after_g)

    def changes(self, later: Batch) -> str:
        """What a correction of this record says otherwise, in words; blank where it says the same.

        >>> pot = Batch(title="Gravy", version=1, cooked_on="2026-01-08", minutes=30)
        >>> pot.changes(pot.changed(minutes=35, left_out="boiled over"))
        'minutes 30 -> 35, left out "" -> "boiled over"'
        >>> pot.changes(pot)
        ''
        """
        found = []
        for name in [each for each in Batch.model_fields if each not in GIVEN]:
            old, new = getattr(self, name), getattr(later, name)
            if old == new:
                continue
            pair = ("blank" if each is None else f'"{each}"' if isinstance(each, str) else each for each in (old, new))
            words = name.removesuffix("_g").replace("_", " ") + " {} -> {}"
            found.append(LISTS.get(name, words).format(*pair))
        return ", ".join(found)

    def _repr_html_(self) -> str:
        from spoonline.pots.table import readings_table

        unshown = ["title", "batch", "version", "cooked_on", "settings", "values_in_the_tools_unit"]
        frame = readings_table([self]).drop(columns=unshown)
        notes = [f"{each.item}: {each.typed} went in" for each in self.weighed]
        notes += [] if self.evaporated_g is None else [f"{self.evaporated_g:.0f} g evaporated"]
        notes += [text for text in (self.left_out and f"left out: {self.left_out}", self.note) if text]
        head = f"Batch {self.number} of {self.title}, version {self.version}, cooked on {self.cooked_on}"
        return frame_html(frame, head, notes)

    def cooked(self, recipe: Recipe) -> Recipe:
        """The recipe as it really went into the pot; a BatchError if a weighed line is not a line of this recipe."""
        if not self.weighed and all(each.kind != "put in" for each in self.moments):
            return recipe
        lines = list(recipe.ingredients)
        for weighed in self.weighed:
            if weighed.line > len(lines) or lines[weighed.line - 1].item != weighed.item:
                raise said.error("weighed line", of=weighed, title=recipe.title)
            old = lines[weighed.line - 1]
            lines[weighed.line - 1] = old.reweighed(weighed.typed, float(weighed.mass_g), float(weighed.sd_g))
        return with_put_in(self.moments, recipe.model_copy(update={"ingredients": tuple(lines)}))
