"""Random stories through notebooks 2 and 9 with any quantity and any outcome: what is shown belongs to what is chosen, and is what is saved."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest

import spoonline as sl
import tiers
from spoonline.effects import PotPlan
from spoonline.logbook import make_demo
from spoonline.pots import Outcome
from spoonline.widgets import DosePanel, PlanPanel
from widgets.test_screens_model import plain

ENDS = ("", "6.5", "7,4", "1", "0.4", "lots", "-3")


@pytest.fixture
def first(tmp_path: Path) -> Path:
    make_demo(path := tmp_path / "demo.sqlite").close()
    return path


def elsewhere(other: sl.Logbook, lot: random.Random) -> None:
    """Somebody else records a pot with an outcome, takes one back, or makes a version."""
    title = lot.choice(other.titles())
    version = other.version(title)
    what = lot.choice(["pot", "gone", "version"])
    if what == "pot":
        came = Outcome(name=lot.choice(["spread", "colour"]), unit=lot.choice(["cm"]), values=[lot.choice([6, 7, 8])])
        other.record(
            sl.Batch(
                title=title, version=version.number, cooked_on="2026-02-05", outcomes=[came], note=f"{lot.random()}"
            )
        )
    elif what == "gone" and (found := other.all_batches(title)):
        other.take_back(lot.choice(found))
    elif what == "version":
        other.save(version.recipe.scaled(lot.choice([0.5, 1.5])), "elsewhere")


def pick(field, lot: random.Random) -> None:
    if field.options:
        field.index = lot.randrange(len(field.options))


@tiers.again_in_long
def test_stories_of_any_effect(first: Path, tmp_path: Path) -> None:
    for seed in range(tiers.examples(tiers.sequences(4), 2)):
        book, lot, did = (
            sl.open_logbook(shutil.copy(first, tmp_path / f"{seed}.sqlite")),
            random.Random(seed),
            [f"seed {seed}"],
        )
        other, form = sl.open_logbook(tmp_path / f"{seed}.sqlite"), DosePanel(book)
        view = form.view
        for _ in range(12):
            did.append(
                name := lot.choice(["title", "varies", "out", "out", "low", "high", "save", "save", "back", "else"])
            )
            if name == "title":
                pick(form.title, lot)
            elif name in ("varies", "out"):
                pick(getattr(view, name), lot)
            elif name in ("low", "high"):
                getattr(view, name).value = lot.choice(ENDS)
            elif name == "else":
                elsewhere(other, lot)
                form.look()
            elif name == "back" and not form.back.disabled:
                form.back.click()
            elif name == "save" and not form.save.disabled:
                before, words = book.version(form.title.value), form.save.description
                shown, column, wrong = (view.low.value, view.high.value), view.out.value, plain(form.alert.value)
                form.save.click()
                saved = book.version(form.title.value)
                if saved.number == before.number:
                    assert plain(form.alert.value + form.status.value), did
                elif words == "Save this aim" and not view.of_thickness:
                    (aim,) = [each for each in saved.recipe.aims if each.column == column]
                    told = [None if not each else float(each.replace(",", ".")) for each in shown]
                    assert [None if each is None else float(each) for each in (aim.low, aim.high)] == told, did
                    assert saved.recipe.ingredients == before.recipe.ingredients and not wrong, did
                elif words.startswith("Change it to ") and not view.of_curve:
                    new = [
                        a for a, b in zip(saved.recipe.ingredients, before.recipe.ingredients, strict=True) if a != b
                    ]
                    assert [f"{each.amount} {each.item}" for each in new] == [words.removeprefix("Change it to ")], did
                    assert saved.recipe.aims == before.recipe.aims, did
            did.append(f"{form.title.value}: {view.varies.value} {view.out.value} {view.low.value} {view.high.value}")
            assert "no fault of yours" not in form.alert.value, did
            assert form.dish.title == form.title.value, did
            if not plain(form.alert.value) and lot.random() < 0.4:
                belongs(form, book, did)
        other.close()
        book.close()


def belongs(form: DosePanel, book: sl.Logbook, did: list[str]) -> None:
    """A fresh form with the same choices says the same, unless a dose was chosen in it."""
    view, fresh = form.view, DosePanel(book)
    if view.of_curve:
        assert not view.figure.value and not view.table.value, did
        assert form.of_starch.layout.display == "" and view.aims.layout.display == "none", did
        return
    fresh.title.value = form.title.value
    for name in ("varies", "out", "low", "high"):
        getattr(fresh.view, name).value = getattr(view, name).value
    assert [each.value for each in (fresh.answer, fresh.view.figure.picture, fresh.view.table)] == [
        each.value for each in (form.answer, view.figure.picture, view.table)
    ], did
    assert (fresh.save.description, fresh.save.disabled) == (form.save.description, form.save.disabled), did
    assert not form.figure.value and not form.dose_message.value.replace(
        '<div role="status" class="sl-note"></div>', ""
    ), did
    fresh.close_all()


@tiers.again_in_long
def test_stories_of_plans(first: Path, tmp_path: Path) -> None:
    for seed in range(tiers.examples(tiers.sequences(4), 2)):
        book, lot, did = (
            sl.open_logbook(shutil.copy(first, tmp_path / f"p{seed}.sqlite")),
            random.Random(seed),
            [f"seed {seed}"],
        )
        other, form = sl.open_logbook(tmp_path / f"p{seed}.sqlite"), PlanPanel(book)
        for _ in range(12):
            did.append(name := lot.choice(["title", "which", "rows", "rows", "out", "shape", "save", "back", "else"]))
            if name in ("title", "which"):
                pick(getattr(form, name), lot)
            elif name == "rows" and form.change.rows:
                rows = [[*cells] for cells in form.change.rows]
                cells = lot.choice(rows)
                low = float(cells[2] or 10) if lot.random() < 0.8 else 0
                cells[3:] = lot.choice([["", ""], [f"{low * 0.8:.3g}", f"{low * 1.3:.3g}"], ["much", "7"]])
                form.change.rows = rows
            elif name == "out":
                form.out.value = lot.choice([*form.out.options, "colour, score", "spread", "spread, parsnips"])
            elif name == "shape":
                pick(lot.choice([form.days, form.centres, form.stars, form.stage]), lot)
                form.name.value = lot.choice(["", "", "winter", "butter"])
            elif name == "else":
                elsewhere(other, lot)
                form.look()
            elif name == "back" and not form.back.disabled:
                form.back.click()
            elif name == "save":
                before = {each.id for each in book.kept(PotPlan, form.title.value)}
                rows = form.pots.value.count("<tr>") - 1
                ready = not form.save.disabled
                form.save.click()
                new = [each for each in book.kept(PotPlan, form.title.value) if each.id not in before]
                assert len(new) == ready, did
                assert not new or (len(new[0].pots) == rows and form.which.value == new[0].name), did
            did.append(
                f"{form.title.value} {form.which.value} {form.out.value} {[each for each in form.change.value if any(each[3:])]}"
            )
            assert "no fault of yours" not in form.alert.value, did
            if lot.random() < 0.4:
                plan_belongs(form, book, did)
        other.close()
        book.close()


def plan_belongs(form: PlanPanel, book: sl.Logbook, did: list[str]) -> None:
    """A fresh form with the same plan chosen, or the same typed, says the same."""
    fresh = PlanPanel(book)
    fresh.title.value = form.title.value
    fresh.change.rows = form.change.rows
    for each in ("out", "days", "centres", "stars", "stage", "name", "which"):
        getattr(fresh, each).value = getattr(form, each).value
    shown = [(one.answer.value, one.pots.value, one.found.value, one.figure.value) for one in (form, fresh)]
    assert shown[0] == shown[1], did
    assert fresh.save.disabled == form.save.disabled, did
    fresh.close_all()
