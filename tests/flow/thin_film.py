"""Spreading of a power-law fluid as a thin film, solved from the start: the table behind the ring and the trough.

    python tests/flow/thin_film.py      solves again and writes master_curve.csv of the kit (minutes)

Lengths in r0 (ring radius, or lock length of a trough), heights in h0, time in
T = ((2n+1)/n) (K/(rho g))^(1/n) r0^((n+1)/n) h0^(-(n+2)/n); then depth-mean speed U = (h^(n+1) |h_r|)^(1/n), and continuity.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from spoonline.flow.fluid import FloatArray
from spoonline.flow.spreading import AXI, INDICES, PLANAR, TABLE

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

    arrived.terminal = True  # type: ignore[attr-defined]  # how scipy is told to stop there
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


# Above twice its start the puddle follows the similarity law with a shifted start of time, to 0.1 % for every flow index.
LATE = (2.15, 2.3, 2.5, 2.75, 3.0, 3.25, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 14.0, 17.0, 20.0)
# Shift of the start of time, by flow index (computed with front_times).
SHIFT = {
    False: (0.4400, 0.1999, 0.1532, 0.1395, 0.1363, 0.1372, 0.1402, 0.1441, 0.1485, 0.1577),
    True: (2.3180, 0.7330, 0.4600, 0.3690, 0.3295, 0.3106, 0.3015, 0.2977, 0.2969, 0.2999),
}


def prefactor(n: float, *, planar: bool) -> float:
    """xi of the similarity law, from the volume of its shape; Huppert 1982 prints 0.894 and 1.411 for n = 1."""
    curve = PLANAR if planar else AXI
    exponent, volume = curve.exponent(n), curve.volume_integral(n) * (1 if planar else 2 * np.pi)
    power = (n + 2) / n
    return float(((1 / exponent) * ((n + 1) / (n + 2)) ** (1 / n) * volume**-power) ** exponent)


def late_prefactor(n: float, *, planar: bool) -> float:
    """E in X = E tau^beta, late."""
    return prefactor(n, planar=planar) * (1.0 if planar else np.pi ** ((n + 2) / (3 * n + 5)))


def late_times(n: float, shift: float, stretches: FloatArray, *, planar: bool) -> FloatArray:
    """Times of the shifted similarity law."""
    exponent = float((PLANAR if planar else AXI).exponent(n))
    return np.asarray((stretches / late_prefactor(n, planar=planar)) ** (1 / exponent) - shift)


def make_table(cells: int = 400) -> FloatArray:
    """All rows: geometry (0 ring, 1 trough), X, then tau for each flow index."""
    early, late = np.array(STRETCHES), np.array(LATE)
    blocks = []
    for planar in (False, True):
        times = [
            np.append(front_times(n, early, planar=planar, cells=cells), late_times(n, shift, late, planar=planar))
            for n, shift in zip(INDICES, SHIFT[planar], strict=True)
        ]
        places = np.append(early, late)
        blocks.append(np.column_stack([np.full(len(places), float(planar)), places, *times]))
    return np.vstack(blocks)


def write(rows: FloatArray) -> None:
    head = "planar,X," + ",".join(f"tau_n{n}" for n in INDICES)
    np.savetxt(TABLE, rows, fmt=["%d", "%g"] + ["%.6g"] * len(INDICES), delimiter=",", header=head, comments="")


if __name__ == "__main__":
    write(make_table())
