"""Notebook 10: how do my old notes come in?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline import facts, flow
from spoonline.flow.kitchen_tools import TOOLS
from spoonline.measures.errors import BatchError, KitchenError, Progress
from spoonline.old_sheets import Choices, Sheet, Understood, proposed_choices, read_sheet, to_records, understood
from spoonline.old_sheets.columns import ROLES
from spoonline.pots import STAGES, Batch
from spoonline.recipes import Recipe, Version
from spoonline.widgets.parts.panel import SAID, Line, Panel, button, choice, heading, said, shown, table, text_field
from spoonline.widgets.parts.tools import LABELS
from spoonline.widgets.parts.typed import degrees, figure
from spoonline.widgets.parts.work import LongWork

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

APART = " (old trials)"


class ImportPanel(Panel):
    """An old sheet of trials: what each column and row is taken for, before anything is saved."""

    purpose = "the panel that brings in an old sheet of trials"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.sheet: Sheet | None = None
        self.found: Understood | None = None
        self.saved: list[Batch | Version] = []
        self.answer = Line("status", "sl-answer")
        self.upload = w.FileUpload(
            accept=".csv,.txt,.tsv,.xlsx",
            multiple=False,
            description="Choose the file",
            layout=w.Layout(width="auto", align_self="flex-start"),
        )
        self.path = text_field("Or its path", "", "such as trials.csv, then Enter")
        self.first_rows = w.HTML()
        self.columns = w.VBox()
        self.date_order = choice(
            "Dates such as 3/4/2026", [(each or "ask", each) for each in ("", "day first", "month first")], ""
        )
        self.dish = text_field("Dish, if not named")
        self.thickener = choice(
            "Thickener, if not named", [(each or "ask", each) for each in ("", *facts.thickeners())], ""
        )
        self.liquid = text_field("Liquid, if not named", "water")
        self.litres = text_field("Litres a pot, if not given")
        self.temperature = text_field("Degrees C, if not given")
        self.stage = choice("Stage, if not given", STAGES, "hot")
        self.tools = w.VBox()
        self.equal = choice("Rows that say the same", [("ask", False), ("are several pots", True)])
        self.apart = choice("Dishes the logbook has", [(f"keep apart, as '...{APART}'", True), ("add to them", False)])
        self.invented = choice("The data are", [("real", False), ("invented", True)])
        self.asked = w.HTML()
        self.rows = w.HTML()
        self.save = button("Save the rows that are clear", self._save, primary=True)
        self.back = button("Take all of it back", self._take_back)
        self.save.disabled = self.back.disabled = True
        self.work = LongWork(self, self.save)
        self._roles: list[w.Dropdown] = []
        self._tools: dict[str, tuple[dict[str, w.Text], w.Dropdown]] = {}
        self.sheet_fields = w.VBox(
            [
                heading("2. What each column holds"), self.columns, heading("3. Once for the whole sheet"), self.date_order, self.dish,
                self.thickener, self.liquid, self.litres, self.temperature, self.stage, self.tools, self.equal, self.apart, self.invented,
                heading("4. What was understood"), self.asked, self.rows,
            ]
        )  # fmt: skip
        self.sheet_fields.layout.display = "none"
        super().__init__(
            [
                self.answer, heading("1. The sheet"), self.upload, self.path, self.first_rows, self.sheet_fields,
                w.HBox([self.save, self.back]), self.work, SAID,
            ]
        )  # fmt: skip
        self.answer.say("Choose a CSV or XLSX file with one trial a row. Nothing is saved before you have seen it.")
        self.upload.observe(self._uploaded, "value")
        self.path.observe(self._path_typed, "value")
        for field in (self.date_order, self.dish, self.thickener, self.liquid, self.litres, self.temperature, self.stage,
                      self.equal, self.apart, self.invented):  # fmt: skip
            field.observe(self._understand, "value")

    @shown
    def _uploaded(self, _change: Any = None) -> None:
        if self.upload.value:
            one = self.upload.value[0]
            self._open(bytes(one["content"]), str(one["name"]))

    @shown
    def _path_typed(self, _change: Any = None) -> None:
        if self.path.value.strip():
            self._open(self.path.value.strip().strip("'\""), "")

    def _open(self, source: str | bytes, name: str) -> None:
        self._forget()
        self.sheet = sheet = read_sheet(source, name)
        proposals, choices = proposed_choices(sheet)
        options = [(role.label, key) for key, role in ROLES.items()]
        rows = []
        for title, proposal in zip(sheet.headings, proposals, strict=True):
            field, why = choice(title, options, proposal.role), Line(css="sl-said")
            why.say(f"Proposed as {ROLES[proposal.role].label}: {proposal.why}.")
            field.observe(self._columns_changed, "value")
            self._roles.append(field)
            rows.append(w.VBox([field, why]))
        self.columns.children = rows
        kinds = {ROLES[role].what for role in choices.roles}
        if "amount g/L" in choices.roles and "liquid" not in kinds:
            self.litres.value = "1"
        notes = "".join(f"<p class='sl-said'>{said(note)}</p>" for note in sheet.notes)
        top = [(number, *row) for number, row in zip(sheet.numbers[:5], sheet.rows[:5], strict=True)]
        self.first_rows.value = notes + "<div style='overflow-x:auto'>" + table(
            [("Row", True), *((each, False) for each in sheet.headings)], top, f"The first {len(top)} of {len(sheet.rows)} rows"
        ) + "</div>"  # fmt: skip
        self.sheet_fields.layout.display = ""
        self._columns_changed()

    def _forget(self) -> None:
        self.sheet = self.found = None
        for row in self.columns.children:
            for each in (*row.children, row):
                each.close()
        self.columns.children, self._roles = (), []
        self.first_rows.value = self.asked.value = self.rows.value = ""
        self.date_order.value = self.dish.value = self.thickener.value = self.litres.value = self.temperature.value = ""
        self.equal.value = False
        self.save.disabled = True
        self.sheet_fields.layout.display = "none"
        self.answer.say("No sheet is open.")

    @shown
    def _columns_changed(self, _change: Any = None) -> None:
        held = {ROLES[field.value].what for field in self._roles}
        wanted = [name for name in TOOLS if name in held and flow.usual_settings(name)]
        for name in set(self._tools) - set(wanted):
            fields, tick = self._tools.pop(name)
            for each in (*fields.values(), tick):
                each.close()
        for name in wanted:
            if name not in self._tools:
                fields = {key: text_field(_size_label(name, key), f"{value:g}")
                          for key, value in flow.usual_settings(name).items()}  # fmt: skip
                tick = choice(f"These sizes of the {name}", [("ask", False), ("are right", True)])
                for each in (*fields.values(), tick):
                    each.observe(self._understand, "value")
                self._tools[name] = (fields, tick)
        self.tools.children = [
            each for name in wanted for each in (*self._tools[name][0].values(), self._tools[name][1])
        ]
        self._understand()

    def _choices(self) -> Choices:
        settings: dict[str, Mapping[str, float]] = {}
        for name, (fields, tick) in self._tools.items():
            sizes = {key: figure(field.value, field.description, LABELS[key][1]) for key, field in fields.items()}
            if tick.value:
                blank = next((key for key, value in sizes.items() if value is None), "")
                if blank:
                    raise BatchError(f"{fields[blank].description} is missing; type it, or choose 'ask' for the sizes.")
                settings[name] = {key: value for key, value in sizes.items() if value is not None}
        return Choices(
            tuple(field.value for field in self._roles), self.date_order.value, self.dish.value.strip(), self.thickener.value,
            self.liquid.value.strip(), figure(self.litres.value, "Litres a pot", "L"), degrees(self.temperature.value, "Degrees C"),
            self.stage.value, settings, self.equal.value, self.invented.value,
        )  # fmt: skip

    @shown
    def _understand(self, _change: Any = None) -> None:
        if self.sheet is None:
            return
        self.found, self.save.disabled, self.rows.value, self.asked.value = None, True, "", ""
        try:
            self.found = found = understood(self.sheet, self._choices())
        except KitchenError:
            self.answer.say("Nothing can be saved yet: see what is wrong below.")
            raise
        clear = len(found.clear)
        dishes = sorted({row.recipe.title for row in found.clear if row.recipe})
        self.answer.say(
            f"{clear} of {len(found.rows)} rows are clear"
            + (f" ({', '.join(dishes)})" if dishes else "")
            + (
                "."
                if clear == len(found.rows)
                else f"; {len(found.open)} {'leaves' if len(found.open) == 1 else 'leave'} something open, said beside it in part 4."
            )
        )
        known = [title for title in dishes if title in self.book.titles()]
        asked = list(found.asked_once)
        if known:
            where = (
                f"kept apart as '{known[0]}{APART}'"
                if self.apart.value
                else "put after its versions, the last as the latest"
            )
            asked.append(f"The logbook has {', '.join(known)} already: the old trials will be {where}.")
        self.asked.value = "".join(f"<p class='sl-wrong'>{said(each)}</p>" for each in asked)
        self.rows.value = table(
            [("Row", True), ("As", False), ("Can be saved", False), ("What is open, or was decided", False)],
            [(row.number, row.says, "yes" if row.clear else "no", " ".join((*row.questions, *row.remarks))) for row in found.rows],
            f"What {found.name} was understood to say",
        )  # fmt: skip
        self.save.disabled = not clear
        self.say("")

    @shown
    def _save(self, _button: Any = None) -> None:
        if self.found is None:
            raise BatchError("No sheet is understood yet; choose a file and mend what is said above.")
        there = set(self.book.titles()) - self._mine()
        again = []
        had = {(each.title, each.cooked_on, each.note) for each in self.book.all_batches()}
        numbers: dict[Recipe, int] = {}
        rows = []
        for recipe, fields, note in to_records(self.found):
            titles = [recipe.title, recipe.title + APART]
            if any((title, fields["cooked_on"], fields["note"]) in had for title in titles):
                again.append(fields["note"].rsplit(" ", 1)[-1])
                continue
            title = titles[self.apart.value and recipe.title in there]
            batch = {**fields, "title": title}
            Batch(**batch, version=1)
            rows.append((recipe.model_copy(update={"title": title}), batch, note))
        left = "; ".join(f"row {row.number}: {row.questions[0]}" for row in self.found.open)

        def work(told: Progress) -> int:
            for done, (recipe, batch, note) in enumerate(rows, start=1):
                if recipe not in numbers:
                    numbers[recipe] = self._version(recipe, note)
                self.saved.append(self.book.record(Batch(**batch, version=numbers[recipe])))
                told(done, len(rows), "rows")
            return len(rows)

        def done(kept: int) -> None:
            self.back.disabled = not self.saved
            rows_said, versions_said = "row" if kept == 1 else "rows", "version" if len(numbers) == 1 else "versions"
            text = f"{kept} {rows_said} saved as batches of {len(numbers)} {versions_said}."
            if again:
                text += f" Rows {', '.join(again)} are in the logbook already and were not saved again."
            self.say(text + (f" Not saved: {left}" if left else ""))

        # Rows saved before a Stop stay, and go back with the rest: so Take back is there in any case.
        self.back.disabled = not rows and not self.saved
        self.work.start(
            work, done, "Stopped; the rows saved so far are whole, and 'Take all of it back' takes them back."
        )

    def _version(self, recipe: Recipe, note: str) -> int:
        """The number of the version that holds this recipe; saved now where there is none."""
        if recipe.title in self.book.titles():
            same = [each.number for each in self.book.all_versions(recipe.title) if each.recipe == recipe]
            if same:
                return same[-1]
        version = self.book.save(recipe, note=note)
        self.saved.append(version)
        return version.number

    def _mine(self) -> set[str]:
        return {each.title for each in self.saved if isinstance(each, Version) and each.number == 1}

    @shown
    def _take_back(self, _button: Any = None) -> None:
        gone = len([each for each in self.saved if isinstance(each, Batch)])
        while self.saved:
            self.book.take_back(self.saved[-1], "imported, taken back")
            self.saved.pop()
        self.back.disabled = True
        self.say(f"All of it is taken back: {gone} batches and their versions are hidden, nothing else has changed.")


def _size_label(tool: str, key: str) -> str:
    name, unit = LABELS[key]
    return f"{name if name.lower().startswith(tool) else f'{tool.capitalize()}, {name.lower()}'}, {unit}"
