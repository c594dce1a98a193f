"""The rehearsal in the form: it can be stopped, it repeats itself, and it leaves the kernel free."""

from __future__ import annotations

import re
import threading

import ipywidgets as w
import pytest

from spoonline.dose.rehearsal import rehearse
from spoonline.widgets import RehearsalPanel
from spoonline.widgets import rehearsal_panel as module


@pytest.fixture
def panel():
    made = RehearsalPanel()
    yield made
    made.close_all()
    w.Widget.close_all()


def ask(panel: RehearsalPanel, kitchens: str = "4", pots: int = 1) -> None:
    panel.kitchens.value, panel.pots.value = kitchens, pots
    panel.go.click()


def test_it_says_what_the_library_counts(panel: RehearsalPanel) -> None:
    ask(panel, "5", 2)
    panel.work.wait()
    expected = rehearse(5, 2, seed=1)
    assert panel.result is not None and panel.result.within_10.tolist() == expected.within_10.tolist()
    assert panel.work.bar.value == panel.work.bar.max == 5
    assert "Rehearsed in 5 kitchens" in panel.status.value and not panel.go.disabled and panel.work.halt.disabled
    assert panel.table.value.count("<tr>") == 1 + 3
    last = re.findall(r'class="num">(\d+) \((\d+)-(\d+)\)', panel.table.value)[-4:]
    shown = [int(best) for best, _, _ in last]
    columns = (expected.within_5, expected.within_10, expected.range_holds, expected.lands)
    assert shown == [round(100 * each[-1]) for each in columns]
    assert all(int(low) <= int(best) <= int(high) for best, low, high in last)


def test_the_same_number_gives_the_same_answer_and_another_another(panel: RehearsalPanel) -> None:
    seen = []
    for seed in ("1", "1", "2"):
        panel.seed.value = seed
        ask(panel)
        panel.work.wait()
        seen.append(panel.table.value)
    assert seen[0] == seen[1] != seen[2]


def test_stop_ends_it_and_shows_what_was_done(panel: RehearsalPanel, monkeypatch: pytest.MonkeyPatch) -> None:
    three_done, go_on = threading.Event(), threading.Event()

    def paced(*, progress, **given):
        def told(done: int, of: int, what: str) -> object:
            if done == 3:
                three_done.set()
                assert go_on.wait(30)
            return progress(done, of, what)

        return rehearse(progress=told, **given)

    monkeypatch.setattr(module, "rehearse", paced)
    ask(panel, "500")
    assert three_done.wait(60)
    assert panel.work.busy and panel.go.disabled and panel.work.bar.value >= 1, "the kernel is free while it works"
    panel.go.click()  # a second press starts nothing
    panel.work.halt.click()
    go_on.set()
    panel.work.wait()
    assert panel.result is not None and panel.result.kitchens == 3
    assert "Stopped after 3 of 500 kitchens" in panel.status.value
    assert panel.result.lands.tolist() == rehearse(3, 1, seed=1).lands.tolist()
    assert not panel.go.disabled
    ask(panel, "2")  # and it can begin again
    panel.work.wait()
    assert panel.result.kitchens == 2


def test_closing_the_form_ends_the_work() -> None:
    panel = RehearsalPanel()
    ask(panel, "2000", 5)
    panel.close_all()
    assert not panel.work.busy and panel.result is not None and panel.result.kitchens < 2000
    w.Widget.close_all()


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("kitchens", "0", "from 1 to 2000"),
        ("kitchens", "2,5", "whole number"),
        ("kitchens", "many", "&#x27;many&#x27; came"),
        ("kitchens", "", "from 1 to 2000"),
        ("band", "1", "above 1"),
        ("band", "", "above 1"),
        ("seed", "-1", "0 or more"),
    ],
)
def test_bad_input_is_said_and_starts_nothing(panel: RehearsalPanel, field: str, text: str, said: str) -> None:
    getattr(panel, field).value = text
    panel.go.click()
    assert said in panel.alert.value and not panel.work.busy and panel.result is None


def test_gums_are_not_offered(panel: RehearsalPanel) -> None:
    assert "corn starch" in panel.thickener.options and "wheat flour" in panel.thickener.options
    assert not any("gum" in name for name in panel.thickener.options)
