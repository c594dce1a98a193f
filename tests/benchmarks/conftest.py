"""The ratios that the benchmarks measured, printed at the end."""

from __future__ import annotations

import pytest


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """One line a ratio."""
    for report in terminalreporter.stats.get("passed", []):
        for what, figure in report.user_properties if "tests/benchmarks/" in report.nodeid else ():
            terminalreporter.write_line(f"{report.nodeid.partition('::')[2]}: {figure} {what}")
