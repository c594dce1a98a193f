"""Will it cool in time? Sliders for the pot, the forecast against a code's limits, and what would pass."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import ipywidgets as w
import pandas as pd

from spoonline import keeping
from spoonline.figures import cooling_figure
from spoonline.recipes import Pan, Recipe
from spoonline.widgets.parts.fields import appear, choice, heading, slider
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.here import dish_choice
from spoonline.widgets.parts.markup import frame_table, notes, paragraphs
from spoonline.widgets.parts.panel import Message, Panel

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

WIDE, ROUND = "a wide pan", "a round pot"
DEEPEST = "Deepest layer that meets, cm"
THICK_SOUP = {"water": 88, "fat": 4, "protein": 2, "carbohydrate": 4.5, "fibre": 0.5, "ash": 1}


class CoolPart(w.VBox):
    """The forecast; ``panel`` is the form, which says what is wrong."""

    def __init__(self, book: Logbook, panel: Panel) -> None:
        self.book, self._panel = book, panel
        self.planned: keeping.Forecast | None = None
        self.answer = Message("status", "sl-answer")
        self.title = dish_choice(book, "What cools", also="a thick soup")
        self.rule = choice("Limits of", list(keeping.cooling_rules()))
        self.depth = slider("Depth of the food, cm", 5.0, 1.0, 30.0, 0.5)
        self.pan = choice("It stands in", [WIDE])
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
        moves = [("stands still", False), ("is thin, or stirred all the while", True)]
        self.stirred = choice("While it cools it", moves, False)
        self.figure, self.care, self.passing = FigureBox("cooling-forecast"), w.HTML(), w.HTML()
        fields = (
            self.title, self.rule, self.depth, self.pan, self.width, self.material, self.lid, self.shelf, self.first, self.minutes,
            self.place, self.air, self.start, self.stirred,
        )  # fmt: skip
        super().__init__(
            [heading("Will it cool in time?"), self.answer, self.care, *fields, self.figure, heading("What would pass?"), self.passing]
        )  # fmt: skip
        self.show_pans()
        panel.watch(self._place_chosen, self.place)
        panel.watch(self.show, *fields)
        panel.guarded(self.show)

    def show_pans(self) -> None:
        """Offer the pans that were measured."""
        measured = [pan.name for pan in self.book.kept(Pan) if pan.surface_cm2 is not None]
        self.pan.options = [WIDE, ROUND, *measured]

    def _place_chosen(self) -> None:
        with self._panel.filling_in():
            self.air.value = keeping.SURROUNDINGS[self.place.value].ambient_c

    def recipe(self) -> Recipe | None:
        """The recipe that is chosen, if it is one."""
        return self.book.recipe(self.title.value) if self.title.value in self.book.titles() else None

    def container(self) -> keeping.Container:
        """The pot as it is set."""
        size: dict[str, float] = {}
        if self.pan.value == ROUND:
            size = {"diameter_cm": self.width.value}
        elif self.pan.value != WIDE:
            pan = next(each for each in self.book.kept(Pan) if each.name == self.pan.value)
            given = {name: getattr(pan, name) for name in ("diameter_cm", "length_cm", "width_cm")}
            size = {name: float(value) for name, value in given.items() if value is not None}
        return keeping.Container(
            self.depth.value, material=self.material.value, lid=self.lid.value, on_rack=self.shelf.value, **size
        )

    def show(self) -> None:
        """Draw the forecast and say what would pass."""
        appear(self.width, self.pan.value == ROUND)
        appear(self.minutes, self.first.value)
        recipe, rule, pot = self.recipe(), keeping.cooling_rules()[self.rule.value], self.container()
        thick = keeping.food_of(recipe) if recipe is not None else keeping.food(**THICK_SOUP)
        last = replace(keeping.SURROUNDINGS[self.place.value], ambient_c=self.air.value)
        phases = [(keeping.SURROUNDINGS[self.first.value], self.minutes.value)] if self.first.value else []
        self.planned = keeping.forecast(
            thick, pot, [*phases, (last, None)], start_c=self.start.value, stirred=self.stirred.value, rule=rule
        )
        self.answer.say(self.planned.text)
        self.care.value = notes([keeping.LOWER_BOUND], "sl-wrong") + notes([f"Limits: {rule.text}. {keeping.CODE}"])
        self.figure.show(cooling_figure(self.planned))
        self.passing.value = self._passes(recipe, thick, pot, rule)

    def _passes(
        self, recipe: Recipe | None, thick: keeping.Food, pot: keeping.Container, rule: keeping.CoolingRule
    ) -> str:
        rows = [
            {
                "Where": name, "Around it, C": around.ambient_c, "Heat transfer, W/m2 K": around.h,
                DEEPEST: keeping.deepest_cm(thick, pot, around, rule, self.stirred.value) or "no layer",
            }
            for name, around in keeping.SURROUNDINGS.items()
            if around.ambient_c < rule.stages[-1][0]
        ]  # fmt: skip
        out = frame_table(
            rows,
            "At the weakest heat transfer of each range (memory), this wall, lid and width. Still a lower bound: tested layers of 5 cm missed "
            "in a walk-in fridge and in an ice bath.", {"Heat transfer, W/m2 K": ".2g", DEEPEST: ".1f"},
        )  # fmt: skip
        litres = pot.area_m2 * pot.depth_cm * 10 if pot.area_m2 is not None else None
        if litres is not None:
            mass = litres * thick.density_kg_m3 / 1000
            melt = keeping.ice_to_melt_kg(mass, rule.start_c, rule.stages[-1][0], thick.heat_capacity_j_kg_k)
            out += paragraphs(
                f"Ice bath for these {litres:.1f} L: at least {melt:.1f} kg of ice melts, so plan {1.25 * melt:.1f} kg and refresh it."
            )
        if recipe is not None:
            ice = keeping.ice_inside(recipe, min(self.start.value, 95.0), rule.stages[0][0], thick.heat_capacity_j_kg_k)
            out += paragraphs(f"Ice as an ingredient. {ice.text}")
        studies = pd.DataFrame(keeping.studies()).set_axis(["Food", "Depth, cm", "How", "Outcome", "Source"], axis=1)
        return out + frame_table(studies, "What was measured, and does not always agree") + notes([keeping.COOLING])
