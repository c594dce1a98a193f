"""What the side walls of a trough hold back: flow in an open channel, and the front of a puddle between two walls.

    python tests/flow/side_walls.py      solves again and writes channel.csv beside this file and trough.csv of the kit (minutes)

``channel.csv``: the share F of the free flow that is left in a channel of depth h and width W. ``trough.csv``: how much later the
front arrives than without walls.
"""

from __future__ import annotations

import functools
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from flow.thin_film import front_times
from spoonline.flow.fluid import FloatArray
from spoonline.flow.spreading import INDICES
from spoonline.flow.trough import TROUGH

CHANNEL = Path(__file__).with_name("channel.csv")
DEPTHS = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.76, 0.9, 1.05)  # h/W
LOCK_DEPTHS = (0.2, 0.4, 0.6, 0.8, 1.0)  # h0/W
STRETCHES = (1.03, 1.05, 1.08, 1.12, 1.2, 1.3, 1.45, 1.65, 1.9, 2.2, 2.6, 3.1, 3.7, 4.4, 5.2, 6.0)


def channel_share(n: float, depth: float, cells: int = 56) -> float:
    """Flow in a channel of depth h/W over that of the same film without walls, solved on cells x cells of half the channel.

    Notes
    -----
    Linear triangles for div(eta grad u) = -1, u = 0 on bottom and side, no stress on top and in the middle; viscosity is renewed
    until the flow stands still. The error falls with the square of the number of cells.
    """
    from scipy.sparse import csr_array, diags_array
    from scipy.sparse.linalg import spsolve

    steps = np.linspace(0, 1, cells + 1)
    # In depths, from the side wall and from the bottom; fine at the wall, and at the bottom, where shear is.
    x, z = (grid.ravel() for grid in np.meshgrid(0.5 / depth * steps**2, steps**1.5, indexing="ij"))
    corner = np.arange((cells + 1) ** 2).reshape(cells + 1, cells + 1)
    a, b, c, d = (part.ravel() for part in (corner[:-1, :-1], corner[1:, :-1], corner[:-1, 1:], corner[1:, 1:]))
    tri = np.vstack([np.column_stack([a, b, d]), np.column_stack([a, d, c])])
    ahead, behind = np.roll(tri, -1, axis=1), np.roll(tri, 1, axis=1)
    gx, gz = z[ahead] - z[behind], x[behind] - x[ahead]
    area = 0.5 * np.abs(gz[:, 2] * gx[:, 1] - gz[:, 1] * gx[:, 2])
    load = np.bincount(tri.ravel(), np.repeat(area / 3, 3), minlength=x.size)
    free = np.flatnonzero((x > 1e-12) & (z > 1e-12))
    # The gradient of each triangle from the speed at each free corner.
    place = (np.repeat(np.arange(len(tri)), 3), tri.ravel())
    shape = (len(tri), x.size)
    over_x, over_z = (csr_array(((each / (2 * area)[:, None]).ravel(), place), shape)[:, free] for each in (gx, gz))
    flow, eta = 0.0, np.ones(len(tri))
    for _ in range(400):
        held: Any = diags_array(eta * area)
        u = spsolve((over_x.T @ held @ over_x + over_z.T @ held @ over_z).tocsc(), load[free])
        before, flow = flow, float(load[free] @ u)
        if abs(flow - before) < 1e-6 * n * flow:
            break
        eta = ((over_x @ u) ** 2 + (over_z @ u) ** 2 + 1e-14) ** ((n - 1) / 2)
    return flow / (n / (2 * n + 1) * 0.5 / depth)


@functools.cache
def _channel() -> Any:
    from scipy.interpolate import RectBivariateSpline

    rows = np.loadtxt(CHANNEL, delimiter=",", skiprows=1)
    logs = np.vstack([np.zeros(len(INDICES)), np.log(rows[:, 1:])])
    return RectBivariateSpline(np.append(0.0, rows[:, 0]), np.array(INDICES), logs * np.array(INDICES))


def free_share(depth_over_width: ArrayLike, n: ArrayLike) -> Any:
    """Share F of the free flow left between side walls, from the table (h/W 0 to 1.05, n 0.2 to 1.2).

    Examples
    --------
    >>> round(float(free_share(0.5, 1.0)), 3)
    0.422
    """
    index = np.asarray(n, dtype=float)
    return np.exp(_channel().ev(np.asarray(depth_over_width, dtype=float), index) / index)


def make_channel(cells: int = 80) -> FloatArray:
    """Rows of h/W, then F for each flow index."""
    return np.array([[depth, *(channel_share(n, depth, cells) for n in INDICES)] for depth in DEPTHS])


def make_trough(cells: int = 200) -> FloatArray:
    """Rows of h0/W and X, then the delay for each flow index."""
    stretches = np.array(STRETCHES)

    def fronts(lock: float) -> FloatArray:
        def slowing(n: float) -> Callable[[FloatArray], FloatArray]:
            return lambda depth: np.asarray(free_share(np.minimum(depth, 1.05) * lock, n))

        each = [front_times(n, stretches, planar=True, cells=cells, slowing=slowing(n)) for n in INDICES]
        return np.column_stack(each)

    free = fronts(0.0)
    rows = [np.column_stack([np.full_like(stretches, lock), stretches, fronts(lock) / free]) for lock in LOCK_DEPTHS]
    return np.vstack(rows)


def write() -> None:
    """Solve and write both tables."""
    names = ",".join(f"n{n}" for n in INDICES)
    for path, head, make in ((CHANNEL, "h_over_W,", make_channel), (TROUGH, "h0_over_W,X,", make_trough)):
        np.savetxt(path, make(), fmt="%.6g", delimiter=",", header=head + names, comments="")
        _channel.cache_clear()


if __name__ == "__main__":
    write()
