"""Notebook 9, second part: how many pots will I need?"""

from __future__ import annotations

from typing import Any

import ipywidgets as w

from spoonline import facts
from spoonline.dose.rehearsal import Rehearsal, rehearse
from spoonline.measures import Range
from spoonline.measures.errors import AmountError
from spoonline.widgets.parts.panel import SAID, Line, Panel, button, choice, escaped, heading, shown, table, text_field
from spoonline.widgets.parts.typed import figure
from spoonline.widgets.parts.work import LongWork

MOST = 2000  # kitchens: some minutes on a small laptop
ABOUT = (
    "Each invented kitchen has a starch, a liquid and habits of its own, cooks the pots that the kit suggests, boils some away and reads "
    "them with a ring. The right dose is known there, so it can be counted how often it is found. Not a forecast for one kitchen."
)


class RehearsalPanel(Panel):
    """Rehearse the search for a dose in invented kitchens, beside the form, so that it can be stopped at any time."""

    purpose = "the panel that rehearses how many pots a dose takes"

    def __init__(self) -> None:
        self.result: Rehearsal | None = None
        # the invented kitchens thicken with granules of starch; a gum follows other laws
        starches = [row.name for row in facts.thickeners().values() if row.starch_percent > 0]
        self.answer = Line("status", "sl-answer")
        self.table = w.HTML()
        self.thickener = choice("Thickener", starches, "corn starch")
        self.pots = choice("Pots each kitchen cooks", range(1, 6), 3)
        self.band = text_field("Band: times and divided by", "1.2")
        self.kitchens = text_field("Invented kitchens", "60")
        self.seed = text_field("Number of the draw", "1", "the same number gives the same kitchens")
        self.go = button("Rehearse", self._start, primary=True)
        self.work = LongWork(self, self.go)
        super().__init__(
            [
                self.answer, self.table, heading("What to rehearse"), self.thickener, self.pots, self.band, self.kitchens, self.seed,
                self.go, self.work, SAID,
                w.HTML(f"<p class='sl-said'>{escaped(ABOUT)}</p>"),
            ]
        )  # fmt: skip
        self.answer.say("How many pots will I need? Press Rehearse: it takes some seconds.")

    @shown
    def _start(self, _button: Any = None) -> None:
        if self.work.busy:
            return
        ask = {
            "kitchens": _whole(self.kitchens.value, "Invented kitchens", 1, MOST),
            "pots": self.pots.value,
            "thickener": self.thickener.value,
            "band": _band(self.band.value),
            "seed": _whole(self.seed.value, "Number of the draw", 0, 10**9),
        }
        self.say(f"Rehearsing in {ask['kitchens']} kitchens; Stop shows what is done by then.")
        self.work.start(lambda told: rehearse(**ask, progress=told), lambda made: self._show(made, ask), "Stopped.")

    def _show(self, out: Rehearsal, ask: dict[str, Any]) -> None:
        self.result = out
        needed = out.pots_needed
        at = out.pots if needed is None else needed
        many, right, lands = (
            f"{at} {'pot' if at == 1 else 'pots'}",
            *(_of_100(out, each[at]) for each in (out.within_10, out.lands)),
        )
        then = f"the dose is then right within 10 % in {right:.0f} of 100 kitchens (90 % range)"
        text = (
            f"You will need {many}: {then}."
            if needed is not None
            else f"{many} will not do: {then}; 80 of 100 are asked for."
        )
        said = (
            f"The pot after that lands in the band (target times or divided by {out.band:g}) in {lands:.0f} of 100 (90 % range). "
            f"With {ask['thickener']}, in {out.kitchens} invented kitchens."
        )
        self.answer.say(text, markup=f"<div class='sl-said'>{escaped(said)}</div>")
        columns = (out.within_5, out.within_10, out.range_holds, out.lands)
        rows = [[n, *(f"{_of_100(out, column[n]):.0f}" for column in columns)] for n in range(out.pots + 1)]
        heads = [("Pots cooked", True), ("Dose right within 5 %", True), ("Within 10 %", True), ("Its 90 % range held the right dose", True),
                 ("Next pot lands in the band", True)]  # fmt: skip
        self.table.value = table(
            heads, rows, f"Of 100 kitchens; 90 % ranges in brackets, wide because only {out.kitchens} were rehearsed"
        )
        if out.kitchens < ask["kitchens"]:
            self.say(f"Stopped after {out.kitchens} of {ask['kitchens']} kitchens; this is what they show.")
        else:
            self.say(f"Rehearsed in {out.kitchens} kitchens. Next: cook the first pot at the dose of notebook 2.")

    def close_all(self) -> None:
        """Stop what runs, then close the form."""
        self.work.stop()
        super().close_all()


def _of_100(out: Rehearsal, share: float) -> Range:
    return Range(*(100 * each for each in out.share(float(share))))


def _whole(text: str, what: str, least: int, most: int) -> int:
    value = figure(text, what)
    if value is None or value != int(value) or not least <= value <= most:
        raise AmountError(f"{what}: {text!r} came; a whole number from {least} to {most} is wanted.")
    return int(value)


def _band(text: str) -> float:
    value = figure(text, "Band")
    if value is None or not 1 < value <= 5:
        raise AmountError(f"Band: {text!r} came; a factor above 1 and up to 5 is wanted, such as 1,2.")
    return value
