"""What stands below the dose curve: the dish through chill and reheat, and another thickener in its place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as w
from markupsafe import Markup

from spoonline import facts, keeping
from spoonline.dose import DishCurve, Swap, life, reheating, swap
from spoonline.widgets.parts.fields import appear, choice, heading
from spoonline.widgets.parts.markup import bullets, frame_table, notes
from spoonline.widgets.parts.panel import Message, Panel


def stages_html(dish: DishCurve, dose_g_per_l: float) -> Markup:
    """How thick a dose [g/L] is hot, served, chilled and reheated, and what to stir in at the end."""
    rows = [
        {"Stage": view.stage, "Read at, C": view.temperature_c, "Average pot, Pa s (90 %)": view.viscosity, "Rests on": view.basis}
        for view in life(dish, dose_g_per_l)
    ]  # fmt: skip
    caption = f"{dish.recipe.title} at {dose_g_per_l:g} g/L of {dish.thickener}"
    advice = notes([reheating(dish, dose_g_per_l).text, keeping.REHEATING, keeping.LOCAL_CODE])
    return advice + frame_table(rows, caption, {"Average pot, Pa s (90 %)": ".2g"})


class SwapPart(w.VBox):
    """Another thickener for the same thickness.

    Parameters
    ----------
    panel : Panel
        The form, which says what is wrong.
    chosen : callable
        Gives the dish and the dose that is chosen now.
    save : callable
        Saves a swap as the next version.
    """

    def __init__(
        self, panel: Panel, chosen: Callable[[], tuple[DishCurve, float]], save: Callable[[Swap], Any]
    ) -> None:
        self.chosen, self._save = chosen, save
        self.thickener = choice("Instead of it", [("keep it", ""), *((name, name) for name in facts.thickeners())], "")
        self.answer, self.working = Message("status"), w.HTML()
        self.save = panel.button("Save with this thickener as the next version", lambda: save(self.swap()))
        super().__init__([heading("Another thickener"), self.thickener, self.answer, self.working, self.save])
        panel.watch(self.show, self.thickener)
        appear(self.save, False)

    def swap(self) -> Swap:
        """The swap for the dish and dose that are chosen now."""
        dish, dose = self.chosen()
        return swap(dish, self.thickener.value, dose)

    def show(self) -> None:
        """Say what the other thickener would mean."""
        self.answer.say("")
        self.working.value = ""
        appear(self.save, False)
        if not self.thickener.value:
            return
        dish, found = self.chosen()[0], self.swap()
        self.answer.say(f"{found.text} That is {dish.grams(found.dose.best):.3g} g in {dish.recipe.liquid_l:.3g} L.")
        traits = [dict(zip(("What changes", found.old, found.new), each, strict=True)) for each in found.traits]
        others = found.trade_text()
        agree = "What kitchens and handbooks take for the same thickness, and how far they disagree:"
        none = "No handbook kept here gives an equivalent for these two."
        self.working.value = (
            frame_table(traits, "As handbooks say")
            + notes([agree if others else none])
            + bullets(others)
            + notes(found.notes)
        )
        appear(self.save, True)
