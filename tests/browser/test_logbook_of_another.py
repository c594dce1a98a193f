"""A logbook of somebody else, hostile in every field, in the real lab; all notebooks: ``tests/experiments/lab_poison.py``."""

from __future__ import annotations

from pathlib import Path

import pytest

from browser import lab as harness
from experiments import lab_poison
from poisoned import ELSEWHERE

pytestmark = pytest.mark.browser


def test_no_text_of_a_logbook_runs_asks_or_stops_anything(tmp_path: Path) -> None:
    with lab_poison.hostile_lab(tmp_path) as (lab, fields):
        assert fields > 600
        for notebook in ("2_set_the_thickness.ipynb", "4_finish_the_card.ipynb"):
            with harness.browse() as page:
                seen = lab_poison.walk(page, lab, notebook, 1)
            assert lab_poison.wrong(seen) == {}, notebook
            assert seen["dishes chosen"] >= 4 and seen["hostile texts shown"] > 50
        with harness.browse() as page:  # the check itself can fail
            harness.open_form(page, lab, "5_read_thickness.ipynb")
            did = lab_poison.watched(page, lab)
            page.evaluate(
                f"() => {{ document.body.insertAdjacentHTML('beforeend', '<img src={ELSEWHERE}/i onerror=window.ran=1>') }}"
            )
            page.wait_for_function("() => window.ran")
            lab_poison.look(page, did, "here")
            assert {name.partition(":")[0] for name in lab_poison.wrong(+did)} == {"elsewhere", "script ran"}
