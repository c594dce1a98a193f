"""The aim of a dish: how thick it should be, or what another outcome should come to and which quantity brings it there."""

from collections.abc import Mapping
from statistics import geometric_mean
from typing import NamedTuple

import ipywidgets as w
import pandas as pd

from spoonline.dish import AS_GOOD, BEYOND, Dish
from spoonline.dose import LEAST_BAND, MOST_BAND, aim_as, aim_of, everyday, in_ten
from spoonline.effects import NextSetting, name_of, weigh, weighed_out
from spoonline.figures import Effect, effect
from spoonline.flow import unit_of
from spoonline.logbook import Logbook
from spoonline.measures import Range
from spoonline.pots import CookedPot, own_tool, put_in
from spoonline.recipes import Aim, Recipe, Target, column_of
from spoonline.tasters import Session, told_band
from spoonline.widgets.parts.fields import FigureBox, appear, declared, fill, laid_out, row
from spoonline.widgets.parts.markup import frame_table
from spoonline.widgets.parts.tools import served_cold_c
from spoonline.widgets.parts.typed import degrees, figure, said, wanted

TASTERS = "tasters"
ASKS = "No aim is set: choose a pot that was right, two pots to lie between, or something as thick."


class HowThick(w.VBox):
    """The aim, chosen in a cook's words or typed; what stands in its fields rules."""

    def __init__(self, book: Logbook) -> None:
        self.book = book
        names = "viscosity_pa_s", "band", "temperature_c", "shear_rate_per_s"
        self.fields = dict(zip(names, declared(self, "how thick, as a number"), strict=True))
        declared(self, "how thick, in words")
        super().__init__(laid_out(self, "how thick"))

    def show(self, aim: Target | None) -> None:
        """Put an aim into the fields."""
        for name, field in self.fields.items():
            field.value = f"{getattr(aim, name)}" if aim else ""

    def begin(self, dish: Dish) -> None:
        """The aim of a dish, and its pots that were read to choose from, those that were right first; then what everybody knows."""
        self.show(dish.aim)
        # what is served cold would else be read at 60 C
        self.temperature.value = self.temperature.value or served_cold_c(dish.recipe)
        pots = [pot for pot in dish.pots if pot.thickness is not None and pot.counts]
        told = [(_as_pot(pot), pot.batch.number) for pot in sorted(pots, key=lambda pot: pot.batch.felt != "right")]
        known = [(f"like {each.text}", name) for name, each in everyday().items()]
        band = [("a band as wide as tasters could not tell", TASTERS)] if self._told(dish) else []
        appear(False, self.other)
        fill(self.like, [*told, *known, *band])
        fill(self.other, [(f"and batch {pot.batch.number}: between them", pot.batch.number) for pot in pots])
        self.like.value, self.other.value = "", 0

    def _told(self, dish: Dish) -> Range | None:
        """What tasters of this dish could tell, as a factor; None where no tasting says."""
        means = {number: geometric_mean(each) for number, each in dish.viscosities.items()}
        told = (told_band(session, means) for session in self.book.kept(Session, dish.title))
        return next((each for each in told if each), None)

    def choose(self, dish: Dish) -> str:
        """Put the aim that is chosen in words into the fields; what is to be said of it, or blank.

        Raises
        ------
        KitchenError
            If what was chosen was taken back since.
        """
        chosen = self.like.value
        appear(isinstance(chosen, int), self.other)
        if chosen == TASTERS:
            found = wanted(self._told(dish), "tasting gone")
            self.band.value = f"{min(max(found.best, LEAST_BAND), MOST_BAND):.3g}"
            return f"Of 100 pairs of tasters 75 would tell a factor of {found:.2f} (90 % range)."
        if chosen == "":
            aim = dish.version.recipe.target if dish.version else None
        elif isinstance(chosen, int):
            between = [number for number in dict.fromkeys((chosen, self.other.value)) if number]
            pots = {each.number: each for each in self.book.all_batches(dish.title)}
            gone = [f"{number}" for number in between if number not in pots]
            said.refuse(gone, "pot gone", gone=" and ".join(gone))
            aim = aim_of(*(pots[number] for number in between), now=dish.aim)
        else:
            celsius = degrees(self.temperature.value)
            aim = aim_as(chosen, 60.0 if celsius is None else celsius)
        self.show(aim)
        return ""

    def aim(self, old: Target | None) -> Target | None:
        """The aim as typed; a blank field is as the recipe says, and without a viscosity there is none."""
        viscosity, band = figure(self.viscosity.value, "Target", "Pa s"), figure(self.band.value, "Band")
        rate = figure(self.rate.value, "Shear rate", "1/s")
        typed = zip(self.fields, (viscosity, band, degrees(self.temperature.value), rate), strict=True)
        fields = (old.model_dump() if old else {}) | {name: value for name, value in typed if value is not None}
        return Target(**fields) if "viscosity_pa_s" in fields else None


def _as_pot(pot: CookedPot) -> str:
    """A pot as a choice of how thick: what its tool showed, and how the cook found it."""
    reading = own_tool([pot.batch], None)
    felt = f", {pot.batch.felt}" if pot.batch.felt else ""
    return f"as batch {pot.batch.number}: {reading.mean:.3g} {unit_of(reading.tool)} ({reading.tool}){felt}"


DOSE, THICKNESS = "dose_g_per_l", "viscosity_pa_s"
SAVE_AIM = "Save this aim"


class Change(NamedTuple):
    """What the main button does, in its words; the recipe that it keeps; the note of that version."""

    words: str
    recipe: Recipe
    note: str


class EffectView(w.VBox):
    """What varies, what comes out and its aim; then the figure and the tables."""

    def __init__(self) -> None:
        self.chosen, self.aims = row(*declared(self, "a pair")), row(*declared(self, "an aim"))
        self.figure, self.table = FigureBox("effect"), w.HTML()
        self.frame: pd.DataFrame | None = None
        self._shown = ("", "")  # the ends of the aim that the recipe keeps, as they were shown last
        self.found: Effect | None = None
        self.next: NextSetting | None = None
        super().__init__([self.figure, self.table])

    @property
    def of_curve(self) -> bool:
        """Whether thickness by starch is chosen, of which the dose curve says more."""
        return (self.varies.value, self.out.value) == (DOSE, THICKNESS)

    @property
    def of_thickness(self) -> bool:
        """Whether the aim is how thick it should be."""
        return bool(self.out.value == THICKNESS)

    def offer(self, dish: Dish, frame: pd.DataFrame) -> None:
        """Offer thickness by starch first where something is dosed, then what was varied and what was measured; then all else."""
        before, untouched = self.out.value, (self.low.value, self.high.value) == self._shown
        self.frame = frame
        dosed = {DOSE} | {column_of(name, "g/L") for name in dish.recipe.thickeners_g}
        quantities = {each: unit for each, unit in frame.attrs["quantities"].items() if each not in dosed}
        outcomes = {each: unit for each, unit in frame.attrs["outcomes"].items() if each != THICKNESS}
        varied = sorted(quantities, key=lambda each: frame[each].nunique() < 2)
        typed = {each.column for batch in dish.batches for each in batch.outcomes}
        first, rest = [each for each in outcomes if each in typed], [each for each in outcomes if each not in typed]
        thick = [("thickness", THICKNESS)] if dish.recipe.kind != "dough" else []
        starch = [(f"{dish.curve.dosed}, g/L", DOSE)] if dish.curve else []
        fill(self.varies, [*starch, *_named(varied, quantities)])
        order = [*thick, *_named(first, outcomes)] if starch else [*_named(first, outcomes), *thick]
        fill(self.out, [*order, *_named(rest, outcomes)])
        if self.out.value != before or untouched:  # what is typed stays with what it was typed for
            self.begin(dish.recipe)

    @property
    def outcome(self) -> tuple[str, str]:
        """Name and unit of what comes out."""
        column = self.out.value or ""
        known = {} if self.frame is None else self.frame.attrs["outcomes"]
        unit = (known | {THICKNESS: "Pa s"}).get(column, "")
        return name_of(column, unit), unit

    def begin(self, recipe: Recipe) -> None:
        """The aim of what is chosen, as the recipe keeps it."""
        aim = kept_aim(recipe, self.out.value) if self.out.value and not self.of_thickness else None
        for field, words, end in ((self.low, "At least", "low"), (self.high, "At most", "high")):
            kept = getattr(aim, end, None)
            field.value = "" if kept is None else f"{kept}"
            field.description = f"{words}, {self.outcome[1]}".strip(", ")
        self._shown = self.low.value, self.high.value

    def aim(self, dish: Dish) -> Aim | None:
        """The aim as typed; of thickness, the band it should lie in. None where there is none."""
        if self.of_thickness:
            return kept_aim(dish.recipe, THICKNESS)
        name, unit = self.outcome
        low, high = figure(self.low.value, "At least", unit), figure(self.high.value, "At most", unit)
        return Aim(outcome=name, unit=unit, low=low, high=high) if (low, high) != (None, None) else None

    def clear(self) -> None:
        """Nothing of what was chosen before stays."""
        self.found = self.next = None
        self.figure.show(None)
        self.table.value = ""

    def show(self, dish: Dish) -> tuple[str, str]:
        """Show what the pots say of what is chosen; the answer, and what stands below it."""
        self.clear()
        if self.frame is None or not (self.varies.value and self.out.value):
            return said("no outcome"), dish.no_curve
        aim = self.aim(dish)
        self.found = found = effect(self.frame, self.varies.value, self.out.value, aim=aim)
        self.next = found.next_setting(beyond=BEYOND)
        if len(found.points):
            self.figure.show(found.figure())
        (what, unit), (name, out) = found.quantity, found.outcome
        heads = {"x": f"{what}, {unit}", "y": f"{name}, {out}"}
        pots = found.points[["batch", "day", *heads]].rename(columns=heads)
        self.table.value = frame_table(pots, "The pots", dict.fromkeys(heads.values(), ".3g"))
        told = "".join(each.text for each in dish.aims if each.aim == aim)
        if self.next is None:
            return found.text, told if aim else said("asks for an aim")
        if (own := self._kept(dish, aim)) is not None:
            chance = in_ten(float(found.chance(own)))
            keep = self._weighed(dish.recipe, own) or f"{own:.3g} {unit} of {what}"
            return f"Keep {keep}: {chance} such pots should meet {aim.text if aim else name}.", f"{told} {found.text}"
        (at,), words = self.next.settings, self._weighed(dish.recipe, self.next.settings[0])
        answer = self.next.text
        if words and aim is not None:
            words += "" if found.inside(at) else ", extrapolated beyond what was tried"
            answer = NextSetting.told(*self.next[:3], words, aim.in_unit(out)).text
        return answer, f"{told} {found.text}"

    def _kept(self, dish: Dish, aim: Aim | None) -> float | None:
        """The recipe's own setting where it is to be kept: tested, or as good as any; else None."""
        if self.found is None or self.next is None:
            return None
        own = put_in(dish.recipe).get((self.varies.value, self.found.quantity[1]))
        tested = any(each.aim == aim and each.count.enough for each in dish.aims)
        return own if own and (tested or float(self.found.chance(own)) >= self.next.chance - AS_GOOD) else None

    @property
    def _settings(self) -> dict[str, float]:
        return {self.varies.value: self.next.settings[0]} if self.next else {}

    def _weighed(self, recipe: Recipe, setting: float) -> str:
        """A setting as what to weigh for the recipe as written, the figure per litre or flour behind it; blank where no line holds it."""
        words = weigh(recipe, {self.varies.value: setting})
        return f"{words} ({setting:.3g} {self.found.quantity[1]})" if words and self.found else ""

    def change(self, dish: Dish) -> Change | None:
        """What the main button would keep: the aim where it is another, else the setting to cook next; None where nothing would change."""
        recipe, aim, kept = dish.recipe, self.aim(dish), dish.version.recipe if dish.version else dish.recipe
        if self.of_thickness:
            if dish.aim != kept.target and dish.aim is not None:
                return Change(SAVE_AIM, recipe, f"aim {dish.aim.viscosity_pa_s} Pa s")
        elif self.out.value and aim != kept_aim(recipe, self.out.value):
            others = [each for each in recipe.aims if each.column != self.out.value]
            note = f"aim: {aim.text}" if aim else f"no aim for {self.outcome[0]}"
            aims = (*others, *([aim] if aim else []))
            return Change(SAVE_AIM if aim else "Take the aim away", recipe.model_copy(update={"aims": aims}), note)
        made, _ = weighed_out(recipe, self._settings)
        words = weigh(recipe, self._settings)
        if not words or made.mass_g == recipe.mass_g or self._kept(dish, aim) is not None:
            return None
        return Change(f"Change it to {words}", made, f"{words}, for {aim.text if aim else self.outcome[0]}")


def kept_aim(recipe: Recipe, column: str) -> Aim | None:
    """The aim that a recipe keeps for a column; of thickness, the band it should lie in."""
    target = recipe.target if column == THICKNESS else None
    if target is not None:
        return Aim(outcome="viscosity", unit="Pa s", low=target.low_pa_s, high=target.high_pa_s)
    return next((each for each in recipe.aims if each.column == column), None)


def _named(columns: list[str], units: Mapping[str, str]) -> list[tuple[str, str]]:
    return [(f"{name_of(each, units[each])}, {units[each]}", each) for each in columns]
