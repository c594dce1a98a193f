"""Hobs, altitude and pressure: how long a pot takes to come hot, and where it boils."""

from __future__ import annotations

import math

from spoonline.measures.errors import RecipeError
from spoonline.measures.ranges import Range

NET_SHARE = Range(0.6, 0.4, 0.75)  # of a hob's rated power that reaches the food (judged)
PSI_PA = 6894.757


def reheating_minutes(
    mass_kg: float, power_w: float, from_c: float = 5.0, to_c: float = 74.0, heat_capacity_j_kg_k: float = 4000.0
) -> Range:
    """Estimate the time [min] to reheat a stirred pot; the range is that of the share of the power that gets in.

    Notes
    -----
    m c dT / net power, net 60 % of the rated power (40 to 75, judged). A thick food that is not stirred scorches first.
    RecipeError if mass or power is not above 0.

    Examples
    --------
    >>> print(f"{reheating_minutes(1.0, 2000):.2g} min")
    3.8 (3.1-5.8) min
    """
    if not (mass_kg > 0 and power_w > 0):
        raise RecipeError(f"{mass_kg:g} kg and {power_w:g} W came; a mass and a power above 0 are wanted.")
    joules = mass_kg * heat_capacity_j_kg_k * (to_c - from_c)
    return Range(*(joules / (power_w * share) / 60 for share in (NET_SHARE.best, NET_SHARE.high, NET_SHARE.low)))


def boiling_c(altitude_m: float = 0.0, gauge_pa: float = 0.0) -> float:
    """Boiling point of water [C] at an altitude [m], and in a pressure cooker there, by its pressure above the air around it [Pa].

    From -500 to 5000 m and 0 to 150 kPa, or a RecipeError.

    Notes
    -----
    ICAO standard atmosphere; saturation of water by Wagner and Pruss 1993 (IAPWS supplementary release 1992), inverted. The
    weather moves it by about 0.5 C.

    Examples
    --------
    >>> f"{boiling_c():.2f} {boiling_c(1524):.2f} {boiling_c(0, 15 * PSI_PA):.1f} {boiling_c(1524, 15 * PSI_PA):.1f}"
    '99.97 94.90 121.0 118.2'
    """
    from scipy.optimize import brentq

    if not -500 <= altitude_m <= 5000 or not 0 <= gauge_pa <= 150e3:
        raise RecipeError(
            f"{altitude_m:g} m and {gauge_pa / 1000:g} kPa came; -500 to 5000 m and 0 to 150 kPa are wanted."
        )
    pressure = 101325.0 * (1 - 0.0065 * altitude_m / 288.15) ** 5.25588 + gauge_pa
    return float(brentq(lambda celsius: _saturation_pa(celsius) - pressure, 50.0, 150.0))


def _saturation_pa(temperature_c: float) -> float:
    kelvin = temperature_c + 273.15
    t = 1 - kelvin / 647.096
    series = (
        -7.85951783 * t + 1.84408259 * t**1.5 - 11.7866497 * t**3
        + 22.6807411 * t**3.5 - 15.9618719 * t**4 + 1.80122502 * t**7.5
    )  # fmt: skip
    return 22.064e6 * math.exp(647.096 / kelvin * series)
