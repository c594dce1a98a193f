"""Heat leaving a food that stands still, by finite differences."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Grid:
    """A food cut into cells: upright planes across the depth, and rings (round) or planes (long) outward from the middle.

    ``depth_m`` and ``half_width_m`` in m; without a half width heat leaves through the two faces only.
    """

    depth_m: float
    half_width_m: float | None = None
    round: bool = True
    cells: int = 25  # odd, so that one lies in the middle

    def run(
        self, start: Array | float, ambient_c: float, seconds: Array, h: tuple[float, float, float], conductivity: float, heat: float
    ) -> Array:  # fmt: skip
        """Let it cool from a start [C] under constant surroundings; temperatures [C] of shape (times, planes, rings).

        ``h``: heat transfer at the lower face, the upper face and the side [W/m2 K]; ``conductivity`` and ``heat``: of the food
        [W/m K] and per volume [J/m3 K].

        Notes
        -----
        Central differences on equal cells; in time exact, because the two directions part: the exponential of their sum is the
        product of their exponentials.
        """
        up, _ = _matrix(np.linspace(0, self.depth_m, self.cells + 1), h[:2], conductivity, heat, ring=False)
        out, width = np.zeros((1, 1)), np.ones(1)
        if self.half_width_m is not None:
            edges = np.linspace(0, self.half_width_m, self.cells + 1)
            out, width = _matrix(edges, (0.0, h[2]), conductivity, heat, ring=self.round)
        excess = np.broadcast_to(np.asarray(start, float), (len(up), len(out))) - ambient_c
        root = np.sqrt(width)
        lam_u, vec_u = np.linalg.eigh(up)
        lam_o, vec_o = np.linalg.eigh(out)
        modes = vec_u.T @ (excess * root) @ vec_o
        decay = np.exp(np.multiply.outer(seconds, lam_u[:, None] + lam_o[None, :]))
        found: Array = ambient_c + (vec_u @ (decay * modes) @ vec_o.T) / root
        return found


def _matrix(
    edges: Array, h: tuple[float, float], conductivity: float, heat: float, *, ring: bool
) -> tuple[Array, Array]:
    """The change of each cell by its neighbours, made symmetric; faces of the food join half a cell to the surroundings."""
    d = edges[1] - edges[0]
    volumes, areas = (np.diff(edges**2) / 2, edges) if ring else (np.diff(edges), np.ones(len(edges)))
    films = [
        area / (1 / film + d / (2 * conductivity)) if film > 0 else 0.0
        for film, area in zip(h, areas[[0, -1]], strict=True)
    ]
    joined = np.concatenate([films[:1], conductivity * areas[1:-1] / d, films[1:]])
    made: Array = -np.diag((joined[:-1] + joined[1:]) / volumes)
    off = joined[1:-1] / np.sqrt(volumes[:-1] * volumes[1:])
    return (made + np.diag(off, 1) + np.diag(off, -1)) / heat, volumes
