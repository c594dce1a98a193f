"""Notebook 9: which pots should I cook?"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.dose.pots_needed import pots_needed
from spoonline.effects.plan_reading import PlanReading, invent_readings, read_plan
from spoonline.effects.two_factor_plan import PlannedPot, plan_pots
from spoonline.figures import stationary_words, surface_figure
from spoonline.measures.errors import AmountError, BatchError, KitchenError
from spoonline.recipes import Target
from spoonline.widgets.parts.drafts import DraftPart
from spoonline.widgets.parts.factor_fields import FactorFields
from spoonline.widgets.parts.fields import button, choice, heading, text_field
from spoonline.widgets.parts.figure_files import FigureBox
from spoonline.widgets.parts.markup import escaped, table
from spoonline.widgets.parts.panel import MESSAGES, Message, Panel, errors_on_screen
from spoonline.widgets.parts.texts import bullets, small
from spoonline.widgets.parts.typed import figure

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

EXAMPLE = ("corn starch", "g/L", "25", "36"), ("simmering", "min", "2", "8")


class PlanPanel(Panel):
    """Two quantities changed at once: the plan, a field for each pot, and what the pots say.

    Parameters
    ----------
    book : Logbook, optional
        Offers its recipes: the target and the dose of thickener of one are typed into the form.
    """

    purpose = "the panel that plans pots over two quantities and reads them"

    def __init__(self, book: Logbook | None = None) -> None:
        self.book = book
        self.reading: PlanReading | None = None
        self.pots: list[PlannedPot] = []
        self.fields: list[w.Text] = []
        self._typed: dict[tuple[float, ...], str] = {}
        self._invented: dict[tuple[float, ...], str] = {}
        self._busy = False
        titles = book.titles() if book is not None else []
        self.answer = Message("status", "sl-answer")
        self.found, self.effects, self.next, self.plan = (w.HTML() for _ in range(4))
        self.figure = FigureBox("two-changes")
        self.title = choice("Begin from", [("figures of one's own", ""), *[(each, each) for each in titles]], "")
        self.first, self.second = FactorFields("First", EXAMPLE[0]), FactorFields("Second", EXAMPLE[1])
        self.centres = choice("Pots in the middle, each day", range(7), 3)
        self.stars = choice("Star points on a second day", [("no", False), ("yes", True)], False)
        self.viscosity = text_field("Target viscosity, Pa s", "0.35")
        self.band = text_field("Band: times and divided by", "1.2")
        self.pot_fields = w.VBox()
        self.read = button("Read the answer", self._read, primary=True)
        self.invent = button("Fill in invented readings", self._invent)
        self.clear = button("Clear the readings", self._clear)
        self.draft = None if book is None else DraftPart(book, "plan", self._held, self._take_up, self._guarded)
        super().__init__(
            [
                self.answer, *([self.draft] if self.draft else []), self.found, self.effects, self.figure, self.next,
                heading("1. What to change"), *([self.title] if titles else []), self.first, self.second, self.centres, self.stars,
                self.viscosity, self.band,
                heading("2. The pots, in the order to cook them"), self.plan,
                heading("3. How thick each came out, Pa s"), self.pot_fields, w.HBox([self.read, self.invent, self.clear]), MESSAGES,
                w.HTML(small(KEPT, pots_needed())),
            ]
        )  # fmt: skip
        self.title.observe(self._title_changed, "value")
        for each in (*self.first.children, *self.second.children, self.centres, self.stars):
            each.observe(self._plan_changed, "value")
        self._plan_changed()

    @errors_on_screen
    def _title_changed(self, _change: Any = None) -> None:
        if self.book is None or not self.title.value:
            return
        recipe = self.book.recipe(self.title.value)
        aim = recipe.target
        self._busy = True
        if aim is not None:
            self.viscosity.value, self.band.value = f"{aim.viscosity_pa_s}", f"{aim.band}"
        name = recipe.main_thickener
        dose = recipe.doses_g_per_l[name] if name else 0.0
        if name and dose > 0:
            self.first.fill(name, "g/L", f"{dose / 1.2:.1f}", f"{dose * 1.2:.1f}")
        self._busy = False
        self._plan_changed()

    @errors_on_screen
    def _plan_changed(self, _change: Any = None) -> None:
        """Show the plan, and a field a pot; a viscosity typed for a pot stays with its day and settings."""
        if self._busy:
            return
        self._remember()
        self.reading = None
        try:
            first, second = self.first.factor(), self.second.factor()
            if self.stars.value and not self.centres.value:
                raise BatchError(
                    "Star points need a pot in the middle on each day, or days and bends cannot be told apart."
                )
            pots = plan_pots(first, second, self.centres.value, self.stars.value)
        except KitchenError as err:
            self.pots, self.plan.value = [], f"<div class='sl-wrong'>{escaped(err)}</div>"
            self._new_fields([])
            self._blank("Which pots should I cook? The plan cannot be drawn yet.")
            return
        self.pots = pots
        settings = _aligned([pot.first for pot in pots]), _aligned([pot.second for pot in pots])
        rows = [[n, pot.day, a, b, pot.kind] for n, (pot, a, b) in enumerate(zip(pots, *settings, strict=True), 1)]
        heads = [
            ("Pot", True),
            ("Cooking day", True),
            *((f"{each.name}, {each.unit}", True) for each in (first, second)),
            ("Where in the plan", False),
        ]
        order = "Drawn by lot within a day, so that a slow change over the day does not look like an effect."
        self.plan.value = table(heads, rows, order)
        self._new_fields([f"Pot {n}, day {day}: {a} {first.unit}, {b} {second.unit}" for n, day, a, b, _ in rows])
        many = f"{len(pots)} pots on {'two days' if self.stars.value else 'one day'}"
        self._blank(f"Cook {many}: {first.name} {first.low:g} to {first.high:g} {first.unit}, {second.name} {second.low:g} to "
                    f"{second.high:g} {second.unit}. Type how thick each came out, then press Read the answer.")  # fmt: skip
        self.say("")

    def _blank(self, text: str) -> None:
        self.answer.say(text)
        self.found.value = self.effects.value = self.next.value = ""
        self.figure.show(None)

    def _keys(self) -> list[tuple[float, ...]]:
        """What a typed viscosity belongs to: its day, its settings, and which of several such pots."""
        keys: list[tuple[float, ...]] = []
        for pot in self.pots:
            key = (float(pot.day), round(pot.first, 6), round(pot.second, 6))
            keys.append((*key, float(sum(each[:3] == key for each in keys))))
        return keys

    def _remember(self) -> None:
        self._typed |= {key: field.value for key, field in zip(self._keys(), self.fields, strict=True)}

    def _new_fields(self, labels: list[str]) -> None:
        old = self.fields
        self.fields = [
            text_field(label, self._typed.get(key, "")) for label, key in zip(labels, self._keys(), strict=True)
        ]
        for field in self.fields:
            field.style.description_width = "17rem"
            field.observe(self._typing, "value")
        self.pot_fields.children = tuple(self.fields)
        for field in old:
            field.close()

    def _held(self) -> dict[str, Any]:
        """The plan and the viscosities typed for it; nothing where none is typed, or all are invented."""
        self._remember()
        pots = [[*key, text] for key, text in self._typed.items() if text and text != self._invented.get(key)]
        if not pots:
            return {}
        plan = [[field.value for field in each.children] for each in (self.first, self.second)]
        return {"plan": plan, "centres": self.centres.value, "stars": self.stars.value, "viscosity": self.viscosity.value,
                "band": self.band.value, "pots": pots}  # fmt: skip

    def _take_up(self, kept: dict[str, Any]) -> None:
        self._busy = True
        for each, values in zip((self.first, self.second), kept["plan"], strict=True):
            for field, value in zip(each.children, values, strict=True):
                field.value = value
        for name in ("centres", "stars", "viscosity", "band"):
            getattr(self, name).value = kept[name]
        self._busy = False
        self._plan_changed()
        held = {tuple(key): text for *key, text in kept["pots"]}
        self._type([held.get(key, "") for key in self._keys()])
        self.say("Taken up again as it was typed. Press Read the answer when the pots are read.")

    @errors_on_screen
    def _guarded(self, act: Callable[[], Any]) -> None:
        act()

    @errors_on_screen
    def _typing(self, change: Any) -> None:
        if self._busy:
            return
        if self.reading is not None:
            self.reading = None
            self._blank("A viscosity changed; press Read the answer.")
        value = figure(change["new"], change["owner"].description, "Pa s")
        left = sum(not field.value.strip() for field in self.fields)
        if self.draft:
            self.draft.keep()
        self.say(f"= {value:g} Pa s; still blank: {left} of {len(self.fields)}." if value is not None else "")

    @property
    def invented(self) -> bool:
        """Whether a reading in the form is still an invented one."""
        return any(
            field.value and field.value == self._invented.get(key)
            for key, field in zip(self._keys(), self.fields, strict=True)
        )

    @errors_on_screen
    def _invent(self, _button: Any = None) -> None:
        self._busy = True
        self.first.fill(*EXAMPLE[0])
        self.second.fill(*EXAMPLE[1])
        self.viscosity.value, self.band.value = "0.35", "1.2"
        self._busy = False
        self._plan_changed()
        if not self.pots:
            return
        self._invented = {key: f"{eta:.2g}" for key, eta in zip(self._keys(), invent_readings(self.pots), strict=True)}
        self._type(list(self._invented.values()))
        self._read()

    @errors_on_screen
    def _clear(self, _button: Any = None) -> None:
        self._type([""] * len(self.fields))
        self._typed, self._invented = {}, {}
        if self.draft:
            self.draft.done()
        self._plan_changed()
        self.say("The readings are cleared.")

    def _type(self, texts: list[str]) -> None:
        self._busy = True
        for field, text in zip(self.fields, texts, strict=True):
            field.value = text
        self._busy = False

    @errors_on_screen
    def _read(self, _button: Any = None) -> None:
        if not self.pots:
            raise BatchError("There is no plan yet; mend the two quantities above first.")
        first, second = self.first.factor(), self.second.factor()
        aim = self._aim()
        values = [figure(field.value, field.description, "Pa s") for field in self.fields]
        found = read_plan(first, second, self.pots, values)
        self.reading = found
        note = "Invented data." if self.invented else ""
        blank = len(self.pots) - len(found.pots)
        read = "All pots were read." if not blank else f"{len(found.pots)} pots were read, {blank} not yet."
        self.answer.say(found.answer(aim), markup=f"<div class='sl-note'>{escaped(read)} <b>{note}</b></div>")
        level = stationary_words(found.surface, first, second, found.pots)
        self.found.value = bullets([*found.sentences, level], "What each change did")
        rows = [
            [name, f"{ratio:.2g}", f"{f:.1f}", "below 0.01" if p < 0.01 else f"{p:.2f}"]
            for name, ratio, f, p in zip(
                found.effects.names, found.ratios, found.effects.f_ratios, found.effects.p_values, strict=True
            )
        ]
        heads = [("Change", False), ("Times as thick (90 % range)", True), ("F ratio", True), ("p value", True)]
        caption = f"Curvature: the middle over what the corners lead one to expect. {note}".strip()
        self.effects.value = table(heads, rows, caption)
        drawn = surface_figure(found.surface, first, second, found.pots, found.numbers, aim, found.next_pot(aim), note)
        self.figure.show(drawn)
        self.next.value = bullets(found.next_steps(aim), "Next step")
        self.say("Read. The answer stands at the top.")

    def _aim(self) -> Target:
        viscosity, band = figure(self.viscosity.value, "Target", "Pa s"), figure(self.band.value, "Band")
        if viscosity is None or not 0 < viscosity <= 1000:
            raise AmountError(
                f"Target: {self.viscosity.value!r} came; a viscosity above 0 and up to 1000 Pa s is wanted, such as 0,35."
            )
        if band is None or not 1 < band <= 5:
            raise AmountError(f"Band: {self.band.value!r} came; a factor above 1 and up to 5 is wanted, such as 1,2.")
        return Target(viscosity_pa_s=viscosity, band=band)


KEPT = (
    "The readings stay in this form only (and are offered again after a restart): record each pot in notebook 1 as well, and note its "
    "settings there. Read all pots with one tool at one temperature."
)


def _aligned(settings: list[float]) -> list[str]:
    """Three digits, and as many places for all as one of them needs, so that the points stand below each other."""
    places = max(len(f"{each:.3g}".partition(".")[2]) for each in settings)
    return [f"{each:.{places}f}" for each in settings]
