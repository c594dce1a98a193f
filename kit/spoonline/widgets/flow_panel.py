"""Notebook 5: what fluid is this?"""

from __future__ import annotations

from typing import Any

import ipywidgets as w
import numpy as np

from spoonline import flow
from spoonline.figures import flow_figure
from spoonline.measures import Range
from spoonline.measures.errors import KitchenError, ReadingError
from spoonline.pots import Reading, own_thickness
from spoonline.pots.thickness import FLOW_INDEX, FLOW_INDEX_SD, SOUP_DENSITY_KG_M3
from spoonline.widgets.parts.fields import button, choice, heading
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.markup import escaped, table
from spoonline.widgets.parts.panel import MESSAGES, Message, Panel, errors_on_screen
from spoonline.widgets.parts.texts import sketch, small
from spoonline.widgets.parts.tools import ReadingFields

RATES = (0.01, 0.1, 1.0, 10.0, 50.0, 1000.0)


class FlowPanel(Panel):
    """One reading, or two with different tools: the fluid, what another tool would show, and every doubt."""

    purpose = "the panel that turns a thickness reading into a fluid"

    def __init__(self) -> None:
        self.answer = Message("status", "sl-answer")
        self.how = w.HTML()
        self.reading = ReadingFields()
        self.kept: list[Reading] = []
        self.keep = button("Keep this reading, take another with a second tool", self._keep)
        self.forget = button("Forget the kept reading", self._forget)
        self.kept_said = w.HTML()
        self.figure = FigureBox("flow-curve")
        self.others = w.HTML()
        self.expected = choice("Which test for", [("choose a dish", ""), *[(name, name) for name in flow.EXPECTED]], "")
        self.advice = w.HTML()
        super().__init__(
            [
                self.answer, heading("1. The test"), self.reading.tool, self.how,
                heading("2. The reading"), self.reading, w.HBox([self.keep, self.forget]), self.kept_said, MESSAGES,
                heading("3. The fluid"), self.figure, self.others,
                heading("Not sure which test?"), self.expected, self.advice,
                w.HTML(small(flow.NOT_CLINICAL)),
            ]
        )  # fmt: skip
        above = (self.reading.tool, self.reading.stage)
        self.reading.children = tuple(child for child in self.reading.children if child not in above)
        self.reading.on_change = self._changed
        self.reading.tool.observe(self._tool_changed, "value")
        self.expected.observe(self._advise, "value")
        self.reading.temperature.value = "60"
        self._tool_changed()
        self._changed()

    @errors_on_screen
    def _tool_changed(self, _change: Any = None) -> None:
        tool = self.reading.tool.value
        steps = "".join(f"<li>{escaped(step)}</li>" for step in flow.TOOLS[tool].steps)
        drawing = f"<div style='max-width:22rem'>{sketch(tool)}</div>"
        self.how.value = f"<div style='display:flex;flex-wrap:wrap;gap:1rem'><ol>{steps}</ol>{drawing}</div>"

    @errors_on_screen
    def _keep(self, _button: Any = None) -> None:
        self.kept = [self.reading.reading()]
        self.reading.clear()
        self.kept_said.value = f"<div class='sl-note'>Kept: {_words(self.kept[0])}</div>"
        self.say("Kept. Choose another tool, and read the same food at the same temperature.")
        self._changed()

    @errors_on_screen
    def _forget(self, _button: Any = None) -> None:
        self.kept = []
        self.kept_said.value = ""
        self._changed()

    @errors_on_screen
    def _advise(self, _change: Any = None) -> None:
        if not self.expected.value:
            self.advice.value = ""
            return
        rows = [
            [
                each.tool.name, getattr(each.tool, "seconds", "until it breaks"), f"{each.reading:.2g} {each.tool.unit}",
                _rate(each.shear_rate_per_s), f"{each.spread_percent:.0f}", " ".join(each.doubts),
            ]
            for each in flow.which_test(self.expected.value)
        ]  # fmt: skip
        heads = [("Tool", False), *((name, True) for name in ("Read after, s", "Reading to expect", "Shear rate, 1/s", "95 % spread, %")),
                 ("Doubts", False)]  # fmt: skip
        caption = f"Tests for a {self.expected.value}, the best first (typical figures, from memory)"
        self.advice.value = table(heads, rows, caption)

    @errors_on_screen
    def _changed(self) -> None:
        """Say what fluid it is, as soon as the reading can be used."""
        try:
            readings = [*self.kept, *([] if self.reading.blank else [self.reading.reading()])]
            self._show(readings)
        except KitchenError as err:
            self.answer.say("What fluid is this?", markup=f"<div class='sl-note'>{escaped(err)}</div>")

    def _show(self, readings: list[Reading]) -> None:
        if not readings:
            self.answer.say("Choose the tool, do the five steps, and type what it showed.")
            self.figure.show(None)
            self.others.value = ""
            return
        if len(readings) == 2 and (readings[0].tool, readings[0].settings) == (readings[1].tool, readings[1].settings):
            raise ReadingError(
                "Both readings are of one test; the second must come from another tool to tell how the food thins."
            )
        fluid, ranges, basis = _fluid_of(readings)
        rates = {each.tool: float(each.instrument().shear_rate(fluid)) for each in readings}
        self.figure.show(flow_figure(fluid, rates, ranges))
        one, fifty = ranges[1.0], ranges[50.0]
        self.answer.say(
            f"{one.best:.2g} Pa s at 1 1/s (95 % range {one.low:.2g} to {one.high:.2g}), "
            f"{fifty.best:.2g} Pa s at 50 1/s ({fifty.low:.2g} to {fifty.high:.2g}).",
            markup=f"<div class='sl-note'>{escaped(basis)}</div>",
        )
        flags = "".join(f"<div class='sl-wrong'>{escaped(flag)}</div>" for each in readings for flag in each.flags)
        heads = [("Another tool", False), ("Would show", True), ("At, 1/s", True), ("Doubts", False)]
        self.others.value = flags + table(heads, _others(fluid))


def _words(reading: Reading) -> str:
    own = own_thickness(reading)
    return f"{reading.tool} {reading.mean:.3g} {flow.unit_of(reading.tool)}: {own.range:.2g} Pa s at {own.shear_rate_per_s:.2g} 1/s"


def _fluid_of(readings: list[Reading]) -> tuple[flow.Fluid, dict[float, Range], str]:
    """The fluid, its viscosity with its 95 % range at a few shear rates, and how it was come by."""
    if len(readings) == 1:
        (reading,) = readings
        tool = reading.instrument()
        fluid = tool.fluid(reading.mean, FLOW_INDEX, SOUP_DENSITY_KG_M3)
        ranges = {}
        for rate in RATES:
            ranges[rate] = tool.interval(
                reading.mean, reading.sd, flow_index=FLOW_INDEX, flow_index_sd=FLOW_INDEX_SD,
                density_kg_m3=SOUP_DENSITY_KG_M3, at_shear_rate=rate,
            )  # fmt: skip
        index = f"flow index {FLOW_INDEX}, give or take {FLOW_INDEX_SD}"
        return (
            fluid,
            ranges,
            f"From one tool: how the food thins is taken as usual for starch ({index}). A second tool measures it.",
        )
    tests = [(each.instrument(), each.mean) for each in readings]
    found = flow.fluid_from(tests, SOUP_DENSITY_KG_M3, [each.sd for each in readings])
    basis = f"From two tools: flow index {found.flow_index_range:.2g} (95 % range). {' '.join(found.notes)}"
    return found, {rate: found.viscosity_range(rate) for rate in RATES}, basis


def _others(fluid: flow.Fluid) -> list[list[str]]:
    rows = []
    for name in flow.TOOLS:
        tool = flow.usual(name)
        try:
            read = float(tool.reading(fluid))
            if not np.isfinite(read):
                raise ReadingError("out of its reach")
            rows.append(
                [name, f"{read:.3g} {tool.unit}", f"{float(tool.shear_rate(fluid)):.2g}", " ".join(tool.flags(read))]
            )
        except KitchenError as err:
            rows.append([name, "nothing of use", "", str(err)])
    return rows


def _rate(rate_per_s: float) -> str:
    """A shear rate as people read it: no powers of ten."""
    return f"{rate_per_s:.0f}" if rate_per_s >= 10 else f"{rate_per_s:.2g}"
