"""One lab a test file, one page a test; a page that reports a fault fails its test."""

from __future__ import annotations

import pytest

from browser import lab as harness


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory):
    with harness.serve(tmp_path_factory.mktemp("lab")) as running:
        yield running


@pytest.fixture
def page(lab):
    with harness.browse() as opened:
        yield opened
        assert harness.faults_of(opened) == []
