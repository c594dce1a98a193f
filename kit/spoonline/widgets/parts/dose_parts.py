"""What stands below the dose curve: the dish through chill and reheat, and another thickener in its place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as w

from spoonline import facts, keeping
from spoonline.dose import DishCurve, Swap, reheating, swap, through_stages
from spoonline.widgets.parts.fields import button, choice, heading
from spoonline.widgets.parts.markup import for_screen, table
from spoonline.widgets.parts.panel import Message


class LifePart(w.VBox):
    """How thick a dose is hot, served, chilled and reheated, and what to stir in at the end."""

    def __init__(self) -> None:
        self.answer = Message("", "sl-note")
        self.stages = w.HTML()
        super().__init__([heading("Through chill and reheat"), self.answer, self.stages])

    def show(self, dish: DishCurve, dose_g_per_l: float) -> None:
        """Show the stages of one dose [g/L]."""
        rows = [
            [view.stage, f"{view.temperature_c:g}", f"{view.viscosity:.2g}", view.basis]
            for view in through_stages(dish, dose_g_per_l)
        ]
        heads = [("Stage", False), ("Read at, C", True), ("Average pot, Pa s (90 %)", True), ("Rests on", False)]
        self.stages.value = table(heads, rows, f"{dish.recipe.title} at {dose_g_per_l:g} g/L of {dish.thickener}")
        self.answer.say(
            reheating(dish, dose_g_per_l).text,
            markup=f"<div>{for_screen(keeping.REHEATING)} {for_screen(keeping.LOCAL_CODE)}</div>",
        )


class SwapPart(w.VBox):
    """Another thickener for the same thickness.

    Parameters
    ----------
    chosen : callable
        Gives the dish and the dose that is chosen now.
    save : callable
        Saves a swap as the next version.
    """

    def __init__(self, chosen: Callable[[], tuple[DishCurve, float]], save: Callable[[Swap], Any]) -> None:
        self.chosen, self._save = chosen, save
        self.swap: Swap | None = None
        self.thickener = choice("Instead of it", [("keep it", ""), *((name, name) for name in facts.thickeners())], "")
        self.answer = Message("status")
        self.working = w.HTML()
        self.save = button("Save with this thickener as the next version", self._pressed)
        super().__init__([heading("Another thickener"), self.thickener, self.answer, self.working, self.save])
        self.answer.say("")
        self.save.layout.display = "none"

    def show(self) -> None:
        """Work the swap out for the dish and dose that are chosen now."""
        self.swap = None
        if not self.thickener.value:
            self.answer.say("")
            self.working.value = ""
            self.save.layout.display = "none"
            return
        dish, dose = self.chosen()
        self.save.layout.display = "none"
        self.swap = found = swap(dish, self.thickener.value, dose)
        self.answer.say(f"{found.text} That is {dish.grams(found.dose.best):.3g} g in {dish.recipe.liquid_l:.3g} L.")
        traits = table(
            [("What changes", False), (found.old, False), (found.new, False)], found.traits, "As handbooks say"
        )
        trade = "".join(f"<li>{for_screen(line)}</li>" for line in found.trade_text())
        others = "No handbook kept here gives an equivalent for these two."
        if trade:
            others = (
                f"What kitchens and handbooks take for the same thickness, and how far they disagree:<ul>{trade}</ul>"
            )
        notes = "".join(f"<div class='sl-note'>{for_screen(note)}</div>" for note in found.notes)
        self.working.value = f"{traits}<div class='sl-note'>{others}</div>{notes}"
        self.save.layout.display = ""

    def _pressed(self, _button: Any = None) -> None:
        if self.swap is not None:
            self._save(self.swap)
