"""Logbooks that earlier releases wrote, opened, read, cooked from, exported, restored and moved by this one."""

from __future__ import annotations

import shutil
from contextlib import closing
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import spoonline as sl
from earlier.reading import FIRST_KINDS, KINDS, differences, later_release, stored_rows
from spoonline.dose import dish_curve
from spoonline.logbook.care import check, move
from spoonline.recipes import Ingredient

RELEASES = sorted(path.name for path in Path(__file__).parent.iterdir() if (path / "kitchen.sqlite").exists())
SOUP = "Roast parsnip and pear soup"
DULSE = {
    "name": "dulse flakes", "aliases": "", "assumed": "", "ask": "", "part": "seasoning", "pours": "0", "tbsp_g": "5",
    "source": "invented for this test", "kind": "memory",
}  # fmt: skip


@pytest.fixture(params=RELEASES)
def release(request: pytest.FixtureRequest) -> Path:
    return Path(__file__).parent / request.param


def test_there_is_one_for_every_release_but_this_one() -> None:
    assert "0.1.0" in RELEASES
    held = {row["kind"] for row in stored_rows(Path(__file__).parent / RELEASES[-1] / "kitchen.sqlite")["kept"]}
    assert held == {kind.kind for kind in KINDS}, "the last one holds every kind"


def whole(book: sl.Logbook, rows: dict) -> None:
    """Everything is read as it was stored, nothing is at fault, and the kitchen goes on with it."""
    assert differences(book, rows) == []
    assert check(book).faults == () and book.damaged() == []
    kinds = {row["kind"] for row in rows["kept"]}
    assert {kind.kind for kind in FIRST_KINDS} <= kinds <= {kind.kind for kind in KINDS}
    for title in book.titles():
        assert title in sl.RecipeCard.from_logbook(book, title).html()
    versions = book.all_versions(SOUP)
    curve = dish_curve(versions[-1].recipe, book.all_batches(SOUP), {each.number: each.recipe for each in versions})
    assert len(curve.counted) == 8 and 25 < curve.next_batch().dose_g_per_l < 40
    latest = versions[-1]
    assert book.save(latest.recipe) == latest, "saved unchanged it makes no version"


def test_it_opens_and_goes_on(release: Path, place, postgres_server, tmp_path: Path) -> None:
    rows = stored_rows(release / "kitchen.sqlite")
    if isinstance(place, Path):
        shutil.copy(release / "kitchen.sqlite", place)
        book = sl.open_logbook(place)
        assert ("was brought up to date" in book.brought_up) == (release.name == "0.1.0"), (
            "the schema of 0.2.0 is today's"
        )
        assert [draft.fields["lines"] for draft in book.drafts("batch")] == [{"2": "410"}]
    else:
        book = sl.Logbook.restore(release / "export", place)
    with closing(book):
        whole(book, rows)
        before = (book.titles(), book.all_batches(), book.history().to_dict())
        out = book.export(tmp_path / "out", names=True)
    other = postgres_server.database() if isinstance(place, Path) else tmp_path / "moved.sqlite"
    assert move(place, other).faults == () and move(other, tmp_path / "back.sqlite").faults == ()
    for again in (
        sl.open_logbook(other), sl.open_logbook(tmp_path / "back.sqlite"), sl.Logbook.restore(out, tmp_path / "again.sqlite"),
    ):  # fmt: skip
        with closing(again):
            whole(again, rows)
            assert (again.titles(), again.all_batches(), again.history().to_dict()) == before


def test_new_fields_and_new_facts_change_no_older_record(release: Path, place, tmp_path: Path) -> None:
    rows = stored_rows(release / "kitchen.sqlite")
    fields = (
        (Ingredient, "grower", str, "ours"), (sl.Recipe, "moods", tuple[str, ...], ()), (sl.Reading, "rate_per_s", float, 1.0),
        (sl.Batch, "weather", tuple[str, ...], ()), *((kind, "room", str, "") for kind in KINDS),
    )  # fmt: skip
    facts = (
        ("ingredients.csv", dict.fromkeys(_columns("ingredients.csv"), "") | DULSE),
        ("thickeners.toml", _thickener("corn starch") | {"name": "arrow starch"} | dict.fromkeys(("aliases", "assumed"), "")),
    )  # fmt: skip
    with later_release(fields, facts, (("vegetable stock", "broth of the garden"), ("parsnips", "white carrots"))):
        assert sl.grams("2 tbsp", "dulse flakes").mass_g == 10
        if isinstance(place, Path):
            shutil.copy(release / "kitchen.sqlite", place)
        else:
            sl.Logbook.restore(release / "export", place).close()
        with closing(sl.open_logbook(place)) as book:
            assert differences(book, rows) == [] and check(book).faults == () and book.damaged() == []
            broth = next(title for title in book.titles() if title.startswith("Seaweed"))
            assert book.recipe(broth, 1).ingredients[1].mass_g is None, "read then, it had no weight"
            assert [each.number for each in book.all_versions(broth)] == [1, 2, 3]
            for title in book.titles():
                latest = book.all_versions(title)[-1]
                assert book.save(latest.recipe) == latest, "a new field makes no new version"
            made = book.save(
                sl.Recipe(title="Later soup", ingredients=["1 l water", "20 g arrow starch"], moods=("sweet",))
            )
            assert made.recipe.moods == ("sweet",) and made.recipe.main_thickener == "arrow starch"
    with closing(sl.open_logbook(place)) as book:  # and the older release again
        assert differences(book, rows) == []
        later = book.version("Later soup")
        assert later == book.version("Later soup", 1) and "moods" in later.recipe.newer_fields
        assert later.recipe.model_dump()["moods"] == ["sweet"]
        found = check(book)
        assert found.faults == () and "fields of a newer release (moods, grower); they are kept" in found.text
        thinner = later.recipe.model_copy(update={"servings": None, "title": "Later soup", "yield_l": Decimal(1)})
        assert book.save(thinner).recipe.model_dump()["moods"] == ["sweet"], "they go along with the next version"


def _columns(name: str) -> list[str]:
    from spoonline.facts.rows import read_table

    return list(read_table(name)[0])


def _thickener(name: str) -> dict[str, Any]:
    from spoonline.facts.rows import read_table

    return next(row for row in read_table("thickeners.toml") if row["name"] == name)
