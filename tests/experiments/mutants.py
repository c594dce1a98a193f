"""Put one small fault after the other into a room, and see whether its quick tests notice.

    python tests/experiments/mutants.py recipes|keeping|card|... [mutants] [seed]

A fault is another comparison, operator, constant, condition or return, or a statement that is left out; each is drawn by lot, put into
a copy of the package, and the room's tests run on it (not the long ones, at most a minute). Prints how many were tried and noticed,
and each that was not.
"""

from __future__ import annotations

import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import SimpleQueue

REPO = Path(__file__).resolve().parents[2]
PACKAGE = REPO / "kit" / "spoonline"
MOST_S = 60
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

    def visit(self, node: ast.AST) -> None:
        self.found += [(node, *each) for each in faults(node)]
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "decorator_list"):
                continue
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    self.visit(child)

    def visit_module(self, tree: ast.Module) -> None:
        for node in ast.walk(tree):
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
                for statement in node.body:
                    self.visit(statement)


class Put(ast.NodeTransformer):
    """Puts one node in the place of another."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        return ast.copy_location(self.new, node) if node is self.old else super().generic_visit(node)


def drawn(room: str, count: int, seed: int) -> list[tuple[Path, str, str]]:
    """Mutants of a room drawn by lot: file, what was done where, and the file's new text."""
    rng, all_ = random.Random(seed), []
    files = sorted((PACKAGE / room).rglob("*.py")) if (PACKAGE / room).is_dir() else [PACKAGE / f"{room}.py"]
    for path in files:
        places = Places()
        places.visit_module(ast.parse(path.read_text(encoding="utf-8")))
        seen = {(node.lineno, node.col_offset, kind): n for n, (node, kind, _) in enumerate(places.found)}  # type: ignore[attr-defined]
        all_ += [(path, n) for n in seen.values()]
    made = []
    for path, number in rng.sample(all_, min(count, len(all_))):
        tree, places = ast.parse(path.read_text(encoding="utf-8")), Places()
        places.visit_module(tree)
        node, kind, new = places.found[number]
        before = ast.unparse(node).splitlines()[0]
        said = f"{path.relative_to(PACKAGE)}:{node.lineno} {kind}: {before[:90]}"  # type: ignore[attr-defined]
        made.append((path, said, ast.unparse(ast.fix_missing_locations(Put(node, new).visit(tree)))))
    return made


def noticed(room: str, kit: Path) -> bool:
    """Whether the room's quick tests fail, or never end, with this package."""
    env = os.environ | {"PYTHONPATH": str(kit), "PYTHONDONTWRITEBYTECODE": "1"}
    tests = [str(each) for each in (REPO / "tests" / room, REPO / "tests" / f"test_{room}.py") if each.exists()]
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-x",
        "-q",
        "-m",
        "not long and not browser",
        "-p",
        "no:cacheprovider",
        "-p",
        "no:nbval",
        *tests,
    ]
    command += ["-o", "addopts=--import-mode=importlib"]
    try:
        return subprocess.run(command, cwd=REPO, env=env, capture_output=True, timeout=MOST_S).returncode != 0
    except subprocess.TimeoutExpired:
        return True


def run(room: str, count: int, seed: int = 1, workers: int = 2) -> tuple[int, list[str]]:
    """How many mutants were tried, and those that no test noticed."""
    with tempfile.TemporaryDirectory() as folder:
        kits: SimpleQueue[Path] = SimpleQueue()
        for number in range(workers):
            kit = Path(folder) / str(number)
            shutil.copytree(REPO / "kit", kit, ignore=shutil.ignore_patterns("__pycache__"))
            kits.put(kit)
        assert not noticed(room, Path(folder) / "0"), f"the tests of {room} fail as they are"

        def one(mutant: tuple[Path, str, str]) -> str:
            path, said, text = mutant
            kit = kits.get()
            place = kit / path.relative_to(REPO / "kit")
            place.write_text(text, encoding="utf-8")
            try:
                return "" if noticed(room, kit) else said
            finally:
                shutil.copyfile(path, place)
                kits.put(kit)

        mutants = drawn(room, count, seed)
        with ThreadPoolExecutor(workers) as pool:
            return len(mutants), [said for said in pool.map(one, mutants) if said]


if __name__ == "__main__":
    room = sys.argv[1]
    tried, left = run(
        room, int(sys.argv[2]) if len(sys.argv) > 2 else 300, int(sys.argv[3]) if len(sys.argv) > 3 else 1
    )
    print(
        f"{room}: {tried} mutants, {tried - len(left)} noticed ({100 * (tried - len(left)) / tried:.0f} %); not noticed:"
    )
    print("\n".join(f"  {each}" for each in sorted(left)))
