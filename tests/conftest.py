"""What all tests share: a demo logbook for the notebooks, and errors in callbacks that are not swallowed."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections import Counter
from pathlib import Path

import pytest

import tiers

REPO = Path(__file__).resolve().parent.parent
KINDS = pytest.StashKey[dict[str, str]]()
_HOLD = tempfile.TemporaryDirectory(prefix="spoonline-tests-")


def pytest_configure(config: pytest.Config) -> None:
    """Give the notebooks that nbval runs a logbook of their own, before any kernel starts."""
    from spoonline.logbook import make_demo

    tiers.TIER = config.option.markexpr
    os.environ["SPOONLINE_RAISE"] = "1"
    path = Path(_HOLD.name) / "notebooks.sqlite"
    if not path.exists() and config.pluginmanager.hasplugin("nbval"):
        make_demo(path).close()
    os.environ["SPOONLINE_LOGBOOK"] = str(path)
    # A person's own settings must not reach the kernels, nor the kernels' files a person's home.
    for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR"):
        os.environ[name] = str(Path(_HOLD.name) / name.lower())


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Whatever starts a browser is of the long tier; every outside check says what it stands on."""
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.long)
        if "tests/witness/" in item.path.as_posix():
            kind = item.get_closest_marker("kind")
            assert kind is not None, f"{item.nodeid} does not say what it stands on: mark its kind"
            config.stash.setdefault(KINDS, {})[item.nodeid] = kind.args[0]


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """A test marked ``browser`` needs chromium; CI insists on it, elsewhere such a test skips with the reason."""
    if item.get_closest_marker("browser") and shutil.which("chromium") is None:
        missing = "no chromium on the search path"
        if os.environ.get("SPOONLINE_CI") == "1":
            pytest.fail(missing)
        pytest.skip(missing)


@pytest.fixture
def repo() -> Path:
    """The top folder of the repository."""
    return REPO


@pytest.fixture
def demo(tmp_path: Path):
    """A demo logbook of its own for one test."""
    from spoonline.logbook import make_demo

    book = make_demo(tmp_path / "demo.sqlite")
    yield book
    book.close()


@pytest.fixture(scope="session")
def postgres_server():
    """A PostgreSQL server of our own, where one is installed; CI insists on it."""
    import postgres

    if postgres.programs() is None:
        if os.environ.get("SPOONLINE_CI") == "1":
            pytest.fail(postgres.MISSING)
        pytest.skip(postgres.MISSING)
    with postgres.serve() as server:
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path):
    """Where a new logbook may lie: a file, then a database."""
    if request.param == "sqlite":
        return tmp_path / "kitchen.sqlite"
    return request.getfixturevalue("postgres_server").database()


def pytest_sessionfinish(session: pytest.Session) -> None:
    """In CI nothing skips: a run that left a test out is a failed one (benchmarks run by a command of their own)."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = {each.nodeid for each in reporter.stats.get("skipped", ())} if reporter else set()
    left = sorted(each for each in skipped if "benchmarks/" not in each)
    if left and os.environ.get("SPOONLINE_CI") == "1":
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
        reporter.write_line(f"\nCI leaves nothing out, and skipped {', '.join(left)}")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """How many of the outside checks that passed stand on what: a figure for the README that no one has to count."""
    passed = {report.nodeid for report in terminalreporter.stats.get("passed", [])}
    kinds = Counter(kind for name, kind in config.stash.get(KINDS, {}).items() if name in passed)
    if kinds:
        terminalreporter.write_line(
            "outside checks passed: " + ", ".join(f"{n} {kind}" for kind, n in kinds.most_common())
        )
