"""Exact series against finite differences on random pots: the worst difference; and whether the energy adds up.

python tests/experiments/keeping_cooling.py [cases]
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from keeping.series import cylinder, slab
from spoonline.keeping import Food, Grid

HALF = np.array([0.5])


def diffusivity(food: Food) -> float:
    """Thermal diffusivity [m2/s]."""
    return food.conductivity_w_m_k / food.heat_j_m3_k


def compare(cases: int, seed: int = 8) -> dict[str, float]:
    """Worst difference of the middle's excess temperature [share of its start], and of heat lost to heat gone."""
    rng = np.random.default_rng(seed)
    worst, worst_energy, differences = 0.0, 0.0, []
    for _ in range(cases):
        food = Food(rng.uniform(0.4, 0.65), rng.uniform(980, 1100), rng.uniform(3200, 4150))
        depth, radius = rng.uniform(0.015, 0.25), rng.uniform(0.08, 0.25)
        films = tuple(float(np.exp(rng.uniform(np.log(3), np.log(500)))) for _ in range(3))
        shape = rng.choice(["wide", "round", "long"])
        k, heat = food.conductivity_w_m_k, food.density_kg_m3 * food.heat_capacity_j_kg_k
        seconds = np.geomspace(0.001, 2.0, 12) * depth**2 / diffusivity(food)
        exact = slab(seconds * diffusivity(food) / depth**2, films[0] * depth / k, films[1] * depth / k, HALF)[:, 0]
        if shape == "round":
            exact = exact * cylinder(seconds * diffusivity(food) / radius**2, films[2] * radius / k)
        elif shape == "long":
            wide = 2 * radius
            exact = (
                exact
                * slab(seconds * diffusivity(food) / wide**2, films[2] * wide / k, films[2] * wide / k, HALF)[:, 0]
            )
        grid = Grid(depth, None if shape == "wide" else radius, shape == "round", 64)
        field = grid.run(1.0, 0.0, seconds, films, k, heat)
        middle = (field[:, 31, 0] + field[:, 32, 0]) / 2
        if shape != "wide":
            # The first cell's middle lies half a cell from the axis; carry it back along the parabola of its neighbour.
            inner = [(field[:, 31, n] + field[:, 32, n]) / 2 for n in (0, 1)]
            middle = inner[0] + (inner[0] - inner[1]) / 8
        difference = float(np.abs(middle - exact).max())
        differences.append(difference)
        worst = max(worst, difference)
        worst_energy = max(worst_energy, energy_fault(grid, food, films))
    return {"cases": cases, "worst": worst, "median": float(np.median(differences)), "worst energy fault": worst_energy}


def energy_fault(grid: Grid, food: Food, films: tuple[float, float, float]) -> float:
    """Heat through the faces, summed over time, against heat gone from the food, as a share of the heat held at the start."""
    k, heat = food.conductivity_w_m_k, food.density_kg_m3 * food.heat_capacity_j_kg_k
    # Three-point Gauss in each of many stretches that grow: the flow is steep at first.
    edges = np.concatenate([[0.0], np.geomspace(1e-4, 0.5, 60) * grid.depth_m**2 / diffusivity(food)])
    nodes, weights = np.polynomial.legendre.leggauss(5)
    middle, half = (edges[1:] + edges[:-1]) / 2, np.diff(edges) / 2
    times = (middle[:, None] + half[:, None] * nodes).ravel()
    field = grid.run(1.0, 0.0, np.append(times, edges[-1]), films, k, heat)
    upright = grid.depth_m / grid.cells
    flow = np.zeros(len(times))
    across = np.ones(1)
    if grid.half_width_m is not None:
        rings = np.linspace(0, grid.half_width_m, grid.cells + 1)
        across = np.diff(rings**2) / 2 if grid.round else np.diff(rings)
    area = across.sum()
    for film, layer in ((films[0], field[:-1, 0]), (films[1], field[:-1, -1])):
        through = 1 / (1 / film + upright / (2 * k))
        flow += through * (layer * across).sum(axis=1) / (area * grid.depth_m)
    if grid.half_width_m is not None:
        outward = grid.half_width_m / grid.cells
        through = 1 / (1 / films[2] + outward / (2 * k))
        rim = grid.half_width_m if grid.round else 1.0
        flow += through * field[:-1, :, -1].mean(axis=1) * rim / area
    lost = float((flow.reshape(len(middle), -1) * weights * half[:, None]).sum())
    gone = heat * (1.0 - float(np.average(field[-1].mean(axis=0), weights=across)))
    return abs(lost - gone) / heat


if __name__ == "__main__":
    found = compare(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
    for name, value in found.items():
        print(f"{name}: {value:.3g}")
