"""One row of an old sheet: what it would become, and each question that it leaves open."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from spoonline import facts, flow
from spoonline.measures import number, parse_amount, parse_minutes, parse_temperature
from spoonline.measures.errors import AmountError, KitchenError
from spoonline.recipes import Ingredient, Recipe
from spoonline.trials.old_columns import ROLES, Choices, Role, either_way, named_in, read_date
from spoonline.trials.old_sheet import Sheet
from spoonline.trials.records import STAGES, Batch, Reading


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
        self.cells: dict[str, list[tuple[Role, str, str]]] = {}
        for role, heading, cell in zip(choices.roles, sheet.headings, cells, strict=True):
            self.cells.setdefault(ROLES[role].what, []).append((ROLES[role], heading, cell))

    def read(self) -> OldRow:
        """The row as it would be saved."""
        title = self._text("dish") or self.choices.dish
        if not title:
            self.questions.append("Which dish was it?")
        cooked_on = self._date()
        liquid = self._liquid()
        lines = self._thickeners(float(liquid.volume_ml) / 1000 if liquid and liquid.volume_ml else None)
        fields: dict[str, Any] = {
            "cooked_on": cooked_on,
            "cook": self._text("cook"),
            "pot_before_g": self._figure("before"),
            "pot_after_g": self._figure("after"),
            "minutes": self._figure("minutes"),
            "left_out": self._text("left out"),
        }
        fields["readings"] = self._readings()
        for what in ("viscosity", "words", "note"):
            self.kept += [f"{heading}: {cell}" for _, heading, cell in self.cells.get(what, []) if cell]
        version = self._text("version")
        if version:
            self.kept.append(f"version: {version}")
        fields["note"] = "; ".join([*self.kept, f"imported from {self.sheet.name}, row {self.at}"])
        recipe = None
        try:
            if liquid is not None and lines is not None and title:
                recipe = Recipe(title=title, ingredients=(liquid, *lines), invented=self.choices.invented)
                if cooked_on is not None:
                    Batch(title=title, version=1, **fields)
        except KitchenError as err:
            self.questions.append(str(err))
        says = self._says(title, cooked_on, recipe, fields)
        if self.questions or recipe is None:
            return OldRow(self.at, says, tuple(dict.fromkeys(self.questions)), tuple(self.remarks))
        return OldRow(self.at, says, (), tuple(self.remarks), recipe, fields | {"title": recipe.title}, version)

    def _says(self, title: str, on: date | None, recipe: Recipe | None, fields: dict[str, Any]) -> str:
        parts = [title or "some dish", on.isoformat() if on else "no date"]
        if recipe is not None:
            lines = recipe.of_part("thickener")
            held = [
                f"{line.mass_g:.4g} g {line.item}"
                + ("" if re.search(r"\d\s*k?g$", line.amount) else f" ({line.amount}, give or take {line.sd_g:.2g} g)")
                for line in lines
            ]
            parts.append(
                f"{' and '.join(held) or 'no thickener'} in {recipe.liquid_l:.3g} L {recipe.ingredients[0].item}"
            )
            parts.append(f"{recipe.dose_g_per_l:.1f} g/L")
        if fields["pot_before_g"] is not None and fields["pot_after_g"] is not None:
            parts.append(f"pot {fields['pot_before_g']:g} to {fields['pot_after_g']:g} g")
        if fields["minutes"] is not None:
            parts.append(f"{fields['minutes']:g} min")
        for each in fields["readings"]:
            shown = ", ".join(f"{value:g}" for value in each.values)
            parts.append(
                f"{each.tool} {shown} {flow.unit_of(each.tool).split()[0]} at {each.temperature_c:g} C, {each.stage}"
            )
        parts += [repr(cell) for what in ("viscosity", "words") for _, _, cell in self.cells.get(what, []) if cell]
        return "; ".join(parts) + "."

    def _ask(self, heading: str, err: KitchenError) -> None:
        self.questions.append(str(err) if str(err).startswith(heading) else f"{heading}: {err}")

    def _text(self, what: str) -> str:
        return " ".join(cell for _, _, cell in self.cells.get(what, []) if cell)

    def _plain(self, cell: str) -> str:
        """A cell with its decimal mark made a point where the sheet shows which it is."""
        if self.sheet.decimal == ",":
            if re.search(r"\d\.\d{3}(?!\d)", cell):
                raise AmountError(f"{cell!r} could hold thousands or decimals; write it without a point.")
            return re.sub(r"(?<=\d),(?=\d)", ".", cell)
        return cell

    def _number(self, cell: str, unit: str = "") -> float:
        """A figure; the unit of its column may stand behind it."""
        plain = self._plain(cell).strip().rstrip(",")
        if unit and plain.lower().endswith(unit.lower()):
            plain = plain[: -len(unit)].strip()
        if plain.startswith(("-", "\u2212")):
            raise AmountError(f"{cell!r} is below nothing; a figure of 0 or more is wanted.")
        return float(plain) if re.fullmatch(r"\d{1,12}(?:\.\d{1,20})?", plain) else number(plain)

    def _date(self) -> date | None:
        text = self._text("date")
        found = read_date(text, self.choices.date_order) if text else None
        if not text:
            self.questions.append("The date is missing; write the day it was cooked.")
        elif found is None and either_way(text):
            self.questions.append(f"{text!r} can be read day first or month first: say which for the sheet.")
        elif found is None:
            self.questions.append(f"{text!r} is no date that can be read; write it as year-month-day.")
        elif found.year < 1900 or found > self.today:
            self.questions.append(f"{found.isoformat()} cannot be the day it was cooked; check the date.")
            return None
        return found

    def _liquid(self) -> Ingredient | None:
        role, heading, cell = next(iter(self.cells.get("liquid", [])), (ROLES["liquid L"], "liquid", ""))
        item = named_in(heading, "liquid") or self.choices.liquid
        try:
            if not cell and self.choices.litres is None:
                raise AmountError("The liquid is missing; write how much there was.")
            text = f"{self._number(cell, role.unit):.6g} {role.unit}" if cell and role.unit else self._plain(cell)
            if not cell:
                text = f"{self.choices.litres:g} L"
                self.remarks.append(f"Liquid taken as {text}, as said for the whole sheet.")
            line = self._line(text, item, "liquid", heading)
        except KitchenError as err:
            self._ask(heading, err)
            return None
        if not line.volume_ml or line.volume_ml <= 0:
            self.questions.append(f"{heading}: {cell!r} gives no liquid; write litres, ml or cups above 0.")
            return None
        return line

    def _line(self, text: str, item: str, part: str, heading: str) -> Ingredient:
        """A recipe line from a cell; the cell's own item stands before the one of the sheet."""
        read = facts.read_line(text)
        if read.amount is None or (read.amount.unit == "" and read.amount.value != 0):
            why = (
                " ".join(read.notes)
                if read.amount is None
                else "its unit is not said; choose one for the column, or write it."
            )
            raise AmountError(f"{heading}: {text!r} came: {why}")
        if not read.item_text and not item:
            raise AmountError(f"{heading}: {text!r} came, but which {part} is not said; choose it for the sheet.")
        line = Ingredient(**Ingredient.fields_of(text if read.item_text else f"{text} {item}"))
        if line.mass_g is None:
            raise AmountError(f"{heading}: {text!r} came: {' '.join(facts.read_line(line.line).notes)}")
        known = line.fact_name
        if part == "thickener" and (known is None or facts.ingredient(known).part != part):
            raise AmountError(f"{heading}: {line.item!r} is no thickener with figures here; write which one it was.")
        if part == "liquid" and line.part != "liquid":
            line = Ingredient(**{**line.model_dump(), "part": "liquid", "volume_ml": None})
        return line

    def _thickeners(self, litres: float | None) -> list[Ingredient] | None:
        kind = self._text("kind")
        lines, before = [], len(self.questions)
        for role, heading, cell in self.cells.get("amount", []):
            if not cell:
                continue
            try:
                named = named_in(heading)
                item = named or kind or self.choices.thickener
                if role.unit == "g/L" and litres is None:
                    continue
                if role.unit:
                    figure = self._number(cell, role.unit)
                    text = f"{figure * litres:.6g} g" if role.unit == "g/L" and litres else f"{figure:.6g} {role.unit}"
                else:
                    text = self._plain(cell)
                if re.fullmatch(r"(?:0|none|no|nil)(?:\.0*)?(?: \S+)*", text.lower()):
                    continue
                lines.append(self._line(text, item, "thickener", heading))
                inside = named_in(cell)
                if inside and kind and inside != named_in(kind):
                    raise AmountError(f"{heading}: {cell!r} names another thickener than {kind!r}; write one of them.")
            except KitchenError as err:
                self._ask(heading, err)
        if not any(cell for _, _, cell in self.cells.get("amount", [])):
            self.questions.append("The amount of thickener is missing; write it, or 0 if none went in.")
        return lines if len(self.questions) == before else None

    def _figure(self, what: str) -> float | None:
        for role, heading, cell in self.cells.get(what, []):
            if not cell:
                continue
            if not re.search(r"\d", cell):
                self.kept.append(f"{heading}: {cell}")
                self.remarks.append(f"{heading}: {cell!r} is no figure and stays in the note.")
                continue
            try:
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
            except KitchenError as err:
                self.questions.append(f"{heading}: {cell!r} came, unit or figure unclear; {err}")
        return None

    def _readings(self) -> list[Reading]:
        temperature = self._figure("temperature")
        stage = self._text("stage").lower()
        if stage and stage not in STAGES:
            self.questions.append(f"The stage {stage!r} came; write {', '.join(STAGES)}, or send it to the note.")
        found = []
        for tool in self.choices.tools:
            values: list[float] = []
            for role, heading, cell in self.cells[tool]:
                if cell and not re.search(r"\d", cell):
                    self.kept.append(f"{heading}: {cell}")
                    self.remarks.append(f"{heading}: {cell!r} is words, so it stays in the note and is no reading.")
                elif cell:
                    bare = re.sub(rf"(?<=[\d\s]){role.unit}\b", " ", cell)
                    parts = [part for part in re.split(r"\s*[;/]\s*|\s+", bare) if part]
                    try:
                        values += [self._number(part) * role.factor for part in parts]
                    except KitchenError as err:
                        self.questions.append(f"{heading}: {cell!r} came; figures alone are wanted. {err}")
            if values:
                reading = self._reading(tool, values, temperature, stage)
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
        try:
            reading = Reading(
                tool=tool, settings=dict(settings), values=tuple(values), temperature_c=round(celsius, 1),
                stage=stage or self.choices.stage,
            )  # fmt: skip
        except KitchenError as err:
            self.questions.append(str(err))
            return None
        self.remarks += list(reading.flags)
        return reading
