"""Will it cool in time? Sliders for the pot, the forecast against a code's limits, and what would pass."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline import keeping
from spoonline.figures import cooling_figure
from spoonline.recipes import Pan, Recipe
from spoonline.widgets.parts.fields import choice, heading
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.here import dish_choice
from spoonline.widgets.parts.markup import for_screen, table
from spoonline.widgets.parts.panel import Message
from spoonline.widgets.parts.texts import plain, small

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

WIDE, ROUND = "a wide pan", "a round pot"
THICK_SOUP = {"water": 88, "fat": 4, "protein": 2, "carbohydrate": 4.5, "fibre": 0.5, "ash": 1}


def _slider(label: str, value: float, low: float, high: float, step: float) -> w.FloatSlider:
    return w.FloatSlider(
        value=value, min=low, max=high, step=step, description=label, continuous_update=False, readout_format=".1f",
        style={"description_width": "13rem"}, layout=w.Layout(width="min(34rem, 100%)"),
    )  # fmt: skip


class CoolPart(w.VBox):
    """The forecast; ``guard`` wraps what a change does, so that a wrong input is said in the form."""

    def __init__(self, book: Logbook, guard: Callable[[Callable[[], Any]], Any]) -> None:
        self.book, self._guard = book, guard
        self.planned: keeping.Forecast | None = None
        self.answer = Message("status", "sl-answer")
        self.title = dish_choice(book, "What cools", also="a thick soup")
        self.rule = choice("Limits of", list(keeping.cooling_rules()))
        self.depth = _slider("Depth of the food, cm", 5.0, 1.0, 30.0, 0.5)
        self.pan = choice("It stands in", [WIDE])
        self.width = _slider("Inner diameter, cm", 28.0, 8.0, 60.0, 1.0)
        self.material = choice("Wall of that", list(keeping.MATERIALS))
        self.lid = choice("Lid", list(keeping.LIDS))
        self.shelf = choice("That stands on", [("a rack, air below", True), ("a solid shelf", False)], True)
        first = [("nothing: straight to its place", ""), *[(name, name) for name in keeping.SURROUNDINGS]]
        self.first = choice("Before the fridge", first, "")
        self.minutes = _slider("Minutes before the fridge", 30, 5, 240, 5)
        self.place = choice("Then it goes into", list(keeping.SURROUNDINGS), "fridge with a fan")
        self.air = _slider("Air or water there, C", 3.0, -20.0, 12.0, 0.5)
        self.start = _slider("Food at the start, C", 85.0, 65.0, 100.0, 1.0)
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
        for field in fields:
            field.observe(self._changed, "value")
        self._guard(self.show)

    def show_pans(self) -> None:
        """Offer the pans that were measured."""
        measured = [pan.name for pan in self.book.kept(Pan) if pan.surface_cm2 is not None]
        self.pan.options = [WIDE, ROUND, *measured]

    def _changed(self, change: Any) -> None:
        if change["owner"] is self.place:
            # Its air is set below; that change alone draws anew, unless the two are equal.
            usual = keeping.SURROUNDINGS[self.place.value].ambient_c
            if self.air.value != usual:
                self.air.value = usual
                return
        self._guard(self.show)

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
        self.width.layout.display = "" if self.pan.value == ROUND else "none"
        self.minutes.layout.display = "" if self.first.value else "none"
        recipe, rule, pot = self.recipe(), keeping.cooling_rules()[self.rule.value], self.container()
        thick = keeping.food_of(recipe) if recipe is not None else keeping.food(**THICK_SOUP)
        last = replace(keeping.SURROUNDINGS[self.place.value], ambient_c=self.air.value)
        phases = [(keeping.SURROUNDINGS[self.first.value], self.minutes.value)] if self.first.value else []
        self.planned = keeping.forecast(
            thick, pot, [*phases, (last, None)], start_c=self.start.value, stirred=self.stirred.value, rule=rule
        )
        self.answer.say(self.planned.text)
        self.care.value = f"<p class='sl-wrong'>{for_screen(keeping.LOWER_BOUND)}</p>" + small(
            f"Limits: {rule.text}. {keeping.CODE}"
        )
        self.figure.show(cooling_figure(self.planned))
        self.passing.value = self._passes(recipe, thick, pot, rule)

    def _passes(
        self, recipe: Recipe | None, thick: keeping.Food, pot: keeping.Container, rule: keeping.CoolingRule
    ) -> str:
        rows = []
        for name, around in keeping.SURROUNDINGS.items():
            if around.ambient_c < rule.stages[-1][0]:
                deepest = keeping.deepest_cm(thick, pot, around, rule, self.stirred.value)
                deep = "no layer" if deepest is None else f"{deepest:.1f}"
                rows.append([name, f"{around.ambient_c:g}", f"{around.h:.2g}", deep])
        out = table(
            [("Where", False), ("Around it, C", True), ("Heat transfer, W/m2 K", True), ("Deepest layer that meets, cm", True)], rows,
            "At the weakest heat transfer of each range (memory), this wall, lid and width. Still a lower bound: tested layers of 5 cm missed "
            "in a walk-in fridge and in an ice bath.",
        )  # fmt: skip
        litres = pot.area_m2 * pot.depth_cm * 10 if pot.area_m2 is not None else None
        if litres is not None:
            mass = litres * thick.density_kg_m3 / 1000
            melt = keeping.ice_to_melt_kg(mass, rule.start_c, rule.stages[-1][0], thick.heat_capacity_j_kg_k)
            out += plain(
                f"Ice bath for these {litres:.1f} L: at least {melt:.1f} kg of ice melts, so plan {1.25 * melt:.1f} kg and refresh it."
            )
        if recipe is not None:
            ice = keeping.ice_inside(recipe, min(self.start.value, 95.0), rule.stages[0][0], thick.heat_capacity_j_kg_k)
            out += plain(f"Ice as an ingredient. {ice.text}")
        heads = [("Food", False), ("Depth, cm", True), ("How", False), ("Outcome", False), ("Source", False)]
        rows = [list(study.values()) for study in keeping.studies()]
        return out + table(heads, rows, "What was measured, and does not always agree") + small(keeping.COOLING)
