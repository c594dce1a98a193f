"""What every instrument shares: both ways of reading, checked, and an honest interval."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from contextlib import nullcontext, suppress
from dataclasses import dataclass, field, fields, replace
from inspect import cleandoc
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, above_zero, bisected, plain, said
from spoonline.measures import Range, ReadingError, as_said, read_table, settle, takes_quantities

Z95 = 1.959963984540054
LEAST_INDEX, MOST_INDEX = 0.2, 1.2
Tries = tuple[Mapping[str, Any], ...]
Sentences = Mapping[str, Any]  # each with whether it holds
_KNOWN = {row.pop("name"): row for row in read_table("tools.toml", "flow")}
TOOLS: dict[str, type[Instrument]] = {}  # every kind by its name, in the order in which a list shows them


def size(usual: float, label: str, unit: str) -> Any:
    """A setting that a cook types: its usual value, what a form calls it, and its unit."""
    return field(default=usual, metadata={"label": (label, unit)})


@dataclass(frozen=True)
class Instrument(ABC):
    """A kitchen test of thickness: forward (:meth:`reading`) and back (:meth:`fluid`).

    A kind of instrument says how reading and consistency hang together (``_reading``, ``_consistency``), what it cannot read
    (``_refusals``) and what is doubtful (``_doubts``). A kind with a name is listed in ``TOOLS``, which forms, logbook and card ask.
    ``resolution`` is the standard uncertainty of one reading by hand in the tool's unit (judged); ``asks`` what a form asks for, with
    an example; ``fixed`` what is no size a cook types; ``tries`` what the advice may offer; ``place`` its place in lists, from 90 on
    for tools that few kitchens have, which cards leave out; a class says these itself, or ``tools.toml`` does. Under "Steps" its
    docstring says how the test is done, in a sentence and then in five steps, a line each, as forms and cards show it.
    """

    name: ClassVar[str] = ""
    unit: ClassVar[str] = ""
    volume_field: ClassVar[str | None] = None
    own_sd: ClassVar[float] = 0.0
    resolution: ClassVar[float]
    asks: ClassVar[tuple[str, str]]
    how: ClassVar[str]
    steps: ClassVar[list[str]]
    fixed: ClassVar[Mapping[str, Any]] = {}
    tries: ClassVar[Tries] = ({},)
    place: ClassVar[int] = 50

    def __init_subclass__(cls) -> None:
        if cls.name:
            for word, known in _KNOWN.get(cls.name, {}).items():
                setattr(cls, word, known)
            told = cleandoc(cls.__doc__ or "").partition("Steps\n-----\n")[2].partition("\n\n")[0]
            cls.how, *cls.steps = told.splitlines() or [""]
            TOOLS[cls.name] = cls
            for kind in sorted(TOOLS.values(), key=lambda kind: kind.place):
                TOOLS[kind.name] = TOOLS.pop(kind.name)

    @classmethod
    def labels(cls) -> dict[str, tuple[str, str]]:
        """What a form calls each size that a cook types, and its unit."""
        return {each.name: each.metadata["label"] for each in fields(cls) if each.metadata}

    def __post_init__(self) -> None:
        settle(self)
        for each in fields(self):
            came = getattr(self, each.name)
            fits = isinstance(came, bool) or (not np.ndim(came) and above_zero(came))
            said.refuse(not fits, "a size", tool=self.name, name=each.name, came=as_said(came))

    @takes_quantities
    def reading(self, fluid: Fluid) -> Any:
        """What the test would show, in its own unit; ReadingError for a flow index outside 0.2 to 1.2, or for a yield stress."""
        checked_index(fluid.flow_index)
        stress = np.max(fluid.yield_stress_pa)
        said.refuse(stress > 0, "yields", stress=stress, tool=self.name)
        return plain(self._reading(*np.broadcast_arrays(*fluid.parts)))

    @takes_quantities
    def fluid(self, reading: ArrayLike, flow_index: ArrayLike = 1.0, density_kg_m3: ArrayLike = 1050.0) -> Fluid:
        """The fluid of this flow index [-] and density [kg/m3] that would show this reading.

        Raises
        ------
        ReadingError
            If the reading is no figure above 0 or one that this tool cannot give, or the flow index lies outside 0.2 to 1.2.
        """
        read, n = checked(reading, self.name, self.unit), checked_index(flow_index)
        rho = np.asarray(density_kg_m3, dtype=float)
        if not above_zero(rho):
            raise said.error("of a fluid", name="density_kg_m3", came=as_said(density_kg_m3))
        for sentence in that_hold(self._refusals(read, n, rho)):
            raise ReadingError(sentence)
        try:
            with np.errstate(all="ignore"):
                k = self._consistency(read, n, rho)
        except ArithmeticError:
            k = np.zeros(1)
        if not above_zero(k):  # as above, put into words only where it is refused: a million readings would take long
            raise said.error("no food", tool=self.name, came=as_said(reading), unit=self.unit)
        return Fluid(plain(k), flow_index, density_kg_m3)

    @abstractmethod
    def _reading(self, k: FloatArray, n: FloatArray, rho: FloatArray) -> Any: ...

    @abstractmethod
    def _consistency(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> FloatArray: ...

    @abstractmethod
    def _refusals(self, read: FloatArray, n: FloatArray, rho: FloatArray) -> Sentences: ...

    @abstractmethod
    def _doubts(self, reading: float) -> Sentences: ...

    def _searched(self, k: FloatArray, n: FloatArray, rho: FloatArray, low: Any, high: Any, rising: bool) -> FloatArray:
        """The reading between two ends whose consistency is k."""
        return bisected(lambda read: (self._consistency(read, n, rho) < k) == rising, low, high)

    @abstractmethod
    def shear_rate(self, fluid: Fluid) -> Any:
        """The shear rate the test works at [1/s]."""

    @takes_quantities
    def flags(self, reading: float) -> tuple[str, ...]:
        """What is doubtful about a reading, one sentence each."""
        return that_hold(self._doubts(reading))

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
        read = (reading, reading_sd, flow_index, flow_index_sd, density_kg_m3)
        viscosity, parts = self.ln_sds(*read, volume_rel_sd, seconds_sd, at_shear_rate)
        return within(viscosity, float(np.linalg.norm(list(parts.values()))))

    def ln_sds(
        self, reading: Any, reading_sd: Any, flow_index: float, flow_index_sd: float, density_kg_m3: float,
        volume_rel_sd: float = 0.01, seconds_sd: float = 0.3, at_shear_rate: Any = None,
    ) -> tuple[Any, dict[str, Any]]:  # fmt: skip
        """Viscosity [Pa s], and what each cause adds to the standard uncertainty of its logarithm.

        ``density_kg_m3`` [kg/m3], and all else, as for :meth:`interval`; arrays of readings at once, unless one of them cannot be read.
        """
        best = self.fluid(reading, flow_index, density_kg_m3)
        rate = at_shear_rate if at_shear_rate is not None else self.shear_rate(best)
        viscosity, alone = best.viscosity(rate), np.size(reading) == 1
        sizes = {"seconds": seconds_sd} if hasattr(self, "seconds") else {}
        if self.volume_field is not None:
            sizes[self.volume_field] = volume_rel_sd * getattr(self, self.volume_field)

        def viscosity_with(read: Any = reading, index: float = flow_index, **size: float) -> Any:
            return replace(self, **size).fluid(read, index, density_kg_m3).viscosity(rate)

        # Each cause, how far off it may be, where it stands, and the longest step that is still a straight line.
        causes = [("read", reading_sd, reading, 0.02 * reading), ("index", flow_index_sd, flow_index, np.inf)]
        causes += [(name, sd, getattr(self, name), 0.2 * getattr(self, name)) for name, sd in sizes.items()]
        parts = {"own": np.reshape([self.own_ln_sd(float(each)) for each in np.ravel(reading)], np.shape(reading))}
        for name, sd, value, longest in causes:
            if np.all(sd > 0):
                ends = [value - np.minimum(sd, longest), value + np.minimum(sd, longest)]
                if name == "index":
                    ends = [min(max(end, LEAST_INDEX), MOST_INDEX) for end in ends]
                found = []
                for end in ends:
                    # One side may lie beyond what the tool can read: the other's difference then stands for both.
                    with suppress(ReadingError) if alone else nullcontext():
                        found.append((end, viscosity_with(**{name: end})))
                if not found:
                    viscosity_with(**{name: max(ends)})  # neither can be read: this says why
                (low, thin), (high, thick) = found if len(found) == 2 else sorted([*found, (value, viscosity)])
                parts[name] = sd * abs(np.log(thick / thin)) / (high - low)
        return viscosity, parts


def that_hold(sentences: Sentences) -> tuple[str, ...]:
    """The sentences that hold."""
    return tuple(sentence for sentence, holds in sentences.items() if holds)


def within(best: float, ln_sd: float) -> Range:
    """The 95 % range of a figure whose logarithm has this standard uncertainty."""
    spread = float(np.exp(Z95 * ln_sd))
    return Range(best, best / spread, best * spread)


def checked(reading: ArrayLike, name: str, unit: str) -> FloatArray:
    """Readings as an array of finite figures above 0, or a ReadingError."""
    if not above_zero(reading):  # else a million readings would be put into words
        raise said.error("a reading", tool=name, came=as_said(reading), unit=unit)
    return np.asarray(reading, dtype=float)


def checked_index(flow_index: ArrayLike) -> FloatArray:
    """Flow indices inside 0.2 to 1.2, or a ReadingError."""
    index = np.asarray(flow_index, dtype=float)
    if index.size == 0 or not (np.min(index) >= LEAST_INDEX and np.max(index) <= MOST_INDEX):
        raise ReadingError(said("an index", came=as_said(flow_index)))
    return index
