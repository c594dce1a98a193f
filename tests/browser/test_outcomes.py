"""A newcomer's path with a dish without starch, by keyboard: an outcome, three pots, the effect, an aim, the next pot, the card. Counted."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from playwright.sync_api import expect

from browser import lab as harness
from browser.keys import bare_controls, press, start_in_form, type_into
from widgets.test_outcomes import BISCUITS, TEXT

pytestmark = pytest.mark.browser
POTS = (("70 g", "6,2", "6.2"), ("90 g", "7,1 7,0", "7.05"), ("120 g", "8,1", "8.1"))


def test_from_an_outcome_to_the_card_by_keyboard(tmp_path: Path) -> None:
    began, done = time.perf_counter(), {"notebooks": 0, "fields": 0, "presses": 0}

    def type_field(name: str, text: str) -> None:
        start_in_form(page)
        type_into(page, name, text)
        done["fields"] += 1

    def push(name: str, said: str) -> None:
        press(page, name)
        done["presses"] += 1
        page.locator(".spoonline:visible").get_by_text(said).locator("visible=true").first.wait_for()

    def open_notebook(name: str) -> None:
        harness.open_form(page, lab, name)
        assert bare_controls(page) == []
        done["notebooks"] += 1

    with harness.serve(tmp_path / "home", demo=False) as lab, harness.browse(1366, 768) as page:
        open_notebook("0_start_here.ipynb")
        type_field("Recipe", TEXT)
        push("Save this recipe", f"Saved {BISCUITS}, version 1")
        open_notebook("1_at_the_stove.ipynb")
        for number, (grams, spread, mean) in enumerate(POTS, start=1):
            type_field("butter (90 g)", grams)
            if number == 1:
                type_field("What came out, row 1", "spread")
                type_field("Unit, row 1", "cm")
            type_field("Value or values, row 1", spread)
            page.locator(".spoonline:visible .sl-answer").get_by_text(
                f"Not saved: version 1; spread {mean} cm"
            ).wait_for()
            push("Save this pot", f"Saved batch {number} of {BISCUITS}")
        open_notebook("2_set_the_thickness.ipynb")
        answer = page.locator(".spoonline:visible .sl-answer").first
        assert "spread goes from 6.2" in answer.inner_text(), answer.inner_text()
        type_field("At least, cm", "7,3")
        type_field("At most, cm", "7,7")
        answer.get_by_text("such pots should meet spread 7.3 to 7.7 cm").wait_for()
        push("Save this aim", f"Saved {BISCUITS}, version 2")
        change = page.get_by_role("button", name="Change it to")
        expect(change).to_be_enabled()  # while the page saves it rests, and Tab passes over what rests
        page.wait_for_timeout(
            800
        )  # it is the same button: sooner, the press would be a second tap of the one that saved the aim
        start_in_form(page)
        push(change.inner_text().strip(), f"Saved {BISCUITS}, version 3")
        answer.get_by_text("Keep ").wait_for()
        open_notebook("4_finish_the_card.ipynb")
        assert "spread 7.3 to 7.7 cm" in page.locator(".spoonline:visible").first.inner_text()
        push("Hand over the card", "Download the card as a page (HTML)")
        print(
            f"{done['notebooks']} notebooks, {done['fields']} fields, {done['presses']} presses, {time.perf_counter() - began:.0f} s"
        )
        assert done["fields"] <= 11 and done["presses"] <= 7
        assert harness.faults_of(page) == []
        harness.picture_of_form(page, "biscuits_card")
