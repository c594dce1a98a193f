"""From an old sheet and a person's choices to recipes and batches: what each row would become, and what is asked."""

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any, NamedTuple

from spoonline import facts, flow
from spoonline.measures import AmountError, KitchenError, Sayings, parse_amount, parse_minutes, parse_temperature
from spoonline.old_sheets.columns import APART, FIGURES, NOTE, ROLES, Choices, Role, either_way, named_in, read_date
from spoonline.old_sheets.sheet import Sheet, TwoWaysError, plain, saying
from spoonline.pots.records import Batch, Reading
from spoonline.recipes import Ingredient, Recipe, content_id

said = Sayings("said.csv", "old_sheets", AmountError)
MOST_SAID, MOST_NOTE = 300, 4000  # letters of a cell that a sentence repeats, and letters of a note
_CAME_FROM = re.compile(r"(?:^|; )imported from (.*), row (\d+)$")


class OldRow(NamedTuple):
    """One row of the sheet: what it would become in one sentence, what it leaves open, and what was decided for it.

    ``recipe`` and ``batch`` (the fields of a batch, all but its version) are whole where no question is open; ``version_note``
    is the note of the version that it would begin; ``corrects`` the batch that came from the row before it was changed.
    """

    number: int
    says: str
    questions: tuple[str, ...]
    remarks: tuple[str, ...]
    recipe: Recipe
    batch: dict[str, Any]
    version_note: str
    corrects: Batch | None = None

    @property
    def clear(self) -> bool:
        """Whether the row can be saved as it stands."""
        return not self.questions


class Understood(NamedTuple):
    """The whole sheet as understood: its rows, and what one answer for all of them would settle."""

    name: str
    choices: Choices
    rows: tuple[OldRow, ...]
    asked_once: tuple[str, ...]

    @property
    def clear(self) -> list[OldRow]:
        """The rows that can be saved."""
        return [row for row in self.rows if row.clear]


def understood(sheet: Sheet, choices: Choices, today: date | None = None) -> Understood:
    """Say what each row of a sheet would become under these choices, and what is open.

    Parameters
    ----------
    sheet, choices : Sheet, Choices
        As read by ``read_sheet``; a role for each column, and what holds for the whole sheet.
    today : date, optional
        Later dates are asked about; the machine's own day unless given.

    Returns
    -------
    Understood
        One row a trial: amounts [g], liquid [L], readings in the tool's unit. Nothing is left out: what is no figure, and
        every column that is not used, stands in the note of the batch.

    Raises
    ------
    BatchError
        If the choices do not fit the sheet.

    Examples
    --------
    >>> from spoonline.old_sheets import proposed_choices, read_sheet
    >>> sheet = read_sheet(b"Dish;Date;Corn starch;Stock L\\nSoup;2026-01-08;2 heaped tbsp;1,5\\nSoup;3/4/2026;40;1,5\\n")
    >>> found = understood(sheet, proposed_choices(sheet)[1])
    >>> [round(row.recipe.thickener_g) for row in found.clear], len(found.rows[1].questions)
    ([32], 2)
    """
    came, columns = len(choices.roles), len(sheet.headings)
    saying.refuse(came != columns, "choices", came=came, columns=columns)
    rows: list[OldRow] = []
    seen: dict[str, int] = {}
    asked_once: dict[str, str] = {}
    for at, number in enumerate(sheet.numbers):
        row = _RowReader(choices, today or date.today(), asked_once).read(sheet, at)
        if row.clear and not choices.equal_rows_are_pots:
            first = seen.setdefault(repr((row.recipe, {**row.batch, "note": ""}, row.version_note)), number)
            if first != number:
                same = f"It says the same as row {first}: write what differs, or say that equal rows are several pots."
                row = row._replace(questions=(same,))
        rows.append(row)
    return Understood(sheet.name, choices, tuple(rows), tuple(asked_once.values()))


def to_records(found: Understood) -> list[OldRow]:
    """What is to be saved, by date."""
    return sorted(found.clear, key=lambda row: row.batch["cooked_on"])


def news(found: Understood, kept: Iterable[tuple[Batch, Recipe]], titles: Collection[str]) -> list[OldRow]:
    """What is to be saved and is not in the logbook yet, each under the title that it will have there.

    A row is known by its content, whatever its file is called and wherever it stands now. A changed row corrects the batch that
    came from a file of the same name, with the same dish, where two of three agree: its row, its day, and other rows of that
    file that are known. Any other row is a new pot.

    Parameters
    ----------
    found : Understood
    kept : iterable of (Batch, Recipe)
        Batches as they stand in the logbook, each with its recipe.
    titles : collection of str
        The dishes of the logbook.
    """
    places = [(_CAME_FROM.search(batch.note), batch, _content(batch, recipe)) for batch, recipe in kept]
    left = [(content, hit[1], hit[2], batch) for hit, batch, content in places if hit]
    new, same_file, made = [], False, []
    for row in to_records(found):
        content = _content(Batch(**row.batch, version=1), row.recipe)
        known = next((each for each in left if each[0] == content), None)
        if known is None:
            new.append(row)
        else:
            left.remove(known)
            same_file |= known[1] == found.name
    for row in new:
        best, at = 0, -1
        for place, (_, name, number, batch) in enumerate(left):
            alike = (number == str(row.number)) + (batch.cooked_on == row.batch["cooked_on"]) + same_file
            if alike > best and name == found.name and batch.title.removesuffix(APART) == row.recipe.title:
                best, at = alike, place
        old = left.pop(at)[3] if best >= 2 else None
        old = old if found.choices.correct else None
        apart = APART if found.choices.apart and row.recipe.title in titles else ""
        title = old.title if old else f"{row.recipe.title}{apart}"
        changed = row.batch | {"title": title, "replaces": old.id if old else ""}
        made.append(row._replace(recipe=row.recipe.model_copy(update={"title": title}), batch=changed, corrects=old))
    return made


def _content(batch: Batch, recipe: Recipe) -> tuple[str, ...]:
    """What a sheet says of a pot, without where in which file it stood."""
    own = {"title": recipe.title.removesuffix(APART), "note": _CAME_FROM.sub("", batch.note), "version": 1}
    own |= {"number": 0, "id": "", "replaces": "", "recorded_at": None}
    return content_id(batch.model_copy(update=own)), *(line.line for line in recipe.ingredients)


class _RowReader:
    """One row while it is being read: each question is collected, none stops the next.

    A question that one answer for the whole sheet settles goes into ``once`` too, the first of its kind.
    """

    def __init__(self, choices: Choices, today: date, once: dict[str, str]) -> None:
        self.choices, self.today, self.once = choices, today, once
        self.questions: dict[str, None] = {}
        self.remarks: list[str] = []
        self.found: dict[str, list[Any]] = defaultdict(list)

    def read(self, sheet: Sheet, at: int) -> OldRow:
        """The row as it would be saved."""
        roles = [ROLES[role] for role in self.choices.roles]
        columns = list(zip(roles, sheet.headings, sheet.rows[at], sheet.marks, strict=True))
        columns += [(ROLES[what], what, "", "") for what in ("date", "liquid") if what not in self.choices.kinds]
        # the thickener comes last: its kind may have a column of its own, and a dose in g/L needs the liquid
        for role, heading, text, mark in sorted(columns, key=lambda each: each[0].what == "amount"):
            with self._asking(f"{heading}: "):
                value = self._value(role, heading, text, mark or self.choices.decimal)
                self.found[role.what] += [] if value is None else [value]
        if not any(text for role, _, text, _ in columns if role.what == "amount"):
            self._ask("The amount of thickener is missing; write it, or 0 if none went in.")
        batch: dict[str, Any] = {name: self._one(what) for name, what in _FIGURES.items()}
        batch |= {name: " ".join(self.found[what]) for name, what in _TEXTS.items()}
        title, version = batch["title"] or self.choices.dish, " ".join(self.found["version"])
        if not title:
            self._ask("No dish is named: which one was it?", "dish")
        batch["readings"] = [each for tool in flow.TOOLS if self.found[tool] for each in self._reading(tool)]
        if self.found["temperature"] and not batch["readings"]:
            self.found[NOTE].append(f"temperature: {self._one('temperature'):.4g} C")
        self.found[NOTE] += [f"version: {version}"] * bool(version)
        called = f", there called {version}"[:1500] * bool(version)
        version_note = f"Imported from {sheet.name[:300]}{called}; other ingredients were not in the sheet."
        note = "; ".join([*self.found[NOTE], f"imported from {sheet.name}, row {sheet.numbers[at]}"])
        batch |= {"title": title or "?", "note": note}
        recipe, lines = Recipe(title="?"), [*self.found["liquid"], *self.found["amount"]]
        with self._asking():
            saying.refuse(len(note) > MOST_NOTE, "long note", came=len(note), most=MOST_NOTE)
            recipe = Recipe(title=batch["title"], ingredients=lines, invented=self.choices.invented)
            batch["title"] = recipe.title
            Batch(**{**batch, "cooked_on": self._one("date") or self.today}, version=1)
        says = _row_sentence(title or "some dish", batch, recipe)
        return OldRow(sheet.numbers[at], says, tuple(self.questions), tuple(self.remarks), recipe, batch, version_note)

    def _one(self, what: str) -> Any:
        return next(iter(self.found[what]), None)

    def _ask(self, question: str, once: str = "") -> None:
        short = question if len(question) <= 2 * MOST_SAID else f"{question[:MOST_SAID]}... is too long; shorten it."
        self.questions[short] = None
        if once:
            self.once.setdefault(once, short)

    @contextmanager
    def _asking(self, before: str = "") -> Iterator[None]:
        """Make a question of what cannot be read; ``before`` stands in front of it."""
        try:
            yield
        except KitchenError as err:
            self._ask(f"{before}{err}", "decimal" if isinstance(err, TwoWaysError) else "")

    def _value(self, role: Role, heading: str, text: str, mark: str) -> Any:
        """What a cell holds: text, a day, a line, grams, minutes, degrees C or a tool's figures; None where nothing."""
        what, unit = role.what, role.unit
        if what == "liquid" and not text and self.choices.litres is not None:
            text, mark = f"{self.choices.litres:g} L", "."
            self.remarks.append(f"Liquid taken as {text}, as said for the whole sheet.")
        elif what == "liquid" and not text:
            self._ask("The liquid is missing: how many litres in a pot? For a sheet in g/L, 1 L will do.", "liquid")
        if not text or what == "date":
            return self._date(text) if what == "date" else None
        words = what not in ("liquid", "amount") and not re.search(r"\d", text)
        if what in FIGURES and words:
            self.remarks.append(f"{heading}: {text[:MOST_SAID]!r} is no figure and stays in the note.")
        if what == NOTE or (what in FIGURES and words):
            self.found[NOTE].append(f"{heading}: {text}")
            return None
        if what not in FIGURES:
            return text
        said.refuse(len(text) > MOST_SAID, "too long", came=text[:40])
        text = plain(text, mark)
        said.refuse(text.startswith(("-", "\u2212")), "below zero", came=text)
        if what in flow.TOOLS:
            parts = [part for part in re.split(r"[;/\s]+", re.sub(rf"(?<=[\d\s]){unit}\b", " ", text)) if part]
            figures = all(part.replace(".", "", 1).isdecimal() for part in parts)
            said.refuse(not figures, "only figures", came=text, unit=unit)
            return [float(part) * role.factor for part in parts]
        reader: Callable[[str], Any] = _READERS.get(what) or (lambda text: self._line(text, what, heading))
        # a figure alone has the unit of its column; in a column of g/L any other unit would be of the whole pot
        tries = [text, f"{text} {unit}".strip()]
        if unit == "g/L":
            tries = [f"{re.sub(r'(?i) ?g ?/ ?l$', '', text)} g/L"]
        for each in tries:
            try:
                return reader(each)
            except KitchenError:
                if each == tries[-1] and (not unit or any(map(str.isnumeric, text))):
                    raise
        raise AmountError(said("no figure", came=text))

    def _date(self, text: str) -> date | None:
        found = read_date(text, self.choices.date_order)
        if found is None and either_way(text):
            self._ask(f"{text!r} can be read day first or month first: which is it in this sheet?", "date")
        elif found is None or not date(1900, 1, 1) <= found <= self.today:
            why = f"{text!r} is no date that can be read" if text else "The date is missing"
            why = f"{found} cannot be the day it was cooked" if found else why
            self._ask(f"{why}; write the day it was cooked as year-month-day.")
        return found

    def _line(self, text: str, what: str, heading: str) -> Ingredient | None:
        """A recipe line from a cell: what the cell names counts, or its heading or kind, or what is said for the sheet."""
        if re.fullmatch(r"(?:0|none|no|nil)(?:\.0*)?(?: [^\d\s]+)*", text.lower()) and what == "amount":
            return None
        part, kind, other = "liquid", "", self.choices.liquid
        if what == "amount":
            part, kind, other = "thickener", self._one("kind") or "", self.choices.thickener
        named = named_in(heading, part) or kind
        item = named or other
        if dose := re.fullmatch(r"(\d+(?:\.\d+)?) g/L", text):
            litres = sum(float(each.volume_ml) / 1000 for each in self.found["liquid"])
            text = plain(f"{float(dose[1]) * litres:.6g} g", ".")
        read = facts.read_line(text, self.choices.measures)
        if read.amount is not None and not read.item_text:
            said.refuse(read.amount.unit == "", "no unit", came=text)
            said.refuse(not item, "which one", came=text, part=part)
            read = facts.read_line(f"{text} {item}", self.choices.measures)
        if read.mass is None:
            raise AmountError(f"{text!r} came: {' '.join(read.notes)}")
        line, inside = Ingredient(**Ingredient.fields_of(read.text, self.choices.measures)), named_in(text, part)
        differs = what == "amount" and inside and named and inside != named_in(named)
        said.refuse(differs, "another thickener", came=text, named=named)
        known = line.fact_name is not None and facts.ingredient(line.fact_name).part == part
        said.refuse(what == "amount" and not known, "no thickener", item=line.item)
        line = line if line.part == part else Ingredient(**{**line.model_dump(), "part": part, "volume_ml": None})
        said.refuse(what == "liquid" and not line.volume_ml, "no liquid", came=text)
        return line

    def _reading(self, tool: str) -> list[Reading]:
        usual, settings = flow.usual_settings(tool), self.choices.settings.get(tool, {})
        measured, stage = self._one("temperature"), (self._one("stage") or self.choices.stage).lower()
        celsius = self.choices.temperature_c if measured is None else measured
        if usual and not settings:
            sizes = ", ".join(f"{name.replace('_', ' ')} {value:g}" for name, value in usual.items())
            self._ask(f"Which sizes did the {tool} have? Usual are {sizes}; say so, or change them.", tool)
        if celsius is None:
            self._ask("The reading has no temperature; write it, or say one in C for the whole sheet.", "temperature")
        elif measured is None:
            self.remarks.append(f"Temperature taken as {celsius:g} C, as said for the whole sheet.")
        if celsius is not None and bool(settings) == bool(usual):
            values = [each for cell in self.found[tool] for each in cell]
            fields = {"settings": dict(settings), "values": values, "temperature_c": round(celsius, 1)}
            with self._asking():
                reading = Reading(tool=tool, stage=stage, **fields)
                self.remarks += reading.flags
                return [reading]
        return []


def _row_sentence(title: str, batch: dict[str, Any], recipe: Recipe) -> str:
    """What a row would become, in one sentence."""
    parts = [title[:MOST_SAID], str(batch["cooked_on"] or "no date")]
    parts += [f"{each.line} ({each.mass_g:.4g} g, give or take {each.sd_g:.2g} g)" for each in recipe.ingredients]
    parts += [f"{recipe.dose_g_per_l:.1f} g/L"] if recipe.liquid_l else []
    figures = {"pot before": ("pot_before_g", "g"), "after": ("pot_after_g", "g"), "time": ("minutes", "min")}
    parts += [f"{label} {batch[key]:g} {unit}" for label, (key, unit) in figures.items() if batch[key] is not None]
    for each in batch["readings"]:
        shown = f"{', '.join(f'{value:g}' for value in each.values)} {flow.unit_of(each.tool).split()[0]}"
        parts.append(f"{each.tool} {shown} at {each.temperature_c:g} C, {each.stage}")
    return "; ".join(parts) + "."


def _grams(text: str) -> float:
    amount = parse_amount(text)
    said.refuse(amount.measure.kind != "mass" or amount.high is not None, "one figure", came=text)
    return facts.grams(amount, "water").mass_g


_FIGURES = {"cooked_on": "date", "pot_before_g": "before", "pot_after_g": "after", "minutes": "minutes"}
_TEXTS = {"title": "dish", "cook": "cook", "left_out": "left out"}
_READERS: dict[str, Callable[[str], float]] = {"before": _grams, "after": _grams, "minutes": parse_minutes}
_READERS["temperature"] = lambda text: parse_temperature(text).celsius
