"""Heat, altitude, evaporation against handbook tables and held check values; the source stands beside each figure."""

from __future__ import annotations

import csv

import pytest

from spoonline.facts import limit
from spoonline.keeping import PSI_PA, boiling_c, food, ice_to_melt_kg, reheating_minutes
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
    assert soup.diffusivity_m2_s == pytest.approx(diffusivity, abs=0.01e-7)


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
