"""What a person may give to the dose curve, checked at the door."""

import itertools
import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoonline.dose.priors import USUAL_SPREAD, Belief, FloatArray, Prior, said
from spoonline.measures import Range, as_said, plain

MOST_G_PER_L = 500.0
# A single figure for the base is a reading of one pot (ln sd, with that pot; judged).
BASE_READ_SD = 0.15
# A base that was worth reading may be anything from a broth to a puree: mean and spread of ln [Pa s] (judged).
ANY_BASE = (math.log(0.03), 1.7)
# No kitchen reads a thickness better than this (ln sd, judged).
LEAST_ERROR = 0.03
# Readings that contradict one another by more standard deviations than this are refused.
CONTRADICTS = 3.0


def positive(values: ArrayLike, what: str, unit: str, flat: bool = True, *, or_none: bool = False) -> FloatArray:
    """Return positive finite numbers as an array of one dimension, or of any where it need not be ``flat``; 0 too where none may be."""
    try:
        array = np.asarray(values, dtype=float)
    except (TypeError, ValueError, OverflowError):
        raise said.error("no numbers", what=what.capitalize(), came=as_said(values), unit=unit) from None
    if flat:
        array = np.atleast_1d(array)
        said.refuse(array.ndim > 1, "a table", what=what.capitalize(), shape=array.shape)
    bad = ~(np.isfinite(array) & ((array > 0) | (or_none & (array == 0))))
    if bad.any():
        where = f" of batch {int(np.flatnonzero(bad)[0]) + 1}" if array.size > 1 else ""
        wanted = "0 or a number above it" if or_none else "a number above 0"
        raise said.error("not above 0", what=what + where, came=array[bad].flat[0], wanted=wanted, unit=unit)
    return array


def relative_errors(values: ArrayLike | None, batches: int, what: str) -> FloatArray:
    """Return one relative error for each batch; 0 where none was given."""
    try:
        array = np.broadcast_to(np.asarray(0.0 if values is None else values, dtype=float), (batches,)).copy()
    except (TypeError, ValueError, OverflowError):
        raise said.error("errors", what=what, came=as_said(values)) from None
    if not np.all(np.isfinite(array) & (array >= 0) & (array < 3)):
        raise said.error("no share", what=what, came=as_said(values))
    return array


def listed(values: Any, what: str) -> list[Any]:
    """Return one of each batch as a list."""
    if isinstance(values, str) or not np.iterable(values):
        raise said.error("no list", what=what.capitalize(), came=values)
    return list(values)


def check_aim(target: float, band: float) -> None:
    """Refuse a target that is no positive number, and a band that is no factor above 1."""
    positive([target], "target", "Pa s")
    said.refuse(not (isinstance(band, (int, float, np.number)) and 1 < band < 1e9), "band", came=as_said(band))


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

    @property
    def pots(self) -> int:
        """How many pots."""
        return int(self.pot.max()) + 1 if self.pot.size else 0

    def alike(self, which: NDArray[np.intp]) -> FloatArray:
        """(n, n): 1 where two readings share the pot, day or tool."""
        return np.equal.outer(which, which).astype(float)

    def last(self, readings: int) -> Self:
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
    said.refuse(not all(counts), "no reading")
    unlike = len(called) != len(pots) or (days is not None and len(days) != len(pots))
    said.refuse(unlike, "one of each", pots=len(pots), numbers=len(called), days=len(days or called))
    number = np.repeat(np.arange(len(pots)), counts)
    dose, viscosity = flat.reshape(-1, 2).T
    dose, viscosity = positive(dose, "dose", "g/L", or_none=True), positive(viscosity, "viscosity", "Pa s")
    if dose.size and dose.max() > MOST_G_PER_L:
        raise said.error("too much", batch=called[number[int(dose.argmax())]], came=dose.max(), most=MOST_G_PER_L)
    own = relative_errors(_flat(relative_error, counts, "relative errors"), dose.size, "reading")
    weighing = relative_errors(dose_rel_sd, len(pots), "dose")[number]
    doubt = np.maximum(own, 0.1) if relative_error is None else np.maximum(own, LEAST_ERROR)
    for before, after in itertools.combinations(range(dose.size), 2) if max(counts, default=0) > 1 else ():
        if number[before] != number[after]:
            continue
        two = {"batch": called[number[after]], "first": dose[before], "then": dose[after]}
        said.refuse(dose[after] < dose[before], "out of order", **two)
        fell = math.log(viscosity[before] / viscosity[after])
        apart = fell if dose[after] > dose[before] else abs(fell)
        contradicts = apart > CONTRADICTS * math.hypot(doubt[before], doubt[after])
        said.refuse(contradicts, "contradicts", **two, read=viscosity[before], later=viscosity[after])
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
        raise said.error("unlike the pots", what=what.capitalize())
    return [each for pot in values for each in pot]


def base_of(base_pa_s: float | Range | None, prior: Prior, read: PotReadings, called: Sequence[int]) -> Belief:
    """Mean and spread of the ln base beside the pots' own readings; a BatchError where a pot with thickener is far thinner."""
    if base_pa_s is None:
        return ANY_BASE if (read.dose == 0).any() else (math.log(prior.base_pa_s), prior.base_ln_sd)
    ends = base_pa_s if isinstance(base_pa_s, Range) else (base_pa_s,) * 3
    best, low, high = (float(positive([plain(each, "Pa s")], "base", "Pa s")[0]) for each in ends)
    said.refuse(not low <= best <= high, "ends", best=best, low=low, high=high)
    spread = math.log(high / low) / 3.29 if high > low else BASE_READ_SD
    dosed = np.flatnonzero(read.dose > 0)
    if dosed.size:
        thinnest = dosed[read.viscosity[dosed].argmin()]
        unsure = math.hypot(spread, USUAL_SPREAD, read.own_sd[thinnest])
        thinner = math.log(best / read.viscosity[thinnest]) > CONTRADICTS * unsure
        known = {"batch": called[read.pot[thinnest]], "came": read.viscosity[thinnest], "base": best}
        said.refuse(thinner, "below its base", **known)
    return math.log(best), spread
