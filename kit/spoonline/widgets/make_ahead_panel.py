"""Notebook 8: will it cool, keep and be ready?"""

import re
from datetime import date, timedelta
from importlib.resources import files

import ipywidgets as w

from spoonline import keeping
from spoonline.card import file_name
from spoonline.figures import dinner_figure
from spoonline.logbook import Logbook
from spoonline.measures.errors import RecipeError
from spoonline.recipes import OwnTrim, ShoppingList
from spoonline.widgets.parts.cooling import CoolPart, LogPart
from spoonline.widgets.parts.drafts import DraftPart, TakeBack, named
from spoonline.widgets.parts.fields import choice, fill, folded, heading, row, text_area, text_field, two
from spoonline.widgets.parts.markup import download, fold, notes, paragraphs
from spoonline.widgets.parts.panel import Message, Panel, blank
from spoonline.widgets.parts.sheets import checklist_html
from spoonline.widgets.parts.typed import figure, in_store

EXAMPLE = (files("spoonline.widgets.parts") / "templates" / "dinner.txt").read_text(encoding="utf-8").strip()
STAGE = (
    "A stage: what; hands+waiting minutes; tools; day 2 to 1 (days before); keeps 3 (its own day is day 1); within 30 min (of the next "
    "stage, or of serving); alone (nobody need be there); what it does to the food where its words do not say it: heat, reheat, hold, "
    "chill, freeze, thaw, prepare, cold (of what is made cold)."
)
HOURS = "2: 14:00-18:00\n1: 14:00-18:00\n0: 9:00-12:30"
EXAMPLE_DINNER = {
    "name": "Winter lunch", "guests": "24", "dishes": EXAMPLE, "tools": "burner 2, oven 1, large pot 1",
    "hours": HOURS,
}  # fmt: skip
_FREE = re.compile(r"(\d)\s*[:;,]?\s+(\d{1,2}[:.]\d{2})\s*(?:-|\u2013|to)\s*(\d{1,2}[:.]\d{2})")


def read_hours(text: str) -> list[keeping.FreeHours]:
    """Read free hours, one stretch a line: days before, then from and to, such as ``1: 14:00-17:00``.

    Raises
    ------
    RecipeError
        If a line is no such stretch.
    """
    found = []
    for line in (each.strip() for each in text.splitlines() if each.strip()):
        read = _FREE.fullmatch(line)
        if read is None:
            raise RecipeError(f"{line[:40]!r} came; write days before and a stretch, such as 1: 14:00-17:00.")
        start, end = (each.replace(".", ":").zfill(5) for each in read.groups()[1:])
        found.append(keeping.FreeHours(day=int(read[1]), start=start, end=end))
    return found


class DinnerPart(w.VBox):
    """The plan; ``panel`` is the form, which says what happened."""

    def __init__(self, panel: Panel) -> None:
        self.book, self._panel = panel.book, panel
        self.plan: keeping.Plan | None = None
        self.bought: ShoppingList | None = None
        self.answer = Message("status", "sl-answer")
        self.load = choice("Begin from", [("an example", "")])
        self.name, self.guests, self.tools = text_field("Dinner"), text_field("Guests"), text_field("Tools")
        self.at = text_field("Served at", "", "2026-01-22 12:30")
        self.dishes = text_area("Dishes and stages")
        self.hours = text_area("Cook's free hours", rows=3)
        self._fill(EXAMPLE_DINNER | {"at": f"{date.today() + timedelta(days=7)} 12:30"})
        self.store = text_area("What you have already", "", "onions: 500 g\nbutter: 1 stick", rows=2)
        self.chart, self.care, self.files, self.shopping = (w.HTML() for _ in range(4))
        fields = named(self, "name", "at", "guests", "dishes", "hours", "tools", "store")
        keep = panel.button("Save this dinner", self.keep, self.dinner)
        self.undo = TakeBack(panel, "Take this dinner back")
        self.draft = DraftPart(panel, "dinner", fields)
        plan = panel.button("Plan it", self.make, self.dinner, primary=True)
        prints = panel.printer("Print the checklist", self.checklist)
        when = row(self.load, self.name, self.at, self.guests)
        stage = w.HTML(fold("How a stage is written", STAGE))
        does = w.HBox([plan, prints, keep, self.undo])
        left = [self.draft, when, self.dishes, stage, self.hours, self.tools, self.store, does]
        right = [self.answer, self.chart, self.care, self.files, self.shopping]
        super().__init__([two(left, right)])
        panel.watch(self._loaded, self.load)
        panel.watch(self._blank, *fields.values())
        self.changed()

    def changed(self) -> None:
        """Offer the dinners of the logbook as they are now; a plan on the screen is made anew, and what is typed stays."""
        with self._panel.filling_in():
            fill(self.load, [("an example", ""), *[(each.name, each.name) for each in self.book.kept(keeping.Dinner)]])
        if self.plan is not None:
            self._panel.attempt(self.make)

    def _fill(self, fields: dict[str, str]) -> None:
        for name, text in fields.items():
            getattr(self, name).value = text

    def _loaded(self) -> None:
        """The dinner that is chosen in place of what stands there."""
        kept = next((each for each in self.book.kept(keeping.Dinner) if each.name == self.load.value), None)
        if kept is None:
            self._fill(EXAMPLE_DINNER)
            return
        self._fill({
            "name": kept.name, "guests": str(kept.guests), "at": f"{kept.serve_at:%Y-%m-%d %H:%M}",
            "hours": "\n".join(f"{each.day}: {each.start:%H:%M}-{each.end:%H:%M}" for each in kept.free),
            "tools": ", ".join(f"{name} {count}" for name, count in kept.tools.items()), "dishes": kept.note,
        })  # fmt: skip

    def _blank(self) -> None:
        """What was planned of other figures goes."""
        self.plan = None
        blank(self.answer, self.chart, self.care, self.files, self.shopping)

    def dinner(self) -> keeping.Dinner:
        """The dinner as it stands in the form."""
        tools = {}
        for part in filter(None, (each.strip() for each in self.tools.value.split(","))):
            found = re.fullmatch(r"(.+?)\s*[:x]?\s*(\d+)", part)
            if found is None:
                raise RecipeError(f"{part!r} came; write a tool and how many there are, such as burner 2.")
            tools[found[1].lower()] = int(found[2])
        guests = figure(self.guests.value, "Guests")
        return keeping.Dinner(
            name=self.name.value, serve_at=self.at.value, guests=int(guests or 0), dishes=keeping.read_dishes(self.dishes.value),
            free=read_hours(self.hours.value), tools=tools, note=self.dishes.value,
        )  # fmt: skip

    def make(self) -> None:
        """Plan it, and show chart, cautions, files and list."""
        self._blank()
        whose = self.book.habits.jurisdiction
        self.plan = made = keeping.plan(self.dinner(), jurisdiction=whose)
        self.answer.say(made.text)
        if not made.fits:
            return
        known = [self.book.recipe(dish.title) for dish in made.dinner.dishes if dish.title in self.book.titles()]
        trims, store = self.book.kept(OwnTrim), in_store(self.store.value)
        self.bought = keeping.shopping_for(made, known, trims, store) if known else None
        self.chart.value = dinner_figure(made)._repr_html_()
        care = dict.fromkeys(text for task in made.tasks for text in keeping.cautions_for(task.stage.text))
        self.care.value = notes([*keeping.use_by(made), *care, keeping.JURISDICTIONS[whose].text])
        name = file_name(made.dinner.name)
        self.files.value = download(f"{name}.html", "text/html", self.checklist(), "Checklist to print, a page a day")
        self.files.value += download(f"{name}.ics", "text/calendar", keeping.calendar(made), "Calendar file")
        if self.bought is not None:
            self.shopping.value = f"<h2>What to buy for {made.dinner.guests}</h2>{self.bought._repr_html_()}"

    def checklist(self) -> str:
        """The page to print of the plan that stands on the screen."""
        if self.plan is None or not self.plan.fits:
            raise RecipeError("There is no plan to print yet; press Plan it, and mend what it says.")
        return checklist_html(self.plan, self.bought)

    def keep(self) -> None:
        """Save the dinner; a later one of the same name takes its place."""
        kept = self.undo.keep(self.dinner(), f"the dinner {self.name.value}")
        self.draft.done()
        self._panel.look()
        self._panel.say(f"Saved: {kept.name}, {kept.serve_at:%Y-%m-%d %H:%M}, for {kept.guests}.")


class MakeAheadPanel(Panel):
    """A dish made ahead: will it cool, how long does it keep, and the plan of a dinner; each caution beside its number."""

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.altitude = text_field("Kitchen above sea level, m", "0")
        self.boil = w.HTML()
        self.cool, self.log_part, self.dinner = CoolPart(self), LogPart(self), DinnerPart(self)
        care = w.HTML(notes([keeping.HOT_LIQUID, keeping.PRESSURE, keeping.HOT_SUGAR, keeping.LOCAL_CODE]))
        super().__init__([
            heading("Will it cool in time?"), self.cool, folded("The cooling log of a pot, and how long it keeps", self.log_part),
            folded("The plan for a dinner", self.dinner), folded("Pressure, height, hot sugar", self.altitude, self.boil, care), self.bar(),
        ])  # fmt: skip
        self.watch(self._height, self.altitude)
        self._height()

    def changed(self) -> None:
        """Dishes, pots, pans and dinners that were saved since; what is typed stays."""
        for part in (self.cool, self.log_part, self.dinner):
            part.changed()

    def _height(self) -> None:
        self.boil.value = ""
        metres = figure(self.altitude.value, "Height", "m") or 0.0
        open_pot, ten, fifteen = (keeping.boiling_c(metres, psi * keeping.PSI_PA) for psi in (0, 10, 15))
        self.boil.value = paragraphs(
            f"At {metres:g} m water boils at {open_pot:.1f} C; in a pressure cooker 10 psi (0.69 bar) above the air at {ten:.1f} C, at 15 psi "
            f"(1.03 bar) at {fifteen:.1f} C. The weather moves this by about 0.5 C; a lower boil cooks slower and cereal starch swells less."
        )
