"""What becomes of a line: judged from item, preparation and method, overruled by the cook, kept with the version, one row a fate."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spoonline import facts
from spoonline.measures.errors import RecipeError
from spoonline.pots import Batch
from spoonline.pots.balance import states
from spoonline.recipes import Ingredient, Recipe
from spoonline.recipes.fates import FATES, Becomes
from tiers import drawn

LINES = [
    "500 g carrots, sliced",
    "1 onion",
    "300 g chicken thighs",
    "30 g butter",
    "1 l vegetable stock",
    "20 g cornflour",
    "60 g frozen peas",
]


def fates(*steps: str, lines: list[str] = LINES) -> dict[str, str]:
    recipe = Recipe(title="Soup", ingredients=lines, steps=steps)
    assert Recipe.from_text(recipe.text).fates == recipe.fates, "text reads back to the same fates"
    return {line.item: line.fate + (f" {line.fate_share}" if line.fate_share else "") for line in recipe.ingredients}


@pytest.mark.parametrize(
    ("steps", "carrots", "chicken", "peas"),
    [
        (["Simmer everything."], "whole", "whole", "whole"),
        (["Sweat the onion, add the carrots and stock.", "Blend.", "Stir in the peas."], "blended", "whole", "whole"),
        (["Simmer the carrots.", "Blend, stir in the peas and the cornflour."], "blended", "whole", "whole"),
        (["Simmer all.", "Blend half of the soup and return it."], "blended 0.5", "whole", "blended 0.5"),
        (["Simmer for half an hour, then blend until smooth."], "blended", "whole", "blended"),
        (["Blend the cornflour with a little of the stock, stir it in."], "whole", "whole", "whole"),
        (["Simmer the carrots. Pass through a sieve. Add the peas."], "blended", "whole", "whole"),
        (["Simmer. Blend everything."], "blended", "blended", "blended"),
        (["Simmer the carrots. Lift out the carrots. Blend the rest."], "whole", "whole", "blended"),
        (["Mash the carrots, add the stock and peas."], "blended", "whole", "whole"),
        (["Blend in the cornflour, whisk until smooth."], "whole", "whole", "whole"),
        (["Add the vegetables and stock.", "Puree the vegetables."], "blended", "whole", "blended"),
        ([], "blended", "whole", "blended"),
    ],
)  # fmt: skip
def test_the_method_says_what_is_blended(steps: list[str], carrots: str, chicken: str, peas: str) -> None:
    found = fates(*steps)
    assert (found["carrots"], found["chicken thighs"], found["frozen peas"]) == (carrots, chicken, peas)
    assert (found["butter"], found["vegetable stock"], found["cornflour"]) == ("melts", "pours", "thickens")


@pytest.mark.parametrize(
    ("line", "fate"),
    [
        ("500 g potatoes, half diced and half grated", "blended 0.5"),
        ("500 g potatoes, mashed", "blended"),
        ("500 g potatoes, in chunks", "whole"),
        ("300 g carrots, grated", "whole"),
        ("5 egg yolks", "melts"),
        ("40 g rolled oats", "melts"),
        ("250 g red lentils", "melts"),
        ("150 g cheddar, grated", "melts"),
        ("800 g carrots, sliced [blended]", "blended"),
        ("200 g hogget neck [meat]", "whole"),
    ],
)
def test_item_and_preparation_say_the_rest_and_the_cook_rules(line: str, fate: str) -> None:
    (found,) = (each for item, each in fates("Simmer.", lines=[line, "1 l water"]).items() if item != "water")
    assert found == fate


@pytest.mark.parametrize(("line", "said"), [
    ("500 g potatoes [thickens]", "cannot be [thickens]: only thickeners of the table thicken"),
    ("300 g plain flour [pours]", "cannot be [pours]: it is no liquid"),
    ("30 g butter [pours]", "cannot be [pours]"),
    ("3 heaped tbsp plain flour [thicken]", "'thicken' is no fate of a line; write one of pours, blended, whole, melts, thickens, dough."),
    ("500 g carrots [blend]", "'blend' is no fate of a line"),
    ("3 heaped tbsp plain flour [ thickens well ]", "'thickens well' is no fate of a line"),
    ("500 g carrots [whole] [blended]", "'carrots' is told two fates, [whole] and [blended]; leave one of them"),
])  # fmt: skip
def test_a_fate_that_cannot_be_is_refused_in_one_sentence(line: str, said: str) -> None:
    with pytest.raises(RecipeError) as caught:
        Recipe.from_text(f"Soup\n{line}\n1 l water")
    assert said in str(caught.value) and "\n" not in str(caught.value)


@pytest.mark.parametrize(("word", "told"), [
    ("[ thickens ]", "thickens"), ("[Thickens]", "thickens"), ("[thickens", "thickens"), ("[thickens] [thickens]", "thickens"),
    ("[from the mill]", ""), ("[optional]", ""),
])  # fmt: skip
def test_a_word_in_brackets_never_loses_the_thickener(word: str, told: str) -> None:
    soup = Recipe.from_text(f"Soup\n30 g plain flour {word}\n1 l water")
    assert soup.ingredients[0].item == "plain flour" and soup.ingredients[0].told == told
    assert soup.dose_g_per_l == pytest.approx(30) and Recipe.from_text(soup.text) == soup


def test_a_line_that_was_stored_with_a_slip_still_opens() -> None:
    kept = Recipe.from_text("Soup\n30 g plain flour\n1 l water").model_dump(mode="json")
    kept["ingredients"][0]["typed"] = "30 g plain flour [thicken]"
    assert "[thicken]" in Recipe.read(kept).text


CRUMBLE = """Apple crumble
Filling:
900 g cooking apples, sliced
60 g sugar
16 g cornflour
{liquid}
Topping:
250 g plain flour
150 g cold butter, cubed
120 g demerara sugar
60 g rolled oats

1. Toss the fruit with the sugar, lemon and cornflour.
2. Rub the butter into the flour, stir in the sugar and oats.
3. Scatter over the fruit and bake at 190 C for 40 minutes."""


def test_a_crumble_is_baked_and_what_little_is_under_it_is_not_dosed() -> None:
    headed = Recipe.from_text(CRUMBLE.format(liquid="juice of 1 lemon"))
    bare = Recipe.from_text(
        CRUMBLE.format(liquid="juice of 1 lemon").replace("Filling:\n", "").replace("Topping:\n", "")
    )
    for crumble in (headed, bare):
        assert crumble.kind == "dough" and crumble.dose_g_per_l == 0 and crumble.liquid == (0, 0, 0)
        of = {line.item: line.fate for line in crumble.ingredients}
        assert (of["rolled oats"], of["plain flour"], of["butter"], of["cooking apples"]) == (
            "dough",
            "dough",
            "dough",
            "whole",
        )
    sauce = Recipe.from_text(CRUMBLE.format(liquid="500 ml cider"))
    assert sauce.kind == "poured" and sauce.dose_g_per_l == pytest.approx(16 / sauce.liquid_l) and sauce.liquid_l > 0.5


def test_hard_boiled_eggs_stay_whole() -> None:
    for line in ("4 eggs, hard-boiled and quartered", "4 hard-boiled eggs", "4 eggs, hard boiled"):
        pie = Recipe(title="Pie", ingredients=[line, "600 ml milk", "40 g cornflour"], steps=["Simmer 5 minutes."])
        assert pie.ingredients[0].fate == "whole" and pie.kind == "poured", line
    assert fates("Simmer.", lines=["4 eggs, beaten", "1 l water"])["eggs"] == "melts"


@pytest.mark.parametrize(("last", "kind"), [
    ("Whisk in the yoghurt and serve cold.", "cold"), ("Chill overnight and serve.", "cold"), ("Serve well chilled.", "cold"),
    ("Serve ice cold with bread.", "cold"), ("Serve hot or cold.", "blended"), ("Serve with cold cream.", "blended"),
    ("Chill. Reheat gently to serve.", "blended"), ("Serve.", "blended"),
])  # fmt: skip
def test_what_is_served_cold_is_a_cold_dish_though_it_was_cooked(last: str, kind: str) -> None:
    lines = ["450 g frozen peas", "700 ml vegetable stock, cold", "200 g natural yoghurt"]
    soup = Recipe(title="Pea soup", ingredients=lines, steps=["Simmer for 3 minutes.", "Blend until smooth.", last])
    assert soup.kind == kind


def test_an_item_nobody_knows_that_is_cut_up_is_no_bone_dry_thing() -> None:
    for line, water in (
        ("1 kg oca roots, sliced", 900),
        ("1 kg pumpkin flesh (peeled weight), cubed", 916),
        ("1 kg hogget pork neck", 700),
    ):
        soup = Recipe(title="Soup", ingredients=[line, "1 l water"], steps=["Simmer 20 minutes."])
        first = states(Batch(title="Soup", version=1, cooked_on="2026-01-08"), soup)[0]
        assert first.of("water_in_solids") == pytest.approx(water, abs=1), line
    assert facts.read_line("1 kg pumpkin flesh (peeled weight), cubed").item == "pumpkin"
    assert not facts.read_line("1 kg pumpkin flesh (peeled weight), cubed").notes


def test_the_range_of_the_liquid_holds_what_cups_and_spoons_pour() -> None:
    def width(line: str) -> float:
        low, high = Recipe(title="x", ingredients=[line, "30 g cornflour"], steps=["Simmer."]).liquid[1:]
        return high - low

    assert width("4 cups stock") == pytest.approx(2 * 1.645 * 0.05 * 0.94635, rel=0.01)
    assert width("10 tbsp water") > 0 and width("juice of 4 lemons") > 0
    assert width("1 l stock") == width("1000 g stock") == width("500 ml milk") == 0


@pytest.mark.parametrize(
    ("liquid", "fate", "asks"), [(1000, "thickens", 0), (499, "thickens", 1), (251, "thickens", 1), (249, "dough", 0)]
)
def test_flour_is_dough_where_little_liquid_stands_beside_it(liquid: int, fate: str, asks: int) -> None:
    recipe = Recipe(
        title="x", ingredients=["100 g plain flour", f"{liquid} g whole milk", "20 g butter"], steps=["Cook."]
    )
    assert recipe.ingredients[0].fate == fate and len(recipe.questions) == asks
    assert recipe.kind == ("dough" if fate == "dough" else "poured")
    dose = recipe.dose_g_per_l
    assert (
        (dose == 0 and recipe.liquid == (0, 0, 0)) if fate == "dough" else dose == pytest.approx(100 / recipe.liquid_l)
    )


def test_what_a_cook_says_of_flour_holds_for_what_it_binds() -> None:
    lines = ["120 g plain flour{}", "300 ml whole milk", "2 eggs"]
    batter, sauce, asked = (
        Recipe(title="x", ingredients=[line.format(word) for line in lines], steps=["Fry."]) for word in (" [dough]", " [thickens]", "")
    )  # fmt: skip
    assert batter.kind == "dough" and {line.fate for line in batter.ingredients} == {"dough"} and not batter.questions
    assert sauce.thickener_g == 120 and not sauce.questions and len(asked.questions) == 1


def test_a_pie_is_a_stew_under_a_dough_and_each_heading_is_judged_by_itself() -> None:
    pie = Recipe.from_text(
        "Pie\nPastry:\n300 g plain flour\n150 g butter\n80 ml water\nFilling:\n1 kg beef chuck [meat]\n500 ml beer\n30 g plain flour\n\n"
        "1. Simmer the beef in the beer for 2 h.\n2. Cover with the pastry and bake."
    )
    assert [line.fate for line in pie.ingredients] == ["dough", "dough", "dough", "whole", "pours", "thickens"]
    assert pie.kind == "stew" and pie.thickeners_g == {"wheat flour": 30} and pie.poured_l == pytest.approx(0.5)


@pytest.mark.parametrize(("lines", "steps", "kind"), [
    (["1 l milk", "40 g cornflour"], ["Simmer."], "poured"),
    (["500 g carrots", "1 l stock"], ["Simmer, then blend."], "blended"),
    (["1 kg stewing beef [meat]", "500 ml stock"], ["Simmer 2 h."], "stew"),
    (["500 g leeks", "1 l stock", "60 g bacon"], ["Simmer, then blend. Scatter the bacon over."], "blended"),
    (["200 g red lentils", "1 l stock"], ["Simmer until they fall apart."], "blended"),
    (["500 ml milk", "5 egg yolks", "40 g cornflour"], ["Boil 1 minute."], "custard"),
    (["2 cucumbers", "200 ml water"], ["Blend everything until smooth and chill."], "cold"),
    (["220 g plain flour", "110 g butter", "60 ml water"], ["Roll out and bake."], "dough"),
])  # fmt: skip
def test_the_kind_of_dish_follows_from_the_fates(lines: list[str], steps: list[str], kind: str) -> None:
    assert Recipe(title="x", ingredients=lines, steps=steps).kind == kind


def test_liquid_is_poured_plus_juice_by_hand() -> None:
    stew = Recipe(
        title="Stew", ingredients=["1 kg pork shoulder", "300 g carrots", "150 ml water", "100 g long-grain rice", "25 g cornflour"],
        steps=["Simmer."],
    )  # fmt: skip
    pork, carrot, rice = (
        facts.juice("pork shoulder", "stewed"),
        facts.juice("carrot", "boiled"),
        facts.juice("long-grain rice", "boiled"),
    )
    assert pork and carrot and rice and rice.juice_g_per_g < 0
    best = 0.15 + pork.juice_g_per_g + 0.3 * carrot.juice_g_per_g + 0.1 * rice.juice_g_per_g
    assert stew.liquid.best == stew.liquid_l == pytest.approx(best, abs=1e-6) and stew.poured_l == pytest.approx(0.15)
    sd = (pork.sd**2 + (0.3 * carrot.sd) ** 2 + (0.1 * rice.sd) ** 2) ** 0.5
    assert stew.liquid.high - stew.liquid.low == pytest.approx(2 * 1.645 * sd, rel=0.01)
    browned = Recipe(title="Stew", ingredients=stew.ingredients, steps=["Brown the pork.", "Simmer."])
    assert browned.liquid_l == pytest.approx(best - 0.05, abs=1e-6), "browned meat loses some of it as steam"
    assert stew.dose_g_per_l == pytest.approx(25 / best) and stew.too_much_thickener == ""


def test_a_version_keeps_its_fates_and_an_older_one_is_judged_on_reading() -> None:
    soup = Recipe(
        title="Soup", ingredients=["600 g swede [whole]", "500 g carrots", "1 l stock"], steps=["Simmer, then blend."]
    )
    kept = soup.model_dump(mode="json")
    assert [(line["fate"], line["fate_from"]) for line in kept["ingredients"]] == [
        ("whole", "told"),
        ("blended", "judged"),
        ("pours", "judged"),
    ]
    assert Recipe.read(kept) == soup
    other = kept | {"ingredients": [line | {"fate": "whole"} for line in kept["ingredients"]]}
    assert all(line.fate == "whole" for line in Recipe.read(other).ingredients), "what was stored stands"
    new = ("fate", "fate_from", "fate_share", "juice_g_per_g", "juice_sd_g_per_g")
    older = kept | {
        "ingredients": [
            {name: value for name, value in line.items() if name not in new} for line in kept["ingredients"]
        ]
    }
    assert [line.fate for line in Recipe.read(older).ingredients] == ["blended", "blended", "pours"]


def test_a_further_fate_is_one_row(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(FATES, "infuses", Becomes("infuses", in_sauce=False, starch_freed=0.0))
    soup = Recipe.from_text("Broth\n200 g fennel [infuses]\n1 l water\n20 g cornflour\n\n1. Simmer, then blend.")
    assert soup.ingredients[0].fate == "infuses" and "[infuses]" in soup.text and Recipe.from_text(soup.text) == soup
    assert soup.liquid_l == pytest.approx(1.0) and soup.kind == "poured"
    last = states(Batch(title="Broth", version=1, cooked_on="2026-01-08"), soup)[-1]
    assert last.of("solids") == pytest.approx(200) and last.of("other_starch") == 0


@drawn(300, 30)
@given(masses=st.lists(st.integers(1, 2000), min_size=3, max_size=3), share=st.sampled_from([None, "blended", "whole"]))
def test_liquid_scales_with_the_recipe_and_lies_in_its_range(masses: list[int], share: str | None) -> None:
    told = f" [{share}]" if share else ""
    soup = Recipe(
        title="x",
        ingredients=[f"{masses[0]} g leeks{told}", f"{masses[1]} g water", f"{masses[2]} g mushrooms"],
        steps=["Simmer."],
    )
    best, low, high = soup.liquid
    assert 0 <= low <= best <= high and best >= soup.poured_l
    assert soup.scaled(2).liquid == pytest.approx((2 * best, 2 * low, 2 * high), rel=1e-4)
    assert Ingredient.fields_of("1 l whey [liquid] [whole]")["part"] == "liquid"
