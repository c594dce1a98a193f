"""Two or more different tests of one fluid: its consistency and its flow index together."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid, said
from spoonline.flow.instrument import LEAST_INDEX, MOST_INDEX, Z95, Instrument, that_hold, within
from spoonline.measures import Range, as_said, plain, takes_quantities

VAGUE_INDEX_SD = 0.2  # beyond this the tests say little more of n than that it lies between 0.2 and 1.2


@dataclass(frozen=True, repr=False)
class MeasuredFluid(Fluid):
    """A fluid found from several tests, with the shear rate of each [1/s] and what is doubtful.

    ``covariance``: the variance of ln K, the covariance of ln K and n, the variance of n.
    """

    covariance: tuple[float, float, float] = (0.0, 0.0, 0.0)
    rates_per_s: tuple[float, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def flow_index_range(self) -> Range:
        """Flow index with its 95 % range [-], inside 0.2 to 1.2."""
        half, n = Z95 * self.covariance[2] ** 0.5, float(self.flow_index)
        return Range(n, max(n - half, LEAST_INDEX), min(n + half, MOST_INDEX))

    @takes_quantities
    def viscosity_range(self, shear_rate_per_s: float) -> Range:
        """Viscosity [Pa s] at a shear rate [1/s, above 0] with its 95 % range; at 1 1/s that of the consistency."""
        best, ln_rate = float(self.viscosity(shear_rate_per_s)), float(np.log(shear_rate_per_s))
        k, both, n = self.covariance
        return within(best, max(k + 2 * ln_rate * both + ln_rate**2 * n, 0.0) ** 0.5)

    def __repr__(self) -> str:
        """What a person reads: the figures with their ranges, and every doubt, a line each."""
        rates = ((rate, self.viscosity_range(rate)) for rate in sorted({*self.rates_per_s, 50.0}))
        lines = [f"consistency {self.viscosity_range(1.0):.3g} Pa s^n", f"flow index {self.flow_index_range:.2f}"]
        lines += [f"viscosity at {rate:.2g} 1/s {viscosity:.2g} Pa s" for rate, viscosity in rates]
        return "\n".join([*lines, *self.notes])


@takes_quantities
def fluid_from(
    tests: Sequence[tuple[Instrument, float]], density_kg_m3: float = 1050.0, reading_sds: Sequence[float] | None = None
) -> MeasuredFluid:
    """The fluid that shows all these readings best.

    Parameters
    ----------
    tests : sequence of (instrument, reading)
        Two or more tests at different shear rates; ring and spatula are a good pair.
    density_kg_m3 : float
        Density [kg/m3].
    reading_sds : sequence of float, optional
        Standard uncertainty of each reading, in its unit; that of a reading by hand unless given.

    Raises
    ------
    ReadingError
        With fewer than two tests, with a reading its tool cannot give, if the tests work at one and the same rate, or if no
        flow index from 0.2 to 1.2 brings them together.

    Notes
    -----
    Each test gives ln K as a falling or rising line in n; the lines cross at the fluid. Weighted least squares with each test's own
    uncertainty (reading, time, volume, method) from its ``interval``; where more than two tests
    differ by more than that, the spread is widened by the excess (Birge's ratio).

    Examples
    --------
    >>> from spoonline.flow import Ring, Spatula
    >>> found = fluid_from([(Ring(3.5, 2.0, 30), 8.3795), (Spatula(5, 4, 10), 1.6638)])
    >>> round(found.flow_index, 3), round(found.consistency_pa_sn, 2)
    (0.5, 5.0)
    """
    from scipy.optimize import minimize_scalar

    said.refuse(len(tests) < 2, "too few", count=len(tests))
    tests = [(tool, plain(shown, tool.unit.split()[0], tool.name)) for tool, shown in tests]
    sds = [tool.resolution for tool, _ in tests] if reading_sds is None else list(reading_sds)
    said.refuse(len(sds) != len(tests) or not all(sd > 0 for sd in sds), "spreads", came=as_said(sds), count=len(tests))

    def ln_k(n: ArrayLike) -> FloatArray:
        found = [tool.fluid(read, np.asarray(n, dtype=float), density_kg_m3).consistency_pa_sn for tool, read in tests]
        return np.asarray(np.log(found))

    def weights(n: float) -> FloatArray:
        # At a known n the spread on ln K is that on ln viscosity at any rate, so the rate is free to choose.
        known: dict[str, Any] = {"flow_index": n, "density_kg_m3": density_kg_m3, "at_shear_rate": 1.0}
        bands = [tool.interval(float(read), sd, **known) for (tool, read), sd in zip(tests, sds, strict=True)]
        return np.array([(2 * Z95 / np.log(band.high / band.low)) ** 2 for band in bands])

    def off(values: FloatArray) -> FloatArray:
        return np.asarray(values - weight @ values / weight.sum())

    def miss(n: float) -> float:
        return float(weight @ off(ln_k(n)) ** 2)

    n = 0.6
    for _ in range(4):  # the weights hardly change with n
        weight = weights(n)
        n = float(minimize_scalar(miss, bounds=(LEAST_INDEX, MOST_INDEX), method="bounded", options={"xatol": 1e-9}).x)
        at_end = min(n - LEAST_INDEX, MOST_INDEX - n) < 1e-6
    near = np.clip([n - 1e-4, n + 1e-4], LEAST_INDEX, MOST_INDEX)
    slope = np.diff(ln_k(near))[:, 0] / np.diff(near)
    said.refuse(weight @ off(slope) ** 2 < 1e-4 * weight.sum(), "one rate")
    values = ln_k(n)
    chi, over = miss(n), len(tests) - 2
    said.refuse(at_end and chi > Z95**2 * (1 + over), "no one fluid")
    # A row per test: ln K_i = ln K - slope_i (n - n_i); the inverse of its weighted square is the covariance.
    design = np.column_stack([np.ones(len(tests)), -slope])
    covariance = np.linalg.inv(design.T @ (weight[:, None] * design))
    if over > 0:
        covariance *= max(1.0, chi / over)
    vague, differ = covariance[1, 1] ** 0.5 > VAGUE_INDEX_SD, over > 0 and chi > 4 * over
    notes = that_hold({said("vague"): vague, said("at an end", index=n): at_end, said("differ"): differ})
    flags = [flag for tool, read in tests for flag in tool.flags(float(read))]
    fluid = Fluid(float(np.exp(weight @ values / weight.sum())), n, density_kg_m3)
    spread = (float(covariance[0, 0]), float(covariance[0, 1]), float(covariance[1, 1]))
    rates = tuple(float(tool.shear_rate(fluid)) for tool, _ in tests)
    return MeasuredFluid(fluid.consistency_pa_sn, n, density_kg_m3, 0.0, spread, rates, (*notes, *flags))
