"""What is typed for one dish stays with it, and a correction in the form keeps the story of a pot that the form cannot show."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

import spoonline as sl
from spoonline.widgets import StovePanel

SOUP, GRAVY = "Roast parsnip and pear soup", "Mushroom gravy"
STEW = """Hall sausage stew
Serves 8
400 g sausages, in chunks
200 g carrots, diced
1 l chicken stock
16 g corn starch

1. Simmer everything but the corn starch for 30 minutes.
2. Stir in the corn starch and boil for 2 minutes."""
NOON = datetime(2026, 2, 5, 12, tzinfo=UTC)
SIZE = {"length_cm": 8, "width_cm": 10, "seconds": 10}


def spatula(grams: float, celsius: float = 60, stage: str = "hot") -> dict[str, object]:
    return {"tool": "spatula", "settings": SIZE, "values": [grams], "temperature_c": celsius, "stage": stage}


@pytest.fixture
def told(demo: sl.Logbook) -> StovePanel:
    """A form with a stew that holds one pot told as a story, opened to be corrected."""
    title = demo.save(sl.Recipe.from_text(STEW)).title
    story = [
        {"kind": "held", "minutes": 30}, {"kind": "taken out", "what": "solids", "mass_g": 300},
        {"kind": "read", "reading": spatula(0.6, 80, "before")}, {"kind": "put in", "line": 4, "mass_g": 18},
        {"kind": "read", "reading": spatula(2.1)}, {"kind": "chilled"}, {"kind": "reheated", "minutes": 10},
        {"kind": "read", "reading": spatula(2.0, 60, "reheated")},
    ]  # fmt: skip
    demo.record(sl.Batch(title=title, version=1, cooked_on="2026-02-05", moments=story))
    form = StovePanel(demo)
    form.title.value = title
    form.which.value = form.which.options[1][1]
    return form


def corrected(form: StovePanel) -> sl.Batch:
    form.save.click()
    (batch,) = form.book.all_batches("Hall sausage stew")
    return batch


def test_a_correction_keeps_the_story_of_its_pot(told: StovePanel) -> None:
    (old,) = told.book.all_batches("Hall sausage stew")
    dose = told.book.dish(old.title).pots[0].dose_g_per_l
    assert "put in: line 4" in told.story.told.value and "taken out: 300 g, solids" in told.story.told.value
    told.note.value = "left the lid off"
    new = corrected(told)
    assert new.note == "left the lid off" and new.moments == old.moments and new.readings == old.readings
    assert told.book.dish(old.title).pots[0].dose_g_per_l == dose and told.many.value == []


def test_a_reading_put_right_in_the_form_is_put_right_in_the_story(told: StovePanel) -> None:
    (old,) = told.book.all_batches("Hall sausage stew")
    told.many.rows = [[*row[:3], "2.3", *row[4:]] if row[0] == "hot" else row for row in told.many.rows]
    new = corrected(told)
    assert [float(each.mean) for each in new.readings] == [0.6, 2.3, 2.0]
    assert [each.reading for each in new.moments if each.reading] == list(new.readings)
    assert [each.kind for each in new.moments] == [each.kind for each in old.moments]


def test_a_reading_left_away_and_a_further_one(told: StovePanel) -> None:
    (old,) = told.book.all_batches("Hall sausage stew")
    rows = [row for row in told.many.value if row[0] != "before"]
    told.many.rows = [*rows, ["reheated", "spatula", "61", "1.9", "", ""]]
    new = corrected(told)
    assert [(each.stage, each.mean) for each in new.readings] == [("hot", 2.1), ("reheated", 2.0), ("reheated", 1.9)]
    assert [each.reading for each in new.moments if each.reading] == list(new.readings)
    assert len(new.moments) == len(old.moments) and new.moments[-1].kind == "read"


def test_a_stage_put_right(told: StovePanel) -> None:
    told.many.rows = [["served", *row[1:]] if row[0] == "hot" else row for row in told.many.rows]
    new = corrected(told)
    assert [each.reading.stage for each in new.moments if each.reading] == ["before", "served", "reheated"]


def test_another_dish_begins_blank_and_what_was_typed_comes_back(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    form.lines.fields[0][0].value = "600"
    form.before.value, form.after.value, form.note.value, form.minutes.value = "5300", "5100", "windy", "40"
    form.reading.temperature.value, form.reading.values.value = "62", "3.4"
    form.title.value = GRAVY
    blank = [form.before, form.after, form.note, form.minutes, form.reading.temperature, form.reading.values]
    assert [each.value for each in blank] == [""] * 6 and "As the recipe says" in form.answer.value
    form.note.value = "second burner"
    form.save.click()
    saved = demo.all_batches(GRAVY)[-1]
    assert (saved.pot_before_g, saved.minutes, saved.note, saved.readings) == (None, None, "second burner", ())
    form.title.value = SOUP
    assert [each.value for each in blank] == ["5300", "5100", "windy", "40", "62", "3.4"]
    assert form.lines.fields[0][0].value == "600" and "Not saved" in form.answer.value
    form.title.value = GRAVY
    assert form.note.value == "", "what was saved is not typed again"


def test_what_cannot_be_read_leaves_no_sentence_of_another_dish(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    own = form.answer.value
    form.reading.values.value = "thick"
    form.title.value = GRAVY
    other = form.answer.value
    assert "As the recipe says: version" in own and "As the recipe says: version" in other and own != other
    form.reading.values.value = "thick"
    form.title.value = SOUP
    assert form.reading.values.value == "thick" and "Something typed cannot be read yet" in form.answer.value
    form.reading.values.value = ""
    assert "version 5: 33.3 g/L" in form.answer.value


def test_a_correction_under_way_comes_back_and_a_photo_does_not_go_along(told: StovePanel) -> None:
    title, (old,) = told.title.value, told.book.all_batches(told.title.value)
    told.minutes.value = "41"
    told.photo.value = ({"name": "a.png", "type": "", "size": 1, "content": memoryview(b"x"), "last_modified": NOON},)
    told.title.value = SOUP
    assert told.photo.value == () and told.opened is None and told.many.value == []
    told.title.value = title
    assert told.opened == old and told.minutes.value == "41" and "put in: line 4" in told.story.told.value
    new = corrected(told)
    assert (float(new.minutes), new.moments, new.number) == (41, old.moments, 1)
