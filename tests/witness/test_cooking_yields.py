"""What meat, fish, vegetables and dry goods give or take up: against USDA's raw and cooked rows, protein kept.

Sources: USDA SR28 and its last release, SR Legacy (public domain); USDA Table of Cooking Yields R2 (2014) and Bognar 2002, as
transcribed. A cooked piece weighs raw protein / cooked protein of what it weighed raw; 4 % of the nutrients go into the
broth (Snyder, Human Foods, quoting station work).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from spoonline.facts import ingredient
from spoonline.facts.rows import juice
from witness.test_usda_tables import read

pytestmark = pytest.mark.kind("published")

PAIRS = Path(__file__).with_name("usda_raw_and_cooked.csv")
# Short ribs: 66 % weighed, 68.6 % with all protein kept.
KEPT_IN_BROTH = 66 / 68.6


def pairs() -> dict[str, dict[str, str]]:
    with PAIRS.open(encoding="utf-8", newline="") as file:
        return {row["name"]: row for row in csv.DictReader(file)}


def kept(row: dict[str, str]) -> float:
    """Mass of the cooked piece over its raw mass, protein kept."""
    return float(row["protein_raw"]) / float(row["protein_cooked"])


def test_beef_chuck_and_lamb_cubes_lose_what_usda_weighed() -> None:
    """SR28 23093/23090: 0.671 kept, 32.2 g water out per 100 g; 17059/17060: 0.600 and 40.0 g."""
    for name, share, water in (("beef chuck", 0.671, 32.2), ("diced lamb", 0.600, 40.0)):
        row = pairs()[name]
        assert kept(row) == pytest.approx(share, abs=0.002)
        assert float(row["water_raw"]) - kept(row) * float(row["water_cooked"]) == pytest.approx(water, abs=0.2)


def test_short_ribs_give_what_usda_weighed() -> None:
    """USDA weighed 66 % and 4 g of fat (R2, 2014)."""
    ours = juice("beef short ribs")
    assert ours is not None and ours.fat_g_per_g == 0.04
    assert ours.juice_g_per_g == pytest.approx(1 - 0.66 - ours.fat_g_per_g, abs=0.015)


@pytest.mark.parametrize("name", list(pairs()))
@pytest.mark.kind("computed")
def test_each_computed_row(name: str) -> None:
    """What is lost less melted fat is the juice of the row, to 0.04: other animals and cooks (mussels 0.06: what runs as they open).

    And it is no more than that (to the rounding of its last digit): a piece gives its pot nothing that it has not lost.
    """
    row, ours = pairs()[name], juice(name, pairs()[name]["how"])
    assert ours is not None and ours.name == name
    share = kept(row)
    fat = max(0.0, float(row["fat_raw"]) - share * float(row["fat_cooked"])) / 100 if row["fat_raw"] else 0.0
    lost = 1 - share * (KEPT_IN_BROTH if row["how"] == "stewed" else 1)
    assert ours.juice_g_per_g == pytest.approx(lost - fat, abs=0.06 if name == "mussels" else 0.04)
    assert ours.juice_g_per_g < lost - fat + 0.005
    assert name != "pork ribs" or ours.fat_g_per_g == pytest.approx(fat, abs=0.01)


@pytest.mark.kind("own")
def test_raw_rows_are_those_of_the_table() -> None:
    """The raw food of a pair is the food of our row, where both name the same one."""
    for name in ("beef chuck", "diced lamb", "rabbit", "cod", "haddock", "mussels", "prawns", "pork ribs"):
        assert ingredient(name).protein_g == float(pairs()[name]["protein_raw"]), name


def test_dry_lentils_take_up_what_bognar_weighed() -> None:
    """300 g take up 519 g and give 819 g (yield 2.73 +-0.06); rice 2.98, pasta 2.10, egg pasta 2.60, dry beans 2.50."""
    lentils = juice("red lentils", "stewed")
    assert lentils is not None and -300 * lentils.juice_g_per_g == pytest.approx(519, abs=20)
    for name, grown in (
        ("long-grain rice", 2.98),
        ("dried pasta", 2.1),
        ("egg noodles", 2.6),
        ("dried white beans", 2.5),
    ):
        ours = juice(name, "boiled")
        assert ours is not None and 1 - ours.juice_g_per_g == pytest.approx(grown, abs=0.005)


def test_dry_goods_against_raw_and_boiled_rows() -> None:
    """The same from SR28's protein: other samples and other cooks, so within 0.45."""
    protein = {row["ndb_no"]: float(row["protein_g"]) for row in read("sr28_composition.csv") if row["protein_g"]}
    pulses = (("lentils", "16069", "16070"), ("split peas", "16085", "16086"), ("dried chickpeas", "16056", "16057"))
    beans = (("dried white beans", "16049", "16050"), ("dried black beans", "16014", "16015"))
    grains = (("long-grain rice", "20044", "20045"), ("dried pasta", "20120", "20121"))
    for name, raw, boiled in (*pulses, *beans, *grains):
        ours = juice(name, "boiled")
        assert ours is not None
        assert 1 - ours.juice_g_per_g == pytest.approx(protein[raw] / protein[boiled], abs=0.45), name
    # pearl barley stays memory: USDA's boiled barley took up far more than cooks say
    assert protein["20005"] / protein["20006"] > 4


def test_white_mushrooms_lie_between_the_pan_and_potassium() -> None:
    """SR28 11260 raw against stir-fried 3.58 and microwaved 3.91 g protein: 0.14 and 0.21; potassium says up to 0.35."""
    raw = ingredient("mushrooms").protein_g
    assert raw is not None
    assert 1 - raw / 3.58 == pytest.approx(0.14, abs=0.005) and 1 - raw / 3.91 == pytest.approx(0.21, abs=0.005)
    ours = juice("mushrooms", "fried")
    assert ours is not None and 0.14 < ours.juice_g_per_g < 0.35
