"""The part of a form that takes one thickness reading: tool, settings, what it showed, and what that means at once."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import ipywidgets as w

from spoonline import flow
from spoonline.measures.errors import KitchenError, ReadingError
from spoonline.pots import STAGES, Reading, own_thickness, thickness_at
from spoonline.recipes import Target
from spoonline.widgets.parts.panel import Line, choice, text_field
from spoonline.widgets.parts.typed import degrees, figure, figures

LABELS = {"radius_cm": ("Ring, inner radius", "cm"), "height_cm": ("Ring, fill height", "cm"), "seconds": ("Seconds after", "s"),
          "length_cm": ("Spatula, wet length", "cm"), "width_cm": ("Spatula, width", "cm"),
          "volume_ml": ("Filled with", "mL")}  # fmt: skip
ASKS = {
    "spatula": ("Held per wet side", "g, such as 1,6 1,7"),
    "ring": ("Radii, four if you can", "cm, such as 6,7 6,8 6,9 6,8"),
    "trough": ("Distance from the gate", "cm, such as 12,5"),
    "syringe": ("Left in the syringe", "mL, such as 4,5"),
    "flow cup": ("Time until the stream breaks", "s, such as 32"),
}


class ReadingFields(w.VBox):
    """Fields for one reading, the viscosity said back while one types."""

    def __init__(self, on_change: Any = None) -> None:
        self.target: Target | None = None
        self.on_change = on_change
        self.tool = choice("Tool", list(ASKS), "spatula")
        self.stage = choice("Stage", STAGES, "hot")
        self.temperature = text_field("Temperature of the food", "", "C, such as 62")
        self.settings = w.VBox()
        self.values = text_field("", "", live=True)
        self.said = Line("status", "sl-said")
        self._settings: dict[str, w.Text] = {}
        super().__init__([self.stage, self.tool, self.temperature, self.settings, self.values, self.said])
        self.tool.observe(self._tool_changed, "value")
        for field in (self.stage, self.temperature, self.values):
            field.observe(self._say, "value")
        self._tool_changed()

    def _tool_changed(self, _change: Any = None) -> None:
        usual = flow.usual_settings(self.tool.value)
        for field in self._settings.values():
            field.close()
        self._settings = {
            name: text_field(f"{LABELS[name][0]}, {LABELS[name][1]}", f"{value:g}") for name, value in usual.items()
        }
        for field in self._settings.values():
            field.observe(self._say, "value")
        self.settings.children = list(self._settings.values())
        label, hint = ASKS[self.tool.value]
        self.values.description, self.values.placeholder = (
            f"{label}, {flow.unit_of(self.tool.value).split()[0]}",
            hint,
        )
        self._say()

    @property
    def watched(self) -> tuple[w.Widget, ...]:
        """The fields whose change a draft keeps."""
        return (self.tool, self.stage, self.temperature, self.values)

    @property
    def typed(self) -> dict[str, Any]:
        """What was typed, by field; nothing where no reading was begun."""
        if self.blank and not self.temperature.value:
            return {}
        settings = {name: field.value for name, field in self._settings.items()}
        return {
            "tool": self.tool.value, "stage": self.stage.value, "temperature": self.temperature.value, "values": self.values.value,
            "settings": settings,
        }  # fmt: skip

    def take_up(self, fields: dict[str, Any]) -> None:
        """Put typed fields back."""
        if "tool" not in fields:
            return
        self.tool.value, self.stage.value = fields["tool"], fields["stage"]
        for name, value in fields["settings"].items():
            if name in self._settings:
                self._settings[name].value = value
        self.temperature.value, self.values.value = fields["temperature"], fields["values"]

    @property
    def blank(self) -> bool:
        """Whether nothing was read."""
        return not self.values.value.strip()

    def reading(self) -> Reading:
        """The reading as typed.

        Raises
        ------
        KitchenError
            If a field is missing or wrong; the sentence names it.
        """
        unit = flow.unit_of(self.tool.value)
        values = figures(self.values.value, ASKS[self.tool.value][0], unit.split()[0])
        if not values:
            raise ReadingError("No reading came; type what the tool showed, or leave the whole part blank.")
        celsius = degrees(self.temperature.value, "Temperature of the food")
        if celsius is None:
            raise ReadingError("The temperature of the food is missing; thickness changes with it, so type it in C.")
        settings: dict[str, float] = {}
        for name, field in self._settings.items():
            value = figure(field.value, LABELS[name][0], LABELS[name][1])
            if value is None:
                raise ReadingError(f"{LABELS[name][0]} is missing; type it in {LABELS[name][1]}.")
            settings[name] = value
        return Reading(
            tool=self.tool.value, settings={name: Decimal(str(value)) for name, value in settings.items()},
            values=[Decimal(str(value)) for value in values], temperature_c=Decimal(str(round(celsius, 1))), stage=self.stage.value,
        )  # fmt: skip

    def clear(self) -> None:
        """Forget what was read; tool and settings stay for the next one."""
        self.values.value = ""

    def _say(self, _change: Any = None) -> None:
        if self.blank:
            self.said.say("")
        else:
            try:
                text, flags = self.describe(self.reading())
                self.said.say(text, markup="".join(f"<br><span class='sl-wrong'>{flag}</span>" for flag in flags))
            except KitchenError as err:
                self.said.wrong(str(err))
        if self.on_change is not None:
            self.on_change()

    def describe(self, reading: Reading) -> tuple[str, tuple[str, ...]]:
        """The reading in words, and every flag as a sentence."""
        own = own_thickness(reading)
        text = f"= {own.range:.2g} Pa s (90 % range) at the test's own {own.shear_rate_per_s:.2g} 1/s and {reading.temperature_c} C"
        if self.target is not None:
            aim = thickness_at(reading, self.target)
            place = self.target.against_band(aim.viscosity_pa_s)
            text += (
                f"; at {aim.shear_rate_per_s:g} 1/s and {aim.temperature_c:g} C {aim.range:.2g} Pa s, "
                f"{place} the band {self.target.low_pa_s:.2g}-{self.target.high_pa_s:.2g}"
            )
        return text + ".", reading.flags


def reading_of(stage: str, tool: str, temperature: str, values: str, *, number: int = 1) -> Reading:
    """A reading from four typed cells, with the tool's usual sizes; a blank stage is hot, a blank tool the spatula.

    Raises
    ------
    ReadingError
        If a cell is missing or wrong; the sentence names its row.
    """
    name, when = tool.strip().lower() or "spatula", stage.strip().lower() or "hot"
    if name not in ASKS:
        raise ReadingError(f"Row {number}: there is no tool {tool!r} here; write {', '.join(ASKS)}.")
    if when not in STAGES:
        raise ReadingError(f"Row {number}: there is no stage {stage!r}; write {', '.join(STAGES)}.")
    celsius = degrees(temperature, f"Row {number}, temperature")
    shown = figures(values, f"Row {number}, {ASKS[name][0].lower()}", flow.unit_of(name).split()[0])
    if celsius is None or not shown:
        raise ReadingError(
            f"Row {number}: the temperature and what the tool showed are both wanted, or leave the row blank."
        )
    return Reading(
        tool=name, settings={key: Decimal(str(value)) for key, value in flow.usual_settings(name).items()},
        values=[Decimal(str(value)) for value in shown], temperature_c=Decimal(str(round(celsius, 1))), stage=when,
    )  # fmt: skip
