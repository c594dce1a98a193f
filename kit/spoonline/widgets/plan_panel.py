"""Notebook 9: which pots should I cook?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import ipywidgets as w
import pandas as pd

from spoonline.dose.pots_needed import pots_needed
from spoonline.effects.plan_reading import PlanReading, invent_readings, read_plan
from spoonline.effects.two_factor_plan import Factor, PlannedPot, plan_pots
from spoonline.figures import stationary_words, surface_figure
from spoonline.logbook import Logbook
from spoonline.measures.errors import AmountError, BatchError, KitchenError
from spoonline.recipes import Target
from spoonline.widgets.parts.drafts import DraftPart, named
from spoonline.widgets.parts.fields import choice, fill, heading, put_in, row, text_field, two
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.markup import bullets, frame_table, notes, tag
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import figure

STEPS = [("equal ratio (doses, times)", True), ("equal difference (temperatures, shares)", False)]


class FactorFields(w.VBox):
    """What one asks of a quantity that is changed: name, unit, low and high setting, and its steps."""

    def __init__(self, which: str, example: list[Any]) -> None:
        asked = zip(("quantity", "unit", "low setting", "high setting"), example, strict=False)
        self.name, self.unit, self.low, self.high = (text_field(f"{which} {what}", value) for what, value in asked)
        self.steps = choice(f"{which} steps of", STEPS, example[-1])
        self.which = which
        super().__init__([self.name, self.unit, self.low, self.high, self.steps])
        self.add_class("sl-row")

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
            raise AmountError(f"{self.which} quantity: its name or its unit is missing, such as 'simmering' and 'min'.")
        low, high = figure(self.low.value, f"{name}, low", unit), figure(self.high.value, f"{name}, high", unit)
        if low is None or high is None:
            raise AmountError(f"{name}: a low and a high setting are wanted, such as 25 and 36 {unit}.")
        return Factor(name, unit, low, high, self.steps.value)


EXAMPLE = ["corn starch", "g/L", "25", "36", True], ["simmering", "min", "2", "8", True]
STAYS = (
    "The readings stay in this form only (and are offered again after a restart): record each pot in notebook 1 as well, and note its "
    "settings there. Read all pots with one tool at one temperature."
)
MIXED = "In random order within each day, so that a slow change over the day does not look like an effect."
# What a typed viscosity belongs to: its day, its settings, and which of several such pots.
Key = tuple[float, ...]


class PotFields(w.VBox):
    """A field for each pot of the plan; a viscosity typed for a pot stays with its day and settings.

    ``value`` is what was typed, each viscosity behind its key; ``invented`` are figures that nobody measured, which it leaves out.
    """

    def __init__(self) -> None:
        super().__init__([])
        self.add_class("sl-row")
        self.fields: dict[Key, w.Text] = {}
        self.invented: dict[Key, str] = {}
        self._typed: dict[Key, str] = {}

    def show(self, labels: Mapping[Key, str]) -> None:
        """Show a field for each of these pots."""
        self._remember()
        self.fields = {key: text_field(label, self._typed.get(key, "")) for key, label in labels.items()}
        put_in(self, self.fields.values())

    @property
    def value(self) -> list[list[Any]]:
        """What was typed and is not invented."""
        self._remember()
        return [[*key, text] for key, text in self._typed.items() if text and text != self.invented.get(key)]

    @value.setter
    def value(self, rows: list[list[Any]]) -> None:
        self._typed = typed = {
            tuple(key): text for *key, text in rows
        }  # what hears of a field remembers those that stand yet
        for key, field in self.fields.items():
            field.value = typed.get(key, "")

    def _remember(self) -> None:
        self._typed |= {key: field.value for key, field in self.fields.items()}


class PlanPanel(Panel):
    """Two quantities changed at once: the plan, a field for each pot, and what the pots say.

    The target and the dose of thickener of one of the logbook's recipes can be typed into the form.
    """

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.reading: PlanReading | None = None
        self.pots: list[PlannedPot] = []
        self.found, self.effects, self.next, self.plan = (w.HTML() for _ in range(4))
        self.figure = FigureBox("two-changes")
        self.title = choice("Begin from", [("my own figures", ""), *[(each, each) for each in book.titles()]], "")
        self.first, self.second = FactorFields("First", EXAMPLE[0]), FactorFields("Second", EXAMPLE[1])
        self.centres = choice("Pots in the middle, each day", range(7), 3)
        self.stars = choice("Star points on a second day", [("no", False), ("yes", True)], False)
        self.viscosity = text_field("Target viscosity, Pa s", "", "how thick it should be, as in notebook 2")
        self.band = text_field("Band: this factor above and below", "1.2")
        self.pot_fields = PotFields()
        self.read = self.button("Read the answer", self._show, self._found, primary=True)
        self.invent = self.button("Fill in invented readings", self._invent)
        self.clear = self.button("Clear the readings", self._clear)
        drafted = named(self, "first", "second", "centres", "stars", "viscosity", "band") | {"pots": self.pot_fields}
        self.draft = DraftPart(self, "plan", lambda: drafted, _from_older)
        self.draft.begin(self.pot_fields)
        super().__init__([
            self.draft, two(
                [heading("1. What to change"), self.title, self.first, self.second, row(self.centres, self.stars),
                 row(self.viscosity, self.band), w.HTML(notes([STAYS, pots_needed()])), self.found, self.effects],
                [heading("2. The pots, in the order to cook them"), self.plan,
                 heading("3. How thick each came out, Pa s"), self.pot_fields, self.figure, self.next],
            ), self.bar(self.read, self.invent, self.clear),
        ])  # fmt: skip
        self.watch(self._title_changed, self.title)
        self.watch(self._plan_changed, *self.first.children, *self.second.children, self.centres, self.stars)
        self.watch(self._unread, self.viscosity, self.band)
        self.attempt(self._plan_changed)

    @property
    def fields(self) -> list[w.Text]:
        """The fields of the pots, in cooking order."""
        return list(self.pot_fields.children)

    def changed(self) -> None:
        """The recipes to begin from, as they are now; the plan stays as it is typed."""
        with self.filling_in():
            fill(self.title, [("my own figures", ""), *[(each, each) for each in self.book.titles()]])

    def _title_changed(self) -> None:
        """Dose and target of the recipe that is chosen; what it does not have is that of no other: an aim is never invented."""
        recipe = self.book.recipe(self.title.value) if self.title.value else None
        name = recipe.main_thickener if recipe else None
        dose = recipe.doses_g_per_l[name] if recipe and name else 0.0
        aim = recipe.target if recipe else None
        with self.filling_in():
            self.viscosity.value, self.band.value = (f"{aim.viscosity_pa_s}", f"{aim.band}") if aim else ("", "1.2")
            self.first.value = [name, "g/L", f"{dose / 1.2:.1f}", f"{dose * 1.2:.1f}", True] if dose else EXAMPLE[0]
        self.attempt(self._plan_changed)

    def _plan_changed(self) -> None:
        """Show the plan, and a field for each pot."""
        self.reading, self.pots = None, []
        try:
            first, second = self.first.factor(), self.second.factor()
            if self.stars.value and not self.centres.value:
                raise BatchError("Star points need a pot in the middle on each day; choose one or more.")
            self.pots = plan_pots(first, second, self.centres.value, self.stars.value)
        except KitchenError as err:
            self.plan.value = notes([err], "sl-wrong")
            self.pot_fields.show({})
            self._asks = "Which pots should I cook? The plan cannot be drawn yet."
            self._blank(self._asks)
            return
        forms = _form([pot.first for pot in self.pots]), _form([pot.second for pot in self.pots])
        heads = [f"{each.name}, {each.unit}" for each in (first, second)]
        rows = [(n, pot.day, pot.first, pot.second, pot.kind) for n, pot in enumerate(self.pots, start=1)]
        frame = pd.DataFrame(rows, columns=["Pot", "Cooking day", *heads, "Where in the plan"])
        self.plan.value = frame_table(frame, MIXED, dict(zip(heads, forms, strict=True)))
        labels: dict[Key, str] = {}
        for n, day, a, b, _ in rows:
            same = (float(day), round(a, 6), round(b, 6))
            key = (*same, float(sum(each[:3] == same for each in labels)))
            labels[key] = f"Pot {n}, day {day}: {a:{forms[0]}} {first.unit}, {b:{forms[1]}} {second.unit}"
        self.pot_fields.show(labels)
        self.watch(self.draft.keep, *self.fields)
        self.watch(self._viscosity_typed, *self.fields)
        many = f"{len(rows)} pots on {'two days' if self.stars.value else 'one day'}"
        ranges = " and ".join(f"{each.name} {each.low:g} to {each.high:g} {each.unit}" for each in (first, second))
        self._asks = f"Cook {many}: {ranges}. Type how thick each came out, then press Read the answer."
        self._blank(self._asks)
        self.attempt(self._viscosity_typed)
        self.say("")

    def _blank(self, text: str) -> None:
        self.answer.say(text)
        self.found.value = self.effects.value = self.next.value = ""
        self.figure.show(None)

    def _unread(self) -> None:
        """What was read was read of other figures."""
        if self.reading is not None:
            self.reading = None
            self._blank(self._asks)

    def _viscosities(self) -> list[float | None]:
        return [figure(field.value, field.description, "Pa s") for field in self.fields]

    def _viscosity_typed(self) -> None:
        self._unread()
        left = sum(value is None for value in self._viscosities())
        self.say(f"Still blank: {left} of {len(self.fields)}.")

    def _invent(self) -> None:
        with self.filling_in():
            self.title.value = ""
            self.first.value, self.second.value = EXAMPLE
            self.viscosity.value, self.band.value = "0.35", "1.2"
        self.attempt(self._plan_changed)
        if not self.pots:
            return
        readings = [f"{viscosity:.2g}" for viscosity in invent_readings(self.pots)]
        self.pot_fields.invented = invented = dict(zip(self.pot_fields.fields, readings, strict=True))
        with self.filling_in():
            self.pot_fields.value = [[*key, text] for key, text in invented.items()]
        self._show()

    def _clear(self) -> None:
        self.pot_fields.invented = {}
        with self.filling_in():
            self.pot_fields.value = []
        self.draft.done()
        self.attempt(self._plan_changed)
        self.say("The readings are cleared.")

    def _found(self) -> tuple[PlanReading, Target]:
        """What the pots say as they are typed, and of which aim."""
        if not self.pots:
            raise BatchError("There is no plan yet; mend the two quantities above first.")
        return read_plan(self.first.factor(), self.second.factor(), self.pots, self._viscosities()), self._aim()

    def _show(self) -> None:
        found, aim = self._found()
        self.reading = found
        invented = self.pot_fields.invented
        some = any(field.value and field.value == invented.get(key) for key, field in self.pot_fields.fields.items())
        note = "Invented data." if some else ""
        blank = len(self.pots) - len(found.pots)
        read = "All pots were read. " if not blank else f"{len(found.pots)} pots were read, {blank} not yet. "
        self.answer.say(found.answer(aim), markup=tag("div", read, tag("b", note), class_="sl-note"))
        level = stationary_words(found)
        self.found.value = bullets([*found.sentences, level], "What each change did")
        effects = found.effects
        p_values = ["below 0.01" if p < 0.01 else f"{p:.2f}" for p in effects.p_values]
        rows = zip(effects.names, found.ratios, effects.f_ratios, p_values, strict=True)
        frame = pd.DataFrame(rows, columns=["Change", TIMES, "F ratio", "p value"])
        caption = f"Curvature: the middle compared with what the corners would lead you to expect. {note}".strip()
        self.effects.value = frame_table(frame, caption, {TIMES: ".2g", "F ratio": ".1f"})
        drawn = surface_figure(found, aim, note)
        self.figure.show(drawn)
        self.next.value = bullets(found.next_steps(aim), "Next step")
        self.say("Done. The answer is at the top.")

    def _aim(self) -> Target:
        viscosity, band = figure(self.viscosity.value, "Target", "Pa s"), figure(self.band.value, "Band")
        if viscosity is None:
            raise AmountError("No aim is set: type how thick it should be, in Pa s, or choose a dish that has one.")
        if not (viscosity and viscosity <= 1000 and band and 1 < band <= 5):
            raise AmountError(
                f"Target {self.viscosity.value!r} and band {self.band.value!r} came; a viscosity above 0 and up to 1000 Pa s, such as "
                "0,35, and a factor above 1 and up to 5, such as 1,2, are wanted."
            )
        return Target(viscosity_pa_s=viscosity, band=band)


TIMES = "Times as thick (90 % range)"


def _form(settings: list[float]) -> str:
    """Three digits, and as many places for all as one of them needs, so that the points stand below each other."""
    return f".{max(len(f'{each:.3g}'.partition('.')[2]) for each in settings)}f"


def _from_older(draft: dict[str, Any]) -> dict[str, Any]:
    """A draft as release 0.1.0 kept it, both quantities in one."""
    return draft | dict(zip(("first", "second"), draft["plan"], strict=True)) if "plan" in draft else draft
