"""Heat leaving a food that stands still: the exact series, and finite differences where the surroundings change."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from spoonline.measures.errors import RecipeError

Array = npt.NDArray[np.float64]
TERMS = 60
# Below these the terms left out would show; the wave from a face has then not met that from another (or the axis).
EARLY_SLAB, EARLY_CYLINDER = 1e-3, 2e-3
SMALLEST_BIOT, LARGEST_BIOT = 1e-9, 1e6


def _checked(*biots: float) -> None:
    if not all(0 <= biot <= LARGEST_BIOT for biot in biots) or max(biots) < SMALLEST_BIOT:
        raise RecipeError(
            f"A Biot number of {max(biots):g} came; one from {SMALLEST_BIOT:g} to {LARGEST_BIOT:g} is wanted."
        )


@lru_cache(maxsize=512)
def slab_roots(biot_low: float, biot_high: float, terms: int = TERMS) -> tuple[float, ...]:
    """Find the roots of the slab, h L/k of its two faces given, L its whole thickness (0: no heat leaves there).

    Notes
    -----
    (z2 - B1 B2) sin z = z (B1 + B2) cos z has one root in each interval of pi (Carslaw and Jaeger). RecipeError if both are 0 or
    one is not from 0 to 1e6.

    Examples
    --------
    >>> round(slab_roots(0.0, 1.0)[0], 4)
    0.8603
    """
    _checked(biot_low, biot_high)

    def left(z: float) -> float:
        return (z * z - biot_low * biot_high) * math.sin(z) - z * (biot_low + biot_high) * math.cos(z)

    return _roots(left, np.append(1e-7, math.pi * np.arange(1, terms)), math.pi * np.arange(1, terms + 1))


def _roots(left: Callable[[float], float], starts: Iterable[float], ends: Iterable[float]) -> tuple[float, ...]:
    from scipy.optimize import brentq

    return tuple(float(brentq(left, a, b, xtol=1e-13)) for a, b in zip(starts, ends, strict=True))


@lru_cache(maxsize=512)
def cylinder_roots(biot: float, terms: int = TERMS) -> tuple[float, ...]:
    """Find the roots of the long cylinder, z J1(z) = Bi J0(z), Bi = h R/k.

    Examples
    --------
    >>> round(cylinder_roots(1.0)[0], 4)
    1.2558
    """
    from scipy.special import j0, j1, jn_zeros

    _checked(biot)
    starts = np.append(1e-7, jn_zeros(1, terms)[:-1])
    return _roots(lambda z: float(z * j1(z) - biot * j0(z)), starts, jn_zeros(0, terms))


def slab(fourier: Array, biot_low: float, biot_high: float, places: Array, terms: int = TERMS) -> Array:
    """Excess temperature of a slab over its surroundings, as a share of that at the start; shape (times, places).

    ``fourier``: diffusivity times time over thickness squared [-]; ``biot_low``, ``biot_high``: h L/k of the lower and the upper
    face [-]; ``places``: 0 at the lower face, 1 at the upper.

    Notes
    -----
    Carslaw and Jaeger, Conduction of Heat in Solids, 1959. At early times, where the series would be cut off, the closed form of
    the half space from each face.

    Examples
    --------
    >>> float(slab(np.array([0.5]), 0.0, 1.0, np.array([0.0]))[0, 0].round(4))
    0.7725
    """
    z = np.array(slab_roots(biot_low, biot_high, terms))
    a = biot_low / z
    whole = np.sin(z) / z + a * (1 - np.cos(z)) / z
    square = (1 + a**2) / 2 + (1 - a**2) * np.sin(2 * z) / (4 * z) + a * np.sin(z) ** 2 / z
    shapes = np.cos(np.outer(places, z)) + a * np.sin(np.outer(places, z))
    decay = np.exp(-np.outer(fourier, z**2))
    found: Array = decay @ (shapes * (whole / square)).T
    if terms == TERMS:
        early = fourier < EARLY_SLAB
        lost = _half_space(fourier[early], biot_low, places) + _half_space(fourier[early], biot_high, 1 - places)
        found[early] = 1 - lost
    return np.clip(found, 0.0, 1.0)


def _half_space(fourier: Array, biot: float, far: Array) -> Array:
    """What a half space has lost at a depth, as a share; shape (times, places)."""
    from scipy.special import erfc, erfcx

    root = np.sqrt(np.maximum(fourier, 1e-12))[:, None]
    near = far / (2 * root)
    lost: Array = erfc(near) - erfcx(near + biot * root) * np.exp(-(near**2))
    return lost


def cylinder(fourier: Array, biot: float, terms: int = TERMS) -> Array:
    """Excess temperature on the axis of a long cylinder, as a share of that at the start; shape (times,).

    Examples
    --------
    >>> float(cylinder(np.array([0.5]), 1.0)[0].round(4))
    0.5486
    """
    from scipy.special import j0, j1

    z = np.array(cylinder_roots(biot, terms))
    weight = 2 / z * j1(z) / (j0(z) ** 2 + j1(z) ** 2)
    found: Array = np.exp(-np.outer(fourier, z**2)) @ weight
    if terms == TERMS:
        found[fourier < EARLY_CYLINDER] = 1.0
    return np.clip(found, 0.0, 1.0)


@dataclass(frozen=True)
class Grid:
    """A food cut into cells: upright planes across the depth, and rings (round) or planes (long) outward from the middle.

    ``depth_m`` and ``half_width_m`` in m; without a half width heat leaves through the two faces only.
    """

    depth_m: float
    half_width_m: float | None = None
    round: bool = True
    cells: int = 48

    def _outward(self, h_side: float, conductivity: float, heat: float) -> tuple[Array, Array]:
        if self.half_width_m is None:
            return np.zeros((1, 1)), np.ones(1)
        edges = np.linspace(0, self.half_width_m, self.cells + 1)
        return _matrix(edges, (0.0, h_side), conductivity, heat, ring=self.round)

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
        out, width = self._outward(h[2], conductivity, heat)
        excess = np.broadcast_to(np.asarray(start, float), (len(up), len(out))) - ambient_c
        root = np.sqrt(width)
        lam_u, vec_u = np.linalg.eigh(up)
        lam_o, vec_o = np.linalg.eigh(out)
        modes = vec_u.T @ (excess * root) @ vec_o
        decay = np.exp(np.multiply.outer(seconds, lam_u[:, None] + lam_o[None, :]))
        found: Array = ambient_c + (vec_u @ (decay * modes) @ vec_o.T) / root
        return found

    def mean(self, temperature: Array) -> Array:
        """Mean over the volume [C] of temperatures of shape (..., planes, rings)."""
        _, width = self._outward(1.0, 1.0, 1.0)
        average: Array = np.average(temperature.mean(axis=-2), axis=-1, weights=width)
        return average


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
