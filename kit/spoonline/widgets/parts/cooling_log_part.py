"""The cooling log: typed readings or a logger's file, the verdict, an early forecast; and how long it keeps after that."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline import keeping
from spoonline.dose import reheating
from spoonline.figures import cooling_figure
from spoonline.measures.errors import ReadingError
from spoonline.widgets.parts.drafts import DraftPart, TakeBack
from spoonline.widgets.parts.fields import button, choice, heading, text_field
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.panel import Message
from spoonline.widgets.parts.texts import area, plain, small
from spoonline.widgets.parts.typed import day, degrees, figure

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

UNDATED = "Type the day of the first reading above to date it; the shorter home advice is 3 days, the day of preparation being day 1."
EXAMPLE = "14:05 71\n14:35 57\n15:20 38\n16:25 20,5\n19:40 4,8"


class LogPart(w.VBox):
    """The log of one pot; ``done`` is told what was kept, ``guard`` wraps what a button does."""

    def __init__(self, book: Logbook, done: Callable[[str], Any], guard: Callable[[Callable[[], Any]], Any]) -> None:
        self.book, self._done, self._guard = book, done, guard
        self.record: keeping.CoolingLog | None = None
        self.verdict = Message("status", "sl-answer")
        titles = [(title, title) for title in book.titles()]
        self.title = choice("Recipe", [("no dish of this logbook", ""), *titles], "")
        self.batch = choice("Batch", [("no test batch", 0)], 0)
        self.on = text_field("Day of the first reading", "", "2026-01-21; blank is today")
        self.readings = area("Readings", "", EXAMPLE, rows=6, height="9rem", width="34rem")
        self.unit = choice("Bare figures are", [("C", "C"), ("F", "F")], "C")
        self.file = w.FileUpload(
            accept=".csv,.txt", description="Or a logger's CSV file", layout=w.Layout(width="auto", align_self="flex-start")
        )  # fmt: skip
        self.around = text_field("Air or water around it, C", "3")
        self.rule = choice("Limits of", list(keeping.cooling_rules()))
        self.figure = FigureBox("cooling-log")
        self.advice, self.keeps, self.back = w.HTML(), w.HTML(), w.HTML()
        self.power = text_field("Hob for reheating, W", "2000")
        self.mass = text_field("To reheat, kg", "2")
        # A pot cools for hours: what was read so far survives a restart.
        fields = {"title": self.title, "batch": self.batch, "on": self.on, "readings": self.readings, "unit": self.unit,
                  "around": self.around, "rule": self.rule}  # fmt: skip
        keep = button("Keep this log", lambda _b: guard(self.keep))
        self.undo = TakeBack(book, "Take this log back", guard, done)
        self.draft = DraftPart.plain(book, "cooling log", fields, guard)
        super().__init__(
            [
                heading("The cooling log"), self.draft, self.verdict, self.title, self.batch, self.on, self.readings, self.unit, self.file,
                self.around, self.rule, self.advice, self.figure, w.HBox([keep, self.undo]),
                heading("How long does it keep, and how does it come back?"), self.keeps, self.mass, self.power, self.back,
            ]
        )  # fmt: skip
        self.title.observe(lambda _c: guard(self._chosen), "value")
        self.file.observe(lambda _c: guard(self._import), "value")
        for field in (self.readings, self.unit, self.around, self.rule, self.batch):
            field.observe(lambda _c: guard(self.show), "value")
        for field in (self.on, self.mass, self.power):
            field.observe(lambda _c: guard(self.show_keeping), "value")
        guard(self.show)
        guard(self.show_keeping)

    def _chosen(self) -> None:
        rows = self.book.batches(self.title.value) if self.title.value else None
        numbers = [] if rows is None else [int(each) for each in rows["batch"]]
        self.batch.options = [("no test batch", 0), *[(f"batch {number}", number) for number in numbers]]
        self.batch.value = 0
        self.show_keeping()

    def _import(self) -> None:
        if self.file.value:
            text = bytes(self.file.value[0]["content"]).decode("utf-8", "replace")
            rows = keeping.read_logger(text, self.unit.value)
            self.unit.value = "C"
            self.readings.value = "\n".join(f"{each.minutes} {each.temperature_c}" for each in rows)

    def made(self) -> keeping.CoolingLog:
        """The log as it stands in the form."""
        around = degrees(self.around.value, "Air or water")
        return keeping.CoolingLog(
            title=self.title.value, batch=self.batch.value, started_on=day(self.on.value), jurisdiction=self.rule.value,
            readings=keeping.read_readings(self.readings.value, self.unit.value), around_c=3.0 if around is None else around,
        )  # fmt: skip

    def show(self) -> None:
        """Show verdict, curve and early forecast."""
        self.record = None
        if not self.readings.value.strip():
            self.verdict.say("Not enough readings: type one a line, a time and the temperature at the centre.")
            self.figure.show(None)
            self.advice.value = ""
            return
        self.record = log = self.made()
        self.verdict.say(
            f"This pot {log.verdict} ({log.rule.jurisdiction})." if log.verdict[0] == "m" else "Not enough readings."
        )
        lines = [log.next_step, *log.flags]
        if log.verdict == "not enough readings" and len(log.points) > 1:
            try:
                lines.insert(0, keeping.two_point(log.points[-2], log.points[-1], float(log.around_c), log.rule).text)
            except ReadingError as err:
                lines.append(str(err))
        self.advice.value = small(*lines, f"Limits: {log.rule.text}.")
        self.figure.show(cooling_figure(log=log))

    def keep(self) -> None:
        """Keep the log with its batch."""
        if self.record is None:
            self.record = self.made()
        kept = self.book.keep(self.record)
        self.draft.done()
        self.undo.offer(kept, "the cooling log")
        where = f"batch {kept.batch} of {kept.title}" if kept.batch else kept.title or "a pot without a recipe"
        self._done(f"Kept the cooling log of {where}: {len(kept.readings)} readings, {kept.verdict}.")

    def show_keeping(self) -> None:
        """Date the dish from its day, and say how to bring it back hot."""
        recipe = self.book.recipe(self.title.value) if self.title.value else None
        made_on = day(self.on.value) if self.on.value.strip() else date.today()
        dated = keeping.last_days(made_on).text if self.on.value.strip() else UNDATED
        self.keeps.value = plain(dated, keeping.freezing(recipe.thickeners_g if recipe is not None else []))
        mass, power = figure(self.mass.value, "To reheat", "kg"), figure(self.power.value, "Hob", "W")
        out = ""
        if mass and power:
            took = keeping.reheating_minutes(mass, power)
            line = f"{mass:g} kg from 5 to 74 C on {power:g} W, stirred: {took:.2g} min (by the share of the heat that gets in)."
            out = plain(line)
        if recipe is not None:
            dish = self.book.dish(recipe.title)
            out += plain(reheating(dish.curve, dish.curve.dose_g_per_l).text) if dish.curve else small(dish.no_curve)
        self.back.value = out + small(keeping.REHEATING)
