"""Liquids of known viscosity from a kitchen, and what their readings say of a tool."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from spoonline.flow.flow_cup import FlowCup
from spoonline.flow.fluid import FloatArray, Fluid
from spoonline.flow.instrument import Instrument, so, within
from spoonline.flow.kitchen_tools import TOOLS
from spoonline.flow.syringe import Syringe
from spoonline.measures.errors import ReadingError
from spoonline.measures.ranges import Range

# Sucrose in water, % by mass: viscosity [mPa s] by temperature [C] (CRC handbook rows, read), and density at 20 C [kg/m3].
_SUCROSE = {
    20: ((20, 40, 60), (1.960, 1.193, 0.808)),
    40: ((0, 20, 25, 40, 60, 80), (14.77, 6.200, 5.187, 3.249, 1.982, 1.334)),
    60: ((20, 25, 40, 60, 80), (56.5, 43.86, 21.28, 9.83, 5.40)),
}
# The same at 20 C, finer (CRC relative viscosity x 1.002, read); the 60 % row stands 3.5 % above the table by temperature.
_SUCROSE_20 = ((20, 30, 40, 50, 60, 65), (1.945, 3.187, 6.162, 15.43, 58.5, 148.0))
_SYRUP_DENSITY = ((0, 20, 40, 60, 70), (998.2, 1081.0, 1176.5, 1286.4, 1347.2))


def _in_table(value: float, low: float, high: float, what: str) -> None:
    if not low <= value <= high:
        raise ReadingError(f"{what} of {value:g} came; {low:g} to {high:g} is wanted.")


def water(temperature_c: float = 20.0) -> Fluid:
    """Water at a temperature [C], 0 to 100; ReadingError outside.

    Notes
    -----
    Viscosity: IAPWS 2008 simplified correlation (memory). Density as in Cheng 2008 (read).

    Examples
    --------
    >>> round(water(25).consistency_pa_sn * 1000, 3)
    0.89
    """
    _in_table(temperature_c, 0, 100, "A temperature [C]")
    t = (temperature_c + 273.15) / 300
    viscosity = 1e-6 * (280.68 * t**-1.9 + 511.45 * t**-7.7 + 61.131 * t**-19.6 + 0.45903 * t**-40.0)
    return Fluid(viscosity, 1.0, _water_density(temperature_c))


def _water_density(celsius: float) -> float:
    return float(1000 * (1 - abs((celsius - 3.98) / 615) ** 1.71))


def glycerol_water(percent: float, temperature_c: float = 20.0) -> Fluid:
    """Glycerol in water [% by mass, 0 to 100] at a temperature [C], 0 to 100; ReadingError outside.

    Notes
    -----
    Cheng 2008 (Ind. Eng. Chem. Res. 47:3285), formula read from public codings; density Volk and Kaehler 2018. Within -1.8 to
    +2.6 % of Segur and Oberstar 1951. Glycerol takes up water from the air: 1 % of it changes the top end by a fifth.

    Examples
    --------
    >>> round(glycerol_water(60, 20).consistency_pa_sn * 1000, 2)
    10.91
    """
    _in_table(percent, 0, 100, "A glycerol share [%]")
    _in_table(temperature_c, 0, 100, "A temperature [C]")
    w, t = percent / 100, temperature_c
    thin = 1.790 * np.exp((-1230 - t) * t / (36100 + 360 * t))
    thick = 12100 * np.exp((-1233 + t) * t / (9900 + 70 * t))
    a = 0.705 - 0.0017 * t
    b = (4.9 + 0.036 * t) * a**2.5
    alpha = 1 - w + a * b * w * (1 - w) / (a * w + b * (1 - w))
    light, heavy = _water_density(t), 1273 - 0.612 * t
    swell = 1 + (1.78e-6 * t**2 - 1.82e-4 * t + 0.0141) * max(np.sin(np.pi * w**1.31), 0.0) ** 0.81
    share = (heavy - light) * w / (w + heavy / light * (1 - w))
    return Fluid(float(1e-3 * thin**alpha * thick ** (1 - alpha)), 1.0, float(swell * (light + share)))


def sugar_syrup(percent: float, temperature_c: float = 20.0) -> Fluid:
    """White sugar in water [% by mass, 20 to 65] at a temperature [C], 20 to 60; ReadingError outside.

    60 % is 60 g sugar and 40 g water, boiled under a lid and made up to 100 g again.

    Notes
    -----
    CRC handbook rows (read), good to 4 %; at 60 % two rows of that source differ by 3.5 % and their mean is taken. One percentage
    point of sugar is 17 to 19 % in viscosity at 60 %. Density is that at 20 C.

    Examples
    --------
    >>> round(sugar_syrup(60).consistency_pa_sn * 1000, 1)
    57.5
    """
    from scipy.interpolate import PchipInterpolator

    _in_table(percent, 20, 65, "A sugar share [%]")
    _in_table(temperature_c, 20, 60, "A temperature [C]")
    # Where both tables have a row for 20 C, the mean of their logarithms.
    both = {share: row[1][row[0].index(20)] for share, row in _SUCROSE.items()}
    at_20 = [np.log(value * both.get(share, value)) / 2 for share, value in zip(*_SUCROSE_20, strict=True)]
    base = float(PchipInterpolator(_SUCROSE_20[0], at_20)(percent))
    falls = []
    for temperatures, viscosities in _SUCROSE.values():
        inverse = 1 / (np.array(temperatures) + 273.15)
        curve = PchipInterpolator(inverse[::-1], np.log(viscosities)[::-1])
        falls.append(float(curve(1 / (temperature_c + 273.15)) - curve(1 / 293.15)))
    fall = float(np.polyval(np.polyfit([20, 40, 60], falls, 2), percent))
    return Fluid(float(1e-3 * np.exp(base + fall)), 1.0, float(PchipInterpolator(*_SYRUP_DENSITY)(percent)))


@dataclass(frozen=True)
class Calibration:
    """What known liquids say of a tool: the tool put right, each constant with its 95 % range, and what is doubtful.

    Where nothing of a tool can be set it stays as it was, and the constant ``factor`` is known over read viscosity.
    """

    tool: Instrument
    constants: dict[str, Range]
    notes: tuple[str, ...] = ()


def calibrate(
    tool: Instrument, readings: Sequence[tuple[Fluid, float]], reading_sd: float | None = None, fluid_rel_sd: float = 0.03
) -> Calibration:  # fmt: skip
    """Constants of a tool from readings of liquids of known viscosity.

    Parameters
    ----------
    tool : Instrument
        A syringe (its nozzle's diameter and loss are found), a flow cup given a law with a hole and a content (its a and b are
        found: nu = a t - b/t), or any other (a factor on viscosity is found, to be noted on the tool).
    readings : sequence of (Fluid, reading)
        Two or more liquids, such as ``sugar_syrup(50)`` and ``sugar_syrup(60)``.
    reading_sd, fluid_rel_sd : float
        Standard uncertainty of a reading, in its unit (that of a reading by hand unless given), and of each known viscosity,
        relative [-].

    Raises
    ------
    ReadingError
        With fewer than two readings, or liquids too alike (less than a factor of 1.5 in viscosity).

    Notes
    -----
    Weighted least squares on ln viscosity; covariance from the Jacobian, widened where the misses exceed it.

    Examples
    --------
    >>> syrups = [sugar_syrup(50), sugar_syrup(60)]
    >>> mine = Syringe(nozzle_mm=1.95)
    >>> found = calibrate(Syringe(), [(each, mine.reading(each)) for each in syrups])
    >>> round(found.constants["nozzle_mm"].best, 2)
    1.95
    """
    from scipy.optimize import least_squares

    known = np.array([float(fluid.consistency_pa_sn) for fluid, _ in readings])
    if len(readings) < 2 or known.max() < 1.5 * known.min():
        raise ReadingError(
            f"{len(readings)} readings came; at least two liquids that differ by a factor of 1.5 in viscosity are wanted, such as "
            "syrups of 50 and 60 % sugar."
        )
    sd = TOOLS[tool.name].resolution if reading_sd is None else reading_sd
    start, build = _tunable(tool)
    shown, place = np.array([reading for _, reading in readings]), np.log(list(start.values()))

    def ln_read(at: FloatArray, values: FloatArray) -> FloatArray:
        trial, factor = build(*np.exp(at))
        pairs = zip(readings, values, strict=True)
        found = [trial.fluid(v, f.flow_index, f.density_kg_m3).consistency_pa_sn for (f, _), v in pairs]
        return np.asarray(np.log(np.array(found) * factor))

    step = 1e-4 * shown
    slope = (ln_read(place, shown + step) - ln_read(place, shown - step)) / (2 * step)
    spread = np.hypot(slope * sd, fluid_rel_sd)

    def misses(at: FloatArray) -> FloatArray:
        return np.asarray((ln_read(at, shown) - np.log(known)) / spread)

    run: Any = least_squares(misses, place, x_scale="jac", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    over = len(readings) - len(start)
    excess = max(1.0, 2 * run.cost / over) if over else 1.0
    sds = np.sqrt(np.diag(np.linalg.pinv(run.jac.T @ run.jac)) * excess)
    best = [float(each) for each in np.exp(run.x)]
    constants = {name: within(value, min(sd, 5.0)) for name, value, sd in zip(start, best, sds, strict=True)}
    hardly = (f"The readings hardly fix {name}: read a thinner and a thicker liquid." for name in start)
    off = "factor" in constants and not 0.5 <= constants["factor"].best <= 2
    notes = so(
        {
            **dict(zip(hardly, sds > 0.5, strict=True)),
            "The liquids disagree with one another by more than the spread of a reading: weigh the syrups again, check their "
            "temperature, and read each three times.": over and 2 * run.cost / over > 4,
            "The tool reads wrong by more than a factor of 2: check its sizes and times first.": off,
        }
    )
    return Calibration(build(*best)[0], constants, notes)


def _tunable(tool: Instrument) -> tuple[dict[str, float], Callable[..., tuple[Instrument, float]]]:
    """A tool's constants where the search starts, and how it is built from them, with a factor on what it reads."""
    if isinstance(tool, Syringe):
        start = {"nozzle_mm": tool.nozzle_mm, "loss": tool.loss}
        return start, lambda nozzle, loss: (replace(tool, nozzle_mm=float(nozzle), loss=float(loss)), 1.0)
    if isinstance(tool, FlowCup) and tool.law is not None:
        law = tool.law

        def funnel(a: float, b: float) -> tuple[Instrument, float]:
            return replace(tool, law=law._replace(a=float(a), b=float(b), c=0.0)), 1.0

        return {"a": law.a, "b": max(law.b, 1.0)}, funnel
    return {"factor": 1.0}, lambda factor: (tool, factor)
