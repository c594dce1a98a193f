"""Heat, altitude, evaporation against handbook tables and held check values; the source stands beside each figure."""

from __future__ import annotations

import csv

import pytest

from spoonline.facts import limit
from spoonline.keeping import PSI_PA, SURROUNDINGS, boiling_c, food, ice_to_melt_kg, reheating_minutes
from witness.test_usda_tables import HELD

pytestmark = pytest.mark.kind("published")


def rows(name: str) -> list[dict[str, str]]:
    with (HELD / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.kind("computed")
def test_water_boils_as_the_altitude_table_says() -> None:
    # ICAO standard atmosphere + IAPWS-95 by CoolProp, an implementation of its own
    for row in rows("boiling_by_altitude.csv"):
        metres = float(row["altitude_ft"]) * 0.3048
        assert boiling_c(metres) == pytest.approx(float(row["boil_c"]), abs=0.02)
        for psi in (10, 15):
            assert boiling_c(metres, psi * PSI_PA) == pytest.approx(float(row[f"boil_c_at_{psi}psig"]), abs=0.06)


# USDA Complete Guide to Home Canning, altitude table (copy, read): F at 0, 1000, 2000, 3000, 4000 ft; a rounder atmosphere, 0.2 C
@pytest.mark.parametrize(
    ("feet", "fahrenheit"), [(0, 212.0), (1000, 210.2), (2000, 208.5), (3000, 206.7), (4000, 204.9)]
)
def test_water_boils_as_the_canning_table_says(feet: int, fahrenheit: float) -> None:
    assert boiling_c(feet * 0.3048) == pytest.approx((fahrenheit - 32) / 1.8, abs=0.2)


@pytest.mark.kind("computed")
def test_pressure_cooker() -> None:
    # published 250 F at 15 psig as rounded in pressure tables; F66 computed 120.95
    assert boiling_c(0, 15 * PSI_PA) == pytest.approx(121.0, abs=0.2)
    # 11.6 psig: 117.1 C (IAPWS, computed elsewhere); 5000 ft and 15 psig: 118.2 C
    assert boiling_c(0, 11.6 * PSI_PA) == pytest.approx(117.1, abs=0.06)
    assert boiling_c(1524, 15 * PSI_PA) == pytest.approx(118.2, abs=0.06)


@pytest.mark.kind("computed")
def test_ice_and_reheating() -> None:
    # F57: 4.0 kg at 3.9 kJ/kg K from 57 to 5 C is 811 kJ, at 334 kJ/kg (memory) 2.43 kg of ice
    assert ice_to_melt_kg(4.0, 57, 5) == pytest.approx(2.43, abs=0.01)
    # 1 kg, 5 to 74 C, cp 4.0: 276 kJ; 2 kW at 60 % takes 230 s (arithmetic)
    assert 60 * reheating_minutes(1.0, 2000).best == pytest.approx(230, abs=1)


# Computed by another hand from Choi and Okos 1986 for 88 % water, 4 fat, 2 protein, 4.5 carbohydrate, 0.5 fibre, 1 ash
@pytest.mark.parametrize(
    ("celsius", "density", "heat", "conductivity", "diffusivity"), [(20, 1022, 3890, 0.565, 1.42e-7), (60, 1009, 3910, 0.611, 1.55e-7)]
)  # fmt: skip
@pytest.mark.kind("computed")
def test_thick_soup_by_choi_and_okos(
    celsius: float, density: float, heat: float, conductivity: float, diffusivity: float
) -> None:
    soup = food(water=88, fat=4, protein=2, carbohydrate=4.5, fibre=0.5, ash=1, temperature_c=celsius)
    assert soup.density_kg_m3 == pytest.approx(density, abs=1)
    assert soup.heat_capacity_j_kg_k == pytest.approx(heat, abs=5)
    assert soup.conductivity_w_m_k == pytest.approx(conductivity, abs=0.001)
    assert soup.conductivity_w_m_k / soup.heat_j_m3_k == pytest.approx(diffusivity, abs=0.01e-7)


@pytest.mark.kind("memory")
def test_pure_water_by_handbook() -> None:
    # handbook water at 20 C: 998.2 kg/m3, 4.182 kJ/kg K, 0.598 W/m K (memory); the fit is good to 1 %
    water = food(water=1, temperature_c=20)
    assert water.density_kg_m3 == pytest.approx(998.2, rel=0.01)
    assert water.heat_capacity_j_kg_k == pytest.approx(4182, rel=0.01)
    assert water.conductivity_w_m_k == pytest.approx(0.598, rel=0.01)


def test_food_code_limits() -> None:
    # US model Food Code as adopted: 3-501.14 (16 Del. Admin. Code), 3-501.16 (WAC 246-215-03525), 3-403.11 (COMAR 10.15.03.11)
    expected = {"cooling start": 57, "cooling stage 1": 21, "cooling stage 1 time": 2, "cooling stage 2": 5, "cooling total time": 6,
                "cooling from room temperature": 4, "hot holding": 57, "cold holding": 5, "reheating": 74, "reheating time": 2,
                "reheating hold": 15, "keeping retail": 7}  # fmt: skip
    assert {name: limit(name).value for name in expected} == expected
    # 135, 70, 41 and 165 F are the code's own figures: each rounds to the Celsius printed with it
    for fahrenheit, name in (
        (135, "cooling start"),
        (70, "cooling stage 1"),
        (41, "cooling stage 2"),
        (165, "reheating"),
    ):
        assert round((fahrenheit - 32) / 1.8) == limit(name).value


# Choi and Okos 1986 as printed (mantissas read, powers of ten by memory): a + b T + c T^2 in C; W/m K, kg/m3, kJ/kg K.
CHOI_OKOS = {
    "protein": ("1.7881e-1 1.1958e-3 -2.7178e-6", "1.3299e3 -5.1840e-1 0", "2.0082 1.2089e-3 -1.3129e-6"),
    "fat": ("1.8071e-1 -2.7604e-4 -1.7749e-7", "9.2559e2 -4.1757e-1 0", "1.9842 1.4733e-3 -4.8008e-6"),
    "carbohydrate": ("2.0141e-1 1.3874e-3 -4.3312e-6", "1.5991e3 -3.1046e-1 0", "1.5488 1.9625e-3 -5.9399e-6"),
    "fibre": ("1.8331e-1 1.2497e-3 -3.1683e-6", "1.3115e3 -3.6589e-1 0", "1.8459 1.8306e-3 -4.6509e-6"),
    "ash": ("3.2962e-1 1.4011e-3 -2.9069e-6", "2.4238e3 -2.8063e-1 0", "1.0926 1.8896e-3 -3.6817e-6"),
    "water": ("5.7109e-1 1.7625e-3 -6.7036e-6", "9.9718e2 3.1439e-3 -3.7574e-3", "4.1762 -9.0864e-5 5.4731e-6"),
}  # fmt: skip


@pytest.mark.parametrize("part", CHOI_OKOS)
def test_each_part_of_a_food_is_as_choi_and_okos_have_it(part: str) -> None:
    """At 0 C the constant alone, at 50 and 100 C all three terms."""
    for celsius in (0.0, 50.0, 100.0):
        found = food(**{"water": 0.0, part: 1.0}, temperature_c=celsius)
        conductivity, density, heat = (
            sum(float(each) * celsius**power for power, each in enumerate(terms.split())) for terms in CHOI_OKOS[part]
        )
        assert found.conductivity_w_m_k == pytest.approx(conductivity, rel=1e-6)
        assert found.density_kg_m3 == pytest.approx(density, rel=1e-6)
        assert found.heat_capacity_j_kg_k == pytest.approx(1000 * heat, rel=1e-6)


@pytest.mark.kind("memory")
@pytest.mark.parametrize(
    ("name", "celsius", "low", "high"),
    [
        ("fridge, still air", 4, 5, 10), ("fridge with a fan", 3, 10, 25), ("ice bath, not stirred", 1, 50, 200),
        ("ice bath, water stirred", 0.5, 200, 500), ("blast chiller", -5, 30, 100), ("counter", 20, 6, 12),
    ],
)  # fmt: skip
def test_how_a_place_takes_heat_is_the_handbooks_order_of_magnitude(
    name: str, celsius: float, low: float, high: float
) -> None:
    """W/m2 K of heat transfer texts for such air and water; the best figure is the middle in logs, to the rounding of such figures (a tenth).

    The air above a bath is the room's, 20 C.
    """
    place = SURROUNDINGS[name]
    assert place.ambient_c == celsius and (place.h.low, place.h.high) == (low, high)
    assert place.h.best == pytest.approx((low * high) ** 0.5, rel=0.1)
    assert place.top_c == (20 if "bath" in name else None)
