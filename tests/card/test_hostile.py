"""A sample of hostile texts on every face, and the pages in a real browser: no script runs, and a checker of access finds nothing."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given

import spoonline as sl
from card.hostile import ANY, HOSTILE, card, check, chromium, ran
from card.test_card import card_of
from card.test_faces import cards, rich
from tiers import drawn


@pytest.mark.parametrize("number", range(len(HOSTILE)))
def test_a_hostile_text_stays_text(number: int) -> None:
    made = card(HOSTILE[number])
    if made is None:
        assert not HOSTILE[number].strip("\ufeff\u00ad\u200b\u200d\x85 ")
    else:
        check(made)


@drawn(25, 5, suppress_health_check=list(HealthCheck))
@given(ANY)
def test_any_text_stays_text(text: str) -> None:
    made = card(text)
    if made is not None:
        check(made)


@pytest.mark.browser
def test_no_script_runs_and_nothing_is_fetched() -> None:
    with chromium() as page:
        assert ran(page, "<script>window.ran=1</script>") == ["script"], "the check itself can fail"
        for text in HOSTILE:
            made = card(text)
            if made is not None:
                assert ran(page, made.html()) == [], text


@pytest.mark.browser
def test_axe_finds_no_violation(demo: sl.Logbook) -> None:
    from axe_playwright_python.sync_playwright import Axe

    with chromium() as page:
        page.set_content("<img src='data:image/png;base64,x'><h1></h1>")
        assert Axe().run(page).violations_count > 0, "the check itself can fail"
        for made in (*cards(demo), rich(), card_of(demo, "Mushroom gravy")):
            for paper in ("a4", "5x8"):
                page.set_content(made.html(paper))
                found = Axe().run(page)
                assert found.violations_count == 0, found.generate_report()
