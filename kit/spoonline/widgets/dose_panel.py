"""Notebook 2: how much thickener in the next pot?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.dish import Dish
from spoonline.dose import DishCurve, Swap
from spoonline.dose.next_batch import in_ten
from spoonline.figures import dose_figure
from spoonline.measures.errors import AmountError, BatchError
from spoonline.recipes import Recipe, Target, Version
from spoonline.recipes.records import MOST_DOSE_G_PER_L
from spoonline.widgets.parts.batch_table import pots_html
from spoonline.widgets.parts.dose_parts import LifePart, SwapPart
from spoonline.widgets.parts.fields import button, choice, heading, text_field
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.here import also_saved, dish_choice
from spoonline.widgets.parts.markup import for_screen
from spoonline.widgets.parts.panel import Message, Panel, errors_on_screen
from spoonline.widgets.parts.typed import degrees, figure

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

STEP = 0.5
POTS = [
    "batch",
    "version",
    "dose_g_per_l",
    "evaporated_percent",
    "curve_dose_g_per_l",
    "viscosity_pa_s",
    "band",
    "left_out",
]


class DosePanel(Panel):
    """Set the thickness: the answer on top, the curve below it, the pots below that, the next step last."""

    purpose = "the panel that sets the dose of thickener"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.dish: Dish | None = None
        self.began: int | None = None
        self._busy = False
        # Where the axes of the figure lie: dose at both ends, and left, right, bottom and top as shares of the picture.
        self._axes = (0.0, 1.0, 0.0, 1.0, 0.0, 1.0)
        self.answer = Message("status", "sl-answer")
        self.mark = w.HTML().add_class("sl-mark")
        self.figure = FigureBox("dose-curve", self.mark)
        self.title = dish_choice(book)
        self.viscosity = text_field("Target viscosity, Pa s", hint="no aim is set: say how thick it should be")
        self.band = text_field("Band: times and divided by", hint="blank: 1.2")
        self.temperature = text_field("Read at, C", hint="blank: 60")
        self.aim = {"viscosity_pa_s": self.viscosity, "band": self.band, "temperature_c": self.temperature}
        self.dose = text_field("Or type it, g per litre")
        self.slider = w.FloatSlider(
            description="Dose, g per litre", min=0, max=60, step=STEP, readout_format=".1f", continuous_update=True,
            style={"description_width": "13rem"}, layout=w.Layout(width="min(44rem, 100%)"),
        )  # fmt: skip
        self.dose_said = Message("status", "sl-note")
        self.suggest = button("Suggest the next pot", self._to_suggestion)
        self.pot = choice("A pot that does not count", [("none", 0)], 0)
        self.reason = text_field("It does not count because")
        self.leave = button("Leave this pot out", self._leave_out)
        self.count = button("Count this pot again", self._count_again)
        self.pots, self.doubts, self.life = w.HTML(), w.HTML(), LifePart()
        self.swap = SwapPart(lambda: (self._curve(), self.chosen), self._save_swap)
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
        for field in self.aim.values():
            field.observe(self._aim_typed, "value")
        self.swap.thickener.observe(self._swap_chosen, "value")
        self.begin(self.title, self._title_changed)

    @errors_on_screen
    def _title_changed(self, _change: Any = None) -> None:
        dish = self.book.dish(self.title.value)
        self.began = dish.number
        self._busy = True
        for name, field in self.aim.items():
            field.value = f"{getattr(dish.aim, name)}" if dish.aim else ""
        self._busy = False
        self._fit(start=True)

    @errors_on_screen
    def _aim_typed(self, _change: Any = None) -> None:
        if not self._busy:
            self._fit()

    def _aim(self, old: Target | None) -> Target | None:
        """The aim as typed; a blank field is as the recipe says, and without a viscosity there is none."""
        typed = {
            "viscosity_pa_s": figure(self.viscosity.value, "Target", "Pa s"), "band": figure(self.band.value, "Band"),
            "temperature_c": degrees(self.temperature.value),
        }  # fmt: skip
        fields = (old.model_dump() if old else {}) | {name: value for name, value in typed.items() if value is not None}
        return Target(**fields) if "viscosity_pa_s" in fields else None

    def _fit(self, *, start: bool = False) -> None:
        dish = self.book.dish(self.title.value)
        self.dish = dish = dish.aiming(self._aim(dish.aim))
        if dish.curve is None:
            self.answer.say("")
            self.figure.show(None)
            self.mark.value = self.pots.value = self.doubts.value = ""
            raise BatchError(dish.no_curve)
        curve = dish.curve
        self.pot.options = [("none", 0), *((f"batch {each.batch.number}", each.batch.number) for each in curve.pots)]
        first = dish.next.dose_g_per_l if dish.next else curve.dose_g_per_l
        top = max([60.0, 2 * first, *(1.3 * point.dose_g_per_l for point in curve.pots)])
        self._busy = True
        self.slider.max = 10 * -(-top // 10)
        if start:
            self.slider.value = round(first / STEP) * STEP
            self.dose.value = f"{self.slider.value:g}"
        self._busy = False
        self._say_answer(dish, curve)
        self._show_pots(dish, curve)
        self._draw_curve(dish, curve)
        self._draw()
        self.say("")

    def _say_answer(self, dish: Dish, curve: DishCurve) -> None:
        text, reason = "No aim is set, so no dose is suggested: type below how thick it should be.", ""
        if dish.next is not None:
            dose, reason = dish.next.dose_g_per_l, dish.next.reason
            spoons, spoon_chance = curve.spoons(dose)
            text = (
                f"Cook the next pot at {dose:.1f} g/L: {curve.grams(dose):.0f} g {curve.thickener} in {dish.recipe.liquid_l:.3g} L. "
                f"{in_ten(dish.next.chance).capitalize()} such pots land in the band. "
                f"Weigh it: with level spoons ({spoons}) it would be {in_ten(spoon_chance or 0.0)}."
            )
        invented = " <b>Invented data.</b>" if dish.recipe.invented else ""
        self.answer.say(text, markup=f"<div class='sl-note'>{for_screen(reason)}{invented}</div>")

    @errors_on_screen
    def _slid(self, _change: Any = None) -> None:
        if self._busy:
            return
        self._busy = True
        self.dose.value = f"{round(self.slider.value / STEP) * STEP:g}"
        self._busy = False
        self._draw()

    @errors_on_screen
    def _dose_typed(self, _change: Any = None) -> None:
        if self._busy:
            return
        value = figure(self.dose.value, "Dose", "g")
        if value is None or not 0 < value <= MOST_DOSE_G_PER_L:
            raise AmountError(
                f"Dose: {self.dose.value!r} came; grams per litre above 0 and up to {MOST_DOSE_G_PER_L:g} are wanted."
            )
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
        curve, dose = self._curve(), self.chosen
        self._draw_mark(dose)
        if dose > 0:
            (spoons, spoon_chance), chance = curve.spoons(dose), curve.chance(dose)
            text = (
                f"{dose:g} g/L is {curve.grams(dose):.1f} g in {curve.recipe.liquid_l:.3g} L ({spoons}): the average pot "
                f"{curve.curve.viscosity(dose):.2g} Pa s, the next single pot {curve.curve.batch(dose):.2g} Pa s (90 % ranges)"
            )
            if chance is not None and spoon_chance is not None:
                text += f"; {in_ten(chance)} pots land in the band, {in_ten(spoon_chance)} with level spoons"
            self.dose_said.say(f"{text}.")
            self.life.show(curve, dose)
            if self.swap.swap is not None:
                self.swap.show()
        self.alert.say("")

    def _draw_curve(self, dish: Dish, curve: DishCurve) -> None:
        """The figure itself, drawn once a fit; a move of the slider only moves the mark over it."""
        drawn = dose_figure(curve, None, dish.next)
        low, high = drawn.figure.axes[0].get_xlim()
        left, right = drawn.upright(low), drawn.upright(high)
        assert left is not None and right is not None
        self._axes = (low, high, left[0], right[0], *left[1:])
        self.figure.show(drawn)

    def _draw_mark(self, dose: float) -> None:
        """A line over the figure at the chosen dose."""
        low, high, left, right, bottom, top = self._axes
        if not low <= dose <= high:
            self.mark.value = ""
            return
        across = 100 * (left + (dose - low) / (high - low) * (right - left))
        side = "right:3px" if across > 75 else "left:3px"
        self.mark.value = (
            f'<div style="position:absolute;left:{across:.3f}%;bottom:{100 * bottom:.2f}%;height:{100 * (top - bottom):.2f}%;'
            f'border-left:1.5px solid #1b1b1b" aria-hidden="true"><span style="position:absolute;bottom:2px;{side};white-space:nowrap;'
            f'color:#1b1b1b;background:#ffffffb0;font-size:.95rem;line-height:1.2">{for_screen(f"dose {dose:g} g/L")}</span></div>'
        )

    @errors_on_screen
    def _swap_chosen(self, _change: Any = None) -> None:
        self.alert.say("")
        self.swap.show()

    @errors_on_screen
    def _save_swap(self, found: Swap) -> None:
        recipe = self._curve().with_dose(found.dose.best, found.new)
        version = self._keep(recipe, f"{found.new} instead of {found.old}")
        self.swap.thickener.value = ""
        self._fit(start=True)
        self.say(
            f"Saved {version.name} with {recipe.doses_g_per_l[found.new]:.1f} g/L of {found.new}. Its method still reads as before: "
            "mend the wording in notebook 0. Next: cook it and record the batch in notebook 1."
        )

    @errors_on_screen
    def _to_suggestion(self, _button: Any = None) -> None:
        dish = self.dish
        if dish is None or dish.next is None:
            raise BatchError(f"No dose is suggested yet: {dish.next_text if dish else 'choose a recipe.'}")
        self.slider.value = round(dish.next.dose_g_per_l / STEP) * STEP
        self.say(dish.next_text)

    @errors_on_screen
    def _leave_out(self, _button: Any = None) -> None:
        if not self.pot.value:
            raise BatchError("No pot is chosen; choose one in the list above.")
        if not self.reason.value.strip():
            raise BatchError("The reason is missing; type why this pot does not count, such as 'read cold'.")
        self._correct(
            self.reason.value.strip(), "is left out here, on the card and in every comparison; the logbook keeps it"
        )
        self.reason.value = ""

    @errors_on_screen
    def _count_again(self, _button: Any = None) -> None:
        self._correct("", "counts again")

    def _correct(self, left_out: str, now: str) -> None:
        """Keep in the logbook whether the chosen pot counts, and why not."""
        number = self.pot.value
        batches = [each for each in self.book.all_batches(self.title.value) if each.number == number]
        if not batches:
            raise BatchError("No pot is chosen; choose one in the list above.")
        self.book.correct(batches[0], left_out=left_out)
        self._fit()
        self.say(f"Batch {number} {now}.")

    def _show_pots(self, dish: Dish, curve: DishCurve) -> None:
        caption = f"Dose on the curve: the dose that gives the same starch to water when {100 * curve.loss:.0f} % evaporates, as usual here."
        none = f"<p class='sl-note'>No pot yet: the curve is what handbooks say of {for_screen(curve.thickener)}.</p>"
        on_curve = dish.table[dish.table["curve_dose_g_per_l"].notna()]
        self.pots.value = pots_html(on_curve, POTS, caption) if len(on_curve) else none
        sentences = [*curve.curve.flags]
        if dish.aim is not None:
            needed = curve.curve.dose_for(float(dish.aim.viscosity_pa_s))
            if needed.high < MOST_DOSE_G_PER_L:
                sentences.insert(0, f"The average pot meets the target at {needed:.1f} g/L (90 % range).")
        self.doubts.value = "".join(f"<div class='sl-note'>{for_screen(text)}</div>" for text in sentences)

    @errors_on_screen
    def _save(self, _button: Any = None) -> None:
        curve = self._curve()
        version = self._keep(curve.with_dose(self.chosen), f"{curve.thickener} set to {self.chosen:g} g/L")
        if self.saved is not version:
            self.say(f"{version.name} has this dose and this target already; nothing was added.")
            return
        self._fit()
        self.say(
            f"Saved {version.name}: {version.recipe.dose_g_per_l:.1f} g/L, {curve.grams(self.chosen):.1f} g {curve.thickener}. "
            "Next: cook it and record the batch in notebook 1." + also_saved(self.book, version)
        )

    def _keep(self, recipe: Recipe, note: str) -> Version:
        """Save the next version, made from the one this form began with."""
        before = self.book.version(self.title.value).number
        version = self.book.save(recipe, self.note.value.strip() or note, parent=self.began)
        if version.number != before:
            self.began, self.saved, self.back.disabled = version.number, version, False
        return version

    @errors_on_screen
    def _take_back(self, _button: Any = None) -> None:
        if self.saved is not None:
            self.book.take_back(self.saved, "taken back in the panel")
            name, self.saved, self.back.disabled = self.saved.name, None, True
            self._title_changed()
            self.say(f"{name} was taken back; it stays in the history of the logbook.")

    def _curve(self) -> DishCurve:
        if self.dish is None or self.dish.curve is None:
            raise BatchError(self.dish.no_curve if self.dish else "No recipe is chosen; choose one above.")
        return self.dish.curve
