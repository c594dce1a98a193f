"""Spreading of a power-law fluid as a thin film, solved from the start: the table behind the ring and the trough.

    python -m spoonline.flow.thin_film      solves again and writes the tables beside this file (minutes)

Lengths in r0 (ring radius, or lock length of a trough), heights in h0, time in
T = ((2n+1)/n) (K/(rho g))^(1/n) r0^((n+1)/n) h0^(-(n+2)/n); then depth-mean speed U = (h^(n+1) |h_r|)^(1/n), and continuity.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from spoonline.flow.fluid import FloatArray

TABLE = Path(__file__).with_name("master_curve.csv")
INDICES = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2)
STRETCHES = (
    1.02, 1.03, 1.04, 1.05, 1.065, 1.08, 1.1, 1.125, 1.15, 1.175, 1.2, 1.225, 1.25, 1.275, 1.3, 1.325, 1.35, 1.375, 1.4,
    1.45, 1.5, 1.55, 1.6, 1.65, 1.7, 1.8, 1.9, 2.0,
)  # fmt: skip


def front_times(
    n: float, stretches: FloatArray, *, planar: bool = False, cells: int = 400,
    slowing: Callable[[FloatArray], FloatArray] | None = None,
) -> FloatArray:  # fmt: skip
    """Dimensionless time at which the front of a ring (or trough) reaches each stretch X = r/r0, increasing and above 1.

    ``slowing``: share of the free flow that side walls leave, from the depth [h0]. The error falls with about the square of the
    number of cells. Flow index n 0.2 to 1.2.

    Notes
    -----
    Lagrangian: parcels of fixed volume, finer toward the front, whose walls move with the fluid, so volume is kept exactly. In
    G = h^(n+2) the speed is (|G_r|/(n+2))^(1/n), and G falls linearly to 0 at the front.
    """
    from scipy.integrate import solve_ivp

    share = 1 - np.linspace(1, 0, cells + 1) ** 2.2  # walls, by volume from the centre; crowded at the front
    power, volume = 1 / (n + 2), np.diff(share)
    start = share if planar else np.sqrt(share)
    # For n > 1 the power has no slope of its own at 0, where the inside has not moved yet; a trace of width gives it one.
    still = 1e-3 if n > 1 else 0.0 if n == 1 else 1e-30

    def speed(_time: float, wall: FloatArray) -> FloatArray:
        full = np.concatenate([[0.0], wall])
        # A trial step of the solver may cross two walls; it is then refused, but must not stop on a root of a negative figure.
        height = volume / np.maximum(np.diff(full if planar else full**2), 1e-9)
        level, width = height ** (n + 2), np.diff(full)
        front = ((1 + power) * height[-1]) ** (n + 2) / width[-1]
        # At first the front parcel is still a block: its middle can stand no higher than its neighbour.
        level[-1] = min(front * width[-1] / 2, level[-1])
        slope = np.append(-np.diff(level) / np.diff(0.5 * (full[1:] + full[:-1])), front) / (n + 2)
        out: FloatArray = slope * (slope**2 + still**2) ** ((1 / n - 1) / 2)
        if slowing is not None:
            out[:-1] *= slowing(0.5 * (height[:-1] + height[1:]))
        return out

    def arrived(_time: float, wall: FloatArray) -> float:
        return float(wall[-1] - stretches[-1] * 1.0001)

    arrived.terminal = True  # type: ignore[attr-defined]
    run: Any = None
    for end in (3e3 if n >= 0.6 else 2e6) * 100.0 ** np.arange(8):
        run = solve_ivp(
            speed, (0.0, end), start[1:], method="LSODA", events=arrived, lband=1, uband=1, rtol=1e-7, atol=1e-12
        )
        if run.status == 1:
            break
    front = run.y[-1]
    keep = np.concatenate([[True], np.diff(front) > 0]) & (run.t > 0)
    return np.asarray(np.exp(np.interp(np.log(stretches - 1), np.log(front[keep] - 1), np.log(run.t[keep]))))


def make_table(cells: int = 400) -> FloatArray:
    """All rows: geometry (0 ring, 1 trough), X, then tau for each flow index."""
    stretches = np.array(STRETCHES)
    blocks = []
    for planar in (False, True):
        times = [front_times(n, stretches, planar=planar, cells=cells) for n in INDICES]
        blocks.append(np.column_stack([np.full(len(stretches), float(planar)), stretches, *times]))
    return np.vstack(blocks)


def main() -> None:
    """Solve and write the tables, those of the trough with its side walls too."""
    head = "planar,X," + ",".join(f"tau_n{n}" for n in INDICES)
    np.savetxt(TABLE, make_table(), fmt=["%d", "%g"] + ["%.6g"] * len(INDICES), delimiter=",", header=head, comments="")
    from spoonline.flow import side_walls

    side_walls.write()


if __name__ == "__main__":
    main()
