"""The part of a form that takes one thickness reading: tool, settings, what it showed, and what that means at once."""

from collections.abc import Callable, Sequence
from importlib.resources import files
from typing import Any

import ipywidgets as w
from markupsafe import Markup

from spoonline import flow
from spoonline.pots import STAGES, Reading, is_fresh, own_thickness, thickness_at
from spoonline.recipes import Recipe, Target
from spoonline.widgets.parts.fields import declared, laid_out, put_in, row, text_field, watch
from spoonline.widgets.parts.markup import notes, tag
from spoonline.widgets.parts.typed import degrees, figure, figures, said, wanted


def sketch(tool: str) -> str:
    """The drawing of a thickness test as markup; its title says what it shows; nothing where nobody has drawn it."""
    drawing = files("spoonline.widgets.parts") / "sketches" / f"{tool}.svg"
    return drawing.read_text(encoding="utf-8") if drawing.is_file() else ""


def served_cold_c(recipe: Recipe) -> str:
    """Where a dish that is served cold is read [C]: as its aim or its last step says, else as a fridge holds it; blank for any other."""
    if recipe.kind != "cold":
        return ""
    said = [recipe.target.temperature_c] if recipe.target else [step.temperature_c for step in recipe.steps[-1:]]
    return f"{said[0] if said and said[0] is not None else 5}"


class ReadingFields(w.VBox):
    """Fields for one reading, the viscosity shown while you type."""

    on_change: Callable[[], Any] = staticmethod(lambda: None)

    def __init__(self) -> None:
        self.target: Target | None = None
        declared(self, "how it was read", tool=flow.TOOLS, stage=STAGES)
        read, self.settings = declared(self, "a reading"), row()
        self._settings: dict[str, w.Text] = {}
        # How it was read changes rarely; a form may put it further down.
        super().__init__(laid_out(self, "reading"))
        watch(self._tool_changed, self.tool)
        watch(self.show, self.stage, *read)
        self._tool_changed()

    def _tool_changed(self, _change: Any = None) -> None:
        kind = flow.TOOLS[self.tool.value]
        usual, labels = flow.usual_settings(kind.name), kind.labels()
        self._settings = {name: text_field(", ".join(labels[name]), f"{value:g}") for name, value in usual.items()}
        watch(self.show, *self._settings.values())
        put_in(self.settings, self._settings.values())
        label, self.values.placeholder = kind.asks
        self.values.description = f"{label}, {kind.unit.split()[0]}"
        self.show()

    @property
    def fields(self) -> dict[str, w.Widget]:
        """The fields by name, the tool first: the sizes are those of the tool."""
        sizes = {f"size {name}": field for name, field in self._settings.items()}
        return {"tool": self.tool, "stage": self.stage, "temperature": self.temperature, "values": self.values} | sizes

    @property
    def blank(self) -> bool:
        """Whether nothing was read."""
        return not self.values.value.strip()

    def reading(self) -> Reading:
        """The reading as typed; raises `KitchenError` where a field is missing or wrong, and names it."""
        sizes = [field.value for field in self._settings.values()]
        return typed_reading(self.stage.value, self.tool.value, self.temperature.value, self.values.value, sizes)

    def clear(self) -> None:
        """Forget what was read; tool and settings stay for the next one."""
        self.values.value = ""

    def show(self, _change: Any = None) -> None:
        """Say what the reading means, or beside it what is wrong with it."""
        self.message.tell(lambda: "" if self.blank else self.describe(self.reading()), self.temperature, self.values)
        self.on_change()

    def describe(self, reading: Reading) -> Markup:
        """What the reading means, and every doubt about it."""
        own = own_thickness(reading)
        text = f"= {own.range:.2g} Pa s (90 % range) at this tool's shear rate, {own.shear_rate_per_s:.2g} 1/s, and {reading.temperature_c} C"
        kept = STAGES[reading.stage].temperature_c is not None and not is_fresh(reading.stage, self.target)
        if self.target is not None and not kept:  # chilled, a starch dish is another fluid
            aim = thickness_at(reading, self.target)
            band = f"the band {self.target.low_pa_s:.2g}-{self.target.high_pa_s:.2g}"
            text += f"; {aim.text}, {self.target.against_band(aim.viscosity_pa_s)} {band}"
        return tag("span", f"{text}.") + notes(reading.flags, "sl-wrong")


def typed_reading(
    stage: str, tool: str, temperature: str, values: str, sizes: str | Sequence[str] = (), left_out: str = ""
) -> Reading:  # fmt: skip
    """A reading from what was typed; a blank stage is hot, a blank tool the spatula, and without sizes they are the usual ones.

    Raises
    ------
    KitchenError
        If something is missing or wrong; the sentence names it.
    """
    name, when = tool.strip().lower() or "spatula", stage.strip().lower() or "hot"
    kind = flow.tool(name)
    read = figures(values, kind.asks[0], kind.unit.split()[0])
    said.refuse(not read, "no reading")
    celsius = wanted(degrees(temperature, "Temperature of the food"), "no temperature")
    said.refuse(not -5 <= celsius <= 110, "too cold or hot", celsius=celsius)
    settings, labels = flow.usual_settings(name), kind.labels()
    sizes = sizes.split() if isinstance(sizes, str) else sizes
    asked = " and ".join(", ".join(labels[key]) for key in settings) or "none"
    said.refuse(sizes and len(sizes) != len(settings), "sizes", came=len(sizes), tool=name, wanted=asked)
    for key, text in zip(settings, sizes, strict=False):
        label, unit = labels[key]
        settings[key] = wanted(figure(text, label, unit), "no size", name=label, unit=unit)
    read_at = {"temperature_c": round(celsius, 1), "stage": when, "left_out": left_out.strip()}
    return Reading(tool=name, settings=settings, values=read, **read_at)


def reading_cells(reading: Reading) -> list[str]:
    """A reading as the cells that :func:`typed_reading` takes: stage, tool, temperature, values, sizes if they are not usual, and why
    it does not count."""
    usual = flow.usual_settings(reading.tool)
    held = (name for name in dict.fromkeys((*usual, *reading.settings)) if name in reading.settings)
    sizes = {name: float(reading.settings[name]) for name in held}  # a stored one may lack some, or have others
    read = " ".join(f"{value}" for value in reading.values)
    other = "" if sizes == usual else " ".join(f"{size:g}" for size in sizes.values())
    return [reading.stage, reading.tool, f"{reading.temperature_c}", read, other, reading.left_out]
