"""The plan of a dinner: against brute force, what does not fit, and what is handed out, read back by other libraries."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime

import pytest

from experiments.keeping_dinners import compare, faults_of
from spoonline.keeping import Dinner, FreeHours, calendar, freezing, last_days, plan, read_dishes, shopping_for, use_by
from spoonline.measures.errors import ItemError, RecipeError
from spoonline.recipes import Recipe
from spoonline.widgets.parts.dinner_part import EXAMPLE, HOURS, read_hours
from spoonline.widgets.parts.sheets import checklist_html


def dinner(dishes: str = EXAMPLE, hours: str = HOURS, **other: object) -> Dinner:
    fields = {"tools": {"burner": 2, "oven": 1, "large pot": 1}, "guests": 24} | other
    return Dinner(
        name="Winter lunch", serve_at="2026-01-22T12:30", dishes=read_dishes(dishes), free=read_hours(hours), **fields
    )


def test_plans_against_brute_force() -> None:
    found = compare(25, seed=5)
    assert found["disagree"] == 0 and found["plans that break a rule"] == 0
    assert 2 < found["feasible"] < 25


def test_example_keeps_every_rule() -> None:
    made = plan(dinner())
    assert made.fits and faults_of(made) == ""
    assert plan(dinner()) == made, "one dinner has one plan"


SHORT = "Gravy\n- Simmer; 30+30; burner; day 0; within 30 min\nSauce\n- Boil; 30; burner; day 0; within 60 min"


@pytest.mark.parametrize(
    ("hours", "tools", "said"),
    [
        ("0: 12:00-12:30", {"burner": 2}, "Gravy alone does not fit into the free hours"),
        ("0: 11:30-12:30", {"burner": 1}, "Sauce does not fit beside Gravy: the cook's hands, the tools"),
        ("0: 9:00-12:30", {"burner": 1}, ""),
    ],
)
def test_what_does_not_fit_is_said(hours: str, tools: dict[str, int], said: str) -> None:
    made = plan(dinner(SHORT, hours, tools=tools))
    assert made.fits == (said == "")
    assert said in made.text


def test_keeping_is_never_given_up() -> None:
    made = plan(dinner("Soup\n- Simmer; 20; burner; day 3; keeps 2", "3: 9:00-12:00"))
    assert not made.fits and "Soup alone" in made.text
    assert "keep" not in made.text


@pytest.mark.parametrize(
    ("text", "match"),
    [("- Simmer; 20", "has no dish"), ("Soup", "has no stage"), ("Soup\n- Simmer", "takes no time"),
     ("Soup\n- Simmer; 20; 3!", "not understood"),
     ("Soup\n- Simmer; 20; grill; day 1", "uses 'grill'"), ("Soup\n- Boil; 5\nSoup\n- Boil; 5", "one name")],
)  # fmt: skip
def test_wrong_dishes_are_said(text: str, match: str) -> None:
    with pytest.raises(RecipeError, match=match):
        dinner(text)


def test_wrong_hours_are_said() -> None:
    with pytest.raises(RecipeError, match="later on the same day"):
        FreeHours(day=0, start="12:00", end="09:00")
    with pytest.raises(RecipeError, match="days before"):
        read_hours("Monday afternoon")
    with pytest.raises(RecipeError, match="Steps of 0 min"):
        plan(dinner(), step_min=0)
    lost = plan(dinner(SHORT, "0: 12:00-12:30"))
    with pytest.raises(RecipeError, match="no schedule yet"):
        calendar(lost)


def test_calendar_is_read_by_another_library() -> None:
    import vobject

    made = plan(dinner())
    text = calendar(made, datetime(2026, 1, 1, tzinfo=UTC))
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n")), "RFC 5545 folds lines at 75 octets"
    events = list(vobject.readOne(text).vevent_list)
    assert len(events) == len(made.tasks) + 1
    assert len({event.uid.value for event in events}) == len(events)
    for task, event in zip(made.tasks, events, strict=False):
        assert (event.dtstart.value, event.dtend.value) == (task.start, task.end)
        assert event.summary.value == f"{task.dish}: {task.stage.text}"
        assert "local food code" in event.description.value
    assert text == calendar(made, datetime(2026, 1, 1, tzinfo=UTC))


def test_checklist_prints_each_day_with_its_cautions() -> None:
    made = plan(dinner())
    page = checklist_html(made)
    assert page.count("<section ") == len({task.start.date() for task in made.tasks})
    assert page.count("&#9744;") == len(made.tasks) + 1
    for words in (
        "@media print",
        "57 to 21 C",
        "74 C",
        "puree in small batches",
        "Your local food code",
        "Serve 24 guests",
        "after 2 h",
    ):
        assert words in page
    assert "<script" not in checklist_html(plan(dinner("<script>x\n- Boil; 5; burner; day 0", "0: 9:00-12:30")))


def test_one_shopping_list() -> None:
    made = plan(dinner())
    recipes = [
        Recipe(title="Mushroom gravy", ingredients=["1 l beef stock", "60 g butter"], servings=12),
        Recipe(title="Roast parsnip and pear soup", ingredients=["850 g parsnips", "100 g butter"], servings=8),
        Recipe(title="Another", ingredients=["5 kg salt"], servings=8),
    ]
    rows = {row.item: row for row in shopping_for(made, recipes, in_store={"butter": 120}).rows}
    assert set(rows) == {"beef stock", "butter", "parsnip"}
    assert rows["butter"].buy_g.best == pytest.approx(60 * 2 + 100 * 3 - 120)
    assert rows["parsnip"].bought_g.best > 850 * 3
    with pytest.raises(RecipeError, match="how many it serves"):
        shopping_for(made, [recipes[0].model_copy(update={"servings": None})])


def test_dates() -> None:
    cake = last_days(date(2026, 1, 18))
    assert cake.last == date(2026, 1, 20) and "US model Food Code" in cake.text
    assert all("2026-01-23" in line for line in use_by(plan(dinner()))), "day 3, the day of cooking being day 1"
    with pytest.raises(ItemError):
        freezing(["moonlight"])


def test_dinner_is_kept(demo) -> None:
    kept = demo.keep(dinner())
    assert demo.kept(Dinner)[0].dishes == kept.dishes
    json.loads(kept.model_dump_json())
