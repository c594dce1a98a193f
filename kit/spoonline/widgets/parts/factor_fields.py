"""The fields of one quantity that is changed from pot to pot."""

from __future__ import annotations

from typing import Any

import ipywidgets as w

from spoonline.effects.two_factor_plan import Factor
from spoonline.measures.errors import AmountError
from spoonline.widgets.parts.fields import choice, text_field
from spoonline.widgets.parts.typed import figure

STEPS = [("equal ratio (doses, times)", True), ("equal difference (temperatures, shares)", False)]


class FactorFields(w.VBox):
    """What one asks of a quantity that is changed: name, unit, low and high setting, and its steps."""

    def __init__(self, which: str, example: list[Any]) -> None:
        name, unit, low, high, by_ratio = example
        self.which = which
        self.name = text_field(f"{which} quantity", name)
        self.unit = text_field(f"{which} unit", unit)
        self.low = text_field(f"{which} low setting", low)
        self.high = text_field(f"{which} high setting", high)
        self.steps = choice(f"{which} steps of", STEPS, by_ratio)
        super().__init__([self.name, self.unit, self.low, self.high, self.steps])

    @property
    def value(self) -> list[Any]:
        """What stands in the fields, in their order."""
        return [field.value for field in self.children]

    @value.setter
    def value(self, values: list[Any]) -> None:
        for field, value in zip(self.children, values, strict=True):
            field.value = value

    def factor(self) -> Factor:
        """What was typed.

        Raises
        ------
        KitchenError
            If something is missing or spans nothing.
        """
        name, unit = self.name.value.strip(), self.unit.value.strip()
        if not (name and unit):
            raise AmountError(
                f"{self.which} quantity: its name or its unit is missing; type such as 'simmering' and 'min'."
            )
        low, high = (
            figure(each.value, f"{name}, {each.description.split(' ', 1)[1]}", unit) for each in (self.low, self.high)
        )
        if low is None or high is None:
            raise AmountError(f"{name}: a low and a high setting are wanted, such as 25 and 36 {unit}.")
        return Factor(name, unit, low, high, self.steps.value)
