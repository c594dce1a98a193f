"""Cooling: the forecast of a pot against a code's limits, the log of one that cools, and how long it keeps after that."""

import math
from dataclasses import replace

import ipywidgets as w
import pandas as pd

from spoonline import keeping
from spoonline.dose import reheating
from spoonline.figures import cooling_figure
from spoonline.measures.errors import ReadingError, or_none
from spoonline.recipes import Pan, Recipe
from spoonline.widgets.parts import fields as form
from spoonline.widgets.parts.drafts import DraftPart, TakeBack, named
from spoonline.widgets.parts.fields import choice, file_field, fill, folded, row, slider, text_area, text_field, two
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.here import dish_choice, remember
from spoonline.widgets.parts.markup import frame_table, notes, paragraphs
from spoonline.widgets.parts.panel import Message, Panel, blank
from spoonline.widgets.parts.typed import day, degrees, figure

WIDE, ROUND, THICK = "a wide pan", "a round pot", "a thick soup"
WEAKEST = (
    "At the weakest heat transfer of each range (memory), this wall, lid and width. Still a lower bound: tested layers of 5 cm missed in a "
    "walk-in fridge and in an ice bath."
)
# How it moves, with a usual viscosity of each [Pa s] (judged); the range of the heat transfer is far wider than the difference.
MOVES = [
    ("stands still", None), ("is thin as stock or milk", 0.002), ("is thick as a cream soup, and stirred all the while", 0.3),
    ("is thick as a stew, and stirred all the while", 3.0),
]  # fmt: skip
THICK_SOUP = {"water": 88, "fat": 4, "protein": 2, "carbohydrate": 4.5, "fibre": 0.5, "ash": 1}


class CoolPart(w.VBox):
    """The forecast; ``panel`` is the form, which says what is wrong."""

    def __init__(self, panel: Panel) -> None:
        self.book, self._panel = panel.book, panel
        self.planned: keeping.Forecast | None = None
        self._of: tuple[Recipe | None, Pan | None] | None = None
        place = keeping.JURISDICTIONS[self.book.habits.jurisdiction]
        self.answer = Message("status", "sl-answer")
        self.title = dish_choice(panel.book, "What cools", also=THICK)
        self.rule = choice("Limits of", list(keeping.cooling_rules()), place.cooling.jurisdiction)
        self.depth = slider("Depth of the food, cm", 5.0, 1.0, 30.0, 0.5)
        self.pans: dict[str, Pan] = {}
        self.pan = choice("It stands in", [(WIDE, WIDE), (ROUND, ROUND)])
        self.width = slider("Inner diameter, cm", 28.0, 8.0, 60.0, 1.0)
        self.material = choice("Wall of that", list(keeping.MATERIALS))
        self.lid = choice("Lid", list(keeping.LIDS))
        self.shelf = choice("That stands on", [("a rack, air below", True), ("a solid shelf", False)], True)
        first = [("nothing: straight to its place", ""), *[(name, name) for name in keeping.SURROUNDINGS]]
        self.first = choice("Before the fridge", first, "")
        self.minutes = slider("Minutes before the fridge", 30, 5, 240, 5)
        self.place = choice("Then it goes into", list(keeping.SURROUNDINGS), "fridge with a fan")
        self.air = slider("Air or water there, C", 3.0, -20.0, 12.0, 0.5)
        self.start = slider("Food at the start, C", 85.0, 65.0, 100.0, 1.0)
        self.stirred = choice("While it cools it", MOVES, None)
        self.figure, self.care, self.passing = FigureBox("cooling-forecast"), w.HTML(), w.HTML()
        often = self.title, self.depth, self.pan, self.width, self.place, self.first, self.minutes
        rare = self.rule, self.material, self.lid, self.shelf, self.air, self.start, self.stirred
        left = [*often, folded("Limits, wall, lid, air, stirring", *rare)]
        passing = folded("What would pass, and what was measured", self.passing)
        super().__init__([two(left, [self.answer, self.figure, self.care]), passing])
        panel.watch(self._place_chosen, self.place)
        panel.watch(lambda: remember(self.book, self.title.value), self.title)
        panel.watch(self.show, *often, *rare)
        self.changed()

    def changed(self) -> None:
        """Dishes and pans that were saved since; what is set stays."""
        self.pans = {pan.name: pan for pan in self.book.kept(Pan) if pan.surface_cm2 is not None}
        with self._panel.filling_in():
            fill(self.title, [(title, title) for title in (*self.book.titles(), THICK)])
            fill(self.pan, [(name, name) for name in (WIDE, ROUND, *self.pans)])
        if self._of != self._given():
            self._panel.attempt(self.show)

    def _given(self) -> tuple[Recipe | None, Pan | None]:
        """What of the logbook the forecast is made of."""
        known = self.title.value in self.book.titles()
        return or_none(self.book.recipe, self.title.value) if known else None, self.pans.get(self.pan.value)

    def _place_chosen(self) -> None:
        with self._panel.filling_in():
            self.air.value = keeping.SURROUNDINGS[self.place.value].ambient_c

    def container(self) -> keeping.Container:
        """The pot as it is set."""
        stands = {"material": self.material.value, "lid": self.lid.value, "on_rack": self.shelf.value}
        if self.pan.value == ROUND:
            stands["diameter_cm"] = self.width.value
        elif self.pan.value != WIDE:
            pan = self.pans[self.pan.value]
            given = {name: getattr(pan, name) for name in ("diameter_cm", "length_cm", "width_cm")}
            stands |= {name: float(value) for name, value in given.items() if value is not None}
        return keeping.Container(self.depth.value, **stands)

    def show(self) -> None:
        """Draw the forecast and say what would pass."""
        form.appear(self.width, self.pan.value == ROUND)
        form.appear(self.minutes, self.first.value)
        self._of = recipe, _ = self._given()
        rule, pot = keeping.cooling_rules()[self.rule.value], self.container()
        thick = keeping.food_of(recipe) if recipe is not None else keeping.food(**THICK_SOUP)
        last = replace(keeping.SURROUNDINGS[self.place.value], ambient_c=self.air.value)
        phases = [(keeping.SURROUNDINGS[self.first.value], self.minutes.value)] if self.first.value else []
        asked = {"start_c": self.start.value, "stirred_pa_s": self.stirred.value, "rule": rule}
        self.planned = keeping.forecast(thick, pot, [*phases, (last, None)], **asked)
        self.answer.say(self.planned.text)
        self.care.value = notes([keeping.LOWER_BOUND], "sl-wrong") + notes([f"Limits: {rule.beside}. {keeping.CODE}"])
        self.figure.show(cooling_figure(self.planned))
        self.passing.value = self._passes(recipe, thick, pot, rule)

    def _passes(
        self, recipe: Recipe | None, thick: keeping.Food, pot: keeping.Container, rule: keeping.CoolingRule
    ) -> str:
        cold = [around for around in keeping.SURROUNDINGS.values() if around.ambient_c < rule.stages[-1][0]]
        deepest = [
            f"more than {keeping.cooling.DEEPEST_CM:g}" if deep == math.inf else deep or "no layer"
            for deep in (keeping.deepest_cm(thick, pot, around, rule, self.stirred.value) for around in cold)
        ]
        rows = [(around.name, around.ambient_c, around.h, deep) for around, deep in zip(cold, deepest, strict=True)]
        heads = ["Where", "Around it, C", "Heat transfer, W/m2 K", "Deepest layer that meets the limits, cm"]
        out = frame_table(pd.DataFrame(rows, columns=heads), WEAKEST, {heads[2]: ".2g", heads[3]: ".1f"})
        if pot.area_m2 is not None:
            litres = pot.area_m2 * pot.depth_cm * 10
            mass = litres * thick.density_kg_m3 / 1000
            melt = keeping.ice_to_melt_kg(mass, rule.start_c, rule.stages[-1][0], thick.heat_capacity_j_kg_k)
            plan = f"at least {melt:.1f} kg of ice melts, so plan {1.25 * melt:.1f} kg and refresh it."
            out += paragraphs(f"Ice bath for these {litres:.1f} L: {plan}")
        if recipe is not None:
            ice = keeping.ice_inside(recipe, min(self.start.value, 95.0), rule.stages[0][0], thick.heat_capacity_j_kg_k)
            out += paragraphs(f"Ice as an ingredient. {ice.text}")
        heads = ["Food", "Depth, cm", "How", "Outcome", "Source"]
        studies = pd.DataFrame(keeping.studies()).drop(columns=["place", "kind"]).set_axis(heads, axis=1)
        return out + frame_table(studies, "What was measured, and does not always agree") + notes([keeping.COOLING])


UNDATED = "Type the day of the first reading above to date it; the shorter home advice is 3 days, the day of preparation being day 1."
EXAMPLE = "14:05 71\n14:35 57\n15:20 38\n16:25 20,5\n19:40 4,8"


class LogPart(w.VBox):
    """The log of one pot; ``panel`` is the form, which says what happened."""

    def __init__(self, panel: Panel) -> None:
        self.book, self._panel = panel.book, panel
        self.verdict = Message("status", "sl-answer")
        place = keeping.JURISDICTIONS[self.book.habits.jurisdiction]
        titles = [(title, title) for title in self.book.titles()]
        self.title = choice("Recipe", [("no dish of this logbook", ""), *titles], "")
        self.batch = choice("Batch", [("no test batch", 0)], 0)
        self.on = text_field("Day of the first reading", "", "2026-01-21; blank is today")
        self.readings = text_area("Readings", "", EXAMPLE, rows=6)
        self.unit = choice("Numbers without a unit are", [("C", "C"), ("F", "F")], "C")
        self.file = file_field("Or a logger's CSV file", ".csv,.txt")
        self.around = text_field("Air or water around it, C", "3")
        self.rule = choice("Limits of", list(keeping.cooling_rules()), place.cooling.jurisdiction)
        self.figure = FigureBox("cooling-log")
        self.advice, self.keeps, self.back = w.HTML(), w.HTML(), w.HTML()
        self.power = text_field("Hob for reheating, W", "2000")
        self.mass = text_field("To reheat, kg", "2")
        # A pot cools for hours: what was read so far survives a restart.
        fields = named(self, "title", "batch", "on", "readings", "unit", "around", "rule")
        self._kept = ""  # the readings that the form saved last: those of another pot are not begun with them
        keep = panel.button("Save this log", self.keep, self.made)
        self.undo = TakeBack(panel, "Take this log back")
        self.draft = DraftPart(panel, "cooling log", fields)
        rare = folded("A logger's file, units, limits", self.file, row(self.unit, self.around, self.rule))
        left = [self.draft, row(self.title, self.batch, self.on), self.readings, rare, w.HBox([keep, self.undo])]
        keeps = folded("How long it keeps, and how it comes back", self.keeps, row(self.mass, self.power), self.back)
        super().__init__([two(left, [self.verdict, self.advice, self.figure]), keeps])
        panel.watch(self._chosen, self.title)
        panel.watch(self._import, self.file)
        panel.watch(self._another, self.batch, self.on)
        panel.watch(self.show, self.readings, self.unit, self.around, self.rule)
        panel.watch(self.show_keeping, self.mass, self.power)
        self.changed()

    def changed(self) -> None:
        """Dishes and pots that were saved since; what is chosen and typed stays."""
        with self._panel.filling_in():
            fill(self.title, [("no dish of this logbook", ""), *[(title, title) for title in self.book.titles()]])
            batches = self.book.dish(self.title.value).batches if self.title.value else ()
            fill(self.batch, [("no test batch", 0), *[(f"batch {each.number}", each.number) for each in batches]])
        self._panel.attempt(self.show)
        self._panel.attempt(self.show_keeping)

    def _chosen(self) -> None:
        with self._panel.filling_in():
            self.batch.value = 0
        self._another()

    def _another(self) -> None:
        """Another pot or another day: a log that was saved stays with its own."""
        self.undo.offer(None)
        with self._panel.filling_in():
            if self.readings.value == self._kept:
                self.readings.value = ""
        self.changed()

    def _import(self) -> None:
        if self.file.value:
            text = bytes(self.file.value[0]["content"]).decode("utf-8", "replace")
            self.readings.value = ""  # where the file cannot be read, nothing of before stands for it
            rows = keeping.read_logger(text, self.unit.value)
            typed = (f"{each.temperature_c} C" if each.typed_f is None else f"{each.typed_f} F" for each in rows)
            self.readings.value = "\n".join(f"{each.minutes} {at}" for each, at in zip(rows, typed, strict=True))

    def made(self) -> keeping.CoolingLog:
        """The log as it stands in the form."""
        around = degrees(self.around.value, "Air or water")
        return keeping.CoolingLog(
            title=self.title.value, batch=self.batch.value, started_on=day(self.on.value), jurisdiction=self.rule.value,
            readings=keeping.read_readings(self.readings.value, self.unit.value), around_c=3.0 if around is None else around,
        )  # fmt: skip

    def show(self) -> None:
        """Show verdict, curve and early forecast."""
        blank(self.verdict, self.advice)
        self.figure.show(None)
        if not self.readings.value.strip():
            self.verdict.say("Not enough readings: type one a line, a time and the temperature at the centre.")
            return
        log = self.made()
        few = log.verdict == "not enough readings"
        self.verdict.say("Not enough readings." if few else f"This pot {log.verdict} ({log.rule.jurisdiction}).")
        lines = [log.next_step, *log.flags]
        if few and len(log.points) > 1:
            try:
                lines.insert(0, keeping.two_point(log.points[-2], log.points[-1], float(log.around_c), log.rule).text)
            except ReadingError as err:
                lines.append(str(err))
        self.advice.value = notes([*lines, f"Limits: {log.rule.beside}."])
        self.figure.show(cooling_figure(log=log))

    def keep(self) -> None:
        """Save the log with its batch."""
        kept = self.undo.keep(self.made(), "the cooling log")
        self._kept = self.readings.value
        self.draft.done()
        where = f"batch {kept.batch} of {kept.title}" if kept.batch else kept.title or "a pot without a recipe"
        self._panel.say(f"Saved the cooling log of {where}: {len(kept.readings)} readings, {kept.verdict}.")

    def show_keeping(self) -> None:
        """Date the dish from its day, and say how to bring it back hot."""
        blank(self.keeps, self.back)
        dish = self.book.dish(self.title.value) if self.title.value else None
        begun, whose = self.on.value.strip(), self.book.habits.jurisdiction
        dated = keeping.last_days(day(begun), whose).text if begun else UNDATED
        self.keeps.value = paragraphs(dated, keeping.freezing(dish.recipe.thickeners_g if dish else []))
        mass, power = figure(self.mass.value, "To reheat", "kg"), figure(self.power.value, "Hob", "W")
        texts = []
        if mass and power:
            took = f"{keeping.reheating_minutes(mass, power):.2g} min (by the share of the heat that gets in)"
            texts.append(f"{mass:g} kg from 5 to 74 C on {power:g} W, stirred: {took}.")
        if dish:
            texts.append(reheating(dish.curve, dish.curve.dose_g_per_l).text if dish.curve else dish.no_curve)
        self.back.value = paragraphs(*texts) + notes([keeping.REHEATING])
