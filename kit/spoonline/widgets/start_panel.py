"""Notebook 0: where am I, and how do I begin?"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import ipywidgets as w
from markupsafe import Markup

from spoonline.recipes import Ingredient, OwnSpoon, Recipe, Version, with_own
from spoonline.widgets.parts.drafts import DraftPart
from spoonline.widgets.parts.habits_part import CarePart, HabitsPart
from spoonline.widgets.parts.here import also_saved, remember
from spoonline.widgets.parts.panel import SAID, Line, Panel, button, choice, escaped, heading, link, said, shown, table
from spoonline.widgets.parts.rows_table import RowsTable

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

EXAMPLE = """Mushroom gravy
Serves 8
1 l vegetable stock
60 g wheat flour
60 g butter

1. Cook the flour in the butter for 3 minutes.
2. Whisk in the stock and simmer for 10 minutes."""


# The first page shows so many recipes; the list below it offers all.
MOST = 30


class StartPanel(Panel):
    """The logbook in one table, and a place to paste a recipe."""

    purpose = "the table of the logbook, and the form for a new recipe"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.answer = Line("status", "sl-answer")
        self.overview = w.HTML()
        self.history = w.HTML()
        self.began: dict[str, int] = {}
        self.load = choice("Begin from", [])
        self.paste = w.Textarea(
            description="Recipe", placeholder=EXAMPLE, rows=14, continuous_update=False,
            style={"description_width": "13rem"}, layout=w.Layout(width="min(54rem, calc(100% - 6px))", height="20rem"),
        )  # fmt: skip
        self.note = w.Text(
            description="What is new and why",
            style={"description_width": "13rem"},
            layout=w.Layout(width="min(54rem, calc(100% - 6px))"),
        )
        self.lines = RowsTable(label="Ingredients", columns=["Amount", "Item", "Preparation"], rows=[])
        self.lines_fold = w.Accordion(
            [self.lines], titles=("Edit the ingredients as a table; paste from a spreadsheet",)
        )
        self.lines_fold.layout.display = "none"
        self._busy = False
        self.read = w.HTML()
        self.saved: Version | None = None
        self.back = button("Take back", self._take_back)
        self.back.disabled = True
        self.draft = DraftPart(book, "recipe", self._typed, self._take_up, self._guarded)
        self.habits = HabitsPart(book, self, self._guarded)
        self.care = CarePart(book, self, self._guarded)
        self.save = button("Save this recipe", self._save, primary=True)
        super().__init__(
            [
                self.answer, self.overview, self.history, heading("Begin a recipe, or change one"), self.draft, self.load, self.paste,
                self.lines_fold, self.read,
                self.note, w.HBox([self.save, self.back]),
                SAID, self.habits, self.care,
            ]
        )  # fmt: skip
        self.load.observe(self._load, "value")
        self.paste.observe(self._read, "value")
        self.draft.watch(self.paste, self.note)
        self.lines.observe(self._lines_changed, "rows")
        self._show()

    def _show(self) -> None:
        titles = self.book.titles()
        chosen = self.load.value or ""
        self.load.options = [("an empty page", ""), *[(title, title) for title in titles]]
        self.load.value = chosen if chosen in titles else ""
        if not titles:
            self.answer.say(
                "This logbook is empty. Paste a recipe below: title, one ingredient a line, a blank line, the method."
            )
            self.overview.value = ""
            return
        rows, invented = [], False
        shown_now = titles[-MOST:]
        for title in shown_now:
            dish = self.book.dish(title)
            invented = invented or dish.recipe.invented
            batches, last = len(dish.batches), dish.last.thickness if dish.last else None
            place = dish.aim.against_band(last.viscosity_pa_s) if last and dish.aim else "no reading yet"
            rows.append(
                [title, dish.number, f"{dish.recipe.dose_g_per_l:.1f}", batches, f"{last.range:.2g}" if last else "not read",
                 f"{place} the band" if last and dish.aim else place, _next_step(title, batches, place)]
            )  # fmt: skip
        heads = [("Recipe", False), ("Latest version", True), ("Dose, g/L", True), ("Batches", True),
                 ("Last thickness, Pa s (90 % range)", True), ("Against the band", False), ("Next step", False)]  # fmt: skip
        damaged = "".join(f"<div class='sl-wrong'>{said(each)}</div>" for each in self.book.damaged(shown_now))
        branches = "".join(
            f"<div class='sl-said'>{said(f'{title}: versions {listed} were both made from version {parent}; compare them in notebook 3.')}</div>"
            for title in shown_now
            for parent, children in self.book.branches(title).items()
            if (listed := " and ".join(str(child.number) for child in children))
        )
        self.overview.value = (
            table(
                heads, rows, f"Logbook {self.book.name}" + (f", the last {MOST} recipes" if len(titles) > MOST else "")
            )
            + damaged
            + branches
        )
        events = self.book.history(last=40).iloc[::-1]
        past = table(
            [("When (UTC)", False), ("Who", False), ("What", False), ("From what, or why", False)],
            events.to_numpy().tolist(),
        )
        self.history.value = f"<details><summary>What happened last</summary>{past}</details>"
        self.answer.say(
            f"{len(titles)} {'recipe' if len(titles) == 1 else 'recipes'} in this logbook.",
            markup=" <b>Invented data: the winter lunch club of a village hall that does not exist.</b>"
            if invented
            else "",
        )

    def went_to(self, dish: str) -> None:
        """The next notebook begins with the dish whose link was followed."""
        if dish in self.book.titles():
            remember(self.book, dish)

    def close_all(self) -> None:
        """End what runs, then close the form."""
        self.care.work.stop()
        super().close_all()

    def _typed(self) -> dict[str, Any]:
        typed = {"paste": self.paste.value, "note": self.note.value, "began": self.began}
        return typed if self.paste.value or self.note.value else {}

    def _take_up(self, fields: dict[str, Any]) -> None:
        self.began |= fields["began"]
        self.paste.value, self.note.value = fields["paste"], fields["note"]
        self.say("Taken up again as it was typed. Save it when it is whole.")

    @shown
    def _guarded(self, act: Callable[[], Any]) -> None:
        act()

    @shown
    def _load(self, _change: Any = None) -> None:
        if self.load.value:
            version = self.book.version(self.load.value)
            self.began[version.title] = version.number
        self.paste.value = version.recipe.text if self.load.value else ""

    def _recipe(self) -> Recipe:
        """The pasted recipe; what text cannot carry (target, part of a line) is taken from the version it began from."""
        fields: dict[str, Any] = {}
        title = self.paste.value.strip().splitlines()[0].strip() if self.paste.value.strip() else ""
        if title in self.book.titles():
            old = self.book.recipe(title)
            fields = {"target": old.target, "invented": old.invented}
        return with_own(Recipe.from_text(self.paste.value, **fields), self.book.kept(OwnSpoon))

    @shown
    def _read(self, _change: Any = None) -> None:
        if not self.paste.value.strip():
            self.read.value = ""
            return
        recipe = self._recipe()
        if not self._busy:
            self._busy = True
            self.lines.rows = [[line.amount, line.item, line.preparation] for line in recipe.ingredients]
            self.lines_fold.layout.display = ""
            self._busy = False
        rows = [
            [
                line.line,
                line.part,
                f"{float(line.mass_g):.4g} g" if line.mass_g is not None else "asked below",
                line.basis,
            ]
            for line in recipe.ingredients
        ]
        html = table(
            [("Line", False), ("Part in the dish", False), ("Weight", True), ("From", False)],
            rows,
            "What was understood",
        )
        asks = "".join(f"<div class='sl-wrong'>{escaped(question)}</div>" for question in recipe.questions)
        dose = (
            f"{recipe.dose_g_per_l:.1f} g of thickener per litre"
            if recipe.liquid_l > 0
            else "no liquid with a known amount"
        )
        self.read.value = f"{html}{asks}<p>Liquid {recipe.liquid_l:.3g} L, {recipe.mass_g:.0f} g in all, {dose}.</p>"
        self.alert.say("")

    @shown
    def _lines_changed(self, _change: Any = None) -> None:
        """The table's rows become the recipe's lines; a line keeps its heading where it keeps its item."""
        if self._busy:
            return
        recipe = self._recipe()
        groups = {line.item: line.group for line in recipe.ingredients}
        lines = []
        for amount, item, preparation in self.lines.filled:
            text = f"{amount} {item}".strip() + (f", {preparation}" if preparation else "")
            line = Ingredient.model_validate(text)
            lines.append(line.model_copy(update={"group": groups.get(line.item, "")}))
        self._busy = True
        try:
            self.paste.value = recipe.model_copy(update={"ingredients": tuple(lines)}).text
        finally:
            self._busy = False

    @shown
    def _take_back(self, _button: Any = None) -> None:
        if self.saved is not None:
            self.book.take_back(self.saved, "taken back in the form")
            said_of, self.saved, self.back.disabled = self.saved.name, None, True
            self.began.clear()
            self._show()
            self.say(f"{said_of} was taken back; it stays in the history of the logbook.")

    @shown
    def _save(self, _button: Any = None) -> None:
        recipe = self._recipe()
        # What began from a version stays its child, even if somebody saved another meanwhile.
        parent = self.began.get(recipe.title) if recipe.title in self.book.titles() else None
        held = (
            {each.number for each in self.book.all_versions(recipe.title)}
            if recipe.title in self.book.titles()
            else set()
        )
        version = self.book.save(recipe, self.note.value.strip(), parent=parent)
        self.saved = None if version.number in held else version
        self.back.disabled = self.saved is None
        self.began[version.title] = version.number
        open_points = len(version.recipe.questions)
        tail = f" {open_points} line(s) still ask for a weighing." if open_points else ""
        self.note.value = ""
        self.draft.done()
        self._show()
        self.say(
            f"Saved {version.name}: {version.recipe.dose_g_per_l:.1f} g/L.{tail} Next: cook it and record the batch in notebook 1."
            + also_saved(self.book, version)
        )


def _next_step(title: str, batches: int, place: str) -> Markup:
    """What to do next with a dish, as a link to the notebook where it is done."""
    if batches == 0:
        return Markup("cook a first pot: ") + link("2_set_the_thickness", "its dose", title)
    if place == "inside":
        return Markup("repeat it, then ") + link("4_finish_the_card", "finish the card", title)
    return link("2_set_the_thickness", "set the next dose", title)
