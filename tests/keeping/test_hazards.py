"""What can hurt: a line beside the step it belongs to and nowhere else, and steps that go against a limit."""

from __future__ import annotations

import csv
import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

import spoonline as sl
from spoonline import facts, keeping
from spoonline.card import CardNote
from spoonline.card.method import both_degrees
from spoonline.recipes import Habits

TABLE = tomllib.loads((files("spoonline.keeping") / "cautions.toml").read_text(encoding="utf-8"))
ROWS = {name: row for part in ("beside", "against") for name, row in TABLE[part].items()}
BOX = ("COOLING", "KEEPING", "REHEATING")
SAID = {text: name for name, row in TABLE["beside"].items() for text in (row["text"], *row.get("instead", {}).values())}


def cautions(recipe: sl.Recipe, note: str = "", whose: str = "us") -> list[list[str]]:
    """What stands beside each step on the card, and in its box."""
    steps, lines = [step.text for step in recipe.steps], [line.line for line in recipe.ingredients]
    return keeping.beside(steps, recipe.kind, whose, lines, f"{recipe.title}. {note}")


def beside(step: str, *lines: str, title: str = "Pot") -> set[str]:
    """Names of the rows whose line stands beside a step."""
    recipe = sl.Recipe(title=title, ingredients=list(lines), steps=[step])
    return {SAID[line] for line in cautions(recipe)[0]}


# Twenty steps with a hazard (what the dish has, what must stand there), then twenty that only sound like one.
HAZARDS = [
    ("Soak the beans overnight.", "250 g dried kidney beans", {"BEANS"}),
    ("Add the kidney beans and simmer for 1 hour.", "200 g kidney beans, soaked and drained", {"BEANS"}),
    ("Add the stock and simmer for 40 minutes.", "1 kg chicken thighs", {"POULTRY"}),
    ("Roast the duck legs for 90 minutes.", "4 duck legs", {"POULTRY"}),
    ("Brown the mince, then simmer it for 30 minutes.", "500 g beef mince", {"MINCE"}),
    ("Grill the sausages for 15 minutes.", "8 pork sausages", {"MINCE"}),
    ("Poach the haddock in the milk for 8 minutes.", "400 g haddock", {"FISH"}),
    ("Scrub the mussels and steam them for 5 minutes.", "1 kg mussels", {"SHELLFISH"}),
    ("Boil the rice for 12 minutes and drain it.", "300 g long-grain rice", {"RICE"}),
    ("Stir in the liaison off the boil.", "2 egg yolks", {"YOLK"}),
    ("Whisk the eggs into the warm milk and bake for 40 minutes.", "4 eggs", {"EGG"}),
    ("Simmer for 20 minutes and liquidise in batches.", "1 kg carrots", {"HOT_LIQUID"}),
    ("Simmer, stirring, until it is thick.", "1 l milk", {"SPITS"}),
    ("Whisk the slurry into the boiling stock.", "1 l beef stock", {"SLURRY"}),
    ("Lock the lid and cook at high pressure for 20 minutes.", "300 g red lentils", {"PRESSURE", "FOAMS"}),
    ("Melt the sugar to a dark caramel.", "200 g sugar", {"HOT_SUGAR"}),
    ("Deep-fry the fritters in batches.", "500 g parsnips", {"FRYING"}),
    ("Defrost the stock.", "1 l beef stock", {"THAWING"}),
    ("Keep the stew hot until it is served.", "1 kg stewing beef", {"HOLDING"}),
    ("Ladle into hot jars and seal them.", "2 kg plums", {"JARS"}),
]  # fmt: skip
BAIT = [
    ("Make the chilli and season it.", "2 red chillies"),
    ("Serve chilled, with a little chilli oil.", "1 l vegetable stock"),
    ("Cool the tart on a rack.", "220 g plain flour"),
    ("Caramelise the onions for 40 minutes.", "6 onions"),
    ("Cook the onions until the colour of caramel.", "6 onions"),
    ("Stir in the brown sugar and the vinegar.", "50 g brown sugar"),
    ("Blend the cornflour with a little cold water.", "20 g cornflour"),
    ("Stir in the tomato puree and cook for 2 minutes.", "50 g tomato puree"),
    ("Add the spice blend.", "10 g garam masala"),
    ("Add the tinned kidney beans and simmer for 10 minutes.", "1 x 400 g tin kidney beans"),
    ("Bring the chicken stock to the boil.", "1 l chicken stock"),
    ("Stir in the cooked chicken.", "300 g cooked chicken, shredded"),
    ("Fry the garlic gently.", "4 cloves garlic, minced"),
    ("Season with fish sauce and oyster sauce and simmer.", "20 ml fish sauce"),
    ("Slake the rice flour in the cold milk.", "20 g rice flour"),
    ("Brush the pastry with the egg.", "1 egg, beaten, to glaze"),
    ("Keep the plates warm.", "1 l beef stock"),
    ("Add a jar of passata.", "500 g passata"),
    ("Thin slices of leek go in last.", "1 leek"),
    ("Press with gentle pressure through a sieve.", "1 kg tomatoes"),
]


@pytest.mark.parametrize(("step", "line", "wanted"), HAZARDS)
def test_a_hazard_has_its_line(step: str, line: str, wanted: set[str]) -> None:
    assert beside(step, line) == wanted


@pytest.mark.parametrize(("step", "line"), BAIT)
def test_what_only_sounds_like_one_has_none(step: str, line: str) -> None:
    assert beside(step, line) == set()


# The same as other cooks write it: step, ingredient lines, rows.
with (Path(__file__).parent / "hazard_steps.csv").open(encoding="utf-8", newline="") as _file:
    MORE = [(row["step"], row["lines"], row["wanted"]) for row in csv.DictReader(_file)]


@pytest.mark.parametrize(("step", "lines", "wanted"), MORE)
def test_however_a_cook_writes_it(step: str, lines: str, wanted: str) -> None:
    read = [line for line in lines.split("; ") if line]
    assert {SAID[each] for each in keeping.beside([step], "stew", "us", read, "Pot")[0]} == set(wanted.split())


def test_there_are_forty_half_of_them_bait() -> None:
    assert len(HAZARDS) == len(BAIT) == 20
    assert {name for *_, names in HAZARDS for name in names} | {"LOOSENED", "VULNERABLE", "BROWNED", "PRAWNS"} == {
        name
        for name, row in TABLE["beside"].items()
        if "step" in row and name not in ("COOLING", "KEEPING", "REHEATING")
    }, "every row of the table is among them, or in a test of its own below"


# Steps of a cook that go against a limit, the row that says so; then steps beside them that do not.
BROKEN = [
    ("Cool on the counter overnight.", "OVERNIGHT"),
    ("Leave out overnight, covered.", "OVERNIGHT"),
    ("If it is not served at once, leave it to stand overnight.", "OVERNIGHT"),
    ("Cool at room temperature for 5 hours.", "STANDS_OUT"),
    ("Leave on the worktop for 180 minutes.", "STANDS_OUT"),
    ("Keep warm at 50 C.", "HELD_LOW"),
    ("Keep warm, covered, at 120 F.", "HELD_LOW"),
    ("Hold in the bain-marie at 55 C.", "HELD_LOW"),
    ("Thaw at room temperature.", "THAWED_OUT"),
    ("Defrost the chicken on the worktop.", "THAWED_OUT"),
    ("Leave on the counter to thaw.", "THAWED_OUT"),
    ("Reheat again for the second sitting.", "REHEATED_TWICE"),
    ("Reheat what is left a second time.", "REHEATED_TWICE"),
    ("Reheat gently to 60 C.", "REHEATED_LOW"),
    ("Reheat in the slow cooker.", "REHEATED_IN_A_WARMER"),
    ("Roast the chicken until it reads 65 C.", "POULTRY_LOW"),
    ("Fry the burgers until the middle is 60 C.", "MINCE_LOW"),
    ("Cook the chicken until just pink inside.", "PINK"),
    ("Grill the burgers and serve them rare.", "PINK"),
    ("Fill the jars, seal them and keep them in the cupboard for a year.", "STORED_WARM"),
    ("Cover the garlic with oil and keep it at room temperature.", "STORED_WARM"),
    ("Heat the custard to 65 C.", "EGG_LOW"),
    ("Put the dried kidney beans in the slow cooker for 8 hours.", "RAW_BEANS"),
]
KEPT_TO = [
    "Cool on the counter for 1 hour, then chill in the fridge overnight.",
    "Cool and refrigerate overnight.",
    "Leave the beans to soak overnight.",
    "Never leave it out overnight.",
    "Leave on the counter for 30 minutes.",
    "Leave the dough on the worktop for 3 hours.",
    "Keep warm at 65 C.",
    "Keep at 4 C.",
    "Keep cold at 3 C.",
    "Thaw overnight in the fridge.",
    "Do not thaw at room temperature.",
    "Thaw the puff pastry at room temperature.",
    "Reheat, taste again and season.",
    "Never reheat twice.",
    "Reheat to 75 C.",
    "Reheat to 74 C, then hold it in the bain-marie at 65 C.",
    "Roast the chicken at 200 C until it reads 76 C.",
    "Cool the chicken to 5 C.",
    "Heat the custard to 80 C.",
    "Cook the chicken until it is no longer pink.",
    "Fry the sausages until nothing is pink inside.",
    "Serve the burgers with pink pickled onions.",
    "Cook the prawns and the chicken until the prawns are just pink.",
    "Serve the duck with pink rhubarb.",
    "Keep the jar of pickles in the cupboard.",
    "Leave the bread in the pan until morning.",
    "Cool the stew and put the pan in the fridge until morning.",
    "Fill the jars and keep them in the fridge for a week.",
    "Take the jar of stock from the shelf.",
    "Reheat to 165 F.",
    "Roast the chicken until it reads 165 F.",
    "Hold hot at 135 F.",
    "Boil the dried kidney beans hard for 10 minutes, then cook them in the slow cooker for 6 hours.",
]


# The same as other cooks write it.
ALSO_BROKEN = [
    "Let the pot cool overnight on the stove.",
    "Cover and leave on the side overnight.",
    "Leave overnight at room temperature before straining.",
    "Turn off the heat and leave the stew in the pot overnight.",
    "Take off the heat, cover and leave to stand till morning.",
    "Set aside at room temperature for 4 hours.",
    "Leave the soup out for 3 hours to cool.",
    "Keep the soup warm in a low oven at 50C until guests arrive.",
    "Hold at 50 °C for up to 2 hours.",
    "Keep warm (50 C) until needed.",
    "Keep hot at 55 to 56 C.",
    "Defrost the chicken at room temp overnight.",
    "Let the frozen mince thaw on the kitchen counter.",
    "Thaw the fish in warm water.",
    "Leave the turkey out to defrost for 6 hours.",
    "Reheat any leftovers again the next day.",
    "It can be reheated twice.",
    "Reheat as often as needed.",
    "Warm through to 60 C and serve.",
    "Reheat in the bain marie for an hour.",
    "Cook the chicken breast to a core of 62 C.",
    "Poach the chicken at 60 C for 1 hour.",
    "The turkey is done when the core reaches 68 C.",
    "Cook the sausages until the centre reads 63 C.",
    "Cook the custard, stirring, until it reaches 68 C.",
    "Keep in the warming drawer at 50 C.",
    "Leave the pan out on the side till tomorrow.",
    "Leave the rest to cool in the pan and reheat it the next day.",
    "Fry the beef burgers until just pink inside.",
    "Defrost the prawns on the draining board.",
    "Warm up the leftovers again next day, as often as you like.",
    "Heat it through in the bain-marie for 3 hours.",
    "Cook the chicken until firm, about 60 C.",
    "Hold at 50 degrees Celsius.",
    "Hold hot at 120 Fahrenheit.",
    "Hold hot at 134 F.",
    "Reheat to 164 F.",
]
ALSO_KEPT_TO = [
    "Leave overnight in a cool place to soak.",
    "Cover and leave overnight in the fridge.",
    "Chill overnight.",
    "Marinate the chicken overnight in the fridge.",
    "Leave the bread dough out overnight to prove.",
    "Bring the butter to room temperature for 2 hours.",
    "Take the cheese out of the fridge 1 hour before serving.",
    "Take the meat out 30 minutes before cooking.",
    "Cook in a low oven overnight at 110 C.",
    "Keep in the fridge at 4 C for up to 3 days.",
    "Hold the sauce at 65 C.",
    "Keep the oil at 180 C.",
    "Keep the oven at 120 C.",
    "Keep at a gentle simmer at 90 C.",
    "Reheat to 80 C once only.",
    "Reheat in the oven at 160 C for 20 minutes.",
    "Roast the chicken for 1 hour at 190 C, then rest 15 minutes.",
    "Heat the milk to 60 C.",
    "Warm the stock to 50 C and whisk in the starch.",
    "Read the thickness at 60 C.",
    "Serve the chicken stew at 60 C.",
    "Serve at 55 C.",
    "Let the sauce cool to 60 C and read it.",
    "Cool the custard to 20 C.",
    "Thaw the peas in the hot soup.",
    "Do not leave at room temperature for more than 2 hours.",
    "Stir again, then reheat to 75 C.",
    "Soak the beans for 8 hours on the counter.",
    "Leave the yoghurt at room temperature for 8 hours to set.",
    "Let the roast rest out of the oven for 30 minutes.",
    "Cook the chicken stew, sieve the sauce and read it at 60 C.",
    "Add the egg to the dough and prove at 30 C.",
]


def broken(step: str, whose: str = "us", *lines: str) -> set[str]:
    found = keeping.against_limits(sl.Recipe(title="Pot", ingredients=list(lines), steps=["Simmer.", step]), whose)
    assert all(number == 2 for number, _ in found)
    return {name for _, name in found}


@pytest.mark.parametrize(("step", "name"), BROKEN)
def test_a_step_against_a_limit_is_found(step: str, name: str) -> None:
    assert broken(step) == {name}


@pytest.mark.parametrize("step", ALSO_BROKEN)
def test_it_is_found_however_a_cook_writes_it(step: str) -> None:
    assert broken(step)


@pytest.mark.parametrize("step", [*KEPT_TO, *ALSO_KEPT_TO])
def test_a_step_that_keeps_to_it_is_let_pass(step: str) -> None:
    assert broken(step) == set()


@pytest.mark.parametrize(
    ("whose", "said"), [("england", "852/2004"), ("scotland", "852/2004"), ("eu", "France"), ("australia", "Australia")]
)
def test_a_custard_is_cooled_by_the_limits_of_its_kitchen(whose: str, said: str) -> None:
    line = keeping.cautions.caution("COOLING", "custard", whose)
    assert said in line.partition("US model")[0] and "covered on the surface" in line and "US model Food Code" in line


def test_every_limit_has_a_step_against_it() -> None:
    assert {name for _, name in BROKEN} == set(TABLE["against"])


# Figures and where they stand. Read: Food Code 3-501.16 in WAC 246-215-03525 (57 C); Food Hygiene (Wales) Regulations 2006/31 sch. 4
# para. 6 and SSI 2006/3 sch. 4 (63 C); Food Safety Information Council, Australia (60 C); Food Code 3-401.11 in S.D. Admin. R.
# 44:02:07:28 (poultry 74 C, fish 63 C); foodsafety.gov chart of 2019 in a copy (mince and egg dishes 160 F = 71 C); University of
# Nottingham (70 C for 2 min); FSANZ as given by Kwinana (75 C); Food Code 3-403.11 in COMAR 10.15.03.11 (74 C); SSI 2006/3 sch. 4 (82 C);
# Logan City Council (60 C); Illinois Extension (2 h).
@pytest.mark.parametrize(
    ("step", "whose", "first_met", "said"),
    [
        ("Keep warm at {} C.", "us", 57, "US"), ("Keep warm at {} C.", "england", 63, "UK"), ("Keep warm at {} C.", "scotland", 63, "UK"),
        ("Keep warm at {} C.", "australia", 60, "Australia"), ("Keep warm at {} C.", "eu", 63, "France"),
        ("Reheat to {} C.", "us", 74, "US"), ("Reheat to {} C.", "england", 70, "UK"), ("Reheat to {} C.", "scotland", 82, "Scotland"),
        ("Reheat to {} C.", "australia", 60, "Australia"), ("Reheat to {} C.", "eu", 63, "France"),
        ("Roast the chicken until it reads {} C.", "us", 74, "US"), ("Roast the chicken until it reads {} C.", "england", 70, "UK"),
        ("Roast the chicken until it reads {} C.", "australia", 75, "Australia"),
        ("Fry the burgers until the middle is {} C.", "us", 71, "US"),
        ("Fry the burgers until the middle is {} C.", "australia", 75, "Australia"),
        ("Heat the custard to {} C.", "us", 71, "US"), ("Heat the custard to {} C.", "scotland", 70, "UK"),
    ],
)  # fmt: skip
def test_a_limit_is_met_exactly_and_missed_by_a_degree(step: str, whose: str, first_met: int, said: str) -> None:
    assert broken(step.format(first_met), whose) == set()
    (limit,) = keeping.against_limits(sl.Recipe(title="Pot", steps=[step.format(first_met - 1)]), whose).values()
    assert f"{first_met} C" in limit and said in limit, "the limit, and whose it is"


def test_where_an_authority_has_no_figure_the_strictest_of_all_counts() -> None:
    assert broken("Roast the chicken until it reads 74 C.", "eu") == {"POULTRY_LOW"}, "75 C, Australia"
    assert broken("Roast the chicken until it reads 75 C.", "eu") == set()


@pytest.mark.parametrize(
    ("hours", "found"), [("2 hours", set()), ("120 minutes", set()), ("2.5 hours", {"STANDS_OUT"})]
)
def test_two_hours_is_the_most_that_food_stands_out(hours: str, found: set[str]) -> None:
    """Read: University of Illinois Extension, 2 h."""
    assert broken(f"Let it cool on the counter for {hours}.") == found


def test_each_row_says_where_it_stands_and_each_sentence_one_thing() -> None:
    for name, row in ROWS.items():
        assert row["kind"] in ("read", "memory", "common practice"), name
        if row["kind"] == "read":
            assert row["source"] and row["jurisdiction"], name
        for text in (row["text"], *row.get("instead", {}).values()):
            assert len(text) <= (380 if name in BOX else 240) and "\n" not in text, name
            assert not re.search(r"\bsafe\b|free from", text, re.IGNORECASE), name
            printed = both_degrees(text)
            assert not re.search(r"(\d+ C \(\d+ F\)),? \1|\)\)\)", printed), f"{name}: a figure printed twice"
            if name in TABLE["against"]:
                assert "(" in text and not text.endswith("."), f"{name}: the limit, and whose it is"


AUTHORITIES = {
    "us": ("US",), "england": ("England", "UK"), "scotland": ("Scotland", "England", "UK"), "eu": ("France",), "australia": ("Australia",),
}  # fmt: skip


def limit_of(name: str, whose: str) -> float:
    """A limit of the table of limits, by the first authority that has one; else the strictest of all."""
    rows = [row for row in facts.rows.limits().values() if row.name.startswith(name) and row.unit in "Ch"]
    rows = [row for row in rows if row.unit == rows[0].unit]
    for own in AUTHORITIES[whose]:
        if values := [row.value for row in rows if row.jurisdiction.startswith(own)]:
            return min(values)
    return max(row.value for row in rows)


def test_the_figures_that_decide_are_those_of_the_table_of_limits() -> None:
    decided = [row for row in TABLE["against"].values() if "limit" in row]
    assert len(decided) == 6
    for row in decided:
        if "above_h" in row:
            assert row["above_h"] == limit_of(row["limit"], "us") == 2
        else:
            assert row["below_c"] == {whose: limit_of(row["limit"], whose) for whose in AUTHORITIES}, row["limit"]


def test_the_figures_of_the_lines_are_those_of_the_table_of_limits() -> None:
    for name, limit in {"HOLDING": "hot holding", "POULTRY": "cooking poultry", "MINCE": "cooking mince"}.items():
        for whose, said in (("us", "US"), ("england", "UK"), ("australia", "Australia")):
            text = ROWS[name]["instead"].get(whose, ROWS[name]["text"])
            assert f"{limit_of(limit, whose):g} C" in text and said in text, (name, whose)
    assert f"{facts.limit('thawing').value:g} C" in ROWS["THAWING"]["text"]
    assert f"{facts.limit('thawing in running water').value:g} C" in ROWS["THAWING"]["text"]
    assert f"{facts.limit('cooking fish').value:g} C" in ROWS["FISH"]["text"]
    for floor in (facts.limit("cooking eggs").value, facts.limit("yolk liaison").value):
        assert f"{floor:g} C" in ROWS["YOLK"]["text"], "a floor and a ceiling"


# Twelve dishes: the step (from 1) beside which each line stands.
DISHES = {
    "Bean pot": (
        ["300 g dried kidney beans", "1 onion", "1 l water"],
        ["Soak the beans for 8 hours and drain them.", "Boil hard for 10 minutes in fresh water.", "Simmer for 1 hour with the onion."],
        {1: {"BEANS"}},
    ),
    "Hen pot": (
        ["1.5 kg chicken pieces", "2 leeks", "1 l chicken stock"],
        ["Soften the leeks in a pan.", "Brown the pieces on all sides.", "Add the stock and simmer for 45 minutes."],
        {3: {"POULTRY"}},
    ),
    "Cold custard": (
        ["500 ml whole milk", "5 egg yolks", "100 g caster sugar", "40 g cornflour"],
        ["Heat the milk.", "Whisk the yolks, sugar and cornflour, pour on the milk and boil for 1 minute.", "Chill."],
        {2: {"YOLK"}, 3: {"COOLING"}},
    ),
    "Spiced rice": (
        ["400 g long-grain rice", "2 onions", "800 ml water"],
        ["Fry the onions until golden.", "Add the rice and water, cover and simmer for 12 minutes."],
        {2: {"RICE"}},
    ),
    "Mussels with cider": (
        ["2 kg mussels", "300 ml dry cider", "2 shallots"],
        ["Sweat the shallots.", "Scrub the mussels.", "Add the mussels and cider and steam for 5 minutes.", "Serve at once."],
        {2: {"SHELLFISH"}},
    ),
    "Fish stew": (
        ["600 g cod", "500 g potatoes", "1 l fish stock"],
        ["Simmer the potatoes in the stock for 15 minutes.", "Add the cod and poach for 6 minutes."],
        {2: {"FISH"}},
    ),
    "Mince and carrots": (
        ["1 kg minced beef", "4 carrots", "500 ml beef stock"],
        ["Sweat the carrots.", "Brown the mince.", "Add the stock and simmer for 40 minutes. Keep hot until lunch."],
        {3: {"MINCE", "HOLDING"}},
    ),
    "Frozen turkey broth": (
        ["1 kg turkey thighs, frozen", "2 l water"],
        ["Thaw the turkey in the fridge overnight.", "Simmer for 90 minutes.", "Freeze what is not eaten today."],
        {1: {"THAWING"}, 2: {"POULTRY"}, 3: {"KEEPING"}},
    ),
    "Soup for the care home": (
        ["1 kg carrots", "1 l vegetable stock"],
        ["Simmer the carrots in the stock for 25 minutes.", "Puree until smooth."],
        {1: {"VULNERABLE"}, 2: {"HOT_LIQUID"}},
    ),
    "Parsnip fritters": (
        ["500 g parsnips", "150 g plain flour", "2 eggs"],
        ["Grate the parsnips and stir in the flour and eggs.", "Deep-fry at 175 C for 4 minutes."],
        {1: {"EGG"}, 2: {"FRYING"}},
    ),
    "Pea soup under pressure": (
        ["500 g split peas", "1.5 l water", "1 onion"],
        ["Soften the onion.", "Add the peas and water and cook at high pressure for 15 minutes.", "Reheat, loosen with water and serve."],
        {2: {"PRESSURE", "FOAMS"}, 3: {"LOOSENED", "REHEATING"}},
    ),
    "Plum sauce in jars": (
        ["2 kg plums", "200 g sugar"],
        ["Simmer the plums with the sugar until thick.", "Ladle into hot jars and seal."],
        {1: {"SPITS"}, 2: {"JARS"}},
    ),
}  # fmt: skip


@pytest.mark.parametrize("title", DISHES)
def test_a_card_has_the_right_line_beside_the_right_step(title: str) -> None:
    lines, steps, wanted = DISHES[title]
    recipe = sl.Recipe(title=title, ingredients=lines, steps=steps, servings=20)
    found = {number: {SAID[each] for each in care} for number, care in enumerate(cautions(recipe), 1) if care}
    assert found == wanted
    card = sl.RecipeCard(recipe)
    method = card.text().partition("METHOD")[2].splitlines()
    box = {"COOLING", "KEEPING", "REHEATING"}
    for number, step in enumerate(steps, start=1):
        at = next(place for place, line in enumerate(method) if line.startswith(f"{number}. "))
        below = method[at + 1] if at + 1 < len(method) else ""
        named = wanted.get(number, set()) - box
        assert below.startswith("   Take care: ") == bool(named), step
        for name in named:
            assert ROWS[name]["text"][:25] in below
    kept = bool(box & set().union(*wanted.values()))
    assert ("MADE AHEAD" in card.text()) and (ROWS["KEEPING"]["text"][:30] in card.text()) == kept
    for text in (card.text(), card.markdown(), card.html().partition("<body>")[2]):
        assert len(re.findall(r"[Ll]ocal food code", text)) == 1, "the local code is named once a page"
    assert not [point for point in card.content.points if point.key.startswith("limit:")]


def test_every_dish_says_a_hazard_and_all_of_the_twelve_are_there() -> None:
    assert len(DISHES) == 12 and all(wanted for *_, wanted in DISHES.values())


def test_the_gate_says_which_limit_and_whose() -> None:
    recipe = sl.Recipe(
        title="Stew", ingredients=["1 l water"], steps=["Boil the water.", "Cool on the counter overnight."]
    )
    (point,) = [each for each in sl.RecipeCard(recipe).content.points if each.key.startswith("limit:")]
    assert point.key == "limit:2:OVERNIGHT" and point.mend_by == "write"
    assert point.text.startswith("Step 2 goes against a limit: ") and "57 to 21 C within 2 h" in point.text
    assert "US model Food Code 3-501.14" in point.text and point.text.count(". ") == 0, "one sentence"


@pytest.mark.parametrize(
    ("steps", "ahead", "boxed", "point"),
    [
        (["Boil the water."], None, False, False),
        (["Boil the water.", "Chill."], None, True, False),
        (["Boil the water.", "Chill."], False, False, True),
        (["Boil the water."], True, True, False),
        (["Boil the water.", "Serve chilled with chilli."], None, False, False),
        (["Bake the water.", "Cool the tart on a rack."], None, False, False),
    ],
)
def test_the_box_is_for_dishes_that_are_kept(steps: list[str], ahead: bool | None, boxed: bool, point: bool) -> None:
    recipe = sl.Recipe(title="Soup", ingredients=["1 l water"], steps=steps)
    card = sl.RecipeCard(recipe, note=CardNote(title="Soup", made_ahead=ahead))
    assert ("ice bath" in card.text()) == boxed
    assert ("cooling" in {each.key for each in card.content.points}) == point


def test_a_dish_that_was_read_chilled_or_reheated_is_kept(demo: sl.Logbook) -> None:
    boxes = {title: bool(sl.RecipeCard.from_logbook(demo, title).content.cautions) for title in demo.titles()}
    assert boxes["Roast parsnip and pear soup"] and boxes["Blackcurrant sauce"] and not boxes["Mushroom gravy"]


def test_one_authority_stands_first_and_the_others_beside_it() -> None:
    recipe = sl.Recipe(title="Pot", ingredients=["1 kg chicken"], steps=["Simmer the chicken. Keep it hot."])
    for whose, poultry, hold in (
        ("us", "74 C", "57 C"),
        ("england", "70 C", "63 C"),
        ("scotland", "70 C", "63 C"),
        ("australia", "75 C", "60 C"),
    ):
        first, second = sorted(cautions(recipe, whose=whose)[0], reverse=True)
        for text, figure in ((first, poultry), (second, hold)):
            assert re.search(r"\d+ C", text)[0] == figure, whose
            assert all(each in text for each in ("US", "UK", "Australia"))


def test_who_eats_may_stand_in_the_note_or_a_step() -> None:
    plain = {"ingredients": ["1 l water"], "steps": ["Boil the water.", "Serve."]}
    for title, note, step in (("Soup for the nursery", "", 0), ("Soup", "For the care home on Tuesdays.", 0)):
        found = cautions(sl.Recipe(title=title, **plain), note)
        assert ROWS["VULNERABLE"]["text"] in found[step]
    recipe = sl.Recipe(title="Soup", ingredients=["1 l water"], steps=["Boil the water.", "Carry it to the hospital."])
    assert cautions(recipe)[1] == [ROWS["VULNERABLE"]["text"]]
    assert not any(cautions(sl.Recipe(title="Baby carrot soup", **plain)))


def test_the_card_and_its_gate_follow_the_kitchens_habit() -> None:
    recipe = sl.Recipe(
        title="Pot", ingredients=["1 kg chicken"], steps=["Simmer the chicken.", "Keep it warm at 60 C.", "Chill."]
    )
    for whose, said, points in (("us", "57 C", 0), ("england", "63 C", 1), ("australia", "60 C", 0)):
        card = sl.RecipeCard(recipe, habits=Habits(jurisdiction=whose))
        (hold,) = card.content.method[1].care
        assert re.search(r"\d+ C", hold)[0] == said
        assert len([each for each in card.content.points if each.key.startswith("limit:")]) == points
        assert ("852/2004" in card.text()) == (whose == "england"), "the box follows too"


def test_other_rows_that_the_forty_leave_out() -> None:
    assert beside("Boil the gravy. Reheat it, loosen it with stock and serve.") == {"LOOSENED", "REHEATING"}
    assert beside("Loosen the dough from the tin.") == set()
    assert beside("Cook the flour in the oil until dark brown.", "100 g plain flour") == {"BROWNED"}
    assert beside("Fry the prawns for 2 minutes.", "500 g raw prawns") == {"PRAWNS"}
    assert beside("Fry the onions with the prawn crackers.", "50 g prawn crackers") == set()


@pytest.mark.parametrize(("degrees", "points"), [("65 to 75", 1), ("74 to 80", 0)])
def test_of_a_range_the_lower_end_is_held_against_the_limit(degrees: str, points: int) -> None:
    step = f"Cook the chicken to a core of {degrees} C."
    recipe = sl.Recipe(title="Chicken pot", ingredients=["1 kg chicken thighs"], steps=[step])
    assert len(keeping.against_limits(recipe, "us")) == points
