"""Whatever comes to a public function, it answers or says in one sentence what came and what is wanted: no error of Python's own."""

import inspect
import math
import pickle
import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import spoonline as sl
from spoonline.logbook import passing_demo
from spoonline.measures import takes_quantities
from spoonline.tasters import Sample

SOUP = "Roast parsnip and pear soup"
TEXT = "White soup\nServes 4\n\n1 L vegetable stock\n200 g single cream\n30 g corn starch\n\n1. Simmer 10 minutes."
BAD = [
    None, "abc", "", 0, -1, 0.5, 1e-7, 1e12, 1e-300, 1e300, math.nan, math.inf, 10**400, True, [], ["abc"], [None], [1.0, -1.0],
    [[1.0]], ("abc", 3), {}, {"abc": None}, b"abc", object(), date(2026, 1, 22), sl.units("3 degC"), sl.units("3 s"),
]  # fmt: skip


@pytest.fixture(scope="module")
def book() -> Iterator[Any]:
    with passing_demo() as held:
        yield held


def calls(book: Any) -> dict[str, tuple[Callable[..., Any], dict[str, Any]]]:
    """Public entry points, each with what it takes when all is well."""
    import pandas as pd

    recipe = sl.Recipe.from_text(TEXT)
    spatula, ring = sl.Spatula(8, 10, 10), sl.Ring(3.5, 2, 30)
    fluid = sl.Fluid(5.0, 0.5)
    curve = sl.DoseCurve.fit([20, 30, 40], [0.12, 0.40, 0.90])
    frame = pd.DataFrame({"dose": [1.0, 2, 3, 4, 5, 6], "spread": [7.0, 6.5, 6.1, 5.5, 5.2, 4.6]})
    found = sl.effect(frame, "dose", "spread")
    reading = {
        "tool": "spatula",
        "settings": {"length_cm": 8, "width_cm": 10, "seconds": 10},
        "values": [1.9],
        "temperature_c": 60,
    }
    batch = {
        "title": "White soup",
        "version": 1,
        "cooked_on": "2026-01-22",
        "readings": [sl.Reading(**reading)],
        "minutes": 30,
    }
    pot = sl.Batch(**batch)
    pan = sl.Pan(name="28 cm pot", diameter_cm=28, depth_cm=18, tare_g=2150)
    session = {
        "title": SOUP,
        "test": "pair",
        "samples": [Sample(label="a", version=3), Sample(label="b", version=5)],
        "tasters": 12,
    }
    return {
        "parse_amount": (sl.parse_amount, {"text": "2 tbsp", "system": "us"}),
        "grams": (sl.grams, {"amount": "2 tbsp", "item": "corn starch", "system": "us", "size": ""}),
        "household": (sl.household, {"mass_g": 12.0, "item": "corn starch", "system": "us"}),
        "Fluid": (
            sl.Fluid,
            {"consistency_pa_sn": 5.0, "flow_index": 0.5, "density_kg_m3": 1050.0, "yield_stress_pa": 0.0},
        ),
        "Fluid.viscosity": (fluid.viscosity, {"shear_rate_per_s": 50.0}),
        "Fluid.shear_rate": (fluid.shear_rate, {"stress_pa": 5.0}),
        "Ring": (sl.Ring, {"radius_cm": 3.5, "height_cm": 2.0, "seconds": 30}),
        "Spatula": (sl.Spatula, {"length_cm": 8, "width_cm": 10, "seconds": 10}),
        "FlowCup": (
            sl.FlowCup,
            {name: getattr(sl.FlowCup(), name) for name in inspect.signature(sl.FlowCup).parameters},
        ),
        "Trough": (sl.Trough, {name: getattr(sl.Trough(), name) for name in inspect.signature(sl.Trough).parameters}),
        "Syringe": (
            sl.Syringe,
            {name: getattr(sl.Syringe(), name) for name in inspect.signature(sl.Syringe).parameters},
        ),
        "Slump": (sl.Slump, {"radius_cm": 3.5, "height_cm": 5.0}),
        "Ring.fluid": (ring.fluid, {"reading": 6.8, "flow_index": 0.5, "density_kg_m3": 1050.0}),
        "Spatula.fluid": (spatula.fluid, {"reading": 1.7, "flow_index": 0.5, "density_kg_m3": 1050.0}),
        "Spatula.reading": (spatula.reading, {"fluid": fluid}),
        "Spatula.flags": (spatula.flags, {"reading": 1.7}),
        "Spatula.interval": (spatula.interval, {"reading": 1.7, "reading_sd": 0.1, "flow_index": 0.5}),
        "Slump.yield": (sl.Slump(3.5, 5.0).yield_stress_pa, {"reading": 7.0, "density_kg_m3": 1050.0}),
        "fluid_from": (
            sl.fluid_from,
            {
                "tests": [(ring, 8.3795), (sl.Spatula(5, 4, 10), 1.6638)],
                "density_kg_m3": 1050.0,
                "reading_sds": [0.1, 0.1],
            },
        ),
        "mat": (lambda **given: sl.mat("/nowhere/mat.pdf", **given), {"radius_cm": 3.5, "paper": "a4"}),
        "which_test": (sl.which_test, {"expected": "cream soup"}),
        "Recipe.from_text": (sl.Recipe.from_text, {"text": TEXT, "measures": "us"}),
        "Recipe": (sl.Recipe, {"title": "Soup", "ingredients": ["1 L stock"], "steps": ["Boil."], "servings": 4}),
        "Recipe.scaled": (recipe.scaled, {"factor": 2.0}),
        "Recipe.scaled servings": (recipe.scaled, {"servings": 8}),
        "Target": (sl.Target, {"viscosity_pa_s": 0.4, "band": 1.2, "temperature_c": 60, "shear_rate_per_s": 1}),
        "Target.against_band": (sl.Target(viscosity_pa_s=0.4).against_band, {"viscosity_pa_s": 0.4}),
        "changes": (sl.changes, {"old": recipe, "new": recipe.scaled(2)}),
        "check": (sl.check, {"recipe": recipe}),
        "shopping_list": (sl.shopping_list, {"recipes": [recipe], "in_store": {"corn starch": "10 g"}}),
        "OwnSpoon": (sl.OwnSpoon, {"item": "corn starch", "measure": "1 tbsp", "masses_g": [9, 8, 10]}),
        "OwnTrim": (sl.OwnTrim, {"item": "parsnips", "whole_g": 800, "trimmed_g": 640}),
        "Pan": (sl.Pan, {"name": "28 cm pot", "diameter_cm": 28, "depth_cm": 18, "tare_g": 2150}),
        "scaled_for_pot": (
            sl.scaled_for_pot,
            {
                "recipe": recipe,
                "factor": 2.0,
                "pan": pan,
                "boil_off_g_per_min_m2": 100.0,
                "minutes": 12,
                "was_pan": pan,
                "was_minutes": 12,
            },
        ),
        "Batch": (sl.Batch, batch),
        "Reading": (sl.Reading, reading),
        "Outcome": (sl.Outcome, {"name": "spread", "unit": "cm", "values": [6.5]}),
        "Quantity": (sl.Quantity, {"name": "oven", "unit": "C", "value": 180}),
        "pot_states": (sl.pot_states, {"batch": pot, "recipe": recipe}),
        "DoseCurve.fit": (
            sl.DoseCurve.fit,
            {
                "dose_g_per_l": [20, 30, 40],
                "viscosity_pa_s": [0.12, 0.4, 0.9],
                "thickener": "corn starch",
                "base_pa_s": 0.005,
                "relative_error": 0.1,
                "tool": None,
                "days": None,
                "dose_rel_sd": None,
                "pot": None,
                "temperature_c": 60,
                "shear_rate_per_s": 50,
                "batch_numbers": None,
            },
        ),
        "DoseCurve.fit_pots": (
            sl.DoseCurve.fit_pots,
            {
                "pots": [[(0, 0.01), (20, 0.2)], [(30, 0.4)]],
                "thickener": "corn starch",
                "relative_error": 0.1,
                "base_pa_s": 0.005,
                "tool": None,
                "days": None,
                "shared_ln_sd": 0.0,
            },
        ),
        "curve.viscosity": (curve.viscosity, {"dose_g_per_l": 30.0}),
        "curve.batch": (curve.batch, {"dose_g_per_l": 30.0}),
        "curve.dose_for": (curve.dose_for, {"target_pa_s": 0.4}),
        "curve.chance": (curve.chance, {"dose_g_per_l": 30.0, "target_pa_s": 0.4, "band": 1.2, "dose_rel_sd": 0.0}),
        "curve.next_batch": (curve.next_batch, {"target_pa_s": 0.4, "band": 1.2}),
        "curve.is_near": (curve.is_near, {"dose_g_per_l": 30.0}),
        "curve.table": (curve.table, {"dose_g_per_l": 30.0}),
        "kitchen_prior": (sl.kitchen_prior, {"curves": [curve], "thickener": "corn starch"}),
        "mend": (
            sl.mend,
            {
                "batch": pot,
                "recipe": recipe,
                "curve": curve,
                "target_pa_s": 0.4,
                "band": 1.2,
                "boil_g_per_min": 10.0,
                "tool": None,
            },
        ),
        "dish_curve": (sl.dish_curve, {"recipe": recipe, "batches": [pot], "recipes": {1: recipe}}),
        "effect": (sl.effect, {"frame": frame, "quantity": "dose", "outcome": "spread"}),
        "Effect.best": (found.best, {"target": 6.0}),
        "plan_session": (sl.plan_session, session),
        "read_session": (sl.read_session, {"session": sl.plan_session(**session)}),
        "open_logbook": (sl.open_logbook, {"where": "kitchen.sqlite"}),
        "book.save": (book.save, {"recipe": recipe, "note": ""}),
        "book.recipe": (book.recipe, {"title": SOUP, "version": 1}),
        "book.versions": (book.versions, {"title": SOUP}),
        "book.record": (book.record, {"batch": pot}),
        "book.batches": (book.batches, {"title": SOUP}),
        "book.readings": (book.readings, {"title": SOUP}),
        "book.dish": (book.dish, {"title": SOUP, "version": 3}),
        "book.version": (book.version, {"title": SOUP, "number": 3}),
        "book.keep": (book.keep, {"record": pan}),
        "RecipeCard": (sl.RecipeCard, {"recipe": recipe}),
        "booklet": (sl.booklet, {"cards": [sl.RecipeCard(recipe)], "paper": "a4"}),
        "decide": (sl.decide, {"dish": book.dish(SOUP), "old": book.version(SOUP, 3), "new": book.version(SOUP, 5)}),
    }


def faults_of(function: Callable[..., Any], good: dict[str, Any]) -> Iterator[str]:
    for name in good:
        for bad in BAD:
            try:
                function(**good | {name: bad})
            except sl.KitchenError as err:
                if not str(err) or "\n" in str(err):
                    yield f"{name}={bad!r:.30}: no sentence: {err}"
            except Exception as err:
                yield f"{name}={bad!r:.30}: {type(err).__name__}: {err}"


@pytest.mark.filterwarnings("ignore::RuntimeWarning")  # what numpy says of figures far from any kitchen
def test_no_public_function_answers_with_an_error_of_python_s_own(
    book: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    every = calls(book)
    missing = {
        name for name in sl.__all__ if not any(each.partition(" ")[0].partition(".")[0] == name for each in every)
    }
    assert missing == {"Aim", "KitchenError", "Logbook", "Range", "units"}
    found = {name: list(faults_of(*call)) for name, call in every.items()}
    assert not any(found.values()), "\n".join(f"{name}: {each}" for name, faults in found.items() for each in faults)


def test_what_came_and_what_is_wanted_is_said_in_words() -> None:
    asked: list[tuple[Callable[[], Any], str]] = [
        (
            lambda: sl.grams(50, "corn starch"),
            "grams: amount came as 50; text in quotes or an amount or a quantity of sl.units",
        ),
        (lambda: sl.household("abc", "corn starch"), "household: mass_g came as 'abc'; a figure of a kitchen's size"),
        (lambda: sl.fluid_from("abc"), "fluid_from: tests came as 'abc'; a list is wanted"),
        (lambda: sl.household(mass_g=sl.units("3 s"), item="corn starch"), "mass_g came as 3 second; a figure in g"),
        (lambda: sl.changes("a", "b"), "changes: old came as 'a'; a Recipe is wanted"),
    ]
    for ask, said in asked:
        with pytest.raises(sl.KitchenError, match=f"^{re.escape(said)}"):
            ask()
    assert str(sl.household(mass_g=sl.units("12 g"), item="corn starch")) == "1 1/2 tbsp"


@pytest.mark.parametrize(
    ("call", "wanted"),
    [
        (lambda: sl.grams([1, 2] * sl.units.cup, "wheat flour"), "cup_us came; a figure from 0 up is wanted"),
        (lambda: sl.FlowCup(np.array([1.0, 2.0])), "There is no flow cup"),
        (lambda: sl.Target(viscosity_pa_s=""), "it is blank; a figure is wanted"),
        (
            lambda: sl.pot_states(
                sl.Batch(title="White soup", version=1, cooked_on="2026-01-22"), sl.Recipe.from_text(TEXT), -1
            ),
            "-1 came",
        ),
        (
            lambda: sl.pot_states(
                sl.Batch(title="White soup", version=1, cooked_on="2026-01-22"), sl.Recipe.from_text(TEXT), math.nan
            ),
            "nan",
        ),
    ],
)
def test_several_figures_none_or_no_share_are_refused_in_words(call: Callable[[], Any], wanted: str) -> None:
    with pytest.raises(sl.KitchenError, match=re.escape(wanted)):
        call()


def test_a_fault_of_ours_is_not_put_upon_who_asked() -> None:
    @takes_quantities
    def broken(mass_g: float) -> float:
        return {}[mass_g]

    with pytest.raises(KeyError):
        broken(3.0)
    with pytest.raises(sl.KitchenError, match="broken: mass_g came as 'three'"):
        broken("three")  # type: ignore[arg-type]


def test_a_reading_that_no_food_gives_is_refused() -> None:
    for tool, reading, index in (
        (sl.Spatula(), 1e-300, 0.2),
        (sl.Trough(), 1e-200, 0.5),
        (sl.Ring(3.5, 2, 30), 1e80, 0.5),
    ):
        with pytest.raises(sl.KitchenError, match="nothing that is eaten is so thin or so stiff"):
            tool.fluid(reading, index)
    # millimetres for centimetres may stand in a logbook already: it is read, and the stove asks before another is saved
    assert sl.Ring(3.5, 2, 30).fluid(85, 0.5).consistency_pa_sn < 1e-5
    assert sl.Spatula().fluid(0.2, 0.5).consistency_pa_sn < 0.05 and sl.Trough().fluid(3, 0.5).consistency_pa_sn > 100


def test_public_functions_travel_to_another_process() -> None:
    functions = [each for name in sl.__all__ if inspect.isfunction(each := getattr(sl, name))]
    assert len(functions) > 15
    for each in functions:
        assert pickle.loads(pickle.dumps(each)) is each, each
