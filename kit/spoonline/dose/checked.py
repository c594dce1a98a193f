"""What a person may give to the dose curve, checked at the door."""

from __future__ import annotations

import itertools
import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoonline.dose.fit import Belief
from spoonline.dose.priors import USUAL_SPREAD, Prior
from spoonline.measures import BatchError, Range, as_said, plain

FloatArray = NDArray[np.float64]
MOST_G_PER_L = 500.0
# A single figure for the base is a reading of one pot (ln sd, with that pot; judged).
BASE_READ_SD = 0.15
# A base that was worth reading may be anything from a broth to a puree: mean and spread of ln [Pa s] (judged).
ANY_BASE = (math.log(0.03), 1.7)
# No kitchen reads a thickness better than this (ln sd, judged).
LEAST_ERROR = 0.03
# Readings that contradict one another by more standard deviations than this are refused.
CONTRADICTS = 3.0


def positive(
    values: ArrayLike, what: str, unit: str, dimensions: int | None = 1, *, or_none: bool = False
) -> FloatArray:
    """Return positive finite numbers as an array of one dimension, or of any where ``dimensions`` is None; 0 too where none may be."""
    try:
        array = np.asarray(values, dtype=float)
    except (TypeError, ValueError, OverflowError):
        raise BatchError(
            f"{what.capitalize()}: {as_said(values)} came; numbers in {unit} are wanted.", values
        ) from None
    if dimensions is not None:
        array = np.atleast_1d(array)
        if array.ndim > dimensions:
            shape = f"a table of shape {array.shape} came"
            raise BatchError(f"{what.capitalize()}: {shape}; one number per batch is wanted.")
    bad = ~(np.isfinite(array) & ((array > 0) | (or_none & (array == 0))))
    if bad.any():
        where = f" of batch {int(np.flatnonzero(bad)[0]) + 1}" if array.size > 1 else ""
        wanted = "0 or a number above it" if or_none else "a number above 0"
        raise BatchError(f"The {what}{where} is {array[bad].flat[0]:g}; {wanted} in {unit} is wanted.", values)
    return array


def relative_errors(values: ArrayLike | None, batches: int, what: str) -> FloatArray:
    """Return one relative error for each batch; 0 where none was given."""
    came = f"Relative error of the {what}: {as_said(values)} came"
    try:
        array = np.broadcast_to(np.asarray(0.0 if values is None else values, dtype=float), (batches,)).copy()
    except (TypeError, ValueError, OverflowError):
        raise BatchError(f"{came}; one number, or one for each batch, is wanted.", values) from None
    if not np.all(np.isfinite(array) & (array >= 0) & (array < 3)):
        raise BatchError(f"{came}; a share such as 0.1 for 10 % is wanted.", values)
    return array


def listed(values: Any, what: str) -> list[Any]:
    """Return one of each batch as a list."""
    if isinstance(values, str) or not np.iterable(values):
        raise BatchError(f"{what.capitalize()}: {values!r} came; a list with one for each batch is wanted.", values)
    return list(values)


def check_aim(target: float, band: float) -> None:
    """Refuse a target that is no positive number, and a band that is no factor above 1."""
    positive([target], "target", "Pa s")
    if not (isinstance(band, (int, float, np.number)) and 1 < band < 1e9):
        wanted = "a factor above 1 is wanted (1.2: target divided by 1.2 to times 1.2)"
        raise BatchError(f"The band is {as_said(band)}; {wanted}.", band)


@dataclass(frozen=True, eq=False)
class PotReadings:
    """All readings one after the other (n,), with the number of their pot, day and tool from 0."""

    dose: FloatArray
    viscosity: FloatArray
    own_sd: FloatArray
    dose_rel_sd: FloatArray
    pot: NDArray[np.intp]
    day: NDArray[np.intp]
    tool: NDArray[np.intp]
    tools: tuple[str, ...]

    def last(self, readings: int) -> PotReadings:
        """Only the last pots, with this many readings at most; pots are numbered anew."""
        if self.dose.size <= readings:
            return self
        first = min(self.pot[-readings] + (self.pot[-readings - 1] == self.pot[-readings]), self.pot[-1])
        whole = np.flatnonzero(self.pot >= first)[-readings:]
        kept = {each.name: getattr(self, each.name)[whole] for each in fields(self)[:-1]}
        return replace(self, **kept | {"pot": kept["pot"] - first})


def readings_of(
    pots: Sequence[Sequence[tuple[float, float]]], relative_error: Any, tool: Any, days: Sequence[Hashable] | None,
    dose_rel_sd: ArrayLike | None, called: Sequence[int],
) -> PotReadings:  # fmt: skip
    """Check what was read of each pot; a BatchError names the pot."""
    try:
        counts = [len(each) for each in pots]
        flat = np.array([[plain(d, "g/L"), plain(v, "Pa s")] for each in pots for d, v in each], dtype=float)
        days = None if days is None else list(days)
        hash(tuple(days or ()))
    except (TypeError, ValueError, OverflowError):
        counts = [0]
    if not all(counts):
        raise BatchError(
            "A pot without a reading, or a reading that is no (dose, viscosity), came; give each pot a list of such pairs of numbers, and "
            "each pot a day where days are given."
        )
    if len(called) != len(pots) or (days is not None and len(days) != len(pots)):
        raise BatchError(
            f"{len(pots)} pots, {len(called)} numbers and {len(days or called)} days came; give one of each a pot."
        )
    number = np.repeat(np.arange(len(pots)), counts)
    dose, viscosity = flat.reshape(-1, 2).T
    dose, viscosity = positive(dose, "dose", "g/L", or_none=True), positive(viscosity, "viscosity", "Pa s")
    if dose.size and dose.max() > MOST_G_PER_L:
        raise BatchError(
            f"Batch {called[number[int(dose.argmax())]]} has a dose of {dose.max():g} g/L; up to {MOST_G_PER_L:g} g per "
            "litre of liquid is wanted, so check the unit and the liquid."
        )
    own = relative_errors(_flat(relative_error, counts, "relative errors"), dose.size, "reading")
    weighing = relative_errors(dose_rel_sd, len(pots), "dose")[number]
    doubt = np.maximum(own, 0.1) if relative_error is None else np.maximum(own, LEAST_ERROR)
    for before, after in itertools.combinations(range(dose.size), 2) if max(counts, default=0) > 1 else ():
        if number[before] != number[after]:
            continue
        if dose[after] < dose[before]:
            raise BatchError(
                f"Batch {called[number[after]]} was read at {dose[before]:g} and then at {dose[after]:g} g/L; give its readings in "
                "order, each with all thickener put in so far."
            )
        fell = math.log(viscosity[before] / viscosity[after])
        apart = fell if dose[after] > dose[before] else abs(fell)
        if apart > CONTRADICTS * math.hypot(doubt[before], doubt[after]):
            raise BatchError(
                f"Batch {called[number[after]]} reads {viscosity[before]:.3g} Pa s at {dose[before]:g} g/L and then {viscosity[after]:.3g} "
                f"Pa s at {dose[after]:g} g/L: read it again, or leave one of the readings out."
            )
    names = np.array(_flat(tool, counts, "tools") or "", dtype=str)
    tools, which = np.unique(np.broadcast_to(names, dose.shape), return_inverse=True)
    on = {day: place for place, day in enumerate(dict.fromkeys([] if days is None else days))}
    day = np.array([on[each] for each in days])[number] if days is not None else number
    own = np.maximum(own, LEAST_ERROR)
    return PotReadings(dose, viscosity, own, weighing, number, day, which, tuple(str(each) for each in tools if each))


def _flat(values: Any, counts: Sequence[int], what: str) -> Any:
    """One figure or name for all, or a list like the pots laid end to end."""
    if values is None or isinstance(values, (str, int, float)):
        return values
    if [len(each) for each in listed(values, what) if isinstance(each, (Sequence, np.ndarray))] != list(counts):
        raise BatchError(
            f"{what.capitalize()} came that are no list like the pots; give one for all, or one for each reading."
        )
    return [each for pot in values for each in pot]


def base_of(base_pa_s: float | Range | None, prior: Prior, read: PotReadings, called: Sequence[int]) -> Belief:
    """Mean and spread of the ln base beside the pots' own readings; a BatchError where a pot with thickener is far thinner."""
    if base_pa_s is None:
        return ANY_BASE if (read.dose == 0).any() else (math.log(prior.base_pa_s), prior.base_ln_sd)
    best, low, high = (
        float(positive([plain(each, "Pa s")], "base", "Pa s")[0])
        for each in (base_pa_s if isinstance(base_pa_s, Range) else (base_pa_s,) * 3)
    )
    if not low <= best <= high:
        raise BatchError(
            f"A base of {best:.3g} ({low:.3g} to {high:.3g}) Pa s came; the ends of a range stand about its middle."
        )
    spread = math.log(high / low) / 3.29 if high > low else BASE_READ_SD
    dosed = np.flatnonzero(read.dose > 0)
    if dosed.size:
        thinnest = dosed[read.viscosity[dosed].argmin()]
        unsure = math.hypot(spread, USUAL_SPREAD, read.own_sd[thinnest])
        if math.log(best / read.viscosity[thinnest]) > CONTRADICTS * unsure:
            raise BatchError(
                f"Batch {called[read.pot[thinnest]]} reads {read.viscosity[thinnest]:.3g} Pa s, far less than the base ({best:.3g} Pa s): "
                "read it again, read the base again, or leave the base out."
            )
    return math.log(best), spread
