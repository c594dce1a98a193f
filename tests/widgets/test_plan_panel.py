"""Plans of pots in the form: what is offered, what is refused, what is kept, and what the pots of two quantities say."""

from __future__ import annotations

import html

import ipywidgets as w
import pytest

import spoonline as sl
from spoonline.effects import PotPlan
from spoonline.pots import Outcome
from spoonline.widgets import PlanPanel
from widgets.test_outcomes import BISCUITS, TEXT

SOUP = "Roast parsnip and pear soup"


@pytest.fixture
def panel(demo: sl.Logbook):
    demo.save(sl.Recipe.from_text(TEXT).model_copy(update={"invented": True}))
    made = PlanPanel(demo)
    made.title.value = BISCUITS
    made.which.value = ""
    yield made
    made.close_all()
    w.Widget.close_all()


def change(panel: PlanPanel, **ends: tuple[str, str]) -> None:
    panel.change.rows = [[*cells[:3], *ends.get(cells[0], ("", ""))] for cells in panel.change.value]


def test_one_quantity_or_two_in_cooking_order(panel: PlanPanel) -> None:
    change(panel, butter=("40", "62,5"))
    panel.out.value = "spread, cm"
    assert (
        panel.pots.value.count("<tr>") == 7
        and "90 g butter" not in panel.pots.value
        and "100 g butter" in panel.pots.value
    )
    assert panel.days.layout.display == "" and panel.stars.layout.display == "none"
    panel.days.value = 3
    assert panel.pots.value.count("<tr>") == 10
    change(panel, butter=("40", "62,5"), sugar=("30", "50"))
    assert panel.pots.value.count("<tr>") == 8 and " and " in panel.answer.value and panel.stars.layout.display == ""
    panel.stars.value = True
    assert panel.pots.value.count("<tr>") == 15 and "14 pots on 2 days" in panel.answer.value


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda p: change(p, butter=("40", "")), "butter: a low and a high setting are wanted"),
        (lambda p: change(p, butter=("62,5", "40")), "settings 62.5 and 40 g/100g flour came"),
        (lambda p: change(p, butter=("much", "60")), "'much' came"),
        (lambda p: change(p, butter=("40", "60"), sugar=("30", "50"), bake=("10", "14")), "one or two different ones are wanted"),
        (lambda p: change(p), "Type a low and a high setting"),
        (lambda p: setattr(p.out, "value", "spread"), "Type a low and a high setting"),
        (lambda p: setattr(p.out, "value", "spread, parsnips"), "The unit 'parsnips' came"),
        (lambda p: setattr(p.change, "rows", [*p.change.rows, ["proofing", "parsnips", "", "1", "2"]]), "The unit 'parsnips' came"),
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_made_is_one_sentence_and_is_not_kept(panel: PlanPanel, spoil, said: str) -> None:
    change(panel, butter=("40", "62,5"))
    panel.out.value = "spread, cm"
    spoil(panel)
    assert said in html.unescape(panel.answer.value) and not panel.pots.value and panel.save.disabled
    panel.save.click()
    assert not panel.book.kept(PotPlan, BISCUITS)


def test_what_is_typed_is_of_a_new_plan_whichever_was_chosen(panel: PlanPanel) -> None:
    change(panel, butter=("40", "62,5"))
    panel.out.value = "spread, cm"
    panel.save.click()
    assert panel.which.value
    change(panel, butter=("40", "62,5"), sugar=("30", "50"))
    assert not panel.which.value and panel.asked.layout.display == "" and "butter 40 to 62.5" in panel.answer.value
    assert "and sugar 30 to 50" in panel.answer.value and not panel.save.disabled


def test_what_was_typed_outlives_a_plan_taken_back_and_no_name_goes_to_another_dish(panel: PlanPanel) -> None:
    change(panel, butter=("40", "60"))
    panel.out.value = "spread, cm"
    panel.name.value = "butter, once more"
    panel.save.click()
    panel.back.click()
    assert "was taken back" in panel.status.value
    assert [each[3:] for each in panel.change.value if each[0] == "butter"] == [["40", "60"]]
    assert panel.name.value == "butter, once more" and not panel.save.disabled
    # pots that were cooked from it would be taken for those of another plan under its name
    panel.save.click()
    (kept,) = panel.book.kept(PotPlan, BISCUITS)
    cooked = {"plan": kept.name, "plan_pot": 1, "outcomes": [Outcome(name="spread", unit="cm", values=[7])]}
    panel.book.record(sl.Batch(title=BISCUITS, version=1, cooked_on="2026-02-01", **cooked))
    panel.back.click()
    change(panel, butter=("60", "90"))
    panel.name.value = kept.name
    assert "give this one another name" in panel.answer.value and panel.save.disabled
    change(panel, butter=("40", "60"))
    assert not panel.save.disabled, "the same plan again"
    panel.title.value = SOUP
    assert panel.name.value == ""


def test_a_plan_is_kept_once_by_its_name_and_can_be_taken_back(panel: PlanPanel) -> None:
    change(panel, butter=("40", "62,5"))
    panel.out.value = "spread, cm"
    panel.save.click()
    (kept,) = panel.book.kept(PotPlan, BISCUITS)
    assert kept.name == "butter on spread" and panel.which.value == kept.name and panel.asked.layout.display == "none"
    panel.which.value = ""
    change(panel, butter=("30", "62,5"))
    assert "is kept already: give this one another name" in panel.answer.value and panel.save.disabled
    panel.name.value = "less butter"
    panel.save.click()
    assert [each.name for each in panel.book.kept(PotPlan, BISCUITS)] == ["butter on spread", "less butter"]
    panel.back.click()
    assert [value for _, value in panel.which.options] == ["", "butter on spread"]


def test_what_is_in_no_line_can_be_varied_and_what_was_typed_survives_another_version(panel: PlanPanel) -> None:
    panel.change.rows = [*panel.change.value, ["rest", "min", "", "10", "40"]]
    panel.out.value = "crunch, score"
    assert "rest 10 to 40 min; note crunch in score of each" in panel.answer.value
    lines = list(panel.book.recipe(BISCUITS).ingredients)
    lines[2] = lines[2].scaled(1.2)
    panel.book.save(panel.book.recipe(BISCUITS).model_copy(update={"ingredients": tuple(lines)}), "more butter")
    panel.look()
    assert ["butter", "g/100g flour", "54", "", ""] in panel.change.value
    assert ["rest", "min", "", "10", "40"] in panel.change.value and "rest 10 to 40 min" in panel.answer.value


def test_a_plan_half_typed_survives(panel: PlanPanel) -> None:
    change(panel, butter=("40", "62,5"))
    panel.out.value = "spread, cm"
    again = PlanPanel(panel.book)
    again.draft.take.click()
    assert "butter 40 to 62.5 g/100g flour" in again.answer.value
    again.save.click()
    assert not PlanPanel(panel.book).draft.found


def test_two_quantities_are_read_with_both_together_and_a_surface(panel: PlanPanel) -> None:
    book = panel.book
    change(panel, butter=("40", "62,5"), sugar=("30", "50"))
    panel.out.value, panel.name.value = "spread, cm", "both"
    panel.save.click()
    assert "No pot of the plan" in panel.answer.value and not panel.figure.value
    (plan,) = book.kept(PotPlan, BISCUITS)
    for pot in plan.pots:
        butter, sugar = map(float, pot.settings)
        grams = {3: 2 * butter, 4: 2 * sugar}
        weighed = [
            sl.pots.Weighed(line=line, item=item, typed=f"{grams[line]:.3f} g", mass_g=round(grams[line], 3), sd_g=0)
            for line, item in ((3, "butter"), (4, "sugar"))
        ]
        spread = 6.0 * (butter / 50) ** 0.5 * (sugar / 39) ** 0.3
        book.record(
            sl.Batch(
                title=BISCUITS, version=1, cooked_on=f"2026-01-{7 + pot.day:02}", weighed=weighed, plan="both", plan_pot=pot.number,
                outcomes=[Outcome(name="spread", unit="cm", values=[round(spread, 3)])],
            )
        )  # fmt: skip
    panel.look()
    assert panel.pots.value.count("batch ") == 7
    assert "Butter from 40" in panel.found.value and f"comes to {(62.5 / 40) ** 0.5:.2g}" in panel.found.value
    assert (
        f"comes to {(50 / 30) ** 0.3:.3g}" in panel.found.value
        and "butter with sugar: 1.00" in panel.found.value.lower()
    )
    assert "No aim for spread is set" in panel.answer.value
    book.save(
        book.recipe(BISCUITS).model_copy(update={"aims": (sl.Aim(outcome="spread", unit="cm", low=5.9, high=6.1),)}),
        "aim",
    )
    panel.look()
    assert "such pots should meet spread 5.9 to 6.1 cm" in panel.answer.value and panel.figure.value.startswith("<div")


def test_thickness_is_offered_first_where_something_is_dosed(panel: PlanPanel) -> None:
    panel.title.value = SOUP
    assert panel.out.value == "viscosity, Pa s" and any(cells[0] == "corn starch" for cells in panel.change.value)
    change(panel, **{"corn starch": ("28", "40")})
    panel.save.click()
    (plan,) = panel.book.kept(PotPlan, SOUP)
    assert plan.column == "viscosity_pa_s" and plan.factors[0].column == "corn_starch_g_per_l"
