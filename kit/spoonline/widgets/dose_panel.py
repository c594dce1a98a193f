"""Notebook 2: how much thickener in the next pot?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.dose import DishCurve, NextBatch, Swap, dish_curve, with_dose
from spoonline.figures import dose_figure
from spoonline.measures.errors import AmountError, BatchError
from spoonline.recipes import Recipe, Target, Version
from spoonline.widgets.parts.dose_parts import LifePart, SwapPart
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.here import also_saved, dish_choice
from spoonline.widgets.parts.panel import Line, Panel, button, choice, escaped, heading, said, shown, table, text_field
from spoonline.widgets.parts.typed import degrees, figure

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

STEP = 0.5


class DosePanel(Panel):
    """Set the thickness: the answer on top, the curve below it, the pots below that, the next step last."""

    purpose = "the panel that sets the dose of thickener"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.dish: DishCurve | None = None
        self.suggestion: NextBatch | None = None
        self.left_out: dict[int, str] = {}
        self.began: int | None = None
        self._busy = False
        self._tall = (0.0, 1.0)
        self.answer = Line("status", "sl-answer")
        self.mark = w.HTML().add_class("sl-mark")
        self.figure = FigureBox("dose-curve", self.mark)
        self._ends: tuple[float, float, float, float] | None = None
        self.title = dish_choice(book)
        self.viscosity = text_field("Target viscosity, Pa s")
        self.band = text_field("Band: times and divided by")
        self.temperature = text_field("Read at, C")
        self.dose = text_field("Or type it, g per litre")
        self.slider = w.FloatSlider(
            description="Dose, g per litre", min=0, max=60, step=STEP, readout_format=".1f", continuous_update=True,
            style={"description_width": "13rem"}, layout=w.Layout(width="min(44rem, 100%)"),
        )  # fmt: skip
        self.dose_said = Line("status", "sl-said")
        self.suggest = button("Suggest the next pot", self._to_suggestion)
        self.pot = choice("Leave a pot out", [("none", 0)], 0)
        self.reason = text_field("Left out because")
        self.leave = button("Leave this pot out", self._leave_out)
        self.count = button("Count all pots again", self._count_all)
        self.pots = w.HTML()
        self.life = LifePart()
        self.swap = SwapPart(lambda: (self._dish(), self.chosen), self._save_swap)
        self.doubts = w.HTML()
        self.note = text_field("Note for the version")
        self.saved: Version | None = None
        self.back = button("Take back", self._take_back)
        self.back.disabled = True
        self.save = button("Save this dose as the next version", self._save, primary=True)
        super().__init__(
            [
                self.answer, self.title, self.figure, self.slider, self.dose, self.dose_said, w.HBox([self.suggest, self.figure.along]),
                heading("What it rests on"), self.doubts, self.pots, self.pot, self.reason, w.HBox([self.leave, self.count]),
                self.life, self.swap, heading("Aim"), self.viscosity, self.band, self.temperature,
                heading("Next step"), self.note, w.HBox([self.save, self.back]),
            ]
        )  # fmt: skip
        self.title.observe(self._title_changed, "value")
        self.slider.observe(self._slid, "value")
        self.dose.observe(self._dose_typed, "value")
        for field in (self.viscosity, self.band, self.temperature):
            field.observe(self._aim_typed, "value")
        self.swap.thickener.observe(self._swap_chosen, "value")
        self.begin(self.title, self._title_changed)

    @shown
    def _title_changed(self, _change: Any = None) -> None:
        recipe = self.book.recipe(self.title.value)
        aim = recipe.target or Target(viscosity_pa_s="0.35")
        self.began = self.book.version(self.title.value).number
        self._busy = True
        self.viscosity.value, self.band.value = f"{aim.viscosity_pa_s}", f"{aim.band}"
        self.temperature.value = f"{aim.temperature_c}"
        self._busy = False
        self.left_out = {}
        self._fit(recipe, aim, start=True)

    @shown
    def _aim_typed(self, _change: Any = None) -> None:
        if not self._busy:
            self._fit(self.book.recipe(self.title.value), self._aim())

    def _aim(self) -> Target:
        old = self.book.recipe(self.title.value).target or Target(viscosity_pa_s="0.35")
        viscosity, band = figure(self.viscosity.value, "Target", "Pa s"), figure(self.band.value, "Band")
        celsius = degrees(self.temperature.value)
        return Target(
            viscosity_pa_s=old.viscosity_pa_s if viscosity is None else viscosity,
            band=old.band if band is None else band,
            temperature_c=old.temperature_c if celsius is None else celsius,
            shear_rate_per_s=old.shear_rate_per_s,
        )

    def _fit(self, recipe: Recipe, aim: Target, *, start: bool = False) -> None:
        recipe = recipe.model_copy(update={"target": aim})
        versions = {each.number: each.recipe for each in self.book.all_versions(self.title.value)}
        batches = [batch for batch in self.book.all_batches(self.title.value) if batch.version in versions]
        self.dish = dish_curve(recipe, batches, versions, leave_out=self.left_out)
        self.suggestion = self.dish.next_batch()
        self.pot.options = [
            ("none", 0),
            *[(f"batch {point.batch.number}", point.batch.number) for point in self.dish.pots],
        ]
        top = max([60.0, 2 * self.suggestion.dose_g_per_l, *(1.3 * point.dose_g_per_l for point in self.dish.pots)])
        self._busy = True
        self.slider.max = 10 * -(-top // 10)
        if start:
            self.slider.value = _step(self.suggestion.dose_g_per_l)
            self.dose.value = f"{self.slider.value:g}"
        self._busy = False
        self._say_answer()
        self._show_pots()
        self._draw_curve()
        self._draw()
        self.say("")

    def _say_answer(self) -> None:
        dish, next_pot = self._dish(), self._suggestion()
        grams = dish.grams(next_pot.dose_g_per_l)
        spoons, spoon_chance = dish.spoons(next_pot.dose_g_per_l)
        text = (
            f"Cook the next pot at {next_pot.dose_g_per_l:.1f} g/L: {grams:.0f} g {dish.thickener} in {dish.recipe.liquid_l:.3g} L. "
            f"{_of_ten(next_pot.chance)} such pots land in the band. "
            f"Weigh it: with level spoons ({spoons}) it would be {_of_ten(spoon_chance, bare=True)}."
        )
        invented = " <b>Invented data.</b>" if dish.recipe.invented else ""
        self.answer.say(text, markup=f"<div class='sl-said'>{escaped(next_pot.reason)}{invented}</div>")

    @shown
    def _slid(self, _change: Any = None) -> None:
        if self._busy:
            return
        self._busy = True
        self.dose.value = f"{_step(self.slider.value):g}"
        self._busy = False
        self._draw()

    @shown
    def _dose_typed(self, _change: Any = None) -> None:
        if self._busy:
            return
        value = figure(self.dose.value, "Dose", "g")
        if value is None or not 0 < value <= 400:
            raise AmountError(f"Dose: {self.dose.value!r} came; grams per litre above 0 and up to 400 are wanted.")
        self._busy = True
        self.slider.max = max(self.slider.max, value)
        self.slider.value = value
        self._busy = False
        self._draw()

    @property
    def chosen(self) -> float:
        """The dose that is chosen now [g/L]."""
        value = figure(self.dose.value, "Dose", "g")
        return self.slider.value if value is None else value

    def _draw(self) -> None:
        dish, dose = self._dish(), self.chosen
        self._draw_mark(dose)
        aim = dish.target
        if dose > 0:
            average, single = dish.curve.viscosity(dose), dish.curve.batch(dose)
            chance = dish.curve.chance(dose, float(aim.viscosity_pa_s), band=float(aim.band))
            spoons, spoon_chance = dish.spoons(dose)
            self.dose_said.say(
                f"{dose:g} g/L is {dish.grams(dose):.1f} g in {dish.recipe.liquid_l:.3g} L ({spoons}): the average pot {average:.2g} Pa s, "
                f"the next single pot {single:.2g} Pa s (90 % ranges); {_of_ten(chance)} pots land in the band, "
                f"{_of_ten(spoon_chance, bare=True)} with level spoons."
            )
            self.life.show(dish, dose)
            if self.swap.swap is not None:
                self.swap.show()
        self.alert.say("")

    def _draw_curve(self) -> None:
        """The figure itself, drawn once a fit; a move of the slider only moves the mark over it."""
        drawn = dose_figure(self._dish(), None, self._suggestion())
        low, high = drawn.figure.axes[0].get_xlim()
        left, right = drawn.upright(low), drawn.upright(high)
        assert left is not None and right is not None
        self._ends = (low, high, left[0], right[0])
        self._tall = left[1:]
        self.figure.show(drawn)

    def _draw_mark(self, dose: float) -> None:
        """A line over the figure at the chosen dose."""
        assert self._ends is not None
        low, high, left, right = self._ends
        if not low <= dose <= high:
            self.mark.value = ""
            return
        across = 100 * (left + (dose - low) / (high - low) * (right - left))
        bottom, top = self._tall
        side = "right:3px" if across > 75 else "left:3px"
        self.mark.value = (
            f'<div style="position:absolute;left:{across:.3f}%;bottom:{100 * bottom:.2f}%;height:{100 * (top - bottom):.2f}%;'
            f'border-left:1.5px solid #1b1b1b" aria-hidden="true"><span style="position:absolute;bottom:2px;{side};white-space:nowrap;'
            f'color:#1b1b1b;background:#ffffffb0;font-size:.95rem;line-height:1.2">{said(f"dose {dose:g} g/L")}</span></div>'
        )

    @shown
    def _swap_chosen(self, _change: Any = None) -> None:
        self.alert.say("")
        self.swap.show()

    @shown
    def _save_swap(self, found: Swap) -> None:
        dish = self._dish()
        recipe = dish.with_dose(found.dose.best, found.new)
        version = self.book.save(
            recipe, parent=self.began, note=self.note.value.strip() or f"{found.new} instead of {found.old}"
        )
        self._keep_saved(version)
        self.swap.thickener.value = ""
        self._fit(version.recipe, self._aim(), start=True)
        self.say(
            f"Saved {version.name} with {recipe.doses_g_per_l[found.new]:.1f} g/L of {found.new}. Its method still reads as before: "
            "mend the wording in notebook 0. Next: cook it and record the batch in notebook 1."
        )

    @shown
    def _to_suggestion(self, _button: Any = None) -> None:
        self.slider.value = _step(self._suggestion().dose_g_per_l)
        self.say(self._suggestion().reason)

    @shown
    def _leave_out(self, _button: Any = None) -> None:
        if not self.pot.value:
            raise BatchError("No pot is chosen; choose one in the list above.")
        if not self.reason.value.strip():
            raise BatchError("The reason is missing; type why this pot does not count, such as 'read cold'.")
        number, reason = self.pot.value, self.reason.value.strip()
        self.left_out[number] = reason
        self._fit(self.book.recipe(self.title.value), self._aim())
        self.reason.value = ""
        self.say(f"Batch {number} is left out here: {reason}. The logbook keeps it.")

    @shown
    def _count_all(self, _button: Any = None) -> None:
        self.left_out = {}
        self._fit(self.book.recipe(self.title.value), self._aim())
        self.say("All pots count again, but for those left out when they were recorded.")

    def _show_pots(self) -> None:
        dish = self._dish()
        rows = [
            [
                point.batch.number, point.batch.version, f"{point.poured_g_per_l:.1f}", f"{100 * point.loss:.1f}", f"{point.dose_g_per_l:.1f}",
                f"{point.thickness.range:.2g}", dish.target.place(point.thickness.viscosity_pa_s).removesuffix(" than"), point.left_out,
            ]
            for point in dish.pots
        ]  # fmt: skip
        heads = [("Batch", True), ("Version", True), ("Poured, g/L", True), ("Evaporated, %", True), ("Counts as, g/L", True),
                 ("Viscosity, Pa s (90 %)", True), ("Against the band", False), ("Left out because", False)]  # fmt: skip
        caption = f"Counts as: the dose that gives the same starch to water when {100 * dish.loss:.0f} % evaporates, as usual here."
        self.pots.value = (
            table(heads, rows, caption)
            if rows
            else "<p class='sl-said'>No pot yet: the curve is the prior of the trade.</p>"
        )
        needed = dish.curve.dose_for(float(dish.target.viscosity_pa_s))
        sentences = [f"The average pot meets the target at {needed:.1f} g/L (90 % range)."] if needed.high < 400 else []
        self.doubts.value = "".join(
            f"<div class='sl-said'>{escaped(text)}</div>" for text in [*sentences, *dish.curve.flags]
        )

    @shown
    def _save(self, _button: Any = None) -> None:
        dish = self._dish()
        recipe = with_dose(dish.recipe, dish.thickener, self.chosen)
        before = self.book.version(self.title.value).number
        note = self.note.value.strip() or f"{dish.thickener} set to {self.chosen:g} g/L"
        version = self.book.save(recipe, note, parent=self.began)
        if version.number == before:
            self.say(f"{version.name} has this dose and this target already; nothing was added.")
            return
        self._keep_saved(version)
        self._fit(version.recipe, self._aim())
        self.say(
            f"Saved {version.name}: {version.recipe.dose_g_per_l:.1f} g/L, {dish.grams(self.chosen):.1f} g {dish.thickener}. "
            "Next: cook it and record the batch in notebook 1." + also_saved(self.book, version)
        )

    def _keep_saved(self, version: Version) -> None:
        self.began, self.saved, self.back.disabled = version.number, version, False

    @shown
    def _take_back(self, _button: Any = None) -> None:
        if self.saved is not None:
            self.book.take_back(self.saved, "taken back in the panel")
            name, self.saved, self.back.disabled = self.saved.name, None, True
            self._title_changed()
            self.say(f"{name} was taken back; it stays in the history of the logbook.")

    def _dish(self) -> DishCurve:
        if self.dish is None:
            raise BatchError("No curve yet; choose a recipe with a thickener and a liquid.")
        return self.dish

    def _suggestion(self) -> NextBatch:
        if self.suggestion is None:
            raise BatchError("No suggestion yet; choose a recipe with a thickener and a liquid.")
        return self.suggestion


def _step(value: float) -> float:
    """Round to the slider's step, so that no float noise is shown."""
    return round(value / STEP) * STEP


def _of_ten(chance: float, *, bare: bool = False) -> str:
    count = round(10 * chance)
    text = f"{count} of 10" if 0 < count < 10 else ("nearly all" if count else "hardly any")
    return text if bare or text[0].isdigit() else text.capitalize() + " of"
