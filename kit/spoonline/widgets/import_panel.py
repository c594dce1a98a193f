"""Notebook 10: how do my old notes come in?"""

from collections.abc import Iterable
from dataclasses import fields

import ipywidgets as w
import pandas as pd

from spoonline import flow, old_sheets
from spoonline.logbook import Logbook
from spoonline.measures.errors import KitchenError, Progress
from spoonline.old_sheets.columns import APART, ROLES, Choices
from spoonline.old_sheets.trials import OldRow
from spoonline.pots import Batch
from spoonline.recipes import Recipe, Version
from spoonline.widgets.parts.fields import (
    Message,
    appear,
    blank,
    choice,
    declared,
    heading,
    laid_out,
    put_in,
    text_field,
)
from spoonline.widgets.parts.markup import frame_table, notes, tag
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import degrees, figure, said, wanted
from spoonline.widgets.parts.work import LongWork

FIRST = "Choose a CSV or XLSX file with one trial a row. Nothing is saved before you have seen it."


class ImportPanel(Panel):
    """An old sheet of trials: what each column and row is taken for, before anything is saved."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        self.found: old_sheets.Understood | None = None
        self.saved: list[Batch | Version] = []
        self.choices = w.VBox()
        declared(self, "an old sheet")
        self.work = LongWork(self, self.save)
        self.lay(*laid_out(self, "old sheet"), self.bar(self.save, self.back), self.work)
        self._forget(FIRST)
        self.back.disabled = True
        self.watch(self._uploaded, self.upload)
        self.watch(self._path_typed, self.path)

    def _uploaded(self) -> None:
        with self.filling_in():
            self.path.value = ""
        for one in self.upload.value:
            self._open(bytes(one["content"]), str(one["name"]))

    def _path_typed(self) -> None:
        self._forget(FIRST)
        if self.path.value.strip():
            self._open(self.path.value.strip().strip("'\""), "")

    def _forget(self, text: str) -> None:
        put_in(self.choices, [])
        blank(*self.places)
        self.found, self.save.disabled = None, True
        appear(False, self.sheet_fields)
        self.answer.say(text)

    def changed(self) -> None:
        """What of the sheet the logbook holds by now."""
        if self.found is not None:
            self.attempt(self._understand)

    def _open(self, source: str | bytes, name: str) -> None:
        self.begin_anew()
        self._forget("No sheet is open.")
        self.sheet = sheet = old_sheets.read_sheet(source, name)
        proposals, choices = old_sheets.proposed_choices(sheet)
        top = [(n, *(cell[:200] for cell in row)) for n, row in zip(sheet.numbers[:5], sheet.rows[:5], strict=True)]
        frame = pd.DataFrame(top, columns=["Row", *sheet.headings])
        first = frame_table(frame, f"The first {len(top)} of {len(sheet.rows)} rows")
        self.first_rows.value = notes(sheet.notes) + tag("div", first, class_="sl-scroll")
        options, columns = [(role.label, key) for key, role in ROLES.items()], []
        for title, proposal in zip(sheet.headings, proposals, strict=True):
            columns += [choice(title, options, proposal.role), Message(css="sl-note")]
            columns[-1].say(f"Proposed as {ROLES[proposal.role].label}: {proposal.why}.")
        self._roles, once = columns[::2], []
        for each in (each for each in fields(Choices) if each.metadata):
            label, pairs = each.metadata["label"], each.metadata["options"]
            once.append(choice(label, pairs, each.default) if pairs else text_field(label, str(each.default or "")))
            setattr(self, each.name, once[-1])
        self.measures.value = self.book.habits.kitchen
        if "amount g/L" in choices.roles and "liquid" not in choices.kinds:
            self.litres.value = "1"
        self._tools = {name: _sizes(name) for name, kind in flow.TOOLS.items() if kind.labels()}
        tools = [each for sizes, right in self._tools.values() for each in (*sizes.values(), right)]
        self.watch(self._understand, *self._roles, *once, *tools)
        second, third = heading("2. What each column holds"), heading("3. Once for the whole sheet")
        put_in(self.choices, [second, *columns, third, *once, *tools])
        appear(True, self.sheet_fields)
        self._understand()

    def _choices(self) -> Choices:
        roles = tuple(field.value for field in self._roles)
        held, settings = {ROLES[role].what for role in roles}, {}
        for tool, (sizes, right) in self._tools.items():
            appear(tool in held, *sizes.values(), right)
            if tool in held and right.value:
                settings[tool] = {key: _size(each, flow.TOOLS[tool].labels()[key][1]) for key, each in sizes.items()}
        chosen = {each.name: getattr(self, each.name).value for each in fields(Choices) if each.metadata}
        chosen |= {name: value.strip() for name, value in chosen.items() if name in ("dish", "liquid")}
        chosen["litres"] = figure(chosen["litres"], "Litres a pot", "L")
        chosen["temperature_c"] = degrees(chosen["temperature_c"], "Degrees C")
        return Choices(roles, settings=settings, **chosen)

    def _news(self, found: old_sheets.Understood) -> list[OldRow]:
        """What the logbook does not hold yet."""
        titles, kept = set(self.book.titles()), list[tuple[Batch, Recipe]]()
        for title in titles & {row.recipe.title + end for row in found.clear for end in ("", APART)}:
            recipes = {each.number: each.recipe for each in self.book.all_versions(title)}
            kept += [(each, recipes[each.version]) for each in self.book.all_batches(title) if each.version in recipes]
        mine = {each.title for each in self.saved if isinstance(each, Version) and each.number == 1}
        return old_sheets.news(found, kept, titles - mine)

    def _understand(self) -> None:
        self.found, self.save.disabled, self.rows.value, self.asked.value = None, True, "", ""
        try:
            self.found = found = old_sheets.understood(self.sheet, self._choices())
        except KitchenError:
            self.answer.say("Nothing can be saved yet: see what is wrong below.")
            raise
        clear, left = len(found.clear), len(found.rows) - len(found.clear)
        dishes, asked = sorted({row.recipe.title for row in found.clear}), list(found.asked_once)
        text = f"{clear} of {len(found.rows)} rows are clear" + f" ({', '.join(dishes)})" * bool(dishes)
        part = f"; {left} leave{'s' * (left == 1)} something open, said beside it in part 4" * bool(left)
        self.answer.say(f"{text}{part}.")
        if known := [title for title in dishes if title in self.book.titles()]:
            where = said("apart" if found.choices.apart else "after its versions", title=f"{known[0]}{APART}")
            asked.append(f"The logbook has {', '.join(known)} already: the old trials will be {where}.")
        new = self._news(found)
        asked += [f"{each}: it will be saved as a correction of that batch." for each in _corrections(new)]
        self.asked.value = notes(asked, "sl-wrong")
        state = {row.number: "no" if row.questions else "it is there already" for row in found.rows}
        state |= {row.number: "yes" for row in new}
        rows = [(row.number, row.says, state[row.number], " ".join(row.questions + row.remarks)) for row in found.rows]
        frame = pd.DataFrame(rows, columns=["Row", "As", "Can be saved", "What is open, or was decided"])
        self.rows.value = frame_table(frame, f"What {found.name} was understood to say")
        self.save.disabled = not clear

    def _save(self) -> None:
        found = wanted(self.found, "no sheet")
        rows, numbers = self._news(found), dict[Recipe, int]()
        for title in {row.recipe.title for row in rows} & set(self.book.titles()):
            numbers |= {each.recipe: each.number for each in self.book.all_versions(title)}

        def work(progress: Progress) -> None:
            for done, row in enumerate(rows, start=1):
                if row.recipe not in numbers:
                    self.saved.append(version := self.book.save(row.recipe, note=row.version_note))
                    numbers[row.recipe] = version.number
                self.saved.append(self.book.record(Batch(**row.batch, version=numbers[row.recipe])))
                progress(done, len(rows), "rows")

        def done(_made: None) -> None:
            kept, versions, new = len(rows), len({row.recipe for row in rows}), {row.number for row in rows}
            text = [f"{kept} row{'s' * (kept != 1)} saved as batches of {versions} version{'s' * (versions != 1)}."]
            text += [f"{each}, and corrects it." for each in _corrections(rows)]
            again = ", ".join(str(row.number) for row in found.clear if row.number not in new)
            text += [f"In the logbook already, so not saved again: row {again}."] if again else []
            self.look()
            left = "; ".join(f"row {row.number}: {row.questions[0]}" for row in found.rows if row.questions)
            self.say(" ".join([*text, *([f"Not saved: {left}"] if left else [])]))

        # Rows saved before a Stop stay, and go back with the rest: so Take back is there in any case.
        self.back.disabled = not rows and not self.saved
        self.work.start(work, done, "Stopped; the rows saved so far are whole, and can be taken back all together.")

    def _take_back(self) -> None:
        self.work.stop()  # what is being saved at this moment comes back too
        gone = sum(isinstance(each, Batch) for each in self.saved)
        while self.saved:
            self.book.take_back(self.saved[-1], "imported, taken back")
            self.saved.pop()
        self.back.disabled = True
        self.look()
        self.say(f"All of it is taken back: {gone} batches and their versions are hidden, nothing else has changed.")


def _sizes(tool: str) -> tuple[dict[str, w.Text], w.Dropdown]:
    """Fields for the sizes of a tool, and whether they are right."""
    made = {}
    for key, value in flow.usual_settings(tool).items():
        name, unit = flow.TOOLS[tool].labels()[key]
        label = name if name.lower().startswith(tool) else f"{tool.capitalize()}, {name.lower()}"
        made[key] = text_field(f"{label}, {unit}", f"{value:g}")
    return made, choice(f"These sizes of the {tool}", [("ask", False), ("are right", True)])


def _size(field: w.Text, unit: str) -> float:
    return wanted(figure(field.value, field.description, unit), "no size of a tool", what=field.description)


def _corrections(rows: Iterable[OldRow]) -> list[str]:
    changed = [(row.number, row.corrects) for row in rows if row.corrects]
    return [f"Row {at} has changed since it came in as batch {old.number} of {old.title}" for at, old in changed]
