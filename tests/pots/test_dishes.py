"""Dishes as people write them through the reading of lines, fates, liquid and dose: the fifteen beside the repository, and five of our own."""

from __future__ import annotations

import pytest

import spoonline as sl
from dishes import DISHES
from spoonline.pots import Batch
from spoonline.recipes import Recipe

# kinds, liquid [L] low and high, thickener [g] low and high: what a professional expects (judged by hand; README of the dishes)
EXPECTED = {
    "swede_and_celery_soup": ("blended", 0.93, 1.03, 3.5, 6),
    "pork_and_prune_pot_under_pressure": ("stew", 0.45, 0.62, 25, 25),
    "lamb_shoulder_braise": ("stew", 1.1, 1.65, 22, 27),
    "pan_gravy": ("poured", 0.6, 0.6, 20, 30),
    "fish_and_sweetcorn_chowder": ("stew", 1.0, 1.2, 0, 0),
    "red_lentil_dal": ("blended", 0.6, 0.75, 0, 0),
    "chicken_and_sausage_dark_roux": ("stew", 1.6, 1.8, 90, 98),
    "cheese_sauce": ("poured", 0.6, 0.6, 40, 40),
    "pastry_cream": ("custard", 0.5, 0.5, 40, 40),
    "warm_cherry_sauce": ("poured", 0.28, 0.41, 9, 16),
    "onion_gravy_two_starches": ("poured", 0.78, 0.85, 30, 30),
    "chilled_cucumber_yoghurt_soup": ("cold", 0.2, 0.2, 0, 0),
    "rhubarb_galette": ("dough", 0.0, 0.0, 7, 9),
    "tomato_soup_with_oats": ("blended", 0.98, 1.05, 0, 0),
    "carrot_soup": ("blended", 1.1, 1.1, 0, 0),
}
# Five more that the hall might cook; expectations by hand from the table of juices.
OURS = {
    """Beef shin and barley broth
Serves 8
1 kg beef shin, in chunks
300 g carrots, diced
1 large onion, chopped
100 g pearl barley
1.5 litres beef stock

1. Brown the beef in batches.
2. Add everything else, cover and simmer for 2 1/2 hours.""": ("stew", 1.55, 1.95, 0, 0),
    """Leek and potato soup
Serves 6
40 g butter
500 g leeks, sliced
500 g floury potatoes, diced
1 litre vegetable stock
200 ml whole milk

1. Sweat the leeks in the butter.
2. Add the potatoes and stock, simmer 20 minutes, blend half of the soup and stir in the milk.""": ("blended", 1.2, 1.28, 0, 0),
    """Chicken and leek pie
Serves 6
Pastry:
300 g plain flour
150 g butter
80 ml cold water
Filling:
800 g chicken thighs
200 g leeks, sliced
40 g plain flour
500 ml chicken stock

1. Rub the butter into the flour, bring together with the water and chill.
2. Poach the chicken in the stock for 30 minutes, stir in the flour and leeks.
3. Cover with the pastry and bake at 200 C for 35 minutes.""": ("stew", 0.65, 0.8, 40, 40),
    """Mushroom sauce
250 g mushrooms, sliced
30 g butter
400 ml whole milk
25 g plain flour

1. Fry the mushrooms in the butter.
2. Stir in the flour, then the milk, and simmer 5 minutes.""": ("poured", 0.42, 0.5, 25, 25),
    """Split pea soup
Serves 8
500 g split peas
2 litres ham stock
200 g carrots, diced
2 tbsp mustard

1. Simmer the split peas and carrots in the stock for 1 hour.
2. Puree until smooth.""": ("blended", 1.0, 1.3, 0, 0),
}  # fmt: skip


def holds(recipe: Recipe, expected: tuple[str, float, float, float, float]) -> None:
    kind, low, high, least, most = expected
    assert recipe.kind == kind
    assert low - 1e-3 <= recipe.liquid_l <= high + 1e-3, f"{recipe.liquid:.3g} L"
    assert least <= recipe.thickener_g <= most
    assert recipe.liquid.low <= recipe.liquid_l <= recipe.liquid.high and not recipe.too_much_thickener
    dose = recipe.dose_g_per_l
    assert dose == 0 if kind == "dough" or most == 0 else least / (high + 1e-3) <= dose <= most / low
    assert Recipe.from_text(recipe.text).fates == recipe.fates
    batch = Batch(title=recipe.title, version=1, cooked_on="2026-01-08")
    last = sl.pot_states(batch, recipe).iloc[-1]
    assert last["water_g"] > 0 or kind == "dough"
    assert (last["dose_g_per_l"] == pytest.approx(dose, rel=1e-6)) if kind != "dough" else recipe.liquid == (0, 0, 0)


@pytest.mark.parametrize("name", EXPECTED)
def test_the_fifteen_dishes(name: str) -> None:
    holds(Recipe.from_text(DISHES[name]), EXPECTED[name])


@pytest.mark.parametrize("text", OURS, ids=[text.splitlines()[0] for text in OURS])
def test_dishes_of_our_own(text: str) -> None:
    holds(Recipe.from_text(text), OURS[text])


def test_the_demo_s_dishes_are_dosed_as_a_cook_would(demo: sl.Logbook) -> None:
    """A clear soup or sauce 25 to 35 g of starch per litre, flour half as strong; a blended root soup a few grams, its base read first."""
    wanted = {"Roast parsnip and pear soup": ("poured", 25, 35), "Mushroom gravy": ("poured", 45, 65),
              "Celeriac and apple soup": ("blended", 3, 10), "Beef and carrot stew": ("stew", 22, 32)}  # fmt: skip
    for title, (kind, least, most) in wanted.items():
        recipe = demo.recipe(title)
        assert recipe.kind == kind and least <= recipe.dose_g_per_l <= most, title
    for batch in demo.all_batches("Celeriac and apple soup"):
        assert [each.stage for each in batch.readings] == ["before", "hot"]
        assert batch.readings[0].mean < batch.readings[1].mean
    stew = demo.recipe("Beef and carrot stew")
    for batch in demo.all_batches("Beef and carrot stew"):
        found = sl.pot_states(batch, demo.recipe(batch.title, batch.version))
        strained = found[found["moment"].str.startswith("strained")].iloc[0]
        assert strained["sauce_g"] == pytest.approx(float(batch.moments[0].mass_g or 0))
        dosed = float(batch.moments[2].mass_g or 0)
        assert stew.liquid.low <= dosed / found["dose_g_per_l"].iloc[-1] <= stew.liquid.high, "as was forecast"
