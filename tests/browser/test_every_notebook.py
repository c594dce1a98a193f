"""Every notebook in a real browser: named controls, no accessibility fault, its path by keyboard; and what a mishap loses."""

from __future__ import annotations

import re
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from browser import lab as harness
from browser.keys import SOUP, press, start_in_form, tab_to, type_into
from spoonline.logbook import open_logbook
from spoonline.recipes import Recipe

pytestmark = pytest.mark.browser
NOTEBOOKS = sorted(path.stem for path in (Path(__file__).resolve().parents[2] / "notebooks").glob("*.ipynb"))
# What a screen reader would call a control that nobody named.
BARE = re.compile(r"^\s*- (?:slider|spinbutton|textbox|combobox|button|link|checkbox|radio)\s*(?::.*)?$", re.MULTILINE)
CONTROL = re.compile(r"- (slider|spinbutton|textbox|combobox|button|link|checkbox|radio) (\".*?\"|/.*?/)")


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_controls_are_named_and_nothing_keeps_anyone_out(lab, page, name: str) -> None:
    axe = Axe()
    harness.open_form(page, lab, f"{name}.ipynb")
    forms = page.locator(".spoonline:visible")
    named: list[str] = []
    for place in range(forms.count()):
        tree = forms.nth(place).aria_snapshot()
        assert BARE.findall(tree) == [], name
        named += [f"{kind} {label}" for kind, label in CONTROL.findall(tree)]
    assert named, "a form has controls"
    harness.PICTURES.mkdir(exist_ok=True)
    (harness.PICTURES / f"{name}-controls.txt").write_text("\n".join(named) + "\n")
    found = axe.run(page, context=".spoonline").response["violations"]
    grave = [
        f"{each['id']} ({each['impact']}): {each['nodes'][0]['html'][:200]}"
        for each in found
        if each["impact"] in ("serious", "critical")
    ]
    assert grave == []
    harness.picture_of_form(page, f"{name}-form")


def test_lines_are_read_and_a_spoon_is_kept_by_keyboard(lab, page) -> None:
    harness.open_form(page, lab, "6_ingredients.ipynb")
    start_in_form(page)
    press(page, "Weigh your own spoon, trimming or pan")
    type_into(page, "What is spooned or trimmed", "corn starch")
    type_into(page, "One measure of it", "1 heaped tbsp")
    type_into(page, "Weights of five of them, g", "12; 15; 11; 9; 13")
    page.get_by_text("yours ran 9 to 15").first.wait_for()
    tab_to(page, "Save this spoon")
    page.keyboard.press("Enter")
    page.get_by_text("From now on this is used instead of the table").wait_for()
    press(page, "What to buy")
    tab_to(page, "Write the list")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Download the list").wait_for()


def test_ingredients_are_edited_as_a_table_by_keyboard(lab, page) -> None:
    harness.open_form(page, lab, "0_start_here.ipynb")
    page.get_by_label("Begin from").first.select_option(SOUP)
    fold = page.get_by_text("Edit the ingredients, and what becomes of each in the pot").first
    fold.wait_for()
    fold.click()
    first = page.get_by_label("Amount, row 1", exact=True)
    first.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("710 g")
    page.keyboard.press("Enter")
    page.wait_for_function(
        "() => [...document.querySelectorAll('textarea')].some((t) => t.value.includes('710 g parsnips'))"
    )
    assert page.evaluate("() => document.activeElement.getAttribute('aria-label')") == "Amount, row 2"
    # A block copied from a spreadsheet fills rows and columns from the cell it is pasted into.
    page.evaluate(
        """() => { const data = new DataTransfer(); data.setData('text', '1 tbsp\\tparsley\\tchopped\\n2 g\\tblack pepper\\t');
        document.activeElement.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true })); }"""
    )
    page.wait_for_function(
        "() => [...document.querySelectorAll('textarea')].some((t) => t.value.includes('1 tbsp parsley, chopped'))"
    )
    page.get_by_label("Remove row 2").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("() => ![...document.querySelectorAll('textarea')].some((t) => t.value.includes('parsley'))")


def test_a_killed_kernel_and_a_closed_tab_lose_at_most_the_last_field(lab) -> None:
    with harness.browse() as page:
        harness.open_form(page, lab, "1_at_the_stove.ipynb")
        start_in_form(page)
        type_into(page, "Note", "M.")
        type_into(page, "Pot, everything in, g", "5200")
        tab_to(page, "The same at the end, g")
        page.keyboard.type("49")  # never left: this field is the one that may go
        page.wait_for_timeout(300)
        page.evaluate("() => window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.shutdown()")
    # The tab is closed too; a new one offers what was typed.
    with harness.browse() as page:
        harness.open_form(page, lab, "1_at_the_stove.ipynb")
        page.get_by_text("and not saved").first.wait_for()
        page.get_by_role("button", name="Go on with it").focus()
        page.keyboard.press("Enter")
        page.get_by_text("Here it is again, as you typed it").wait_for()
        assert page.get_by_label("Pot, everything in, g").input_value() == "5200"
        assert page.get_by_label("Note", exact=True).input_value() == "M."


def test_two_tabs_on_one_logbook_save_both(lab) -> None:
    with harness.browse() as page:
        # Two browsers: within one, the lab would give the second tab a workspace of its own and load it anew.
        other = page.context.browser.new_context(viewport={"width": 1280, "height": 1000}).new_page()
        rows = []
        for tab in (page, other):
            harness.open_form(tab, lab, "1_at_the_stove.ipynb")
        for tab, grams in ((page, "48"), (other, "52")):
            tab.bring_to_front()
            start_in_form(tab)
            type_into(tab, "corn starch (50 g)", grams)
            tab_to(tab, "Save this pot")
            tab.keyboard.press("Enter")
            said: Any = tab.get_by_text(re.compile(r"Saved batch \d+ of")).first
            said.wait_for()
            rows.append(int(re.findall(r"Saved batch (\d+)", said.inner_text())[0]))
        assert rows[1] == rows[0] + 1


def test_an_open_form_hears_within_seconds_of_what_was_saved_elsewhere(lab, page) -> None:
    harness.open_form(page, lab, "0_start_here.ipynb")
    note = page.get_by_label("What changed, and why")
    note.fill("typed meanwhile")
    with closing(open_logbook(lab.folder / "kitchen.sqlite")) as book:
        book.save(Recipe(title="Barley broth", ingredients=["1 l beef stock", "20 g corn starch"]))
    page.get_by_role("rowheader", name="Barley broth").wait_for(timeout=10_000)
    assert note.input_value() == "typed meanwhile"
