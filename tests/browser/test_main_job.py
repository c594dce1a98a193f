"""The main job in a real browser, by keyboard only: record, set, save a version, compare, hand over the card."""

from __future__ import annotations

from pathlib import Path

import pytest

from browser import lab as harness
from browser.keys import bare_controls, start_in_form, tab_to, type_into

pytestmark = pytest.mark.browser


def test_the_main_job_by_keyboard(lab, page, tmp_path: Path) -> None:
    # 0: where am I
    harness.open_form(page, lab, "0_start_here.ipynb")
    form = page.locator(".spoonline:visible").first
    assert "Invented data" in form.inner_text()
    assert form.locator("table").first.locator("tbody tr").count() == 6
    harness.picture(page, "0_start_here")

    # 1: record a batch of the soup
    harness.open_form(page, lab, "1_at_the_stove.ipynb")
    assert bare_controls(page) == []
    start_in_form(page)
    type_into(page, "Temperature of the food", "61")
    tab_to(page, "Held per wet side, g")
    page.keyboard.type("3,6 3,7")
    page.get_by_text("at this tool's shear rate").wait_for()
    type_into(page, "corn starch (50 g)", "49,5")
    page.get_by_text("= 49.5 g").first.wait_for()
    type_into(page, "Pot, everything in, g", "5200")
    type_into(page, "The same at the end, g", "4980")
    page.get_by_text("220 g evaporated").wait_for()
    harness.picture_of_form(page, "1_at_the_stove")
    tab_to(page, "Save this pot")
    page.keyboard.press("Enter")
    said = "Saved batch 10 of Roast parsnip and pear soup, version 5: 33.0"
    page.locator("[role=status]").get_by_text(said).wait_for()
    harness.picture(page, "1_saved")

    # 2: move the slider, read the suggestion, make a new version
    harness.open_form(page, lab, "2_set_the_thickness.ipynb")
    assert bare_controls(page) == []
    start_in_form(page)
    assert "Keep 33.3 g/L" in page.locator(".spoonline:visible .sl-answer").first.inner_text()
    tab_to(page, "Dose, g per litre")
    slider = page.get_by_role("slider", name="Dose, g per litre")
    before = float(slider.get_attribute("aria-valuenow"))
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    page.get_by_text(f"{before + 2:g} g/L is ").first.wait_for()
    assert float(slider.get_attribute("aria-valuenow")) == pytest.approx(before + 2)
    cells = page.locator(".jp-Notebook .jp-Cell").count()
    for key in ("x", "d", "d", "a", "b", "m"):
        page.keyboard.press(key)
    assert page.locator(".jp-Notebook .jp-Cell").count() == cells
    assert page.locator(".jp-Dialog").count() == 0
    harness.picture_of_form(page, "2_set_the_thickness")
    tab_to(page, "Change it to 53 g corn starch")
    page.keyboard.press("Enter")
    page.get_by_text("Saved Roast parsnip and pear soup, version 6").wait_for()

    # 3: compare
    harness.open_form(page, lab, "3_compare.ipynb")
    assert bare_controls(page) == []
    assert "corn starch" in page.locator(".spoonline:visible .sl-answer").first.inner_text()
    harness.picture_of_form(page, "3_compare")

    # 4: the card
    harness.open_form(page, lab, "4_finish_the_card.ipynb")
    assert bare_controls(page) == []
    start_in_form(page)
    assert "Not finished" in page.locator(".spoonline:visible .sl-answer").first.inner_text()
    tab_to(page, "Hand over the card")
    page.keyboard.press("Space")
    link = page.get_by_role("link", name="Download the card as a page (HTML)")
    link.wait_for()
    with page.expect_download() as arriving:
        link.focus()
        page.keyboard.press("Enter")
    assert arriving.value.suggested_filename == "roast-parsnip-and-pear-soup.html"
    saved = tmp_path / "card.html"
    arriving.value.save_as(saved)
    assert "Corn starch" in saved.read_text().title() or "corn starch" in saved.read_text()
    written = lab.folder / "cards" / "roast-parsnip-and-pear-soup.md"
    for _ in range(150):  # the links come before the files
        if written.exists():
            break
        page.wait_for_timeout(200)
    assert written.exists()
    harness.picture_of_form(page, "4_finish_the_card")
    assert page.locator('#jp-main-statusbar [title*="log entries"]').count() == 0


def test_a_reading_becomes_a_fluid_by_keyboard(lab, page) -> None:
    harness.open_form(page, lab, "5_read_thickness.ipynb")
    assert bare_controls(page) == []
    start_in_form(page)
    type_into(page, "Temperature of the food", "62")
    tab_to(page, "Held per wet side, g")
    page.keyboard.type("3,6 3,7")
    page.locator(".spoonline:visible .sl-answer").get_by_text("Pa s at 50 1/s").wait_for()
    harness.picture_of_form(page, "5_read_thickness")


def test_wrong_input_stands_beside_the_field_and_nothing_is_lost(lab, page) -> None:
    harness.open_form(page, lab, "1_at_the_stove.ipynb")
    rows = page.locator(".spoonline:visible table tbody tr").count()
    start_in_form(page)
    type_into(page, "Pot, everything in, g", "plenty")
    alert = page.locator(".spoonline:visible [role=alert]")
    beside = page.locator(".spoonline:visible .sl-wrong")
    beside.get_by_text("'plenty' came").wait_for()
    type_into(page, "Pot, everything in, g", "4000")
    type_into(page, "The same at the end, g", "4300")
    beside.get_by_text("weigh the same pot").wait_for()
    tab_to(page, "Save this pot")
    page.keyboard.press("Enter")
    alert.get_by_text("weigh the same pot").wait_for()
    assert page.get_by_label("The same at the end, g").input_value() == "4300"
    assert page.locator(".spoonline:visible table tbody tr").count() == rows
    harness.picture(page, "1_wrong_input")
