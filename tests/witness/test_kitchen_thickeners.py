"""Thickener figures against handbook doses, government recipe cards and matched published doses."""

from __future__ import annotations

import math

import pytest

from spoonline.facts import grams, ingredient, thickener
from spoonline.measures import unit
from witness.kinds import by_source

pytestmark = pytest.mark.kind("published")

CUP_L = float(unit("cup", "us").size or 0) / 1000
GALLON_L = float(unit("gallon", "us").size or 0) / 1000
QUART_L = float(unit("quart", "us").size or 0) / 1000
OUNCE_G = float(unit("oz").size or 0)


@pytest.mark.parametrize(("spoons", "dose"), [(1, 33.0), (2, 66.0), (3, 99.1), (4, 132.1)])
def test_white_sauce_series(spoons: int, dose: float) -> None:
    """Flour 1/2/3/4 tbsp per US cup: Iowa State Food Preparation Lab Manual 6.1, weights USDA SR28; g/L +-0.5."""
    assert grams(f"{spoons} tbsp", "flour").mass_g / CUP_L == pytest.approx(dose, abs=0.5)


@pytest.mark.parametrize(
    ("amount", "dose"), [("1/2 tsp", 5.6), ("1 tsp", 11.3), ("2 tsp", 22.5), ("1 tbsp", 33.8), ("4 tsp", 45.1)]
)
def test_corn_starch_series(amount: str, dose: float) -> None:
    """American Woman's Cook Book (c. 1939), starch per cup from very thin to paste: 5.6, 11, 22.5, 34, 45 g/L."""
    assert grams(amount, "corn starch").mass_g / CUP_L == pytest.approx(dose, abs=0.1)


@pytest.mark.parametrize(("ounces", "roux", "flour"), [(16, 119.8, 59.9), (12, 89.9, 44.9), (24, 179.7, 89.9)])
@pytest.mark.kind("practice")
def test_roux_per_gallon(ounces: float, roux: float, flour: float) -> None:
    """Roux 12/16/24 oz per US gallon, equal weights (common practice): g/L of roux and of its flour, +-0.5."""
    dose = ounces * OUNCE_G / GALLON_L
    assert dose == pytest.approx(roux, abs=0.5)
    assert dose * thickener("white roux").flour_share == pytest.approx(flour, abs=0.5)


def test_government_card_for_white_sauce() -> None:
    """US Armed Forces recipe card O-1: 2 cups of flour in 3 3/4 quarts: 70.4 g/L +-1."""
    assert grams("2 cups", "flour").mass_g / (3.75 * QUART_L) == pytest.approx(70.4, abs=1)


@pytest.mark.kind("memory")
def test_a_heaped_spoon_between_two_printed_claims() -> None:
    """Heaped is +25 to +50 % (common practice) and about 30 g of flour (UK tables, memory): ours lies between, spread wide."""
    heaped = grams("1 heaped tbsp", "flour")
    assert 1.25 * 7.8 < heaped.mass_g < 30
    low, high = heaped.range[1:]
    assert low < 1.5 * 7.8 < high


# how many grams of maize starch do the work of 1 g of flour
FLOUR = [
    (0.34, "American Woman's Cook Book: 1 tsp for 1 tbsp"),
    (0.50, "trade factor table, common practice"),
    (0.51, "AHEA handbook, memory: 1/2 tbsp for 1 tbsp"),
    (1 / 1.5, "McGee, On Food and Cooking (2004): flour for 10 g of maize starch is 15 g"),
    (0.72, "starch content times the ratio of close-packing concentrations, computed"),
]


@pytest.mark.parametrize(("ratio", "source"), by_source(FLOUR))
def test_flour_strength_covers_the_printed_equivalences(ratio: float, source: str) -> None:
    flour = thickener("wheat flour")
    assert abs(math.log(ratio / flour.strength)) < 2.7 * flour.strength_ln_sd, source


def test_flour_strength_is_no_outlier() -> None:
    """Trade ratios have a geometric mean of 0.49, physics says 0.72: ours lies between."""
    ratios = [ratio for ratio, _ in FLOUR[:4]]
    mean = math.exp(sum(map(math.log, ratios)) / 4)
    assert mean == pytest.approx(0.49, abs=0.01)
    assert mean < thickener("wheat flour").strength < 0.72


# g per 100 g for two matched levels, "nectar" and "thin honey": supplementary table of a beverage study (14 hydrocolloids)
MATCHED = {"guar gum": (0.565, 1.053), "xanthan gum": (0.530, 2.216)}
RICE_STARCH = (3.751, 5.568)


@pytest.mark.parametrize("name", sorted(MATCHED))
def test_gum_strength_from_matched_doses(name: str) -> None:
    """Strength = rice-starch dose / gum dose x strength of rice starch; the geometric mean of both levels, +-2 spreads."""
    rice = thickener("rice flour").strength * 88 / thickener("rice flour").starch_percent  # rice starch, 12 % moisture
    found = [rice * starch / gum for starch, gum in zip(RICE_STARCH, MATCHED[name], strict=True)]
    row = thickener(name)
    assert row.strength == pytest.approx(math.sqrt(found[0] * found[1]), rel=0.03)
    assert all(abs(math.log(value / row.strength)) < 2 * row.strength_ln_sd for value in found)


@pytest.mark.kind("computed")
def test_gum_exponent_from_matched_doses() -> None:
    """At the same two levels dose_A^b_A and dose_B^b_B rise alike, so b_gum = b_starch x ln ratio / ln ratio (starch 3.5-4.1)."""
    starch = math.log(RICE_STARCH[1] / RICE_STARCH[0])
    for name, low, high in (("guar gum", 2.2, 2.6), ("xanthan gum", 0.95, 1.15)):
        gum = math.log(MATCHED[name][1] / MATCHED[name][0])
        row = thickener(name)
        assert 3.5 * starch / gum == pytest.approx(low, abs=0.1)
        assert 4.1 * starch / gum == pytest.approx(high, abs=0.1)
        assert low - row.exponent_sd < row.exponent < high + row.exponent_sd


# paste viscosities at 8 % dry starch, RVU: peak, trough, final. Jane et al., Cereal Chem 76:629 (1999), by memory
JANE = {
    "corn starch": (152, 95, 169),
    "waxy corn starch": (205, 84, 100),
    "wheat starch": (104, 75, 154),
    "tapioca starch": (173, 61, 107),
    "potato starch": (702, 165, 231),
}


@pytest.mark.parametrize("name", sorted(set(JANE) - {"corn starch"}))
@pytest.mark.kind("memory")
def test_starch_strength_from_paste_viscosities(name: str) -> None:
    """Cube roots against maize: fresh is nearest the peak, held nearest the trough and the final paste."""
    peak, trough, final = ((a / b) ** (1 / 3) for a, b in zip(JANE[name], JANE["corn starch"], strict=True))
    row = thickener(name)
    assert abs(math.log(peak / row.strength)) < 0.5 * row.strength_ln_sd
    if row.strength_held is not None and row.strength_held_ln_sd is not None:
        assert min(trough, final) * 0.95 < row.strength_held < max(trough, final) * 1.08


def test_maize_exponent_from_a_published_range() -> None:
    """Maize pastes 0.9-6.2 %: physical range 13/0.03, raw slope 3.15; 2.75 after a temperature correction (abstract)."""
    slope = math.log(13 / 0.03) / math.log(6.2 / 0.9)
    assert slope == pytest.approx(3.15, abs=0.01)
    row = thickener("corn starch")
    for published in (slope, 2.75):
        assert abs(published - row.exponent) < row.exponent_sd


@pytest.mark.parametrize(("factor", "ratio"), [(1.1, 1.331), (0.9, 0.729), (1 / 0.9, 1.372)])
@pytest.mark.kind("computed")
def test_what_a_tenth_of_dose_or_water_does(factor: float, ratio: float) -> None:
    """Viscosity ratio for +10 % and -10 % of dose, and for 10 % of the water boiled off, at exponent 3 (computed)."""
    assert factor ** thickener("corn starch").exponent == pytest.approx(ratio, abs=0.0005)


@pytest.mark.parametrize(
    ("name", "percent", "tolerance", "source"),
    by_source(
        [
            ("corn starch", 88, 3.0, "trade moisture 12 %, memory"),
            ("wheat flour", 70.0, 1.0, "Indian Food Composition Tables 2017, refined flour, measured"),
            ("wheat flour", 75, 6.0, "McGee 2004"),
            ("rice flour", 75.7, 2.7, "Indian Food Composition Tables 2017, raw milled rice"),
        ]
    ),
)
def test_starch_in_thickeners(name: str, percent: float, tolerance: float, source: str) -> None:
    assert thickener(name).starch_percent == pytest.approx(percent, abs=tolerance), source


# measured starch, g/100 g: Indian Food Composition Tables 2017; samples of another country and another year
MEASURED = {"carrot": (1.2, 1.4), "tomato": (0.0, 0.0), "potato": (10.3, 13.1)}


def test_starch_in_vegetables() -> None:
    """Potato: 200 g hold 20.6-26.2 g by the Indian tables, 30.6 g by USDA; samples vary by a factor of 1.5."""
    for name, (low, high) in MEASURED.items():
        ours = ingredient(name).starch_g
        assert ours is not None
        assert low / 1.5 - 0.1 <= ours <= high * 1.5 + 0.1, name
    assert 2 * float(ingredient("potato").starch_g or 0) == pytest.approx(30.6, abs=0.05)
    # alliums: fructans, not starch; so the difference figure (3.4 and 8.5) must not stand here
    assert ingredient("onion").starch_g == ingredient("leek").starch_g == 0
    assert ingredient("parsnip").starch_g is None


@pytest.mark.kind("memory")
def test_the_order_of_chilling_losses() -> None:
    """Modified or waxy and gums keep best, flour and maize well, arrowroot and potato thin most (judged from handbooks)."""
    stage = {
        name: thickener(name).stage_ln_mean
        for name in ("xanthan gum", "corn starch", "tapioca starch", "arrowroot", "potato starch")
    }
    assert list(stage) == sorted(stage, key=lambda name: -stage[name])
