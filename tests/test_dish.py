"""One dish as every screen sees it: panel, comparison, card and command get one curve, one answer to "tested", one aim."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import spoonline as sl
from pots.pots import SOUP, pot, reading
from spoonline.card.gather import gather
from spoonline.card.records import CardNote
from spoonline.dish import Dish
from spoonline.recipes import Habits, Recipe, Target, Version, content_id

DEMO = "Roast parsnip and pear soup"


def version(number: int, recipe: sl.Recipe = SOUP) -> Version:
    return Version(
        title=recipe.title, number=number, id=f"{number:064d}", saved_at="2026-01-08T00:00:00Z", recipe=recipe
    )


def thinner(grams: int) -> sl.Recipe:
    return sl.Recipe(
        title=SOUP.title, ingredients=["1 l vegetable stock", f"{grams} g corn starch"], target=SOUP.target
    )


DISH = Dish(SOUP, version(2), (version(1, thinner(24)), version(2)), (
    pot(1, 0.5, version=1), pot(2, 1.0, version=2), pot(3, 1.05, version=2), pot(4, 9.0, version=2, left_out="scorched"),
    pot(5, version=2), pot(6, 0.95, version=2), pot(7, 3.0, version=3),
))  # fmt: skip


def test_pots_that_count_are_those_of_all_standing_versions() -> None:
    assert [each.batch.number for each in DISH.counted] == [1, 2, 3, 6]
    assert DISH.left_out == {
        4: "scorched",
        5: "not read hot or served",
        7: "its version 3 is not there: taken back, or damaged",
    }
    assert DISH.last is not None and DISH.last.batch.number == 6
    assert {number: len(each) for number, each in DISH.viscosities.items()} == {1: 1, 2: 3}


def test_the_curve_rests_on_them_and_calls_them_by_their_numbers() -> None:
    assert DISH.curve is not None and DISH.no_curve == ""
    assert [each.batch.number for each in DISH.curve.counted] == [1, 2, 3, 6]
    assert DISH.curve.curve.batch_numbers == (1, 2, 3, 6)
    assert sorted(each.batch.number for each in DISH.curve.pots) == [1, 2, 3, 4, 6], (
        "drawn, but not counted: what was left out"
    )
    doubled = Dish(SOUP, DISH.version, DISH.versions, (*DISH.batches[:3], pot(4, left_out="x"), pot(5, 1.0, version=2),
                                                       pot(6, 0.98, version=2), pot(8, 12.0, version=2)))  # fmt: skip
    assert doubled.curve is not None
    (flag,) = [each for each in doubled.curve.curve.flags if "check its weights" in each]
    assert flag.startswith("Batch 8 ") and "First check batch 8" in doubled.next_text, "not its place in the list"


def test_a_pot_without_any_thickener_lies_on_no_curve_and_is_no_test_of_another_version() -> None:
    broth = SOUP.model_copy(update={"ingredients": SOUP.ingredients[:1]})
    dish = Dish(SOUP, version(2), (version(1, broth), version(2)), (pot(1, 0.01), pot(2, 1.0, version=2)))
    assert dish.curve is not None
    assert {each.batch.number: each.left_out for each in dish.curve.pots} == {1: "its version has no thickener", 2: ""}
    assert dish.viscosities.keys() == {1, 2}, "a comparison of the two versions has both"


def test_one_pot_that_cannot_be_does_not_take_the_curve_away() -> None:
    wrong = pot(8, 1.0, version=2, pot_before_g=3000, pot_after_g=2050)
    dish = Dish(SOUP, DISH.version, DISH.versions, (*DISH.batches, wrong))
    assert dish.curve is not None and "950 g evaporated" in dish.left_out[8]
    assert dish.table["evaporated_percent"].isna().all() and [each.batch.number for each in dish.curve.counted] == [
        1,
        2,
        3,
        6,
    ]


def test_tested_is_decided_in_one_place() -> None:
    assert (DISH.tested.read, DISH.tested.inside, DISH.tested.enough) == (3, 3, True)
    assert DISH.tested_text.startswith(
        "Tested: 3 of the last 3 pots of these quantities lie inside the band, on 3 days"
    )
    assert DISH.at(DISH.versions[0]).tested.read == 1 and not DISH.at(DISH.versions[0]).tested.enough
    assert "2 of 3" not in DISH.tested_text
    off = DISH.aiming(Target(viscosity_pa_s="1", band="1.04"))
    assert (off.tested.read, off.tested.inside) == (3, 1) and off.tested_text.startswith(
        "Not tested: 1 of the last 3 pots of these quantities"
    )
    card = sl.RecipeCard(DISH.recipe, DISH.version, DISH.batches, versions=DISH.versions)
    assert (
        card.content.tested
        == "Tested: 3 of the last 3 batches within the band, on 3 days; about 9 of 10 further ones should be."
    )
    assert "untested" not in {point.key for point in card.content.points}
    assert sl.decide(DISH, DISH.versions[0], DISH.versions[1]).sentence == card.content.tested


def test_no_aim_is_invented() -> None:
    bare = DISH.aiming(None)
    assert bare.aim is None and bare.next is None and bare.next_text == "say how thick it should be."
    assert (bare.tested.read, bare.tested.enough) == (0, False) and "No aim is set" in bare.tested_text
    assert bare.curve is not None, "the curve is there"
    assert (bare.curve.curve.temperature_c, bare.curve.curve.shear_rate_per_s) == (60.0, 1.0)
    assert bare.curve.spoons(30)[1] is None and bare.curve.doses().min() < 24 < 30 < bare.curve.doses().max()
    with pytest.raises(sl.KitchenError, match="No aim is set for 'Celery soup'"):
        bare.curve.next_batch()
    card = sl.RecipeCard(bare.recipe, bare.version, bare.batches, versions=bare.versions)
    assert (
        card.content.mends == ()
        and card.content.target == ""
        and "target" in {point.key for point in card.content.points}
    )


def test_without_a_thickener_there_is_no_curve_and_one_sentence_says_why() -> None:
    bare = Dish(sl.Recipe(title="Broth", ingredients=["1 l beef stock"], target=SOUP.target))
    assert bare.curve is None and bare.next is None
    assert "needs a thickener line" in bare.no_curve and bare.next_text == bare.no_curve
    assert bare.table.empty and "Broth, not saved yet: 0.0 g/L" in bare._repr_html_()
    dry = sl.Recipe(title="Dry mix", ingredients=["30 g corn starch"])
    for page in (dry._repr_html_(), Dish(dry)._repr_html_()):
        assert "no liquid with a known amount" in page and "nan" not in page


def test_every_screen_has_the_same_curve(demo: sl.Logbook) -> None:
    from spoonline.widgets import ComparePanel, DosePanel

    dish, panel = demo.dish(DEMO), DosePanel(demo)
    panel.title.value = DEMO
    card = sl.RecipeCard.from_logbook(demo, DEMO)
    assert (
        dish.curve is not None
        and panel.dish is not None
        and panel.dish.curve is not None
        and card.dish.curve is not None
    )
    wanted = dish.curve.curve.dose_for(1.7)
    for each in (panel.dish.curve, card.dish.curve):
        assert each.curve.dose_for(1.7) == wanted and each.loss == dish.curve.loss
    assert [each.batch.number for each in card.dish.curve.counted] == [1, 2, 3, 4, 6, 7, 8, 9]
    compare = ComparePanel(demo)
    compare.title.value = DEMO
    assert compare.dish is not None and compare.dish.tested == dish.tested == card.dish.tested
    for each in (panel, compare):
        each.close_all()


def test_a_version_that_was_taken_back_takes_its_pots_along(demo: sl.Logbook) -> None:
    before = demo.dish(DEMO)
    demo.take_back(demo.version(DEMO, 3))
    after = demo.dish(DEMO)
    assert {3, 4} <= after.left_out.keys() and not {3, 4} & before.left_out.keys()
    assert sl.RecipeCard.from_logbook(demo, DEMO).dish.curve is not None
    assert len(demo.batches(DEMO)) == 9, "the records stay"


def test_an_older_version_is_looked_at_with_all_that_is_known(demo: sl.Logbook) -> None:
    old, new = demo.dish(DEMO, 3), demo.dish(DEMO)
    assert (old.number, new.number) == (3, 5) and old.recipe.dose_g_per_l == pytest.approx(38)
    assert old.counted == new.counted and (old.tested.read, old.tested.inside) == (2, 0)


def test_a_dish_says_what_it_is_in_a_few_sentences(demo: sl.Logbook) -> None:
    text = demo.dish(DEMO).text
    assert text.startswith(
        f"{DEMO}, version 5: 33.3 g/L, aim 1.7 Pa s (1.4 to 2.1). 8 of 9 pots count (batch 5: boiled away a fifth)."
    )
    page = demo.dish(DEMO)._repr_html_()
    assert page.count("<tr>") == 9 and "boiled away a fifth" in page and "viscosity_low_pa_s" in page


def test_a_dish_curve_hands_out_its_figures_as_a_frame() -> None:
    assert DISH.curve is not None
    curve = DISH.curve.curve
    frame = curve.table()
    assert list(frame["batch"]) == [1, 2, 3, 6] and frame["read_pa_s"].tolist() == curve.viscosities.tolist()
    drawn = curve.table([20, 30, 40])
    average, single = curve.viscosity([20, 30, 40]), curve.batch([20, 30, 40])
    for name, values in (
        ("viscosity_pa_s", average.best), ("average_low_pa_s", average.low), ("average_high_pa_s", average.high),
        ("next_low_pa_s", single.low), ("next_high_pa_s", single.high),
    ):  # fmt: skip
        assert drawn[name].tolist() == pytest.approx(list(values))


def test_curves_are_fitted_from_pots_in_one_place_only(repo: Path) -> None:
    """A curve is made from pots by DishCurve.fit alone, which Dish and its door dish_curve call; swaps and mending fit none to pots."""
    pattern = re.compile(r"\b(?:DishCurve\.fit|dish_curve|DoseCurve\.fit)\(")
    found = {
        path.name
        for path in (repo / "kit" / "spoonline").rglob("*.py")
        for line in path.read_text(encoding="utf-8").splitlines()
        if pattern.search(line) and ">>>" not in line and not line.lstrip().startswith("def ")
    }
    assert found <= {"dish.py", "dish_curve.py", "dose_curve.py", "swap.py", "mend.py"}


def lost(number: int, share: float, viscosity_pa_s: float = 1.0) -> sl.Batch:
    """A pot of the soup that was weighed before and after, and lost this share of what went in."""
    return pot(number, viscosity_pa_s, pot_before_g=3000, pot_after_g=3000 - share * SOUP.mass_g)


def test_a_pot_that_was_not_weighed_lost_what_the_others_of_its_dish_did() -> None:
    alone = Dish(SOUP, version(1), (version(1),), (pot(1, 1.0),))
    among = Dish(SOUP, version(1), (version(1),), (pot(1, 1.0), lost(2, 0.12), lost(3, 0.13), lost(4, 0.20)))
    assert alone.loss == pytest.approx((0.06, 0.03)) and among.loss == pytest.approx((0.13, 0.03), abs=1e-5)
    for dish, share in ((alone, 0.06), (among, 0.13)):
        held = dish.pots[0].inside
        assert held is not None and held.loss == pytest.approx(share, abs=1e-5) and not held.weighed
        assert dish.curve is not None and dish.curve.loss == pytest.approx(share, abs=1e-5)
        assert dish.curve.pots[0].dose_g_per_l == pytest.approx(30), (
            "a pot like any other lies at the dose that went in"
        )
    assert among.pots[3].inside is not None and among.pots[3].inside.loss == pytest.approx(0.20, abs=1e-5), (
        "as it was weighed"
    )
    assert among.table["evaporated_percent"].isna().tolist() == [True, False, False, False], "a guess is no weighing"


def test_a_stew_that_nobody_weighed_loses_what_its_steps_foretell() -> None:
    stew = sl.Recipe(
        title="Winter stew", ingredients=["1 kg beef chuck", "500 ml beef stock", "25 g cornflour"], steps=["Cover and simmer for 2 h."]
    )  # fmt: skip
    dish = Dish(stew, version(1, stew), (version(1, stew),), (pot(1, 1.0, title=stew.title),))
    assert dish.loss[0] == pytest.approx(204 / stew.mass_g) and dish.curve is not None
    assert dish.curve.loss == dish.loss[0] != pytest.approx(0.06, abs=0.05)
    assert dish.curve.pots[0].dose_g_per_l == pytest.approx(stew.dose_g_per_l)


def test_a_card_without_a_curve_forecasts_what_is_left_from_the_pots_that_were_weighed() -> None:
    broth = sl.Recipe(title="Broth", ingredients=["2 kg water", "500 g leeks"], steps=["Simmer, then blend."])
    weighed = pot(1, title="Broth", pot_before_g=4500, pot_after_g=4000)
    dish = Dish(broth, version(1, broth), (version(1, broth),), (weighed,))
    assert dish.curve is None and dish.loss[0] == pytest.approx(0.2)
    assert gather(dish, Habits(), CardNote(title="Broth")).makes == "about 2000 g, 1.9 L"


# -- a base read alone, a cold dish, a strained sauce, a pot that is thick enough
# ----------------------------------------------------------------------------------------

THICK = Recipe(
    title="Pumpkin soup",
    ingredients=["1 kg pumpkin, diced", "1.2 l vegetable stock", "30 g corn starch"],
    steps=["Simmer, then blend."],
    target=Target(viscosity_pa_s="2.5"),
)


def saved(recipe: Recipe, number: int) -> Version:
    return Version(
        title=recipe.title, number=number, id=content_id(recipe), saved_at="2026-01-01T10:00Z", recipe=recipe
    )


def spoon(number: int, stage: str, viscosity: float, **more: object) -> sl.Batch:
    return sl.Batch(
        title=THICK.title, version=1, number=number, cooked_on=f"2026-01-{number:02d}", readings=[reading(viscosity, stage=stage)], **more
    )  # fmt: skip


def test_a_base_that_was_read_alone_moves_the_dose() -> None:
    unread, read = Dish(THICK), Dish(THICK, batches=(spoon(1, "before", 1.4),), versions=(saved(THICK, 1),))
    assert unread.curve is not None and read.curve is not None
    assert read.curve.curve.bases_read == 1 and read.curve.curve.doses.size == 0
    assert "only its base was read" in read.pots[0].left_out and "its base as it was read" in read.next_text
    one, other = (each.curve.curve.dose_for(2.5) for each in (unread, read))
    assert other.best < one.best - 1, "a base that is thicker than was foretold leaves less to the starch"


def test_a_pot_that_is_thick_enough_gets_no_starch_and_can_be_drawn() -> None:
    from spoonline.figures import dose_figure

    dish = Dish(THICK, batches=(spoon(1, "before", 1.4),), versions=(saved(THICK, 1),)).aiming(
        Target(viscosity_pa_s="1.1")
    )
    assert dish.curve is not None and dish.next is not None
    assert dish.next.dose_g_per_l == 0 and dish.next_text.startswith("Thick enough: no starch")
    assert dose_figure(dish.curve, None, dish.next).text


def test_a_cold_dish_is_read_chilled() -> None:
    cold = THICK.model_copy(update={"target": Target(viscosity_pa_s="2.5", temperature_c=5)})
    chilled = spoon(1, "chilled", 2.4)
    assert Dish(cold, batches=(chilled,), versions=(saved(cold, 1),)).counted
    assert not Dish(THICK, batches=(chilled,), versions=(saved(THICK, 1),)).counted


def test_a_strained_sauce_says_what_the_grams_go_into() -> None:
    stew = Recipe(
        title="Stew",
        ingredients=["1 kg stewing beef, in chunks", "700 ml beef stock", "25 g corn starch"],
        steps=["Cover and simmer for 2 h.", "Strain the sauce, whisk in the slaked starch."],
        target=Target(viscosity_pa_s="0.9"),
    )
    story = [
        {"kind": "strained", "mass_g": 560},
        {"kind": "put in", "line": 3, "mass_g": 25},
        {"kind": "read", "reading": reading(0.9)},
    ]
    pots = tuple(
        sl.Batch(title="Stew", version=1, number=n, cooked_on=f"2026-01-0{n}", moments=story) for n in (1, 2, 3)
    )
    dish = Dish(stew, batches=pots, versions=(saved(stew, 1),))
    assert dish.curve is not None and dish.next is not None
    assert dish.curve.liquid_l < 0.9 * stew.liquid_l, "less than was forecast"
    assert dish.curve.grams(dish.next.dose_g_per_l) == pytest.approx(25, rel=0.05), "the grams that went in are kept"


def test_a_gram_more_or_less_does_not_move_what_to_cook_next(demo: sl.Logbook) -> None:
    """What the kitchen learned contradicts this dish's pots; a lattice of 64 points found no place to stand and said 5.2, then 7.3 g/L."""
    title = "Celeriac and apple soup"
    before = demo.dish(title)
    lines = [each.reweighed("7 g", 7, 0.5) if each.part == "thickener" else each for each in before.recipe.ingredients]
    demo.save(before.recipe.model_copy(update={"ingredients": tuple(lines)}), "a gram less")
    after = demo.dish(title)
    for dose in (5.3, 6.2, 7.3):
        assert before.curve.chance(dose) == pytest.approx(after.curve.chance(dose), abs=0.02)
    assert before.next.dose_g_per_l == pytest.approx(after.next.dose_g_per_l, rel=0.05)
