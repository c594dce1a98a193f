"""The judged beliefs about thickeners against published viscosities and temperature factors.

Most figures below were recalled or read from abstracts, so the checks are wide; they catch a wrong unit or a
wrong power, not a wrong digit. The two pinned rows of the model's own arithmetic stand in
tests/trials/test_dose_curve.py.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy import stats

from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.mixture import joined
from spoonline.dose.priors import JOIN_ENDS, Prior, of_cells, prior_for
from spoonline.pots.water import Pot
from witness.water import water_pa_s

pytestmark = pytest.mark.kind("published")

WATER_POT = Pot(1000.0)


def starch_part(dry_percent: float, temperature_c: float) -> float:
    """Viscosity at 50 1/s of maize starch in water before any batch, less the water."""
    dose = float(WATER_POT.dose(dry_percent))
    base = water_pa_s(temperature_c)
    curve = DoseCurve.fit([], [], base_pa_s=base, pot=WATER_POT, temperature_c=temperature_c)
    return curve.viscosity(dose).best - base


def test_activation_energy_of_white_sauce() -> None:
    """4.52 kcal/mol = 18.9 kJ/mol: 60 -> 20 C thickens 2.54 times (J. Home Econ. Japan 30(10), 1979, 845, abstract; factor computed)."""
    sauce = Prior("white sauce", activation_kj_mol=4.52 * 4.184)
    assert sauce.activation_kj_mol == pytest.approx(18.9, abs=0.05)
    assert np.exp(sauce.level(20.0)[0] - sauce.level(60.0)[0]) == pytest.approx(2.54, abs=0.01)


@pytest.mark.kind("computed")
def test_activation_factors_of_the_prior() -> None:
    """17 kJ/mol: 60 -> 20 C x2.31, 60 -> 85 C x0.652, 60 -> 5 C x3.37, 60 -> 40 C x1.48 (computed)."""
    level = prior_for("corn starch").level
    for celsius, factor, tolerance in ((20, 2.31, 0.01), (85, 0.652, 0.01), (5, 3.37, 0.01), (40, 1.48, 0.01)):
        assert np.exp(level(celsius)[0] - level(60.0)[0]) == pytest.approx(factor, abs=tolerance)


@pytest.mark.kind("memory")
def test_rapid_viscograph_of_maize_starch() -> None:
    """8 % dry maize starch: 2.03 Pa s at 50 C, 1.14 at 95 C (Jane et al., Cereal Chem. 76, 1999, 629; memory): within x1.5."""
    for celsius, measured in ((50.0, 169 * 0.012), (95.0, 95 * 0.012)):
        assert measured / 1.5 < starch_part(8.0, celsius) < measured * 1.5


def test_dilute_maize_paste() -> None:
    """0.9 % maize paste at 50 C: 3 mPa s with the water (abstract, assumed pairing of the printed end-points): within x1.5."""
    assert 0.003 / 1.5 < starch_part(0.9, 50.0) + water_pa_s(50.0) < 0.003 * 1.5


@pytest.mark.kind("computed")
def test_power_of_three() -> None:
    """10 % more or less dose is x1.331 or x0.729 in thickness at b = 3, on one water phase (computed)."""
    assert starch_part(4.4, 60.0) / starch_part(4.0, 60.0) == pytest.approx(1.331, rel=2e-5)
    assert starch_part(3.6, 60.0) / starch_part(4.0, 60.0) == pytest.approx(0.729, rel=2e-5)


@pytest.mark.kind("memory")
def test_water() -> None:
    """Water at 0, 10, 20, 25, 40, 60, 80 C: IAPWS 2008 simplified formula (memory, high), 1.7918 to 0.3540 mPa s."""
    expected = {0: 1.7918, 10: 1.3059, 20: 1.0016, 25: 0.8900, 40: 0.6527, 60: 0.4660, 80: 0.3540}
    for celsius, value in expected.items():
        assert 1000 * water_pa_s(celsius) == pytest.approx(value, abs=6e-5)


def test_published_doses_lie_inside_the_prior() -> None:
    """Corn starch 22.5 g/L for a medium and 34 g/L for a thick sauce (American Woman's Cook Book, c. 1939): thin to honey-thick."""
    curve = DoseCurve.fit([], [], base_pa_s=0.001)
    assert 0.010 < curve.viscosity(22.5).best < curve.viscosity(34.0).best < 1.75


@pytest.mark.kind("own")
def test_the_defaults_of_a_prior_are_those_of_the_scale() -> None:
    """Maize starch is the scale: strength 1 and known exactly; a prior of no name believes the same of everything."""
    maize = prior_for("corn starch")
    assert (maize.strength, maize.strength_ln_sd) == (1.0, 0.0)
    assert dataclasses.replace(maize, source=Prior.source) == Prior("corn starch")


@pytest.mark.kind("memory")
def test_exponent_spans_what_native_starches_show() -> None:
    """Native starches thicken with the 2nd to the 4th power of their dose (memory): two spreads either way of the middle, for each of them."""
    for name in ("corn starch", "wheat flour", "arrowroot", "tapioca starch", "potato starch", "rice flour"):
        believed = prior_for(name)
        assert believed.exponent - 2 * believed.exponent_sd == pytest.approx(2, abs=0.1), name
        assert believed.exponent + 2 * believed.exponent_sd == pytest.approx(4, abs=0.1), name


@pytest.mark.kind("computed")
def test_base_and_starch_join_between_one_volume_and_a_plain_sum() -> None:
    """Cells and grains that fill the same space add as concentrations: (c1 + c2)^b, that is a power 1/b; strangers add as viscosities, power 1.

    The latent power is drawn between these two ends and a tenth beyond the second; its 90 % range reaches from one to the other.
    """
    cells, starch = 0.08, 0.20
    together = (cells ** (1 / 3) + starch ** (1 / 3)) ** 3
    assert np.exp(joined(np.log(starch), np.log(cells), JOIN_ENDS[0])[0]) == pytest.approx(together, rel=1e-9)
    assert np.exp(joined(np.log(starch), np.log(cells), 1.0)[0]) == pytest.approx(cells + starch, rel=1e-9)
    assert 1 / JOIN_ENDS[0] == pytest.approx(Prior.exponent) and JOIN_ENDS[1] == pytest.approx(1.1)
    low, high = stats.norm.ppf([0.05, 0.95], Prior.join, Prior.join_sd)
    assert (low, high) == pytest.approx((1 / 3, 1.0), abs=0.03)


@pytest.mark.kind("memory")
def test_what_holds_no_cells_joins_as_a_plain_sum() -> None:
    """Stock and milk flow like water to a few times as thick (0.5 to 2.2 mPa s, 20 to 60 C): no cells; a blended soup reads 30 mPa s and more.

    Between 3 and 30 mPa s the share grows evenly in logs: half of it at their geometric mean.
    """
    for thin in (0.0005, 0.0010, 0.0022, 0.0030):
        assert of_cells(np.log(thin)) == 0
    assert of_cells(np.log(0.0031)) > 0 and of_cells(np.log(0.029)) < 1
    for thick in (0.030, 0.09, 0.4):
        assert of_cells(np.log(thick)) == pytest.approx(1)
    assert of_cells(np.log((0.003 * 0.030) ** 0.5)) == pytest.approx(0.5)
