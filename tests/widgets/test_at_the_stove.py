"""At the stove: a reading is answered at once, a remedy is done in one press, and what was right becomes the aim."""

from __future__ import annotations

import re

import pytest

import spoonline as sl
from spoonline.pots.balance import SAUCE, states
from spoonline.widgets import DosePanel, StovePanel
from widgets.test_other_dish import STEW

SOUP = "Roast parsnip and pear soup"


def at_the_stove(book: sl.Logbook, title: str = SOUP) -> StovePanel:
    form = StovePanel(book)
    form.title.value = title
    return form


def read(form: StovePanel, grams: str, celsius: str = "61", stage: str = "hot") -> None:
    form.reading.stage.value, form.reading.temperature.value, form.reading.values.value = stage, celsius, grams


def presses(form: StovePanel) -> list:
    return [row.children[1] for row in form.story.remedies.children if len(getattr(row, "children", ())) == 3]


def test_a_thin_pot_is_answered_in_the_tool_s_unit_mended_and_kept_in_one_story(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    assert form.save.disabled, "nothing was typed yet"
    read(form, "2,9")
    assert "Too thin: 2.9 g per wet side (spatula); 3.7 (3.2-4.3) g per wet side is wanted." in form.answer.value
    assert [each.do for each in form.now.remedies] == ["slaked starch", "boil down"] and not form.save.disabled
    remedy = form.now.remedies[0]
    presses(form)[0].click()
    assert [row[0] for row in form.many.value] == ["hot", "put in", "put in"] and form.reading.blank
    assert "Read it again" in form.answer.value and not form.now.remedies and presses(form) == []
    batch = form._batch()
    assert float(SAUCE @ states(batch, demo.recipe(SOUP), demo.dish(SOUP).loss[0])[-1].x) == pytest.approx(
        remedy.sauce_g, rel=0.002
    )
    read(form, "3,7")
    assert "Right: 3.7 g" in form.answer.value and not form.now.remedies, "none is offered inside the band"
    form.felt.value = "right"
    form.save.click()
    saved = demo.all_batches(SOUP)[-1]
    assert [each.kind for each in saved.moments] == ["read", "put in", "put in", "read"] and saved.felt == "right"
    pot = demo.dish(SOUP).pots[-1]
    assert pot.counts and pot.dose_g_per_l > 36, "it counts at the dose it ended with"
    assert "Next: " in form.status.value and form.save.disabled


def test_boiled_down_by_one_press(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    read(form, "2,9")
    grams = form.now.remedies[1].amount
    presses(form)[1].click()
    assert form.many.value[-1][0] == "boiled off" and form.many.value[-1][3].startswith(f"{grams:g}")
    before, after = (float(SAUCE @ each.x) for each in states(form._batch(), demo.recipe(SOUP))[-2:])
    assert before - after == pytest.approx(grams, abs=0.01)


def test_from_cold_stock_to_the_next_day_in_one_story(demo: sl.Logbook) -> None:
    title = demo.save(sl.Recipe.from_text(STEW).model_copy(update={"target": sl.Target(viscosity_pa_s="1.5")})).title
    form = at_the_stove(demo, title)

    def happened(event: str, much: str = "", what: str = "") -> None:
        form.event.event.value, form.event.what.value, form.event.much.value = event, what, much
        form.story.add.click()
        assert not form.alert.value.count("came"), form.alert.value

    form.tare.value = "900"
    happened("weighed the pot with everything", "2480")
    happened("boiled or held it", "30")
    read(form, "0,6", "80", "before")
    assert "The base: 0.6 g" in form.answer.value and form.now.remedies[0].do == "slaked starch"
    form.story.more.click()
    happened("put something in", "16 g", "line 4")
    happened("weighed the pot with everything", "2380")
    read(form, "3,6")
    form.story.more.click()
    happened("took some away, pieces and all", "600 g")
    happened("chilled it")
    happened("heated it again", "10")
    read(form, "3,4", "62", "reheated")
    form.save.click()
    assert "Saved" in form.status.value, form.alert.value
    saved = demo.all_batches(title)[-1]
    kinds = ["weighed", "held", "read", "put in", "weighed", "read", "taken out", "chilled", "reheated", "read"]
    assert [each.kind for each in saved.moments] == kinds
    assert [each.stage for each in saved.readings] == ["before", "hot", "reheated"]
    assert float(saved.moments[0].tare_g or 0) == 900
    card = sl.RecipeCard.from_logbook(demo, title).text()
    assert "Read before, hot, reheated." in card


@pytest.mark.parametrize(
    ("do", "said"),
    [
        (lambda f: read(f, "3,1", "25"), "at the 60 C of the aim that would be"),
        (lambda f: read(f, "60"), "mm thick"),
        (lambda f: (setattr(f.tare, "value", "6000"), _event(f, "weighed the pot with everything", "5200")), "nothing is in it"),
        (lambda f: (read(f, "2,9"), _event(f, "put something in", "4000 g", "corn starch")), "of thickener"),
    ],
)  # fmt: skip
def test_bad_input_is_one_sentence_and_the_rest_works(demo: sl.Logbook, do, said: str) -> None:
    form = at_the_stove(demo)
    do(form)
    before = " ".join([form.answer.value, *(each.text for each in form.now.remedies)])
    form.save.click()
    shown = " ".join(
        [
            before,
            form.answer.value,
            form.alert.value,
            form.reading.message.value,
            *(each.text for each in form.now.remedies),
        ]
    )
    assert said in shown and "Traceback" not in shown
    form.many.value = []
    form.event.clear()
    form.tare.value = ""
    read(form, "2,9")
    assert "Too thin" in form.answer.value


def _event(form: StovePanel, event: str, much: str, what: str = "") -> None:
    form.event.event.value, form.event.what.value, form.event.much.value = event, what, much
    form.story.add.click()


def test_tonight_s_size_scales_what_goes_in_and_is_kept(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    assert any(field.description == "corn starch (50 g)" for field, _ in form.lines.fields)
    form.size.value = "x2"
    assert any(field.description == "corn starch (100 g)" for field, _ in form.lines.fields)
    form.save.click()
    batch = demo.all_batches(SOUP)[-1]
    recipe = demo.recipe(SOUP)
    assert batch.cooked(recipe).mass_g == pytest.approx(2 * recipe.mass_g, rel=1e-3)
    assert batch.cooked(recipe).dose_g_per_l == pytest.approx(recipe.dose_g_per_l, rel=1e-3)
    form.size.value = "many"
    assert "came" in form.size_message.value


def test_a_pot_that_was_right_becomes_the_aim(demo: sl.Logbook) -> None:
    title = demo.save(
        sl.Recipe(title="Leek gravy", ingredients=["1 l chicken stock", "30 g corn starch"], steps=["Simmer 5 min."])
    ).title
    form = at_the_stove(demo, title)
    read(form, "3,1", "62")
    assert "No aim is set" in form.answer.value and form.right.layout.display == "none"
    form.felt.value = "right"
    form.save.click()
    assert form.right.layout.display == ""
    form.right.click()
    aim = demo.recipe(title).target
    assert aim is not None and float(aim.temperature_c) == 62 and "Saved Leek gravy, version 2" in form.status.value
    assert demo.dish(title).tested.read == 1 and demo.dish(title).tested.inside == 1


def test_how_thick_in_a_cook_s_words(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    words = [text for text, _ in panel.how.like.options]
    assert (
        words[0] == "as it is set now"
        and any(each.startswith("as batch 7: ") for each in words)
        and any("like pouring custard at 60 C: 0.20" in each for each in words)
    )
    panel.how.like.value = "pouring custard"
    assert (panel.how.viscosity.value, panel.how.rate.value) == ("0.2", "50") and "at 50 1/s" in panel.how.message.value
    panel.how.like.value = 2
    assert panel.how.other.layout.display == ""
    panel.how.other.value = 3
    low, high = (float(each) for each in re.search(r"\((\d[\d.]*)-(\d[\d.]*)\) Pa s", panel.how.message.value).groups())
    assert low < float(panel.how.viscosity.value) < high
    panel.save.click()
    assert float(demo.recipe(SOUP).target.viscosity_pa_s) == pytest.approx(float(panel.how.viscosity.value))


@pytest.mark.parametrize(
    ("name", "typed", "asked", "better"),
    [
        ("before", "5,2", "5.2 g came; was 5200 g meant?", "5200 g"),
        ("corn starch", "0,05", "0.05 g came; was 50 g meant?", "50 g"),
        ("corn starch", "500", "500 g came; was 50 g meant?", "50 g"),
        ("celsius", "142", "142 C is hotter than food gets; was it 142 F, which is 61 C?", "61.1"),
    ],
)
def test_a_slip_is_asked_and_mended_by_one_press(
    demo: sl.Logbook, name: str, typed: str, asked: str, better: str
) -> None:
    form = at_the_stove(demo)
    named = {"before": form.before, "celsius": form.reading.temperature}
    field = named.get(name) or next(each for each, _ in form.lines.fields if each.description.startswith(name))
    field.value = typed
    assert asked in form.doubt.asked.value and form.doubt.accept.description == f"Yes, {better}"
    form.doubt.accept.click()
    assert field.value == better and form.doubt.asked.value == '<div role="status" class="sl-ask"></div>'
    assert form.doubt.accept.layout.display == "none"


@pytest.mark.parametrize("answer", ["as typed", "another figure"])
def test_a_doubt_is_answered_before_anything_is_saved_and_nothing_typed_is_lost(demo: sl.Logbook, answer: str) -> None:
    form, before = at_the_stove(demo), len(demo.all_batches(SOUP))
    form.before.value, form.note.value = "5,9", "on the small ring"
    read(form, "3,7")
    assert "The pot with everything in: 5.9 g came; some 3300 g is expected." in form.doubt.asked.value
    form.save.click()
    assert len(demo.all_batches(SOUP)) == before and "5.9 g came" in form.alert.value
    assert "It is right as typed" in form.alert.value
    assert (form.before.value, form.note.value, form.reading.values.value) == ("5,9", "on the small ring", "3,7")
    if answer == "as typed":
        form.doubt.as_typed.click()
    else:
        form.before.value = "3,4 kg"
    assert not re.search(">[^<]+", form.alert.value), "it is answered"
    assert form.doubt.layout.display == "none"
    form.save.click()
    saved = demo.all_batches(SOUP)[-1]
    assert len(demo.all_batches(SOUP)) == before + 1
    assert float(saved.pot_before_g) == (5.9 if answer == "as typed" else 3400)
    assert saved.note == "on the small ring" and saved.readings
    form.which.value = saved.id
    assert form.doubt.layout.display == "none", "what is recorded was answered then"
    form.before.value = "3,3"
    assert "3.3 g came" in form.doubt.asked.value


def test_doubts_are_asked_one_after_the_other_and_an_answer_holds_for_its_figure(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    form.before.value = "5,9"
    read(form, "3,7", "25")
    form.doubt.as_typed.click()
    assert "25 C is cold" in form.doubt.asked.value
    form.doubt.as_typed.click()
    assert form.doubt.layout.display == "none"
    form.before.value = "5,8"
    assert "5.8 g came" in form.doubt.asked.value


def test_a_reading_that_cannot_be_kept_takes_nothing_with_it(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    form.reading.temperature.value, form.reading.values.value = "warm", "3,7"
    _event(form, "boiled it down", "80")
    assert "warm" in form.alert.value and (form.event.much.value, form.reading.values.value) == ("80", "3,7")


def test_what_is_doubtful_is_asked_and_units_are_converted(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    cream = next(each for each, _ in form.lines.fields if each.description.startswith("double cream"))
    cream.value = "8 cups"
    assert "double cream: 8 cups came, " in form.doubt.asked.value and "g is expected" in form.doubt.asked.value
    cream.value = "1/2 cup"
    assert "is expected" not in form.doubt.asked.value
    cream.value = ""
    form.before.value, form.after.value = "5 200", "5,1 kg"
    assert "100 g evaporated" in form.pot_message.value
    form.after.value = "3900"
    assert "same lid and spoon" in form.doubt.asked.value
    form.after.value = ""
    read(form, "3.6, 3.7", "24")
    assert "24 C is cold" in form.doubt.asked.value and form.story.moments()[-1].reading.mean == pytest.approx(3.65)


def test_half_of_a_remedy_is_kept_as_half(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    read(form, "2")
    remedy = form.now.remedies[0]
    assert "Do half of it first" in remedy.text
    row = next(row for row in form.story.remedies.children if len(getattr(row, "children", ())) == 3)
    row.children[2].click()
    assert [cells[3] for cells in form.many.value[1:]] == [f"{remedy.amount / 2:g} g", f"{remedy.amount:g} g"]


def test_a_dish_without_thickener_is_mended_at_the_conditions_of_its_aim(demo: sl.Logbook) -> None:
    lentils = ["500 g red lentils", "200 g onions", "2 l water"]
    aim = {"viscosity_pa_s": "0.56", "temperature_c": 68, "shear_rate_per_s": 12}
    form = at_the_stove(
        demo, demo.save(sl.Recipe(title="Lentil pot", ingredients=lentils, steps=["Simmer 40 min."], target=aim)).title
    )
    for shown in ("2.4", "7"):
        read(form, shown, "68")
        wanted = float(re.search(r"; ([\d.]+) \(", form.answer.value)[1])
        assert form.now.remedies
        for each in form.now.remedies:
            then = float(re.search(r"it then shows ([\d.]+) ", each.text)[1])
            assert then == pytest.approx(wanted, rel=0.08) and "It read" not in each.text
    assert "g/L" not in form.answer.value


def test_a_sauce_that_is_eaten_cold_is_neither_heated_nor_boiled_down(demo: sl.Logbook) -> None:
    lines = ["400 ml buttermilk", "100 ml water", "1.5 g xanthan gum"]
    aim = {"viscosity_pa_s": "0.28", "temperature_c": 8, "shear_rate_per_s": 17}
    form = at_the_stove(
        demo, demo.save(sl.Recipe(title="Herb sauce", ingredients=lines, steps=["Whisk."], target=aim)).title
    )
    for stage in ("served", "chilled"):
        for shown, do in (("2.3", "gum sprinkled in"), ("5", "stir in liquid")):
            read(form, shown, "8", stage)
            assert [each.do for each in form.now.remedies] == [do], form.answer.value
            assert "heat" not in form.now.remedies[0].text


def test_minutes_are_told_only_of_a_pan_that_was_weighed(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    read(form, "2,9")
    assert (
        form.dish is not None and form.dish.boil_g_per_min() and "as this pan was weighed" in form.now.remedies[1].text
    )
    title = demo.save(sl.Recipe.from_text(STEW).model_copy(update={"target": sl.Target(viscosity_pa_s="1.5")})).title
    form = at_the_stove(demo, title)
    read(form, "2,6", "60")
    boil = next(each for each in form.now.remedies if each.do == "boil down")
    assert "minutes" not in boil.text


def test_what_cannot_be_read_is_named_on_top(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    form.event.event.value, form.event.much.value = "took some away, pieces and all", "a ladle"
    read(form, "2,9")
    assert "a ladle" in form.answer.value
    form.event.much.value = "1.2 kg"
    form.story.add.click()
    assert "1200 g" in form.story.told.value, form.alert.value


def test_colder_than_the_aim_what_is_wanted_says_at_what_temperature(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    read(form, "3,7", "61")
    assert "is wanted." in form.answer.value
    read(form, "3,7", "25")
    assert "is wanted at 25 C." in form.answer.value and "at 25 C, " in form.now.remedies[0].text


def test_a_pot_mended_after_its_last_fresh_reading_is_no_aim(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    read(form, "3,7")
    form.story.more.click()
    _event(form, "chilled it", "", "")
    read(form, "2,6", "61", "reheated")
    presses(form)[0].click()
    read(form, "3,6", "61", "reheated")
    form.felt.value = "right"
    form.save.click()
    assert "read before the last change" in form.answer.value
    before = demo.recipe(SOUP).target
    form.right.click()
    assert "was mended after it was read fresh" in form.alert.value and demo.recipe(SOUP).target == before


def test_where_nothing_mends_it_the_reading_is_answered_still(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    _event(form, "boiled it down", "50 kg", "")
    read(form, "3")
    assert "Too thin: 3 g" in form.answer.value and "was boiled off a pot with" in form.answer.value
    read(form, "9", "6", "chilled")
    form.many.value = []
    assert "Too " not in form.answer.value and "heat it through" in form.answer.value
    assert "the band" not in form.reading.message.value


def test_this_pot_was_right_stands_beside_that_pot_alone(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    read(form, "4,5")
    form.felt.value = "right"
    form.save.click()
    assert form.right.layout.display == ""
    read(form, "2,0")
    assert form.right.layout.display == "none", "another pot is on the stove"
    form.reading.clear()
    assert form.right.layout.display == ""
    form.back.click()
    assert form.right.layout.display == "none", "that pot was taken back"


def test_versions_saved_or_taken_back_elsewhere(demo: sl.Logbook) -> None:
    form, other = at_the_stove(demo), at_the_stove(demo)
    saved = demo.save(demo.recipe(SOUP).model_copy(update={"target": sl.Target(viscosity_pa_s="0.9")}))
    pot = demo.record(sl.Batch(title=SOUP, version=saved.number, cooked_on="2026-01-08", note="of the new one"))
    read(form, "3,1")
    form.save.click()
    form.which.value = pot.id
    assert form.number.value == saved.number and form.opened == pot, form.alert.value
    other.number.options = form.number.options
    other.number.value = saved.number
    read(other, "3,3")
    demo.take_back(pot, "elsewhere")
    demo.take_back(saved, "elsewhere")
    before = len(demo.all_batches(SOUP))
    other.save.click()
    assert f"Version {saved.number} was taken back since" in other.alert.value and len(demo.all_batches(SOUP)) == before
    assert other.number.value != saved.number and other.reading.values.value == "3,3"
    other.save.click()
    assert len(demo.all_batches(SOUP)) == before + 1


def test_a_dish_that_is_gone_leaves_nothing_of_the_one_before(demo: sl.Logbook) -> None:
    saved = demo.save(sl.Recipe.from_text(STEW))
    for kind in (StovePanel, DosePanel):
        form = kind(demo)
        form.title.value = SOUP
        demo.take_back(saved, "elsewhere")
        form.title.value = saved.title
        assert "There is no recipe" in form.alert.value and "33.3 g/L" not in form.answer.value
        saved = demo.save(sl.Recipe.from_text(f"{STEW}\n3. Serve in {kind.__name__}."))


def test_a_correction_keeps_what_no_cell_shows(demo: sl.Logbook) -> None:
    weighed = [{"kind": "weighed", "mass_g": "6000", "tare_g": tare} for tare in ("900", "1000")]
    pot = demo.record(sl.Batch(title=SOUP, version=5, cooked_on="2026-01-08", moments=weighed))
    form = at_the_stove(demo)
    form.which.value = pot.id
    assert form._batch().moments == pot.moments
    rows = form.many.value
    rows[0][3] = "6010 g"
    form.many.value = rows
    form.save.click()
    assert [float(each.tare_g or 0) for each in demo.all_batches(SOUP)[-1].moments] == [900, 1000]


def test_two_lines_of_one_item_keep_their_own_weights(demo: sl.Logbook) -> None:
    for starch in ("40 g", "45 g"):
        lines = ["1 l milk", "50 g butter", "20 g butter", f"{starch} corn starch"]
        demo.save(sl.Recipe(title="Two butters", ingredients=lines))
    form = at_the_stove(demo, "Two butters")
    form.lines.fields[1][0].value = "55"
    form.number.value = 1
    assert [field.value for field, _ in form.lines.fields] == ["", "55", "", ""]


@pytest.mark.parametrize(("name", "said"), [("cooked_on", "Date"), ("minutes", "Minutes"), ("tare", "The pot empty")])
def test_what_has_no_message_of_its_own_is_said_on_top(demo: sl.Logbook, name: str, said: str) -> None:
    form = at_the_stove(demo)
    form.many.value = [["weighed", "", "", "6000 g", "", ""]]
    kept = getattr(form, name).value
    getattr(form, name).value = "soon"
    assert "cannot be read yet" in form.answer.value and said in form.answer.value
    getattr(form, name).value = kept
    assert "cannot be read" not in form.answer.value and "sl-wrong" not in form.story.message.value


def test_a_slip_that_nothing_stands_beside_is_not_saved_away(demo: sl.Logbook) -> None:
    form, before = at_the_stove(demo), len(demo.all_batches(SOUP))
    form.note.value = "on the small ring"
    for field, typed in ((form.reading.temperature, "6O"), (form.tare, "12O0")):
        field.value = typed
        form.save.click()
        assert len(demo.all_batches(SOUP)) == before and typed in form.alert.value
        field.value = ""


def test_a_reading_before_the_starch_says_what_is_counted_on(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    read(form, "1,9", "60", "before")
    assert "This counts on 50 g of corn starch still to go in, as the recipe says." in form.now.remedies[0].text
    read(form, "2,9")
    assert "still to go in" not in form.now.remedies[0].text


def test_an_aim_that_cannot_be_read_or_is_gone_saves_nothing(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value, before = SOUP, len(demo.all_versions(SOUP))
    was = panel.how.viscosity.value
    panel.how.like.value = "pouring custard"
    panel.how.like.value = ""
    assert panel.how.viscosity.value == was, "as it is set now"
    panel.dose.value, panel.how.viscosity.value = "30", "abc"
    panel.save.click()
    assert "came" in panel.alert.value and len(demo.all_versions(SOUP)) == before
    panel.dose.value, panel.how.viscosity.value = "0", "0.7"
    panel.save.click()
    assert "came" in panel.alert.value and len(demo.all_versions(SOUP)) == before
    panel.how.viscosity.value = was
    pot = demo.all_batches(SOUP)[0]
    demo.take_back(pot, "elsewhere")
    panel.how.like.value = pot.number
    assert f"Batch {pot.number} was taken back" in panel.alert.value


def test_much_starch_is_doubted(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    _event(form, "put something in", "400 g", "corn starch")
    assert "is a stiff paste" in form.doubt.asked.value


def test_an_aim_is_saved_alone_and_a_saved_dose_stays(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    panel.how.like.value = 3
    assert panel.save.description.startswith("Change it to") and panel.aim_only.layout.display == ""
    panel.aim_only.click()
    assert demo.version(SOUP).number == 6 and demo.recipe(SOUP).dose_g_per_l == demo.recipe(SOUP, 5).dose_g_per_l
    assert panel.aim_only.layout.display == "none"
    panel.save.click()
    assert demo.version(SOUP).number == 7 and panel.save.disabled, "what was just saved is not changed again"


def test_a_weighing_of_the_story_is_doubted_too(demo: sl.Logbook) -> None:
    form = at_the_stove(demo)
    form.story.many.value = [["weighed", "", "", "5,2", "", ""]]
    assert "5.2 g was weighed" in form.doubt.asked.value
    form.story.many.value = [["weighed", "", "", "5200", "", ""]]
    assert "was weighed" not in form.doubt.asked.value
