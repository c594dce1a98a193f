"""Random stories through the forms of notebooks 1 and 2: what is shown is what is saved, and nothing of another pot stands beside it."""

from __future__ import annotations

import random
import re
import shutil
from pathlib import Path

import spoonline as sl
import tiers
from spoonline.effects import Factor, plan_pots
from spoonline.logbook import make_demo
from spoonline.measures.errors import KitchenError
from spoonline.pots import thickness_at
from spoonline.pots.moments import as_moments
from spoonline.widgets import StovePanel

BAD = ("-3", "abc", "1e400", "<b>")
FIELDS = {
    "size": ("", "x2", "12", "many"), "before": ("", "5200", "900", "5,9", "59", *BAD), "after": ("", "4980", *BAD), "minutes": ("", "25", *BAD),
    "tare": ("", "900", "6000", *BAD), "note": ("burnt", "$x$"), "felt": ("right", "too thin", ""), "left_out": ("spilt", ""),
    "cooked_on": ("2026-01-08", "2999-01-01", "soon"),
}  # fmt: skip
LINES = {"49,5": 49.5, "60 g": 60.0, "0": 0.0}
ROWS = (
    "put in,corn starch,,12 g", "boiled off,,,100 g", "held,,,10 min", "hot,spatula,61,3.1", "chilled", "fried", "weighed,,,5400 g",
)  # fmt: skip
ACTS = (
    "dish", "version", "line", "came", "planned",
    "field", "field", "read", "read", "event", "row", "press", "press", "pot", "else", "save", "save",
)  # fmt: skip
CAME = (
    "colour|5; 6|score|served",
    "crust|3 mm|mm|",
    "colour|deep|score|served",
    "|7|cm|",
    "colour|||",
    "crust|7|cm|chilled",
)
VARIED = ("rest|20|min", "rest|20; 30|min", "oven|180|C", "rest||", "oven|warm|C")
EVENTS = {"boiled it down": "80", "boiled or held it": "15", "chilled it": "", "took some away, pieces and all": "300"}


class Cook:
    """One who presses whatever can be pressed, and looks whether the form of notebook 1 tells the truth."""

    def __init__(self, book: sl.Logbook, seed: int) -> None:
        self.book, self.any, self.form, self.did = book, random.Random(seed), StovePanel(book), [f"seed {seed}"]
        self.told = set[str]()

    def put(self, field, *values) -> None:
        field.value = value = self.any.choice(values)
        self.did.append(f"{getattr(field, 'description', 'rows')}: {value!r}")

    def step(self) -> None:
        form, event = self.form, self.form.event
        act = self.any.choice(ACTS)
        if act == "dish":
            self.put(form.title, *form.title.options)
        elif act in ("version", "pot"):
            field = form.number if act == "version" else form.which
            self.put(field, *(value for _, value in field.options))
        elif act == "line":
            self.put(self.any.choice(form.lines.fields)[0], "", *LINES, *BAD)
        elif act == "field":
            name = self.any.choice(list(FIELDS))
            self.put(getattr(form, name), *FIELDS[name])
        elif act == "read":
            self.put(form.reading.stage, "hot", "before", "served", "chilled", "reheated")
            self.put(form.reading.temperature, "61", "25", "", "abc")
            self.put(form.reading.values, "2,9", "3,7", "1,0", "5 5,2", "60", "abc")
        elif act == "event":
            event.event.value, much = self.any.choice([*EVENTS.items()])
            self.put(event.much, much, "abc")
        elif act == "came":
            table, rows = self.any.choice([(form.came.outcomes, CAME), (form.came.varied, VARIED)])
            table.rows = [row.split("|") for row in self.any.sample(rows, 2)]
            self.did.append(f"{table.label}: {table.value}")
        elif act == "planned":
            self.put(form.planned, *(value for _, value in form.planned.options))
        elif act == "row":
            self.put(form.many, [*form.many.value, self.any.choice(ROWS).split(",")], form.many.value[:-1])
        elif act == "press":
            rows = [button for each in form.story.remedies.children for button in getattr(each, "children", ())[1:]]
            doubt = form.doubt.accept, form.doubt.as_typed
            self.press(self.any.choice([form.story.more, form.story.add, form.back, form.right, *doubt, *rows]))
        elif act == "else" and (found := self.book.all_batches(form.title.value)):
            self.book.take_back(gone := self.any.choice(found), "elsewhere")
            self.told.discard(gone.id)
        elif act == "save":
            self.save()
        self.look()

    def press(self, button) -> None:
        if not button.disabled and button.layout.display != "none":
            self.did.append(button.description)
            taken = button is self.form.back and self.form.back._last
            button.click()
            self.told -= {taken[0].id} if taken and "was taken back" in self.form.status.value else set()

    def save(self) -> None:
        form, before, opened = self.form, {each.id for each in self.book.all_batches()}, self.form.opened
        try:
            shown = form._batch()
        except KitchenError:
            shown = None
        lines = [field.value for field, _ in form.lines.fields]
        rows = len(form.many.value) + (not form.event.blank) + (not form.reading.blank)
        planned, doubted = form.planned.value, re.search(">[^<]+", form.doubt.asked.value)
        self.press(form.save)
        new = [each for each in self.book.all_batches() if each.id not in before]
        if not new:
            assert form.save.disabled or re.search(">[^<]+", form.alert.value), self.did
            return
        (saved,) = new
        assert not doubted, self.did
        assert shown is not None and not saved.changes(shown) and len(saved.moments or saved.readings) == rows, self.did
        cooked = [(each.plan, each.plan_pot) for each in self.book.all_batches(saved.title) if each.plan]
        assert (saved.plan, saved.plan_pot) == planned and len(set(cooked)) == len(cooked), self.did
        weighed = {each.line: float(each.mass_g) for each in saved.weighed}
        assert opened or all(weighed[n] == LINES[typed] for n, typed in enumerate(lines, start=1) if typed in LINES), (
            self.did
        )
        self.told = (self.told | {saved.id}) - {opened.id if opened else ""}
        self.press(form.save)
        assert len([each for each in self.book.all_batches() if each.id not in before]) == 1, self.did
        form.which.value = saved.id
        assert form.opened == saved and not saved.changes(form._batch()), self.did

    def look(self) -> None:
        form, status = self.form, self.form.status.value
        assert (form.version.title, form.version.number) == (form.title.value, form.number.value), self.did
        items = [each.item for each in form.version.recipe.ingredients]
        assert [field.description.rpartition(" (")[0] for field, _ in form.lines.fields] == items, self.did
        told = " ".join(
            [form.answer.value, form.story.told.value, form.batches.value, status * ("taken back" not in status)]
        )
        assert all(title == form.title.value or title not in told for title in self.book.titles()), self.did
        assert self.told <= {each.id for each in self.book.all_batches()}, self.did
        try:
            batch = form._batch()
        except KitchenError:
            assert "cannot be read" in form.answer.value and not form.now.remedies, self.did
            return
        assert "cannot be read" not in form.answer.value, self.did
        assert form.right.layout.display == "none" or form._was_right.id in self.told, self.did
        if form.now.remedies:
            last = [each.reading for each in as_moments(batch) if each.reading and not each.reading.left_out][-1]
            aim = form.version.recipe.target
            assert form.opened is None and aim.against_band(thickness_at(last, aim).viscosity_pa_s) != "inside", (
                self.did
            )
            assert f"{last.mean:.3g}" in form.answer.value, self.did


@tiers.again_in_long
def test_stories_at_the_stove(tmp_path: Path) -> None:
    book = make_demo(first := tmp_path / "demo.sqlite")
    for title in book.titles()[:3]:
        starch = Factor(name="corn starch", unit="g/L", low=28, high=40)
        book.keep(plan_pots(title, [starch, Factor(name="rest", unit="min", low=10, high=40)], "colour", "score"))
    book.close()
    for seed in range(tiers.examples(tiers.sequences(24), 12)):
        book = sl.open_logbook(shutil.copy(first, tmp_path / f"{seed}.sqlite"))
        cook = Cook(book, seed)
        for _ in range(16):
            cook.step()
        book.close()
