"""Heat and water: thermal properties from composition, ice, boiling off, reheating, altitude and pressure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from spoonline import facts
from spoonline.measures.errors import ItemError, RecipeError
from spoonline.measures.ranges import Range
from spoonline.recipes import Recipe

ICE_KJ_PER_KG = 334.0  # latent heat of melting (memory)
WATER_KJ_PER_KG_K = 4.18
NET_SHARE = Range(0.6, 0.4, 0.75)  # of a hob's rated power that reaches the food (judged)
PSI_PA = 6894.757

# Choi and Okos (1986), T in C: conductivity [W/m K], density [kg/m3], heat capacity [kJ/kg K], each a + b T + c T2.
_PARTS = {
    "protein": ((0.17881, 1.1958e-3, -2.7178e-6), (1329.9, -0.5184, 0), (2.0082, 1.2089e-3, -1.3129e-6)),
    "fat": ((0.18071, -2.7604e-4, -1.7749e-7), (925.59, -0.41757, 0), (1.9842, 1.4733e-3, -4.8008e-6)),
    "carbohydrate": ((0.20141, 1.3874e-3, -4.3312e-6), (1599.1, -0.31046, 0), (1.5488, 1.9625e-3, -5.9399e-6)),
    "fibre": ((0.18331, 1.2497e-3, -3.1683e-6), (1311.5, -0.36589, 0), (1.8459, 1.8306e-3, -4.6509e-6)),
    "ash": ((0.32962, 1.4011e-3, -2.9069e-6), (2423.8, -0.28063, 0), (1.0926, 1.8896e-3, -3.6817e-6)),
    "water": ((0.57109, 1.7625e-3, -6.7036e-6), (997.18, 3.1439e-3, -3.7574e-3), (4.1762, -9.0864e-5, 5.4731e-6)),
}  # fmt: skip


@dataclass(frozen=True)
class Food:
    """Thermal properties: conductivity [W/m K], density [kg/m3], heat capacity [J/kg K]; what they rest on, in words."""

    conductivity_w_m_k: float
    density_kg_m3: float
    heat_capacity_j_kg_k: float
    basis: str = ""

    @property
    def diffusivity_m2_s(self) -> float:
        """Thermal diffusivity [m2/s]."""
        return self.conductivity_w_m_k / (self.density_kg_m3 * self.heat_capacity_j_kg_k)


def food(
    *, water: float, protein: float = 0, fat: float = 0, carbohydrate: float = 0, fibre: float = 0, ash: float = 0,
    temperature_c: float = 30.0,
) -> Food:  # fmt: skip
    """Work out thermal properties from composition.

    Parameters
    ----------
    water, protein, fat, carbohydrate, fibre, ash : float
        Masses in any one unit; shares are taken of their sum. Carbohydrate is without the fibre.
    temperature_c : float
        At which temperature [C].

    Returns
    -------
    Food

    Raises
    ------
    RecipeError
        If a mass is negative or all are 0, or the temperature is outside 0 to 100 C.

    Notes
    -----
    Choi and Okos 1986: 1/density = sum X/density_i, heat capacity = sum X c_i, conductivity = density sum X k_i/density_i.
    Valid 0 to 100 C for unfrozen food without air in it.

    Examples
    --------
    >>> soup = food(water=88, fat=4, protein=2, carbohydrate=4.5, fibre=0.5, ash=1, temperature_c=20)
    >>> f"{soup.density_kg_m3:.0f} {soup.heat_capacity_j_kg_k:.0f} {soup.conductivity_w_m_k:.3f} {soup.diffusivity_m2_s:.3g}"
    '1022 3889 0.565 1.42e-07'
    """
    shares = {
        "water": water,
        "protein": protein,
        "fat": fat,
        "carbohydrate": carbohydrate,
        "fibre": fibre,
        "ash": ash,
    }
    total = sum(shares.values())
    if min(shares.values()) < 0 or not total > 0 or not 0 <= temperature_c <= 100:
        raise RecipeError(
            "A composition of masses of 0 or more, not all 0, at 0 to 100 C is wanted; check the lines."
        )
    powers = (1.0, temperature_c, temperature_c**2)
    volume = heat = conducting = 0.0
    for name, mass in shares.items():
        k, rho, cp = (sum(a * b for a, b in zip(row, powers, strict=True)) for row in _PARTS[name])
        volume += mass / total / rho
        heat += mass / total * cp
        conducting += mass / total * k / rho
    return Food(conducting / volume, 1 / volume, 1000 * heat, "its composition (Choi and Okos 1986)")


def food_of(recipe: Recipe, temperature_c: float = 30.0) -> Food:
    """Work out the thermal properties of a recipe, as put in.

    Raises
    ------
    RecipeError
        If no line has both a mass and a composition.

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
    sums = dict.fromkeys(("water", "protein", "fat", "carbohydrate", "fibre", "ash"), 0.0)
    known = 0.0
    for line in recipe.ingredients:
        try:
            row = facts.ingredient(line.item)
        except ItemError:
            continue
        if line.mass_g is None or row.water_g is None:
            continue
        mass = float(line.mass_g)
        known += mass
        for name in sums:
            sums[name] += mass / 100 * float(getattr(row, f"{name}_g") or 0)
        sums["carbohydrate"] -= mass / 100 * min(float(row.fibre_g or 0), float(row.carbohydrate_g or 0))
    if known == 0:
        raise RecipeError(
            f"No line of {recipe.title!r} has a mass and a composition; weigh its lines, or choose a thick soup."
        )
    made = food(**sums, temperature_c=temperature_c)
    share = 100 * known / recipe.mass_g
    return Food(
        made.conductivity_w_m_k, made.density_kg_m3, made.heat_capacity_j_kg_k,
        f"the composition of {share:.0f} % of its mass (Choi and Okos 1986; USDA SR28)",
    )  # fmt: skip


def ice_to_melt_kg(mass_kg: float, from_c: float, to_c: float, heat_capacity_j_kg_k: float = 3900.0) -> float:
    """Work out the ice [kg] that melts in a bath around the pot to cool it, melting only; plan a quarter more.

    Notes
    -----
    Heat balance with 334 kJ/kg (memory). The bath gains heat from the room too.

    Examples
    --------
    >>> round(ice_to_melt_kg(4.0, 57, 5), 2)
    2.43
    """
    return mass_kg * heat_capacity_j_kg_k / 1000 * (from_c - to_c) / ICE_KJ_PER_KG


@dataclass(frozen=True)
class IceInside:
    """Ice as an ingredient: grams of ice, litres of liquid to hold back for it, and whether the recipe has that much."""

    ice_g: float
    hold_back_l: float
    liquid_l: float
    from_c: float
    to_c: float

    @property
    def possible(self) -> bool:
        """Whether the recipe pours at least so much liquid."""
        return self.hold_back_l <= self.liquid_l

    @property
    def text(self) -> str:
        """What to do, in a sentence."""
        if not self.possible:
            return (
                f"Ice alone cannot do it: {self.hold_back_l:.2f} L of ice water would be needed and the recipe pours {self.liquid_l:.2f} L."
            )  # fmt: skip
        return (
            f"Cook with {self.liquid_l - self.hold_back_l:.2f} L of the {self.liquid_l:.2f} L liquid, then stir in {self.ice_g:.0f} g of ice "
            f"from drinking water: {self.from_c:.0f} to {self.to_c:.0f} C, and the dose per litre stays. It cooks {_thicker(self)} times as "
            "strong as it will be: stir all the while, and read the thickness only when the ice has gone."
        )  # fmt: skip


def _thicker(ice: IceInside) -> str:
    return (
        f"{ice.liquid_l / (ice.liquid_l - ice.hold_back_l):.1f}" if ice.hold_back_l < ice.liquid_l else "many"
    )


def ice_inside(
    recipe: Recipe, from_c: float = 95.0, to_c: float = 21.0, heat_capacity_j_kg_k: float = 3900.0
) -> IceInside:
    """Work out ice as an ingredient, its water counted in the liquid of the recipe.

    Parameters
    ----------
    recipe : Recipe
    from_c, to_c : float
        Of the pot before, and of the whole with the ice melted in it [C].
    heat_capacity_j_kg_k : float
        Of the food [J/kg K].

    Returns
    -------
    IceInside

    Raises
    ------
    RecipeError
        If the temperatures do not go down, or nothing is weighed.

    Notes
    -----
    ice = m c (T1 - T2)/(334 + 4.18 T2) kJ with m + ice the finished mass of the recipe, so that the dose stays.

    Examples
    --------
    >>> soup = Recipe(title="Soup", ingredients=["1 l vegetable stock", "500 g parsnips", "30 g corn starch"])
    >>> round(ice_inside(soup, 80, 21).ice_g)
    545
    """
    if not from_c > to_c >= 0 or recipe.finished_g <= 0:
        raise RecipeError(
            f"From {from_c:g} to {to_c:g} C came; two temperatures that go down, 0 C or more, are wanted."
        )
    per_kg = heat_capacity_j_kg_k / 1000 * (from_c - to_c) / (ICE_KJ_PER_KG + WATER_KJ_PER_KG_K * to_c)
    ice_g = recipe.finished_g * per_kg / (1 + per_kg)
    return IceInside(ice_g, ice_g / 1000, recipe.liquid_l, from_c, to_c)


def reheating_minutes(
    mass_kg: float,
    power_w: float,
    from_c: float = 5.0,
    to_c: float = 74.0,
    heat_capacity_j_kg_k: float = 4000.0,
) -> Range:
    """Estimate the time [min] to reheat a stirred pot; the range is that of the share of the power that gets in.

    Raises
    ------
    RecipeError
        If mass or power is not above 0.

    Notes
    -----
    m c dT / net power, net 60 % of the rated power (40 to 75, judged). A thick food that is not stirred scorches first.

    Examples
    --------
    >>> print(f"{reheating_minutes(1.0, 2000):.2g} min")
    3.8 (3.1-5.8) min
    """
    if not (mass_kg > 0 and power_w > 0):
        raise RecipeError(f"{mass_kg:g} kg and {power_w:g} W came; a mass and a power above 0 are wanted.")
    kilojoules = mass_kg * heat_capacity_j_kg_k / 1000 * (to_c - from_c)
    times = [
        1000 * kilojoules / (power_w * share) / 60
        for share in (NET_SHARE.best, NET_SHARE.high, NET_SHARE.low)
    ]
    return Range(*times)


def reduced_share(mass_before_g: float, mass_after_g: float, share_percent: float) -> float:
    """Follow solids, salt or starch [%] through boiling off; what does not boil away stays.

    Examples
    --------
    >>> reduced_share(2000, 1200, 6.0)
    10.0
    """
    if not 0 < mass_after_g <= mass_before_g:
        raise RecipeError(
            f"{mass_before_g:g} g before and {mass_after_g:g} g after came; weigh the same pot both times."
        )
    return share_percent * mass_before_g / mass_after_g


def latent_heat_kj_per_kg(temperature_c: float) -> float:
    """Latent heat of boiling off water [kJ/kg], 20 to 100 C.

    Notes
    -----
    Straight lines through 2453.5 (20 C), 2308 (80 C) and 2256.5 (100 C), computed from IAPWS; within 1 kJ/kg.

    Examples
    --------
    >>> latent_heat_kj_per_kg(100)
    2256.5
    """
    if not 20 <= temperature_c <= 100:
        raise RecipeError(f"{temperature_c:g} C came; 20 to 100 C is wanted.")
    if temperature_c <= 80:
        return 2453.5 + (2308 - 2453.5) * (temperature_c - 20) / 60
    return 2308 + (2256.5 - 2308) * (temperature_c - 80) / 20


def boiled_off_g_per_min(net_w: float) -> float:
    """Water that a net power [W] boils off [g/min]; a hob's rated power is not net.

    Examples
    --------
    >>> round(boiled_off_g_per_min(1000), 1)
    26.6
    """
    return 60 * net_w / latent_heat_kj_per_kg(100)


def boiling_c(altitude_m: float = 0.0, gauge_pa: float = 0.0) -> float:
    """Boiling point of water [C] at an altitude, and in a pressure cooker there.

    Parameters
    ----------
    altitude_m : float
        Above sea level [m], -500 to 5000.
    gauge_pa : float
        Pressure of the cooker above the air around it [Pa].

    Returns
    -------
    float

    Raises
    ------
    RecipeError
        If the altitude is outside its range or the pressure below 0 or above 150 kPa.

    Notes
    -----
    ICAO standard atmosphere; saturation of water by Wagner and Pruss 1993 (IAPWS supplementary release 1992), inverted. The
    weather moves it by about 0.5 C.

    Examples
    --------
    >>> f"{boiling_c():.2f} {boiling_c(1524):.2f} {boiling_c(0, 15 * PSI_PA):.1f} {boiling_c(1524, 15 * PSI_PA):.1f}"
    '99.97 94.90 121.0 118.2'
    """
    if not -500 <= altitude_m <= 5000 or not 0 <= gauge_pa <= 150e3:
        raise RecipeError(
            f"{altitude_m:g} m and {gauge_pa / 1000:g} kPa came; -500 to 5000 m and 0 to 150 kPa are wanted."
        )
    pressure = 101325.0 * (1 - 0.0065 * altitude_m / 288.15) ** 5.25588 + gauge_pa
    low, high = 50.0, 150.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if _saturation_pa(middle) < pressure else (low, middle)
    return (low + high) / 2


def _saturation_pa(temperature_c: float) -> float:
    kelvin = temperature_c + 273.15
    t = 1 - kelvin / 647.096
    series = (
        -7.85951783 * t + 1.84408259 * t**1.5 - 11.7866497 * t**3
        + 22.6807411 * t**3.5 - 15.9618719 * t**4 + 1.80122502 * t**7.5
    )  # fmt: skip
    return 22.064e6 * math.exp(647.096 / kelvin * series)
