"""Notebook 8: will it cool, keep and be ready?"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.keeping import HOT_LIQUID, HOT_SUGAR, LOCAL_CODE, PRESSURE, PSI_PA, boiling_c
from spoonline.widgets.parts.cool_part import CoolPart
from spoonline.widgets.parts.cooling_log_part import LogPart
from spoonline.widgets.parts.dinner_part import DinnerPart
from spoonline.widgets.parts.fields import heading, text_field
from spoonline.widgets.parts.panel import MESSAGES, Panel, errors_on_screen
from spoonline.widgets.parts.texts import plain, small
from spoonline.widgets.parts.typed import figure

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


class MakeAheadPanel(Panel):
    """Forecast, log, keeping, plan; each caution beside its number."""

    purpose = "the panel for a dish made ahead"

    def __init__(self, book: Logbook) -> None:
        self.altitude = text_field("Kitchen above sea level, m", "0")
        self.boil = w.HTML()
        # The parts call back while they are built, before the form has its lines; what they say then is shown after.
        self._early: list[Callable[[], Any]] = []
        self.cool = CoolPart(book, self._guarded)
        self.log_part = LogPart(book, self.say, self._guarded)
        self.dinner = DinnerPart(book, self.say, self._guarded)
        care = w.HTML(small(HOT_LIQUID, PRESSURE, HOT_SUGAR, LOCAL_CODE))
        rest = [heading("Pressure, height, hot sugar"), self.altitude, self.boil, care]
        super().__init__([self.cool, MESSAGES, self.log_part, self.dinner, *rest])
        self.altitude.observe(self._height, "value")
        for act in self._early:
            self._guarded(act)
        self._height()

    def _guarded(self, act: Callable[[], Any]) -> None:
        if not hasattr(self, "status"):
            self._early.append(act)
            return
        self._act(act)

    @errors_on_screen
    def _act(self, act: Callable[[], Any]) -> None:
        self.alert.say("")
        act()

    @errors_on_screen
    def _height(self, _change: Any = None) -> None:
        metres = figure(self.altitude.value, "Height", "m") or 0.0
        open_pot, ten, fifteen = (boiling_c(metres, psi * PSI_PA) for psi in (0, 10, 15))
        self.boil.value = plain(
            f"At {metres:g} m water boils at {open_pot:.1f} C; in a pressure cooker 10 psi (0.69 bar) above the air at {ten:.1f} C, at 15 psi "
            f"(1.03 bar) at {fifteen:.1f} C. The weather moves this by about 0.5 C; a lower boil cooks slower and cereal starch swells less."
        )
