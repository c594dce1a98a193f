"""Measures against standards, handbook tables and published worked examples; the source stands beside each figure."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pint
import pytest
from scipy import stats

import spoonline.measures
from spoonline.facts import grams, ingredient, limit
from spoonline.measures import parse_minutes, parse_temperature, scale_sd_g, spoon_from_weighings, unit, weighed
from spoonline.measures.registry import units
from spoonline.measures.units import GROUPS
from witness.kinds import by_source

pytestmark = pytest.mark.kind("published")

# unit, system, mL, source
VOLUMES = [
    # US customary from the gallon of 231 cubic inches, 1 in = 2.54 cm (exact, international inch); digits as printed in a
    # unit-conversion table
    ("tsp", "us", 4.92892159375, "US gallon 231 in3"),
    ("tbsp", "us", 14.78676478125, "US gallon 231 in3"),
    ("fl oz", "us", 29.5735295625, "US gallon 231 in3"),
    ("cup", "us", 236.5882365, "US gallon 231 in3; UCUM [cup_us]"),
    ("pint", "us", 473.176473, "US gallon 231 in3"),
    ("quart", "us", 946.352946, "US gallon 231 in3"),
    ("gallon", "us", 3785.411784, "US gallon 231 in3"),
    # 21 CFR 101.9(b)(5)(viii), nutrition labelling only
    ("tsp", "label", 5, "21 CFR 101.9(b)(5)(viii)"),
    ("tbsp", "label", 15, "21 CFR 101.9(b)(5)(viii)"),
    ("fl oz", "label", 30, "21 CFR 101.9(b)(5)(viii)"),
    ("cup", "label", 240, "21 CFR 101.9(b)(5)(viii)"),
    ("tsp", "metric", 5, "common practice, no source"),
    ("tbsp", "metric", 15, "common practice, no source"),
    ("dsp", "metric", 10, "memory"),
    ("cup", "metric", 250, "sizes.com, cup"),
    # "metric cup and spoon sets approved by the Standards Association of Australia": NSW Health, healthykids.nsw.gov.au, conversion chart
    ("tsp", "au", 5, "NSW Health, conversion chart"),
    ("tbsp", "au", 20, "NSW Health, conversion chart"),
    ("cup", "au", 250, "NSW Health, conversion chart; sizes.com, cup"),
    # imperial gallon 4.54609 L (exact, UK Weights and Measures Act 1985)
    ("fl oz", "uk", 28.4130625, "imperial gallon 4.54609 L"),
    ("pint", "uk", 568.26125, "imperial gallon 4.54609 L"),
    ("gill", "uk", 142.0653125, "imperial gallon 4.54609 L, 1/32"),
    ("quart", "uk", 1136.5225, "imperial gallon 4.54609 L, 1/4"),
    ("cup", "uk", 284.130625, "half an imperial pint; sizes.com, cup"),
    ("ml", "us", 1, "SI"),
    ("l", "us", 1000, "SI"),
]
# NIST SP 430 (household measurement card): rounded on purpose, mL
NIST_CARD = [
    ("tsp", 4.9, 0.05),
    ("tbsp", 15, 0.5),
    ("fl oz", 30, 0.5),
    ("cup", 237, 0.5),
    ("pint", 473, 0.5),
    ("quart", 946, 0.5),
]
MASSES = [("oz", 28.349523125, "international avoirdupois pound 0.45359237 kg"), ("lb", 453.59237, "the same")]


@pytest.mark.parametrize(("name", "system", "ml", "source"), by_source(VOLUMES))
def test_volumes(name: str, system: str, ml: float, source: str) -> None:
    assert unit(name, system).size == pytest.approx(ml, rel=1e-12), source
    if name not in ("ml", "l"):
        in_registry = units.Quantity(1.0, f"{name.replace(' ', '_')}_{system}")
        assert in_registry.to("ml").magnitude == pytest.approx(ml, rel=1e-12), source


# NIST Handbook 44, appendix C, table of units of capacity, liquid measure: exact ratios of US customary measures
NIST_RATIOS = [
    ("1 gallon", "231 cubic_inch"),
    ("1 quart", "2 pint"),
    ("1 pint", "4 gill"),
    ("1 cup", "8 fl_oz"),
    ("1 cup", "1/2 pint"),
    ("1 fl_oz", "2 tbsp"),
    ("1 tbsp", "3 tsp"),
    ("1 tablespoon", "4 fluid_dram"),
]


@pytest.mark.parametrize(("one", "other"), NIST_RATIOS)
def test_ratios_of_nist_handbook_44(one: str, other: str) -> None:
    """pint's own fluid dram, which this kit does not define, ties ours to the rest of the table."""
    assert units(one).to("ml").magnitude == pytest.approx(units(other).to("ml").magnitude, rel=1e-12)


@pytest.mark.parametrize(("name", "ml", "tolerance"), NIST_CARD)
def test_volumes_on_the_card_of_nist(name: str, ml: float, tolerance: float) -> None:
    assert unit(name, "us").size == pytest.approx(ml, abs=tolerance)


@pytest.mark.parametrize(("name", "g", "source"), MASSES)
def test_masses(name: str, g: float, source: str) -> None:
    assert unit(name).size == pytest.approx(g, rel=1e-12), source


@pytest.mark.kind("practice")
def test_by_feel_words_have_only_a_convention() -> None:
    """Dash 1/8 tsp, pinch half of that: a unit-conversion page; smidgen 1/32 tsp and drop 0.05 mL: memory."""
    for name, ml in (
        ("dash", 0.61611519921875),
        ("pinch", 0.308057599609375),
        ("smidgen", 0.1540287998046875),
        ("drop", 0.05),
    ):
        assert unit(name).kind == "feel"
        assert unit(name).size == pytest.approx(ml, rel=1e-12)


@pytest.mark.kind("own")
def test_every_measure_has_its_source_beside_it() -> None:
    text = (Path(spoonline.measures.__file__).parent / "kitchen_units.txt").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if " = " in line and not line.startswith("#")]
    sized = [line for line in rows if not line.partition("=")[2].strip().startswith(("count", "["))]
    assert len(sized) > 30 and all(re.search(r"# \w+", line) for line in sized)
    assert len(rows) == len({line.split()[0] for line in rows}), "one row a measure"
    assert len(rows) + text.count("\n#: ") == len(GROUPS)


@pytest.mark.kind("computed")
def test_units_agree_with_a_unit_library() -> None:
    """pint, a general unit library, knows US customary and imperial units under these names."""
    registry = pint.UnitRegistry()
    for name, ours in (
        ("teaspoon", "tsp"),
        ("tablespoon", "tbsp"),
        ("cup", "cup"),
        ("gill", "gill"),
        ("fluid_ounce", "fl oz"),
    ):
        assert registry.Quantity(1, name).to("ml").magnitude == pytest.approx(unit(ours, "us").size, rel=1e-9), name
    for name, ours in (
        ("imperial_pint", "pint"),
        ("imperial_fluid_ounce", "fl oz"),
        ("imperial_gill", "gill"),
        ("imperial_cup", "cup"),
    ):
        assert registry.Quantity(1, name).to("ml").magnitude == pytest.approx(unit(ours, "uk").size, rel=1e-9), name
    for name in ("ounce", "pound"):
        assert registry.Quantity(1, name).to("g").magnitude == pytest.approx(unit(name).size, rel=1e-9), name


# gas mark, F, exact C; gas marks are common practice without a source, C by formula; last: what UK charts print
OVEN = [
    ("1/4", 225, 107.2, (110, 110)),
    ("1/2", 250, 121.1, (120, 130)),
    ("1", 275, 135.0, (140, 140)),
    ("2", 300, 148.9, (150, 150)),
    ("3", 325, 162.8, (160, 170)),
    ("4", 350, 176.7, (180, 180)),
    ("5", 375, 190.6, (190, 190)),
    ("6", 400, 204.4, (200, 200)),
    ("7", 425, 218.3, (220, 220)),
    ("8", 450, 232.2, (230, 230)),
    ("9", 475, 246.1, (240, 240)),
    ("10", 500, 260.0, (260, 260)),
]


@pytest.mark.parametrize(("mark", "fahrenheit", "celsius", "chart"), OVEN)
@pytest.mark.kind("practice")
def test_oven_temperatures(mark: str, fahrenheit: float, celsius: float, chart: tuple[float, float]) -> None:
    oven = parse_temperature(f"gas mark {mark}")
    assert oven.celsius == pytest.approx(celsius, abs=0.05)
    assert parse_temperature(f"{fahrenheit} F").celsius == pytest.approx(oven.celsius)
    assert chart[0] - 7 <= oven.celsius <= chart[1] + 7


@pytest.mark.kind("computed")
def test_425_fahrenheit() -> None:
    """Formula C = (F - 32)/1.8: 218.33 C."""
    assert parse_temperature("425 F").celsius == pytest.approx(218.33, abs=0.01)


@pytest.mark.kind("memory")
def test_a_duration() -> None:
    """ISO 8601 PT1H15M is 75 minutes (memory)."""
    assert parse_minutes("1 h 15 min") == 75


# amount, item, g, tolerance: USDA National Nutrient Database SR28 (2015), household weights, food number beside each
SR28 = [
    ("1 cup", "corn starch", 128, 0, "20027"),
    ("1 tbsp", "corn starch", 8.0, 0.1, "20027, cup/16; spoon itself +-10 %"),
    ("1 tbsp", "wheat flour", 7.81, 0.05, "20081, cup/16"),
    ("1 cup", "wheat flour", 125, 0, "20081"),
    ("1 cup", "bread flour", 137, 0, "20083"),
    ("1 cup", "rice flour", 158, 0, "20061"),
    ("1 cup", "arrowroot", 128, 0, "20003"),
    ("1 cup", "potato flour", 160, 0, "11413"),
    ("1 cup", "sugar", 200, 0, "19335"),
    ("1 tsp", "sugar", 4.2, 0, "19335"),
    ("1 tsp", "salt", 6.0, 0, "02047"),
    ("1 tbsp", "salt", 18.0, 0, "02047"),
    ("1 cup", "salt", 292, 0, "02047"),
    ("1 tbsp", "olive oil", 13.5, 0, "04053"),
    ("1 cup", "olive oil", 216, 0, "04053"),
    ("1 cup", "whole milk", 244, 0, "01077"),
    ("1 cup", "heavy cream", 238, 0, "01053"),
    ("1 tbsp", "honey", 21, 0, "19296"),
    ("1 tbsp", "butter", 14.2, 0, "01145"),
    ("1 stick", "butter", 113, 0, "01145"),
    ("1 cup", "brown sugar", 220, 0, "19334, packed"),
    ("1 tbsp", "tomato paste", 16, 0, "11546"),
    ("1 tbsp", "soy sauce", 16, 0, "16123"),
    ("1 medium", "onion", 110, 0, "11282"),
    ("1 large", "onion", 150, 0, "11282"),
    ("1", "leek", 89, 0, "11246"),
    ("1 clove", "garlic", 3, 0, "11215"),
    ("1", "lemon juice", 48, 0, "09152, juice of one"),
    ("1 tsp", "lemon zest", 2, 0, "09156"),
    ("1", "egg yolk", 17, 0, "01125, large"),
    ("1 large", "egg", 50, 0, "01123"),
    ("1 tsp", "black pepper", 2.3, 0, "02030, ground"),
    ("1 fl oz", "white wine", 29.4, 0.02, "14106"),
    ("1 fl oz", "water", 29.6, 0.05, "14411: proves that these cups are US customary"),
    ("1 cup", "beef stock", 240, 0, "06170"),
    ("1 cup", "fish stock", 233, 0, "06174"),
]


@pytest.mark.parametrize(("amount", "item", "g", "tolerance", "ndb"), SR28)
def test_level_measures_and_pieces(amount: str, item: str, g: float, tolerance: float, ndb: str) -> None:
    assert grams(amount, item).mass_g == pytest.approx(g, abs=tolerance + 1e-9), f"USDA SR28 {ndb}"
    assert ndb[:5] in grams(amount, item).basis


def test_potato_flour_weighs_a_quarter_more_than_corn_starch() -> None:
    """160/128 g per cup, USDA SR28."""
    ratio = grams("1 cup", "potato flour").mass_g / grams("1 cup", "corn starch").mass_g
    assert ratio == pytest.approx(1.25, abs=0.001)


def test_another_published_cup_lies_within_the_stated_spread() -> None:
    """USDA Home Economics Research Report 41 (second-hand): cup of flour 126 g, corn starch 125 g, bread flour 123 g."""
    for item, published in (("wheat flour", 126), ("corn starch", 125), ("bread flour", 123)):
        ours = grams("1 cup", item)
        assert abs(ours.mass_g - published) < 2 * ours.sd_g
        low, high = ours.range[1:]
        assert low < published < high


def test_printed_cups_of_flour_lie_within_three_spreads() -> None:
    """99-160 g in print (Wolke, Washington Post 2006-02-01), ten people scooping 4-6 oz (second-hand)."""
    ours = grams("1 cup", "wheat flour")
    for published in (99, 160, 4 * 28.35, 6 * 28.35):
        assert abs(math.log(published / ours.mass_g)) < 3 * ours.relative_sd


def test_composition_and_trim() -> None:
    """USDA SR28 20081, 11352, 02047, 11246, 11282."""
    flour = ingredient("wheat flour")
    assert (flour.water_g, flour.carbohydrate_g, flour.protein_g) == (11.92, 76.31, 10.33)
    potato = ingredient("potato")
    assert (potato.starch_g, potato.water_g) == (15.29, 79.25)
    salt = ingredient("salt").sodium_mg
    assert salt is not None
    assert 6.0 * salt / 100 == pytest.approx(2325, abs=1)
    assert ingredient("leek").edible_g(500) == pytest.approx(220, abs=0.5)
    assert ingredient("onion").edible_g(1000) == pytest.approx(900, abs=0.5)


# item here, factor f: AP = EP x f. US Armed Forces Recipe Service, General Information No. 6 (US Government)
ARMED_FORCES = [
    ("asparagus", 1.89),
    ("green beans", 1.14),
    ("broccoli", 1.64),
    ("brussels sprouts", 1.11),
    ("cabbage", 1.25),
    ("carrot", 1.22),
    ("celery", 1.37),
    ("cucumber", 1.05),
    ("aubergine", 1.23),
    ("garlic", 1.06),
    ("kale", 1.41),
    ("mushrooms", 1.10),
    ("onion", 1.11),
    ("spring onion", 1.20),
    ("parsley", 1.02),
    ("parsnip", 1.18),
    ("red pepper", 1.22),
    ("potato", 1.23),
    ("peeled apple", 1.28),
    ("apple", 1.18),
    ("orange", 1.41),
    ("pear", 1.09),
]


@pytest.mark.parametrize(("item", "factor"), ARMED_FORCES)
def test_two_published_trims_differ_by_no_more_than_is_said(item: str, factor: float) -> None:
    """The spread between the sources is 0-16 points; a yield without a weighed trim is +-10 % at best."""
    ours = ingredient(item).edible_percent
    assert ours is not None
    assert abs(ours - 100 / factor) <= 16.1


def test_the_two_sources_agree_where_the_trimming_is_the_same() -> None:
    for item, factor in (("onion", 1.11), ("parsnip", 1.18), ("broccoli", 1.64), ("asparagus", 1.89), ("kale", 1.41)):
        assert ingredient(item).edible_g(100) == pytest.approx(100 / factor, rel=0.02)


def test_one_trim_is_left_apart() -> None:
    """Cauliflower: 1.20 in the Armed Forces list (83 %) against 39 % in SR28; the first looks like a misprint."""
    assert ingredient("cauliflower").edible_percent == 39


def test_limits_of_the_model_food_code() -> None:
    """FDA Food Code 3-501.14 (135 F, 70 F, 41 F; 2 h, 6 h), 3-403.11 (165 F for 15 s within 2 h), 3-501.17 (7 days)."""
    for name, fahrenheit in (("start", 135), ("stage 1", 70), ("stage 2", 41)):
        assert limit(f"cooling {name}").value == pytest.approx(parse_temperature(f"{fahrenheit} F").celsius, abs=0.5)
    assert limit("reheating").value == pytest.approx(parse_temperature("165 F").celsius, abs=0.5)
    assert (limit("cooling stage 1 time").value, limit("cooling total time").value) == (2, 6)
    assert (limit("reheating hold").value, limit("keeping retail").value) == (15, 7)


@pytest.mark.kind("computed")
def test_a_generous_spoon() -> None:
    """12 15 11 14 18 g: gm 13.7916, 90 % range of the next 8.7913-21.6358; mean 14.0, SD 2.7386 (computed elsewhere)."""
    spoon = spoon_from_weighings([12, 15, 11, 14, 18])
    assert spoon.range.best == pytest.approx(13.7916, abs=1e-3)
    assert spoon.range.low == pytest.approx(8.7913, abs=1e-3)
    assert spoon.range.high == pytest.approx(21.6358, abs=1e-3)
    assert spoon.mean_g == pytest.approx(14.0)
    assert spoon.sd_g == pytest.approx(2.7386, abs=1e-4)


@pytest.mark.kind("computed")
def test_a_generous_spoon_against_scipy_stats() -> None:
    """A prediction interval by the t distribution of scipy.stats, on the logarithms."""
    grams_each = [9.5, 13, 12, 16, 10.5, 12.5]
    logs = [math.log(g) for g in grams_each]
    mean, sd = stats.describe(logs).mean, math.sqrt(stats.describe(logs).variance)
    reach = stats.t.ppf(0.95, 5) * sd * math.sqrt(1 + 1 / 6)
    assert spoon_from_weighings(grams_each).range == pytest.approx(
        (math.exp(mean), math.exp(mean - reach), math.exp(mean + reach)), rel=1e-9
    )


def test_a_scale_step() -> None:
    """NIST TN 1297 section 4.6, rectangular: 0.28867513 for a 1 g step; 5.8, 1.4 and 0.29 % at 5, 20 and 100 g."""
    assert scale_sd_g(1.0) == pytest.approx(0.28867513, abs=1e-8)
    for mass, percent, half_digit in ((5, 5.8, 0.05), (20, 1.4, 0.05), (100, 0.29, 0.005)):
        assert 100 * weighed(mass).relative_sd == pytest.approx(percent, abs=half_digit)


@pytest.mark.kind("computed")
def test_a_scale_tells_20_from_22_g_and_spoons_do_not() -> None:
    """ln(22/20) over the joined relative spreads: z 4.886 on a 1 g scale, 0.449 for spoons at 15 % (computed elsewhere)."""
    by_scale = math.log(22 / 20) / math.hypot(weighed(20).relative_sd, weighed(22).relative_sd)
    assert by_scale == pytest.approx(4.886, abs=1e-3)
    assert math.log(22 / 20) / math.hypot(0.15, 0.15) == pytest.approx(0.449, abs=1e-3)
    heaped = grams("1 heaped tbsp", "corn starch")
    assert math.log(22 / 20) / (math.sqrt(2) * heaped.relative_sd) < 0.5
