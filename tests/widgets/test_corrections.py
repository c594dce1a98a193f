"""A recorded batch is opened in the form, corrected and saved; what does not count is kept with its reason and counts nowhere."""

from __future__ import annotations

import io
from decimal import Decimal

from PIL import Image

import spoonline as sl
from spoonline.widgets import StovePanel

SOUP = "Roast parsnip and pear soup"


def open_batch(form: StovePanel, number: int) -> sl.Batch:
    """Choose a batch of the dish to correct."""
    (batch,) = (each for each in form.book.all_batches(form.title.value) if each.number == number)
    form.which.value = batch.id
    return batch


def test_a_batch_is_opened_as_it_was_recorded_and_saved_unchanged_but_for_what_was_typed(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    old = open_batch(form, 7)
    assert (form.number.value, form.cooked_on.value, form.before.value) == (5, "2026-01-28", f"{old.pot_before_g}")
    assert [row[0] for row in form.many.value] == ["hot", "chilled", "reheated"]
    assert form.save.description == "Save the correction of batch 7"
    form.minutes.value = "41"
    form.save.click()
    (new,) = (each for each in demo.all_batches(SOUP) if each.number == 7)
    same = old.model_dump() | {"id": new.id, "recorded_at": new.recorded_at, "replaces": old.id, "minutes": Decimal(41)}
    assert new.model_dump() == same
    assert form.answer.value.startswith("Corrected batch 7") or "Corrected batch 7" in str(form.answer.value)
    assert form.which.value == "" and form.save.description == "Save this pot" and form.before.value == ""
    assert list(demo.history(SOUP)["what"])[-1] == f"corrected batch 7 of {SOUP}"
    form.back.click()
    assert old in demo.all_batches(SOUP), "taken back, the record before stands again"


def test_what_is_left_out_with_its_reason_counts_nowhere(demo: sl.Logbook) -> None:
    card = sl.RecipeCard.from_logbook(demo, SOUP)
    form = StovePanel(demo)
    form.title.value = SOUP
    open_batch(form, 9)
    form.left_out.value = "the lid stayed on"
    form.save.click()
    (nine,) = (each for each in demo.all_batches(SOUP) if each.number == 9)
    assert nine.left_out == "the lid stayed on" and "the lid stayed on" in form.batches.value
    assert card.content.tested != sl.RecipeCard.from_logbook(demo, SOUP).content.tested, "the card hears of it"
    open_batch(form, 8)
    form.many.rows = [[*row[:5], "the spatula dripped"] if row[0] == "hot" else row for row in form.many.rows]
    form.save.click()
    (eight,) = (each for each in demo.all_batches(SOUP) if each.number == 8)
    assert [each.left_out for each in eight.readings] == ["the spatula dripped", "", ""]
    open_batch(form, 9)
    form.left_out.value = ""
    form.save.click()
    assert next(each.left_out for each in demo.all_batches(SOUP) if each.number == 9) == "", "and it can count again"


def test_a_correction_keeps_its_photo_its_old_weighings_and_its_draft(demo: sl.Logbook) -> None:
    out = io.BytesIO()
    Image.new("RGB", (8, 6)).save(out, "PNG")
    kept = demo.record(
        sl.Batch(
            title=SOUP, version=5, cooked_on="2026-02-07", note="by spoon",
            weighed=[{"line": 6, "item": demo.recipe(SOUP).ingredients[5].item, "typed": "1 tbsp", "mass_g": 55, "sd_g": 2}],
        ),
        photo=out.getvalue(), caption="from above",
    )  # fmt: skip
    form = StovePanel(demo)
    form.title.value = SOUP
    open_batch(form, kept.number)
    form.note.value = "by spoon, heaped"
    again = StovePanel(demo)  # a restarted kernel
    assert "typed" in str(again.draft.message.value) or again.draft.layout.display != "none"
    form.save.click()
    (new,) = (each for each in demo.all_batches(SOUP) if each.number == kept.number)
    assert new.weighed == kept.weighed and new.note == "by spoon, heaped"
    assert [each.caption for each in demo.pictures(SOUP, new)] == ["from above"] and "from above" in form.batches.value


def test_two_screens_that_correct_one_batch(demo: sl.Logbook) -> None:
    one, two = StovePanel(demo), StovePanel(demo)
    for form in (one, two):
        form.title.value = SOUP
        open_batch(form, 6)
    one.note.value = two.note.value = "the clock was fast"
    one.save.click()
    two.note.value = "no, slow"
    before = demo.all_batches(SOUP)
    try:
        two.save.click()
    except sl.KitchenError as err:
        assert "was corrected or taken back meanwhile; open it again" in str(err)
    assert demo.all_batches(SOUP) == before and two.note.value == "no, slow", "nothing typed is lost"


def test_a_batch_of_a_version_that_was_taken_back(demo: sl.Logbook) -> None:
    demo.take_back(demo.version(SOUP, 1), "not ours")
    form = StovePanel(demo)
    form.title.value = SOUP
    try:
        open_batch(form, 1)
    except sl.KitchenError as err:
        assert "cooked from version 1, which was taken back" in str(err)
    assert form.opened is None and form.which.value == ""


def test_a_pot_filed_under_the_wrong_version_keeps_what_was_weighed(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    thickener = next(n for n, line in enumerate(form.version.recipe.ingredients) if line.part == "thickener")
    form.lines.fields[thickener][0].value = "44"
    form.number.value = 4
    assert form.lines.fields[thickener][0].value == "44" and form.version.number == 4


def test_pressing_save_again_saves_no_pot_that_nobody_cooked(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    count = len(demo.all_batches(SOUP))
    open_batch(form, 9)
    assert "Batch 9 as recorded" in form.answer.value
    form.save.click()
    assert (
        "Nothing of batch 9 was changed" in form.alert.value
        and list(demo.history(SOUP)["what"])[-1] != f"corrected batch 9 of {SOUP}"
    )
    form.note.value = "windy day"
    form.save.click()
    for _ in range(2):
        form.save.click()
        assert "Nothing was typed since the last pot was saved" in form.alert.value
    assert len(demo.all_batches(SOUP)) == count
    form.note.value = "the next one"
    form.save.click()
    assert len(demo.all_batches(SOUP)) == count + 1


def test_a_caption_without_its_photo_is_refused(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    open_batch(form, 9)
    form.caption.value = "thick as cream"
    form.save.click()
    assert "a caption came without a photo" in form.alert.value


def test_a_pot_with_a_reading_that_is_set_apart_and_one_beside_its_story_is_corrected_by_what_was_typed(
    demo: sl.Logbook,
) -> None:
    good = demo.all_batches(SOUP)[0].readings[0]
    told = good.changed(values=[2.8])
    bad = [
        sl.Reading.read(good.model_dump() | more) for more in ({"values": ["0"]}, {"values": ["1e9"]}, {"settings": {}})
    ]
    pot = sl.Batch(
        title=SOUP, version=5, cooked_on="2026-02-01", readings=[good], moments=[{"kind": "read", "reading": told}]
    )
    for number, each in enumerate(bad):
        read = {"readings": (good, each), "moments": (), "minutes": Decimal(number + 1)}
        demo.record(pot.model_copy(update=read if number < 2 else {"readings": (each,), "moments": ()}))
    demo.record(pot)
    form = StovePanel(demo)
    form.title.value = SOUP
    for old in demo.all_batches(SOUP)[-4:]:
        open_batch(form, old.number)
        form.note.value = "on the back plate"
        form.save.click()
        new = next(each for each in demo.all_batches(SOUP) if each.number == old.number)
        assert old.changes(new) == 'note "" -> "on the back plate"', form.alert.value
    said = " ".join(demo.dish(SOUP).rests_on)
    assert said.count("is set apart: ") == 3
