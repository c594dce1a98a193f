"""At the stove in a real browser: from the notebook's opening to "what to do now", by touch on a tablet and by keyboard on a laptop."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest

from browser import lab as harness
from browser.keys import start_in_form, tab_to

pytestmark = pytest.mark.browser
STOVE = "1_at_the_stove.ipynb"


@pytest.fixture(params=[1180, 700], ids=["tablet", "tablet with its keyboard open"])
def tablet(lab: harness.Lab, request: pytest.FixtureRequest) -> Iterator[Any]:
    with harness.browse(820, request.param, has_touch=True, is_mobile=True) as opened:
        yield opened
        assert harness.faults_of(opened) == []


def test_by_touch_two_fields_and_four_actions(lab, tablet) -> None:
    began = time.perf_counter()
    form = harness.open_form(tablet, lab, STOVE, "doc/tree")
    actions = 1
    # another pot each time: the same pot twice within seconds is refused
    celsius = "61" if tablet.viewport_size["height"] > 1000 else "62"
    for label, typed in (("Temperature of the food", celsius), ("Held per wet side, g", "2.9")):
        form.get_by_label(label).tap()
        tablet.keyboard.type(typed)
        actions += 1
    form.get_by_text("Too thin: 2.9 g per wet side").wait_for()
    assert form.get_by_text("Too thin: 2.9 g per wet side").is_visible()
    done = form.get_by_role("button", name="Done").first
    done.wait_for()
    print(
        f"by touch: {actions} actions, 2 fields, {time.perf_counter() - began:.1f} s from the address to what to do now"
    )
    assert actions <= 6
    harness.picture(tablet, f"stove-touch-{tablet.viewport_size['height']}")
    done.tap()
    form.get_by_text("Read it again").first.wait_for()
    form.get_by_label("Held per wet side, g").tap()
    tablet.keyboard.type("3.7")
    form.get_by_text("Right: 3.7 g per wet side").wait_for()
    bar = form.locator(".sl-bar").bounding_box()
    assert bar is not None and 0 <= bar["y"] <= tablet.viewport_size["height"] - bar["height"], (
        "the answer and the button stay in view"
    )
    form.get_by_role("button", name="Save this pot").tap()
    form.get_by_text("Saved batch 1").first.wait_for()  # 10, or 11 where the lab is shared


def test_by_keyboard_on_a_laptop(lab) -> None:
    with harness.browse(1366, 768) as page:
        began = time.perf_counter()
        harness.open_form(page, lab, STOVE)
        start_in_form(page)
        tab_to(page, "Temperature of the food", limit=12)
        page.keyboard.type("61")
        tab_to(page, "Held per wet side, g", limit=2)
        page.keyboard.type("2.9")
        page.get_by_text("Too thin: 2.9 g per wet side").first.wait_for()
        print(f"by keyboard: 2 fields, {time.perf_counter() - began:.1f} s from the address to what to do now")
        tab_to(page, "Done", limit=12)
        page.keyboard.press("Enter")
        page.get_by_text("Read it again").first.wait_for()
        harness.picture(page, "stove-laptop")
        assert harness.faults_of(page) == []


def test_a_slow_finger_s_press_counts_and_a_double_click_saves_once(lab) -> None:
    with harness.browse(1366, 768) as page:
        form = harness.open_form(page, lab, STOVE)
        form.get_by_role("button", name="The pots so far").click()
        form.get_by_label("Temperature of the food").fill("63")
        form.get_by_label("Held per wet side, g").fill("3.4")
        form.get_by_label("Note", exact=True).click()
        page.keyboard.type("a slow finger")  # this field speaks when it is left, by the press itself
        place = form.get_by_role("button", name="Save this pot").bounding_box()
        assert place is not None
        page.mouse.move(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
        page.mouse.down()
        page.wait_for_timeout(150)
        page.mouse.up()
        said = form.get_by_text("Saved batch").first
        said.wait_for()
        form.get_by_label("Held per wet side, g").fill("3.5")
        form.get_by_label("Note", exact=True).fill("twice")
        form.get_by_role("button", name="Save this pot").dblclick()
        page.wait_for_timeout(2500)
        rows = form.get_by_role("row")
        assert rows.filter(has_text="a slow finger").count() == rows.filter(has_text="twice").count() == 1
        assert harness.faults_of(page) == []
