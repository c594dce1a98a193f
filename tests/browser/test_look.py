"""The look of the forms in a real browser: heard as well as seen, in one view, printed, and nothing wider than its place."""

from __future__ import annotations

import re
from typing import Any

import pytest

from browser import lab as harness
from browser.keys import press, start_in_form
from experiments.lab_pictures import TOO_WIDE
from experiments.lab_work import LAPTOP, NOTEBOOKS, SIZES, TABLET

pytestmark = pytest.mark.browser
STOVE, DOSE = "1_at_the_stove.ipynb", "2_set_the_thickness.ipynb"
HEARD = """() => { window.heard = []; const voice = document.getElementById('sl-voice');
  new MutationObserver(() => { if (voice.textContent) window.heard.push(voice.textContent); }).observe(voice, { childList: true }); }"""


@pytest.mark.parametrize("name", [STOVE, DOSE])
def test_axe_finds_nothing_and_headings_are_in_order(lab, page, name: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    axe = Axe()
    form = harness.open_form(page, lab, name)
    found = axe.run(page, context=".spoonline").response["violations"]
    assert [f"{each['id']}: {each['nodes'][0]['html'][:120]}" for each in found] == []
    # the page's own title is the first level
    assert set(re.findall(r"heading .* \[level=(\d)\]", form.aria_snapshot())) <= {"2"}


def test_what_the_form_says_is_heard_once_a_pause(lab, page) -> None:
    form = harness.open_form(page, lab, STOVE)
    page.evaluate(HEARD)
    form.get_by_label("Temperature of the food").fill("61")
    form.get_by_label("Held per wet side, g").click()
    page.keyboard.type("2.95", delay=150)
    page.wait_for_timeout(2500)
    (heard,) = page.evaluate("() => window.heard")
    assert "Too thin: 2.95 g per wet side" in heard


def test_a_field_in_error_says_so_and_where(lab, page) -> None:
    form = harness.open_form(page, lab, STOVE)
    field, other = form.get_by_label("Pot, everything in, g"), form.get_by_label("The same at the end, g")

    def says(place: Any) -> str:
        return place.evaluate(
            "(node) => document.getElementById(node.getAttribute('aria-describedby'))?.innerText || ''"
        )

    field.fill("plenty")
    page.keyboard.press("Tab")
    form.locator("[aria-invalid=true]").wait_for()
    assert "'plenty' came" in says(field)
    assert field.get_attribute("aria-invalid") == "true" and other.get_attribute("aria-invalid") is None
    field.fill("5200")
    page.keyboard.press("Tab")
    form.locator("[aria-invalid=true]").wait_for(state="detached")
    assert says(field) == ""


def test_a_fold_opens_by_key_and_says_whether_it_is_open(lab, page) -> None:
    form = harness.open_form(page, lab, STOVE)
    fold = form.get_by_role("button", name="The pots so far")
    assert fold.get_attribute("aria-expanded") == "false"
    start_in_form(page)
    press(page, "The pots so far")
    form.get_by_role("table").last.wait_for()
    assert fold.get_attribute("aria-expanded") == "true"


@pytest.mark.parametrize("view", [LAPTOP, TABLET], ids=["laptop", "tablet"])
def test_no_form_is_longer_than_two_screens_or_wider_than_its_place(lab, view: tuple[int, int, str]) -> None:
    width, height, prefix = view
    with harness.browse(width, height, has_touch=width < 1000) as page:
        for name in NOTEBOOKS:
            harness.open_form(page, lab, name, prefix)
            tall, *_ = page.evaluate(SIZES)
            assert tall <= 2 * height, name
            assert page.evaluate(TOO_WIDE) == [], name
        assert harness.faults_of(page) == []
