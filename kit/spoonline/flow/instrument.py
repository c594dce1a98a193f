"""What every instrument shares: both ways of reading, checked, and an honest interval."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, above_zero, halved, in_chunks, plain
from spoonline.measures.doors import settle, takes_quantities
from spoonline.measures.errors import ReadingError
from spoonline.measures.ranges import Range

Z95 = 1.959963984540054
LEAST_INDEX, MOST_INDEX = 0.2, 1.2
Said = Mapping[str, Any]  # sentences, and whether each is so


@dataclass(frozen=True)
class Instrument(ABC):
    """A kitchen test of thickness: forward (:meth:`reading`) and back (:meth:`fluid`).

    A kind of instrument says how reading and consistency hang together (``_shown``, ``_consistency``), what it cannot read
    (``_refusals``) and what is doubtful (``_doubts``).
    """

    name: ClassVar[str] = ""
    unit: ClassVar[str] = ""
    volume_field: ClassVar[str | None] = None
    own_sd: ClassVar[float] = 0.0

    def __post_init__(self) -> None:
        settle(self)
        for name, value in vars(self).items():
            if isinstance(value, (int, float)) and not isinstance(value, bool) and not above_zero(value):
                raise ReadingError(f"The {self.name}'s {name} came as {value!r}; a figure above 0 is wanted.")

    def reading(self, fluid: Fluid) -> Any:
        """What the test would show, in its own unit; ReadingError for a flow index outside 0.2 to 1.2."""
        checked_index(fluid.flow_index)
        return plain(self._shown(*np.broadcast_arrays(*fluid.parts)))

    @takes_quantities
    def fluid(self, reading: ArrayLike, flow_index: ArrayLike = 1.0, density_kg_m3: ArrayLike = 1050.0) -> Fluid:
        """The fluid of this flow index [-] and density [kg/m3] that would show this reading.

        Raises
        ------
        ReadingError
            If the reading is no figure above 0 or one that this tool cannot give, or the flow index lies outside 0.2 to 1.2.
        """
        shown, n = checked(reading, self.name, self.unit), checked_index(flow_index)
        rho = np.asarray(density_kg_m3, dtype=float)
        for said in so(self._refusals(shown, n, rho)):
            raise ReadingError(said)
        return Fluid(plain(in_chunks(self._consistency, shown, n, rho)), flow_index, density_kg_m3)

    @abstractmethod
    def _shown(self, k: FloatArray, n: FloatArray, rho: FloatArray) -> Any: ...

    @abstractmethod
    def _consistency(self, shown: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray: ...

    @abstractmethod
    def _refusals(self, shown: FloatArray, n: FloatArray, rho: FloatArray) -> Said: ...

    @abstractmethod
    def _doubts(self, reading: float) -> Said: ...

    def _searched(
        self, k: FloatArray, n: FloatArray, rho: FloatArray, low: Any, high: Any, *, rising: bool
    ) -> FloatArray:
        """The reading between two ends whose consistency is k."""
        return halved(lambda shown: (self._consistency(shown, n, rho) < k) == rising, low, high)

    @abstractmethod
    def shear_rate(self, fluid: Fluid) -> Any:
        """The shear rate the test works at [1/s]."""

    @takes_quantities
    def flags(self, reading: float) -> tuple[str, ...]:
        """What is doubtful about a reading, one sentence each."""
        return so(self._doubts(reading))

    def own_ln_sd(self, reading: float) -> float:
        """Standard uncertainty of the method itself, on ln viscosity."""
        return self.own_sd

    @takes_quantities
    def interval(
        self, reading: float, reading_sd: float, *, flow_index: float = 1.0, flow_index_sd: float = 0.0,
        density_kg_m3: float = 1050.0, volume_rel_sd: float = 0.01, seconds_sd: float = 0.3, at_shear_rate: float | None = None,
    ) -> Range:  # fmt: skip
        """Viscosity [Pa s] with its 95 % interval.

        Parameters
        ----------
        reading, reading_sd : float
            Reading and its standard uncertainty, in the tool's unit.
        flow_index, flow_index_sd, density_kg_m3 : float
            Flow index [-] and its standard uncertainty; density [kg/m3].
        volume_rel_sd, seconds_sd : float
            Standard uncertainty of the volume [-, relative], for tools that are filled, and of the time [s].
        at_shear_rate : float, optional
            Shear rate [1/s]; the test's own unless given.

        Raises
        ------
        ReadingError
            If the reading itself cannot be used.

        Notes
        -----
        First-order propagation on ln viscosity by central differences (GUM, JCGM 100:2008, section 5), plus the method's own
        uncertainty.
        """
        best = self.fluid(reading, flow_index, density_kg_m3)
        rate = float(at_shear_rate if at_shear_rate is not None else self.shear_rate(best))

        def ln_viscosity(shown: float = reading, index: float = flow_index, **size: float) -> float:
            return float(np.log(replace(self, **size).fluid(shown, index, density_kg_m3).viscosity(rate)))

        # One standard uncertainty over the step taken, and either side; the step is shortened where that is long.
        moved: list[tuple[float, dict[str, float], dict[str, float]]] = []
        if reading_sd > 0:
            step = min(reading_sd, 0.02 * reading)
            moved.append((reading_sd / step, {"shown": reading + step}, {"shown": reading - step}))
        if flow_index_sd > 0:
            low, high = max(flow_index - flow_index_sd, LEAST_INDEX), min(flow_index + flow_index_sd, MOST_INDEX)
            moved.append((2 * flow_index_sd / (high - low), {"index": high}, {"index": low}))
        sizes = [("seconds", getattr(self, "seconds", 0.0), seconds_sd, 0.2)]
        if self.volume_field is not None:
            size = getattr(self, self.volume_field)
            sizes.append((self.volume_field, size, volume_rel_sd * size, np.inf))
        for name, size, sd, most in sizes:
            if size > 0 and sd > 0:
                step = min(sd, most * size)
                moved.append((sd / step, {name: size + step}, {name: size - step}))
        parts = [self.own_ln_sd(reading)]
        for sd, *sides in moved:
            ends = []
            for side in sides:
                with suppress(ReadingError):
                    ends.append(ln_viscosity(**side))
            if len(ends) == 2:
                parts.append(sd * abs(ends[0] - ends[1]) / 2)
            else:
                # One side is beyond what the tool can show: the other's difference stands for both. Neither works: say why.
                end = ends[0] if ends else ln_viscosity(**sides[0])
                parts.append(sd * abs(end - ln_viscosity()))
        return within(float(best.viscosity(rate)), float(np.linalg.norm(parts)))


def so(sentences: Said) -> tuple[str, ...]:
    """The sentences that hold."""
    return tuple(said for said, holds in sentences.items() if holds)


def within(best: float, ln_sd: float) -> Range:
    """The 95 % range of a figure whose logarithm has this standard uncertainty."""
    spread = float(np.exp(Z95 * ln_sd))
    return Range(best, best / spread, best * spread)


def checked(reading: ArrayLike, name: str, unit: str) -> FloatArray:
    """Readings as an array of finite figures above 0, or a ReadingError."""
    if not above_zero(reading):
        raise ReadingError(f"A {name} reading of {reading!r} came; a figure above 0 in {unit} is wanted.")
    return np.asarray(reading, dtype=float)


def checked_index(flow_index: ArrayLike) -> FloatArray:
    """Flow indices inside 0.2 to 1.2, or a ReadingError."""
    index = np.asarray(flow_index, dtype=float)
    if index.size == 0 or not (np.min(index) >= LEAST_INDEX and np.max(index) <= MOST_INDEX):
        raise ReadingError(f"A flow index of {flow_index!r} came; the tests of this kit are worked out for 0.2 to 1.2.")
    return index
