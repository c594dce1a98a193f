"""Liquids of known viscosity from a kitchen, and what their readings say of a tool."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from spoonline.flow.flow_cup import CupLaw, FlowCup
from spoonline.flow.fluid import FloatArray, Fluid
from spoonline.flow.instrument import Z95, Instrument
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


def _within(value: float, low: float, high: float, what: str) -> None:
    if not low <= value <= high:
        raise ReadingError(f"{what} of {value:g} came; {low:g} to {high:g} is wanted.")


def water(temperature_c: float = 20.0) -> Fluid:
    """Water, 0 to 100 C.

    Parameters
    ----------
    temperature_c : float
        Temperature [C].

    Returns
    -------
    Fluid

    Raises
    ------
    ReadingError
        Outside 0 to 100 C.

    Notes
    -----
    Viscosity: IAPWS 2008 simplified correlation (memory). Density as in Cheng 2008 (read).

    Examples
    --------
    >>> round(water(25).consistency_pa_sn * 1000, 3)
    0.89
    """
    _within(temperature_c, 0, 100, "A temperature [C]")
    t = (temperature_c + 273.15) / 300
    terms = zip((280.68, 511.45, 61.131, 0.45903), (-1.9, -7.7, -19.6, -40.0), strict=True)
    viscosity = 1e-6 * sum(factor * t**power for factor, power in terms)
    return Fluid(viscosity, 1.0, _water_density(temperature_c))


def _water_density(celsius: float) -> float:
    return float(1000 * (1 - abs((celsius - 3.98) / 615) ** 1.71))


def glycerol_water(percent: float, temperature_c: float = 20.0) -> Fluid:
    """Glycerol in water.

    Parameters
    ----------
    percent : float
        Glycerol [% by mass], 0 to 100.
    temperature_c : float
        Temperature [C], 0 to 100.

    Returns
    -------
    Fluid

    Raises
    ------
    ReadingError
        Outside these ranges.

    Notes
    -----
    Cheng 2008 (Ind. Eng. Chem. Res. 47:3285), formula read from public codings; density Volk and Kaehler 2018. Within -1.8 to
    +2.6 % of Segur and Oberstar 1951. Glycerol takes up water from the air: 1 % of it changes the top end by a fifth.

    Examples
    --------
    >>> round(glycerol_water(60, 20).consistency_pa_sn * 1000, 2)
    10.91
    """
    _within(percent, 0, 100, "A glycerol share [%]")
    _within(temperature_c, 0, 100, "A temperature [C]")
    w, t = percent / 100, temperature_c
    thin = 1.790 * np.exp((-1230 - t) * t / (36100 + 360 * t))
    thick = 12100 * np.exp((-1233 + t) * t / (9900 + 70 * t))
    a = 0.705 - 0.0017 * t
    b = (4.9 + 0.036 * t) * a**2.5
    alpha = 1 - w + a * b * w * (1 - w) / (a * w + b * (1 - w))
    light, heavy = _water_density(t), 1273 - 0.612 * t
    swell = 1 + (1.78e-6 * t**2 - 1.82e-4 * t + 0.0141) * max(np.sin(np.pi * w**1.31), 0.0) ** 0.81
    share = 0.0 if w == 0 else (heavy - light) / (1 + heavy / light * (1 / w - 1))
    return Fluid(float(1e-3 * thin**alpha * thick ** (1 - alpha)), 1.0, float(swell * (light + share)))


def sugar_syrup(percent: float, temperature_c: float = 20.0) -> Fluid:
    """White sugar in water, by mass.

    Parameters
    ----------
    percent : float
        Sugar [% by mass], 20 to 65; 60 is 60 g sugar and 40 g water, boiled under a lid and made up to 100 g again.
    temperature_c : float
        Temperature [C], 20 to 60.

    Returns
    -------
    Fluid

    Raises
    ------
    ReadingError
        Outside these ranges.

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

    _within(percent, 20, 65, "A sugar share [%]")
    _within(temperature_c, 20, 60, "A temperature [C]")
    at_20 = np.array(_SUCROSE_20[1])
    by_row = {20: 1.960, 40: 6.200, 60: 56.5}
    for place, share in enumerate(_SUCROSE_20[0]):
        if share in by_row:
            at_20[place] = np.sqrt(at_20[place] * by_row[share])
    base = float(PchipInterpolator(_SUCROSE_20[0], np.log(at_20))(percent))
    falls = []
    for temperatures, viscosities in _SUCROSE.values():
        inverse = 1 / (np.array(temperatures) + 273.15)
        curve = PchipInterpolator(inverse[::-1], np.log(viscosities)[::-1])
        falls.append(float(curve(1 / (temperature_c + 273.15)) - curve(1 / 293.15)))
    fall = float(np.polyval(np.polyfit([20, 40, 60], falls, 2), percent))
    density = float(PchipInterpolator(*_SYRUP_DENSITY)(percent))
    return Fluid(float(1e-3 * np.exp(base + fall)), 1.0, density)


@dataclass(frozen=True)
class Calibration:
    """What known liquids say of a tool.

    Parameters
    ----------
    tool : Instrument
        The tool with its constants put right; as it was where nothing of it can be set.
    constants : dict of str to Range
        Each constant with its 95 % range; ``factor`` is known over read viscosity.
    notes : tuple of str
        What went wrong or is doubtful, one sentence each.
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
    reading_sd : float, optional
        Standard uncertainty of a reading, in its unit; that of a reading by hand unless given.
    fluid_rel_sd : float
        Relative standard uncertainty of each known viscosity [-].

    Returns
    -------
    Calibration

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
    build, start, names = _tunable(tool)
    shown = np.array([reading for _, reading in readings])

    def ln_read(at: FloatArray, values: FloatArray) -> FloatArray:
        trial, factor = build(at)
        pairs = zip(readings, values, strict=True)
        found = [trial.fluid(v, f.flow_index, f.density_kg_m3).consistency_pa_sn for (f, _), v in pairs]
        return np.asarray(np.log(np.array(found) * factor))

    step = 1e-4 * shown
    slope = (ln_read(start, shown + step) - ln_read(start, shown - step)) / (2 * step)
    spread = np.hypot(slope * sd, fluid_rel_sd)

    def misses(at: FloatArray) -> FloatArray:
        return np.asarray((ln_read(at, shown) - np.log(known)) / spread)

    run: Any = least_squares(misses, start, x_scale="jac", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    over = len(readings) - len(start)
    excess = max(1.0, 2 * run.cost / over) if over else 1.0
    sds = np.sqrt(np.diag(np.linalg.pinv(run.jac.T @ run.jac)) * excess)
    constants, notes = {}, []
    for name, log, width in zip(names, run.x, sds, strict=True):
        best, reach = float(np.exp(log)), float(np.exp(Z95 * min(width, 5.0)))
        constants[name] = Range(best, best / reach, best * reach)
        if width > 0.5:
            notes.append(f"The readings hardly fix {name}: read a thinner and a thicker liquid.")
    if over and 2 * run.cost / over > 4:
        notes.append(
            "The liquids disagree with one another by more than the spread of a reading: weigh the syrups again, check their "
            "temperature, and read each three times."
        )
    if "factor" in constants and not 0.5 <= constants["factor"].best <= 2:
        notes.append("The tool reads wrong by more than a factor of 2: check its sizes and times first.")
    return Calibration(build(run.x)[0], constants, tuple(notes))


def _tunable(tool: Instrument) -> tuple[Callable[[FloatArray], tuple[Instrument, float]], FloatArray, tuple[str, ...]]:
    """How a tool is built from the logarithms of its constants, where the search starts, and the constants' names."""
    if isinstance(tool, Syringe):

        def syringe(at: FloatArray) -> tuple[Instrument, float]:
            return replace(tool, nozzle_mm=float(np.exp(at[0])), loss=float(np.exp(at[1]))), 1.0

        return syringe, np.log([tool.nozzle_mm, tool.loss]), ("nozzle_mm", "loss")
    if isinstance(tool, FlowCup) and tool.law is not None:
        law: CupLaw = tool.law

        def funnel(at: FloatArray) -> tuple[Instrument, float]:
            own = law._replace(a=float(np.exp(at[0])), b=float(np.exp(at[1])), c=0.0)
            return replace(tool, law=own), 1.0

        return funnel, np.log([law.a, max(law.b, 1.0)]), ("a", "b")

    def factor(at: FloatArray) -> tuple[Instrument, float]:
        return tool, float(np.exp(at[0]))

    return factor, np.zeros(1), ("factor",)
