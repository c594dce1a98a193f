"""What a person may give to the dose curve, checked at the door."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoonline.measures.errors import BatchError

FloatArray = NDArray[np.float64]


def positive(values: ArrayLike, what: str, unit: str, dimensions: int | None = 1) -> FloatArray:
    """Return positive finite numbers as an array of one dimension, or of any where ``dimensions`` is None."""
    try:
        array = np.asarray(values, dtype=float)
    except (TypeError, ValueError):
        raise BatchError(f"{what.capitalize()}: {values!r} came; numbers in {unit} are wanted.", values) from None
    if dimensions is not None:
        array = np.atleast_1d(array)
        if array.ndim > dimensions:
            shape = f"a table of shape {array.shape} came"
            raise BatchError(f"{what.capitalize()}: {shape}; one number per batch is wanted.")
    bad = ~(np.isfinite(array) & (array > 0))
    if bad.any():
        where = f" of batch {int(np.flatnonzero(bad)[0]) + 1}" if array.size > 1 else ""
        base = what == "dose" and (array == 0).any()
        hint = " (a pot without thickener is the base: give its reading as base_pa_s)" if base else ""
        came = f"The {what}{where} is {array[bad].flat[0]:g}"
        raise BatchError(f"{came}; a number above 0 in {unit} is wanted{hint}.", values)
    return array


def relative_errors(values: ArrayLike | None, batches: int, what: str) -> FloatArray:
    """Return one relative error for each batch; 0 where none was given."""
    came = f"Relative error of the {what}: {values!r} came"
    try:
        array = np.broadcast_to(np.asarray(0.0 if values is None else values, dtype=float), (batches,)).copy()
    except (TypeError, ValueError):
        raise BatchError(f"{came}; one number, or one for each batch, is wanted.", values) from None
    if not np.all(np.isfinite(array) & (array >= 0) & (array < 3)):
        raise BatchError(f"{came}; a share such as 0.1 for 10 % is wanted.", values)
    return array


def check_aim(target: float, band: float) -> None:
    """Refuse a target that is no positive number, and a band that is no factor above 1."""
    positive([target], "target", "Pa s")
    if not (np.isfinite(band) and band > 1):
        wanted = "a factor above 1 is wanted (1.2: target divided by 1.2 to times 1.2)"
        raise BatchError(f"The band is {band!r}; {wanted}.", band)
