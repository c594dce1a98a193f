"""A large logbook: a dish beyond the limit works on its last pots and says so, one within it is as it was, and nothing that is kept is stale."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

import large
import spoonline as sl
from spoonline.dish import Dish
from spoonline.dose import DishCurve
from spoonline.flow import Instrument
from spoonline.logbook import Logbook, care, open_logbook, passing_demo, reads
from spoonline.logbook.reads import MOST_POTS
from spoonline.pots import table as pots_table
from spoonline.widgets import CardPanel, ComparePanel, DosePanel, IngredientsPanel, PlanPanel, StartPanel, StovePanel

BEYOND = MOST_POTS + 6
SAID = f"Worked out from the last {MOST_POTS} of {BEYOND} pots; the logbook keeps all."


@pytest.fixture
def demo() -> Iterator[Logbook]:
    with passing_demo() as book:
        yield book


@pytest.fixture(scope="module")
def beyond(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Logbook]:
    """One dish with a few more pots than are worked out."""
    where = str(tmp_path_factory.mktemp("large") / "kitchen.sqlite")
    large.fill(where, 1, BEYOND)
    with closing(open_logbook(where)) as book:
        yield book


def whole(book: Logbook, title: str) -> Dish:
    """The dish of every pot that stands, worked out by itself."""
    latest = book.version(title)
    versions, batches = tuple(book.all_versions(title)), tuple(book.all_batches(title))
    return Dish(latest.recipe, latest, versions, batches, lambda name: book.learned(title, name))


def elsewhere(book: Logbook, code: str) -> None:
    """Do something to the same logbook in a process of its own."""
    text = f"import sys, spoonline as sl\nbook = sl.open_logbook(sys.argv[1])\n{code}\nbook.close()"
    subprocess.run([sys.executable, "-c", text, book.where], check=True, env=os.environ)


def test_a_dish_within_the_limit_is_as_all_its_pots_make_it(demo: Logbook) -> None:
    for title in demo.titles():
        dish, every = demo.dish(title), whole(demo, title)
        assert (dish.rests_on, dish.of) == ((), len(every.batches))
        assert (dish.batches, dish.left_out, dish.tested, dish.next) == (
            every.batches,
            every.left_out,
            every.tested,
            every.next,
        )
        assert dish.text == every.text
        others = [pots for other in demo.titles() if other != title for pots in whole(demo, other).viscosities.values()]
        assert sorted(demo.repeated(title)) == sorted(others)


def test_a_dish_beyond_it_works_on_the_pots_that_were_cooked_last(beyond: Logbook) -> None:
    title = beyond.titles()[0]
    dish, every = beyond.dish(title), whole(beyond, title)
    assert (len(dish.batches), dish.of, dish.rests_on) == (MOST_POTS, BEYOND, (SAID,))
    assert dish.batches == every.batches[-MOST_POTS:]
    assert dish.tested == every.tested and SAID.rstrip(".") in dish.text
    assert [len(beyond.dish(title, pots=most).batches) for most in (1, 7, BEYOND)] == [1, 7, BEYOND]
    assert len(beyond.batches(title)) == len(beyond.all_batches(title)) == BEYOND


def test_the_pots_of_a_screen_are_the_last_rows_of_all(beyond: Logbook) -> None:
    (title,) = beyond.titles()
    every, last = beyond.batches(title), beyond.batches(title, pots=MOST_POTS)
    assert (len(every), len(last)) == (BEYOND, MOST_POTS)
    dish = beyond.dish(title)
    assert list(last["batch"]) == [each.number for each in dish.batches]
    assert list(last["dose_g_per_l"]) == list(every.set_index("batch").loc[last["batch"], "dose_g_per_l"])


@pytest.mark.parametrize("screen", [DosePanel, ComparePanel, PlanPanel])
def test_no_screen_works_out_every_pot(screen: type, beyond: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []
    table = pots_table.batch_table
    monkeypatch.setattr(
        pots_table, "batch_table", lambda pots, *more, **how: asked.append(len(pots)) or table(pots, *more, **how)
    )
    screen(beyond).close_all()
    assert asked and max(asked) <= MOST_POTS


def test_an_old_trial_that_is_recorded_last_is_not_one_of_the_last_pots(demo: Logbook) -> None:
    title = demo.titles()[0]
    before = demo.dish(title, pots=4)
    first = min(batch.cooked_on for batch in demo.all_batches(title))
    old = before.batches[-1].changed(
        id="", number=0, recorded_at=None, cooked_on=first - timedelta(days=400), note="old"
    )
    recorded = demo.record(old)
    after = demo.dish(title, pots=4)
    assert recorded.number > max(batch.number for batch in after.batches)
    assert (after.batches, after.of) == (before.batches, before.of + 1)


# matplotlib lays out no further once the labels of 200 pots fill the figure
CROWDED = pytest.mark.filterwarnings("ignore:constrained_layout not applied")


@CROWDED
def test_each_screen_says_on_which_pots_it_rests(beyond: Logbook) -> None:
    for kind, part in ((StovePanel, "batches"), (DosePanel, "doubts"), (ComparePanel, "pots"), (CardPanel, "remarks")):
        panel = kind(beyond)
        assert SAID in getattr(panel, part).value and panel.alert.value == '<div role="alert"></div>'
        panel.close_all()
    start = StartPanel(beyond)
    assert "pots inside" in start.overview.value and start.alert.value == '<div role="alert"></div>'
    start.close_all()


def test_a_dish_stays_worked_out_until_a_record_of_it_changes(demo: Logbook) -> None:
    title = demo.titles()[0]
    dish = demo.dish(title)
    assert demo.dish(title) is dish is demo.dish(title, dish.number)
    assert dish.at(dish.versions[-1]) is dish is dish.aiming(dish.aim)
    assert demo.dish(title, 1).recipe == dish.versions[0].recipe
    assert dish.at(dish.versions[0]).recipe == dish.versions[0].recipe != dish.recipe


def test_what_another_process_saves_is_never_missed(demo: Logbook) -> None:
    title, other = demo.titles()[0], demo.titles()[3]
    dish = demo.dish(title)
    assert dish.next is not None and dish.learned is not None
    again = 'record(book.dish({0!r}).batches[-1].changed(id="", number=0, recorded_at=None, note={1!r}))'
    elsewhere(demo, f"book.{again.format(title, 'once more')}")
    more = demo.dish(title)
    assert [batch.note for batch in more.batches[len(dish.batches) :]] == ["once more"]
    assert len(more.pots) == len(dish.pots) + 1
    elsewhere(demo, f"book.correct(book.dish({title!r}).batches[-1], left_out='boiled over')")
    assert demo.dish(title).left_out[more.batches[-1].number] == "boiled over"
    elsewhere(demo, f"book.take_back(book.dish({title!r}).batches[-1])")
    assert demo.dish(title).batches[-1] == more.batches[-1]
    elsewhere(demo, f"book.save(book.recipe({title!r}).scaled(2))")
    assert demo.dish(title).number == (dish.number or 0) + 1
    # and what another dish taught of the starch
    taught = demo.dish(title).learned
    elsewhere(demo, f"for n in range(4): book.{again.format(other, 'thick').replace('note=', 'cook=str(n), note=')}")
    assert demo.dish(title).learned != taught


def test_a_record_that_changed_in_the_file_itself_is_not_shown_from_memory(demo: Logbook) -> None:
    title = demo.titles()[0]
    for at in (0, -1):
        dish = demo.dish(title)
        gone = dish.batches[at]
        assert len(dish.pots) == len(dish.batches)
        with closing(sqlite3.connect(demo.where)) as raw, raw:
            raw.execute("UPDATE batches SET body = replace(body, 'felt', 'fell') WHERE id = ?", [gone.id])
        assert demo.dish(title).batches == tuple(each for each in dish.batches if each is not gone)


def test_the_start_page_says_what_is_next_without_a_curve_or_what_other_dishes_taught(
    demo: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Thirty dishes would each be fitted, and each read twenty others."""
    asked, real, fitted, fit = list[str](), Logbook.learned, list[str](), DishCurve.fit
    monkeypatch.setattr(Logbook, "learned", lambda book, *given: (asked.append(given[0]), real(book, *given))[1])
    monkeypatch.setattr(DishCurve, "fit", lambda recipe, *given: (fitted.append(recipe.title), fit(recipe, *given))[1])
    panel = StartPanel(demo)
    assert panel.overview.value.count("<tr") > 5
    assert not asked and not fitted
    panel.close_all()
    assert demo.dish(demo.titles()[0]).curve is not None and asked and fitted


@CROWDED
def test_with_300_pots_a_choice_or_a_save_in_notebook_2_works_no_reading_out_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    large.fill(str(tmp_path / "kitchen.sqlite"), 1, 300)
    with closing(open_logbook(tmp_path / "kitchen.sqlite")) as book:
        panel = DosePanel(book)
        worked, real = list[object](), Instrument.ln_sds
        monkeypatch.setattr(
            Instrument, "ln_sds", lambda tool, *given, **named: (worked.append(tool), real(tool, *given, **named))[1]
        )
        panel.how.like.value = panel.how.like.options[1][1]  # as thick as a pot was
        panel.dose.value = "31"
        panel.save.click()
        assert "Saved" in panel.status.value
        assert not worked
        panel.close_all()


def test_the_check_looks_at_each_record_once(beyond: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    looked: dict[str, int] = {}
    for name in ("whole", "parsed"):
        plain = getattr(care, name)
        monkeypatch.setattr(
            care,
            name,
            lambda *given, plain=plain, name=name: (looked.update({name: looked.get(name, 0) + 1}), plain(*given))[1],
        )
    found = care.check(beyond)
    assert not found.faults and found.counts["batches"] == BEYOND
    assert looked == {"whole": sum(found.counts.values()), "parsed": found.counts["versions"] + BEYOND}


def test_what_boils_off_a_pan_is_asked_of_the_pots_in_that_pan(demo: Logbook) -> None:
    title = demo.titles()[0]
    first = demo.dish(title).batches[0].changed(id="", number=0, recorded_at=None, minutes=25)
    for n, pan in enumerate(('24 cm "blue" pot_1%', '24 cm "blue" pot_1%, lid on', "24 cm Xblue", "Other 24 cm")):
        demo.record(first.changed(pan=pan, note=str(n)))
    assert [each.note for each in demo.cooked_in('24 cm "blue" pot_1%')] == ["1", "0"]
    panel = IngredientsPanel(demo)
    assert panel._boil_off(sl.recipes.Pan(name='24 cm "blue" pot_1%', diameter_cm=24)) > 0
    panel.close_all()


def test_an_export_in_many_pieces_is_the_same_as_in_one(
    demo: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    demo.correct(demo.all_batches()[3], left_out="boiled over")
    demo.take_back(demo.all_batches()[0])
    demo.take_back(demo.version(demo.titles()[-1]))
    demo.export(tmp_path / "one")
    monkeypatch.setattr(reads, "PIECE", 1)
    demo.export(tmp_path / "many")
    names = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert len(names) >= 8 and names == sorted(path.name for path in (tmp_path / "many").iterdir())
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "many" / name).read_bytes()
    for name, table in (("batches", demo.batches()), ("readings", demo.readings())):
        lines = (tmp_path / "many" / f"{name}.csv").read_text("utf-8").count("\n")
        assert lines >= 1 + len(table) and table.shape[0] > 10
