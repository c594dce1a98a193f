"""Put one small fault after the other into a room, and see whether its quick tests notice.

    python tests/experiments/mutants.py recipes|keeping|card|... [mutants] [seed] [minutes]

A fault is another comparison, operator, constant, condition or return, or a statement that is left out; each is drawn by lot, put into
a copy of the package, and those of the room's quick tests that call that function run on it, in a fork of a process that has imported
the heavy libraries. Prints each that no test noticed, and how many were tried and noticed.
"""

from __future__ import annotations

import ast
import copy
import importlib
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

REPO = Path(__file__).resolve().parents[2]
PACKAGE = REPO / "kit" / "spoonline"
HEAVY = (
    "numpy", "scipy.stats", "scipy.optimize", "scipy.linalg", "scipy.special", "pandas", "sqlalchemy", "pydantic", "pint", "jinja2",
    "typst", "matplotlib.figure", "ortools.sat.python.cp_model", "ipywidgets", "anywidget", "hypothesis", "pypdf",
)  # fmt: skip
COMPARE = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn,
    ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
ARITHMETIC = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Add,
}


def faults(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """Faults that could stand for a node, each with its name."""
    new = copy.deepcopy(node)
    if isinstance(new, ast.Compare) and type(new.ops[0]) in COMPARE:
        new.ops[0] = COMPARE[type(new.ops[0])]()
        yield "comparison", new
    elif isinstance(new, ast.BinOp) and type(new.op) in ARITHMETIC and not _text(new):
        new.op = ARITHMETIC[type(new.op)]()
        yield "operator", new
    elif isinstance(new, ast.BoolOp):
        new.op = ast.Or() if isinstance(new.op, ast.And) else ast.And()
        yield "and, or", new
    elif isinstance(new, ast.UnaryOp) and isinstance(new.op, (ast.Not, ast.USub)):
        yield "not, minus", new.operand
    elif isinstance(new, ast.Constant) and isinstance(new.value, bool):
        yield "true, false", ast.Constant(not new.value)
    elif isinstance(new, ast.Constant) and isinstance(new.value, (int, float)):
        yield "constant", ast.Constant(new.value + 1 if isinstance(new.value, int) else new.value * 1.25 + 0.001)
    elif isinstance(new, ast.IfExp):
        yield "other branch", ast.IfExp(new.test, new.orelse, new.body)
    elif isinstance(new, ast.If):
        new.test = ast.UnaryOp(ast.Not(), new.test)
        yield "condition", new
    elif isinstance(new, ast.Return) and new.value is not None and not isinstance(new.value, ast.Constant):
        yield "no answer", ast.Return(ast.Constant(None))
    elif isinstance(new, (ast.AugAssign, ast.Expr)) and not isinstance(getattr(new, "value", None), ast.Constant):
        yield "left out", ast.Pass()


def _text(node: ast.BinOp) -> bool:
    """Whether an operator joins texts or lists, where another one would only be a TypeError."""
    joined = (ast.JoinedStr, ast.List, ast.Tuple)
    return any(isinstance(each, joined) or isinstance(getattr(each, "value", None), str) for each in ast.walk(node))


class Places(ast.NodeVisitor):
    """Every node of a module where a fault would be one: inside functions, not in types, defaults of types, or docstrings."""

    def __init__(self) -> None:
        self.found: list[tuple[ast.AST, str, ast.AST]] = []
        self.inside: list[str] = []

    def visit(self, node: ast.AST) -> None:
        self.found += [(node, *each) for each in faults(node)]
        for name, value in ast.iter_fields(node):
            # A zip that is not strict differs only where this kit is wrong elsewhere.
            if name in ("annotation", "returns", "decorator_list") or (
                name == "value" and getattr(node, "arg", "") == "strict"
            ):
                continue
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    self.visit(child)

    def visit_module(self, tree: ast.Module) -> None:
        for node in ast.walk(tree):
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
                for statement in node.body:
                    self.visit(statement)
                decorators = [ast.unparse(each) for each in node.decorator_list]
                first = min([node.lineno, *(each.lineno for each in node.decorator_list)])
                cached = any("cache" in each for each in decorators)
                self.inside += ["" if cached else f"{first}"] * (len(self.found) - len(self.inside))


class Put(ast.NodeTransformer):
    """Puts one node in the place of another."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        return ast.copy_location(self.new, node) if node is self.old else super().generic_visit(node)


def drawn(room: str, count: int, seed: int) -> list[tuple[Path, str, str, str]]:
    """Mutants of a room drawn by lot: file, first line of the function, what was done where, and the file's new text."""
    rng, all_ = random.Random(seed), []
    files = sorted((PACKAGE / room).rglob("*.py")) if (PACKAGE / room).is_dir() else [PACKAGE / f"{room}.py"]
    for path in files:
        places = Places()
        places.visit_module(ast.parse(path.read_text(encoding="utf-8")))
        seen = {(node.lineno, node.col_offset, kind): n for n, (node, kind, _) in enumerate(places.found)}  # type: ignore[attr-defined]  # only nodes that stand somewhere are found
        all_ += [(path, n) for n in seen.values()]
    made = []
    for path, number in rng.sample(all_, min(count, len(all_))):
        tree, places = ast.parse(path.read_text(encoding="utf-8")), Places()
        places.visit_module(tree)
        node, kind, new = places.found[number]
        before = ast.unparse(node).splitlines()[0]
        said = f"{path.relative_to(PACKAGE)}:{node.lineno} {kind}: {before[:90]}"  # type: ignore[attr-defined]  # only nodes that stand somewhere are found
        made.append(
            (path, places.inside[number], said, ast.unparse(ast.fix_missing_locations(Put(node, new).visit(tree))))
        )
    return made


def tests_of(room: str, kit: Path) -> list[str]:
    """Where a room's quick tests stand: its folder, its outside checks, and the examples in its docstrings."""
    inside = kit / "spoonline" / room
    places = [
        REPO / "tests" / room,
        REPO / "tests" / f"test_{room}.py",
        *(REPO / "tests" / "witness").glob(f"test_{room.rstrip('s')}*.py"),
    ]
    return [str(each) for each in (*places, inside if inside.is_dir() else inside.with_suffix(".py")) if each.exists()]


class Chosen:
    """Runs the chosen tests, the quickest first; without a choice all, and writes down what each calls and how long it takes [s]."""

    def __init__(self, chosen: list[str], told: Path) -> None:
        self.chosen, self.told = chosen, told
        self.calls: dict[str, set[str]] = {}
        self.seconds: dict[str, float] = {}
        self._trace("import")

    def _trace(self, name: str) -> None:
        """Write down what is called from now on; a new package is called while the tests are collected, too."""
        if not self.chosen:
            called = self.calls.setdefault(name, set())
            sys.settrace(lambda frame, *_: called.add(f"{frame.f_code.co_filename}:{frame.f_code.co_firstlineno}"))  # type: ignore[func-returns-value]  # a trace that gives None goes no deeper

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        if self.chosen:
            by_name = {item.nodeid: item for item in items}
            items[:] = [by_name[name] for name in self.chosen if name in by_name]

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: Any) -> Iterator[None]:
        before = time.monotonic()
        self._trace(item.nodeid)
        yield
        sys.settrace(None)
        self.seconds[item.nodeid] = time.monotonic() - before

    def pytest_sessionfinish(self) -> None:
        if not self.chosen:
            calls = {
                name: sorted(each for each in called if "spoonline" in each) for name, called in self.calls.items()
            }
            self.told.write_text(json.dumps([calls, self.seconds]), encoding="utf-8")


def passes(places: list[str], kit: Path, chosen: list[str], most_s: float) -> bool:
    """Whether these tests (all that stand in these places, if none is chosen) pass in time with this package, in a fork of this process."""
    child = os.fork()
    if child == 0:
        os.setsid()
        log = os.open(kit.parent / "log.txt", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(log, 1)
        os.dup2(log, 2)
        os.environ["PYTHONPATH"] = str(kit)
        os.chdir(REPO)
        sys.path[:] = [str(kit), *(each for each in sys.path if Path(each) != REPO / "kit")]
        sys.dont_write_bytecode = bool(chosen)
        options = ["-x", "-q", "-m", "not long", "-p", "no:cacheprovider", "-p", "no:nbval", "--benchmark-skip"]
        options += [
            "-W",
            "ignore::pytest.PytestAssertRewriteWarning",
            "-o",
            "addopts=--import-mode=importlib --doctest-modules",
        ]
        code = 99
        try:
            code = int(pytest.main([*options, *places], plugins=[Chosen(chosen, kit.parent / "calls.json")]))
        finally:
            sys.stdout.flush()
            os._exit(code)
    ends = time.monotonic() + most_s
    while time.monotonic() < ends:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return status == 0
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def run(room: str, count: int, seed: int = 1, most_min: float = 1e9) -> tuple[int, list[str]]:
    """How many mutants were tried within this time [min], and those that no test noticed."""
    for name in HEAVY:
        importlib.import_module(name)
    tried, left, ends = 0, [], time.monotonic() + 60 * most_min
    with tempfile.TemporaryDirectory() as folder:
        kit = Path(folder) / "kit"
        os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(Path(folder) / "hypothesis")
        sys.pycache_prefix = str(Path(folder) / "compiled")
        shutil.copytree(REPO / "kit", kit, ignore=shutil.ignore_patterns("__pycache__"))
        (Path(folder) / "demo").symlink_to(REPO / "demo")
        assert passes(tests_of(room, kit), kit, [], 1200), (kit.parent / "log.txt").read_text(encoding="utf-8")
        calls, seconds = json.loads((kit.parent / "calls.json").read_text(encoding="utf-8"))
        imported = calls.pop("import")
        quickest = sorted(calls, key=lambda name: seconds[name])
        for path, line, said, text in drawn(room, count, seed):
            if time.monotonic() > ends:
                break
            place = kit / path.relative_to(REPO / "kit")
            # What a cache keeps, or is called on import, is not called again: then every test that calls its file counts.
            where = f"{place}:{line}" if line and f"{place}:{line}" not in imported else f"{place}:"
            chosen = [
                name
                for name in quickest
                if any(each == where or (where[-1] == ":" and each.startswith(where)) for each in calls[name])
            ]
            files = sorted({str(REPO / name.split("::")[0]) for name in chosen})
            place.write_text(text, encoding="utf-8")
            if not chosen or passes(files, kit, chosen, 30 + 5 * sum(seconds[name] for name in chosen)):
                left.append(said)
                print(f"  {said}{'' if chosen else ' (no test calls it)'}", flush=True)
            tried += 1
            shutil.copy2(path, place)
    return tried, left


if __name__ == "__main__":
    room, *figures = sys.argv[1:]
    tried, left = run(room, *(int(each) for each in figures or ["300"]))
    share = 100 * (tried - len(left)) / max(tried, 1)
    print(f"{room}: {tried} mutants, {tried - len(left)} noticed ({share:.0f} %); the others stand above")
