"""How fast a million ring readings of mixed flow index turn into consistencies, as ratios.

Run with ``pytest tests/benchmarks/test_flow_inverse.py --benchmark-only -o addopts=--import-mode=importlib``; the ratios are
printed at the end: to one bare numpy power of the same size, and to scipy's brentq, one reading at a time (wanted: at least 100 times quicker).
"""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from scipy.optimize import brentq

from spoonline.flow import Ring
from spoonline.flow.spreading import AXI

SIZE, SOME = 1_000_000, 500
RING = Ring(3.5, 2.0, 30.0)
RNG = np.random.default_rng(1)
INDEX, RADIUS = RNG.uniform(0.25, 1.1, SIZE), RNG.uniform(4.7, 8.0, SIZE)


# The lean forward law in plain Python floats, the constants of each index worked out beforehand: as quick as one by one can be.
LATE = np.flatnonzero(2 * RING.radius_cm < RADIUS)[:SOME]
BETA = AXI.exponent(INDEX[LATE])
SHIFT = (1e4 / np.exp(AXI.ln_time(1e4, INDEX[LATE])) ** BETA, BETA)
ORIGIN = (2.5 / SHIFT[0]) ** (1 / SHIFT[1]) - np.exp(AXI.ln_time(2.5, INDEX[LATE]))


def one_by_one() -> np.ndarray:
    """The inverse by root finding on the shifted similarity law."""
    r0, h0, weight = RING.radius_cm / 100, RING.height_cm / 100, 1050 * 9.80665

    def miss(ln_k: float, radius: float, n: float, e: float, beta: float, origin: float) -> float:
        unit = (2 * n + 1) / n * (math.exp(ln_k) / weight) ** (1 / n) * r0 ** ((n + 1) / n) * h0 ** (-(n + 2) / n)
        return RING.radius_cm * e * (RING.seconds / unit + origin) ** beta - radius

    rows = np.column_stack([RADIUS[LATE], INDEX[LATE], *SHIFT, ORIGIN]).tolist()
    return np.exp([brentq(miss, -5.0, 10.0, args=tuple(row), xtol=1e-10) for row in rows])


def quickest(work, rounds: int) -> float:
    times = []
    for _ in range(rounds):
        start = time.process_time()  # of this process alone: other work on the machine is not counted
        work()
        times.append(time.process_time() - start)
    return min(times)


def test_both_ways_agree() -> None:
    """The kit reads its table once, with no search to finish; the lean way searches the late law.

    They differ by the table's spline where it joins the law to the solver, right above twice the start: by 1.3e-4 at most (n = 1.1,
    X = 2.03), by 4e-6 in half of all. Both rest on the same numbers, and a reading is good to 1e-2.
    """
    apart = np.abs(one_by_one() / RING.fluid(RADIUS[LATE], INDEX[LATE]).consistency_pa_sn - 1)
    assert apart.max() < 2e-4 and np.median(apart) < 1e-5


@pytest.mark.benchmark(group="flow")
def test_a_million_readings(benchmark, record_property) -> None:
    benchmark.pedantic(lambda: RING.fluid(RADIUS, INDEX), rounds=7, warmup_rounds=1)
    whole = quickest(lambda: RING.fluid(RADIUS, INDEX), 7)
    power = quickest(lambda: 2.5 * RADIUS ** -(3 * INDEX + 5), 7)
    single = quickest(one_by_one, 3) * SIZE / len(LATE)
    record_property("times one bare power of that size", round(whole / power, 1))
    record_property("times quicker than root finding one by one", round(single / whole))
    # loosely: a bare power takes 2 to 10 ns by machine, the inverse some 120 ns a reading
    assert whole / power < 150
    assert single / whole > 50
