"""Every figure of the ingredient table against USDA SR28: figures of the foods used here, see ``data/README.md``."""

from __future__ import annotations

import csv
import math
import re
from collections import defaultdict
from pathlib import Path
from statistics import median

import pytest

from dishes import DISHES
from spoonline.facts import grams, ingredient, ingredients, read_line
from spoonline.measures import ItemError

pytestmark = pytest.mark.kind("published")

HELD = Path(__file__).parent / "data"
FIELDS = {
    "water_g": "water_g",
    "protein_g": "protein_g",
    "fat_g": "fat_g",
    "carbohydrate_g": "carbohydrate_by_difference_g",
    "fibre_g": "fibre_g",
    "sugars_g": "sugars_total_g",
    "ash_g": "ash_g",
    "alcohol_g": "alcohol_g",
    "energy_kcal": "energy_kcal",
    "sodium_mg": "sodium_mg",
}
# What differs from USDA on purpose, and why.
ON_PURPOSE = {
    (
        "wheat flour",
        "starch_g",
    ): "measured starch of refined flour (70.0), not carbohydrate less sugars and fibre (73.3)",
    ("vegetable stock", "cup_g"): "USDA's 221 g/cup is lighter than water while its carton is not",
    ("bay leaf", "one"): "a leaf is memory",
    ("bay leaf", "leaf"): "a leaf is memory",
}


# kcal per g of protein, fat and carbohydrate: the least and the most of a kind of food (Merrill and Watt, USDA Handbook 74, 1973, from memory).
ATWATER = {
    "fruit": ((3.36, 8.37, 3.60), (3.36, 8.37, 3.60)), "vegetable": ((2.44, 8.37, 3.48), (3.47, 8.37, 4.07)),
    "meat": ((4.27, 9.02, 3.87), (4.27, 9.02, 4.11)), "dairy": ((4.27, 8.79, 3.87), (4.36, 9.02, 3.87)),
    "citrus": ((3.36, 8.37, 2.48), (3.36, 8.37, 2.70)), "any": ((2.44, 8.37, 3.48), (4.36, 9.02, 4.20)),
}  # fmt: skip
CITRUS = {"lemon", "lime", "lemon juice", "lime juice"}
# Carbohydrate "by difference" that is salts, bran, bark, acid or alkaloids and feeds little.
LITTLE_ENERGY = {"baking powder", "cocoa", "oat bran", "capers", "lemon zest", "fresh thyme", "dried dill"}


def read(name: str) -> list[dict[str, str]]:
    with (HELD / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def ours() -> dict[str, str]:
    """Rows drawn from foods that the extract has: name to food number."""
    found, extract = {}, {row["ndb_no"] for row in read("sr28_composition.csv")}
    for row in ingredients().values():
        number = re.match(r"USDA SR28 (\d{5})(?! by memory)", row.source)
        if number and row.kind == "published" and number[1] in extract:
            found[row.name] = number[1]
    return found


def judged(name: str) -> set[str]:
    """What a row says it judges: sizes or measures that USDA is silent on."""
    return set(ingredients()[name].source.partition("judged: ")[2].split(", "))


@pytest.mark.kind("own")
def test_most_rows_are_usda() -> None:
    assert len(ours()) >= 200


def test_composition() -> None:
    table = {row["ndb_no"]: row for row in read("sr28_composition.csv")}
    errors, differ = [], []
    for name, number in ours().items():
        row = ingredients()[name]
        for field, column in FIELDS.items():
            here, there = getattr(row, field), table[number][column]
            assert (here is None) == (there == ""), (name, field)
            if here is not None:
                error = abs(here - float(there)) / max(abs(float(there)), 1.0)
                errors.append(error)
                if error > 6e-4:
                    differ.append((name, field, here, there))
    assert differ == []
    assert len(errors) > 2000
    assert median(errors) == 0.0
    assert max(errors) < 6e-4  # four digits are kept of figures above 1000


def test_starch_is_reported_derived_or_zero_by_rule() -> None:
    table = {row["ndb_no"]: row for row in read("sr28_composition.csv")}
    kinds: dict[str, int] = defaultdict(int)
    for name, number in ours().items():
        row = ingredients()[name]
        if (name, "starch_g") in ON_PURPOSE or row.starch_g is None:
            continue
        kinds[row.starch_kind] += 1
        there = table[number]
        if row.starch_kind == "reported":
            assert row.starch_g == float(there["starch_g"]), name
        elif row.starch_kind == "derived":
            assert there["starch_g"] == "", name
            parts = [float(there[c] or 0) for c in ("carbohydrate_by_difference_g", "sugars_total_g", "fibre_g")]
            assert row.starch_g == pytest.approx(parts[0] - parts[1] - parts[2], abs=0.01), name
        else:
            assert row.starch_g == 0 and there["starch_g"] == "", name
    assert min(kinds["reported"], kinds["derived"], kinds["rule"]) > 20


def test_how_far_a_derived_starch_can_be_trusted() -> None:
    """On foods whose starch above 1 g is reported, the derived figure is a few grams off, and high rather than low."""
    errors = []
    for row in read("sr28_composition.csv"):
        if row["starch_g"] and float(row["starch_g"]) > 1 and row["sugars_total_g"] and row["fibre_g"]:
            parts = [float(row[c]) for c in ("carbohydrate_by_difference_g", "sugars_total_g", "fibre_g")]
            errors.append(parts[0] - parts[1] - parts[2] - float(row["starch_g"]))
    assert len(errors) > 15
    assert sum(errors) / len(errors) > 0
    assert median(abs(e) for e in errors) < 3


def test_level_measures() -> None:
    portions = defaultdict(list)
    for row in read("sr28_portions.csv"):
        portions[row["ndb_no"]].append(row)
    starts = {"tsp": ("tsp", "teaspoon"), "tbsp": ("tbsp", "tablespoon"), "cup": ("cup",)}
    checked = 0
    for name, number in ours().items():
        for measure, words in starts.items():
            here = getattr(ingredients()[name], f"{measure}_g")
            if here is None or (name, f"{measure}_g") in ON_PURPOSE or measure in judged(name):
                continue
            there = [
                float(p["grams"]) / float(p["amount"])
                for p in portions[number]
                if p["measure"].lower().startswith(words)
            ]
            if measure == "cup" and not there:  # by the fluid ounce
                there = [
                    8 * float(p["grams"]) / float(p["amount"]) for p in portions[number] if "fl oz" in p["measure"]
                ]
            if not there:
                assert name == "water", name
                continue
            checked += 1
            assert any(here == pytest.approx(value, abs=0.006) for value in there), (name, measure, here, there)
    assert checked > 250


def test_pieces() -> None:
    portions = defaultdict(list)
    for row in read("sr28_portions.csv"):
        # half a fillet is also what a shop sells as one
        portions[row["ndb_no"]] += [float(row["grams"]) / float(row["amount"]), float(row["grams"])]
    checked = 0
    for name, number in ours().items():
        for piece, here in ingredients()[name].pieces.items():
            if (name, piece) not in ON_PURPOSE and piece not in judged(name):
                checked += 1
                assert any(here == pytest.approx(value, abs=0.006) for value in portions[number]), (name, piece, here)
    assert checked > 120


def test_trim() -> None:
    table = {row["ndb_no"]: float(row["edible_yield_percent"]) for row in read("sr28_trim.csv")}
    for name, number in ours().items():
        assert ingredients()[name].edible_percent == table.get(number), name
    # the two scenario fruits whose composition is memory have a trim that was read
    assert ingredients()["pear"].edible_percent == table["09252"]
    assert ingredients()["blackcurrants"].edible_percent == table["09083"]


def test_trim_of_rows_from_the_later_release() -> None:
    """SR Legacy is the last release of the same table: where a row names its SR28 number, its trim is USDA's."""
    table = {row["ndb_no"]: row for row in read("sr28_trim.csv")}
    checked = 0
    for row in ingredients().values():
        number = re.search(r'^USDA SR Legacy "(.+?)" \(SR28 (\d{5})\)', row.source)
        if number:
            checked += 1
            assert table[number[2]]["usda_description"] == number[1], row.name
            assert row.edible_percent == float(table[number[2]]["edible_yield_percent"]), row.name
    assert checked > 50


# Rows whose figures USDA took anew between the two releases; cups that it has of other forms of the food.
REVISED = {"chanterelles", "dried currants", "edam", "plantain", "provolone", "whole-milk mozzarella"}
OTHER_CUPS = {
    "emmental", "enoki mushrooms", "frozen mixed vegetables", "milk chocolate",
    "oyster mushrooms", "pearled spelt", "desiccated coconut", "chocolate chips", "white chocolate",
}  # fmt: skip


def test_rows_read_in_the_last_release_or_from_memory_stand_in_an_earlier_one() -> None:
    """SR's abbreviated file of an earlier release: every figure again, its water measured where ours is by difference with a judged ash.

    Figures to the last digit, energy to 1 kcal, and the cup. Fruit, cheese, nuts, most vegetables,
    fish, game, sausages, pulses, grains and jams.
    """
    checked = 0
    for food in read("usda_abbreviated.csv"):
        row, weights = ingredients()[food["name"]], [float(each) for each in food["weights_g"].split(";")]
        for field in FIELDS if row.name not in REVISED else ():
            here, there = getattr(row, field), food.get(field, "")
            if here is not None and there:
                checked += 1
                near = {"water_g": 0.35, "energy_kcal": 1.0}.get(field, 0.006)
                assert here == pytest.approx(float(there), rel=2e-3, abs=near), (row.name, field)
        measures = [row.tsp_g, row.tbsp_g, row.cup_g, *row.pieces.values()]
        if row.cup_g and row.name not in OTHER_CUPS | REVISED:
            assert any(row.cup_g == pytest.approx(each, abs=0.5) for each in weights), row.name
        if len(weights) == 1 and any(measures) and row.name not in OTHER_CUPS:
            assert any(each == pytest.approx(weights[0], abs=0.5) for each in measures if each), row.name
    assert checked > 1500


def test_pieces_and_cups_of_the_later_release_stood_in_an_earlier_one() -> None:
    """Its file of weights: each piece, spoon and cup of a row that its source does not call judged."""
    checked = 0
    for food in read("usda_weights.csv"):
        row, weights = ingredients()[food["name"]], [float(each) for each in food["weights_g"].split(";")]
        measures = {"tbsp": row.tbsp_g, "cup": row.cup_g, **row.pieces}
        for measure, here in measures.items():
            if here and measure not in judged(row.name):
                checked += 1
                assert any(here == pytest.approx(each, rel=2e-3) for each in weights), (row.name, measure, here)
    assert checked > 80


@pytest.mark.kind("own")
def test_the_lines_of_fifteen_dishes_are_known() -> None:
    """Dishes as people write them: each line is a row of ours, or two things on one line, or a heading."""
    headings_and_pairs = {"Pastry:", "Filling:", "salt & pepper", "sea salt and white pepper"}
    checked = 0
    for dish in DISHES.values():
        lines = [line for part in dish.split("\n\n")[1:] for line in part.splitlines()]
        for line in lines:
            if re.match(r"\d+\. ", line) or line in headings_and_pairs:
                continue
            checked += 1
            assert read_line(line).item is not None, line
    assert checked > 90


def test_arithmetic_of_cups_and_of_leeks() -> None:
    """A cup of corn starch is 128 g, a spoon 8 (SR28 20027, and a sixteenth of it); 500 g of leeks give 44 % (SR28 11246 refuse 56 %)."""
    starch, spoon = ingredient("corn starch"), grams("1 tbsp", "corn starch")
    assert starch.cup_g == 128 and math.isclose(spoon.mass_g, 8, rel_tol=0.01)
    assert math.isclose(ingredient("leek").edible_g(500) or 0, 220)


@pytest.mark.kind("memory")
def test_energy_follows_from_what_is_in_it() -> None:
    """Energy and composition were read column by column: USDA's factors of that kind of food, and 6.93 for alcohol, tell a slip.

    To 8 in 100 (a label's own 4, 9 and 4 differ from them by that) and 1 kcal of rounding. Of spices half is bark and fibre; a vinegar's
    acid is not in the table; a gum is fibre, 2 kcal per g (EU 1169/2011).
    """
    far = []
    for row in ingredients().values():
        parts = (row.protein_g, row.fat_g, row.carbohydrate_g)
        spice = row.part == "seasoning" and ((row.fibre_g or 0) > 9 or "vinegar" in row.name)
        if row.energy_kcal is None or None in parts or spice or row.name in LITTLE_ENERGY:
            continue
        held = [float(part or 0) for part in parts]
        if row.name.endswith(" gum"):
            held[2] -= float(row.fibre_g or 0) / 2
        ends = ATWATER["citrus" if row.name in CITRUS else row.part if row.part in ATWATER else "any"]
        least, most = (sum(map(math.prod, zip(held, each, strict=True))) + 6.93 * (row.alcohol_g or 0) for each in ends)
        if not 0.92 * least - 1 <= row.energy_kcal <= 1.08 * most + 1:
            far.append((row.name, row.energy_kcal, round(least), round(most)))
    assert far == []


@pytest.mark.kind("memory")
def test_allergen_hints_are_kept() -> None:
    """An ingredient that the hints name as containing something by nature says so here (US and EU words joined)."""
    words = {
        "soya": "soy",
        "peanuts": "peanut",
        "nuts": "tree nuts",
        "tree_nuts": "tree nuts",
        "crustacean_shellfish": "crustaceans",
    }
    words |= {"cereals_gluten": "cereals with gluten"}
    missing, checked = [], 0
    for hint in read("allergen_hints.csv"):
        if hint["basis"] != "nature":
            continue
        told = f"{hint['us_fda_9']},{hint['eu_1169_2011_annex_II_14']}"
        told_words = {
            words.get(t.strip(), t.strip()) for t in re.split(r"[,;]", told) if re.fullmatch(r"[a-z_ ]+", t.strip())
        }
        for item in re.split(r",\s*", hint["items"]):
            try:
                row = ingredient(item)
            except ItemError:
                continue
            if item not in ("curry paste", "wine"):
                checked += 1
                missing += [(item, t) for t in told_words if t not in (*row.contains, *row.check_label)]
    assert missing == []
    assert checked > 25


@pytest.mark.kind("computed")
def test_a_cup_of_a_liquid_weighs_what_is_in_it() -> None:
    """Water, protein, fat, carbohydrate, ash and alcohol at their own densities (Choi and Okos 1986; 0.92, 1.55, 0.79 g/mL) fill the cup.

    Salt and sugar in water take less room than alone; agave syrup is left out: USDA's cup of it is lighter than water.
    """
    checked = 0
    for row in ingredients().values():
        if row.pours and row.cup_g and row.water_g is not None and row.name != "agave syrup":
            parts = [
                (row.water_g, 0.998),
                (row.protein_g, 1.32),
                (row.fat_g, 0.92),
                (row.carbohydrate_g, 1.55),
                (row.ash_g, 2.42),
            ]
            held = [(mass or 0.0, density) for mass, density in (*parts, (row.alcohol_g, 0.79))]
            density = sum(mass for mass, _ in held) / sum(mass / each for mass, each in held)
            assert row.cup_g / 236.588 == pytest.approx(density, rel=0.085), row.name
            checked += 1
    assert checked > 100


# A spoon of a sauce, as USDA weighed it, was a heaped one.
HEAPED = {"oyster sauce", "salsa", "sriracha-type sauce", "teriyaki sauce"}


@pytest.mark.kind("computed")
def test_no_spoon_or_cup_holds_more_than_itself_full() -> None:
    """Of the food without air: what is in it at its own densities, as above; an eleventh part more is salt, sugar and whole grams."""
    checked = 0
    for row in ingredients().values():
        main = (row.water_g, row.protein_g, row.fat_g, row.carbohydrate_g)
        if None not in main and row.name not in HEAPED:
            parts = zip((*main, row.ash_g, row.alcohol_g), (0.998, 1.32, 0.92, 1.55, 2.42, 0.79), strict=True)
            held = [(mass or 0.0, density) for mass, density in parts]
            density = sum(mass for mass, _ in held) / sum(mass / each for mass, each in held)
            for measure in ("tsp", "tbsp", "cup"):
                packed = row.density(measure)
                assert packed is None or packed < 1.09 * density, (row.name, measure)
                checked += packed is not None
    assert checked > 600


@pytest.mark.kind("memory")
def test_a_cup_of_grain_or_pulses_weighs_as_in_a_silo() -> None:
    """Whole grain and dry pulses lie at 650 to 900 kg in a cubic metre (storage handbooks: barley and oats light, peas and beans heavy)."""
    grain = "wild rice;long-grain rice;short-grain rice;brown rice;buckwheat;freekeh;quinoa;millet;pearl barley;pearled spelt;lentils"
    pulses = "red lentils;split peas;black-eyed beans;dried chickpeas;dried mung beans;dried navy beans;dried pinto beans;dried white beans"
    for name in f"{grain};{pulses};dried butter beans;dried black beans;dried kidney beans".split(";"):
        assert 0.65 < (ingredient(name).density("cup") or 0) < 0.9, name
