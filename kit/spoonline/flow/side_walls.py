"""What the side walls of a trough hold back: flow in an open channel, and the front of a puddle between two walls.

Two tables stand beside this file. ``channel.csv``: the share F of the free flow that is left in a channel of depth h and width W.
``trough.csv``: how much later the front arrives than without walls. ``python -m spoonline.flow.thin_film`` makes both again.
"""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray
from spoonline.flow.thin_film import INDICES, front_times

CHANNEL, TROUGH = (Path(__file__).with_name(name) for name in ("channel.csv", "trough.csv"))
DEPTHS = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.76, 0.9, 1.05)  # h/W
LOCK_DEPTHS = (0.2, 0.4, 0.6, 0.8, 1.0)  # h0/W
STRETCHES = (1.03, 1.05, 1.08, 1.12, 1.2, 1.3, 1.45, 1.65, 1.9, 2.2, 2.6, 3.1, 3.7, 4.4, 5.2, 6.0)


def channel_share(n: float, depth: float, cells: int = 56) -> float:
    """Flow in a channel over the flow of the same film without walls, solved.

    Parameters
    ----------
    n : float
        Flow index.
    depth : float
        Depth over width, h/W.
    cells : int
        Cells each way over half the channel; the error falls with the square of their number.

    Returns
    -------
    float
        F, 0 to 1.

    Notes
    -----
    Linear triangles for div(eta grad u) = -1, u = 0 on bottom and side, no stress on top and in the middle; viscosity is renewed
    until the flow stands still.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import spsolve

    across = 0.5 / depth * (1 - np.linspace(1, 0, cells + 1) ** 2)[::-1]  # 0.5 W - x, in depths; fine at the side wall
    across = across.max() - across
    up = 1 - np.linspace(1, 0, cells + 1) ** 1.5
    up = np.sort(1 - up)  # fine at the bottom, where shear is
    x, z = (grid.ravel() for grid in np.meshgrid(across, up, indexing="ij"))
    corner = np.arange((cells + 1) ** 2).reshape(cells + 1, cells + 1)
    a, b, c, d = (part.ravel() for part in (corner[:-1, :-1], corner[1:, :-1], corner[:-1, 1:], corner[1:, 1:]))
    tri = np.vstack([np.column_stack([a, b, d]), np.column_stack([a, d, c])])
    px, pz = x[tri], z[tri]
    gx = np.column_stack([pz[:, 1] - pz[:, 2], pz[:, 2] - pz[:, 0], pz[:, 0] - pz[:, 1]])
    gz = np.column_stack([px[:, 2] - px[:, 1], px[:, 0] - px[:, 2], px[:, 1] - px[:, 0]])
    area = 0.5 * np.abs(gz[:, 2] * gx[:, 1] - gz[:, 1] * gx[:, 2])
    gx, gz = gx / (2 * area)[:, None], gz / (2 * area)[:, None]
    rows, columns = np.repeat(tri, 3, axis=1).ravel(), np.tile(tri, (1, 3)).ravel()
    local = (gx[:, :, None] * gx[:, None, :] + gz[:, :, None] * gz[:, None, :]) * area[:, None, None]
    load = np.bincount(tri.ravel(), np.repeat(area / 3, 3), minlength=x.size)
    free = np.flatnonzero((x > 1e-12) & (z > 1e-12))
    u, flow = np.zeros(x.size), 0.0
    eta = np.ones(len(tri))
    for _ in range(400):
        matrix = coo_matrix(((local * eta[:, None, None]).ravel(), (rows, columns)), shape=(x.size,) * 2).tocsr()
        u[free] = spsolve(matrix[free][:, free], load[free])
        before, flow = flow, float(load @ u)
        if abs(flow - before) < 1e-6 * n * flow:
            break
        rate = (gx * u[tri]).sum(axis=1) ** 2 + (gz * u[tri]).sum(axis=1) ** 2
        eta = (rate + 1e-14) ** ((n - 1) / 2)
    return flow / (n / (2 * n + 1) * 0.5 / depth)


@functools.cache
def _channel() -> Any:
    from scipy.interpolate import RectBivariateSpline

    rows = np.loadtxt(CHANNEL, delimiter=",", skiprows=1)
    depths = np.concatenate([[0.0], rows[:, 0]])
    logs = np.vstack([np.zeros(len(INDICES)), np.log(rows[:, 1:])])
    return RectBivariateSpline(depths, np.array(INDICES), logs * np.array(INDICES), kx=3, ky=3, s=0)


def free_share(depth_over_width: ArrayLike, n: ArrayLike) -> Any:
    """Share F of the free flow left between side walls, from the table (h/W 0 to 1.05, n 0.2 to 1.2).

    Examples
    --------
    >>> round(float(free_share(0.5, 1.0)), 3)
    0.422
    """
    index = np.asarray(n, dtype=float)
    return np.exp(_channel().ev(np.asarray(depth_over_width, dtype=float), index) / index)


@functools.cache
def _delay() -> tuple[FloatArray, FloatArray]:
    """Coefficients of ln(delay) in Chebyshev terms of stretch, n and lock depth, and the worst miss of that fit on K."""
    rows = np.loadtxt(TROUGH, delimiter=",", skiprows=1)
    depth, stretch = rows[:, 0], rows[:, 1]
    grid = [np.repeat(each, len(INDICES)) for each in (stretch, depth)]
    index = np.tile(INDICES, len(rows))
    value = np.log(rows[:, 2:]).ravel() * index / grid[1]
    terms = np.polynomial.chebyshev.chebvander3d(*_places(grid[0], index, grid[1]), deg=_DEGREES)
    found = np.linalg.lstsq(terms, value, rcond=None)[0]
    miss = np.max(np.abs((terms @ found - value) * grid[1]))
    return found.reshape([each + 1 for each in _DEGREES]), np.asarray(miss)


_DEGREES = [10, 6, 4]


def _places(stretch: FloatArray, n: FloatArray, depth: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    first, last = np.log(STRETCHES[0]) ** 0.5, np.log(STRETCHES[-1]) ** 0.5
    return (
        2 * (np.log(stretch) ** 0.5 - first) / (last - first) - 1,
        2 * n - 1.4,
        (2 * depth - LOCK_DEPTHS[0] - LOCK_DEPTHS[-1]) / (LOCK_DEPTHS[-1] - LOCK_DEPTHS[0]),
    )


def delay(stretch: ArrayLike, n: ArrayLike, lock_depth: float) -> FloatArray:
    """How many times later the front of a trough arrives than without side walls.

    Parameters
    ----------
    stretch : array
        X, front over lock length, both from the back wall, 1 to 6.
    n : array
        Flow index.
    lock_depth : float
        Depth behind the gate over the width, h0/W, 0.2 to 1.

    Returns
    -------
    array

    Examples
    --------
    >>> float(delay(2.0, 1.0, 0.76)) > float(delay(4.0, 1.0, 0.76)) > 1
    True
    """
    x = np.clip(np.asarray(stretch, dtype=float), STRETCHES[0], STRETCHES[-1])
    x, index, depth = np.broadcast_arrays(x, np.asarray(n, dtype=float), float(lock_depth))
    fit = np.polynomial.chebyshev.chebval3d(*_places(x, index, depth), c=_delay()[0])
    return np.asarray(np.exp(fit * depth / index))


def make_channel(cells: int = 80) -> FloatArray:
    """Rows of h/W, then F for each flow index."""
    return np.array([[depth, *(channel_share(n, depth, cells) for n in INDICES)] for depth in DEPTHS])


def _walled(n: float, lock_depth: float, stretches: FloatArray, cells: int) -> FloatArray:
    def slowing(depth: FloatArray) -> FloatArray:
        return np.asarray(free_share(np.minimum(depth, 1.05) * lock_depth, np.full_like(depth, n)))

    return front_times(n, stretches, planar=True, cells=cells, slowing=slowing)


def make_trough(cells: int = 200) -> FloatArray:
    """Rows of h0/W and X, then the delay for each flow index."""
    stretches, blocks = np.array(STRETCHES), []
    free = [front_times(n, stretches, planar=True, cells=cells) for n in INDICES]
    for depth in LOCK_DEPTHS:
        walls = [_walled(n, depth, stretches, cells) for n in INDICES]
        table = np.column_stack(walls) / np.column_stack(free)
        blocks.append(np.column_stack([np.full(len(stretches), depth), stretches, table]))
    return np.vstack(blocks)


def write() -> None:
    """Solve and write both tables."""
    names = ",".join(f"n{n}" for n in INDICES)
    for path, head, make in ((CHANNEL, "h_over_W,", make_channel), (TROUGH, "h0_over_W,X,", make_trough)):
        np.savetxt(path, make(), fmt="%.6g", delimiter=",", header=head + names, comments="")
        _channel.cache_clear()
        _delay.cache_clear()
