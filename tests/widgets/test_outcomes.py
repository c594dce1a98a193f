"""Any outcome of any quantity on the screens: typed at the stove, planned, read, aimed at, cooked next, compared, scored by tasters."""

from __future__ import annotations

import html
import random
from decimal import Decimal
from pathlib import Path

import pytest

import spoonline as sl
from spoonline.effects import Factor, plan_pots
from spoonline.pots import Outcome
from spoonline.tasters import Sample, plan_session
from spoonline.widgets import ComparePanel, DosePanel, PlanPanel, StovePanel, TastersPanel
from spoonline.widgets.parts.typed import day as day_typed

SOUP, BISCUITS = "Roast parsnip and pear soup", "Hall oat biscuits"
TEXT = f"""{BISCUITS}
Serves 20

200 g plain flour
100 g rolled oats
90 g butter
80 g sugar

1. Rub the butter into the flour.
2. Bake at 180 C for 12 minutes."""
BUTTER = "butter_g_per_100g_flour"


@pytest.fixture
def book(tmp_path: Path) -> sl.Logbook:
    made = sl.open_logbook(tmp_path / "kitchen.sqlite")
    made.save(sl.Recipe.from_text(TEXT))
    return made


def butter_plan(book: sl.Logbook):
    return book.keep(
        plan_pots(
            BISCUITS, [Factor(name="butter", unit="g/100g flour", low=40, high=62.5)], "spread", "cm", name="butter"
        )
    )


def came_to(form: StovePanel, *cells: str) -> None:
    form.came.outcomes.rows = [list(cells), *(row for row in form.came.outcomes.rows if row[0] != cells[0])]


def bake_all(book: sl.Logbook) -> StovePanel:
    """Every pot of the plan, cooked from it at the stove: 0.04 cm for each g of butter, and what pots differ by."""
    plan, form, lot = butter_plan(book), StovePanel(book), random.Random(3)
    for pot in plan.pots:
        form.planned.value = (plan.name, pot.number)
        form.cooked_on.value = f"2026-01-{7 + pot.day:02}"
        came_to(form, "spread", f"{5 + 0.04 * float(pot.settings[0]) + lot.gauss(0, 0.06):.2f}", "cm", "")
        form.save.click()
        assert f"Saved batch {pot.number} " in form.status.value, form.alert.value
    return form


def test_what_came_out_is_kept_and_asked_again_with_its_unit(book: sl.Logbook) -> None:
    form = StovePanel(book)
    assert form.save.disabled
    came_to(form, "spread", "6,5; 6.7 6.6", "cm", "")
    form.came.varied.rows = [["rest", "30", "min"]]
    form.save.click()
    (saved,) = book.all_batches(BISCUITS)
    assert [(each.name, each.unit, each.stage, round(each.mean, 3)) for each in saved.outcomes] == [
        ("spread", "cm", "served", 6.6)
    ]
    assert [(each.name, float(each.value), each.unit) for each in saved.quantities] == [("rest", 30, "min")]
    assert "spread 6.6 cm" in form.status.value and form.save.disabled
    assert form.came.outcomes.value == [["spread", "", "cm", "served"]] and form.came.varied.value == [
        ["rest", "", "min"]
    ]
    form.which.value = saved.id
    assert form.came.outcomes.value[0][:2] == ["spread", "6.5; 6.7; 6.6"]
    came_to(form, "spread", "7", "cm", "served")
    form.save.click()
    (saved,) = book.all_batches(BISCUITS)
    assert [each.mean for each in saved.outcomes] == [7] and [each.name for each in saved.quantities] == ["rest"]


def test_what_no_cell_shows_stays_with_an_outcome_that_is_not_touched(book: sl.Logbook) -> None:
    told = Outcome(name="spread", unit="cm", values=[6.5], note="three biscuits", left_out="burnt")
    pot = book.record(sl.Batch(title=BISCUITS, version=1, cooked_on="2026-01-08", outcomes=[told]))
    form = StovePanel(book)
    form.which.value = pot.id
    form.note.value = "windy"
    form.save.click()
    assert book.all_batches(BISCUITS)[0].outcomes == (told,)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        (("spread", "wide", "cm", ""), "'wide' came; a figure in cm is wanted"),
        (("spread", "7", "parsnips", ""), "The unit 'parsnips' came"),
        (("spread", "7", "", ""), "a unit that the kitchen knows is wanted"),
        (("spread", "7", "cm", "eaten"), "There is no stage 'eaten'"),
        (("", "7", "cm", ""), "7 came without a name"),
    ],
)
def test_an_outcome_that_cannot_be_read_is_one_sentence_and_saves_nothing(
    book: sl.Logbook, cells: tuple[str, ...], said: str
) -> None:
    form = StovePanel(book)
    form.came.outcomes.rows = [list(cells)]
    assert said in html.unescape(form.came.message.value) and "cannot be read" in form.answer.value
    form.save.click()
    assert said in html.unescape(form.alert.value) and not book.all_batches(BISCUITS)


def test_a_planned_pot_fills_what_to_weigh_and_lands_in_its_plan(book: sl.Logbook) -> None:
    plan, form = butter_plan(book), StovePanel(book)
    assert form.planned.layout.display == "" and form.planned.options[1][0].startswith("Pot 1 of the plan 'butter': ")
    for pot in plan.pots[:3]:
        form.planned.value = (plan.name, pot.number)
        assert form.lines.values[2] == f"{2 * float(pot.settings[0]):.3g} g", "what a pot before it held is gone"
    form.size.value = "x2"
    assert form.lines.values[2] == f"{4 * float(plan.pots[2].settings[0]):.3g} g"
    assert form.came.outcomes.value[0] == ["spread", "", "cm", "served"], "what is looked at is asked"
    came_to(form, "spread", "7", "cm", "served")
    form.save.click()
    (saved,) = book.all_batches(BISCUITS)
    assert (saved.plan, saved.plan_pot) == ("butter", 3) and form.planned.value == ("", 0)
    assert ("butter", 3) not in [pot for _, pot in form.planned.options], "it was cooked"
    frame = book.batches(BISCUITS)
    assert frame[BUTTER].iloc[0] == pytest.approx(float(plan.pots[2].settings[0]), rel=0.01)
    book.take_back(plan)
    form.which.value = saved.id
    form.note.value = "windy"
    form.save.click()
    assert book.all_batches(BISCUITS)[0].plan == "butter", "a correction leaves it where it was cooked for"


def test_two_forms_never_cook_one_planned_pot_twice_unseen(book: sl.Logbook) -> None:
    plan = butter_plan(book)
    one, two = StovePanel(book), StovePanel(book)
    one.planned.value = two.planned.value = (plan.name, 1)
    one.note.value = "here"
    one.save.click()
    two.look()
    assert two.planned.value == ("", 0) and two._batch().plan == ""


def test_a_dish_without_starch_lives_by_its_outcome(book: sl.Logbook) -> None:
    panel = DosePanel(book)
    assert "No outcome yet" in panel.answer.value and panel.save.disabled and ">" not in panel.alert.value[25:-6]
    assert panel.of_starch.layout.display == "none"
    bake_all(book)
    panel.look()
    assert (panel.view.varies.value, panel.view.out.value) == (BUTTER, "spread_cm"), (
        "what was varied, what was measured"
    )
    assert "spread goes from" in panel.answer.value and "No aim is set" in panel.answer.value
    assert panel.view.figure.value and "The pots" in panel.view.table.value and panel.save.disabled
    panel.view.low.value, panel.view.high.value = "6,8", "7.2"
    assert (
        panel.save.description == "Save this aim" and "such pots should meet spread 6.8 to 7.2 cm" in panel.answer.value
    )
    panel.save.click()
    recipe = book.recipe(BISCUITS)
    assert [(each.outcome, each.unit, float(each.low), float(each.high)) for each in recipe.aims] == [
        ("spread", "cm", 6.8, 7.2)
    ]
    assert panel.save.description.startswith("Change it to ") and "butter" in panel.save.description
    grams = panel.save.description.removeprefix("Change it to ").removesuffix(" butter")
    panel.save.click()
    assert book.version(BISCUITS).number == 3 and book.recipe(BISCUITS).ingredients[2].amount == grams
    assert 5 + 0.04 * float(book.recipe(BISCUITS).ingredients[2].mass_g) / 2 == pytest.approx(7, abs=0.2)
    assert panel.save.disabled, "what was just saved is not changed again"
    panel.back.click()
    assert book.version(BISCUITS).number == 2 and not panel.save.disabled
    panel.view.low.value = "lots"
    assert "came" in panel.alert.value
    panel.save.click()
    assert book.version(BISCUITS).number == 2
    panel.view.low.value = panel.view.high.value = ""
    assert panel.save.description == "Take the aim away"
    panel.save.click()
    assert book.recipe(BISCUITS).aims == ()


def test_thickness_by_starch_comes_first_and_nothing_of_it_stands_beside_another_effect(demo: sl.Logbook) -> None:
    panel = DosePanel(demo)
    panel.title.value = SOUP
    assert panel.view.of_curve and panel.of_starch.layout.display == "" and not panel.view.figure.value
    dose, shown = panel.answer.value, panel.dose.value
    panel.view.varies.value = next(column for _, column in panel.view.varies.options if "cream" in column)
    assert "g/L" in panel.answer.value and panel.answer.value != dose and panel.of_starch.layout.display == "none"
    assert panel.figure.value == panel.dose_message.value[0:0] and panel.dose.value == "" and panel.save.disabled
    panel.view.varies.value = "dose_g_per_l"
    assert panel.answer.value == dose and panel.dose.value == shown and panel.figure.value
    panel.view.out.value = next(column for _, column in panel.view.out.options if column.startswith("salt"))
    assert panel.how.layout.display == "none" and panel.view.aims.layout.display == ""
    panel.view.high.value = "1,1"
    panel.save.click()
    assert [each.text for each in demo.recipe(SOUP).aims] == ["salt at most 1.1 %"]
    assert (
        demo.recipe(SOUP).target == demo.recipe(SOUP, 5).target
        and demo.recipe(SOUP).dose_g_per_l == demo.recipe(SOUP, 5).dose_g_per_l
    )


def test_two_versions_are_compared_in_every_outcome_of_both(book: sl.Logbook) -> None:
    for version, spreads in ((1, ("6.0", "6.1", "6.2")), (2, ("7.0", "7.1", "7.2"))):
        if version == 2:
            book.save(book.recipe(BISCUITS).model_copy(update={"yield_g": Decimal(900)}), "more of them")
        for day, spread in enumerate(spreads, start=8):
            came = [
                Outcome(name="spread", unit="cm", values=[spread]),
                Outcome(name="crunch", unit="score", values=[5]),
            ]
            book.record(
                sl.Batch(
                    title=BISCUITS, version=version, cooked_on=f"2026-0{version}-{day:02}", outcomes=came[: 3 - version]
                )
            )
    panel = ComparePanel(book)
    assert "Spread 6.1 to 7.1 cm: 1.16 (1.13-1.20) times (90 % range), different." in panel.answer.value, (
        panel.answer.value
    )
    assert "Spread 6.1 to 7.1 cm" in panel.outcomes.value
    assert "crunch" not in panel.outcomes.value, "only one of them was scored"
    assert "Energy" in panel.outcomes.value.partition("<details>")[2] and "Pa s" not in panel.answer.value


def test_scores_of_tasters_stand_with_the_pots_they_tasted(demo: sl.Logbook) -> None:
    samples = [Sample(label=f"batch {number}", version=5, batch=number) for number in (8, 9)]
    session = plan_session(SOUP, "just right", samples, 3, number=7, about="thickness", seed=7)
    told = "\n".join(
        f"{n}: {order[0]} 7 too thin, {order[1]} 6 just right" for n, order in enumerate(session.orders, start=1)
    )
    demo.keep(session.with_answers(told))
    panel = TastersPanel(demo)
    panel.title.value, panel.session.value = SOUP, 7
    assert panel.give.layout.display == ""
    for _ in range(2):
        panel.give.click()
        assert "The scores stand with batch 8, batch 9." in panel.status.value
    pots = {each.number: each for each in demo.all_batches(SOUP)}
    for number in (8, 9):
        assert [(each.name, len(each.values)) for each in pots[number].outcomes] == [
            ("liking", 3),
            ("just about right", 3),
        ]
    frame = demo.batches(SOUP).set_index("batch")
    assert frame.loc[8, "liking_score"] + frame.loc[9, "liking_score"] == pytest.approx(13)
    assert "liking_score_sd" in frame and frame.attrs["outcomes"]["liking_score"] == "score"
    panel.session.value = 1  # of the demo: a pair, which scores nothing
    assert panel.give.layout.display == "none"


def test_a_plan_is_made_kept_cooked_and_read(book: sl.Logbook) -> None:
    panel = PlanPanel(book)
    assert "Type a low and a high setting" in panel.answer.value and panel.save.disabled
    assert ["butter", "g/100g flour", "45", "", ""] in panel.change.value, "offered from the dish's lines"
    panel.change.rows = [[*cells[:3], "40", "62,5"] if cells[0] == "butter" else cells for cells in panel.change.value]
    panel.out.value, panel.name.value = "spread, cm", "butter"
    assert (
        "Cook 6 pots on 2 days: butter 40 to 62.5 g/100g flour" in panel.answer.value
        and panel.pots.value.count("<tr>") == 7
    )
    panel.save.click()
    assert panel.which.value == "butter" and "No pot of the plan" in panel.answer.value and panel.save.disabled
    form = StovePanel(book)
    for number in range(1, 7):
        form.planned.value = ("butter", number)
        grams = float(form.lines.values[2].removesuffix(" g")) / 2
        form.cooked_on.value = f"2026-01-{8 + number // 4:02}"
        came_to(form, "spread", f"{5 + 0.04 * grams:.2f}", "cm", "served")
        form.save.click()
    panel.look()
    assert panel.pots.value.count("batch ") == 6 and panel.figure.value
    assert "spread goes from 6.59" in panel.answer.value and "No aim for spread is set" in panel.answer.value
    book.save(
        book.recipe(BISCUITS).model_copy(update={"aims": (sl.Aim(outcome="spread", unit="cm", low=6.8, high=7.2),)}),
        "aim",
    )
    panel.look()
    assert "such pots should meet spread 6.8 to 7.2 cm" in panel.answer.value


def test_three_pots_of_one_day_one_of_them_read_twice_are_an_effect(book: sl.Logbook) -> None:
    form = StovePanel(book)
    for grams, spread in (("70 g", "6,2"), ("90 g", "7,1; 7,0"), ("120 g", "8,1")):
        form.lines.fields[2][0].value = grams
        came_to(form, "spread", spread, "cm", "")
        form.save.click()
    panel = DosePanel(book)
    assert "spread goes from 6.2" in panel.answer.value and "3 pots on 1 day" in panel.answer.value, panel.alert.value


def test_an_aim_stays_with_the_outcome_it_was_typed_for_and_a_kept_one_is_never_set_back(book: sl.Logbook) -> None:
    bake_all(book)
    one, two = DosePanel(book), DosePanel(book)
    one.view.low.value = "6,8"
    one.save.click()
    two.look()
    assert two.view.low.value == "6.8" and "aim" not in two.save.description, "nobody typed another"
    two.view.high.value = "7.2"
    one.look()
    two.save.click()
    one.look()
    assert one.view.high.value == "7.2"
    for pot in book.all_batches(BISCUITS):
        book.take_back(pot)
    two.view.low.value = "5"
    two.look()
    assert two.view.out.value is None or (two.view.low.value, two.view.high.value) == ("", ""), "its outcome is gone"


def test_what_a_plan_put_in_goes_with_it(book: sl.Logbook) -> None:
    """Another pot, or none: nothing of the plan before stays; what was typed over it does."""
    plan = butter_plan(book)
    oven = book.keep(
        plan_pots(
            BISCUITS, [Factor(name="fan", unit="C", low=150, high=170, by_ratio=False)], "spread", "cm", name="fan"
        )
    )
    form = StovePanel(book)
    form.planned.value = (plan.name, 2)
    assert form.lines.values[2]
    form.planned.value = (oven.name, 1)
    assert form.lines.values[2] == "" and form.came.varied.value[0][0] == "fan"
    form.planned.value = ("", 0)
    assert not any(form.lines.values) and not any(cells[0] == "fan" for cells in form.came.varied.value)
    form.planned.value = (plan.name, 1)
    came_to(form, "spread", "6", "cm", "served")
    form.save.click()
    assert not any(form.lines.values), "the next pot is one of no plan"
    form.planned.value = (plan.name, 2)
    form.lines.fields[2][0].value = "91 g"
    form.planned.value = ("", 0)
    assert form.lines.values[2] == "91 g"


def test_a_planned_pot_half_typed_is_still_of_its_plan_after_a_restart(book: sl.Logbook) -> None:
    plan, form = butter_plan(book), StovePanel(book)
    form.planned.value = (plan.name, 1)
    form.note.value = "windy"
    again = StovePanel(book)
    again.draft.take.click()
    assert again.planned.value == (plan.name, 1) and again.note.value == "windy"


@pytest.mark.parametrize("text", ["1/2", "6 1/2", "7/10", "5 200"])
def test_one_figure_that_could_be_two_is_asked(book: sl.Logbook, text: str) -> None:
    form = StovePanel(book)
    came_to(form, "spread", text, "cm", "")
    form.save.click()
    assert "one figure or several" in form.alert.value and not book.all_batches(BISCUITS)


def test_a_day_is_read_in_the_kitchens_own_order() -> None:
    assert (
        day_typed("27/11/2025") == day_typed("11/27/2025") == day_typed("27.11.2025", "uk") == day_typed("2025-11-27")
    )
    assert (day_typed("02/01/2025", "uk"), day_typed("02/01/2025", "us")) == (
        day_typed("2025-01-02"),
        day_typed("2025-02-01"),
    )
    for text in ("31/31/2025", "1/2/25", "tomorrow"):
        with pytest.raises(sl.KitchenError, match="year-month-day"):
            day_typed(text)
