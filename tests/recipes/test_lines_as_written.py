"""Lines as people write them: what was typed rules, in the kitchen's own measures; there and back; scaled as a kitchen measures."""

from __future__ import annotations

import random
import time

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import spoonline as sl
from dishes import DISHES
from recipes import corpus_score
from spoonline.card import RecipeCard
from spoonline.facts import read_line
from spoonline.measures import kitchen_amount, unit
from tiers import drawn


@pytest.mark.parametrize(
    ("line", "system", "mass_g"),
    [
        ("2 onions (250g)", "uk", 250),
        ("2 medium floury potatoes (350g)", "uk", 350),
        ("3 leeks, 600g trimmed", "uk", 600),
        ("1 heaped tbsp cornflour (12 g)", "uk", 12),
        ("1 tbsp cornflour (30 g)", "uk", 30),
        ("4 chicken thighs (about 150 g each)", "us", 600),
        ("400g tin tomatoes x 2", "uk", 800),
        ("Butter 50g", "uk", 50),
        ("Potatoes (floury), 1,2 kg", "metric", 1200),
        ("4 tbsp cornflour", "us", 4 * 8.0),
        ("4 tbsp cornflour", "au", 4 * 8.0 * 20 / 14.78676478125),
    ],
)
def test_what_was_typed_rules(line: str, system: str, mass_g: float) -> None:
    read = read_line(line, system, "," if system == "metric" else ".")
    assert read.mass is not None and read.mass.mass_g == pytest.approx(mass_g, rel=1e-6)


@pytest.mark.parametrize(
    ("line", "ml"),
    [
        ("700ml (generous 1 1/4 pints) milk", 700),
        ("500ml lamb stock", 500),
        ("pan juices from the roast, skimmed, made up to 600ml with chicken stock", 600),
        ("topped up to 1 litre with water", 1000),
        ("150ml dry cider", 150),
        # UK Weights and Measures Act 1985, schedule 1: a pint is 568.26125 mL
        ("1 pint beef stock", 568.26125),
    ],
)
def test_liquids_pour_with_or_without_figures(line: str, ml: float) -> None:
    recipe = sl.Recipe.from_text(f"Gravy\n{line}\n", "uk")
    (only,) = recipe.ingredients
    assert (
        only.part == "liquid"
        and float(only.volume_ml) == pytest.approx(ml)
        and 0.97 * ml < float(only.mass_g) < 1.07 * ml
    )
    assert float(only.sd_g) > 0 and recipe.liquid_l == pytest.approx(ml / 1000)


def test_a_disagreement_is_said_and_two_weights_are_asked() -> None:
    read = read_line("1 tbsp cornflour (30 g)")
    assert any("30 g and 1 tbsp are not the same (30 and 8 g): 30 g was taken as typed" in note for note in read.notes)
    assert read_line("1 heaped tbsp cornflour (12 g)").notes == (), "a heaped spoon may hold that"
    asked = read_line("500 g (3 lb) swede")
    assert asked.mass is None and any("which one?" in note for note in asked.notes)
    for line in ("2 tbsp cups flour", "2 kg ml pumpkin"):
        assert read_line(line).mass is None and any(
            "Two units stand together" in note for note in read_line(line).notes
        )


@pytest.mark.parametrize(
    "line",
    ["1" + "0" * 400 + " g flour", "nan g flour", "inf cups flour", "1/0 cup flour", "2 tbsp cups", "-5 g flour"],
)
def test_nonsense_gets_a_question(line: str) -> None:
    read = read_line(line)
    assert read.mass is None and read.notes


def test_a_very_long_line_returns_at_once() -> None:
    start = time.perf_counter()
    read = read_line("1 cup flour " * 8500)
    assert read.mass is None and read.notes and time.perf_counter() - start < 2


def test_servings_and_yields_as_they_are_written() -> None:
    def read(line: str, measures: str = "uk") -> sl.Recipe:
        return sl.Recipe.from_text(f"Soup\n{line}\n1 l water\n", measures)

    assert [float(each) for each in (read("Serves 4-6").servings, read("Serves 4-6").servings_high)] == [5, 6]
    assert read("Serves 4").servings_high is None and read("Serves 5 or 6").servings == read("Serves 5 to 6").servings
    pint = read("Makes about 1 pint")
    assert float(pint.yield_l) == pytest.approx(0.56826125) and pint.makes == "about 1 pint"
    assert float(read("Makes about 1 pint", "us").yield_l) == pytest.approx(0.473176473)
    biscuits = read("Makes 24 biscuits")
    assert float(biscuits.servings) == 24 and biscuits.scaled(0.5).makes == "12 biscuits"
    assert "Serves 6-9" in read("Serves 4-6").scaled(1.5).text


def test_two_kitchens_in_one_process_do_not_mix() -> None:
    text = "Sauce\n4 tbsp cornflour\n1,250 g flaked almonds\n1 l water\n"
    for _ in range(3):
        us, au = (sl.Recipe.from_text(text, kitchen, mark) for kitchen, mark in (("us", "."), ("au", ",")))
        assert float(us.ingredients[0].mass_g) == pytest.approx(32) and us.ingredients[1].mass_g is None, (
            "1250 or 1.25: asked"
        )
        assert float(au.ingredients[0].mass_g) == pytest.approx(43.28, abs=0.01)
        assert float(au.ingredients[1].mass_g) == 1.25 and (us.measures, au.measures) == ("us", "au")


@pytest.mark.parametrize("system", ["us", "uk", "au", "metric"])
def test_every_line_of_the_corpus_goes_there_and_back(system: str) -> None:
    lines = [row["line"] for half in "ab" for row in corpus_score.rows(half) if row["system"] == system]
    lines = [line for line in lines if line.strip() and not line.rstrip().endswith(":")]
    for at in range(0, len(lines), 40):
        recipe = sl.Recipe.from_text(
            "\n".join(["Lunch", "Serves 4-6", *lines[at : at + 40], "", "1. Simmer for 5 minutes."]), system
        )
        again = sl.Recipe.from_text(recipe.text)
        assert again == recipe and again.text == recipe.text


@drawn(2000, few=60)
@given(
    seed=st.integers(0, 10**9),
    system=st.sampled_from(["us", "uk", "au", "metric"]),
    factor=st.sampled_from([0.37, 1.0, 1.5, 2.6]),
)
def test_random_recipes_go_there_and_back_also_scaled(seed: int, system: str, factor: float) -> None:
    rng = random.Random(seed)
    rows = [row["line"] for half in "ab" for row in corpus_score.rows(half) if not row["line"].rstrip().endswith(":")]
    head = rng.choice(["Serves 4", "Serves 4-6", "Makes about 1 l", "Makes 700 g", "Makes 24 biscuits"])
    text = "\n".join(["Village hall lunch", head, *rng.sample(rows, 6), "", "1. Simmer for 20 minutes.", "2. Blend."])
    try:
        recipe = sl.Recipe.from_text(text, system)
    except sl.KitchenError as err:
        assert "g/L" in str(err), "too much thickener by chance"
        return
    assert sl.Recipe.from_text(recipe.text) == recipe
    assume(not recipe.dose_g_per_l > 300)  # a rounded line could carry it past what is refused
    scaled = recipe.scaled(factor)
    assert sl.Recipe.from_text(scaled.text, like=scaled) == scaled
    assert scaled.mass_g == pytest.approx(factor * recipe.mass_g, rel=2e-5), "a record keeps six digits"


def test_a_cold_water_line_does_not_grow() -> None:
    recipe = sl.Recipe.from_text("Sauce\n1/4 cup cold water\n20 g corn starch\n")
    for _ in range(3):
        recipe = sl.Recipe.from_text(recipe.text)
    assert recipe.ingredients[0].line == "1/4 cup cold water" and recipe.ingredients[0].amount == "1/4 cup"


@pytest.mark.parametrize(
    ("text", "factor", "system", "mass_g", "wanted"),
    [
        ("4-5 tbsp", 1.361, "us", None, "5 1/2-6 3/4 tbsp"),
        ("7", 1.16667, "us", None, "8"),
        ("1", 0.37, "us", 40.7, "1/2 (41 g)"),
        ("1 tbsp", 0.37, "us", None, "1 tsp"),
        ("1 tbsp", 0.37, "au", None, "1 1/2 tsp"),
        ("3 cloves", 1.5, "uk", None, "4 1/2 cloves"),
        ("2 large", 1.5, "us", None, "3 large"),
        ("250 ml", 2.6, "uk", None, "650 ml"),
        ("1 l", 0.37, "metric", None, "370 ml"),
        ("800 g", 1.5, "uk", None, "1200 g"),
        ("2 (250 g in all)", 1.5, "uk", None, "3 (375 g in all)"),
        ("1 cup", 2.6, "us", None, "2 2/3 cups"),
    ],
)
def test_scaled_amounts_as_a_kitchen_measures_them(
    text: str, factor: float, system: str, mass_g: float | None, wanted: str
) -> None:
    assert kitchen_amount(text, factor, system, mass_g) == wanted


@drawn(400, few=60)
@given(
    value=st.floats(0.3, 40), name=st.sampled_from(["tsp", "tbsp", "cup", "g", "ml", "pint", "oz", "lb", ""]),
    factor=st.floats(0.2, 5), system=st.sampled_from(["us", "uk", "au", "metric"]),
)  # fmt: skip
def test_a_rounded_amount_stays_near_and_reads_back(value: float, name: str, factor: float, system: str) -> None:
    if name == "pint" and system in ("au", "metric"):
        return
    written = kitchen_amount(f"{value:.2f} {name}".strip(), factor, system, mass_g=100.0)
    read = sl.parse_amount(written.partition(" (")[0], system)
    typed = float(f"{value:.2f}")
    there, here = (unit(each, system).size or 1.0 if each else 1.0 for each in (read.unit, name))
    off = abs(read.value * there / (typed * factor * here) - 1)
    said = "(100 g)" in written
    assert off <= 0.051 or said or name in ("g", "ml", "oz", "lb"), (written, off)
    assert not said or off > 0.049


def test_a_card_in_markdown_can_be_read_by_a_person() -> None:
    recipe = sl.Recipe.from_text(
        "Leek & potato soup (v. 2.5)\nServes 4-6\n1 1/4 cups water\n3 cloves garlic\n60 g wheat flour\n\n1. Don't boil: simmer 2.5 minutes!\n"
    )
    made = RecipeCard(recipe).markdown()
    assert (
        "# Leek & potato soup (v. 2.5)\n" in made and "1 1/4 cups" in made and "Don't boil: simmer 2.5 minutes!" in made
    )
    assert "3 cloves" in made and "Serves 4-6" in made


def test_no_dish_has_a_nan_and_servings_are_ranges() -> None:
    for name, text in DISHES.items():
        if "galette" in name:
            continue
        recipe = sl.Recipe.from_text(text, "uk")
        assert "nan" not in recipe.dose_text and sl.Recipe.from_text(recipe.text) == recipe


@pytest.mark.parametrize(
    ("line", "grams"),
    [
        ("40 g cornflour mixed with 60 ml cold water", 40),
        ("3 tbsp plain flour slaked with 3 tbsp water", 3 * 7.8125),
        ("50 g cornflour to thicken", 50),
        ("50 g cornflour*", 50),
    ],
)
def test_a_slurry_keeps_its_starch(line: str, grams: float) -> None:
    recipe = sl.Recipe.from_text(f"Gravy\n1 l beef stock\n{line}\n")
    assert recipe.thickener_g == pytest.approx(grams, rel=0.01)
    asks = [each for each in recipe.questions if "not counted: write it on a line of its own" in each]
    assert bool(asks) == ("water" in line)


@pytest.mark.parametrize(
    "line",
    [
        "50 g butter, 50 g flour",
        "50 g butter and 50 g flour",
        "2 leeks; 3 carrots",
        "50 g cornflour + 10 g",
        "1-2-3 g flour",
        "5 g/l cornstarch",
    ],
)
def test_two_things_in_one_line_are_asked(line: str) -> None:
    read = read_line(line)
    assert read.mass is None and read.notes, read


@pytest.mark.parametrize(
    ("line", "grams"),
    [
        ("3 onions – about 400 g", 400),
        ("4 sausages (total 320 g)", 320),
        ("2 carrots (peeled weight 180 g)", 180),
        ("3 onions (you need 400 g)", 400),
        ("1 tbsp cornflour (or 30 g)", 30),
        ("4 steaks (200g/7oz each)", 800),
        ("1 lb, 8 oz beef chuck", 680.4),
    ],
)
def test_typed_grams_rule_wherever_they_stand(line: str, grams: float) -> None:
    mass = read_line(line, "uk").mass
    assert mass is not None and mass.mass_g == pytest.approx(grams, rel=0.001)


def test_a_tin_is_asked_and_a_pint_is_the_kitchens() -> None:
    asked = read_line("2 tins (400 g) tomatoes", "uk")
    assert asked.mass is None and "one of them or all together" in asked.notes[0]
    assert any("drained it is less" in each for each in read_line("1 tin chickpeas, drained", "uk").doubts)
    for line in (
        "400g tin chickpeas, drained",
        "1 tin (400 g) chickpeas, drained",
        "1 x 400 g tin kidney beans, rinsed",
    ):
        read = read_line(line, "uk")
        assert read.mass is not None and read.mass.mass_g == pytest.approx(240) and 15 < read.mass.sd_g < 30, line
        assert [each for each in read.doubts if "60 % of what stands on the tin" in each] == list(read.doubts)
    two, told = (
        read_line("2 tins (400 g each) chickpeas, drained"),
        read_line("1 can (240 g drained) chickpeas, drained"),
    )
    assert two.mass and two.mass.mass_g == pytest.approx(480) and told.mass and told.mass.mass_g == pytest.approx(240)
    milk = sl.Recipe.from_text("Sauce\n1 pint milk\n", "au").ingredients[0]
    assert float(milk.volume_ml) == pytest.approx(568.26125, abs=0.01)
    asked_pint = sl.Recipe.from_text("Sauce\n1 pint milk\n", "metric").ingredients[0]
    assert asked_pint.mass_g is None, "no metric pint: asked, never taken for another kitchen's"


def test_two_measures_scale_once_and_words_follow() -> None:
    def scaled(line: str, factor: float, system: str = "us") -> str:
        return sl.Recipe.from_text(f"Soup\n1 l water\n{line}\n", system).scaled(factor).ingredients[1].line

    assert scaled("50g/2oz butter", 0.5, "uk").count("oz") == 1
    assert scaled("pan juices, made up to 600ml with water", 2.0, "uk") == "1200 ml pan juices, made up with water"
    assert scaled("10 tbsp turkey broth", 3.0).startswith("1 3/4 cups") or scaled(
        "10 tbsp turkey broth", 3.0
    ).startswith("2 cups")
    assert scaled("2 cloves garlic", 0.5).startswith("1 clove ") and scaled("1 cup milk", 1.01).startswith("1 cup ")


def test_blank_lines_between_ingredients_are_not_the_method() -> None:
    text = "Soup\nServes 4\n\n1 l milk\n\n20 g cornflour\n2 leeks\n\n1. Boil."
    assert [len(each) for each in (sl.Recipe.from_text(text).ingredients, sl.Recipe.from_text(text).steps)] == [3, 1]
    text = "Soup\n1 l milk\n20 g cornflour\nMethod:\nBoil it."
    assert [len(each) for each in (sl.Recipe.from_text(text).ingredients, sl.Recipe.from_text(text).steps)] == [2, 1]
    text = "Soup\n\nIngredients\n\n1 l milk\n20 g cornflour\n\nMethod\n\nBoil it.\nServe it."
    assert [len(each) for each in (sl.Recipe.from_text(text).ingredients, sl.Recipe.from_text(text).steps)] == [2, 2]
    text = "Galette\n\nPastry:\n220g plain flour\n\nFilling:\n500g rhubarb\n\n1. Bake."
    assert [each.group for each in sl.Recipe.from_text(text).ingredients] == ["Pastry", "Filling"]
