"""Notebook 7 without a browser: a session planned, answered, corrected, taken back; and its figure."""

from __future__ import annotations

import base64
import re

import ipywidgets as w
import pytest

import spoonline as sl
from spoonline.figures import session_figure
from spoonline.logbook import tables
from spoonline.tasters import Session
from spoonline.widgets import TastersPanel

SOUP = "Roast parsnip and pear soup"


@pytest.fixture(autouse=True)
def _close_all():
    yield
    w.Widget.close_all()


@pytest.fixture
def panel(demo: sl.Logbook) -> TastersPanel:
    """The panel on a logbook that never held a session: the demo's own is cut out of its copy."""
    with demo.store.engine.begin() as connection:
        connection.execute(tables.kept.delete().where(tables.kept.c.kind == Session.kind))
    form = TastersPanel(demo)
    form.title.value = SOUP
    return form


def typed(session: Session, right: int) -> str:
    lines = []
    for taster, order in enumerate(session.orders, start=1):
        best = session.right_code(taster)
        lines.append(f"{taster} {best if taster <= right else next(code for code in order if code != best)}")
    return "\n".join(lines)


def test_from_plan_to_answer_and_back(panel: TastersPanel, demo: sl.Logbook) -> None:
    assert "No session of this dish yet" in panel.answer.value and panel.keep.disabled
    assert "10 of 12 must choose the same" in panel.power.value
    panel.expected.value = True
    assert "10 of 12 must be right" in panel.power.value
    panel.plan.click()
    assert "Planned session 1" in panel.status.value and "not answered yet" in panel.answer.value
    session = panel.sessions()[1]
    assert [each.version for each in session.samples] == [4, 5] and session.invented
    sheets = [base64.b64decode(data).decode() for data in re.findall(r"base64,([^\"]+)", panel.sheets.value)]
    assert "Taster 12" in sheets[0] and "Key sheet" in sheets[1] and "version" not in sheets[0]
    panel.answers.value = typed(session, 11)
    panel.keep.click()
    assert "Tasters can tell: 11 of 12" in panel.answer.value and "Invented data" in panel.answer.value
    assert "Saved 12 of 12 ballots" in panel.status.value
    assert "8 of 10 sessions" in panel.working.value and "data:image/svg+xml" in panel.figure.value
    panel.answers.value = typed(session, 7)
    panel.keep.click()
    assert (
        "No difference could be shown" in panel.answer.value and "not the same as no difference" in panel.working.value
    )
    assert len(demo.kept(Session)) == 1 and len(demo.kept(Session, history=True)) == 3
    panel.back.click()
    assert "answers before stand again" in panel.status.value and "11 of 12" in panel.answer.value
    panel.back.click()
    assert "plan stands again" in panel.status.value
    panel.back.click()
    assert "gone from the list" in panel.status.value and panel.sessions() == {} and panel.keep.disabled
    panel.plan.click()
    assert list(panel.sessions()) == [2], "a number is not used twice"


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("versions", "4; 99", "Version 99 is not there"),
        ("versions", "4", "takes 2"),
        ("versions", "4; soon", "soon"),
        ("versions", "4.5; 5", "whole numbers"),
        ("tasters", "many", "many"),
        ("tasters", "12.5", "Tasters: &#x27;12.5&#x27; came; a whole number from 1 up is wanted"),
        ("served", "60; 58; 57", "3 temperatures came for 2 versions"),
        ("batches", "8; 9; 10", "3 batches came for 2 versions"),
        ("names", "Cook A; Cook B", "2 names came for 12 tasters"),
        ("same", "130", "The same if fewer than this share tell: a figure below 1 is wanted"),
        ("day", "tomorrow", "year-month-day"),
    ],
)
def test_what_cannot_be_planned_is_said(panel: TastersPanel, field: str, value: str, said: str) -> None:
    getattr(panel, field).value = value
    panel.plan.click()
    assert said in panel.alert.value and panel.sessions() == {}


def test_answers_that_cannot_be_read_stay_in_the_field(panel: TastersPanel) -> None:
    panel.plan.click()
    for text, said in (("", "No answer came"), ("1: 111", "their ballot has the codes")):
        panel.answers.value = text
        panel.keep.click()
        assert said in panel.alert.value and panel.answers.value == text and not panel.sessions()[1].answers


def test_every_test_can_be_planned(panel: TastersPanel) -> None:
    panel.names.value = ""
    for number, (_, kind) in enumerate(list(panel.kind.options), start=1):
        panel.kind.value = kind
        panel.versions.value = "3; 4; 5" if kind[0] == "ranking" else "4; 5"
        panel.plan.click()
        assert f"Planned session {number}" in panel.status.value, kind


def test_two_batches_of_one_version(panel: TastersPanel) -> None:
    panel.versions.value, panel.batches.value, panel.served.value = "5; 5", "8; 9", "60; 58"
    panel.plan.click()
    session = panel.sessions()[1]
    assert [(each.label, each.batch, float(each.temperature_c)) for each in session.samples] == [
        ("version 5, batch 8", 8, 60), ("version 5, batch 9", 9, 58),
    ]  # fmt: skip


def test_the_figure_says_what_it_shows(panel: TastersPanel) -> None:
    panel.expected.value = True
    panel.plan.click()
    session = panel.sessions()[1]
    drawn = session_figure(session.with_answers(typed(session, 9)))
    axes = drawn.figure.axes[0]
    assert [line.get_xdata()[0] for line in axes.lines if line.get_marker() == "o"] == [75.0]
    assert drawn.text.startswith("Invented data. No difference could be shown")
    assert "chose version 5, 9 of 12 75.0 (47.3-92.8)" in drawn.text and "Guessing: 50 %." in drawn.text
    kind = ("ranking", "thickness")
    panel.kind.value, panel.versions.value = kind, "3; 4; 5"
    panel.plan.click()
    session = panel.sessions()[2]
    codes = " ".join(each[0] for each in session.codes)
    drawn = session_figure(session.with_answers("\n".join(f"{taster}: {codes}" for taster in range(1, 13))))
    axes = drawn.figure.axes[0]
    assert axes.yaxis_inverted(), "the first stands on top"
    assert [label.get_text() for label in axes.get_yticklabels()] == ["version 3", "version 4", "version 5"]
    assert "one pair at a time" in drawn.figure.axes[0].get_xlabel()


def test_an_empty_logbook_says_where_to_begin(tmp_path) -> None:
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    assert "save one in notebook 0" in TastersPanel(book).alert.value
    book.close()
