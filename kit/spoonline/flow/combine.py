"""Two or more different tests of one fluid: its consistency and its flow index together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray, Fluid
from spoonline.flow.instrument import LEAST_INDEX, MOST_INDEX, Z95, Instrument, so, within
from spoonline.flow.kitchen_tools import TOOLS
from spoonline.flow.ring import Ring
from spoonline.measures.doors import plain, takes_quantities
from spoonline.measures.errors import ReadingError
from spoonline.measures.ranges import Range

VAGUE_INDEX_SD = 0.2  # beyond this the tests say little more of n than that it lies between 0.2 and 1.2


@dataclass(frozen=True)
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

    @property
    def consistency_range(self) -> Range:
        """Consistency with its 95 % range [Pa s^n]; the same as the viscosity at 1 1/s."""
        return self.viscosity_range(1.0)

    @takes_quantities
    def viscosity_range(self, shear_rate_per_s: float) -> Range:
        """Viscosity [Pa s] at a shear rate [1/s, above 0] with its 95 % range."""
        best, lever = float(self.viscosity(shear_rate_per_s)), float(np.log(shear_rate_per_s))
        a, b, c = self.covariance
        return within(best, max(a + 2 * lever * b + lever**2 * c, 0.0) ** 0.5)

    def _lines(self) -> list[str]:
        rates = sorted({*self.rates_per_s, 50.0})
        return [
            f"consistency {self.consistency_range:.3g} Pa s^n",
            f"flow index {self.flow_index_range:.2f}",
            *(f"viscosity at {rate:.2g} 1/s {self.viscosity_range(rate):.2g} Pa s" for rate in rates),
            *self.notes,
        ]

    def __str__(self) -> str:
        return "\n".join(self._lines())

    def _repr_html_(self) -> str:
        return "<ul>" + "".join(f"<li>{line}</li>" for line in self._lines()) + "</ul>"


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
    Each test gives ln K as a falling or rising line in n; the lines cross at the fluid. Weighted least squares by Gauss and
    Newton, with each test's own uncertainty (reading, time, volume, method) from its ``interval``; where more than two tests
    differ by more than that, the spread is widened by the excess (Birge's ratio).

    Examples
    --------
    >>> from spoonline.flow import Spatula
    >>> found = fluid_from([(Ring(3.5, 2.0, 30), 8.3795), (Spatula(5, 4, 10), 1.6638)])
    >>> round(found.flow_index, 3), round(found.consistency_pa_sn, 2)
    (0.5, 5.0)
    """
    if len(tests) < 2:
        raise ReadingError(f"{len(tests)} test came; two different ones are wanted, such as ring and spatula.")
    tests = [(tool, plain(shown, tool.unit.split()[0], tool.name)) for tool, shown in tests]
    sds = [TOOLS[tool.name].resolution for tool, _ in tests] if reading_sds is None else list(reading_sds)
    if len(sds) != len(tests) or not all(sd > 0 for sd in sds):
        raise ReadingError(f"Spreads {sds!r} came for {len(tests)} readings; one figure above 0 for each is wanted.")

    def ln_k(n: ArrayLike) -> FloatArray:
        each = np.asarray(n, dtype=float)
        found = [tool.fluid(shown, each, density_kg_m3).consistency_pa_sn for tool, shown in tests]
        return np.asarray(np.log(np.array(found)))

    def weights(n: float) -> FloatArray:
        # At a known n the spread on ln K is that on ln viscosity at any rate, so the rate is free to choose.
        known: dict[str, Any] = {"flow_index": n, "density_kg_m3": density_kg_m3, "at_shear_rate": 1.0}
        bands = [tool.interval(float(shown), sd, **known) for (tool, shown), sd in zip(tests, sds, strict=True)]
        return np.array([(2 * Z95 / np.log(band.high / band.low)) ** 2 for band in bands])

    def miss(values: FloatArray) -> FloatArray:
        return np.asarray(weight @ (values - weight @ values / weight.sum()) ** 2)

    grid = np.linspace(LEAST_INDEX, MOST_INDEX, 41)
    weight = weights(0.6)
    n = float(grid[np.argmin(miss(ln_k(grid)))])
    slope = np.zeros(len(tests))
    for _ in range(40):
        weight = weights(n)
        near = np.clip([n - 1e-4, n, n + 1e-4], LEAST_INDEX, MOST_INDEX)
        low, here, high = ln_k(near).T
        slope = (high - low) / (near[2] - near[0])
        off, lean = here - weight @ here / weight.sum(), slope - weight @ slope / weight.sum()
        if weight @ lean**2 < 1e-4 * weight.sum():
            raise ReadingError(
                "These tests work at nearly one shear rate and cannot tell consistency and flow index apart; add a test at another "
                "rate, such as the spatula beside the ring."
            )
        new = float(np.clip(n - weight @ (off * lean) / (weight @ lean**2), LEAST_INDEX, MOST_INDEX))
        done, n = abs(new - n) < 1e-12, new
        if done:
            break
    values = ln_k(n)
    chi, over = float(miss(values)), len(tests) - 2
    at_end = n in (LEAST_INDEX, MOST_INDEX)
    if at_end and chi > Z95**2 * (1 + over):
        raise ReadingError(
            "These readings do not belong to one fluid for any flow index from 0.2 to 1.2; check times, sizes and temperatures, and "
            "read again."
        )
    # A row per test: ln K_i = ln K - slope_i (n - n_i); the inverse of its weighted square is the covariance.
    design = np.column_stack([np.ones(len(tests)), -slope])
    covariance = np.linalg.inv(design.T @ (weight[:, None] * design))
    if over > 0:
        covariance *= max(1.0, chi / over)
    vague, differ = covariance[1, 1] ** 0.5 > VAGUE_INDEX_SD, over > 0 and chi > 4 * over
    notes = so(
        {
            "These tests can hardly tell consistency and flow index apart: do not carry the viscosity to other rates; add a test "
            "at another rate.": vague,
            f"The flow index came out at the end of what the tests are worked out for ({n:g}): read again.": at_end,
            "The tests differ by more than their own spread; the range is widened. Check temperatures and times.": differ,
        }
    )
    flags = [flag for tool, shown in tests for flag in tool.flags(float(shown))]
    fluid = Fluid(float(np.exp(weight @ values / weight.sum())), n, density_kg_m3)
    spread = (float(covariance[0, 0]), float(covariance[0, 1]), float(covariance[1, 1]))
    rates = tuple(float(tool.shear_rate(fluid)) for tool, _ in tests)
    return MeasuredFluid(fluid.consistency_pa_sn, n, density_kg_m3, 0.0, spread, rates, (*notes, *flags))


@takes_quantities
def n_from_two_times(
    ring: Ring, radius_cm: float, later_radius_cm: float, later_seconds: float, radius_sd_cm: float = 0.05
) -> tuple[Range, tuple[str, ...]]:
    """The flow index from one puddle read twice; a hint, never a measurement.

    Parameters
    ----------
    ring : Ring
        Its ``seconds`` is the time of the first reading [s].
    radius_cm, later_radius_cm, later_seconds, radius_sd_cm : float
        Both readings [cm], the time of the later [s], and the standard uncertainty of a radius [cm].

    Returns
    -------
    tuple
        Flow index with its 95 % range [-], and sentences on what is doubtful; ReadingError if time or radius does not grow.

    Notes
    -----
    beta = ln(r2/r1)/ln(t2/t1), n = 5 beta/(1 - 3 beta). Ill-conditioned: n = 1 and n = 0.4 differ only as beta = 0.125 and 0.065,
    and half a millimetre at 6 cm moves n by 0.05 to 0.08, before level, drying, cooling and wetting.

    Examples
    --------
    >>> found, doubts = n_from_two_times(Ring(3.5, 2.0, 10), 6.0, 6.74, 60)
    >>> f"{found:.2f}"
    '0.40 (0.31-0.50)'
    """
    if not later_seconds > ring.seconds:
        raise ReadingError(f"A later time of {later_seconds:g} s came; above the first, {ring.seconds:g} s, is wanted.")
    if not later_radius_cm > radius_cm > ring.radius_cm:
        raise ReadingError(
            f"Radii of {radius_cm:g} and {later_radius_cm:g} cm came; a puddle that left the ring and grew is wanted. One that stopped "
            "has a yield stress: use the slump test."
        )
    span = np.log(later_seconds / ring.seconds)
    beta = float(np.log(later_radius_cm / radius_cm) / span)
    half = Z95 * radius_sd_cm * float(np.hypot(1 / radius_cm, 1 / later_radius_cm) / span)

    def index(exponent: float) -> float:
        return 5 * exponent / (1 - 3 * exponent) if exponent < 0.33 else float("inf")

    found = Range(index(beta), index(max(beta - half, 0.0)), index(beta + half))
    strange = not LEAST_INDEX <= found.best <= MOST_INDEX
    doubts = {
        "Two times of one puddle say little of the flow index: level, drying and cooling weigh as much as the fluid. "
        "Use ring and spatula.": True,
        f"A flow index of {found.best:.2f} came out, outside 0.2 to 1.2: the puddle stopped, dried, or was read wrongly.": strange,
        "The first puddle had hardly left the ring: read it later.": radius_cm / ring.radius_cm < 1.3,
    }
    return found, so(doubts)
