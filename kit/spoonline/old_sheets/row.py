"""One row of an old sheet: what it would become, and each question that it leaves open."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any

from spoonline import facts, flow
from spoonline.measures import number, parse_amount, parse_minutes, parse_temperature, written
from spoonline.measures.errors import AmountError, KitchenError
from spoonline.old_sheets.columns import ROLES, Choices, Role, either_way, named_in, read_date
from spoonline.old_sheets.sheet import Sheet
from spoonline.pots.records import STAGES, Batch, Reading
from spoonline.recipes import Ingredient, Recipe


@dataclass(frozen=True)
class OldRow:
    """One row of the sheet: what it would become in one sentence, what it leaves open, and what was decided for it.

    ``recipe`` and ``batch`` (the fields of a batch, all but its version) are None where a question is open.
    """

    number: int
    says: str
    questions: tuple[str, ...]
    remarks: tuple[str, ...]
    recipe: Recipe | None = None
    batch: dict[str, Any] | None = None
    version: str = ""

    @property
    def clear(self) -> bool:
        """Whether the row can be saved as it stands."""
        return self.recipe is not None and not self.questions


class RowReader:
    """One row while it is being read: each question is collected, none stops the next."""

    def __init__(self, sheet: Sheet, choices: Choices, at: int, cells: Sequence[str], today: date) -> None:
        self.sheet, self.choices, self.at, self.today = sheet, choices, at, today
        self.questions: list[str] = []
        self.remarks: list[str] = []
        self.kept: list[str] = []
        places = zip(choices.roles, sheet.headings, cells, strict=True)
        self.cells = [(ROLES[role], heading, cell) for role, heading, cell in places]

    def read(self) -> OldRow:
        """The row as it would be saved."""
        title = self._text("dish") or self.choices.dish
        if not title:
            self.questions.append("Which dish was it?")
        cooked_on = self._date()
        liquid = self._liquid()
        lines = self._thickeners(float(liquid.volume_ml) / 1000 if liquid and liquid.volume_ml else None)
        fields: dict[str, Any] = {"cooked_on": cooked_on, "cook": self._text("cook")}
        fields |= {f"pot_{what}_g": self._figure(what) for what in ("before", "after")}
        fields |= {"minutes": self._figure("minutes"), "left_out": self._text("left out"), "readings": self._readings()}
        for what in ("viscosity", "words", "note"):
            self.kept += [f"{heading}: {cell}" for _, heading, cell in self._filled(what)]
        version = self._text("version")
        self.kept += [f"version: {version}"] if version else []
        fields["note"] = "; ".join([*self.kept, f"imported from {self.sheet.name}, row {self.at}"])
        recipe = None
        with self._asking():
            if liquid is not None and lines is not None and title:
                recipe = Recipe(title=title, ingredients=(liquid, *lines), invented=self.choices.invented)
                if cooked_on is not None:
                    Batch(title=title, version=1, **fields)
        says = self._says(title, cooked_on, recipe, fields)
        if self.questions or recipe is None:
            return OldRow(self.at, says, tuple(dict.fromkeys(self.questions)), tuple(self.remarks))
        return OldRow(self.at, says, (), tuple(self.remarks), recipe, fields | {"title": recipe.title}, version)

    @contextmanager
    def _asking(self, before: str = "") -> Iterator[None]:
        """Make a question of what cannot be read; ``before`` stands in front of it, once."""
        try:
            yield
        except KitchenError as err:
            said = str(err).startswith(before.removesuffix(": "))
            self.questions.append(str(err) if said else f"{before}{err}")

    def _says(self, title: str, on: date | None, recipe: Recipe | None, fields: dict[str, Any]) -> str:
        parts = [title or "some dish", on.isoformat() if on else "no date"]
        if recipe is not None:
            held = []
            for line in recipe.of_part("thickener"):
                spooned = (
                    "" if re.search(r"\d\s*k?g$", line.amount) else f" ({line.amount}, give or take {line.sd_g:.2g} g)"
                )
                held.append(f"{line.mass_g:.4g} g {line.item}{spooned}")
            inside = f"{recipe.liquid_l:.3g} L {recipe.ingredients[0].item}"
            parts += [f"{' and '.join(held) or 'no thickener'} in {inside}", f"{recipe.dose_g_per_l:.1f} g/L"]
        if fields["pot_before_g"] is not None and fields["pot_after_g"] is not None:
            parts.append(f"pot {fields['pot_before_g']:g} to {fields['pot_after_g']:g} g")
        if fields["minutes"] is not None:
            parts.append(f"{fields['minutes']:g} min")
        for each in fields["readings"]:
            shown = f"{', '.join(f'{value:g}' for value in each.values)} {flow.unit_of(each.tool).split()[0]}"
            parts.append(f"{each.tool} {shown} at {each.temperature_c:g} C, {each.stage}")
        parts += [repr(cell) for what in ("viscosity", "words") for _, _, cell in self._filled(what)]
        return "; ".join(parts) + "."

    def _filled(self, what: str) -> list[tuple[Role, str, str]]:
        return [each for each in self.cells if each[0].what == what and each[2]]

    def _text(self, what: str) -> str:
        return " ".join(cell for _, _, cell in self._filled(what))

    def _plain(self, cell: str) -> str:
        """A cell with its decimal mark made a point where the sheet shows which it is."""
        if self.sheet.decimal != ",":
            return cell
        if re.search(r"\d\.\d{3}(?!\d)", cell):
            raise AmountError(f"{cell!r} could hold thousands or decimals; write it without a point.")
        return re.sub(r"(?<=\d),(?=\d)", ".", cell)

    def _number(self, cell: str, unit: str = "") -> float:
        """A figure; the unit of its column may stand behind it."""
        plain = self._plain(cell).strip().rstrip(",")
        if unit and plain.lower().endswith(unit.lower()):
            plain = plain[: -len(unit)].strip()
        if plain.startswith(("-", "\u2212")):
            raise AmountError(f"{cell!r} is below nothing; a figure of 0 or more is wanted.")
        return float(plain) if re.fullmatch(r"\d{1,12}(?:\.\d{1,20})?", plain) else number(plain)

    def _noted(self, heading: str, cell: str, why: str) -> bool:
        """Whether a cell holds no figure and so goes to the note, with a remark."""
        if re.search(r"\d", cell):
            return False
        self.kept.append(f"{heading}: {cell}")
        self.remarks.append(f"{heading}: {cell!r} is {why}.")
        return True

    def _date(self) -> date | None:
        text = self._text("date")
        found = read_date(text, self.choices.date_order) if text else None
        if found is not None and found.year >= 1900 and found <= self.today:
            return found
        if not text:
            self.questions.append("The date is missing; write the day it was cooked.")
        elif found is not None:
            self.questions.append(f"{found.isoformat()} cannot be the day it was cooked; check the date.")
        elif either_way(text):
            self.questions.append(f"{text!r} can be read day first or month first: say which for the sheet.")
        else:
            self.questions.append(f"{text!r} is no date that can be read; write it as year-month-day.")
        return None

    def _liquid(self) -> Ingredient | None:
        # its column is named in questions even where the cell is empty
        columns = (each for each in self.cells if each[0].what == "liquid")
        role, heading, cell = next(columns, (ROLES["liquid L"], "liquid", ""))
        item = named_in(heading, "liquid") or self.choices.liquid
        line = None
        with self._asking(f"{heading}: "):
            if not cell and self.choices.litres is None:
                raise AmountError("The liquid is missing; write how much there was.")
            text = f"{written(self._number(cell, role.unit))} {role.unit}" if cell and role.unit else self._plain(cell)
            if not cell:
                text = f"{self.choices.litres:g} L"
                self.remarks.append(f"Liquid taken as {text}, as said for the whole sheet.")
            line = self._line(text, item, "liquid", heading)
        if line is not None and (not line.volume_ml or line.volume_ml <= 0):
            self.questions.append(f"{heading}: {cell!r} gives no liquid; write litres, ml or cups above 0.")
            return None
        return line

    def _line(self, text: str, item: str, part: str, heading: str) -> Ingredient:
        """A recipe line from a cell; the cell's own item stands before the one of the sheet."""
        read = facts.read_line(text)
        why = ""
        if read.amount is None:
            why = f": {' '.join(read.notes)}"
        elif read.amount.unit == "" and read.amount.value != 0:
            why = ": its unit is not said; choose one for the column, or write it."
        elif not read.item_text and not item:
            why = f", but which {part} is not said; choose it for the sheet."
        else:
            line = Ingredient(**Ingredient.fields_of(text if read.item_text else f"{text} {item}"))
            if line.mass_g is None:
                why = f": {' '.join(facts.read_line(line.line).notes)}"
        if why:
            raise AmountError(f"{heading}: {text!r} came{why}")
        if part == "thickener" and (line.fact_name is None or facts.ingredient(line.fact_name).part != part):
            raise AmountError(f"{heading}: {line.item!r} is no thickener with figures here; write which one it was.")
        if part == "liquid" and line.part != "liquid":
            line = Ingredient(**{**line.model_dump(), "part": "liquid", "volume_ml": None})
        return line

    def _thickeners(self, litres: float | None) -> list[Ingredient] | None:
        kind, amounts = self._text("kind"), self._filled("amount")
        lines, before = [], len(self.questions)
        for role, heading, cell in amounts:
            if role.unit == "g/L" and litres is None:
                continue
            with self._asking(f"{heading}: "):
                text = self._plain(cell) if not role.unit else f"{written(self._number(cell, role.unit))} {role.unit}"
                if role.unit == "g/L" and litres:
                    text = f"{written(self._number(cell, role.unit) * litres)} g"
                if re.fullmatch(r"(?:0|none|no|nil)(?:\.0*)?(?: \S+)*", text.lower()):
                    continue
                lines.append(
                    self._line(text, named_in(heading) or kind or self.choices.thickener, "thickener", heading)
                )
                inside = named_in(cell)
                if inside and kind and inside != named_in(kind):
                    raise AmountError(f"{heading}: {cell!r} names another thickener than {kind!r}; write one of them.")
        if not amounts:
            self.questions.append("The amount of thickener is missing; write it, or 0 if none went in.")
        return lines if len(self.questions) == before else None

    def _figure(self, what: str) -> float | None:
        for role, heading, cell in self._filled(what):
            if self._noted(heading, cell, "no figure and stays in the note"):
                continue
            with self._asking(f"{heading}: {cell!r} came, unit or figure unclear; "):
                if role.unit == "F":
                    return parse_temperature(f"{self._plain(cell)} F").celsius
                if role.unit:
                    return self._number(cell, role.unit) * role.factor
                if what == "minutes":
                    return parse_minutes(self._plain(cell))
                if what == "temperature":
                    return parse_temperature(self._plain(cell)).celsius
                amount = parse_amount(self._plain(cell))
                if amount.measure.kind != "mass":
                    raise AmountError("Write grams or kg, or choose the unit for the column.")
                return facts.grams(amount, "water").mass_g
        return None

    def _readings(self) -> list[Reading]:
        temperature = self._figure("temperature")
        stage = self._text("stage").lower()
        if stage and stage not in STAGES:
            self.questions.append(f"The stage {stage!r} came; write {', '.join(STAGES)}, or send it to the note.")
        found = []
        for tool in self.choices.tools:
            values: list[float] = []
            for role, heading, cell in self._filled(tool):
                if self._noted(heading, cell, "words, so it stays in the note and is no reading"):
                    continue
                bare = re.sub(rf"(?<=[\d\s]){role.unit}\b", " ", cell)
                with self._asking(f"{heading}: {cell!r} came; figures alone are wanted. "):
                    values += [self._number(part) * role.factor for part in re.split(r"\s*[;/]\s*|\s+", bare) if part]
            reading = self._reading(tool, values, temperature, stage) if values else None
            found += [reading] if reading else []
        if temperature is not None and not found:
            self.kept.append(f"temperature: {temperature:.4g} C")
        return found

    def _reading(self, tool: str, values: list[float], temperature: float | None, stage: str) -> Reading | None:
        settings = self.choices.settings.get(tool, None if flow.usual_settings(tool) else {})
        celsius = self.choices.temperature_c if temperature is None else temperature
        if settings is None:
            self.questions.append(f"The sizes of the {tool} are not said; say them once for the sheet.")
        if celsius is None:
            self.questions.append("The reading has no temperature; write it, or say one for the whole sheet.")
        if settings is None or celsius is None or (stage and stage not in STAGES):
            return None
        if temperature is None:
            self.remarks.append(f"Temperature taken as {celsius:g} C, as said for the whole sheet.")
        shown = {"tool": tool, "settings": dict(settings), "values": tuple(values), "temperature_c": round(celsius, 1)}
        reading = None
        with self._asking():
            reading = Reading(**shown, stage=stage or self.choices.stage)
            self.remarks += list(reading.flags)
        return reading
