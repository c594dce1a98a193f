"""Viscosity of water."""


def water_pa_s(temperature_c: float) -> float:
    """Viscosity of water [Pa s], 0 to 100 C, by the simplified IAPWS formula (memory, high)."""
    t = (temperature_c + 273.15) / 300
    return 1e-6 * float(280.68 * t**-1.9 + 511.45 * t**-7.7 + 61.131 * t**-19.6 + 0.45903 * t**-40)
