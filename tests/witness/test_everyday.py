"""Everyday liquids that a cook aims by: each figure against a second source, or a law that it must follow."""

from __future__ import annotations

import math

import pytest

from spoonline.dose import DoseCurve, aim_as, everyday
from spoonline.dose.aims import MOUTH_PER_S

pytestmark = pytest.mark.kind("published")

R = 8.314462618


@pytest.mark.kind("own")
def test_every_liquid_says_where_it_is_from() -> None:
    assert len(everyday()) == 15
    for each in everyday().values():
        assert each.source and each.kind in ("published", "memory", "judged", "computed"), each.name
        assert each.viscosity.low < each.viscosity.best < each.viscosity.high and each.kind in each.text


def test_sugar_syrup_against_the_other_table() -> None:
    # CRC Handbook, aqueous solutions (read): sucrose 60 %, 20 C: 56.5 mPa s; another printed table: 58.5
    syrup = everyday()["sugar syrup of 60 %"].viscosity
    assert syrup.best == pytest.approx(0.0565) and syrup.low < 0.0585 < syrup.high


def test_honey_lies_within_what_was_measured_of_honeys() -> None:
    # rosemary honey 30 C: 6.12 Pa s (Pol J Food Nutr Sci 2018;68:217, abstract, read); of 16 % water at 30 C about 7 (read)
    honey = everyday()["runny honey"].viscosity
    assert honey.low < 6.12 < honey.high and honey.low < 7 < honey.high
    # seven Polish honeys, 10 to 40 C: 1.76 to 252.6 Pa s (J Food Eng 2006;75:43, abstract, read)
    assert honey.low > 1.76 and honey.high < 252.6


def test_ketchup_overlaps_the_measured_range() -> None:
    # ketchup with and without gums, 25 to 55 C: n 0.189 to 0.228, K 8.4 to 27.2 Pa s^n (Koocheki and others, read)
    ends = [k * MOUTH_PER_S ** (n - 1) for k in (8.4, 27.2) for n in (0.189, 0.228)]
    ketchup = everyday()["tomato ketchup"].viscosity
    assert max(ketchup.low, min(ends)) < min(ketchup.high, max(ends))


@pytest.mark.kind("memory")
def test_cream_follows_its_other_temperatures() -> None:
    # 40 % fat: 6.90, 5.10, 3.95 mPa s at 40, 60, 80 C (Steffe, appendices; memory): one activation energy, about 13 kJ/mol
    cream = everyday()["double cream (warm)"]
    energy = R * math.log(0.00690 / 0.00395) / (1 / 313.15 - 1 / 353.15)
    assert energy == pytest.approx(13e3, rel=0.05)
    at_60 = cream.viscosity.best * math.exp(energy / R * (1 / 333.15 - 1 / 313.15))
    assert at_60 == pytest.approx(0.00510, rel=0.02)


@pytest.mark.kind("practice")
def test_thicker_things_are_thicker() -> None:
    # common practice, no source: nobody would put these in another order
    flour = [name for name in everyday() if "flour" in name]
    assert [name.split(" (")[0] for name in flour] == [
        "thin sauce",
        "gravy",
        "sauce that coats a spoon",
        "thick white sauce",
    ]
    aims = [
        float(aim_as(name).viscosity_pa_s)
        for name in ("whole milk", "double cream (warm)", *flour, "apple sauce", "runny honey")
    ]
    assert aims == sorted(aims)


@pytest.mark.parametrize(
    ("name", "dose"), [("thin sauce", 33), ("gravy", 60), ("sauce that coats", 66), ("thick white sauce", 99)]
)
@pytest.mark.kind("practice")
def test_sauces_of_flour_are_what_the_curve_gives(name: str, dose: float) -> None:
    # 1, 2 and 3 tbsp of flour a cup are thin, medium and thick white sauce (US home economics; common practice): 33, 66, 99 g/L
    (sauce,) = (each for each in everyday().values() if each.name.startswith(name))
    curve = DoseCurve.fit([], [], thickener="wheat flour").viscosity(dose)
    assert sauce.viscosity.best == pytest.approx(curve.best, rel=0.1)
    assert curve.low < sauce.viscosity.best < curve.high
