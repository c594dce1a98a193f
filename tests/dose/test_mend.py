"""What to do with a pot now: it conserves mass and salt, lands where brute force says, and refuses in a sentence."""

from __future__ import annotations

import importlib
import math
from typing import Any

import numpy as np
import pytest

import spoonline as sl
from spoonline import flow
from spoonline.dose import DoseCurve, dish_curve, mend
from spoonline.dose.priors import Prior
from spoonline.measures.errors import BatchError, ReadingError
from spoonline.pots import Batch, Reading
from spoonline.pots.balance import SAUCE, along, per_gram, states
from spoonline.pots.thickness import SOUP_DENSITY_KG_M3
from spoonline.pots.water import Pot
from spoonline.recipes import Ingredient, Recipe, Target
from spoonline.recipes.fates import Fate

inside = importlib.import_module("spoonline.dose.mend")
CLEAR = Recipe(title="Clear soup", ingredients=["1 kg vegetable stock", "30 g corn starch"], steps=["Simmer 5 min."])
STEW = Recipe(
    title="Lunch club stew",
    ingredients=["1.2 kg beef chuck", "500 g carrots [whole]", "500 g beef stock", "25 g wheat flour"],
    steps=["Cover and simmer for 2 h."],
)
PUREE = Recipe(
    title="Carrot soup", ingredients=["700 g carrots [blended]", "900 g vegetable stock", "45 g corn starch"]
)
BARE = Recipe(
    title="Squash soup", ingredients=["900 g squash [blended]", "700 g leeks [whole]", "600 g vegetable stock"]
)


def reading(
    viscosity: float, stage: str = "hot", celsius: float = 60.0, tool: str = "spatula", rate: float = 50.0
) -> Reading:
    """What a tool shows for a fluid of n = 0.5 with this viscosity at 50 1/s."""
    fluid = flow.Fluid(viscosity * rate**0.5, 0.5, SOUP_DENSITY_KG_M3)
    settings = {name: str(value) for name, value in flow.usual_settings(tool).items()}
    return Reading(
        tool=tool,
        settings=settings,
        values=[float(flow.usual(tool).reading(fluid))],
        temperature_c=celsius,
        stage=stage,
    )


def pot(recipe: Recipe, *moments: Any, **more: Any) -> Batch:
    """A pot with a story; a figure in it is a reading [Pa s at 50 1/s and 60 C]."""
    told = [{"kind": "read", "reading": reading(each)} if isinstance(each, float) else each for each in moments]
    return Batch(title=recipe.title, version=1, cooked_on="2026-01-08", moments=told, **more)


def read_as(each: Reading) -> dict[str, Any]:
    return {"kind": "read", "reading": each}


def sure(**more: float) -> Prior:
    """A thickener that is known to the last digit, in a liquid without any thickness of its own."""
    known = {
        "level_ln_sd": 1e-5,
        "exponent_sd": 1e-5,
        "batch_sd": 1e-4,
        "batch_df": 1e4,
        "base_pa_s": 1e-6,
        "base_ln_sd": 0.05,
    }
    return Prior("corn starch", **known | more)


@pytest.fixture
def to_the_middle(monkeypatch: pytest.MonkeyPatch) -> None:
    """Amounts to the last digit, no step short of the aim."""
    monkeypatch.setattr(inside, "SHORT", 0.5)
    monkeypatch.setattr(inside, "_rounded", lambda grams: grams)


CASES = [
    (CLEAR, 0.11, 0.25),
    (CLEAR, 0.40, 0.15),
    (STEW, 0.10, 0.30),
    (STEW, 0.30, 0.15),
    (PUREE, 0.20, 0.45),
    (BARE, 0.25, 0.4),
]


@pytest.mark.parametrize(("recipe", "reads", "aim"), CASES)
def test_mass_and_salt_are_conserved(recipe: Recipe, reads: float, aim: float) -> None:
    batch = pot(recipe, reads)
    before = float(SAUCE @ states(batch, recipe)[-1].x)
    found = mend(batch, recipe, DoseCurve.fit([], [], base_pa_s=0.1 if recipe in (PUREE, BARE) else None), aim)
    assert found
    adds = {"slaked starch": 3, "flour in soft butter": 2, "boil down": -1, "blend vegetables": 1, "stir in liquid": 1}
    for each in found:
        assert each.sauce_g == pytest.approx(before + adds[each.do] * each.amount, rel=1e-9)
        salt = each.amount if each.do == "blend vegetables" else 0.0  # a piece brings its own salt
        assert each.sauce_g * each.salt_ratio == pytest.approx(before + salt, rel=1e-9)
        assert each.thickness.low < each.thickness.best < each.thickness.high and each.unit == "g"


@pytest.mark.parametrize(("recipe", "reads", "aim"), CASES)
def test_a_remedy_told_as_moments_gives_the_same_sauce(recipe: Recipe, reads: float, aim: float) -> None:
    # weighed, as what is forecast to boil away goes by all that went in
    batch = pot(recipe, {"kind": "weighed", "mass_g": round(700 + 0.95 * recipe.mass_g), "tare_g": 700}, reads)
    for each in mend(batch, recipe, DoseCurve.fit([], [], base_pa_s=0.1 if recipe in (PUREE, BARE) else None), aim):
        told = Batch.model_validate(batch.model_dump() | {"moments": [*batch.moments, *each.moments], "readings": ()})
        assert float(SAUCE @ states(told, recipe)[-1].x) == pytest.approx(each.sauce_g, rel=1e-9)


def test_twice_as_thick_is_the_cube_root_in_starch_or_a_fifth_boiled_off(to_the_middle: None) -> None:
    # purees_and_stews 9, row 27: dose x 1.260 or boil off 20.6 %
    batch = pot(CLEAR, 0.1)
    x = states(batch, CLEAR)[-1].x
    dry, water = float(along(starch=1) @ x), float(along(water=1) @ x)
    level = 0.1 / (25 * dry / (dry + water)) ** 3
    curve = DoseCurve.fit([], [], sure(level_pa_s=level))
    slaked, boiled = mend(batch, CLEAR, curve, 0.2)
    then = (dry + 0.89 * slaked.amount) / (dry + water + 3 * slaked.amount)
    assert then / (dry / (dry + water)) == pytest.approx(1.260, abs=0.001)
    assert boiled.amount / (dry + water) == pytest.approx(0.206, abs=0.001)
    assert boiled.salt_ratio == pytest.approx(float(SAUCE @ x) / (float(SAUCE @ x) - boiled.amount), rel=1e-9)
    # and backwards, 6b: half as thick is 26 % more water
    (loosened,) = mend(batch, CLEAR, curve, 0.05)
    stock = per_gram(CLEAR.ingredients[0], Fate("pours"))[0]
    assert loosened.amount * float(along(water=1) @ stock) / (dry + water) == pytest.approx(0.26, abs=0.001)


@pytest.mark.parametrize(("thickener", "dose", "more"), [("corn starch", 25.0, 6.5), ("wheat flour", 60.0, 15.6)])
def test_from_dose_to_dose_it_asks_for_the_difference(
    thickener: str, dose: float, more: float, to_the_middle: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    # row 28, which leaves out the water to slake in; the aim is what the dose axis of the curve says for dose + more
    monkeypatch.setattr(inside, "SLAKED_IN", 0.0)
    recipe = Recipe(title="Gravy", ingredients=["1 kg water", f"{dose:g} g {thickener}"])
    water = Pot(float(along(water=1) @ states(pot(recipe, 0.1), recipe)[-1].x) - 0.11 * dose)
    prior = Prior(**{**vars(sure()), "strength": 1.0 if thickener == "corn starch" else 0.58})
    curve = DoseCurve.fit([], [], prior, pot=water)
    now, aim = (float(curve.viscosity(each).best) for each in (dose, dose + more))
    assert aim / now == pytest.approx(2.0, rel=0.04)
    assert mend(pot(recipe, now), recipe, curve, aim)[0].amount == pytest.approx(more, abs=0.1)


@pytest.mark.parametrize(
    ("line", "times"), [("100 g heavy cream", 0.922), ("100 g light cream", 0.842), ("50 g butter", 1.086)]
)
def test_cream_and_butter_that_come_late(line: str, times: float) -> None:
    # row 29: 1 kg of soup with 30 g maize; b = 3, fat as drops
    soup = 970 * along(water=1) + 0.89 * 30 * along(thickener=1, starch=1) + 0.11 * 30 * along(water=1)
    added = Ingredient.model_validate(line)
    then = soup + float(added.mass_g or 0) * per_gram(added, Fate("pours"))[0]
    flesh = inside._Flesh(1000.0, False, 0.0, 1.0)
    was, now = (inside._Seen.of(each, flesh, 4.0) for each in (soup, then))
    ratio = math.exp(3 * (now.ln_percent - was.ln_percent) + now.ln_drops - was.ln_drops)
    assert ratio == pytest.approx(times, abs=0.005)


def brute(batch: Batch, recipe: Recipe, curve: DoseCurve, grams: float, adds: Any) -> Any:
    """Median and 90 % range after so many grams of a remedy: points drawn of the curve and weighed by the readings, masses by hand."""
    rng, m = np.random.default_rng(3), curve.mixture
    n = 400_000
    which = rng.choice(m.weight.size, n, p=m.weight)
    root = np.linalg.cholesky(m.covariance + 1e-15 * np.eye(2))
    a, b = (m.mean[which] + np.einsum("nij,nj->ni", root[which], rng.normal(size=(n, 2)))).T
    own, p = np.sqrt(m.noise[which] + 0.04 * 0.36) * rng.normal(size=n), m.join[which]
    usual = inside.cooked_pot_of(recipe, inside.usual_loss(recipe, None)[0] * recipe.mass_g).x
    told = states(batch, recipe)
    error_g = told[-1].sum(along(water=1))[1] * rng.normal(size=n)

    def drops(x: Any) -> float:
        fat = float(along(fat=1) @ x)
        return -2.5 * math.log(1 - fat / 0.91 / (fat / 0.91 + float(SAUCE @ x) - fat))

    def value(x: Any) -> tuple[Any, Any]:
        water, dry = float(along(water=1) @ x), float(along(starch=1, other_starch=1) @ x)
        base = m.ln_base[which] + 3 * math.log(float(SAUCE @ usual) / float(SAUCE @ x))
        starch = a + b * (np.log(100 * dry / (dry + water) / 4.0) - error_g / water)
        both = np.log(np.exp(p * base) + np.exp(p * starch)) / p
        return both + own + drops(x) - drops(usual), np.exp(p * (base - both))

    log = np.zeros(n)
    rows = [
        (at.x, inside.brought_to(at.moment.reading, 50.0, 60.0, 0.0)) for at in told if at.moment and at.moment.reading
    ]
    for x, read in rows:
        apart = 0.15 * math.log(read.viscosity_pa_s / rows[-1][1].viscosity_pa_s)
        log -= (math.log(read.viscosity_pa_s) - value(x)[0]) ** 2 / 2 / (read.ln_sd**2 + 0.07**2 + apart**2)
    weight = np.exp(log - log.max())
    now, then = told[-1].x, told[-1].x + grams * adds
    after, of_base = value(then)
    thinned = 3 * math.log(float(SAUCE @ now) / float(SAUCE @ then))
    spread = np.hypot(0.15 * (after - value(now)[0]), 0.2 * of_base * thinned)
    after = after + spread * rng.normal(size=n)
    order = np.argsort(after)
    return np.exp(np.interp([0.5, 0.05, 0.95], np.cumsum(weight[order]) / weight.sum(), after[order]))


@pytest.mark.parametrize("kind", ["clear, new", "clear, known", "puree, known"])
def test_the_range_is_that_of_weighed_points(kind: str) -> None:
    slaked = per_gram(Ingredient(amount="1 g", item="corn starch", part="thickener", mass_g=1), Fate("thickens"))[0]
    slaked = slaked + 2 * along(water=1)
    if kind == "puree, known":
        recipe = PUREE
        water = (
            inside.cooked_pot_of(recipe, inside.usual_loss(recipe, None)[0] * recipe.mass_g).of("water")
            / recipe.liquid_l
        )
        other = (
            inside.cooked_pot_of(recipe, inside.usual_loss(recipe, None)[0] * recipe.mass_g).of("other_starch")
            / recipe.liquid_l
        )
        curve = DoseCurve.fit_pots(
            [[(0, 0.09), (50, 0.33)], [(0, 0.10), (60, 0.5)]], relative_error=0.1, pot=Pot(water, other)
        )
        batch = pot(recipe, read_as(reading(0.11, "before")), {"kind": "put in", "line": 3}, 0.26)
    else:
        recipe = CLEAR
        curve = (
            DoseCurve.fit([25, 30, 36], [0.07, 0.13, 0.24], relative_error=0.1)
            if "known" in kind
            else DoseCurve.fit([], [])
        )
        batch = pot(recipe, 0.10)
    best = mend(batch, recipe, curve, 0.45 if kind == "puree, known" else 0.22)[0]
    assert best.do == "slaked starch"
    expected = brute(batch, recipe, curve, best.amount, slaked)
    assert np.array(best.thickness) == pytest.approx(expected, rel=0.04)


def test_nothing_is_offered_inside_the_band_and_something_outside() -> None:
    curve = DoseCurve.fit([], [])
    for times in (0.84, 0.95, 1.0, 1.1, 1.19):
        assert mend(pot(CLEAR, 0.12 * times), CLEAR, curve, 0.12) == []
    assert {each.do for each in mend(pot(CLEAR, 0.07), CLEAR, curve, 0.12)} == {"slaked starch", "boil down"}
    assert [each.do for each in mend(pot(CLEAR, 0.2), CLEAR, curve, 0.12)] == ["stir in liquid"]
    assert mend(pot(CLEAR, 0.2), CLEAR, curve, 0.12, band=1.8) == []


def test_a_last_reading_that_the_others_contradict_is_read_again() -> None:
    curve = DoseCurve.fit([], [])
    (again,) = mend(pot(CLEAR, 0.12, 0.12, 0.12, 0.12, 0.098), CLEAR, curve, 0.12)
    assert again.do == "read again" and again.amount == 0 and again.salt_ratio == 1
    assert again.thickness.best == pytest.approx(0.12, rel=0.06) and "read it once more" in again.text
    assert mend(pot(CLEAR, 0.098), CLEAR, curve, 0.12)[0].do == "slaked starch"
    # so much went in since that nobody knows on which side it is
    much = [{"kind": "put in", "item": "corn starch", "mass_g": 40}, {"kind": "put in", "item": "water", "mass_g": 80}]
    told = [mend(pot(CLEAR, 0.12, *much), CLEAR, curve, aim, 1.05) for aim in np.geomspace(0.3, 3.0, 60)]
    firsts = [found[0].do if found else "" for found in told]
    assert list(dict.fromkeys(firsts)) == ["stir in liquid", "read again", "", "slaked starch"]
    assert all(each.amount > 0 for found in told for each in found if each.do != "read again")


def test_each_dish_has_its_own_means() -> None:
    curve = DoseCurve.fit([], [])

    def offered(recipe: Recipe, reads: float = 0.08, aim: float = 0.2) -> list[str]:
        return [each.do for each in mend(pot(recipe, reads), recipe, curve, aim)]

    roux = Recipe(title="Sauce", ingredients=["1 kg milk", "90 g white roux"])
    gum = Recipe(title="Sauce", ingredients=["1 kg water", "3 g xanthan gum"])
    assert offered(STEW, 0.04, 0.055) == ["slaked starch", "flour in soft butter", "blend vegetables", "boil down"]
    assert offered(roux) == ["flour in soft butter", "boil down"]
    assert offered(gum) == ["gum sprinkled in", "boil down"]
    assert [each.do for each in mend(pot(BARE, 0.2), BARE, None, 0.3)] == ["blend vegetables", "boil down"]
    assert [each.do for each in mend(pot(BARE, 0.5), BARE, None, 0.3)] == ["stir in liquid"]


def test_a_bare_puree_goes_by_the_third_power_of_its_share(to_the_middle: None) -> None:
    blended, boiled = mend(pot(BARE, 0.2), BARE, DoseCurve.fit([], [], base_pa_s=0.2), 0.3)
    sauce = float(SAUCE @ states(pot(BARE, 0.2), BARE)[-1].x)
    assert blended.thickness.best == pytest.approx(0.3, rel=0.01)
    assert (900 + blended.amount) / blended.sauce_g / (900 / sauce) == pytest.approx(1.5 ** (1 / 3), rel=0.03)
    assert boiled.sauce_g / sauce == pytest.approx(1.5 ** (-1 / 3), rel=0.03)


def test_a_rate_gives_minutes_and_a_wide_range_asks_for_half() -> None:
    told = mend(pot(CLEAR, 0.05), CLEAR, DoseCurve.fit([], []), 0.3, boil_g_per_min=13.0)
    boil = next(each for each in told if each.do == "boil down")
    assert f"about {boil.amount / 13:.0f} minutes" in boil.text
    assert all("half" in each.text for each in told if each.thickness.high > 1.5625 * each.thickness.low)
    assert any("half" in each.text for each in told) and "clean spoon" in told[0].text and "portions" in boil.text
    near = mend(pot(CLEAR, 0.10), CLEAR, DoseCurve.fit([], []), 0.125)
    assert all("half" not in each.text for each in near)


def test_a_cold_reading_is_brought_to_the_aim_and_said() -> None:
    curve = DoseCurve.fit([], [])
    warm = mend(pot(CLEAR, read_as(reading(0.08))), CLEAR, curve, 0.2)[0]
    cold = mend(pot(CLEAR, read_as(reading(0.08 * 2.31, celsius=20.0))), CLEAR, curve, 0.2)[0]
    assert "at 20 C; at the 60 C of the aim that would be 0.08 Pa s" in cold.text and "20 C" not in warm.text
    assert cold.amount == pytest.approx(warm.amount, rel=0.1)


def test_a_reheated_pot_goes_by_its_reheated_reading() -> None:
    dish = dish_curve(CLEAR.changed(target=Target(viscosity_pa_s="0.2", shear_rate_per_s=50)), [], {1: CLEAR})
    late = [{"kind": "chilled"}, {"kind": "reheated", "minutes": 10}, read_as(reading(0.10, "reheated"))]
    found = mend(pot(CLEAR, 0.2, *late), CLEAR, dish, 0.2)
    alone = mend(pot(CLEAR, *late), CLEAR, dish, 0.2)
    assert found[0].do == "slaked starch" and found[0].amount == pytest.approx(alone[0].amount, rel=0.05)


def test_what_went_in_since_the_reading_counts() -> None:
    curve = DoseCurve.fit([], [])
    first = mend(pot(CLEAR, 0.08), CLEAR, curve, 0.16)[0]
    half = [
        {"kind": "put in", "item": item, "mass_g": first.amount * g}
        for item, g in (("corn starch", 0.5), ("water", 1.0))
    ]
    rest = mend(pot(CLEAR, 0.08, *half), CLEAR, curve, 0.16)
    assert rest[0].do == "slaked starch" and rest[0].amount == pytest.approx(first.amount / 2, rel=0.15)
    whole = [dict(each, mass_g=each["mass_g"] * 2) for each in half]
    assert mend(pot(CLEAR, 0.08, *whole), CLEAR, curve, 0.16) == []


def test_a_second_reading_teaches_the_slope_of_this_pot(to_the_middle: None) -> None:
    curve = DoseCurve.fit([], [])
    put = [{"kind": "put in", "item": "corn starch", "mass_g": 15}, {"kind": "put in", "item": "water", "mass_g": 30}]
    weak, strong = (mend(pot(CLEAR, 0.08, *put, now), CLEAR, curve, 0.6)[0] for now in (0.18, 0.36))
    again = [mend(pot(CLEAR, *put, now), CLEAR, curve, 0.6)[0] for now in (0.18, 0.36)]
    # the same levels without the earlier reading: the first pot's starch does less, the second's more
    assert weak.amount > again[0].amount and strong.amount < again[1].amount


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: mend(pot(CLEAR), CLEAR, DoseCurve.fit([], []), 0.2), "was not read yet: read it with a tool"),
        (
            lambda: mend(pot(CLEAR, read_as(reading(0.3, "chilled"))), CLEAR, DoseCurve.fit([], []), 0.2),
            "heat it through",
        ),
        (lambda: pot(CLEAR, {"kind": "weighed", "mass_g": 900, "tare_g": 1400}, 0.1), "nothing is in it"),
        (
            lambda: mend(pot(CLEAR, 0.1), CLEAR, DoseCurve.fit([], [], base_pa_s=0.08), 0.002),
            "thinner than this pot without its starch",
        ),
        (lambda: mend(pot(CLEAR, 0.1), CLEAR, DoseCurve.fit([], []), 300.0), "No thickener, boiling down or blending"),
        (lambda: mend(pot(CLEAR, 0.1), CLEAR, DoseCurve.fit([], []), -1.0), "number above 0"),
        (lambda: mend(pot(CLEAR, 0.1), CLEAR, DoseCurve.fit([], []), 0.2, band=0.9), "factor above 1"),
        (lambda: mend(pot(CLEAR, 0.1), CLEAR, DoseCurve.fit([], []), 0.2, boil_g_per_min=0.0), "figure above 0"),
    ],
)
def test_bad_input_gets_one_sentence(ask: Any, says: str) -> None:
    with pytest.raises(BatchError, match=says) as caught:
        ask()
    assert "\n" not in str(caught.value).strip() or "nothing is in it" in str(caught.value)


def test_a_reading_outside_the_tools_window_never_gets_that_far() -> None:
    with pytest.raises(ReadingError, match="reads from 20 to 100 s"):
        mend(pot(CLEAR, read_as(reading(0.05, tool="flow cup"))), CLEAR, DoseCurve.fit([], []), 0.2)
    thin = mend(pot(CLEAR, read_as(reading(0.2, tool="ring"))), CLEAR, DoseCurve.fit([], []), 0.4)
    assert "less than 3 mm" in thin[0].text  # what is doubtful about the reading is said first


def test_an_aim_below_a_blended_base_is_said_and_liquid_does_it() -> None:
    curve = DoseCurve.fit_pots([[(0, 0.20), (50, 0.45)], [(0, 0.19), (50, 0.43)]], relative_error=0.05, pot=Pot(1500.0))
    (loosen,) = mend(pot(PUREE, 0.45), PUREE, curve, 0.12)
    assert loosen.do == "stir in liquid" and "thinner than this pot without its starch" in loosen.text
    assert loosen.thickness.best == pytest.approx(0.12, rel=0.1)


def test_no_more_than_a_stiff_paste_is_ever_asked_for() -> None:
    for aim in (0.5, 2.0, 5.0, 20.0):
        try:
            found = mend(pot(CLEAR, 0.1), CLEAR, DoseCurve.fit([], []), aim)
        except BatchError:
            assert aim > 2
            continue
        for each in found:
            assert each.amount < 160 if each.do == "slaked starch" else each.amount <= 0.5 * 1000
    assert sl.mend is mend
