"""Heat leaving a food that stands still, by exact series: what the kit's grid of cells is held against.

Carslaw and Jaeger, Conduction of Heat in Solids, 1959; early times by the closed form of the half space.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import lru_cache

import numpy as np

from spoonline.keeping.cooling import Array
from spoonline.measures.errors import RecipeError

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
