"""The plan in the form: which pots, what was typed for each, and what they say."""

from __future__ import annotations

import re

import ipywidgets as w
import numpy as np
import pytest

import spoonline as sl
from spoonline.widgets import PlanPanel


@pytest.fixture
def panel(demo: sl.Logbook):
    made = PlanPanel(demo)
    made.viscosity.value = "0,35"  # an aim is never invented
    yield made
    made.close_all()
    w.Widget.close_all()


def type_all(panel: PlanPanel, law) -> None:
    for field, pot in zip(panel.fields, panel.pots, strict=True):
        field.value = f"{law(pot):.6f}".replace(".", ",")


def test_the_plan_stands_in_cooking_order(panel: PlanPanel) -> None:
    assert len(panel.fields) == 7 and panel.plan.value.count("<tr>") == 8
    panel.stars.value = True
    assert len(panel.fields) == 14 and [pot.day for pot in panel.pots] == [1] * 7 + [2] * 7
    assert panel.plan.value.count("star</td>") == 4 and panel.plan.value.count("middle</td>") == 6
    labels = [field.description for field in panel.fields]
    assert len(set(labels)) == 14 and labels[0].startswith("Pot 1, day 1: ")


def test_an_exact_law_is_found_again(panel: PlanPanel) -> None:
    type_all(panel, lambda pot: 0.35 * (pot.first / 30) ** 3 * (pot.second / 4) ** -0.5)
    panel.read.click()
    assert panel.alert.value.count("came") == 0 and panel.reading is not None
    starch, minutes, both, bend = (ratio.best for ratio in panel.reading.ratios)
    assert starch == pytest.approx((36 / 25) ** 3, rel=1e-4) and minutes == pytest.approx(4**-0.5, rel=1e-4)
    assert both == pytest.approx(1, rel=1e-4) and bend == pytest.approx(1, rel=1e-4)
    assert "Corn starch from 25 to 36 g/L: the pot comes out 3.0" in panel.found.value
    assert "All pots were read" in panel.answer.value and "Invented" not in panel.answer.value
    assert (
        panel.figure.value.startswith('<div class="sl-place">')
        and 'alt="Viscosity over corn starch' in panel.figure.value
    )
    step = panel.reading.next_pot(sl.Target(viscosity_pa_s="0.35"))
    assert 0.35 * (step.first / 30) ** 3 * (step.second / 4) ** -0.5 == pytest.approx(0.35, rel=0.03)
    order = panel.children.index
    assert order(panel.answer) < order(panel.found) < order(panel.effects) < order(panel.figure) < order(panel.next)


def test_bends_ask_for_star_points_and_then_show_the_top(panel: PlanPanel) -> None:
    def law(pot) -> float:
        u, v = pot.coded
        return 0.35 * np.exp(0.1 * u - 0.1 * v - 0.9 * u * u - 0.8 * v * v)

    type_all(panel, law)
    panel.read.click()
    assert "cook the four star pots on another day" in panel.next.value
    panel.stars.value = True
    assert [bool(field.value) for field in panel.fields] == [True] * 7 + [False] * 7, "the first day is kept"
    type_all(panel, law)
    panel.read.click()
    assert "a top (maximum) at" in panel.found.value and "inside the plan" in panel.found.value
    assert panel.reading is not None
    assert panel.reading.surface.stationary == pytest.approx((0.1 / 1.8, -0.1 / 1.6), abs=1e-4)


def test_invented_readings_are_marked_until_all_are_replaced(panel: PlanPanel) -> None:
    panel.first.name.value = "tapioca"
    panel.invent.click()
    assert panel.first.name.value == "corn starch" and "Invented data." in panel.answer.value
    assert "Invented data." in panel.effects.value and 'alt="Invented data.' in panel.figure.value
    first = [field.value for field in panel.fields]
    panel.invent.click()
    assert [field.value for field in panel.fields] == first
    assert len(set(first)) > 4
    type_all(panel, lambda pot: 0.35 * pot.first / 30)
    panel.read.click()
    assert "Invented" not in panel.answer.value + panel.effects.value + panel.figure.value
    panel.clear.click()
    assert not any(field.value for field in panel.fields) and panel.figure.value == ""


def test_what_was_typed_stays_with_its_settings(panel: PlanPanel) -> None:
    type_all(panel, lambda pot: 0.3)
    panel.first.high.value = "40"
    at_36 = [field for field, pot in zip(panel.fields, panel.pots, strict=True) if pot.first == 25]
    assert all(field.value for field in at_36)
    assert any(not field.value for field in panel.fields), "a pot of other settings was not cooked"
    panel.first.high.value = "36"
    assert all(field.value for field in panel.fields), "and nothing typed is lost"


def test_a_pot_that_was_not_read_is_left_out_but_corners_are_needed(panel: PlanPanel) -> None:
    type_all(panel, lambda pot: 0.3)
    middle = next(i for i, pot in enumerate(panel.pots) if pot.coded == (0, 0))
    corner = next(i for i, pot in enumerate(panel.pots) if pot.coded == (1, 1))
    panel.fields[middle].value = ""
    panel.read.click()
    assert "6 pots were read, 1 not yet" in panel.answer.value
    panel.fields[corner].value = ""
    assert panel.reading is None and panel.figure.value == "", "an old answer does not stand beside new readings"
    panel.read.click()
    assert f"Pot {corner + 1} at a corner" in panel.alert.value


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda p: setattr(p.fields[2], "value", "thick"), "&#x27;thick&#x27; came"),
        (lambda p: setattr(p.fields[2], "value", "0"), "Pot 3: 0 Pa s came"),
        (lambda p: setattr(p.fields[2], "value", "-1"), "0 or more"),
        (lambda p: setattr(p.viscosity, "value", ""), "No aim is set"),
        (lambda p: setattr(p.band, "value", "0,9"), "above 1"),
        (lambda p: setattr(p.first.low, "value", "99"), "mend the two quantities"),
    ],
)
def test_bad_input_is_said(panel: PlanPanel, spoil, said: str) -> None:
    type_all(panel, lambda pot: 0.3)
    spoil(panel)
    panel.read.click()
    assert said in panel.alert.value and "Traceback" not in panel.alert.value and panel.reading is None


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda p: setattr(p.first.low, "value", "40"), "settings 40 and 36 g/L came"),
        (lambda p: setattr(p.second.low, "value", "0"), "above 0"),
        (lambda p: setattr(p.second.unit, "value", " "), "unit is missing"),
        (lambda p: setattr(p.second.high, "value", ""), "a low and a high setting"),
        (lambda p: (setattr(p.stars, "value", True), setattr(p.centres, "value", 0)), "need a pot in the middle"),
        (
            lambda p: (
                setattr(p.second.steps, "value", False),
                setattr(p.second.low, "value", "0"),
                setattr(p.stars, "value", True),
            ),
            "a star point would lie at -",
        ),
    ],
)
def test_a_plan_that_cannot_be_drawn_says_why_beside_its_fields(panel: PlanPanel, spoil, said: str) -> None:
    spoil(panel)
    assert said in panel.plan.value and "sl-wrong" in panel.plan.value and panel.fields == []


def test_a_recipe_of_the_book_fills_in_its_dose_and_target(demo: sl.Logbook) -> None:
    panel = PlanPanel(demo)
    panel.title.value = "Roast parsnip and pear soup"
    recipe = demo.recipe(panel.title.value)
    low, high = (float(field.value) for field in (panel.first.low, panel.first.high))
    assert panel.first.name.value == "corn starch"
    assert (low, high) == (
        pytest.approx(recipe.dose_g_per_l / 1.2, abs=0.05),
        pytest.approx(recipe.dose_g_per_l * 1.2, abs=0.05),
    )
    assert float(panel.viscosity.value) == float(recipe.target.viscosity_pa_s)
    assert len(re.findall("<tr>", panel.plan.value)) == 8
    panel.close_all()
    w.Widget.close_all()
