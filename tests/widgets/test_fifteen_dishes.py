"""Fifteen dishes as people write them through the whole job, by their forms' own functions, from pasting to the card."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import spoonline as sl
from dishes import DISHES
from pots.test_dishes import EXPECTED
from spoonline.card import CardNote
from spoonline.widgets import CardPanel, ComparePanel, DosePanel, MakeAheadPanel, StartPanel, StovePanel

NONSENSE = re.compile(r"\bnan\b|\binf\b|None|Traceback|no fault of yours", re.IGNORECASE)


def fine(panel: object, *, refused: bool = False) -> None:
    """No nonsense on top of a form, and no alert unless it is to refuse."""
    said = [re.sub(r"<[^>]+>", " ", str(getattr(panel, name).value)) for name in ("answer", "status", "alert")]
    assert not NONSENSE.search(" ".join(said)), said
    assert refused or not said[2].strip(), said[2]


@pytest.mark.parametrize("name", EXPECTED)
def test_a_dish_goes_through_the_whole_job(name: str, tmp_path: Path) -> None:
    text = DISHES[name]
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    start = StartPanel(book)
    start.paste.value = text
    start.save.click()
    fine(start)
    (title,) = book.titles()
    kind = book.recipe(title).kind

    dose = DosePanel(book)
    if kind != "dough":
        dose.how.viscosity.value = "1,5"
        dose.save.click()
        fine(dose, refused=book.dish(title).curve is None)
        assert book.dish(title).aim is not None
    for day, held in (("2026-01-08", "3,0"), ("2026-01-09", "3,3")):
        form = StovePanel(book)
        form.cooked_on.value = day
        form.before.value, form.after.value = "4000", "3940"
        if kind != "dough":
            form.reading.temperature.value, form.reading.values.value = ("5" if kind == "cold" else "60"), held
            form.reading.stage.value = "served"
        form.save.click()
        fine(form)
        form.close_all()
    dish = book.dish(title)
    assert len(dish.batches) == 2 and (kind == "dough" or len(dish.counted) == 2), dish.left_out

    dose = DosePanel(book)
    fine(dose, refused=dish.curve is None)
    if dish.curve is None:
        assert "thicker by boiling down" in dish.next_text or "dough" in dish.next_text
    else:
        assert dish.next is not None and 0 <= dish.next.dose_g_per_l < 150
        assert " g/L: " in dose.answer.value or dish.next.dose_g_per_l == 0

    lines = list(book.recipe(title).ingredients)
    lines[1] = lines[1].scaled(1.5)
    book.save(book.recipe(title).model_copy(update={"ingredients": tuple(lines)}), "more of the second")
    compare = ComparePanel(book)
    fine(compare)
    assert lines[1].item.split()[-1] in compare.recipe_changes.value
    assert kind != "dough" or "per litre" not in compare.recipe_changes.value

    ahead = MakeAheadPanel(book)
    fine(ahead)
    cards = CardPanel(book)
    fine(cards)
    book.keep(CardNote(title=title, made_ahead=True))
    page = sl.RecipeCard.from_logbook(book, title).html()
    assert not NONSENSE.search(re.sub(r"<[^>]+>", " ", re.sub(r"(?s)<(style|script).*?</\1>", " ", page)))
    assert ("ice bath" not in page) == (kind in ("dough", "custard", "cold")), kind
    for panel in (start, dose, compare, ahead, cards):
        panel.close_all()
    book.close()
