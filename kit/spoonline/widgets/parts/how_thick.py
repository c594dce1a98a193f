"""How thick a dish should be: as a pot was, between two, like what everybody knows, as tasters could tell, or as a number."""

import math
from statistics import fmean

import ipywidgets as w

from spoonline.dish import Dish
from spoonline.dose import aim_as, aim_of, everyday
from spoonline.dose.aims import LEAST_BAND, MOST_BAND
from spoonline.flow import unit_of
from spoonline.logbook import Logbook
from spoonline.measures import Range
from spoonline.pots import CookedPot
from spoonline.pots.thickness import own_tool
from spoonline.recipes import Target
from spoonline.tasters import Session, told_band
from spoonline.widgets.parts.fields import appear, declared, fill, folded, row
from spoonline.widgets.parts.panel import Message
from spoonline.widgets.parts.tools import served_cold_c
from spoonline.widgets.parts.typed import degrees, figure, said, wanted

TASTERS = "tasters"
ASKS = "No aim is set: choose a pot that was right, two pots to lie between, or something as thick."


class HowThick(w.VBox):
    """The aim, chosen in a cook's words or typed; what stands in its fields rules."""

    def __init__(self, book: Logbook) -> None:
        self.book = book
        names = "viscosity_pa_s", "band", "temperature_c", "shear_rate_per_s"
        self.fields = dict(zip(names, declared(self, "how thick, as a number"), strict=True))
        declared(self, "how thick, in words")
        self.message = Message("status", "sl-note")
        self.by_number = folded("How thick, as a number", row(*self.fields.values()))
        super().__init__([self.message, self.by_number])

    def show(self, aim: Target | None) -> None:
        """Put an aim into the fields."""
        for name, field in self.fields.items():
            field.value = f"{getattr(aim, name)}" if aim else ""

    def begin(self, dish: Dish) -> None:
        """The aim of a dish, and its pots that were read to choose from, those that were right first; then what everybody knows."""
        self.show(dish.aim)
        # what is served cold would else be read at 60 C
        self.temperature.value = self.temperature.value or served_cold_c(dish.recipe)
        pots = [pot for pot in dish.pots if pot.thickness is not None and pot.counts]
        told = [(_as_pot(pot), pot.batch.number) for pot in sorted(pots, key=lambda pot: pot.batch.felt != "right")]
        known = [(f"like {each.text}", name) for name, each in everyday().items()]
        band = [("a band as wide as tasters could not tell", TASTERS)] if self._told(dish) else []
        appear(self.other, False)
        fill(self.like, [*told, *known, *band])
        fill(self.other, [(f"and batch {pot.batch.number}: between them", pot.batch.number) for pot in pots])
        self.like.value, self.other.value = "", 0

    def _told(self, dish: Dish) -> Range | None:
        """What tasters of this dish could tell, as a factor; None where no tasting says."""
        means = {number: math.exp(fmean(map(math.log, each))) for number, each in dish.viscosities.items()}
        told = (told_band(session, means) for session in self.book.kept(Session, dish.title))
        return next((each for each in told if each), None)

    def choose(self, dish: Dish) -> str:
        """Put the aim that is chosen in words into the fields; what is to be said of it, or blank.

        Raises
        ------
        KitchenError
            If what was chosen was taken back since.
        """
        chosen = self.like.value
        appear(self.other, isinstance(chosen, int))
        if chosen == TASTERS:
            found = wanted(self._told(dish), "tasting gone")
            self.band.value = f"{min(max(found.best, LEAST_BAND), MOST_BAND):.3g}"
            return f"Of 100 pairs of tasters 75 would tell a factor of {found:.2f} (90 % range)."
        aim: Target | None
        if chosen == "":
            aim = dish.version.recipe.target if dish.version else None
        elif isinstance(chosen, int):
            between = [number for number in dict.fromkeys((chosen, self.other.value)) if number]
            pots = {each.number: each for each in self.book.all_batches(dish.title)}
            gone = [f"{number}" for number in between if number not in pots]
            said.refuse(gone, "pot gone", gone=" and ".join(gone))
            aim = aim_of(*(pots[number] for number in between), now=dish.aim)
        else:
            celsius = degrees(self.temperature.value)
            aim = aim_as(chosen, 60.0 if celsius is None else celsius)
        self.show(aim)
        return ""

    def aim(self, old: Target | None) -> Target | None:
        """The aim as typed; a blank field is as the recipe says, and without a viscosity there is none."""
        viscosity, band = figure(self.viscosity.value, "Target", "Pa s"), figure(self.band.value, "Band")
        rate = figure(self.rate.value, "Shear rate", "1/s")
        typed = zip(self.fields, (viscosity, band, degrees(self.temperature.value), rate), strict=True)
        fields = (old.model_dump() if old else {}) | {name: value for name, value in typed if value is not None}
        return Target(**fields) if "viscosity_pa_s" in fields else None


def _as_pot(pot: CookedPot) -> str:
    """A pot as a choice of how thick: what its tool showed, and how the cook found it."""
    reading = own_tool([pot.batch], None)
    felt = f", {pot.batch.felt}" if pot.batch.felt else ""
    return f"as batch {pot.batch.number}: {reading.mean:.3g} {unit_of(reading.tool)} ({reading.tool}){felt}"
