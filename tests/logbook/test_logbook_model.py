"""Any sequence of save, correct, hide, restore and export equals a plain Python model of a logbook."""

from __future__ import annotations

import shutil
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    invariant,
    multiple,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import text

import spoonline as sl
from spoonline.recipes import OwnSpoon
from tiers import again_in_long, examples

TITLES = ("Roast parsnip and pear soup", "Mushroom gravy", "Blackcurrant sauce", "50 % 'soup'; -- \u00e9_%")


def a_recipe(title: str, grams: int) -> sl.Recipe:
    return sl.Recipe(title=title, ingredients=["1 l vegetable stock", f"{grams} g corn starch"])


class Model(RuleBasedStateMachine):
    """The logbook beside lists and dictionaries that do the same by themselves."""

    where: Any = None  # gives a new place; set by the tests below

    records = Bundle("records")

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.book = sl.open_logbook(type(self).where(self.folder))
        self.versions: dict[str, list[tuple[int, int | None, int, bool]]] = {}  # number, parent, grams, hidden
        self.batches: list[dict[str, Any]] = []
        self.spoons: list[tuple[str, int, bool]] = []

    def latest(self, title: str) -> tuple[int, int | None, int, bool] | None:
        shown = [each for each in self.versions.get(title, []) if not each[3]]
        return shown[-1] if shown else None

    @rule(title=st.sampled_from(TITLES), grams=st.integers(10, 60), own_parent=st.booleans(), data=st.data())
    def save(self, title: str, grams: int, own_parent: bool, data: st.DataObject) -> None:
        known, last = self.versions.setdefault(title, []), self.latest(title)
        parent = data.draw(st.sampled_from([each[0] for each in known])) if known and own_parent else None
        made = self.book.save(a_recipe(title, grams), parent=parent)
        if last is not None and last[2] == grams and parent in (None, last[0]):
            assert made.number == last[0]
            return
        number = max((each[0] for each in known), default=0) + 1
        came = parent if parent is not None else (last[0] if last else None)
        assert (made.number, made.parent) == (number, came)
        known.append((number, came, grams, False))

    @rule(target=records, title=st.sampled_from(TITLES), data=st.data(), minutes=st.integers(1, 99))
    def record(self, title: str, data: st.DataObject, minutes: int) -> Any:
        known = self.versions.get(title)
        if not known:
            with pytest.raises(sl.KitchenError):
                self.book.record(sl.Batch(title=title, version=1, cooked_on=date(2026, 1, 8)))
            return multiple()
        version = data.draw(st.sampled_from([each[0] for each in known]))
        made = self.book.record(sl.Batch(title=title, version=version, cooked_on=date(2026, 1, 8), minutes=minutes))
        number = max((each["number"] for each in self.batches if each["title"] == title), default=0) + 1
        assert made.number == number
        self.batches.append({"title": title, "number": number, "record": made, "replaces": "", "hidden": False})
        return made

    @rule(target=records, old=records, minutes=st.integers(1, 99))
    def correct(self, old: sl.Batch, minutes: int) -> Any:
        before = len(self.batches)
        gone = {each["replaces"] for each in self.batches if each["replaces"] and not each["hidden"]}
        stands = any(each["record"].id == old.id and not each["hidden"] for each in self.batches) and old.id not in gone
        if not stands:
            with pytest.raises(sl.KitchenError, match="corrected or taken back meanwhile"):
                self.book.correct(old, minutes=minutes)
            assert len(self.batches) == before
            return multiple()
        made = self.book.correct(old, minutes=minutes)
        assert made.number == old.number
        if float(old.minutes or 0) == minutes:  # nothing is corrected, so nothing is added
            assert made == old
            return multiple()
        self.batches.append(
            {"title": old.title, "number": old.number, "record": made, "replaces": old.id, "hidden": False}
        )
        return made

    @rule(record=records, hide=st.booleans())
    def hide_batch(self, record: sl.Batch, hide: bool) -> None:
        act = self.book.take_back if hide else self.book.bring_back
        entry = next(each for each in self.batches if each["record"].id == record.id)
        before, entry["hidden"] = entry["hidden"], hide
        gone = {each["replaces"] for each in self.batches if each["replaces"] and not each["hidden"]}
        standing = [each for each in self.batches if not each["hidden"] and each["record"].id not in gone]
        if sum((each["title"], each["number"]) == (entry["title"], entry["number"]) for each in standing) > 1:
            entry["hidden"] = before  # one pot never stands in two forms
            with pytest.raises(sl.KitchenError, match="was corrected otherwise meanwhile"):
                act(record, "because")
            return
        act(record, "because")

    @rule(title=st.sampled_from(TITLES), hide=st.booleans(), data=st.data())
    def hide_version(self, title: str, hide: bool, data: st.DataObject) -> None:
        known = self.versions.get(title)
        if not known:
            return
        n = data.draw(st.integers(0, len(known) - 1))
        (self.book.take_back if hide else self.book.bring_back)(self.book.version(title, known[n][0]))
        known[n] = (*known[n][:3], hide)

    @rule(measure=st.sampled_from(["1 tbsp", "1 heaped tbsp"]), grams=st.integers(5, 20))
    def keep(self, measure: str, grams: int) -> None:
        self.book.keep(OwnSpoon(item="corn starch", measure=measure, masses_g=[grams, grams + 1, grams + 2]))
        if (measure, grams, False) not in self.spoons:  # the same to the letter stays where it stands
            self.spoons = [each for each in self.spoons if each[0] != measure] + [(measure, grams, False)]

    @rule(records_=consumes(records))
    def forget_a_handle(self, records_: sl.Batch) -> None:
        """A cook closes a tab; the logbook keeps the batch all the same."""

    @rule()
    def export_and_restore(self) -> None:
        """All goes on in the restored one, as if nothing had happened."""
        out = self.book.export(Path(tempfile.mkdtemp(dir=self.folder)))
        self.book.close()
        self.book = sl.Logbook.restore(out, type(self).where(self.folder))

    @invariant()
    def equal(self) -> None:
        shown = {title: [each for each in known if not each[3]] for title, known in self.versions.items()}
        assert self.book.titles() == [title for title in self.versions if shown[title]]
        for title in self.book.titles():
            found = self.book.all_versions(title)
            assert [(each.number, each.parent, round(each.recipe.dose_g_per_l)) for each in found] == [
                each[:3] for each in shown[title]
            ]
            assert self.book.version(title).number == shown[title][-1][0]
        gone = {each["replaces"] for each in self.batches if each["replaces"] and not each["hidden"]}
        standing = [each["record"] for each in self.batches if not each["hidden"] and each["record"].id not in gone]

        def key(each: sl.Batch) -> tuple[str, int, str]:
            return each.title, each.number, each.id

        assert sorted(self.book.all_batches(), key=key) == sorted(standing, key=key)
        assert [(each.measure, round(float(each.masses_g[0]))) for each in self.book.kept(OwnSpoon)] == [
            each[:2] for each in self.spoons
        ]

    def teardown(self) -> None:
        self.book.close()
        shutil.rmtree(self.folder, ignore_errors=True)


SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]


@again_in_long
def test_on_a_file() -> None:
    count = iter(range(10**6))
    Model.where = staticmethod(lambda folder: folder / f"{next(count)}.sqlite")
    run_state_machine_as_test(
        Model,
        settings=settings(
            max_examples=examples(25, 3), stateful_step_count=25, deadline=None, suppress_health_check=SLOW
        ),
    )


@pytest.mark.long
def test_on_a_database(postgres_server) -> None:
    Model.where = staticmethod(lambda _folder: postgres_server.database())
    run_state_machine_as_test(
        Model, settings=settings(max_examples=5, stateful_step_count=20, deadline=None, suppress_health_check=SLOW)
    )


def plans(book: sl.Logbook) -> dict[str, str]:
    """How the engine would run what the notebooks ask of a logbook."""
    from sqlalchemy import event

    asked: list[tuple[str, Any]] = []
    event.listen(
        book.store.engine,
        "before_cursor_execute",
        lambda _c, _cur, statement, parameters, *_: asked.append((statement, parameters)),
    )
    for name, ask in {
        "titles": book.titles,
        "latest version": lambda: book.version(TITLES[0]),
        "versions of a dish": lambda: book.all_versions(TITLES[0]),
        "batches of a dish": lambda: book.all_batches(TITLES[0]),
        "own spoons": lambda: book.kept(OwnSpoon),
    }.items():
        asked.append((name, None))
        ask()
    found: dict[str, str] = {}
    name = ""
    for statement, parameters in asked:
        if parameters is None:
            name = statement
        elif statement.lstrip().upper().startswith("SELECT"):
            with book.store.engine.connect() as connection:
                word = "EXPLAIN QUERY PLAN" if book.store.engine.dialect.name == "sqlite" else "EXPLAIN"
                if word == "EXPLAIN":
                    connection.execute(text("SET enable_seqscan = off"))
                rows = connection.exec_driver_sql(f"{word} {statement}", parameters).all()
            found[name] = found.get(name, "") + "\n".join(str(row[-1]) for row in rows) + "\n"
    return found


def test_what_the_notebooks_ask_needs_no_full_scan(place) -> None:
    book = sl.open_logbook(place)
    for title in TITLES:
        for grams in (20, 30):
            book.save(a_recipe(title, grams))
            book.record(sl.Batch(title=title, version=1, cooked_on=date(2026, 1, 8)))
    found = plans(book)
    assert set(found) == {"titles", "latest version", "versions of a dish", "batches of a dish", "own spoons"}
    for name, plan in found.items():
        for line in plan.splitlines():
            assert not line.strip().startswith("SCAN ") or "CONSTANT ROW" in line, (name, plan)
            assert "Seq Scan" not in line, (name, plan)
    book.close()
