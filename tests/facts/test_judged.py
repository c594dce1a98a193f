"""Judged and traded figures read a second time: from what their own source says in words, from the row they follow, from the handbooks.

No measurement stands behind most of them, so nothing here shows that they are right; a slip of one is told.
"""

from __future__ import annotations

import math
import re
import statistics

import pytest

from spoonline.facts import ingredients, thickener
from spoonline.facts.equivalences import equivalences
from spoonline.facts.rows import juices, read_table, thickeners

COMPOSITION = (
    "water_g", "protein_g", "fat_g", "carbohydrate_g", "fibre_g", "sugars_g", "starch_g", "ash_g", "alcohol_g", "energy_kcal", "sodium_mg",
)  # fmt: skip
# Strength (g of maize starch that 1 g does the work of) and its spread, fresh and held, as the handbooks were weighed against each other.
STRENGTH = {
    "corn starch": (1.0, 0.0), "wheat flour": (0.58, 0.20), "wheat starch": (0.90, 0.12), "rice flour": (0.80, 0.25),
    "waxy corn starch": (1.05, 0.20), "arrowroot": (1.1, 0.30), "tapioca starch": (1.05, 0.25), "potato starch": (1.7, 0.30),
    "sweet-rice flour": (0.75, 0.30),
}  # fmt: skip
HELD = {
    "potato starch": (1.15, 0.25), "tapioca starch": (0.88, 0.20), "arrowroot": (0.9, 0.30), "waxy corn starch": (0.90, 0.20),
}  # fmt: skip
# ln of thickness chilled, reheated and whisked over fresh, and its spread.
STAGE = {
    "corn starch": (-0.05, 0.15), "wheat flour": (-0.05, 0.15), "wheat starch": (-0.05, 0.15), "rice flour": (-0.05, 0.20),
    "waxy corn starch": (-0.05, 0.12), "sweet-rice flour": (-0.05, 0.12), "tapioca starch": (-0.15, 0.20), "arrowroot": (-0.20, 0.30),
    "potato starch": (-0.25, 0.25), "xanthan gum": (0.0, 0.05), "guar gum": (0.0, 0.10),
}  # fmt: skip
# g for a level tablespoon of flour (7.8 g), by who says so.
TRADE = {
    "half the weight": {"corn starch": 3.9, "arrowroot": 3.9}, "four tenths": {"tapioca starch": 3.1},
    "two tenths": {"potato starch": 1.6}, "six tenths": {"rice flour": 4.7}, "US cookery book": {"corn starch": 2.7},
    "McGee": {"corn starch": 5.2}, "American Home": {"corn starch": 4.0, "arrowroot": 4.0, "potato starch": 5.0},
    "starch content": {"corn starch": 5.6, "tapioca starch": (5, 6), "potato starch": (3, 5), "rice flour": 6.5},
    "one level": {"wheat flour": 7.8},
}  # fmt: skip
# Cooked flesh blended alone, 60 C, 50 1/s [Pa s], and its spread (ln): classes of the notes on purees.
PUREE = {
    (4, 0.8): "potato;boiled potato;lentils;split peas;dried white beans;dried navy beans;canned chickpeas", (1.5, 0.3): "tomato paste",
    (1.5, 0.6): "parsnip;fresh peas;sweet potato", (0.6, 0.8): "vegetable", (0.2, 0.4): "passata",
    (1.2, 0.5): "carrot;celeriac", (0.9, 0.5): "cauliflower;broccoli;green beans;beetroot", (0.7, 0.5): "butternut squash;turnip;swede;apple",
    (0.4, 0.6): "leek;onion;mushrooms;chestnut mushrooms;red pepper;spinach;fennel",
    (0.3, 0.6): "pumpkin;pear;courgette;celery", (0.05, 0.4): "tomato",
}  # fmt: skip


def test_strengths_and_stages_are_as_the_handbooks_were_weighed() -> None:
    for name, row in thickeners().items():
        flour = row.flour_share < 1
        assert flour or name in STRENGTH or row.law, name
        if name in STRENGTH:
            assert (row.strength, row.strength_ln_sd) == STRENGTH[name], name
        assert (row.strength_held, row.strength_held_ln_sd) == HELD.get(name, (None, None)), name
        assert (row.stage_ln_mean, row.stage_ln_sd) == STAGE["wheat flour" if flour else name], name
        if (
            row.cold_ln_mean is not None
        ):  # eaten cold, over 60 C: a set gel of flour or maize; waxy and xanthan at most e
            assert (row.cold_ln_mean, row.cold_ln_sd) == (
                (1.0, 0.3) if name in ("waxy corn starch", "xanthan gum") else (1.6, 0.6)
            ), name
        power = {"xanthan gum": (1.1, 0.2), "guar gum": (2.5, 0.3)}.get(name, (3.0, 0.5))
        assert (row.exponent, row.exponent_sd) == power, name


@pytest.mark.parametrize(
    ("name", "share", "browned", "spread"),
    [
        ("white roux", 0.5, 0.58, 0.2), ("brown roux", 0.5, 0.38, 0.3), ("dark roux", 0.5, 0.22, 0.4), ("beurre manie", 50 / 110, 0.58, 0.2),
    ],
)  # fmt: skip
def test_a_roux_is_its_flour(name: str, share: float, browned: float, spread: float) -> None:
    """Half flour by weight, kneaded butter 50 in 110; browned flour does the work of 0.38 g of maize starch, dark of 0.22."""
    row, flour = thickener(name), thickener("wheat flour")
    assert row.flour_share == pytest.approx(share, abs=1e-3)
    assert row.strength == pytest.approx(browned * share, abs=5e-3)
    assert row.strength_ln_sd == spread
    assert row.starch_percent == pytest.approx(flour.starch_percent * share, abs=0.1)
    butter = ingredients()["butter"].water_g or 0
    assert row.water_percent == pytest.approx(flour.water_percent * share + butter * (1 - share), abs=0.1)


@pytest.mark.parametrize("name", sorted(thickeners()))
def test_the_two_accounts_of_a_thickener_agree(name: str) -> None:
    """What is in it as a food, and as a thickener."""
    food, row = ingredients()[name], thickeners()[name]
    assert food.starch_g is None or food.starch_g == pytest.approx(row.starch_percent, abs=2.5)
    assert food.water_g is None or food.water_g == pytest.approx(row.water_percent, abs=1.0)


@pytest.mark.parametrize(
    ("name", "flour_g", "butter_g"),
    [("white roux", 50, 50), ("brown roux", 50, 50), ("dark roux", 50, 50), ("beurre manie", 50, 60)],
)
def test_what_is_in_a_roux_is_worked_out_from_flour_and_butter(name: str, flour_g: float, butter_g: float) -> None:
    """As they go in, nothing boiled off."""
    row, flour, butter = (ingredients()[each] for each in (name, "wheat flour", "butter"))
    for figure in COMPOSITION:
        whole = (flour_g * (getattr(flour, figure) or 0) + butter_g * (getattr(butter, figure) or 0)) / (
            flour_g + butter_g
        )
        assert getattr(row, figure) == pytest.approx(whole, rel=2e-3, abs=0.006), figure


def test_how_well_the_starch_of_a_thickener_is_known() -> None:
    """Refined flour 70.0 +-1.0 and milled rice 75.7 +-2.7 (Indian tables, 2017); by difference 1 to 2 in 100, else 3, browned 10 (judged)."""
    known = {
        "wheat flour": 1.0 / 70.0,
        "rice flour": 2.7 / 75.7,
        "corn starch": 0.01,
        "arrowroot": 0.02,
        "dark roux": 0.1,
    }
    for row in read_table("thickeners.toml"):
        spread = 0.0 if "gum" in row["name"] else known.get(row["name"], 0.03)
        assert row["starch_percent"][1] == pytest.approx(spread, abs=5e-4), row["name"]


@pytest.mark.parametrize(("name", "percent", "flow_index"), [("xanthan gum", 0.530, 0.25), ("guar gum", 0.565, 0.4)])
def test_a_gum_reads_nectar_at_the_dose_that_was_matched_to_nectar(
    name: str, percent: float, flow_index: float
) -> None:
    """51 to 350 mPa s at 50 1/s and 25 C (US dysphagia diet, 2002): the middle of the class at 60 C, and its 90 % range is the class."""
    dose, level, spread, activation, _, index = thickener(name).law or ()
    assert dose == pytest.approx(10 * percent)
    cooler = math.exp(activation / 8.314e-3 * (1 / 298.15 - 1 / 333.15))
    assert level * cooler == pytest.approx(math.sqrt(0.051 * 0.350), rel=0.2)
    assert 1.645 * spread == pytest.approx(math.log(0.350 / 0.051) / 2, abs=0.1)
    assert index == flow_index  # guar thins less than xanthan (memory)


def test_trade_equivalences_are_what_each_source_says() -> None:
    seen = set()
    for row in equivalences():
        who = next(each for each in TRADE if row.source.startswith(each))
        said = TRADE[who][row.thickener]
        low, high = said if isinstance(said, tuple) else (said, said)
        assert (row.low_g, row.high_g) == (pytest.approx(low, abs=0.06), pytest.approx(high, abs=0.06)), row
        seen.add((who, row.thickener))
    assert seen == {(who, name) for who, said in TRADE.items() for name in said}


@pytest.mark.parametrize("figures", PUREE)
def test_a_blended_vegetable_is_of_its_class(figures: tuple[float, float]) -> None:
    """Fried or boiled before: what is blended is the same flesh."""
    names = set(PUREE[figures].split(";"))
    found = {(name, cooking): row for (name, cooking), row in juices().items() if name in names}
    assert {name for name, _ in found} == names
    for each, row in found.items():
        assert (row.puree_eta1_pa_s, row.puree_ln_sd) == figures, each


def test_sauces_of_tomato_read_what_was_published() -> None:
    """Tomato at 12 % solids 0.215 Pa s, paste at 25 and 30 % 1.28 and 1.79 (50 1/s, 32 C, memory)."""
    by_name = {name: row for (name, _), row in juices().items()}
    assert by_name["passata"].puree_eta1_pa_s == pytest.approx(0.215, rel=0.15)
    assert by_name["tomato paste"].puree_eta1_pa_s == pytest.approx((1.28 * 1.79) ** 0.5, rel=0.15)


def test_freed_starch_is_the_middle_of_what_is_believed() -> None:
    """Blending frees 0.3 to 0.6 of the starch of potato and pulses (judged): a middle of 0.45, and a range of 0.3 to 0.6 at 1.5 spreads."""
    freed = [row for row in juices().values() if row.starch_free_share is not None]
    assert len(freed) > 20
    for row in freed:
        share, spread = row.starch_free_share or 0, row.starch_free_sd or 0
        assert (share - 1.5 * spread, share + 1.5 * spread) == pytest.approx((0.3, 0.6), abs=0.01), row.name


def test_a_juice_follows_from_what_its_source_says() -> None:
    """ "Keeps 66 %", "boiled carrot keeps 0.94", "yield 2.73": one less what is kept, less the fat that melts out, to 0.045.

    Where it was worked out with all protein kept, 4 of 100 parts of what is left went into the broth.
    """
    checked = 0
    for (name, _), row in juices().items():
        share = re.search(r"(?:keeps?|: )\s*(0\.\d+|\d\d)(?: to (0\.\d+|\d\d))?(?: %)?(?: kept|,|;|$)?", row.source)
        grown = re.search(r"yield (\d\.\d+)", row.source)
        if grown:
            checked += 1
            assert row.juice_g_per_g == pytest.approx(1 - float(grown[1]), abs=0.005), name
        elif share and ("keep" in share[0] or "kept" in share[0] or "kept" in row.source):
            kept = [float(each) / (1 if "." in each else 100) for each in share.groups() if each]
            checked += 1
            left = sum(kept) / len(kept) * (0.96 if "protein kept" in row.source else 1.0)
            assert row.juice_g_per_g == pytest.approx(1 - left - row.fat_g_per_g, abs=0.045), name
            if "protein kept" not in row.source and "by its moisture" not in row.source:  # weighed, in one column
                assert row.juice_g_per_g <= 1 - min(kept) + 0.005, f"{name} gives more than it loses"
    assert checked > 20


def test_a_row_that_follows_another_gives_as_much() -> None:
    """ "As carrot", "as chicken thigh and leg": the same juice to 0.02, less than two cooks differ, and a spread no smaller.

    Green peas and aubergine are said to give less than beans and courgette.
    """
    by_name = {name: row for (name, _), row in juices().items()}
    meant = {
        "beans": ["green beans"], "dried beans": ["dried white beans"], "white mushrooms": ["mushrooms"], "lean beef": ["beef shin"],
        "shin": ["beef shin"], "chicken": ["chicken thigh", "chicken leg"], "chicken thigh and leg": ["chicken thigh", "chicken leg"],
    }  # fmt: skip
    checked = 0
    for (name, _), row in juices().items():
        said = re.match(r"as ([a-z -]+)(?:;|$)", row.source)
        others = [by_name[each] for each in meant.get(said[1], [said[1]]) if each in by_name] if said else []
        if others:
            checked += 1
            middle = statistics.fmean(each.juice_g_per_g for each in others)
            near = 0.065 if name in ("aubergine", "fresh peas", "frozen peas") else 0.021
            assert row.juice_g_per_g == pytest.approx(middle, abs=near), name
            assert row.sd >= min(each.sd for each in others), name
    assert checked > 45


# What is believed of how far one cook's pot differs from the next [g per g], and of what gives or takes how much, where nothing was weighed.
BELIEVED_SPREAD = {
    0.03: "boiled potato;tomato paste", 0.04: "sweet potato;fresh peas", 0.05: "parsnip;celeriac;cauliflower;smoked haddock;passata;ham",
    0.06: "leg of lamb;pork fillet;goat;venison;chicken breast;bacon;butternut squash;fennel;pumpkin", 0.07: "beef cheek;ham hock;pheasant",
    0.08: "pork belly;minced lamb;liver;duck;vegetable", 0.1: "leek;pear;boiled rice", 0.12: "shellfish;spinach;aubergine;chestnut mushrooms",
    0.15: "apple;raspberries;cherries", 0.2: "prunes;fruit;split peas;dried navy beans;egg noodles", 0.3: "fresh pasta;short-grain rice",
    0.4: "white bread;pearled spelt", 0.5: "pearl barley;dry bread crumbs", 0.8: "rolled oats;cornmeal",
}  # fmt: skip
BELIEVED = {
    0.25: "ham hock;pork belly;minced lamb;liver;shellfish", 0.1: "pumpkin;fennel;bacon", 0.5: "cherries", 0.2: "spinach;aubergine",
    -0.5: "prunes", -0.9: "fresh pasta", -1.8: "pearled spelt", -2.0: "pearl barley", -2.5: "rolled oats", -3.0: "dried porcini",
}  # fmt: skip


def test_what_nobody_weighed_is_as_it_was_believed() -> None:
    """Typed a second time, so this tells a slip and nothing more: no source stands behind these rows, and each says so."""
    by_name = {name: row for (name, _), row in juices().items()}
    for table, figure in ((BELIEVED_SPREAD, "sd"), (BELIEVED, "juice_g_per_g")):
        for believed, names in table.items():
            for name in names.split(";"):
                assert getattr(by_name[name], figure) == believed, (name, figure)


RED = (
    "beef chuck", "beef topside", "beef steak", "beef shin", "beef short ribs", "diced lamb", "lamb shoulder", "lamb shank", "pork shoulder",
    "pork loin", "pork ribs", "veal shank",
)  # fmt: skip


def test_a_class_lies_in_the_middle_of_what_it_stands_for() -> None:
    """A piece that has no row of its own is believed to be as the rest of its class: the mean of cuts, half-way between two that differ most."""
    cuts = [juices()[name, "stewed"].juice_g_per_g for name in RED]
    assert juices()["meat", "stewed"].juice_g_per_g == pytest.approx(sum(cuts) / len(cuts), abs=0.03)
    for name, low, high in (
        ("fish", "haddock", "cod"),
        ("shellfish", "prawns", "mussels"),
        ("fruit", "pear", "raspberries"),
    ):
        least, most = (juices()[each, "any"].juice_g_per_g for each in (low, high))
        near = 0.051 if name == "shellfish" else 0.015
        assert juices()[name, "any"].juice_g_per_g == pytest.approx((least + most) / 2, abs=near), name


@pytest.mark.parametrize("name", ["meat", "fish"])
def test_a_class_spreads_as_its_rows_do_within_and_between(name: str) -> None:
    """One piece of a class: the spread of its row and the difference between rows, added in squares."""
    of_class = ("cod", "haddock", "smoked haddock")
    rows = {
        (row.source, row.juice_g_per_g): row
        for (each, cooking), row in juices().items()
        if (
            each in of_class
            if name == "fish"
            else cooking == "stewed" and each in ingredients() and ingredients()[each].part == "meat"
        )
    }.values()
    between = statistics.pvariance([row.juice_g_per_g for row in rows])
    spread = math.sqrt(between + statistics.fmean([row.sd**2 for row in rows]))
    assert juices()[name, "any" if name == "fish" else "stewed"].sd == pytest.approx(spread, rel=0.1)


def test_what_a_class_says_of_its_neighbours_is_theirs() -> None:
    """ "Between firm vegetables (0.06) and leaves, onions and mushrooms (0.15 to 0.25)": those rows give that, and a class lies between."""
    told = {"vegetable": "carrot onion mushrooms", "fruit": "pear apple raspberries"}
    for name, names in told.items():
        row = juices()[name, "any"]
        figures = [float(each) for each in re.findall(r"0\.\d+", row.source)]
        assert [juices()[each, "any"].juice_g_per_g for each in names.split()] == figures, name
        assert figures[0] < row.juice_g_per_g < figures[-1], name


def test_a_range_told_in_words_is_the_range_of_the_row() -> None:
    """ "0.5 to 0.9" thawed and simmered: the middle, and 1.645 spreads to either end."""
    told = [(row, re.search(r"simmered, (0\.\d) to (0\.\d)", row.source)) for row in juices().values()]
    ranges = [(row, float(found[1]), float(found[2])) for row, found in told if found]
    assert len(ranges) >= 6
    for row, low, high in ranges:
        assert row.juice_g_per_g == pytest.approx((low + high) / 2, abs=0.01), row.name
        assert 1.645 * row.sd == pytest.approx((high - low) / 2, abs=0.01), row.name


def test_what_was_cooked_before_neither_gives_nor_takes() -> None:
    before = [row for row in juices().values() if re.match(r"cooked (or cured )?before|what bones give", row.source)]
    assert len(before) > 15
    assert {row.juice_g_per_g for row in before} == {0}


def test_bread_and_its_crumbs_drink_to_the_same_moistness() -> None:
    """A soaked crumb holds as much dry bread in 100 g whichever it was made of: the waters are those of the ingredient rows."""
    dry = []
    for name in ("white bread", "dry bread crumbs"):
        food, row = ingredients()[name], juices()[name, "any"]
        dry.append((100 - (food.water_g or 0)) / (1 - row.juice_g_per_g))
    assert dry[0] == pytest.approx(dry[1], rel=0.1)


def test_a_thickener_adds_up_to_its_last_digit() -> None:
    """Carbohydrate is by difference, in USDA's tables and in what is typed from memory: the parts are 100 g to the rounding of five of them."""
    for name, thick in thickeners().items():
        row = ingredients()[name]
        if thick.flour_share < 1:
            continue  # worked out above
        parts = (row.water_g, row.protein_g, row.fat_g, row.carbohydrate_g, row.ash_g)
        assert sum(part or 0 for part in parts) == pytest.approx(100, abs=0.02), name


def test_a_gum_holds_no_starch_and_a_refined_starch_no_sugar() -> None:
    for name, row in thickeners().items():
        food = ingredients()[name]
        if row.law:
            assert (row.starch_percent, food.starch_g, food.sugars_g) == (0, 0, 0), name
            assert (
                row.strength_ln_sd == {"xanthan gum": 0.6, "guar gum": 0.35}[name]
            )  # two levels, and a power that was assumed
        elif name.endswith(" starch"):
            assert food.sugars_g == 0, name


# Spread of what was weighed or worked out from weighed pieces [g per g]: a cook, an animal and a knife differ by about as much.
WEIGHED = {
    0.045: "beef chuck;beef topside;beef steak;beef shin;beef short ribs;beef brisket",
    0.05: "diced lamb;lamb shoulder;lamb shank;pork shoulder;pork loin;chicken thigh;skin-on chicken thigh;chicken leg",
    0.06: "pork ribs;whole chicken;veal shank;rabbit",
}


@pytest.mark.parametrize("spread", WEIGHED)
def test_how_far_weighed_pieces_differ(spread: float) -> None:
    for name in WEIGHED[spread].split(";"):
        assert juices()[name, "stewed"].sd == spread, name


@pytest.mark.parametrize(
    ("name", "cooking", "spread"),
    [
        ("carrot", "any", 0.04), ("green beans", "any", 0.04), ("cabbage", "any", 0.04), ("onion", "fried", 0.10), ("red pepper", "any", 0.08),
        ("courgette", "any", 0.08), ("mushrooms", "any", 0.12), ("potato", "any", 0.03), ("cod", "any", 0.05), ("haddock", "any", 0.05),
        ("prawns", "any", 0.06), ("mussels", "any", 0.10),
    ],
)  # fmt: skip
def test_how_far_vegetables_and_fish_differ(name: str, cooking: str, spread: float) -> None:
    """As the notes on purees and stews have it; SR28's raw and cooked fish and shellfish are other samples."""
    assert juices()[name, cooking].sd == spread
