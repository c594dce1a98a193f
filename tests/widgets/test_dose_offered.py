"""The dose that is suggested, shown and saved is one; a dish in which nothing is dosed shows nothing of the dish before."""

from __future__ import annotations

import re

import pytest

import spoonline as sl
from spoonline.widgets import DosePanel, StovePanel

SOUP, CELERIAC = "Roast parsnip and pear soup", "Celeriac and apple soup"
RICE = "Rice pudding\nServes 4\n100 g pudding rice\n1 l whole milk\n30 g caster sugar\n\n1. Simmer for 40 minutes."
COLD = "Chilled cucumber soup\nServes 4\n500 g cucumber\n500 g natural yoghurt\n\n1. Blend and serve cold."


def test_a_dish_without_thickener_shows_nothing_of_the_dish_before_and_its_aim_is_saved(demo: sl.Logbook) -> None:
    demo.save(sl.Recipe.from_text(RICE))
    panel = DosePanel(demo)
    panel.title.value = SOUP
    panel.swap.name.value = "arrowroot"
    assert "g/L is" in panel.dose_message.value and panel.stages.value and panel.swap.working.value
    panel.title.value = "Rice pudding"
    shown = [
        panel.answer,
        panel.dose_message,
        panel.stages,
        panel.rests_on.pots,
        panel.doubts,
        panel.swap.answer,
        panel.swap.working,
    ]
    assert not any("g/L" in each.value or "arrowroot" in each.value for each in shown)
    assert panel.dose.value == "" and panel.figure.picture.value == "" and panel.save.disabled
    assert "No outcome yet" in panel.answer.value and not re.search(">[^<]+", panel.alert.value), (
        "it is refused nothing"
    )
    panel.how.viscosity.value = "4"
    assert not panel.save.disabled and panel.save.description == "Save this aim"
    panel.save.click()
    assert "Saved Rice pudding, version 2" in panel.status.value
    assert float(demo.recipe("Rice pudding").target.viscosity_pa_s) == 4
    panel.title.value = SOUP
    assert panel.save.description == "Keep it as it is" and panel.save.disabled
    for typed in ("38", "38 g/L", "38 g/l"):
        panel.dose.value = typed
        assert panel.save.description == "Change it to 57 g corn starch" and not panel.save.disabled
    # other shares and what goes into the pot are no grams per litre; what cannot be shown is not saved, whatever the button said
    before = demo.version(SOUP).number
    for typed in ("4 g/100 ml", "40 g/2 l", "50 g", "0.04"):
        panel.dose.value = "38"
        panel.dose.value = typed
        panel.save.click()
        assert demo.version(SOUP).number == before and panel.alert.value.count("came"), typed


def test_a_dose_that_is_kept_makes_no_version(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    assert "Keep this dose" in panel.answer.value and panel.dose.value == "33.3"
    panel.save.click()
    assert "nothing was added" in panel.status.value and demo.version(SOUP).number == 5


@pytest.mark.parametrize("title", ["Mushroom gravy", "Blackcurrant sauce", CELERIAC, "Beef and carrot stew"])
def test_what_is_suggested_shown_and_saved_is_one_dose(demo: sl.Logbook, title: str) -> None:
    panel = DosePanel(demo)
    panel.title.value = title
    assert re.search(rf"(Cook the next pot at|Keep) {panel.dose.value} g/L", panel.answer.value)
    shown, litres = float(panel.dose.value), panel.dish.curve.liquid_l
    panel.save.click()
    saved = demo.recipe(title)
    assert f"{panel.dose.value} g/L is {saved.thickener_g:.1f} g" in panel.dose_message.value
    assert saved.thickener_g / litres == pytest.approx(shown, abs=max(0.05, 0.25 / litres) + 1e-9)


def test_the_field_follows_the_aim_until_somebody_chooses_a_dose(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = CELERIAC
    before = panel.dose.value
    panel.how.viscosity.value = "3"
    assert panel.dose.value != before and f"at {panel.dose.value} g/L" in panel.answer.value
    panel.dose.value = "12"
    panel.how.viscosity.value = "2.5"
    assert panel.dose.value == "12"


def test_what_the_kitchen_has_learned_is_said_and_can_be_left_out(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = CELERIAC
    assert "Your corn starch has run" in panel.doubts.value and panel.kitchen.layout.display != "none"
    learned = panel.dish.curve.curve.prior.source
    panel.kitchen.value = False
    assert "of this kitchen" in learned and "of this kitchen" not in panel.dish.curve.curve.prior.source
    assert "That is not used now" in panel.doubts.value
    panel.title.value = "Mushroom gravy"
    assert panel.kitchen.layout.display == "none", "nothing is learned of a starch of one dish"


def test_several_thickeners_are_all_named(demo: sl.Logbook) -> None:
    demo.save(
        sl.Recipe(
            title="Hall sauce",
            ingredients=["1 l beef stock", "20 g corn starch", "20 g wheat flour"],
            target={"viscosity_pa_s": 1},
        )
    )
    panel = DosePanel(demo)
    panel.title.value = "Hall sauce"
    both = panel.dish.curve.dosed
    assert "corn starch" in both and "wheat flour" in both
    assert f"g {both} in" in panel.answer.value and f"g/L of {both}" in panel.stages.value


def test_a_cold_sauce_is_not_reheated(demo: sl.Logbook) -> None:
    demo.save(
        sl.Recipe.from_text(
            COLD.replace("500 g natural yoghurt", "500 g natural yoghurt\n200 ml water\n2 g xanthan gum")
        )
    )
    panel = DosePanel(demo)
    panel.title.value = "Chilled cucumber soup"
    assert panel.dish.recipe.kind == "cold" and panel.stages.value and "74 C" not in panel.stages.value
    panel.title.value = SOUP
    assert "74 C" in panel.stages.value
    card = sl.RecipeCard.from_logbook(demo, "Chilled cucumber soup")
    assert "74 C" not in card.markdown() and "eheat" not in card.markdown()


def test_a_cold_dish_begins_where_it_is_served(demo: sl.Logbook) -> None:
    recipe = sl.Recipe.from_text(COLD)
    assert recipe.kind == "cold"
    demo.save(recipe)
    panel, form = DosePanel(demo), StovePanel(demo)
    panel.title.value = form.title.value = recipe.title
    assert panel.how.temperature.value == "5"
    assert (form.reading.temperature.value, form.reading.stage.value) == ("5", "served")
    form.reading.values.value = "3.1"
    assert "60 C" not in form.answer.value and "5 C" in form.answer.value
    form.save.click()
    assert "60 C" not in form.batches.value and "5 C" in form.batches.value
    form.title.value = SOUP
    assert (form.reading.temperature.value, form.reading.stage.value) == ("", "hot")


def test_a_dose_is_told_in_the_kitchen_s_own_spoons(demo: sl.Logbook) -> None:
    told = []
    for kitchen in ("us", "au"):
        demo.keep(demo.habits.model_copy(update={"kitchen": kitchen}))
        panel = DosePanel(demo)
        panel.title.value = "Roast parsnip and pear soup"
        panel.dose.value = "40"
        told.append(panel.dose_message.value)
    assert told[0] != told[1], "an Australian tablespoon holds 20 mL"


def test_the_answer_and_the_button_are_told_before_the_figure_is_drawn(
    demo: sl.Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    told = []
    show = panel.figure.show
    monkeypatch.setattr(
        panel.figure, "show", lambda drawn: (told.append((panel.answer.value, panel.save.description)), show(drawn))
    )
    panel.title.value = CELERIAC
    assert told[0][0] == '<div role="status" class="sl-answer"></div>', "nothing of the dish before"
    assert told[-1] == (panel.answer.value, panel.save.description) and panel.dose.value in told[-1][0]
    assert panel.figure.over.value, "the mark stands on the figure"


def test_a_dose_that_is_refused_rests_the_button_and_suggesting_puts_it_right(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = "Mushroom gravy"
    offered = panel.dose.value
    panel.dose.value = "38"
    assert not panel.save.disabled and panel.dose_message.value.count("g/L is")
    panel.dose.value = "nonsense"
    assert panel.save.disabled and "g/L is" not in panel.dose_message.value and "nonsense" in panel.alert.value
    panel.suggest.click()
    assert panel.dose.value == offered and "nonsense" not in panel.alert.value and "g/L is" in panel.dose_message.value
