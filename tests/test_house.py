"""The house is kept: rooms use only rooms above them, names are public on purpose, nothing heavy loads early."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOMS = [
    "measures", "facts", "flow", "regression", "recipes", "pots", "dose", "effects", "tasters", "old_sheets", "keeping", "dish", "logbook",
    "card", "figures", "widgets", "cli",
]  # fmt: skip
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "kit", "notebooks", "tests", "demo"}


def room_of(path: Path, root: Path) -> str:
    return path.relative_to(root).parts[0].removesuffix(".py")


def imports(path: Path) -> set[str]:
    """Every room of spoonline that a file imports, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module] if node.module != "spoonline" else [f"spoonline.{alias.name}" for alias in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "spoonline" and len(parts) > 1 and parts[1] in ROOMS:
                found.add(parts[1])
    return found


def wrong_doors(files: dict[Path, set[str]], root: Path) -> list[str]:
    """Imports that go down the list of rooms."""
    wrong = []
    for path, used in files.items():
        room = room_of(path, root)
        if room in ROOMS:
            wrong += [f"{path.name} in {room} uses {other}" for other in used if ROOMS.index(other) > ROOMS.index(room)]
    return wrong


def test_rooms_use_only_rooms_above(repo: Path) -> None:
    root = repo / "kit" / "spoonline"
    files = {path: imports(path) for path in root.rglob("*.py")}
    assert {room_of(path, root) for path in files} >= set(ROOMS)
    assert wrong_doors(files, root) == []


def test_the_guard_can_fail(tmp_path: Path) -> None:
    bad = tmp_path / "measures" / "x.py"
    bad.parent.mkdir()
    bad.write_text("from spoonline.recipes import Recipe\nfrom spoonline import facts\n")
    assert len(wrong_doors({bad: imports(bad)}, tmp_path)) == 2


def test_widgets_know_no_sql_and_notebooks_hold_almost_no_code(repo: Path) -> None:
    for path in (repo / "kit" / "spoonline" / "widgets").rglob("*.py"):
        assert "sqlalchemy" not in path.read_text(encoding="utf-8"), path.name
    for path in (repo / "notebooks").glob("*.ipynb"):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        for cell in cells:
            if cell["cell_type"] == "code":
                most = 7  # the first cell is imports, the last one says the same in code
                assert len("".join(cell["source"]).splitlines()) <= most, (path.name, cell["id"])


def test_top_level(repo: Path) -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=repo, capture_output=True, text=True, check=True).stdout.split(
        "\n"
    )
    tops = {line.split("/")[0] for line in tracked if line}
    assert {top for top in tops if not top.startswith(".")} <= TOP


def test_import_stays_quick() -> None:
    heavy = [
        "scipy.stats",
        "scipy.optimize",
        "matplotlib",
        "pandas",
        "sqlalchemy",
        "ipywidgets",
        "jupyterlab",
        "jinja2",
        "typst",
        "pint",
    ]
    code = f"import sys, spoonline; print([name for name in {heavy!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


PUBLIC = [
    "Aim", "Batch", "DoseCurve", "FlowCup", "Fluid", "KitchenError", "Logbook", "Outcome", "OwnSpoon",
    "OwnTrim", "Pan", "Quantity", "Range", "Reading", "Recipe", "RecipeCard",
    "Ring", "Slump", "Spatula", "Syringe", "Target", "Trough", "booklet", "changes", "check", "decide", "dish_curve", "effect", "fluid_from",
    "grams",
    "household", "kitchen_prior", "mat", "mend", "open_logbook", "parse_amount", "plan_session", "pot_states", "read_session",
    "scaled_for_pot", "shopping_list", "units", "which_test",
]  # fmt: skip


def test_public_surface_is_chosen() -> None:
    import spoonline as sl

    assert sorted(sl.__all__) == sorted(PUBLIC)
    for name in PUBLIC:
        assert getattr(sl, name).__doc__, name
    with pytest.raises(AttributeError, match="has no name 'oven'"):
        sl.oven  # noqa: B018  # asking for it is what is refused


FORBIDDEN = re.compile(r"\bsafe\b|\bfree from\b|gluten[- ]free", re.IGNORECASE)


def test_words_that_are_never_printed(repo: Path) -> None:
    for path in (repo / "kit" / "spoonline").rglob("*"):
        if path.suffix in (".py", ".html", ".csv", ".toml"):
            hits = [line for line in path.read_text(encoding="utf-8").splitlines() if FORBIDDEN.search(line)]
            assert hits == [], path.name


def test_no_machine_paths_or_hosts(repo: Path) -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=repo, capture_output=True, text=True, check=True).stdout.split(
        "\n"
    )
    # In pieces, so that the guard itself holds none of what it looks for.
    folders = "|".join(("root", "home", "Users", "opt"))
    options = "|".join(("index" + "[-]url", "--" + "registry" + "[= ]"))
    pattern = re.compile(f"/(?:{folders})/[a-z]|{options}")
    assert pattern.search("/" + "home" + "/cook") and pattern.search("--index" + "-url x"), "the guard can fail"
    for name in filter(None, tracked):
        path = repo / name
        if path.suffix in (".py", ".md", ".toml", ".ipynb", ".html", ".cfg", "") and path.is_file():
            assert not pattern.search(path.read_text(encoding="utf-8")), name


def test_the_release_has_its_change_note_and_one_number(repo: Path) -> None:
    import tomllib

    import spoonline as sl

    assert tomllib.loads((repo / "pyproject.toml").read_text())["project"]["version"] == sl.__version__
    notes = (repo / "DEVELOPERS.md").read_text().partition("## Change note")[2]
    released = sl.__version__.partition(".dev")[0]
    assert re.search(rf"^### {re.escape(released)}\b", notes, re.MULTILINE)
    earlier = {path.name for path in (repo / "tests" / "earlier").iterdir() if path.is_dir() and path.name[0].isdigit()}
    assert earlier >= set(re.findall(r"^### ([\d.]+)$", notes, re.MULTILINE)), (
        "every finished release left a logbook behind"
    )
