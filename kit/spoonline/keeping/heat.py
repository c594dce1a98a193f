"""Thermal properties from composition; ice around the pot and in it; how long a pot takes to come hot, and where it boils."""

import math
from typing import NamedTuple

import numpy as np

from spoonline import facts
from spoonline.keeping.places import said
from spoonline.measures import Range, read_table
from spoonline.recipes import Recipe

ICE_KJ_PER_KG = 334.0  # latent heat of melting (memory)
WATER_KJ_PER_KG_K = 4.18

# Choi and Okos (1986), T in C: conductivity [W/m K], density [kg/m3], heat capacity [kJ/kg K], each a + b T + c T2.
_ROWS = (list(row.values()) for row in read_table("heat_of_parts.csv"))
_PARTS = {part: np.reshape([*map(float, figures[:9])], (3, 3)) for part, *figures in _ROWS}


class Food(NamedTuple):
    """Thermal properties: conductivity [W/m K], density [kg/m3], heat capacity [J/kg K]; what they rest on, in words."""

    conductivity_w_m_k: float
    density_kg_m3: float
    heat_capacity_j_kg_k: float
    basis: str = ""

    @property
    def heat_j_m3_k(self) -> float:
        """Heat capacity by volume [J/m3 K]."""
        return self.density_kg_m3 * self.heat_capacity_j_kg_k


def food(
    *, water: float, protein: float = 0, fat: float = 0, carbohydrate: float = 0, fibre: float = 0, ash: float = 0,
    temperature_c: float = 30.0,
) -> Food:  # fmt: skip
    """Work out thermal properties from composition.

    Parameters
    ----------
    water, protein, fat, carbohydrate, fibre, ash : float
        Masses in any one unit, 0 or more and not all 0; shares are taken of their sum. Carbohydrate is without the fibre.
    temperature_c : float
        At which temperature [C], 0 to 100; RecipeError outside.

    Notes
    -----
    Choi and Okos 1986: 1/density = sum X/density_i, heat capacity = sum X c_i, conductivity = density sum X k_i/density_i.
    Valid 0 to 100 C for unfrozen food without air in it.

    Examples
    --------
    >>> soup = food(water=88, fat=4, protein=2, carbohydrate=4.5, fibre=0.5, ash=1, temperature_c=20)
    >>> f"{soup.density_kg_m3:.0f} {soup.heat_capacity_j_kg_k:.0f} {soup.conductivity_w_m_k:.3f}"
    '1022 3889 0.565'
    """
    shares = {"water": water, "protein": protein, "fat": fat, "carbohydrate": carbohydrate, "fibre": fibre, "ash": ash}
    total = sum(shares.values())
    said.refuse(min(shares.values()) < 0 or not total > 0 or not 0 <= temperature_c <= 100, "composition")
    k, rho, cp = (np.array([_PARTS[name] for name in shares]) @ temperature_c ** np.arange(3)).T
    share = np.array(list(shares.values())) / total
    density = 1 / float(share @ (1 / rho))
    basis = "its composition (Choi and Okos 1986)"
    return Food(density * float(share @ (k / rho)), density, 1000 * float(share @ cp), basis)


def food_of(recipe: Recipe, temperature_c: float = 30.0) -> Food:
    """Work out the thermal properties of a recipe, as put in; RecipeError if no line has both a mass and a composition.

    Notes
    -----
    Lines without a composition count as what the rest is; the words say how much of the mass is known. What boils away is
    water; 10 % of it changes conductivity by about 1 %.

    Examples
    --------
    >>> gravy = Recipe(title="Mushroom gravy", ingredients=["1 l beef stock", "60 g wheat flour"])
    >>> round(food_of(gravy).conductivity_w_m_k, 2)
    0.6
    """
    sums = dict.fromkeys(_PARTS, 0.0)
    known = 0.0
    for line in recipe.ingredients:
        row = facts.ingredient(line.fact_name) if line.fact_name else None
        if row is None or line.mass_g is None or row.water_g is None:
            continue
        mass = float(line.mass_g)
        known += mass
        for name in sums:
            sums[name] += mass / 100 * float(getattr(row, f"{name}_g") or 0)
        sums["carbohydrate"] -= mass / 100 * min(float(row.fibre_g or 0), float(row.carbohydrate_g or 0))
    said.refuse(known == 0, "nothing known", title=recipe.title)
    share = 100 * known / recipe.mass_g
    basis = f"the composition of {share:.0f} % of its mass (Choi and Okos 1986; USDA SR28)"
    return food(**sums, temperature_c=temperature_c)._replace(basis=basis)


def ice_to_melt_kg(mass_kg: float, from_c: float, to_c: float, heat_capacity_j_kg_k: float = 3900.0) -> float:
    """Work out the ice [kg] that melts in a bath around the pot to cool it [C to C]: heat balance with 334 kJ/kg (memory).

    Melting only, and the bath gains heat from the room too: plan a quarter more.

    Examples
    --------
    >>> round(ice_to_melt_kg(4.0, 57, 5), 2)
    2.43
    """
    return mass_kg * heat_capacity_j_kg_k / 1000 * (from_c - to_c) / ICE_KJ_PER_KG


class IceInside(NamedTuple):
    """Ice as an ingredient: grams of ice, and litres of liquid to hold back for it of those that the recipe pours."""

    ice_g: float
    hold_back_l: float
    liquid_l: float
    from_c: float
    to_c: float

    @property
    def text(self) -> str:
        """What to do, in a sentence."""
        if self.hold_back_l > self.liquid_l:
            return said("too much ice", of=self)
        left_l = self.liquid_l - self.hold_back_l
        thicker = f"{self.liquid_l / left_l:.1f}" if left_l > 0 else "many"
        return said("ice inside", of=self, left=left_l, times=thicker)


def ice_inside(
    recipe: Recipe, from_c: float = 95.0, to_c: float = 21.0, heat_capacity_j_kg_k: float = 3900.0
) -> IceInside:
    """Work out ice as an ingredient, its water counted in the liquid of the recipe.

    From ``from_c`` to ``to_c`` [C], with the ice melted, at a heat capacity [J/kg K]; RecipeError if the temperatures do not go
    down, or nothing is weighed.

    Notes
    -----
    ice = m c (T1 - T2)/(334 + 4.18 T2) kJ with m + ice the finished mass of the recipe, so that the dose stays.

    Examples
    --------
    >>> soup = Recipe(title="Soup", ingredients=["1 l vegetable stock", "500 g parsnips", "30 g corn starch"])
    >>> round(ice_inside(soup, 80, 21).ice_g)
    545
    """
    said.refuse(not from_c > to_c >= 0 or recipe.finished_g <= 0, "going down", warm=from_c, cool=to_c)
    per_kg = heat_capacity_j_kg_k / 1000 * (from_c - to_c) / (ICE_KJ_PER_KG + WATER_KJ_PER_KG_K * to_c)
    ice_g = recipe.finished_g * per_kg / (1 + per_kg)
    return IceInside(ice_g, ice_g / 1000, recipe.liquid_l, from_c, to_c)


NET_SHARE = Range(0.6, 0.4, 0.75)  # of a hob's rated power that reaches the food (judged)
PSI_PA = 6894.757


def reheating_minutes(mass_kg: float, power_w: float) -> Range:
    """Estimate the time [min] to reheat a stirred pot from 5 to 74 C; the range is that of the share of the power that gets in.

    Notes
    -----
    m c dT / net power, c 4000 J/kg K, net 60 % of the rated power (40 to 75, judged). A thick food that is not stirred scorches first.
    RecipeError if mass or power is not above 0.

    Examples
    --------
    >>> print(f"{reheating_minutes(1.0, 2000):.2g} min")
    3.8 (3.1-5.8) min
    """
    said.refuse(not (mass_kg > 0 and power_w > 0), "mass and power", kg=mass_kg, watt=power_w)
    joules = mass_kg * 4000.0 * (74.0 - 5.0)
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

    there = -500 <= altitude_m <= 5000 and 0 <= gauge_pa <= 150e3
    said.refuse(not there, "air and pressure", height=altitude_m, kpa=gauge_pa / 1000)
    pressure = 101325.0 * (1 - 0.0065 * altitude_m / 288.15) ** 5.25588 + gauge_pa
    return float(brentq(lambda celsius: _saturation_pa(celsius) - pressure, 50.0, 150.0))


# Of water by Wagner and Pruss: each power of 1 - T/Tc, and its coefficient.
_SERIES = {1: -7.85951783, 1.5: 1.84408259, 3: -11.7866497, 3.5: 22.6807411, 4: -15.9618719, 7.5: 1.80122502}


def _saturation_pa(temperature_c: float) -> float:
    kelvin = temperature_c + 273.15
    series = sum(each * (1 - kelvin / 647.096) ** power for power, each in _SERIES.items())
    return 22.064e6 * math.exp(647.096 / kelvin * series)
