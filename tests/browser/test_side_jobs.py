"""The main path of notebooks 7 to 10, the gate of notebook 4 and the care of notebook 0, in a real browser by keyboard only."""

from __future__ import annotations

import re
from contextlib import closing

import pytest

import spoonline as sl
from browser import lab as harness
from browser.keys import bare_controls, press, start_in_form, tab_to, type_into
from spoonline.tasters import Session

pytestmark = pytest.mark.browser
GRAVY = "Mushroom gravy"
SHEET = """Invented trials of a village hall
Dish;Date;Corn starch g;Stock, L;Ring radius cm;Temp C
White onion sauce;08/01/2025;42;1,5;6,7;62
White onion sauce;23/01/2025;48;1,5;5,9;61
"""


def answer(page, place: int = 0):
    return page.locator(".spoonline:visible .sl-answer").nth(place)


def test_a_link_leads_to_the_dish_and_the_logbook_is_looked_after(lab, page) -> None:
    harness.open_form(page, lab, "0_start_here.ipynb")
    assert bare_controls(page) == []
    start_in_form(page)
    page.locator(".spoonline:visible a").first.focus()
    press(page, f"set the next dose: {GRAVY}")  # the lab opens the other notebook beside this one
    form = harness.form_of(page, "2_set_the_thickness.ipynb")
    assert form.get_by_label("Recipe", exact=True).input_value() == GRAVY
    # The other notebook is still there, as it was.
    page.evaluate(
        "async () => { await window.jupyterapp.commands.execute('docmanager:open', {path: '0_start_here.ipynb'}); }"
    )
    start_in_form(page)
    press(page, "Looking after the logbook")
    press(page, "Back this logbook up")
    page.get_by_text("holds the same records; it was compared with the logbook").wait_for()
    (copy,) = lab.folder.glob("backup-*.sqlite")
    with closing(sl.open_logbook(copy)) as book:
        assert len(book.titles()) == 6


def test_points_are_signed_off_and_all_cards_leave_the_kitchen(lab, page) -> None:
    harness.open_form(page, lab, "4_finish_the_card.ipynb")
    assert bare_controls(page) == []
    page.get_by_label("Recipe", exact=True).focus()
    page.keyboard.type("Mush")
    page.get_by_role("link", name="Mend it in 1 at the stove").wait_for()
    page.get_by_label("Recipe", exact=True).focus()
    page.keyboard.press("Home")
    page.get_by_text("2. The label of corn starch is unchecked").wait_for()
    for left in ("1 point is open", "Finished: nothing is left open"):
        page.locator(".spoonline:visible .sl-point button").first.focus()
        page.keyboard.press("Enter")
        page.wait_for_function(
            "() => document.activeElement.labels?.[0]?.textContent === 'Of a label: allergens it names'"
        )
        page.keyboard.type("none")
        page.get_by_label("Why it may stand").focus()
        page.keyboard.type("Label read: no celery, no gluten")
        press(page, "Sign this point off")
        answer(page).get_by_text(left).wait_for()
        page.wait_for_timeout(300)  # the list is drawn anew
    leaf = page.get_by_alt_text(re.compile(r"Leaf 1 of \d of the card of Roast parsnip"))
    assert leaf.evaluate("each => each.naturalWidth") > 500
    press(page, "Measures, paper, where the files go; all dishes")
    press(page, "Write the cards of all dishes")
    page.get_by_text("30 files written to the folder cards").wait_for()
    assert len(list((lab.folder / "cards").iterdir())) == 30
    press(page, "Make a booklet of all dishes")
    page.get_by_text("A booklet of 6 cards").wait_for()
    with page.expect_download() as arriving:
        press(page, "Download the booklet (PDF)")
    assert arriving.value.suggested_filename == "recipe-cards.pdf"
    harness.picture_of_form(page, "4_finished")


def test_a_tasting_is_planned_answered_and_read(lab, page) -> None:
    harness.open_form(page, lab, "7_tasters.ipynb")
    page.get_by_label("Recipe", exact=True).focus()
    page.keyboard.type("Mush")
    page.get_by_text("must choose the same").first.wait_for()
    type_into(page, "Tasters", "10")
    page.get_by_text("of 10 must choose the same").first.wait_for()
    press(page, "Plan it and write the ballots")
    page.get_by_role("link", name=re.compile("Download the ballots")).wait_for()
    with closing(sl.open_logbook(lab.folder / "kitchen.sqlite")) as book:
        (session,) = book.kept(Session, GRAVY)
    # All but one name the same sample; a ballot is answered with the code of what was chosen.
    lines = [f"{taster}: {session.right_code(taster)}" for taster in range(1, 10)]
    other = next(code for code in session.orders[9] if code != session.right_code(10))
    tab_to(page, "Answers, one line a ballot")
    page.keyboard.type("\n".join([*lines, f"10: {other}"]))
    press(page, "Save these answers")
    answer(page).get_by_text("Tasters can tell: 9 of 10").wait_for()
    press(page, "Take back")
    page.get_by_text(re.compile("took back|taken back", re.IGNORECASE)).first.wait_for()
    harness.picture_of_form(page, "7_tasters")


def test_a_pot_is_forecast_logged_and_a_dinner_planned(lab, page) -> None:
    harness.open_form(page, lab, "8_make_ahead.ipynb")
    start_in_form(page)
    before = answer(page).inner_text()
    tab_to(page, "Depth of the food, cm")
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    page.wait_for_function(f"(was) => document.querySelector('.spoonline .sl-answer').innerText !== {before!r}")
    press(page, "The cooling log of a pot, and how long it keeps")
    type_into(page, "Day of the first reading", "2026-01-21")
    tab_to(page, "Readings")
    page.keyboard.type("14:05 71\n14:35 57\n15:20 38\n16:25 20,5\n19:40 4,8")
    page.keyboard.press("Tab")
    answer(page, 1).get_by_text("This pot meets both stages").wait_for()
    press(page, "Save this log")
    page.get_by_text(re.compile("^Saved")).first.wait_for()
    press(page, "The plan for a dinner")
    type_into(page, "Served at", "2026-01-22 12:30")
    press(page, "Plan it")
    page.get_by_role("link", name=re.compile("checklist", re.IGNORECASE)).first.wait_for()
    press(page, "Save this dinner")
    page.wait_for_timeout(500)
    assert page.locator(".spoonline:visible [role=alert]").inner_text() == ""


def test_pots_are_planned_and_read(lab, page) -> None:
    harness.open_form(page, lab, "9_plan_the_pots.ipynb")
    page.get_by_label("Recipe", exact=True).first.select_option(label="Oat biscuits")
    page.get_by_text(re.compile("such pots should meet spread")).first.wait_for()
    page.get_by_text("batch 6").first.wait_for()
    page.get_by_label("Plan", exact=True).first.select_option(label="a new plan")
    answer(page).get_by_text(re.compile("Type a low and a high setting")).wait_for()


def test_an_old_sheet_comes_in_and_goes_back(lab, page) -> None:
    (lab.folder / "trials.csv").write_text(SHEET, encoding="utf-8")
    harness.open_form(page, lab, "10_bring_old_trials.ipynb")
    start_in_form(page)
    tab_to(page, "Or its path")
    page.keyboard.type("trials.csv")
    page.keyboard.press("Enter")
    answer(page).get_by_text("0 of 2 rows are clear").wait_for()
    tab_to(page, "Dates such as 3/4/2026")
    page.keyboard.type("day first")
    tab_to(page, "These sizes of the ring")
    page.keyboard.type("are")
    answer(page).get_by_text("2 of 2 rows are clear").wait_for()
    press(page, "Save the rows that are clear")
    page.get_by_text(re.compile("2 rows saved")).first.wait_for()
    with closing(sl.open_logbook(lab.folder / "kitchen.sqlite")) as book:
        assert len(book.batches("White onion sauce")) == 2
    press(page, "Take all of it back")
    page.get_by_text(re.compile("taken back|took back", re.IGNORECASE)).first.wait_for()
    with closing(sl.open_logbook(lab.folder / "kitchen.sqlite")) as book:
        assert "White onion sauce" not in book.titles()
