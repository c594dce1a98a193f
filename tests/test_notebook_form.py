"""Every notebook is saved as a person and a strict comparison need it."""

from __future__ import annotations

import copy
import json
import re
from pathlib import Path

import nbformat
import pytest

from save_notebooks import UNFINISHED

NOTEBOOKS = sorted((Path(__file__).resolve().parent.parent / "notebooks").glob("*.ipynb"))


def faults(book: dict) -> list[str]:
    """What is wrong with the form of a notebook."""
    found = []
    try:
        nbformat.validate(nbformat.from_dict(book))
    except nbformat.ValidationError as err:
        found.append(f"not valid: {err.message}")
    if book["metadata"].get("kernelspec", {}).get("name") != "python3":
        found.append("kernelspec is not python3")
    if "widgets" in book["metadata"]:
        found.append("widget state is stored")
    cells = book["cells"]
    code = [cell for cell in cells if cell["cell_type"] == "code"]
    if [cell["execution_count"] for cell in code] != list(range(1, len(code) + 1)):
        found.append("execution counts are not 1 to n")
    if "Run All Cells" not in "".join(cells[0]["source"]):
        found.append("the first cell does not say how to run")
    last = cells[-1]
    shown = [
        out for out in last.get("outputs", []) if out["output_type"] in ("stream", "display_data", "execute_result")
    ]
    if last["cell_type"] != "code" or not shown or any(out.get("name") == "stderr" for out in shown):
        found.append("the last cell shows nothing, or a warning")
    if not 2 <= len("".join(last["source"]).splitlines()) <= 7 or "## The same in code" not in "".join(
        cells[-2]["source"]
    ):
        found.append("the last cell is not the same in code")
    for cell in cells:
        meta = cell["metadata"]
        if meta.get("deletable", True) or meta.get("editable", True) is not (cell is last):
            found.append(f"cell {cell['id']} is not locked, or is the last one and cannot be changed")
        if cell["cell_type"] == "code" and not meta.get("jupyter", {}).get("source_hidden"):
            found.append(f"cell {cell['id']} shows its code before its form")
        if "execution" in meta:
            found.append(f"cell {cell['id']} holds time stamps")
        for out in cell.get("outputs", []):
            if out["output_type"] == "error":
                found.append(f"cell {cell['id']} holds an error")
            if "<img" in (page := "".join(out.get("data", {}).get("text/html", ""))) and not re.search(
                r'alt="[^"]{40,}"', page
            ):
                found.append(f"cell {cell['id']} holds a picture without words")
    if len({cell["id"] for cell in cells}) != len(cells):
        found.append("cell ids repeat")
    if re.search(r'"[^"]*(?:/tmp/|/root/|/home/|[A-Z]:\\\\)[^"]*"', json.dumps(book)):
        found.append("an absolute path stands in it")
    # Also inside a picture, where base64 may spell one by chance: whoever searches the tree for them would stop there.
    if marks := UNFINISHED.findall(json.dumps(book)):
        found.append(f"marks of unfinished work stand in it: {marks}")
    return found


def test_there_are_notebooks() -> None:
    assert len(NOTEBOOKS) >= 5


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_form(path: Path) -> None:
    assert faults(json.loads(path.read_text(encoding="utf-8"))) == []


def test_the_form_test_can_fail() -> None:
    good = json.loads(NOTEBOOKS[0].read_text(encoding="utf-8"))
    with_state = copy.deepcopy(good)
    with_state["metadata"]["widgets"] = {}
    assert "widget state is stored" in faults(with_state)
    without_count = copy.deepcopy(good)
    next(cell for cell in without_count["cells"] if cell["cell_type"] == "code")["execution_count"] = None
    assert "execution counts are not 1 to n" in faults(without_count)
    without_summary = copy.deepcopy(good)
    without_summary["cells"][-1]["outputs"] = []
    assert "the last cell shows nothing, or a warning" in faults(without_summary)
    without_words = json.loads(
        next(path for path in NOTEBOOKS if path.name.startswith("2_")).read_text(encoding="utf-8")
    )
    for out in without_words["cells"][-1]["outputs"]:
        if "data" in out:
            out["data"]["text/html"] = re.sub('alt="[^"]*"', 'alt=""', "".join(out["data"].get("text/html", "")))
    assert [fault for fault in faults(without_words) if "a picture without words" in fault]
