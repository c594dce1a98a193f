"""Shared by the flow tests and experiments: every instrument's whole window, an independent solver, a synthetic kitchen."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from spoonline import flow
from spoonline.flow.ring import TALLEST, THINNEST_MM
from spoonline.measures.errors import ReadingError

Z95 = 1.959963984540054


def windows(rng: np.random.Generator) -> Iterator[tuple[flow.Instrument, float, float]]:
    """Each instrument, of random size, with the least and the most it reads."""
    for finite in (False, True):
        ring = flow.Ring(rng.uniform(1.5, 5), rng.uniform(1, 5), rng.uniform(5, 120), finite_height=finite)
        low = max(1.001 * ring.radius_cm, 1.0001 * (ring.volume_ml / (np.pi * TALLEST)) ** (1 / 3))
        high = np.sqrt(ring.volume_ml / (np.pi * THINNEST_MM / 10))
        if high > low:
            yield ring, low, high
    spatula = flow.Spatula(rng.uniform(3, 12), rng.uniform(2, 12), rng.uniform(5, 60))
    area = spatula.length_cm * spatula.width_cm
    yield spatula, 0.005 * area, 0.3 * area
    yield flow.Trough(rng.uniform(50, 120), rng.uniform(5, 120)), 0.1, 23.99
    nozzle = rng.uniform(1.7, 2.3)
    yield flow.Syringe(nozzle_mm=nozzle, loss=rng.uniform(0.5, 1.5), seconds=rng.uniform(8, 20)), 0.2, 9.8
    for cup, law in flow.CUPS.items():
        yield flow.FlowCup(cup), law.shortest_s, law.longest_s


def worst_round_trip(count: int, seed: int) -> dict[str, float]:
    """Greatest relative error on K and on the reading, there and back, by instrument; ``count`` fluids each."""
    rng = np.random.default_rng(seed)
    worst: dict[str, float] = {}
    for tool, low, high in windows(rng):
        reading = np.exp(rng.uniform(np.log(low), np.log(high), count))
        n, rho = rng.uniform(0.2, 1.2, count), rng.uniform(950, 1300, count)
        reading[:2], n[:4] = (low, high), (0.2, 1.2, 1.2, 0.2)
        there = tool.fluid(reading, n, rho)
        shown = np.clip(tool.reading(there), low, high)
        back = tool.fluid(shown, n, rho)
        errors = (shown / reading - 1, back.consistency_pa_sn / there.consistency_pa_sn - 1)
        name = tool.name + (", corrected" if getattr(tool, "finite_height", False) else "")
        worst[name] = max(worst.get(name, 0.0), *(float(np.max(np.abs(each))) for each in errors))
    return worst


def eulerian_front(
    n: float, times: np.ndarray, *, planar: bool, cells: int, far: float = 2.4
) -> tuple[np.ndarray, float]:
    """Front of a thin film on a grid that stands still, and its volume over that at the start.

    Finite volumes for h_t + div(h U) = 0, U = (h^(n+1) |h_r|)^(1/n); the front is where a line through G = h^(n+2) meets 0. The
    kit's own solver moves parcels instead (Lagrangian).
    """
    from scipy.integrate import solve_ivp

    edge = np.linspace(0, far, cells + 1)
    step, middle = edge[1], 0.5 * (edge[1:] + edge[:-1])
    size = np.diff(edge if planar else edge**2 / 2)
    wall = np.ones(cells + 1) if planar else edge
    start = np.where(edge[1:] <= 1 + 1e-9, 1.0, 0.0)
    assert start @ size == size[middle < 1].sum()

    def rate(_time: float, height: np.ndarray) -> np.ndarray:
        h = np.maximum(height, 0.0)
        g = h ** (n + 2)
        drop = (g[:-1] - g[1:]) / (step * (n + 2))
        speed = np.sign(drop) * (drop * drop + 1e-24) ** (0.5 / n)
        flux = np.zeros(cells + 1)
        flux[1:-1] = wall[1:-1] * speed * 0.5 * (h[:-1] + h[1:])
        return -np.diff(flux) / size

    run = solve_ivp(rate, (0, times[-1]), start, method="LSODA", t_eval=times, lband=1, uband=1, rtol=1e-6, atol=1e-9)
    fronts = []
    for height in run.y.T:
        last = np.flatnonzero(height > 0.05 * height.max())[-1]
        near = slice(last - 10, last - 1)
        slope, level = np.polyfit(middle[near], height[near] ** (n + 2), 1)
        fronts.append(-level / slope)
    return np.array(fronts), float(run.y[:, -1] @ size / (start @ size))


def synthetic_kitchen(count: int, seed: int) -> dict[str, float]:
    """Ring and spatula, 1 mm and 0.1 g of noise: how often the 95 % ranges hold the truth, and how wide they are.

    The true fluids are drawn over soups and sauces that both tests read without doubt; times, volume and the method of the ring
    (its correction for height) err as ``interval`` says they do.
    """
    rng = np.random.default_rng(seed)
    held: dict[float, list[bool]] = {1.0: [], 50.0: []}
    width: dict[float, list[float]] = {1.0: [], 50.0: []}
    alone: dict[str, list[bool]] = {"ring": [], "spatula": []}
    no_answer = 0
    while len(held[1.0]) < count:
        k, n = np.exp(rng.uniform(np.log(2), np.log(25))), rng.uniform(0.3, 1.0)
        truth = flow.Fluid(k, n)
        ring, spatula = flow.Ring(3.5, 2.0, 10.0, finite_height=True), flow.Spatula(8.0, 10.0, 10.0)
        if any(tool.flags(tool.reading(truth)) for tool in (ring, spatula)):
            continue
        real_ring = flow.Ring(3.5, 2.0 * np.exp(rng.normal(0, 0.01)), 10 + rng.normal(0, 0.3), finite_height=True)
        real_spatula = flow.Spatula(8.0, 10.0, 10 + rng.normal(0, 0.3))
        bias = np.exp(rng.normal() * ring.own_ln_sd(float(ring.reading(truth))))
        stuck = np.exp(rng.normal() * spatula.own_ln_sd(float(spatula.reading(truth))))
        readings = (
            real_ring.reading(flow.Fluid(k * bias, n)) + rng.normal(0, 0.1),
            real_spatula.reading(flow.Fluid(k * stuck, n)) + rng.normal(0, 0.1),
        )
        for tool, shown, sd in zip((ring, spatula), readings, (0.1, 0.1), strict=True):
            rate = float(tool.shear_rate(truth))
            band = tool.interval(shown, sd, flow_index=n, at_shear_rate=rate)
            alone[tool.name].append(bool(band.low <= truth.viscosity(rate) <= band.high))
        try:
            found = flow.fluid_from(list(zip((ring, spatula), readings, strict=True)), reading_sds=(0.1, 0.1))
        except ReadingError:
            no_answer += 1
            for values in held.values():
                values.append(False)
            continue
        for rate, values in held.items():
            band = found.viscosity_range(rate)
            values.append(bool(band.low <= truth.viscosity(rate) <= band.high))
            width[rate].append(float(band.high / band.best))
    result = {f"held at {rate:g} 1/s": float(np.mean(values)) for rate, values in held.items()}
    result |= {f"median factor at {rate:g} 1/s": float(np.median(values)) for rate, values in width.items()}
    result |= {f"held, {name} alone": float(np.mean(values)) for name, values in alone.items()}
    return result | {"no answer": no_answer / count}
