"""Every form without a browser: what it understands, what it refuses, what it keeps, what it leaves open."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as w
import pytest

import spoonline as sl
from spoonline.card import CardNote
from spoonline.figures import dose_figure
from spoonline.recipes import Pan
from spoonline.widgets import CardPanel, ComparePanel, DosePanel, FlowPanel, IngredientsPanel, StartPanel, StovePanel
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import day, degrees, figure, figures, grams_typed

SOUP = "Roast parsnip and pear soup"


@pytest.fixture(autouse=True)
def _close_all():
    yield
    w.Widget.close_all()


@pytest.fixture
def empty(tmp_path: Path):
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    yield book
    book.close()


def field_of(form: StovePanel, item: str) -> w.Text:
    return next(field for field, _ in form.lines.fields if field.description.startswith(item))


def filled(book: sl.Logbook) -> StovePanel:
    form = StovePanel(book)
    form.title.value = SOUP
    field_of(form, "corn starch").value = "49,5"
    form.before.value, form.after.value = "5200", "4980"
    form.reading.temperature.value = "61"
    form.reading.values.value = "3,6 3,7"
    return form


def test_a_batch_is_recorded_from_what_differed(demo: sl.Logbook) -> None:
    form = filled(demo)
    assert "220 g evaporated" in form.pot_message.value
    assert "at this tool&#x27;s shear rate" in form.reading.message.value
    form.save.click()
    assert "Saved batch 10 of Roast parsnip and pear soup, version 5: 33.0 g/L" in form.status.value
    batch = demo.all_batches(SOUP)[-1]
    assert [(each.item, float(each.mass_g)) for each in batch.weighed] == [("corn starch", 49.5)]
    assert batch.evaporated_g == 220
    assert [float(value) for value in batch.readings[0].values] == [3.6, 3.7]
    assert form.reading.values.value == "", "the reading is cleared, what was weighed stays for the next pot"
    form.back.click()
    assert "taken back" in form.status.value and len(demo.all_batches(SOUP)) == 9


def test_blank_is_as_written_and_zero_is_none(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    field_of(form, "butter").value = "0"
    form.save.click()
    batch = demo.all_batches(SOUP)[-1]
    assert [(each.item, float(each.mass_g)) for each in batch.weighed] == [("butter", 0)]
    assert batch.readings == () and batch.evaporated_g is None


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda f: setattr(field_of(f, "corn starch"), "value", "a lot"), "corn starch"),
        (lambda f: setattr(field_of(f, "corn starch"), "value", "-5"), "0 or more"),
        (lambda f: setattr(field_of(f, "corn starch"), "value", "12 kg"), "12000 g of thickener"),
        (lambda f: setattr(field_of(f, "corn starch"), "value", "1,250"), "thousands"),
        (lambda f: setattr(f.after, "value", "5400"), "gained 200 g"),
        (lambda f: setattr(f.after, "value", "nan"), "&#x27;nan&#x27; came"),
        (lambda f: setattr(f.reading.temperature, "value", ""), "temperature of the food is missing"),
        (lambda f: setattr(f.reading.values, "value", "0"), "0"),
        (lambda f: setattr(f.cooked_on, "value", "the 31st"), "year-month-day"),
        (lambda f: setattr(f.cooked_on, "value", "2999-01-01"), "is in the future"),
        (lambda f: setattr(f.minutes, "value", "-3"), "0 or more"),
    ],
)
def test_bad_input_is_said_and_nothing_is_half_saved(demo: sl.Logbook, spoil, said: str) -> None:
    form = filled(demo)
    spoil(form)
    typed = [field.value for field, _ in form.lines.fields] + [
        form.before.value,
        form.after.value,
        form.cooked_on.value,
    ]
    form.save.click()
    assert said in form.alert.value
    assert "Traceback" not in form.alert.value
    assert len(demo.all_batches(SOUP)) == 9
    assert typed == [field.value for field, _ in form.lines.fields] + [
        form.before.value,
        form.after.value,
        form.cooked_on.value,
    ]


def test_a_ring_reading_below_the_ring_is_refused(demo: sl.Logbook) -> None:
    form = filled(demo)
    form.reading.tool.value = "ring"
    form.reading.values.value = "1,0"
    assert "ring" in form.reading.message.value.lower()
    form.save.click()
    assert "ring" in form.alert.value.lower() and len(demo.all_batches(SOUP)) == 9


def test_two_stages_in_one_batch(demo: sl.Logbook) -> None:
    form = filled(demo)
    form.story.more.click()
    form.reading.stage.value = "served"
    form.reading.temperature.value = "55"
    form.reading.values.value = "3,7 3,8"
    form.save.click()
    assert [each.stage for each in demo.all_batches(SOUP)[-1].readings] == ["hot", "served"]


def test_the_dose_panel_answers_and_saves(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    assert "g/L: 50 g corn starch in 1.5 L of liquid" in panel.answer.value and "of 10" in panel.answer.value
    assert panel.figure.value.startswith('<div class="sl-place">') and 'alt="Dose curve of' in panel.figure.value
    axis = dose_figure(demo.dish(SOUP).curve).figure.axes[0].get_xlim()
    assert (panel.slider.min, panel.slider.max) == pytest.approx(axis, abs=0.06), "slider and curve share their ends"
    panel.dose.value = "37,5"
    assert panel.slider.value == 37.5
    assert "37.5 g/L is 56.0 g in 1.5 L" in panel.dose_message.value
    panel.slider.value = 38.0
    assert panel.dose.value == "38"
    panel.save.click()
    assert "version 6: 57 g corn starch, 38.0 g/L" in panel.status.value
    assert demo.recipe(SOUP).dose_g_per_l == pytest.approx(38, abs=0.2)
    panel.save.click()
    assert "nothing was added" in panel.status.value
    panel.dose.value = "lots"
    assert "&#x27;lots&#x27; came" in panel.alert.value
    for typed, refused in (("400", False), ("401", True)):
        panel.dose.value = typed
        assert ("above 0 and up to 400 are wanted" in panel.alert.value) == refused, "the limit of a recipe's own dose"


def test_leaving_a_pot_out_needs_a_reason(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    counted = len(panel.dish.counted)
    panel.rests_on.pot.value = 2
    panel.rests_on.leave.click()
    assert "reason is missing" in panel.alert.value
    panel.rests_on.reason.value = "read cold"
    panel.rests_on.leave.click()
    assert len(panel.dish.counted) == counted - 1
    kept = next(each for each in demo.all_batches(SOUP) if each.number == 2)
    assert kept.left_out == "read cold" and demo.dish(SOUP).left_out[2] == "read cold", (
        "every screen and the card hear of it"
    )
    assert list(demo.history(SOUP)["what"])[-1] == f"corrected batch 2 of {SOUP}"
    panel.rests_on.pot.value = 2
    panel.rests_on.count.click()
    assert len(panel.dish.counted) == counted and 2 not in demo.dish(SOUP).left_out


def test_another_thickener_is_worked_out_saved_and_taken_back(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    assert panel.swap.save.layout.display == "none" and panel.swap.answer.value == '<div role="status"></div>'
    panel.swap.name.value = "potato starch"
    assert "g/L of potato starch (90 % range) would be as thick as" in panel.swap.answer.value
    assert "What changes" in panel.swap.working.value and panel.swap.save.layout.display == ""
    panel.swap.save.click()
    assert list(demo.recipe(SOUP).doses_g_per_l) == ["potato starch"] and panel.swap.name.value == ""
    assert f"Saved {SOUP}, version 6" in panel.status.value and "method still reads as before" in panel.status.value
    panel.back.click()
    assert demo.version(SOUP).number == 5 and "taken back" in panel.status.value


GRAVY = sl.Recipe(title="Gravy", ingredients=["1 l beef stock", "60 g wheat flour"], steps=["Simmer."])


def test_without_any_batch_the_curve_is_what_handbooks_say(empty: sl.Logbook) -> None:
    empty.save(GRAVY.model_copy(update={"target": sl.Target(viscosity_pa_s="1.5")}))
    panel = DosePanel(empty)
    assert "Cook the next pot at" in panel.answer.value
    assert "what handbooks say of wheat flour" in panel.rests_on.pots.value


def test_without_an_aim_the_curve_is_drawn_and_no_dose_is_suggested(empty: sl.Logbook) -> None:
    empty.save(GRAVY)
    panel = DosePanel(empty)
    assert "No aim is set" in panel.answer.value and "Cook the next" not in panel.answer.value
    assert panel.how.viscosity.value == "" and "how thick" in panel.how.viscosity.placeholder
    assert "No aim is set; it is drawn at 1 1/s and 60 C" in panel.figure.value
    assert panel.slider.value == 60, "the slider begins with the recipe's own dose"
    assert (
        "60.0 g/L is 60.0 g in 1 L" in panel.dose_message.value and "land in the band" not in panel.dose_message.value
    )
    panel.suggest.click()
    assert "say how thick it should be" in panel.alert.value
    panel.dose.value = "70"
    panel.save.click()
    assert empty.recipe("Gravy").dose_g_per_l == pytest.approx(70) and empty.recipe("Gravy").target is None
    panel.how.viscosity.value = "1,5"
    assert "Cook the next pot at" in panel.answer.value and "land in the band" in panel.dose_message.value
    panel.save.click()
    assert empty.recipe("Gravy").target == sl.Target(viscosity_pa_s="1.5")


def test_a_recipe_without_a_thickener_says_what_it_lacks(empty: sl.Logbook) -> None:
    empty.save(sl.Recipe(title="Broth", ingredients=["1 l beef stock"]))
    empty.save(GRAVY)
    panel = DosePanel(empty)
    panel.title.value = "Gravy"
    panel.title.value = "Broth"
    assert (
        "needs a thickener line" in panel.answer.value and panel.figure.value == "" and "g/L" not in panel.answer.value
    )
    panel.save.click()
    assert panel.save.disabled and len(empty.all_versions("Broth")) == 1


def test_compare_and_card(demo: sl.Logbook) -> None:
    compare = ComparePanel(demo)
    compare.title.value = SOUP
    compare.old.value, compare.new.value = 2, 5
    assert "19 % more corn starch" in compare.answer.value
    card = CardPanel(demo)
    card.title.value = SOUP
    assert "<iframe" in card.preview.value and "open" in card.answer.value
    assert "sandbox" in card.preview.value


def test_a_card_is_signed_off_noted_and_handed_over(demo: sl.Logbook, tmp_path: Path) -> None:
    card = CardPanel(demo)
    card.title.value = "Mushroom gravy"
    words, jump = card.rows.children[0].children
    assert 'href="1_at_the_stove.ipynb"' in words.value and "used before" in card.remarks.value
    jump.click()
    assert card.point.value == card.card.content.open_points[0].key
    card.title.value = SOUP
    card.sign.click()
    assert "A reason is missing" in card.alert.value
    card.reason.value = "label read: <b>no celery</b>"
    card.sign.click()
    assert "came of the label of vegetable stock; write which allergens it names" in card.alert.value
    card.names.value = "moonlight"
    card.sign.click()
    assert "&#x27;moonlight&#x27; came of the label of vegetable stock" in card.alert.value
    card.names.value, card.may.value = "soya", "celery, nuts"
    card.sign.click()
    assert "1 point is open" in card.answer.value and "&lt;b&gt;" in card.status.value
    card.reason.value, card.names.value = "label read", "none"
    card.sign.click()
    assert "Finished" in card.answer.value and card.card is not None and card.card.finished
    card.note.value, card.prep.value, card.paper.value = "For 40 at the winter lunch", "25", "a5"
    card.keep.click()
    assert "For 40 at the winter lunch" in card.preview.value and "getting ready 25 min" in card.preview.value.lower()
    card.prep.value = "soon"
    card.keep.click()
    assert "&#x27;soon&#x27; came; a figure in min is wanted" in card.alert.value
    card.folder.value = str(tmp_path / "cards")
    card.hand_over.click()
    assert "&#x27;soon&#x27; came" in card.alert.value and card.links.value == "", (
        "what cannot be read is not handed over"
    )
    card.prep.value = "30"
    assert "soon" not in card.alert.value, "the cure clears it"
    card.hand_over.click()
    assert demo.kept(CardNote)[-1].prep_minutes == 30, "what leaves the kitchen is what its logbook holds"
    assert card.links.value.count("download=") == 5 and len(list((tmp_path / "cards").iterdir())) == 5
    card.folder.value = "/proc/nowhere"
    card.hand_over.click()
    assert "choose another folder" in card.alert.value and card.links.value.count("download=") == 5
    card.unsign.click()
    assert "1 point is open" in card.answer.value


def test_a_claim_that_no_reason_can_stand_for_has_no_button(demo: sl.Logbook) -> None:
    card = CardPanel(demo)
    card.title.value = SOUP
    buttons = len([row for row in card.rows.children if len(row.children) == 2])
    card.note.value = "Dairy-free, for all."
    card.keep.click()
    row = next(row for row in card.rows.children if "Dairy-free" in row.children[0].value)
    assert len(row.children) == 1 and "this card has milk" in row.children[0].value
    assert len([row for row in card.rows.children if len(row.children) == 2]) == buttons == len(card.point.options)


def test_a_recipe_is_pasted_read_and_saved(demo: sl.Logbook) -> None:
    panel = StartPanel(demo)
    panel.load.value = SOUP
    assert panel.paste.value.startswith(SOUP)
    panel.paste.value = panel.paste.value.replace("50 g corn starch", "48 g corn starch")
    assert "What was understood" in panel.text.understood.value
    panel.save.click()
    assert "version 6" in panel.status.value
    recipe = demo.recipe(SOUP)
    assert recipe.dose_g_per_l == pytest.approx(48 / 1.5, rel=1e-4) and recipe.target == demo.recipe(SOUP, 5).target
    panel.paste.value = "Only a title"
    panel.save.click()
    assert "Only the title" in panel.alert.value


def test_an_empty_logbook_says_how_to_begin(empty: sl.Logbook) -> None:
    assert "is empty" in StartPanel(empty).answer.value
    for made in (StovePanel, DosePanel, ComparePanel, CardPanel):
        assert "save one in notebook 0" in made(empty).alert.value


def test_panels_close_with_everything_in_them(demo: sl.Logbook) -> None:
    before = len(w.widgets.widget._instances)
    for made in (StartPanel, StovePanel, DosePanel, ComparePanel, CardPanel):
        made(demo).close_all()
    # Layouts and styles that ipywidgets makes for each widget stay until collected; our own widgets must not.
    left = [
        each for each in w.widgets.widget._instances.values() if isinstance(each, (Panel, w.Text, w.Button, w.HTML))
    ]
    assert left == [] and before == 0


def test_an_unexpected_fault_is_shown_not_swallowed(demo: sl.Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    class Broken(Panel):
        def __init__(self) -> None:
            super().__init__()
            self.go = self.button("Go", self._go)
            self.lay(self.go)

        def _go(self) -> None:
            raise ZeroDivisionError("oven")

    monkeypatch.setenv("SPOONLINE_RAISE", "0")
    panel = Broken()
    panel.guarded(panel._go)
    assert "no fault of yours" in panel.alert.value and "ZeroDivisionError" in panel.alert.value
    monkeypatch.setenv("SPOONLINE_RAISE", "1")
    with pytest.raises(ZeroDivisionError):
        panel.guarded(panel._go)


def test_typed_values() -> None:
    assert figure("12,5", "x") == 12.5 and figure("", "x") is None and figure("0", "x") == 0
    assert figures("6,7 6.8; 6,9 / 7", "x", "cm") == [6.7, 6.8, 6.9, 7.0]
    assert figures("6,7 cm 6,8 cm", "x", "cm") == [6.7, 6.8]
    assert degrees("144 F") == pytest.approx(62.2, abs=0.05) and degrees("62") == 62 and degrees("62,5 C") == 62.5
    assert day("2026-01-08").isoformat() == "2026-01-08"
    line = sl.Recipe(title="x", ingredients=["10 g corn starch"]).ingredients[0]
    assert grams_typed("2 tbsp", line).mass_g == pytest.approx(16, abs=0.1)
    assert grams_typed("", line) is None and grams_typed("0", line).mass_g == 0


def test_one_tool_then_two_make_a_fluid() -> None:
    panel = FlowPanel()
    panel.reading.values.value = "3,6 3,7"
    assert "flow index 0.5, give or take 0.1" in panel.answer.value and "<img" in panel.figure.value
    panel.keep.click()
    assert "Kept: spatula" in panel.kept_message.value
    panel.reading.values.value = "3,6"
    assert "another tool" in panel.answer.value, "two readings of one test say nothing of thinning"
    panel.reading.tool.value = "ring"
    panel.reading.values.value = "9,3 9,4 9,3 9,2"
    assert "From two tools: flow index" in panel.answer.value
    assert panel.others.value.count("<tr>") == 6 and "less than 3 mm" in panel.others.value
    panel.reading.values.value = "2"
    assert "inside the ring" in panel.answer.value


def test_every_tool_has_steps_a_sketch_and_labels() -> None:
    from spoonline import flow
    from spoonline.widgets.parts.tools import sketch

    for name, tool in flow.TOOLS.items():
        assert len(tool.steps) == 5 and "<title>Side view" in sketch(name)
        assert set(flow.usual_settings(name)) == set(tool.labels())


def test_the_pot_as_typed_so_far_stands_on_top(demo: sl.Logbook) -> None:
    form = StovePanel(demo)
    form.title.value = SOUP
    assert "As the recipe says: version 5: 33.3 g/L." in form.answer.value
    field = next(field for field, _ in form.lines.fields if field.description.startswith("corn starch"))
    field.value = "48"
    assert "Not saved: version 5: 32.0 g/L." in form.answer.value
    form.reading.temperature.value, form.reading.values.value = "61", "3,6 3,7"
    said = form.answer.value
    assert "Not saved: version 5: 32.0 g/L" in said and "Pa s" in said and "the band" in said
    field.value = "some"
    assert "cannot be read yet" in form.answer.value and "Right" not in form.answer.value, (
        "no verdict on what is not known"
    )
    field.value = "48"
    form.save.click()
    assert f"Saved batch {len(demo.all_batches(SOUP))} of {SOUP}, version 5: 32.0 g/L" in form.answer.value
    form.close_all()


def test_the_links_of_a_card_are_links(demo: sl.Logbook, tmp_path, monkeypatch: pytest.MonkeyPatch) -> None:
    from spoonline.widgets import CardPanel

    monkeypatch.chdir(tmp_path)
    panel = CardPanel(demo)
    panel._hand_over()
    assert str(panel.links.value).count("<a download=") == 5 and "&lt;" not in panel.links.value
    panel.close_all()


def test_a_dough_is_scaled_from_pan_to_pan_and_a_soup_by_what_boils_off(demo: sl.Logbook) -> None:
    panel = IngredientsPanel(demo)
    soup = panel.paste.value
    for pan in (Pan(name="small tin", diameter_cm=23), Pan(name="large tin", diameter_cm=28)):
        demo.keep(pan)
    panel._show_pans()
    boiling = (panel.minutes, panel.was_minutes, panel.rate)
    assert all(field.layout.display != "none" for field in boiling)
    panel.paste.value = (
        "Tart\nPastry:\n200 g plain flour\n100 g butter\n60 ml water\n\nRoll the pastry and bake at 200 C."
    )
    assert all(field.layout.display == "none" for field in boiling)
    tins = dict(panel.pan.options)
    panel.was_pan.value, panel.pan.value = tins["small tin"], tins["large tin"]
    panel._scale()
    assert "23 cm to 28 cm round: times 1.48." in panel.scaled.value and ">296.4<" in panel.scaled.value
    assert "boil" not in panel.scaled.value and panel.times.value == "1.48", "the field says what the pans came to"
    panel.paste.value = soup
    assert all(field.layout.display != "none" for field in boiling)


def test_a_cold_dish_is_aimed_at_as_cold_as_it_is_served(demo: sl.Logbook) -> None:
    lines = ["500 g Greek yoghurt", "2 cucumbers", "200 ml iced water"]
    for last, celsius in (
        ("Blend until smooth. Chill 3 hours. Serve at 6 C.", 6),
        ("Blend until smooth and chill.", 5),
    ):
        soup = sl.Recipe(title=f"Cold soup {celsius}", ingredients=lines, steps=[last])
        assert soup.kind == "cold"
        demo.save(soup)
        panel = DosePanel(demo)
        panel.title.value = soup.title
        panel.how.viscosity.value = "1.5"
        assert panel.dish is not None and panel.dish.aim is not None and panel.dish.aim.temperature_c == celsius
        assert panel.dish.aim.viscosity_pa_s == sl.Target(viscosity_pa_s="1.5").viscosity_pa_s


def test_the_leaves_of_a_card_are_pictures(demo: sl.Logbook) -> None:
    from spoonline.widgets import CardPanel

    panel = CardPanel(demo)
    panel.title.value = SOUP
    assert panel.preview.value.startswith('<img alt="Leaf 1 of ') and "&lt;img" not in panel.preview.value
