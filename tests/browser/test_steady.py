"""What one types into or presses stays where it is and keeps its meaning; what is typed is answered in a pause; printing ends nothing."""

from __future__ import annotations

import re
from contextlib import closing
from typing import Any

import pytest

from browser import lab as harness
from experiments.lab_pictures import TOO_WIDE
from experiments.lab_work import LAPTOP, TABLET
from spoonline.logbook import open_logbook

pytestmark = pytest.mark.browser
STOVE, DOSE = "1_at_the_stove.ipynb", "2_set_the_thickness.ipynb"
SOUP = "Roast parsnip and pear soup"
# What is printed: the notebook, its button, and what stands on the page.
PRINTED = (
    ("3_compare.ipynb", "Print the decision page", "corn starch"),
    ("6_ingredients.ipynb", "Print the list", "What to buy"),
    ("7_tasters.ipynb", "Print the ballots", "Taste from left to right"),
    ("7_tasters.ipynb", "Print the key sheet", "Key"),
)


def stands(place: Any) -> tuple[float, float]:
    box = place.bounding_box()
    assert box is not None
    return box["x"], box["y"]


def value_of(form: Any, start: str) -> str:
    """The value of the choice of "How thick?" whose words begin so."""
    choice = form.get_by_label("How thick?").locator("option").filter(has_text=start).first
    return str(choice.get_attribute("value"))


@pytest.mark.parametrize("view", [LAPTOP, TABLET], ids=["laptop", "tablet"])
def test_field_and_button_stay_while_the_form_answers(lab, view: tuple[int, int, str]) -> None:
    width, height, prefix = view
    with harness.browse(width, height, has_touch=width < 1000) as page:
        form = harness.open_form(page, lab, STOVE, prefix)
        save = form.get_by_role("button", name="Save this pot")
        # each answered in the pause, with the field still in focus: what to do now, a question, a fault, a further word
        for label, typed, answered in (
            ("Temperature of the food", "61", None),
            ("Held per wet side, g", "2.9", "What to do now"),
            ("Note", "as typed", None),
            ("Pot, everything in, g", "5,9", "5.9 g came"),
            ("The same at the end, g", "-3", "a figure of 0 or more is wanted"),
        ):
            field = form.get_by_label(label, exact=True)
            field.click()
            before = stands(field), stands(save)
            page.keyboard.type(typed)
            if answered:
                form.get_by_text(answered).first.wait_for()
            page.wait_for_timeout(1200)
            assert stands(field) == pytest.approx(before[0], abs=2), label
            assert stands(save) == pytest.approx(before[1], abs=2), label
        assert harness.faults_of(page) == []


@pytest.mark.parametrize("view", [LAPTOP, TABLET], ids=["laptop", "tablet"])
def test_a_refused_save_moves_nothing_and_is_seen(lab, view: tuple[int, int, str]) -> None:
    width, height, prefix = view
    with harness.browse(width, height, has_touch=width < 1000) as page:
        form = harness.open_form(page, lab, STOVE, prefix)
        save, field = form.get_by_role("button", name="Save this pot"), form.get_by_label("corn starch (50 g)")
        field.click()
        page.keyboard.type("5")
        form.get_by_text("was 50 g meant?").first.wait_for()
        page.wait_for_timeout(1500)
        before = stands(field), stands(save)
        place = save.bounding_box()
        assert place is not None
        page.mouse.click(place["x"] + 20, place["y"] + 20)  # as a finger does: a click by name may scroll first
        alert = form.get_by_role("alert").filter(has_text="Put it right, or press")
        alert.wait_for()
        page.wait_for_timeout(800)
        assert stands(field) == pytest.approx(before[0], abs=2) and stands(save) == pytest.approx(before[1], abs=2)
        box = alert.bounding_box()
        assert box is not None and box["height"] > 20 and box["y"] >= 0 and box["y"] + box["height"] <= height
        seen = "(each) => { const at = each.getBoundingClientRect(); return each.contains(document.elementFromPoint(at.x + 20, at.y + 12)); }"
        assert alert.evaluate(seen), "nothing lies over what is wrong"


def test_what_is_typed_is_answered_before_the_field_is_left(lab, page) -> None:
    form = harness.open_form(page, lab, STOVE)
    form.get_by_label("corn starch (50 g)").click()
    page.keyboard.type("40")
    form.locator(".sl-answer").get_by_text("26.7 g/L").wait_for(timeout=5000)
    assert page.evaluate("() => document.activeElement.value") == "40"


@pytest.mark.parametrize("what", ["Save this aim alone", "Change it to"])
def test_a_second_slow_tap_is_not_another_wish(lab, page, what: str) -> None:
    form = harness.open_form(page, lab, DOSE)
    form.get_by_label("Recipe", exact=True).select_option(SOUP)
    with closing(open_logbook(lab.folder / "kitchen.sqlite")) as book:
        before = book.version(SOUP).number
        pot = book.dish(SOUP).pots[2 if what.startswith("Save") else 0].batch.number
    form.get_by_label("How thick?").select_option(value_of(form, f"as batch {pot}:"))
    button = form.get_by_role("button", name=what)
    button.wait_for()
    page.wait_for_timeout(1500)  # the dose of this aim
    words, box = button.inner_text(), button.bounding_box()
    page.mouse.click(box["x"] + 20, box["y"] + 20)
    saved = form.get_by_text(f"Saved {SOUP}, version {before + 1}").first
    saved.wait_for()
    assert not button.is_visible() or button.inner_text() != words or button.is_disabled()
    page.mouse.click(box["x"] + 20, box["y"] + 20)
    page.wait_for_timeout(2500)
    with closing(open_logbook(lab.folder / "kitchen.sqlite")) as book:
        assert book.version(SOUP).number == before + 1


@pytest.mark.parametrize(("name", "button", "printed"), PRINTED)
def test_a_page_is_laid_out_for_the_printer(lab, page, name: str, button: str, printed: str) -> None:
    form = harness.open_form(page, lab, name)
    place = form.get_by_role("button", name=button)
    for fold in form.locator(".jupyter-widget-Collapse-header").all():
        if not place.is_visible():
            fold.click()
    place.click()
    sheet = page.frame_locator("iframe.sl-print")
    sheet.get_by_text(printed).first.wait_for(state="attached")
    # a page to print runs nothing
    assert "allow-scripts" not in page.locator("iframe.sl-print").get_attribute("sandbox")


def test_a_card_is_printed_leaf_by_leaf_and_the_page_lives(lab, page) -> None:
    form = harness.open_form(page, lab, "4_finish_the_card.ipynb")
    shown = form.get_by_alt_text(re.compile("^Leaf [0-9] of"))
    shown.first.wait_for()  # the card is worked out
    form.get_by_role("button", name="Print this card").click()
    printed = page.frame_locator("iframe.sl-print").locator("body > svg")
    printed.nth(shown.count() - 1).wait_for(state="attached")
    assert printed.count() == shown.count() > 0
    page.wait_for_timeout(2000)
    form.get_by_text("Choose the printer").wait_for()


@pytest.mark.parametrize(("width", "name"), [(820, STOVE), (390, "6_ingredients.ipynb"), (390, STOVE)])
def test_no_page_moves_sideways(lab, width: int, name: str) -> None:
    with harness.browse(width, 1000, has_touch=True) as page:
        form = harness.open_form(page, lab, name, "doc/tree")
        for fold in form.locator(".jupyter-widget-Collapse-header").all():
            if fold.is_visible() and fold.get_attribute("aria-expanded") == "false":
                fold.click()
        page.wait_for_timeout(1000)
        wide = "() => [...document.querySelectorAll('.jp-WindowedPanel-outer')].map((each) => each.scrollWidth - each.clientWidth)"
        assert max(page.evaluate(wide)) == 0
        assert page.evaluate(TOO_WIDE) == []
