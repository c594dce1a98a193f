"""Every notebook over a kitchen that is not the demo's: an empty one, and a cook's own."""

from __future__ import annotations

import ast
import json
from pathlib import Path
from typing import Any

import ipywidgets as w
import pytest

import spoonline as sl
from spoonline.widgets.parts.panel import Panel

NOTEBOOKS = sorted((Path(__file__).resolve().parent.parent / "notebooks").glob("*.ipynb"))
DEMO = ("parsnip", "mushroom", "blackcurrant")
NOTHING = "This logbook holds no recipe yet; save one in notebook 0, then run this cell again."


def run_cells(path: Path) -> tuple[list[Any], list[Any]]:
    """Run a notebook's code cells here; what all but the last showed, and what the last did."""
    shown: list[list[Any]] = []
    scope: dict[str, Any] = {"display": lambda *things: shown[-1].extend(things)}
    for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
        if cell["cell_type"] != "code":
            continue
        shown.append([])
        body = ast.parse("".join(cell["source"]))
        last = body.body.pop() if isinstance(body.body[-1], ast.Expr) else None
        exec(compile(body, path.name, "exec"), scope)
        if isinstance(last, ast.Expr):
            value = eval(compile(ast.Expression(last.value), path.name, "eval"), scope)
            if value is not None:
                shown[-1].append(value)
    return [thing for cell in shown[:-1] for thing in cell], shown[-1]


def words(things: list[Any]) -> str:
    """What a person reads of the things that a cell shows."""
    return " ".join(
        each._repr_html_() if hasattr(each, "_repr_html_") else str(getattr(each, "data", each)) for each in things
    )


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("SPOONLINE_LOGBOOK", str(tmp_path / "kitchen.sqlite"))
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    yield book
    book.close()
    w.Widget.close_all()


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_an_empty_kitchen_gets_one_clear_sentence(kitchen: sl.Logbook, path: Path, capsys) -> None:
    forms, last = run_cells(path)
    assert [form for form in forms if isinstance(form, Panel)], "the form is there"
    said = capsys.readouterr().out
    assert said.count(NOTHING) == ("dish_here" in path.read_text(encoding="utf-8")), said
    assert not [name for name in DEMO if name in (said + words(last)).lower()]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
@pytest.mark.parametrize(
    "lines",
    [
        ["1 l milk", "40 g corn starch"],
        pytest.param(["1 l milk", "a splash of cream"], marks=pytest.mark.long),
        pytest.param(["200 g flour"], marks=pytest.mark.long),
    ],
)
def test_a_cooks_own_kitchen_shows_its_own_dish_only(kitchen: sl.Logbook, path: Path, lines: list[str], capsys) -> None:
    kitchen.save(sl.Recipe(title="Celeriac pan", ingredients=lines, steps=["Simmer for 5 minutes."]))
    _, last = run_cells(path)
    said = capsys.readouterr().out
    assert not [name for name in DEMO if name in (said + words(last)).lower()]
    assert NOTHING not in said and (last or said)
    # A dish without thickener has no curve: notebook 2 says so.
    assert ("needs a thickener line" in said) == (path.stem.startswith("2_") and "40 g corn starch" not in lines)
