"""What changed between versions: sizes and words are told from the dish."""

from __future__ import annotations

import difflib
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

import spoonline as sl
from dishes import DISHES
from spoonline.logbook import passing_demo
from spoonline.measures.errors import RecipeError
from spoonline.recipes import Ingredient, Recipe, Step, Target, changes, three_way
from spoonline.recipes.matching import match_steps, moved
from tiers import drawn

with passing_demo() as _book:
    DEMO = [version.recipe for title in _book.titles() for version in _book.all_versions(title)]

LINES = st.sampled_from(
    [
        "30 g butter",
        "2 tbsp olive oil",
        "a pinch of salt",
        "1 tsp paprika",
        "200 ml milk",
        "1 bay leaf",
        "5 g moonlight",
    ]
)
STEPS = st.sampled_from(
    ["Stir in the cream.", "Boil for 7 minutes.", "Rest at 60 C for 1 h.", "Skim.", "Puree in small batches."]
)


@st.composite
def edited(draw: st.DrawFn) -> tuple[Recipe, Recipe]:
    """A demo recipe and the same after one to six random edits."""
    old = draw(st.sampled_from(DEMO))
    lines, steps, more = list(old.ingredients), list(old.steps), {}
    for _ in range(draw(st.integers(1, 6))):
        what = draw(
            st.sampled_from(
                [
                    "mass",
                    "add",
                    "drop",
                    "swap",
                    "prepare",
                    "step",
                    "new step",
                    "drop step",
                    "turn",
                    "serve",
                    "aim",
                    "scale",
                ]
            )
        )
        if what == "mass" and lines:
            n = draw(st.integers(0, len(lines) - 1))
            if lines[n].mass_g is not None:
                grams = round(float(lines[n].mass_g or 0) * draw(st.floats(0.3, 3)), 1) + 0.5
                lines[n] = lines[n].reweighed(f"{grams:g} g", grams, 0.289)
        elif what == "add":
            lines.insert(draw(st.integers(0, len(lines))), Ingredient.model_validate(draw(LINES)))
        elif what == "drop" and len(lines) > 1:
            del lines[draw(st.integers(0, len(lines) - 1))]
        elif what == "swap" and len(lines) > 1:
            n = draw(st.integers(0, len(lines) - 2))
            lines[n : n + 2] = reversed(lines[n : n + 2])
        elif what == "prepare" and lines:
            n = draw(st.integers(0, len(lines) - 1))
            lines[n] = lines[n].model_copy(update={"preparation": draw(st.sampled_from(["", "chopped", "warm"]))})
        elif what == "step" and steps:
            n = draw(st.integers(0, len(steps) - 1))
            steps[n] = Step(
                text=steps[n].text + draw(st.sampled_from([" Stir.", " Wait 3 minutes.", " Keep at 80 C."]))
            )
        elif what == "new step":
            steps.insert(draw(st.integers(0, len(steps))), Step(text=draw(STEPS)))
        elif what == "drop step" and steps:
            del steps[draw(st.integers(0, len(steps) - 1))]
        elif what == "turn" and len(steps) > 1:
            steps.append(steps.pop(0))
        elif what == "serve":
            more["servings"] = draw(st.integers(1, 40))
        elif what == "aim":
            more["target"] = Target(viscosity_pa_s=f"{draw(st.floats(0.1, 9)):.2g}")
    if sum(float(line.mass_g or 0) for line in lines if line.part == "thickener") > 0.3 * sum(
        float(line.volume_ml or 0) for line in lines if line.part == "liquid"
    ):
        lines.append(Ingredient.model_validate("3 l water"))
    new = Recipe(**{**old.model_dump(), "ingredients": lines, "steps": steps, **more})
    return old, new.scaled(draw(st.sampled_from([1.0, 1.0, 1.5, 2.0, 0.333]))) if draw(st.booleans()) else new


@drawn(200)
@given(edited())
def test_where_nothing_is_reported_nothing_differs(pair: tuple[Recipe, Recipe]) -> None:
    old, new = pair
    for per in ("", "litre", "finished", "flour", "all"):
        found = changes(old, new, per)
        assert len(found.table) == len(found.rows)
        if not found.rows:
            # Nothing reported: nothing but rounding may differ.
            assert [step.text for step in old.steps] == [step.text for step in new.steps]
            assert [line.item for line in old.ingredients] == [line.item for line in new.ingredients]


@drawn(200)
@given(edited())
def test_every_difference_is_reported_whatever_it_is_compared_per(pair: tuple[Recipe, Recipe]) -> None:
    """What is in one recipe and not in the other stands in a row, counted line by line and step by step."""
    old, new = pair
    for per in ("", "litre", "finished", "flour", "all"):
        found = changes(old, new, per)
        told = " | ".join(f"{row.kind} {row.item} {row.old} {row.new}" for row in found.rows)
        for mine, other, word in ((old, new, "removed"), (new, old, "added")):
            # by what it is: "milk" that was "whole milk" is one food under two names
            gone = Counter(map(_food, mine.ingredients)) - Counter(map(_food, other.ingredients))
            names = {_food(line): line.item for line in mine.ingredients}
            for food, count in gone.items():
                # An item that turned into another is one row with both names, or one left out and one added.
                assert told.count(names[food]) >= count, (word, food, told)
        assert (Counter(map(_said, old.steps)) == Counter(map(_said, new.steps))) or any(
            row.kind in ("step", "time", "heat", "later") for row in found.rows
        ), told
        assert (old.servings == new.servings or found.factor != 1) or "servings" in told
        assert old.target == new.target or "target" in told


def _food(line: Ingredient) -> str:
    return line.fact_name or line.item


def _said(step: Step) -> str:
    return step.text


@drawn(60)
@given(st.sampled_from(DEMO), st.floats(0.1, 12).map(lambda value: float(f"{value:.4g}")))
def test_a_pure_rescaling_reports_nothing_else(recipe: Recipe, factor: float) -> None:
    found = changes(recipe, recipe.scaled(factor))
    assert [row.kind for row in found.rows] == (["scaled"] if abs(factor - 1) > 0.003 else [])


def soup(starch: str = "42 g corn starch", steps: str = "") -> Recipe:
    return Recipe.from_text(
        f"Soup\nServes 8\n1.5 l vegetable stock\n{starch}\n100 ml double cream\n8 g salt\n\n"
        + (steps or "Simmer for 15 minutes. Stir in the cream.\nPuree in small batches.\nBoil for 2 minutes at 100 C.")
    )


def test_one_sentence_that_a_cook_would_say() -> None:
    later = soup(
        "45.4 g corn starch",
        "Simmer for 10 minutes.\nPuree in small batches.\nBoil for 2 minutes at 100 C.\nStir in the cream.",
    )
    text = sl.changes(soup(), later).text
    assert "8 % more corn starch" in text and "double cream added after puree" in text and "15 min to 10 min" in text


def test_words_units_and_sizes_are_told_from_the_dish() -> None:
    assert changes(soup(), soup("42 g cornflour")).text == "No change in the dish, only in how it is written."
    assert [row.kind for row in changes(soup("8 g corn starch"), soup("0.008 kg corn starch")).rows] == ["words"]
    hotter = soup(
        steps="Simmer for 15 minutes. Stir in the cream.\nPuree in small batches.\nBoil for 2 minutes at 97 C."
    )
    assert [(row.kind, row.old, row.new) for row in changes(soup(), hotter).rows] == [("heat", "100 C", "97 C")]


def test_a_change_needs_twice_the_measuring_spread() -> None:
    """20 to 22 g on a 1 g scale: z 4.89; the same with spoons of 15 %: z 0.45 (computed)."""
    weighed = changes(soup("20 g corn starch"), soup("22 g corn starch")).rows[0]
    assert weighed.real and weighed.percent == pytest.approx(10, abs=0.01)
    rough = [
        soup().model_copy(
            update={
                "ingredients": tuple(
                    line.reweighed("2 tbsp", mass, 0.15 * mass) if line.part == "thickener" else line
                    for line in soup().ingredients
                )
            }
        )
        for mass in (20, 22)
    ]
    assert not changes(*rough).rows[0].real


def test_a_tenth_more_milk_is_a_change_and_a_spoon_that_becomes_grams_is_told() -> None:
    """One jug reads 1 L and 1.1 L; a heaped spoon of 16 g give or take 4 against 26 g on a scale (the reports of a cook)."""
    rice = "Rice pudding\nServes 4\n100 g pudding rice\n{} whole milk\n150 ml double cream"
    for more in ("1.1 litre", "1100 ml"):
        found = changes(Recipe.from_text(rice.format("1 litre")), Recipe.from_text(rice.format(more)))
        assert [(row.item, row.real) for row in found.rows] == [("whole milk", True)]
        assert found.text.startswith("10 % more whole milk (")
    spooned, weighed = (changes(soup("1 heaped tbsp cornflour"), soup(f"{grams} g cornflour")) for grams in (26, 17))
    assert spooned.text.startswith("62 % more cornflour (") and spooned.text.endswith(", within the measuring spread).")
    assert weighed.text == "No change in the dish beyond the measuring spread."


def test_bakers_percent() -> None:
    """Flour 640, salt 11.2, sugar 12.8, yeast 9.6, oil 19.2, water 371.2 -> 100, 1.75, 2, 1.5, 3, 58 (bakers' hand-out, read)."""
    parts = {"bread flour": 640, "salt": 11.2, "sugar": 12.8, "dried yeast": 9.6, "olive oil": 19.2, "water": 371.2}
    dough = Recipe(title="Dough", ingredients=[f"{grams} g {item}" for item, grams in parts.items()])
    empty = Recipe(title="Dough", ingredients=["640 g bread flour"])
    shown = {row.item: row.new for row in changes(empty, dough, "flour").rows}
    assert [shown[item] for item in list(parts)[1:]] == [
        "1.75 % of flour",
        "2.00 % of flour",
        "1.50 % of flour",
        "3.00 % of flour",
        "58.0 % of flour",
    ]


def test_difflib_is_the_one_of_its_docstrings() -> None:
    """Checks of the Python library's own docstrings: .75; apple, ape; .866."""
    assert difflib.SequenceMatcher(None, "abcd", "bcde").ratio() == 0.75
    assert difflib.get_close_matches("appel", ["ape", "apple", "peach", "puppy"]) == ["apple", "ape"]


@given(st.permutations(range(7)))
def test_what_moved_is_as_little_as_can_be(order: list[int]) -> None:
    taken = moved(list(enumerate(order)))
    stay = [n for n in order if n not in taken]
    assert stay == sorted(stay)
    longest = max(
        (sum(1 << k & mask != 0 for k in range(7)) for mask in range(128)
         if (run := [n for k, n in enumerate(order) if 1 << k & mask]) == sorted(run)),
    )  # fmt: skip
    assert len(stay) == longest


def test_steps_are_matched_before_they_are_compared() -> None:
    old = soup()
    new = soup(
        steps="Warm the plates.\nSimmer for 20 minutes. Stir in the cream.\nBoil for 2 minutes at 100 C.\nPuree in small batches."
    )
    assert match_steps(old, new)[:3] == [(0, 1), (1, 3), (2, 2)]
    kinds = [row.kind for row in changes(old, new).rows]
    assert kinds.count("moved") == 1 and "time" in kinds and kinds.count("step") == 1


def test_three_ways() -> None:
    first, second = (
        soup("45 g corn starch"),
        soup("48 g corn starch", "Simmer for 20 minutes. Stir in the cream.\nPuree in small batches."),
    )
    found = three_way(soup(), first, second)
    verdicts = {row[0]: row[4] for row in found.rows}
    assert verdicts["corn starch"] == "both differently" and verdicts["step 1"] == "only the second"
    assert {row[4] for row in three_way(soup(), first, first).rows} == {"both alike"}
    assert found.table["item"].iloc[0] == "corn starch"


def test_an_unknown_basis_gets_a_sentence() -> None:
    with pytest.raises(RecipeError, match="choose litre, finished or flour"):
        changes(soup(), soup(), "cup")  # type: ignore[arg-type]  # wrong on purpose


GALETTE = """Rhubarb galette
Serves 8
Pastry:
220 g plain flour
110 g butter
60 ml iced water
Filling:
500 g rhubarb
90 g caster sugar
8 g cornflour

1. Rub the butter into the flour, bring together with the water.
2. Toss the rhubarb with the sugar and cornflour, pile it on the pastry and bake at 200 C for 40 minutes."""
CARROT = "Carrot soup\nServes 6\n800 g carrots\n30 g butter\n1 l vegetable stock\n6 g salt\n\n1. Simmer, then blend."


@pytest.mark.parametrize(
    ("text", "was", "now", "per", "said"),
    [
        (GALETTE, "110 g butter", "120 g butter", "baker's percent", "9 % more butter (50.0 % of flour to 54.5 % of flour)."),
        (CARROT, "800 g", "900 g", "per 1000 g", "13 % more carrots (432.3 g/kg to 486.4 g/kg)."),
        (f"{CARROT} Whisk in the cornflour.".replace("6 g salt", "8 g cornflour"), "8 g", "10 g", "per litre",
         "25 % more cornflour (8.00 g/L to 10.0 g/L)."),
    ],
)  # fmt: skip
def test_the_kind_of_dish_chooses_what_amounts_are_compared_per(
    text: str, was: str, now: str, per: str, said: str
) -> None:
    old, new = Recipe.from_text(text), Recipe.from_text(text.replace(was, now))
    found = changes(old, new)
    assert per in found.basis and found.text == said
    assert (per == "per litre") == ("g/L" in found._repr_html_() or "litre" in found._repr_html_())
    assert (
        changes(old, new.scaled(1.5)).rows[0].kind == "scaled" and changes(old, old.scaled(1.5)).text == "Scaled x1.5."
    )
    assert changes(old, new, "all").basis == "per 1000 g of the old version", "what is chosen rules"


@pytest.mark.parametrize("name", ["rhubarb_galette", "red_lentil_dal", "chilled_cucumber_yoghurt_soup"])
def test_more_of_one_line_is_one_change(name: str) -> None:
    """A tenth more of the second line of a dish that nothing is dosed in: no other line, and no litre."""
    old = Recipe.from_text(DISHES[name], "uk")
    line = old.ingredients[1]
    more = float(line.mass_g or 0) * 1.1
    new = old.changed(ingredients=(old.ingredients[0], line.reweighed(f"{more} g", more, 0.5), *old.ingredients[2:]))
    found = changes(old, new)
    assert [(row.kind, row.item) for row in found.rows] == [("amount", line.item)]
    assert found.rows[0].percent == pytest.approx(10, abs=0.001) and "L" not in found.rows[0].old
