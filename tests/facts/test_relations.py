"""What a food must be of another food, of its own salt, and of the tin, the spoon and the shell it is measured in.

Limits stand beside each check with who says so; none comes from the row under test. Where a check says memory, no book was open.
"""

from __future__ import annotations

from statistics import fmean

import pytest

from spoonline.facts import ingredient, ingredients

# Salt is 39.34 % sodium by its formula.
SALT_G_PER_MG = 1 / 393.4


def parts(name: str) -> list[float]:
    """Water, protein, fat, carbohydrate and alcohol of 100 g."""
    row = ingredient(name)
    return [each or 0.0 for each in (row.water_g, row.protein_g, row.fat_g, row.carbohydrate_g, row.alcohol_g)]


def test_a_drink_or_stock_from_memory_is_a_hundred_parts() -> None:
    """Its water is what the rest leaves. Coffee alone is as USDA rounded it."""
    checked = 0
    for row in ingredients().values():
        if row.kind == "memory" and row.pours and row.ash_g is not None and row.name != "coffee":
            checked += 1
            assert sum(parts(row.name)) + row.ash_g == pytest.approx(100, abs=0.024), row.name
    assert checked > 30


def test_what_is_fermented_or_steeped_holds_no_fat() -> None:
    """0.00 for each drink of USDA's chapter 14; what is fermented of fruit, sugar or flowers alone has no protein either (to 0.1 g)."""
    for row in ingredients().values():
        steeped = row.name in ("coffee", "tea", "ginger beer", "rose water", "cooking water")
        if row.pours and (steeped or (row.alcohol_g and row.kind == "memory")):
            assert row.fat_g == 0, row.name
    for name in ("dry cider", "sweet cider", "perry", "ginger beer", "rose water"):
        assert ingredient(name).protein_g == 0, name
    assert ingredient("rose water").energy_kcal == 0


def test_a_fortified_wine_is_as_salty_as_usdas() -> None:
    """SR28 14057, "wine, dessert, sweet", read: 0.20 g protein, 0.30 g ash, 9 mg sodium; vermouth is cut with spirit, 0.1 g less of each."""
    for row in map(ingredient, ("madeira", "marsala", "medium sherry", "sweet vermouth", "dry vermouth")):
        less = 0.1 if "vermouth" in row.name else 0.0
        assert [row.protein_g, row.ash_g, row.sodium_mg] == pytest.approx([0.2 - less, 0.3 - less, 9]), row.name


def test_a_light_wine_lies_by_white_and_red() -> None:
    """Whose figures were read: protein to 0.05 g, ash to 0.09 g, sodium to 1 mg of red."""
    red = ingredient("red wine")
    for row in map(ingredient, ("rose wine", "sparkling wine", "white wine")):
        for figure, near in (("protein_g", 0.05), ("ash_g", 0.09), ("sodium_mg", 1)):
            assert getattr(row, figure) == pytest.approx(getattr(red, figure), abs=near), (row.name, figure)


def test_cured_flesh_and_cheese_have_room_for_their_salt() -> None:
    """What water, protein, fat and carbohydrate leave is its salt and 0.035 to 0.09 of the protein: fresh meat and fish hold 1.0 to 1.3 g of
    minerals beside 20 g of protein (USDA: cod 1.16 to 17.8, pork shoulder 0.88 to 17.2, minced turkey 1.00 to 19.7), brined cheese twice that.
    """
    checked = 0
    for row in ingredients().values():
        salty = row.kind == "memory" and row.part in ("meat", "dairy") and (row.sodium_mg or 0) > 240
        if salty and row.sodium_mg and row.protein_g:
            checked += 1
            own = 100 - sum(parts(row.name)) - row.sodium_mg * SALT_G_PER_MG
            assert 0.035 < own / row.protein_g < 0.09, (row.name, round(own, 2))
    assert checked >= 14


# Sodium [mg] of the nearest flesh that USDA weighed, read in its abbreviated file: SR28 numbers behind.
SODIUM = {
    "hake;white fish fillets": 71,  # cod, whiting and pollock: 15015, 15132, 15065, their mean
    "sea bream": 64, "lamb shank": 72, "lamb chops": 59, "kangaroo": 51,  # snapper 15101, foreshank 17228, loin 17236, venison 17164
    "lamb shoulder;lamb neck;mutton": 63, "ox kidney": 168,  # shoulder 17242, kidney 17367
}  # fmt: skip


def test_fresh_flesh_is_as_salty_as_its_kin() -> None:
    for names, sodium_mg in SODIUM.items():
        for name in names.split(";"):
            assert ingredient(name).sodium_mg == pytest.approx(sodium_mg, rel=0.1), name


# What a mixed spice is mixed of (common practice, equal spoons); of the rest what they are measured like.
MIXED = {
    "garam masala": "coriander seed;cumin seed;black pepper;ground cinnamon;ground cardamom;ground cloves",
    "ras el hanout": "cumin seed;coriander seed;ground ginger;ground turmeric;ground cinnamon;ground allspice;black pepper",
    "five spice powder": "fennel seed;aniseed;ground cinnamon;ground cloves;black pepper", "za'atar": "dried thyme;sumac;sesame seeds",
    "mixed spice": "ground allspice;ground cinnamon;ground nutmeg;ground mace;ground cloves;ground ginger;coriander seed",
    "mixed herbs": "dried thyme;dried oregano;dried marjoram;dried basil;dried rosemary", "cajun seasoning": "chili powder",
    "celery salt": "salt;salt;salt;celery seed", "chilli flakes": "cayenne pepper", "whole cloves": "ground cloves",
    "palm sugar": "brown sugar;sugar", "nigella seeds": "cumin seed;poppy seeds", "almond extract": "vanilla extract", "sumac": "paprika",
}  # fmt: skip


@pytest.mark.parametrize("name", MIXED)
def test_a_spoon_of_a_mixture_weighs_as_what_it_is_of(name: str) -> None:
    """Spoons of single spices are USDA's; a mixture fills to an eighth of their mean."""
    alone = fmean(ingredient(each).density("tsp") or 0.0 for each in MIXED[name].split(";"))
    assert ingredient(name).density("tsp") == pytest.approx(alone, rel=1 / 8)


# Sauces of up to 55 parts of sugar and salt in 100 weigh 1.0 to 1.26 kg/L, preserves and syrups of 65 to 83 parts 1.31 to 1.44 (sugar
# solutions at 20 C by their degrees Brix, from memory).
WET = "brown sauce;curry paste;harissa;gochujang;stock concentrate;sweet chilli sauce;tamarind paste;vanilla bean paste;mint sauce;dijon mustard"
SWEET = "mango chutney;lemon curd;golden syrup"


def test_a_spoon_of_a_sauce_weighs_as_its_sugar_and_salt() -> None:
    for names, low, high in ((f"{WET};whole-grain mustard;creme de cassis", 1.0, 1.26), (SWEET, 1.31, 1.44)):
        for name in names.split(";"):
            row = ingredient(name)
            assert all(low <= (row.density(each) or 0.0) <= high for each in ("tsp", "tbsp", "cup")), name


# Cups [g] that USDA weighed of the same food in the same cut, read in its abbreviated file or, *, in the extract; common practice for ~.
CUPS = {
    "grits": (156, "08090"), "white bread": (45, "18070, crumbs"), "fresh bread crumbs": (45, "18070"), "canned sweetcorn": (164, "11905"),
    "milk chocolate": (170, "19701, chips"), "chocolate chips": (170, "19701"), "white chocolate": (170, "19079, chips"),
    "soy flour": (84, "16115"), "tempeh": (166, "16114"), "pinhead oatmeal": (156, "20038, whole oats"), "small pasta": (122, "20120*, elbows"),
    "desiccated coconut": (80, "12104, shredded"), "almond flour": (95, "12061*, ground"), "orzo": (200, "20005, ~ as barley"),
    "pearled spelt": (200, "20005, ~ as barley"), "freekeh": (168, "20073, ~ soft wheat"), "spelt flour": (125, "20081, ~ wheat flour"),
    "self-raising flour": (125, "20082"), "frozen mixed vegetables": (134, "11312, ~ peas"), "sweet-rice flour": (158, "20061, ~ rice flour"),
}  # fmt: skip


@pytest.mark.parametrize("name", CUPS)
def test_a_cup_of_it_weighs_as_usda_weighed_its_kind(name: str) -> None:
    assert ingredient(name).cup_g == pytest.approx(CUPS[name][0], rel=0.06)


# One piece by two names, within a row.
TWICE = (
    ("slice", "rasher"), ("stalk", "stick"), ("small stalk", "small stick"), ("large stalk", "large stick"), ("leaf", "sheet"),
    ("spear", "medium"), ("small spear", "small"), ("large spear", "large"), ("bulb", "medium"), ("small bulb", "small"), ("bulb", "head"),
    ("large bulb", "large"), ("root", "one"), ("stalk", "one"), ("pod", "one"), ("sheet", "one"), ("link", "one"), ("cube", "one"),
    ("stick", "one"), ("thigh", "one"), ("breast", "one"), ("small head", "small"), ("large head", "large"),
)  # fmt: skip
# A red pepper is a green one that ripened, a leaf of gelatine is one in a packet too.
SAME = ("red pepper;green pepper", "floury potato;potato", "waxy potato;potato", "gelatine powder;leaf gelatine")


def test_one_piece_by_two_names_weighs_the_same() -> None:
    """And ten sticks of celery, nine to eleven, are a head (common practice)."""
    for row in ingredients().values():
        for one, other in TWICE:
            if {one, other} <= set(row.pieces) and row.name not in ("broccoli", "dill pickles"):
                assert row.pieces[one] == row.pieces[other], (row.name, one, other)
    for names in SAME:
        here, there = (ingredient(name).pieces for name in names.split(";"))
        shared = set(here) & set(there)
        assert shared and all(here[piece] == there[piece] for piece in shared), names
    celery = ingredient("celery").pieces
    assert celery["head"] == celery["bunch"] == pytest.approx(10 * celery["stalk"], rel=0.1)


def test_an_egg_is_its_white_and_its_yolk() -> None:
    egg, white, yolk = (ingredient(name).pieces for name in ("egg", "egg white", "egg yolk"))
    for size in white:
        assert white[size] + yolk[size] == pytest.approx(egg[size], rel=0.01), size


def test_a_can_fills_its_tin() -> None:
    """Tins of 314 and 425 mL (nominal capacities of directive 80/232/EEC, memory) are filled to 0.9 at least, of puree at 1.12 g/mL (memory)."""
    for name, tin_ml in (("coconut milk", 425), ("baked beans", 425), ("condensed milk", 314), ("chestnut puree", 425)):
        row = ingredient(name)
        assert 0.9 <= row.pieces["can"] / (row.density("cup") or 1.12) / tin_ml <= 1.0, name


@pytest.mark.parametrize("name", ["canned lentils", "canned white beans", "canned butter beans"])
def test_a_can_of_pulses_drains_to_what_others_do(name: str) -> None:
    """USDA weighed 253, 266 and 277 g out of cans of 425 to 440 g (SR28 16358, 16145, 16146): 0.6 of a can, here of 400 g."""
    assert ingredient(name).pieces["can"] == pytest.approx(400 * fmean((253, 266, 277)) / 435, rel=0.08)


def test_sizes_that_nobody_weighed_of_usdas_medium_one() -> None:
    """Three quarters and thirteen tenths of it, or, by shops' sizes (common practice), as far below as above to 8 parts in 100."""
    checked = 0
    for row in ingredients().values():
        judged = row.source.partition("judged: ")[2]
        if {"small", "medium", "large"} <= set(row.pieces) and row.source.startswith("USDA SR28") and "small" in judged:
            small, medium, large = (row.pieces[each] for each in ("small", "medium", "large"))
            if (small / medium, large / medium) != pytest.approx((0.75, 1.3), abs=0.012) and row.name not in UNEVEN:
                checked += 1
                assert medium == pytest.approx((small + large) / 2, rel=0.08), row.name
    assert checked > 12


# Sold in sizes that grow by a ratio.
UNEVEN = {"beetroot", "leek", "lemon", "shallot", "pumpkin", "prawns", "new potatoes"}
