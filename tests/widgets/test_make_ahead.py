"""The panel for a dish made ahead, driven without a browser."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from spoonline.keeping import CoolingLog, Dinner
from spoonline.recipes import Habits, Pan
from spoonline.widgets import MakeAheadPanel


@pytest.fixture
def panel(demo):
    demo.keep(Pan(name="28 cm pot", tare_g=2150, diameter_cm=28))
    made = MakeAheadPanel(demo)
    yield made
    made.close_all()


def test_forecast_follows_the_form(panel) -> None:
    cool = panel.cool
    before = cool.answer.value
    assert "lower bound" in cool.care.value and "local code" in cool.care.value
    cool.place.value = "blast chiller"
    assert cool.air.value == -5.0 and cool.answer.value != before
    cool.pan.value, cool.first.value = "28 cm pot", "counter"
    assert "Ice bath for these" in cool.passing.value
    cool.rule.value = "France"
    assert "63 to 10 C" in cool.answer.value
    assert panel.alert.value.count("!") == 0


def test_log_keeps_and_says_what_is_wrong(panel, demo) -> None:
    log = panel.log_part
    log.title.value = demo.titles()[0]
    log.readings.value = "soon 57"
    assert "no time" in panel.alert.value
    log.readings.value = "0 57\n60 40"
    assert "Not enough readings" in log.verdict.value and "log10" in log.advice.value
    log.readings.value += "\n121 25"
    assert "misses stage 1" in log.verdict.value and "discard" in log.advice.value
    log.keep()
    assert demo.kept(CoolingLog)[0].title == demo.titles()[0]
    log.on.value = "2026-01-20"
    assert "2026-01-22" in log.keeps.value and "US model Food Code" in log.keeps.value
    assert "times as thick as fresh" in log.back.value


def test_a_log_that_takes_the_place_of_another_pot_s_says_so_and_can_be_taken_back(panel, demo) -> None:
    log = panel.log_part
    log.title.value = demo.titles()[0]
    log.readings.value = "14:05 71\n15:00 40"
    log.save.click()
    log.readings.value += "\n16:00 20\n19:00 5"
    log.save.click()
    assert "took the place" not in panel.status.value, "it goes on where the shorter one ended"
    log.readings.value = "16:00 63\n17:00 30"
    log.save.click()
    assert "took the place of the log of that day, which had other readings (4 of them)" in panel.status.value
    log.undo.click()
    (kept,) = demo.kept(CoolingLog)
    assert len(kept.readings) == 4


def test_logger_file_is_read(panel) -> None:
    log = panel.log_part
    log.unit.value = "F"
    text = b"time,probe\n2026-01-08 13:00,135\n2026-01-08 14:54,69\n2026-01-08 18:50,40\n"
    log.file.value = (
        {
            "name": "a.csv",
            "type": "text/csv",
            "size": len(text),
            "content": memoryview(text),
            "last_modified": datetime.now(UTC),
        },
    )
    assert "meets both stages" in log.verdict.value


def test_dinner_is_planned_kept_and_opened_again(panel, demo) -> None:
    part = panel.dinner
    part.make()
    assert part.plan.fits and "Checklist to print" in part.files.value and "Calendar file" in part.files.value
    assert "What to buy for 24" in part.shopping.value and "74 C" in part.care.value
    part.keep()
    part.dishes.value, part.name.value = "", "Other"
    part.load.value = demo.kept(Dinner)[0].name
    assert part.name.value == "Winter lunch" and "Mushroom gravy" in part.dishes.value
    part.hours.value = "0: 12:00-12:30"
    part.make()
    assert "Nothing fits" in part.answer.value and part.files.value == ""


def test_what_is_refused_leaves_no_half_a_plan(panel) -> None:
    dinner = panel.dinner
    dinner.store.value = "onions"
    dinner.go.click()
    assert "onions" in panel.alert.value and dinner.plan is None
    assert "Plan" not in dinner.answer.value and not dinner.chart.value
    panel.cool.place.value = "blast chiller"
    assert "onions" in panel.alert.value, "only its cure clears it"
    dinner.store.value = "onions: 500 g"
    assert "onions" not in panel.alert.value


def test_height(panel) -> None:
    panel.altitude.value = "1524"
    assert re.search(r"boils at 94\.9 C", panel.boil.value)
    panel.altitude.value = "9000"
    assert "5000 m" in panel.alert.value


def test_other_limits_are_there(panel) -> None:
    assert {"US model Food Code", "Australia", "France"} <= set(panel.cool.rule.options)


def test_everything_follows_the_jurisdiction_of_the_kitchen(demo) -> None:
    demo.keep(Habits(jurisdiction="england"))
    made = MakeAheadPanel(demo)
    assert "63 to 8 C" in made.cool.answer.value and made.cool.rule.value == made.log_part.rule.value == "UK habit"
    made.log_part.readings.value = "0 63\n91 12"
    assert "This pot misses the limit (UK habit)" in made.log_part.verdict.value
    assert "written procedure" in made.log_part.advice.value
    made.log_part.on.value = "2026-01-20"
    assert "2026-01-23 by US home advice, at most" in made.log_part.keeps.value
    assert "US model Food Code" not in made.log_part.keeps.value
    made.dinner.make()
    assert made.dinner.plan.fits and "8 C or below (UK habit)" in made.dinner.chart.value
    assert (
        "hot holding 63 C (England" in made.dinner.care.value and "stricter: 82 C (Scotland)" in made.dinner.care.value
    )
    made.dinner.dishes.value = "Stew\n- Simmer; 20; day 0\n- Hold at 60 C; 0+30; day 0"
    made.dinner.make()
    assert "Refused. Stew" in made.dinner.answer.value and made.dinner.chart.value == made.dinner.files.value == ""
    made.close_all()


def test_what_is_stirred_is_thin_or_thick(panel) -> None:
    cool = panel.cool
    cool.depth.value, cool.pan.value, cool.width.value, cool.place.value = (
        26.0,
        "a round pot",
        27.0,
        "ice bath, water stirred",
    )
    said = []
    for value in dict(cool.stirred.options).values():
        cool.stirred.value = value
        said.append(cool.answer.value)
    still, thin, cream, stew = said
    assert "would miss" in still and "would meet" in thin and "may miss" in cream and "may miss" in stew
    assert "more than 40" not in still and "A published trial missed there" in stew
    cool.stirred.value = 0.002
    assert "more than 40" in cool.passing.value
