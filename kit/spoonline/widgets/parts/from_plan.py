"""A pot of a plan, cooked at the stove: what it asks is put into the fields of the pot, and goes with it."""

import ipywidgets as w

from spoonline.effects.plans import PotPlan, weighed_out
from spoonline.pots import Batch
from spoonline.recipes import Recipe
from spoonline.widgets.parts.came_out import CameOut
from spoonline.widgets.parts.effect_view import THICKNESS
from spoonline.widgets.parts.fields import appear, fill
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.pot_lines import PotLines

NO_PLAN = ("none", ("", 0))


class FromPlan(w.Dropdown):
    """The pots of a dish's plans that were not cooked yet, to choose one."""

    def __init__(self, panel: Panel, lines: PotLines, came: CameOut) -> None:
        self._panel, self._lines, self._came = panel, lines, came
        # the fields that the chosen pot filled, and with what
        self.filled = list[tuple[w.Text, str]]()
        super().__init__(options=[NO_PLAN], description="From a plan")

    def offer(self, title: str, opened: Batch | None, chosen: tuple[str, int]) -> None:
        """Offer those of a dish, with the one that is chosen; a pot that is laid open keeps its own."""
        book, own = self._panel.book, chosen if opened else None
        cooked = {(each.plan, each.plan_pot) for each in book.all_batches(title)} - {own}
        offered = {
            (plan.name, pot.number): f"Pot {pot.number} of the plan '{plan.name}': {plan.words(pot.settings)}"
            for plan in book.kept(PotPlan, title)
            for pot in plan.pots
            if (plan.name, pot.number) not in cooked
        }
        if own and own[1]:
            offered.setdefault(own, f"Pot {own[1]} of the plan '{own[0]}', which was taken back")
        fill(self, [NO_PLAN, *((words, pot) for pot, words in offered.items())], chosen)
        appear(offered, self)

    def forget(self) -> None:
        """What the pot chosen before put in goes with it, unless it was typed over."""
        with self._panel.filling_in():
            for field, put in self.filled:
                field.value = "" if field.value == put else field.value
            self._came.forget_planned()
        self.filled = []

    def fill_in(self, title: str, tonight: Recipe) -> bool:
        """What the chosen pot asks stands in the fields; whether one is chosen."""
        self.forget()
        name, number = self.value
        plans = [each for each in self._panel.book.kept(PotPlan, title) if each.name == name]
        for plan in plans[:1]:
            factors = {each.column: each for each in plan.factors}
            settings = dict(zip(factors, map(float, plan.pots[number - 1].settings), strict=True))
            made, typed = weighed_out(tonight, settings)
            self.filled = self._lines.put_in(tonight, made)
            with self._panel.filling_in():
                for column, value in typed.items():
                    self._came.vary(factors[column].name, f"{float(f'{value:.3g}'):g}", factors[column].unit)
                if plan.column != THICKNESS:  # which the tool reads
                    self._came.ask(plan.outcome, plan.unit, plan.stage)
        return bool(plans)
