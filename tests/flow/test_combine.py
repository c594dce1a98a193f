"""Two or more tests together, advice, and the printed sheet."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pypdf
import pytest

from flow import kitchen
from spoonline import flow
from spoonline.flow.kitchen_tools import EXPECTED
from spoonline.flow.mat import PAPERS_CM
from spoonline.measures.errors import ItemError, ReadingError

PT_A_CM = 72 / 2.54
RING, SPATULA = flow.Ring(3.5, 2.0, 10, finite_height=True), flow.Spatula(8, 10, 10)


@pytest.mark.parametrize(("k", "n"), [(5.0, 0.5), (12.0, 0.35), (20.0, 0.3), (8.0, 0.9), (9.0, 0.6)])
def test_finds_the_fluid_it_was_made_from(k: float, n: float) -> None:
    truth = flow.Fluid(k, n, 1030.0)
    tests = [(tool, float(tool.reading(truth))) for tool in (RING, SPATULA, flow.Trough())]
    for some in (tests[:2], tests[1:], tests):
        found = flow.fluid_from(some, 1030.0)
        assert (found.consistency_pa_sn, found.flow_index) == pytest.approx((k, n), rel=1e-6)
        assert found.viscosity_range(1.0).low < k < found.viscosity_range(1.0).high
        assert found.density_kg_m3 == 1030.0


def test_spread_is_that_of_readings_moved() -> None:
    """The covariance against 400 repeats of the same two readings with noise."""
    truth, sds = flow.Fluid(9.0, 0.5), (0.05, 0.1)
    rng = np.random.default_rng(2)
    shown = [tool.reading(truth) for tool in (RING, SPATULA)]
    lines = []
    for _ in range(400):
        # at a known n both errors reach ln K as a straight line; here only the reading errs, so the rest is taken off below
        tests = [(tool, r + rng.normal(0, sd)) for tool, r, sd in zip((RING, SPATULA), shown, sds, strict=True)]
        ks = [np.log(tool.fluid(r, 0.5).consistency_pa_sn) for tool, r in tests]
        slopes = [
            (np.log(tool.fluid(r, 0.51).consistency_pa_sn) - np.log(tool.fluid(r, 0.49).consistency_pa_sn)) / 0.02
            for tool, r in tests
        ]
        lines.append(0.5 - (ks[0] - ks[1]) / (slopes[0] - slopes[1]))
    found = flow.fluid_from(list(zip((RING, SPATULA), shown, strict=True)), reading_sds=sds)
    slope = np.diff(
        [
            np.log(tool.fluid(r, 0.51).consistency_pa_sn / tool.fluid(r, 0.49).consistency_pa_sn) / 0.02
            for tool, r in zip((RING, SPATULA), shown, strict=True)
        ]
    )[0]
    others = (
        sum(
            (
                np.log(
                    (
                        band := tool.interval(r, sd, flow_index=0.5, seconds_sd=s, volume_rel_sd=v, at_shear_rate=1.0)
                    ).high
                    / band.best
                )
                / 1.96
            )
            ** 2
            * sign
            for tool, r, sd in zip((RING, SPATULA), shown, sds, strict=True)
            for s, v, sign in ((0.3, 0.01, 1), (1e-9, 1e-9, -1))
        )
        + RING.own_ln_sd(shown[0]) ** 2
        + SPATULA.own_ln_sd(shown[1]) ** 2
    )
    assert found.covariance[2] == pytest.approx(np.var(lines) + others / slope**2, rel=0.15)


def test_readings_that_disagree_or_say_nothing() -> None:
    with pytest.raises(ReadingError, match="do not belong to one fluid"):
        flow.fluid_from([(RING, 8.5), (SPATULA, 12.0)])
    with pytest.raises(ReadingError, match="two different ones"):
        flow.fluid_from([(RING, 6.5)])
    with pytest.raises(ReadingError, match="nearly one shear rate"):
        flow.fluid_from([(SPATULA, 5.0), (flow.Spatula(8, 5, 10), 2.5)])
    with pytest.raises(ReadingError, match="one figure above 0 for each"):
        flow.fluid_from([(RING, 6.5), (SPATULA, 12.0)], reading_sds=[0.1])
    fluid = flow.Fluid(5.0, 0.5)
    close = [(tool, tool.reading(fluid)) for tool in (flow.Spatula(8, 10, 10), flow.Spatula(8, 10, 20))]
    found = flow.fluid_from(close, reading_sds=[0.3, 0.3])
    assert "hardly tell" in found.notes[0]
    middle, far = found.viscosity_range(float(np.mean(found.rates_per_s))), found.viscosity_range(0.05)
    assert middle.high / middle.best < far.high / far.best


def test_three_tests_that_differ_widen_the_range() -> None:
    fluid = flow.Fluid(9.0, 0.5)
    tests = [(tool, float(tool.reading(fluid))) for tool in (RING, SPATULA, flow.Trough())]
    agree = flow.fluid_from(tests)
    tests[2] = (flow.Trough(), 0.8 * tests[2][1])
    differ = flow.fluid_from(tests)
    assert any("range is widened" in note for note in differ.notes)
    assert differ.covariance[2] > 1.5 * agree.covariance[2]


def test_what_a_person_reads() -> None:
    found = flow.fluid_from([(RING, 6.9), (SPATULA, 10.8)])
    assert re.search(r"flow index 0\.\d\d \(0\.\d\d-", str(found))
    assert "viscosity at 50 1/s" in str(found)


@pytest.mark.long
def test_ranges_of_a_synthetic_kitchen_hold_the_truth() -> None:
    """A small sample of tests/experiments/flow_synthetic_kitchen.py: 120 fluids; 88 to 99.5 % leaves 3 sigma either side of 95."""
    found = kitchen.synthetic_kitchen(120, 4)
    for rate in (1, 50):
        assert 0.88 <= found[f"held at {rate} 1/s"] <= 0.995, found
    assert found["no answer"] <= 0.03
    assert found["median factor at 1 1/s"] < 1.4 < found["median factor at 50 1/s"] < 2.2


def test_advice() -> None:
    for name, fluid in EXPECTED.items():
        advice = flow.which_test(name)
        assert advice, name
        for each in advice:
            assert each.reading.low < each.reading.best < each.reading.high
            assert float(each.tool.reading(fluid)) == pytest.approx(each.reading.best)
            assert each.tool.flags(each.reading.best) == ()
    kinds = {name: flow.which_test(name)[0].tool.name for name in EXPECTED}
    assert kinds["thin soup"] in ("syringe", "flow cup")
    assert kinds["gravy"] == "spatula"
    assert kinds["filling"] == "ring"
    with pytest.raises(ItemError, match="give a Fluid"):
        flow.which_test("porridge")
    with pytest.raises(ReadingError, match="No test here suits"):
        flow.which_test(flow.Fluid(1e5, 0.5))


@pytest.mark.parametrize("paper", list(PAPERS_CM))
def test_the_sheet_is_true_to_scale(paper: str, tmp_path: Path) -> None:
    width, height = PAPERS_CM[paper]
    drawn = flow.mat(tmp_path / "sheet.svg", paper, 3.2).read_text(encoding="utf-8")
    size = re.search(r'^<svg viewBox="0 0 ([\d.]+) ([\d.]+)" width="\1pt" height="\2pt"', drawn)
    assert size and [float(each) / PT_A_CM for each in size.groups()] == pytest.approx([width, height], abs=1e-6)
    paths = re.findall(r'<path [^>]*transform="translate\(([\d.]+) ([\d.]+)\)" d="([^"]*)"', drawn)
    circles, rules = [], []
    for x, y, how in paths:
        start = np.array([float(x), float(y)]) / PT_A_CM
        if arcs := re.findall(r"c ((?:[-\d.]+ ?){6})", how):
            ends = np.cumsum([[float(each) for each in arc.split()[4:]] for arc in arcs], axis=0) / PT_A_CM
            across = np.ptp(ends, axis=0)
            assert across[0] == pytest.approx(across[1], abs=1e-6)
            assert start + across / 2 == pytest.approx([width / 2, 11.7], abs=1e-6)
            circles.append(across[0] / 2)
        elif line := re.fullmatch(r"M 0 0([hv]) ([-\d.]+)", how):
            rules.append((*start, line[1], float(line[2]) / PT_A_CM))
    assert sorted(circles) == pytest.approx(sorted([*np.arange(0.5, 10, 0.5), 3.2]), abs=1e-6)
    ((left, down),) = [(x, y) for x, y, way, long in rules if way == "h" and long == pytest.approx(10.0, abs=1e-6)]
    ticks = sorted(x for x, y, way, _ in rules if way == "v" and y == pytest.approx(down))
    assert ticks == pytest.approx(left + np.arange(11), abs=1e-6)
    words = re.findall(r'<g transform="matrix\(1 0 0 -1 ([-\d.]+) ([\d.]+)\)">(.*?)</g>', drawn)
    assert len(words) > 40
    for x, y, letters in words:
        last = max(float(each) for each in re.findall(r' x="([\d.]+)"', letters))
        assert float(x) > 0 and (float(x) + last + 12) / PT_A_CM < width, letters
        assert 0.5 < float(y) / PT_A_CM < height - 0.5


@pytest.mark.parametrize("paper", list(PAPERS_CM))
def test_the_sheet_says_what_it_is(paper: str, tmp_path: Path) -> None:
    (page,) = pypdf.PdfReader(flow.mat(tmp_path / "sheet.pdf", paper, 3.2)).pages
    assert [float(each) / PT_A_CM for each in page.mediabox] == pytest.approx([0, 0, *PAPERS_CM[paper]], abs=0.01)
    text = page.extract_text()
    for arm in range(1, 10):
        assert text.splitlines().count(str(arm)) == 4
    assert "stands here (3.2 cm)" in text and "does not classify food" in text and "seconds" in text


def test_no_such_sheet(tmp_path: Path) -> None:
    for wrong in (("sheet.doc", "a4", 3.5), ("sheet.pdf", "a7", 3.5), ("sheet.pdf", "a4", 9.5)):
        with pytest.raises(ReadingError, match="wanted"):
            flow.mat(tmp_path / wrong[0], *wrong[1:])
