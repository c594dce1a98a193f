"""Notebook 8: will it cool, keep and be ready?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as w

from spoonline.keeping import HOT_LIQUID, HOT_SUGAR, LOCAL_CODE, PRESSURE, PSI_PA, boiling_c
from spoonline.widgets.parts.cool_part import CoolPart
from spoonline.widgets.parts.cooling_log_part import LogPart
from spoonline.widgets.parts.dinner_part import DinnerPart
from spoonline.widgets.parts.fields import heading, text_field
from spoonline.widgets.parts.markup import notes, paragraphs
from spoonline.widgets.parts.panel import MESSAGES, Panel
from spoonline.widgets.parts.typed import figure

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


class MakeAheadPanel(Panel):
    """Forecast, log, keeping, plan; each caution beside its number."""

    purpose = "the panel for a dish made ahead"

    def __init__(self, book: Logbook) -> None:
        self.altitude = text_field("Kitchen above sea level, m", "0")
        self.boil = w.HTML()
        self.cool, self.log_part, self.dinner = CoolPart(book, self), LogPart(book, self), DinnerPart(book, self)
        care = w.HTML(notes([HOT_LIQUID, PRESSURE, HOT_SUGAR, LOCAL_CODE]))
        rest = [heading("Pressure, height, hot sugar"), self.altitude, self.boil, care]
        super().__init__([self.cool, MESSAGES, self.log_part, self.dinner, *rest])
        self.watch(self._height, self.altitude)
        self._height()

    def _height(self) -> None:
        metres = figure(self.altitude.value, "Height", "m") or 0.0
        open_pot, ten, fifteen = (boiling_c(metres, psi * PSI_PA) for psi in (0, 10, 15))
        self.boil.value = paragraphs(
            f"At {metres:g} m water boils at {open_pot:.1f} C; in a pressure cooker 10 psi (0.69 bar) above the air at {ten:.1f} C, at 15 psi "
            f"(1.03 bar) at {fifteen:.1f} C. The weather moves this by about 0.5 C; a lower boil cooks slower and cereal starch swells less."
        )
