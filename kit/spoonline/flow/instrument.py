"""What every instrument shares: checked readings, and an honest interval from reading, volume, time and flow index."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Self

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, plain
from spoonline.measures.errors import ReadingError
from spoonline.measures.ranges import Range

Z95 = 1.959963984540054
LEAST_INDEX, MOST_INDEX = 0.2, 1.2


@dataclass(frozen=True)
class Instrument(ABC):
    """A kitchen test of thickness: forward (:meth:`reading`) and back (:meth:`fluid`)."""

    name: ClassVar[str] = ""
    unit: ClassVar[str] = ""
    volume_field: ClassVar[str | None] = None

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                continue
            if not (np.isfinite(value) and value > 0):
                raise ReadingError(f"The {self.name}'s {name} came as {value!r}; a figure above 0 is wanted.")

    @abstractmethod
    def reading(self, fluid: Fluid) -> Any:
        """What the test would show, in its own unit."""

    @abstractmethod
    def fluid(self, reading: ArrayLike, flow_index: ArrayLike = 1.0, density_kg_m3: ArrayLike = 1050.0) -> Fluid:
        """The fluid of this flow index that would show this reading."""

    @abstractmethod
    def shear_rate(self, fluid: Fluid) -> Any:
        """The shear rate the test works at [1/s]."""

    @abstractmethod
    def flags(self, reading: float) -> tuple[str, ...]:
        """What is doubtful about a reading, one sentence each."""

    def own_ln_sd(self, reading: float) -> float:
        """Standard uncertainty of the method itself, on ln viscosity."""
        return 0.0

    def interval(
        self, reading: float, reading_sd: float, *, flow_index: float = 1.0, flow_index_sd: float = 0.0,
        density_kg_m3: float = 1050.0, volume_rel_sd: float = 0.01, seconds_sd: float = 0.3, at_shear_rate: float | None = None,
    ) -> Range:  # fmt: skip
        """Viscosity with its 95 % interval.

        Parameters
        ----------
        reading, reading_sd : float
            Reading and its standard uncertainty, in the tool's unit.
        flow_index, flow_index_sd : float
            Flow index [-] and its standard uncertainty.
        density_kg_m3 : float
            Density [kg/m3].
        volume_rel_sd : float
            Relative standard uncertainty of the volume [-], for tools that are filled.
        seconds_sd : float
            Standard uncertainty of the time [s].
        at_shear_rate : float, optional
            Shear rate [1/s]; the test's own unless given.

        Returns
        -------
        Range
            Viscosity [Pa s], best and 95 % ends.

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

        def ln_viscosity(tool: Instrument, shown: float, index: float) -> float:
            return float(np.log(tool.fluid(shown, index, density_kg_m3).viscosity(rate)))

        parts = [self.own_ln_sd(reading)]
        for sd, up, down in self._moved(reading, reading_sd, flow_index, flow_index_sd, volume_rel_sd, seconds_sd):
            try:
                parts.append(abs(ln_viscosity(*up) - ln_viscosity(*down)) / 2 * sd)
            except ReadingError:
                # One side is beyond what the tool can show: the other side's difference, doubled, stands for both.
                ok = next((side for side in (up, down) if _works(ln_viscosity, side)), None)
                if ok is None:
                    raise
                parts.append(abs(ln_viscosity(*ok) - ln_viscosity(self, reading, flow_index)) * sd)
        middle, spread = float(best.viscosity(rate)), float(np.exp(Z95 * np.sqrt(np.sum(np.square(parts)))))
        return Range(middle, middle / spread, middle * spread)

    def _moved(
        self, reading: float, reading_sd: float, index: float, index_sd: float, volume_rel_sd: float, seconds_sd: float
    ) -> list[tuple[float, tuple[Instrument, float, float], tuple[Instrument, float, float]]]:
        """Pairs of inputs one step to either side; the step is a standard uncertainty, shortened where that is long."""
        found: list[tuple[float, tuple[Instrument, float, float], tuple[Instrument, float, float]]] = []
        if reading_sd > 0:
            step = min(reading_sd, 0.02 * reading)
            found.append((reading_sd / step, (self, reading + step, index), (self, reading - step, index)))
        if index_sd > 0:
            low, high = max(index - index_sd, LEAST_INDEX), min(index + index_sd, MOST_INDEX)
            found.append((2 * index_sd / (high - low), (self, reading, high), (self, reading, low)))
        seconds = getattr(self, "seconds", None)
        if seconds is not None and seconds_sd > 0:
            step = min(seconds_sd, 0.2 * seconds)
            found.append(
                (
                    seconds_sd / step,
                    (self._with(seconds=seconds + step), reading, index),
                    (self._with(seconds=seconds - step), reading, index),
                )
            )
        if self.volume_field is not None and volume_rel_sd > 0:
            size = getattr(self, self.volume_field)
            up, down = (self._with(**{self.volume_field: size * (1 + sign * volume_rel_sd)}) for sign in (1, -1))
            found.append((1.0, (up, reading, index), (down, reading, index)))
        return found

    def _with(self, **fields: float) -> Self:
        return replace(self, **fields)


def _works(function: Any, side: tuple[Instrument, float, float]) -> bool:
    try:
        function(*side)
    except ReadingError:
        return False
    return True


def checked(reading: ArrayLike, name: str, unit: str) -> FloatArray:
    """Readings as an array of finite figures above 0.

    Raises
    ------
    ReadingError
        Otherwise.
    """
    values = np.asarray(reading, dtype=float)
    if values.size == 0 or not (np.min(values) > 0 and np.max(values) < np.inf):
        raise ReadingError(f"A {name} reading of {reading!r} came; a figure above 0 in {unit} is wanted.")
    return values


def checked_index(flow_index: ArrayLike) -> FloatArray:
    """Flow indices inside 0.2 to 1.2.

    Raises
    ------
    ReadingError
        Otherwise.
    """
    index = np.asarray(flow_index, dtype=float)
    if index.size == 0 or not (np.min(index) >= LEAST_INDEX and np.max(index) <= MOST_INDEX):
        raise ReadingError(f"A flow index of {flow_index!r} came; the tests of this kit are worked out for 0.2 to 1.2.")
    return index


__all__ = ["Instrument", "checked", "checked_index", "plain"]
