"""Notebook 5: what fluid is this?"""

import ipywidgets as w
from markupsafe import Markup

from spoonline import flow
from spoonline.figures import flow_figure
from spoonline.measures import KitchenError, Range
from spoonline.pots import FLOW_INDEX, FLOW_INDEX_SD, SOUP_DENSITY_KG_M3, Reading, own_thickness
from spoonline.widgets.parts.fields import declared, fill, laid_out
from spoonline.widgets.parts.markup import columns_table, frame_table, notes, tag
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.tools import ReadingFields, sketch
from spoonline.widgets.parts.typed import said

RATES = (0.01, 0.1, 1.0, 10.0, 50.0, 1000.0)


class FlowPanel(Panel):
    """One reading, or two with different tools: the fluid, what another tool would show, and every doubt."""

    def __init__(self) -> None:
        super().__init__()
        self.reading = ReadingFields()
        self.tool, self.not_clinical = self.reading.tool, w.HTML(notes([flow.NOT_CLINICAL]))
        self.kept: list[Reading] = []
        declared(self, "which test")
        fill(self.expected, flow.EXPECTED)
        self.lay(*laid_out(self, "flow"), self.bar(self.keep, self.forget))
        self.reading.on_change = lambda: self.guarded(self._changed)
        self.watch(self._tool_changed, self.reading.tool)
        self.watch(self._advise, self.expected)
        self.reading.temperature.value = "60"
        self._tool_changed()
        self._changed()

    def _tool_changed(self) -> None:
        tool = self.reading.tool.value
        steps = tag("ol", *(tag("li", step) for step in flow.TOOLS[tool].steps))
        self.how.value = tag("div", steps, tag("div", Markup(sketch(tool)), class_="sl-sketch"), class_="sl-steps")

    def _keep(self) -> None:
        kept = self.reading.reading()
        self.kept = [kept]
        self.reading.clear()
        unit, own = flow.unit_of(kept.tool), own_thickness(kept)
        self.kept_message.value = notes([said("kept", kept=kept, unit=unit, own=own)])
        self.say("Kept. Choose another tool, and read the same food at the same temperature.")
        self._changed()

    def _forget(self) -> None:
        self.kept = []
        self.kept_message.value = ""
        self._changed()

    def _advise(self) -> None:
        advised = flow.which_test(self.expected.value) if self.expected.value else ()
        rows = [
            {
                "Tool": each.tool.name, "Read after, s": getattr(each.tool, "seconds", "until it breaks"),
                "Reading to expect": f"{each.reading:.2g} {each.tool.unit}", "Shear rate, 1/s": _rate(each.shear_rate_per_s),
                "test_spread_percent": each.spread_percent, "Doubts": " ".join(each.doubts),
            }
            for each in advised
        ]  # fmt: skip
        caption = f"Tests for a {self.expected.value}, the best first (typical figures, from memory)"
        self.advice.value = columns_table(rows, caption)

    def _changed(self) -> None:
        """Say what fluid it is, as soon as the reading can be used."""
        self.figure.show(None)
        self.others.value = ""
        try:
            self._show([*self.kept, *([] if self.reading.blank else [self.reading.reading()])])
        except KitchenError as err:
            self.answer.say("What fluid is this?", markup=notes([err]))

    def _show(self, readings: list[Reading]) -> None:
        if not readings:
            self.answer.say("Choose the tool, do the five steps, and type what it showed.")
            return
        said.refuse(len({(each.tool, str(each.settings)) for each in readings}) < len(readings), "one test")
        fluid, ranges, basis = _fluid_of(readings)
        rates = {each.tool: float(each.instrument().shear_rate(fluid)) for each in readings}
        self.figure.show(flow_figure(fluid, rates, ranges))
        slow, fast = ranges[1.0], ranges[50.0]
        self.answer.say(said("a fluid", slow=slow, fast=fast), markup=notes([basis]))
        flags = notes((flag for each in readings for flag in each.flags), "sl-wrong")
        self.others.value = flags + frame_table([_would_show(name, fluid) for name in flow.TOOLS])


def _fluid_of(readings: list[Reading]) -> tuple[flow.Fluid, dict[float, Range], str]:
    """The fluid, its viscosity with its 95 % range at a few shear rates, and how it was come by."""
    if len(readings) == 1:
        (reading,) = readings
        tool = reading.instrument()
        fluid = tool.fluid(reading.mean, FLOW_INDEX, SOUP_DENSITY_KG_M3)
        known = {"flow_index": FLOW_INDEX, "flow_index_sd": FLOW_INDEX_SD, "density_kg_m3": SOUP_DENSITY_KG_M3}
        ranges = {rate: tool.interval(reading.mean, reading.sd, at_shear_rate=rate, **known) for rate in RATES}
        return fluid, ranges, said("one tool", index=FLOW_INDEX, sd=FLOW_INDEX_SD)
    tests = [(each.instrument(), each.mean) for each in readings]
    found = flow.fluid_from(tests, SOUP_DENSITY_KG_M3, [each.sd for each in readings])
    basis = said("two tools", index=found.flow_index_range, notes=" ".join(found.notes))
    return found, {rate: found.viscosity_range(rate) for rate in RATES}, basis


def _would_show(name: str, fluid: flow.Fluid) -> dict[str, object]:
    tool = flow.usual(name)
    shows, rate = "no usable reading", ""
    try:
        read = float(tool.reading(fluid))
        shows, doubts = f"{read:.3g} {tool.unit}", " ".join(tool.flags(read))
        rate = f"{float(tool.shear_rate(fluid)):.2g}"
    except KitchenError as err:
        doubts = str(err)
    return {"Another tool": name, "Would show": shows, "At, 1/s": rate, "Doubts": doubts}


def _rate(rate_per_s: float) -> str:
    """A shear rate as people read it: no powers of ten."""
    return f"{rate_per_s:.0f}" if rate_per_s >= 10 else f"{rate_per_s:.2g}"
