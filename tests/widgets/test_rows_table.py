"""Ingredients and readings typed or pasted as a table: the table and the text say the same."""

from __future__ import annotations

import spoonline as sl
from spoonline import flow
from spoonline.widgets import StartPanel, StovePanel

SOUP = "Roast parsnip and pear soup"


def test_the_table_and_the_text_are_one(demo: sl.Logbook) -> None:
    panel = StartPanel(demo)
    assert panel.text.fold.layout.display == "none"
    panel.load.value = SOUP
    before = demo.recipe(SOUP)
    assert [row[1] for row in panel.lines.rows] == [line.item for line in before.ingredients]
    rows = [list(row) for row in panel.lines.rows]
    rows[5][0] = "48,5 g"
    rows[0], rows[1] = rows[1], rows[0]
    panel.lines.rows = [*rows, ["2 tbsp", "parsley", "chopped"], ["", "", ""]]
    assert "48,5 g corn starch" in panel.paste.value and "2 tbsp parsley, chopped" in panel.paste.value
    panel.save.click()
    after = demo.recipe(SOUP)
    assert float(next(line.mass_g for line in after.ingredients if line.item == "corn starch") or 0) == 48.5
    assert [line.item for line in after.ingredients][:2] == ["pears", "parsnips"] and after.target == before.target
    panel.paste.value = panel.paste.value.replace("2 tbsp parsley, chopped\n", "")
    assert len(panel.lines.rows) == len(before.ingredients)
    panel.close_all()


def test_readings_from_a_table(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    form.many.rows = [
        ["hot", "spatula", "61", "3,6 3,7"],
        ["", "", "", ""],
        ["reheated", "ring", "60 C", "6,7 6,8 6,9 6,8"],
    ]
    assert form.story.told.value.count("<li>") == 2
    form.save.click()
    saved = demo.all_batches(SOUP)[-1]
    assert {name: float(size) for name, size in saved.readings[1].settings.items()} == flow.usual_settings("ring")
    assert [(each.stage, each.tool) for each in saved.readings] == [("hot", "spatula"), ("reheated", "ring")]
    before = len(demo.all_batches(SOUP))
    for row, said in (
        (["hot", "whisk", "61", "3"], "no tool"),
        (["lukewarm", "", "61", "3"], "write a stage (before, hot, "),
        (["", "", "", "3,6"], "temperature of the food is missing"),
    ):
        form.many.rows = [row]
        assert said in form.story.message.value
        form.save.click()
        assert said in form.alert.value and len(demo.all_batches(SOUP)) == before
    form.close_all()


def test_a_kept_reading_stands_in_the_table_with_its_sizes(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    form.reading.tool.value = "ring"
    form.reading._settings["seconds"].value = "45"
    form.reading.temperature.value, form.reading.values.value = "61", "6,7 6,8"
    form.story.more.click()
    ((*_, sizes, left_out),) = form.many.value
    assert sizes.endswith(" 45") and left_out == "" and form.reading.blank
    kept = {
        "title": SOUP,
        "number": 5,
        "lines": {"2": "140"},
        "kept": [form.story.moments()[0].reading.model_dump(mode="json")],
    }
    demo.draft("batch", "an older session", kept)
    older = next(each for each in StovePanel(demo).draft.found if each.session == "an older session")
    form.many.rows = [["", "", "60", "3,6", "12"]]
    assert "Row 1 of the story: Sizes: 1 came for the spatula; these are wanted: " in form.story.message.value
    form.draft.found = [older]
    form.draft.take.click()
    assert form.many.value[0][-2:] == [sizes, ""] and form.lines.fields[2][0].value == "140", (
        "a draft of an earlier release"
    )
    form.save.click()
    assert float(demo.all_batches(SOUP)[-1].readings[0].settings["seconds"]) == 45
    form.close_all()


def test_a_row_whose_amount_cannot_be_read_keeps_its_part_when_another_is_edited(demo: sl.Logbook) -> None:
    panel = StartPanel(demo)
    panel.load.value = SOUP
    part = panel.text.recipe.ingredients[6].part
    for row, amount in ((6, "1,250 g"), (0, "710 g")):
        rows = [list(each) for each in panel.lines.rows]
        rows[row][0] = amount
        panel.lines.rows = rows
    cream = panel.text.recipe.ingredients[6]
    assert (part, cream.part) == ("liquid", "liquid") and "1,250 g" in panel.paste.value
    panel.close_all()
