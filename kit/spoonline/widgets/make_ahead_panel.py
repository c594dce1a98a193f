"""Notebook 8: will it cool, keep and be ready? The forecast of a pot, the log of one that cools, the plan of a dinner."""

import math
from dataclasses import replace
from datetime import date, timedelta

import ipywidgets as w
import pandas as pd

from spoonline import keeping
from spoonline.card import file_name
from spoonline.dose import reheating
from spoonline.figures import cooling_figure, dinner_figure
from spoonline.logbook import Logbook
from spoonline.measures.errors import ReadingError, RecipeError, or_none
from spoonline.recipes import OwnTrim, Pan, Recipe, ShoppingList
from spoonline.widgets.parts import drafts, here, sheets
from spoonline.widgets.parts.fields import FORMS, Message, appear, blank, declared, fill, laid_out
from spoonline.widgets.parts.markup import columns_table, download, fold, notes, paragraphs
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import WORDS, day, degrees, figure, in_store, moment, said, wanted, whole

ROUND, THICK = "a round pot", "a thick soup"
THICK_SOUP = {"water": 88, "fat": 4, "protein": 2, "carbohydrate": 4.5, "fibre": 0.5, "ash": 1}


class CoolPart(w.VBox):
    """The forecast; ``panel`` is the form, which says what is wrong."""

    def __init__(self, panel: Panel) -> None:
        self.book, self._panel = panel.book, panel
        self._of: tuple[Recipe | None, Pan | None] | None = None
        self.answer = Message("status", "sl-answer")
        self.title = here.dish_choice(panel.book, "What cools", also=THICK)
        self.pans: dict[str, Pan] = {}
        often = [self.title, *declared(self, "what cools", place=keeping.SURROUNDINGS)]
        fill(self.first, keeping.SURROUNDINGS)
        known = {"rule": keeping.cooling_rules(), "material": keeping.MATERIALS, "lid": keeping.LIDS}
        rare = declared(self, "what cools, rarely set", **known)
        self.rule.value = keeping.JURISDICTIONS[self.book.habits.jurisdiction].cooling.jurisdiction
        super().__init__(laid_out(self, "cool"))
        panel.watch(self._place_chosen, self.place)
        panel.watch(lambda: here.remember(self.book, self.title.value), self.title)
        panel.watch(self.show, *often, *rare)
        self.changed()

    def changed(self) -> None:
        """Dishes and pans that were saved since; what is set stays."""
        self.pans = {pan.name: pan for pan in self.book.kept(Pan) if pan.surface_cm2 is not None}
        with self._panel.filling_in():
            fill(self.title, (*self.book.titles(), THICK))
            fill(self.pan, self.pans)
        if self._of != self._given():
            self._panel.attempt(self.show)

    def _given(self) -> tuple[Recipe | None, Pan | None]:
        """What of the logbook the forecast is made of."""
        known = self.title.value in self.book.titles()
        return or_none(self.book.recipe, self.title.value) if known else None, self.pans.get(self.pan.value)

    def _place_chosen(self) -> None:
        with self._panel.filling_in():
            self.air.value = keeping.SURROUNDINGS[self.place.value].ambient_c

    def container(self) -> keeping.Container:
        """The pot as it is set."""
        stands = {"material": self.material.value, "lid": self.lid.value, "on_rack": self.shelf.value}
        own = {ROUND: Pan(name=ROUND, diameter_cm=self.width.value)}
        pan = (self.pans | own).get(self.pan.value)
        sizes = {name: getattr(pan, name, None) for name in ("diameter_cm", "length_cm", "width_cm")}
        stands |= {name: float(value) for name, value in sizes.items() if value is not None}
        return keeping.Container(self.depth.value, **stands)

    def show(self) -> None:
        """Draw the forecast and say what would pass."""
        appear(self.pan.value == ROUND, self.width)
        appear(self.first.value, self.minutes)
        self._of = recipe, _ = self._given()
        rule, pot = keeping.cooling_rules()[self.rule.value], self.container()
        thick = keeping.food_of(recipe) if recipe is not None else keeping.food(**THICK_SOUP)
        last = replace(keeping.SURROUNDINGS[self.place.value], ambient_c=self.air.value)
        phases = [(keeping.SURROUNDINGS[self.first.value], self.minutes.value)] if self.first.value else []
        asked = {"start_c": self.start.value, "stirred_pa_s": self.stirred.value or None, "rule": rule}
        planned = keeping.forecast(thick, pot, [*phases, (last, None)], **asked)
        self.answer.say(planned.text)
        self.care.value = notes([keeping.LOWER_BOUND], "sl-wrong") + notes([f"Limits: {rule.beside}. {keeping.CODE}"])
        self.figure.show(cooling_figure(planned))
        self.passing.value = self._passes(recipe, thick, pot)

    def _passes(self, recipe: Recipe | None, thick: keeping.Food, pot: keeping.Container) -> str:
        rule = keeping.cooling_rules()[self.rule.value]
        cold = [around for around in keeping.SURROUNDINGS.values() if around.ambient_c < rule.stages[-1][0]]
        rows = [{"where": each.name, "around_c": each.ambient_c, "h_w_m2_k": each.h} for each in cold]
        for each, around in zip(rows, cold, strict=True):
            deep = keeping.deepest_cm(thick, pot, around, rule, self.stirred.value or None)
            most = f"more than {keeping.cooling.DEEPEST_CM:g}"
            each["deepest_cm"] = most if deep == math.inf else deep or "no layer"
        out = columns_table(rows, said("deepest layers"))
        if pot.area_m2 is not None:
            litres = pot.area_m2 * pot.depth_cm * 10
            mass = litres * thick.density_kg_m3 / 1000
            melt = keeping.ice_to_melt_kg(mass, rule.start_c, rule.stages[-1][0], thick.heat_capacity_j_kg_k)
            out += paragraphs(said("an ice bath", litres=litres, melt=melt, plan=1.25 * melt))
        if recipe is not None:
            ice = keeping.ice_inside(recipe, min(self.start.value, 95.0), rule.stages[0][0], thick.heat_capacity_j_kg_k)
            out += paragraphs(f"Ice as an ingredient. {ice.text}")
        studies = pd.DataFrame(keeping.studies()).drop(columns=["place", "kind"])
        return out + columns_table(studies, "What was measured, and does not always agree") + notes([keeping.COOLING])


class LogPart(w.VBox):
    """The log of one pot; ``panel`` is the form, which says what happened."""

    def __init__(self, panel: Panel) -> None:
        self.book, self._panel = panel.book, panel
        self.verdict = Message("status", "sl-answer")
        declared(self, "a cooling log")
        reheats, (readings, _) = declared(self, "reheating"), declared(self, "a log's readings")
        rare = declared(self, "a log, rarely set", rule=keeping.cooling_rules())
        self.rule.value = keeping.JURISDICTIONS[self.book.habits.jurisdiction].cooling.jurisdiction
        # A pot cools for hours: what was read so far survives a restart.
        self._kept = ""  # the readings that the form saved last: those of another pot are not begun with them
        typed = drafts.named(self, "title", "batch", "on", "readings", "unit", "around", "rule")
        self.draft = drafts.DraftPart(panel, "cooling log", typed)
        super().__init__(laid_out(self, "log"))
        panel.watch(self._chosen, self.title)
        panel.watch(self._import, self.file)
        panel.watch(self._another, self.batch, self.on)
        panel.watch(self.show, readings, *rare)
        panel.watch(self.show_keeping, *reheats)
        self.changed()

    def changed(self) -> None:
        """Dishes and pots that were saved since; what is chosen and typed stays."""
        with self._panel.filling_in():
            fill(self.title, self.book.titles())
            batches = self.book.dish(self.title.value).batches if self.title.value else ()
            fill(self.batch, [(f"batch {each.number}", each.number) for each in batches])
        self._panel.attempt(self.show)
        self._panel.attempt(self.show_keeping)

    def _chosen(self) -> None:
        with self._panel.filling_in():
            self.batch.value = 0
        self._another()

    def _another(self) -> None:
        """Another pot or another day: a log that was saved stays with its own."""
        self.undo.offer(None)
        with self._panel.filling_in():
            if self.readings.value == self._kept:
                self.readings.value = ""
        self.changed()

    def _import(self) -> None:
        if self.file.value:
            text = bytes(self.file.value[0]["content"]).decode("utf-8", "replace")
            self.readings.value = ""  # where the file cannot be read, nothing of before stands for it
            rows = keeping.read_logger(text, self.unit.value)
            typed = (f"{each.temperature_c} C" if each.typed_f is None else f"{each.typed_f} F" for each in rows)
            self.readings.value = "\n".join(f"{each.minutes} min {at}" for each, at in zip(rows, typed, strict=True))

    def made(self) -> keeping.CoolingLog:
        """The log as it stands in the form."""
        around = degrees(self.around.value, "Air or water")
        return keeping.CoolingLog(
            title=self.title.value, batch=self.batch.value, jurisdiction=self.rule.value,
            started_on=day(self.on.value, self.book.habits.kitchen),
            readings=keeping.read_readings(self.readings.value, self.unit.value), around_c=3.0 if around is None else around,
        )  # fmt: skip

    def show(self) -> None:
        """Show verdict, curve and early forecast."""
        blank(self.verdict, self.advice)
        self.figure.show(None)
        if not self.readings.value.strip():
            self.verdict.say("Not enough readings: type one a line, a time and the temperature at the centre.")
            return
        log = self.made()
        few = log.verdict == "not enough readings"
        self.verdict.say("Not enough readings." if few else f"This pot {log.verdict} ({log.rule.jurisdiction}).")
        lines = [log.next_step, *log.flags]
        if few and len(log.points) > 1:
            try:
                lines.insert(0, keeping.two_point(log.points[-2], log.points[-1], float(log.around_c), log.rule).text)
            except ReadingError as err:
                lines.append(str(err))
        self.advice.value = notes([*lines, f"Limits: {log.rule.beside}."])
        self.figure.show(cooling_figure(log=log))

    def keep(self) -> None:
        """Save the log with its batch."""
        made = self.made()
        before = next((each.readings for each in self.book.kept(keeping.CoolingLog) if each.key == made.key), ())
        kept = self.undo.keep(made, "the cooling log")
        self._kept = self.readings.value
        self.draft.done()
        where = f"batch {kept.batch} of {kept.title}" if kept.batch else kept.title or "a pot without a recipe"
        # a longer log of the same pot goes on where the shorter one ended
        other = f" {said('log replaced', before=len(before))}" if before != made.readings[: len(before)] else ""
        self._panel.say(f"Saved the cooling log of {where}: {len(kept.readings)} readings, {kept.verdict}.{other}")

    def show_keeping(self) -> None:
        """Date the dish from its day, and say how to bring it back hot."""
        blank(self.keeps, self.back)
        dish = self.book.dish(self.title.value) if self.title.value else None
        begun, whose = self.on.value.strip(), self.book.habits.jurisdiction
        dated = keeping.last_days(day(begun, self.book.habits.kitchen), whose).text if begun else said("undated")
        self.keeps.value = paragraphs(dated, keeping.freezing(dish.recipe.thickeners_g if dish else []))
        mass, power = figure(self.mass.value, "To reheat", "kg"), figure(self.power.value, "Hob", "W")
        texts = []
        if mass and power:
            texts.append(said("reheated", mass=mass, power=power, took=keeping.reheating_minutes(mass, power)))
        if dish:
            texts.append(reheating(dish.curve, dish.curve.dose_g_per_l).text if dish.curve else dish.no_curve)
        self.back.value = paragraphs(*texts) + notes([keeping.REHEATING])


EXAMPLE, HOURS = (FORMS["a dinner"][name]["value"] for name in ("dishes", "hours"))


def read_hours(text: str) -> list[keeping.FreeHours]:
    """Read free hours, one stretch a line: days before, then from and to, such as ``1: 14:00-17:00``.

    Raises
    ------
    RecipeError
        If a line is no such stretch.
    """
    found = []
    for line in (each.strip() for each in text.splitlines() if each.strip()):
        read = WORDS["free hours"].fullmatch(line)
        if read is None:
            raise RecipeError(said("no free hours", came=line[:40]))
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
        declared(self, "a dinner", "buttons of a dinner")
        self._example = {name: getattr(self, name).value for name in ("name", "guests", "dishes", "tools", "hours")}
        self.at.value = f"{date.today() + timedelta(days=7)} 12:30"
        self._typed = drafts.named(self, "name", "at", "guests", "dishes", "hours", "tools", "store")
        self.draft = drafts.DraftPart(panel, "dinner", self._typed)
        self.prints = panel.printer("Print the checklist", self.checklist)
        self.stage = w.HTML(fold("How a stage is written", said("a stage")))
        super().__init__(laid_out(self, "dinner"))
        panel.watch(self._loaded, self.load)
        panel.watch(self._blank, *self._typed.values())
        self.changed()

    def changed(self) -> None:
        """Offer the dinners of the logbook as they are now; a plan on the screen is made anew, and what is typed stays."""
        with self._panel.filling_in():
            fill(self.load, [each.name for each in self.book.kept(keeping.Dinner)])
        if self.plan is not None:
            self._panel.attempt(self.make)

    def _loaded(self) -> None:
        """The dinner that is chosen in place of what stands there."""
        fields = self._example
        for kept in (each for each in self.book.kept(keeping.Dinner) if each.name == self.load.value):
            fields = {
                "name": kept.name, "guests": str(kept.guests), "at": f"{kept.serve_at:%Y-%m-%d %H:%M}",
                "hours": "\n".join(f"{each.day}: {each.start:%H:%M}-{each.end:%H:%M}" for each in kept.free),
                "tools": ", ".join(f"{name} {count}" for name, count in kept.tools.items()), "dishes": kept.note,
            }  # fmt: skip
        drafts.put_back(lambda: self._typed, fields)

    def _blank(self) -> None:
        """What was planned of other figures goes."""
        self.plan = None
        blank(self.answer, *self.places)

    def dinner(self) -> keeping.Dinner:
        """The dinner as it stands in the form."""
        tools = {}
        for part in filter(None, (each.strip() for each in self.tools.value.split(","))):
            found = wanted(WORDS["tools"].fullmatch(part), "no tool", came=part)
            tools[found[1].lower()] = int(found[2])
        guests, at = whole(self.guests.value, "Guests"), moment(self.at.value, self.book.habits.kitchen)
        return keeping.Dinner(
            name=self.name.value, serve_at=at, guests=guests, dishes=keeping.read_dishes(self.dishes.value),
            free=read_hours(self.hours.value), tools=tools, note=self.dishes.value,
        )  # fmt: skip

    def asked(self) -> tuple[keeping.Dinner, dict[str, str]]:
        """The dinner, and what is in store already: both are read before anything is shown."""
        return self.dinner(), in_store(self.store.value)

    def make(self) -> None:
        """Plan it, and show chart, cautions, files and list."""
        self._blank()
        whose = self.book.habits.jurisdiction
        dinner, store = self.asked()
        made = keeping.plan(dinner, jurisdiction=whose)
        titles = set(self.book.titles()) if made.fits else set()
        known = [self.book.recipe(dish.title) for dish in dinner.dishes if dish.title in titles]
        self.bought = keeping.shopping_for(made, known, self.book.kept(OwnTrim), store) if known else None
        self.plan = made
        self.answer.say(made.text)
        if not made.fits:
            return
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
        plan = wanted(self.plan if self.plan and self.plan.fits else None, "no plan")
        return sheets.checklist_html(plan, self.bought)

    def keep(self) -> None:
        """Save the dinner; a later one of the same name takes its place."""
        kept = self.undo.keep(self.dinner(), f"the dinner {self.name.value}")
        self.draft.done()
        self._panel.look()
        self._panel.say(f"Saved: {kept.name}, {kept.serve_at:%Y-%m-%d %H:%M}, for {kept.guests}.")


class MakeAheadPanel(Panel):
    """A dish made ahead: will it cool, how long does it keep, and the plan of a dinner; each caution beside its number."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        declared(self, "the height")
        self.cool, self.log_part, self.dinner = CoolPart(self), LogPart(self), DinnerPart(self)
        self.care = w.HTML(notes([keeping.HOT_LIQUID, keeping.PRESSURE, keeping.HOT_SUGAR, keeping.LOCAL_CODE]))
        self.lay(*laid_out(self, "make ahead"), self.bar())
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
        self.boil.value = paragraphs(said("boiling", metres=metres, open_pot=open_pot, ten=ten, fifteen=fifteen))
