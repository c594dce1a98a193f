"""Every instrument: there and back over its whole window, monotone, and a sentence where it cannot read."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flow import kitchen
from spoonline import flow
from spoonline.flow.ring import TALLEST
from spoonline.measures.errors import ItemError, KitchenError, ReadingError


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6))
def test_there_and_back(seed: int) -> None:
    worst = kitchen.worst_round_trip(60, seed)
    assert max(worst.values()) < 1e-9, worst
    assert {"spatula", "trough", "syringe", "flow cup"} <= set(worst)


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.2, 1.2))
def test_a_thicker_fluid_reads_thicker(seed: int, n: float) -> None:
    for tool, low, high in kitchen.windows(np.random.default_rng(seed)):
        readings = np.geomspace(low, high, 25)
        consistency = tool.fluid(readings, n).consistency_pa_sn
        rising = tool.name in ("spatula", "syringe", "flow cup")
        assert np.all(np.diff(consistency) > 0 if rising else np.diff(consistency) < 0), tool
        assert np.all(np.asarray(tool.shear_rate(flow.Fluid(consistency, n))) > 0)


def test_lists_in_arrays_out_single_in_single_out() -> None:
    for tool, low, high in kitchen.windows(np.random.default_rng(5)):
        many = tool.fluid([low, high], [0.5, 0.9])
        assert many.consistency_pa_sn.shape == (2,)
        assert isinstance(tool.fluid(high).consistency_pa_sn, float)
        assert tool.reading(many) == pytest.approx([low, high], rel=1e-9)
        assert isinstance(tool.reading(flow.Fluid(tool.fluid(high).consistency_pa_sn)), float)


@pytest.mark.parametrize("bad", [float("nan"), -1.0, 0.0, float("inf"), []])
def test_a_reading_that_is_none(bad: float) -> None:
    for tool, _, _ in kitchen.windows(np.random.default_rng(5)):
        with pytest.raises(ReadingError, match=r"wanted\.$"):
            tool.fluid(bad)


@pytest.mark.parametrize(
    ("tool", "reading", "says"),
    [
        (flow.Ring(3.5, 2.0, 30), 3.4, "inside the ring's own 3.5 cm"),
        (flow.Ring(2.5, 4.0, 30), 4.5, "too tall"),
        (flow.Spatula(8, 10, 10), 65.0, "own weight off"),
        (flow.Trough(), 24.0, "at the trough's end"),
        (flow.Syringe(), 10.0, "nothing ran"),
        (flow.Syringe(seconds=1.0), 2.0, "less than even water"),
        (flow.FlowCup("ISO 4"), 29.0, "smaller hole"),
        (flow.FlowCup("ISO 4"), 101.0, "larger hole"),
    ],
)
def test_beyond_the_tool(tool: flow.Instrument, reading: float, says: str) -> None:
    with pytest.raises(ReadingError, match=says):
        tool.fluid(reading)


def test_flow_index_beyond_the_theory() -> None:
    for tool, _, high in kitchen.windows(np.random.default_rng(5)):
        for n in (0.19, 1.21, float("nan")):
            with pytest.raises(ReadingError, match=r"0\.2 to 1\.2"):
                tool.fluid(high, n)


@pytest.mark.parametrize(
    ("tool", "reading", "flag"),
    [
        (flow.Ring(3.5, 2.0, 30), 8.5, "less than 4 mm"),
        (flow.Ring(3.5, 2.0, 30), 9.5, "less than 3 mm"),
        (flow.Ring(3.5, 2.0, 30), 5.0, "still tall"),
        (flow.Ring(3.5, 1.0, 30), 4.4, "hardly left"),
        (flow.Spatula(5, 4, 10), 0.2, "drop at its edge"),
        (flow.Spatula(5, 4, 10), 4.0, "not finished draining"),
        (flow.Trough(), 5.0, "order of magnitude"),
        (flow.Trough(), 23.5, "end wall"),
        (flow.Syringe(), 0.5, "nearly empty"),
        (flow.Syringe(), 9.8, "Hardly any ran"),
        (flow.FlowCup("Ford 4"), 15, "another hole"),
    ],
)
def test_flags(tool: flow.Instrument, reading: float, flag: str) -> None:
    assert any(flag in sentence for sentence in tool.flags(reading))


def test_no_flag_in_the_middle_of_the_window() -> None:
    for tool, reading in (
        (flow.Ring(3.5, 2.0, 30), 6.5),
        (flow.Spatula(8, 10, 10), 5.0),
        (flow.Trough(), 15),
        (flow.Syringe(), 5),
        (flow.FlowCup(), 50),
    ):
        assert tool.flags(reading) == ()
        assert all(sentence.endswith(".") for sentence in tool.flags(reading / 1.9) + tool.flags(1.9 * reading))


def test_interval_carries_what_it_is_told() -> None:
    ring = flow.Ring(3.5, 2.0, 30, finite_height=True)
    still = ring.interval(6.5, 0.0, volume_rel_sd=0.0, seconds_sd=0.0)
    # the method's own: 60 % of the correction 1.7 eps, on ln K
    assert np.log(still.high / still.best) == pytest.approx(1.96 * 0.6 * 1.7 * 24.5 / 6.5**3, rel=1e-3)
    by_radius = ring.interval(6.5, 0.1, volume_rel_sd=0.0, seconds_sd=0.0)
    alone = np.sqrt(np.log(by_radius.high / by_radius.best) ** 2 - np.log(still.high / still.best) ** 2)
    assert alone == pytest.approx(1.96 * (8 - 5.1 * 24.5 / 6.5**3) * 0.1 / 6.5, rel=0.02)
    spatula = flow.Spatula(8, 10, 10)
    low, high = (
        spatula.interval(5.0, 0.1, flow_index=0.5, flow_index_sd=0.1, at_shear_rate=rate) for rate in (9.0, 50.0)
    )
    assert high.high / high.best > low.high / low.best  # an unknown flow index costs more, the farther the rate


@pytest.mark.parametrize("name", list(flow.TOOLS))
def test_every_tool_of_the_table(name: str) -> None:
    tool = flow.usual(name)
    assert tool.name == name
    assert flow.unit_of(name) == tool.unit
    assert flow.TOOLS[name].how.endswith(".")
    shown = float(tool.reading(flow.Fluid(0.15 if name in ("syringe", "flow cup") else 9.0, 1.0)))
    band = tool.interval(shown, flow.TOOLS[name].resolution)
    assert band.low < band.best < band.high


def test_cups_by_name() -> None:
    with pytest.raises(ItemError, match="choose one of ISO 3"):
        flow.FlowCup("teacup")
    assert all(law.source and law.kind in ("published", "memory") for law in flow.CUPS.values())


def test_a_trough_too_full() -> None:
    with pytest.raises(ReadingError, match="fill to between"):
        flow.Trough(volume_ml=130)
    brim = flow.Trough(volume_ml=125).interval(15.0, 0.25)
    assert brim.low < brim.best < brim.high, "a fill at the limit has one side only to be moved to"


def test_a_spatula_later() -> None:
    one, fluid = flow.Spatula(8, 10, 10), flow.Fluid(3.0, 0.5)
    later = one.reading(fluid) * (10 / 40) ** (0.5 / 1.5)
    assert flow.Spatula(8, 10, 40).reading(fluid) == pytest.approx(later)


def test_slump_needs_a_yield_stress_and_says_when_it_moves() -> None:
    slump = flow.Slump(3.5, 2.0)
    with pytest.raises(ReadingError, match="does not stop"):
        slump.reading(flow.Fluid(5.0))
    with pytest.raises(ReadingError, match="inside the ring"):
        slump.yield_stress_pa(3.0)
    tau = np.geomspace(2, 30, 20)
    assert slump.yield_stress_pa(slump.reading(flow.Fluid(5.0, 0.5, 1040.0, tau)), 1040.0) == pytest.approx(tau)
    assert "has not stopped" in slump.flags(7.0, later=7.2)[0]
    assert slump.flags(7.0, later=7.02) == ()
    band = slump.interval(7.0, 0.1)
    assert np.log(band.high / band.best) == pytest.approx(1.96 * np.hypot(0.5 / 7, 0.02), rel=1e-3)


@pytest.mark.parametrize("name", sorted(flow.TOOLS))
def test_a_fluid_with_a_yield_stress_is_refused_by_tests_that_read_flow(name: str) -> None:
    with pytest.raises(ReadingError, match=r"yield stress of 3 Pa came; .* Use the slump test"):
        flow.usual(name).reading(flow.Fluid(5.0, 0.5, yield_stress_pa=3.0))


def test_no_test_word_is_clinical() -> None:
    for name in flow.TOOLS:
        assert "level 1" not in flow.TOOLS[name].how.lower()
    assert "does not classify food" in flow.NOT_CLINICAL
    assert "qualified practitioner" in flow.NOT_CLINICAL


def test_every_error_is_a_kitchen_error() -> None:
    assert issubclass(ReadingError, KitchenError)
    with pytest.raises(ReadingError, match="height_cm"):
        flow.Ring(3.5, 0.0, 30)


@pytest.mark.parametrize("finite_height", [False, True])
def test_a_tall_puddle_is_answered_neither_way(finite_height: bool) -> None:
    ring = flow.Ring(3.5, 4.0, 10, finite_height)
    radius = (ring.volume_ml / (np.pi * TALLEST)) ** (1 / 3)
    thick = ring.fluid(radius * 1.000001).consistency_pa_sn
    assert ring.reading(flow.Fluid(0.99 * thick)) > radius
    for ask in (lambda: ring.reading(flow.Fluid(1.01 * thick)), lambda: ring.fluid(0.999 * radius)):
        with pytest.raises(
            ReadingError, match="too tall for this test; wait longer, use a lower ring, or use the spatula"
        ):
            ask()
    with pytest.raises(ReadingError, match="too tall"):
        ring.reading(flow.Fluid(np.array([0.5 * thick, 2 * thick])))
