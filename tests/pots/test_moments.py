"""A pot in order: nothing is created in any story, uncertainty never shrinks by itself, and a story that cannot be is told in one sentence."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import spoonline as sl
from dishes import DISHES
from pots.pots import inside, reading
from spoonline.measures.errors import BatchError
from spoonline.pots import Batch, Moment
from spoonline.pots.balance import ALL, SAUCE, PotBalance, along, states
from spoonline.pots.counted import cooked_pot
from spoonline.recipes import Recipe
from tiers import drawn

STEW = Recipe(
    title="Shin of beef stew",
    ingredients=[
        "1.2 kg shin of beef [meat]",
        "250 g onion",
        "300 g carrots",
        "400 ml beef stock",
        "30 g cornflour",
        "60 g pearl barley",
    ],
    steps=[
        "Brown the beef.",
        "Add everything but the cornflour, cover and simmer for 2 h 30 min.",
        "Stir in the cornflour.",
    ],
)

SOUP = Recipe(
    title="Leek soup",
    ingredients=["600 g leeks, sliced", "1 l water", "15 g corn starch", "20 g butter"],
    steps=["Simmer, then blend."],
)


def cooked(*moments: dict[str, Any], recipe: Recipe = STEW, **more: Any) -> Batch:
    return Batch(title=recipe.title, version=1, cooked_on="2026-01-08", moments=moments, **more)


def read(stage: str = "hot") -> dict[str, Any]:
    return {"kind": "read", "reading": reading(0.5, stage=stage)}


GRAMS = st.floats(1, 400).map(lambda mass: round(mass, 1))
HAPPENS = st.one_of(
    st.builds(
        dict,
        kind=st.just("put in"),
        item=st.sampled_from(["water", "corn starch", "double cream", "carrot"]),
        mass_g=GRAMS,
    ),
    st.builds(
        dict, kind=st.just("taken out"), what=st.sampled_from(["solids", "served", "fat", "sauce"]), mass_g=GRAMS
    ),
    st.builds(dict, kind=st.just("put back"), mass_g=GRAMS),
    st.builds(dict, kind=st.just("held"), minutes=st.floats(0, 40), temperature_c=st.sampled_from([None, 65, 98])),
    st.builds(dict, kind=st.just("reheated"), minutes=st.floats(0, 20)),
    st.builds(dict, kind=st.just("chilled")),
    st.builds(dict, kind=st.just("weighed"), mass_g=st.floats(1800, 4200), tare_g=st.just(1500)),
    st.builds(dict, kind=st.just("strained"), mass_g=st.floats(100, 1200)),
    st.builds(read),
)
PUT = along(put_in=1, water_put_in=0) - ALL - along(evaporated=1, taken_out=1)
WATER = along(water_put_in=1) - along(water=1, water_in_solids=1, water_taken_out=1, evaporated=1)


@drawn(1000, 60)
@given(happens=st.lists(HAPPENS, max_size=9), recipe=st.sampled_from([STEW, SOUP]))
def test_mass_and_water_are_kept_in_every_story(happens: list[dict[str, Any]], recipe: Recipe) -> None:
    try:
        found = states(cooked(*happens, recipe=recipe), recipe)
    except BatchError as err:
        assert str(err).count("\n") == 0 and str(err).endswith(".")
        return
    scale = max(each.of("put_in") for each in found)
    for at in found:
        assert abs(PUT @ at.x) < 1e-9 * scale and abs(WATER @ at.x) < 1e-9 * scale
        assert np.linalg.eigvalsh(at.cov).min() > -1e-6 * max(np.abs(at.cov).max(), 1)
    weighing = ("weighed", "strained", "taken out")
    for earlier, later in itertools.pairwise(found):
        if later.moment is not None and later.moment.kind not in weighing:
            for name in ("water", "starch", "evaporated", "put_in", "fat", "liquid"):
                assert later.sum(along(**{name: 1.0}))[1] >= earlier.sum(along(**{name: 1.0}))[1] - 1e-7, (
                    name,
                    later.moment.text,
                )
            assert later.of("water") >= -3 or later.moment.kind == "put in"


def test_a_ladle_out_of_an_empty_pot_changes_nothing() -> None:
    pot = PotBalance()
    pot.take(2.0, "served")
    assert pot.state().x.sum() == 0


def test_additions_dilute_boiling_concentrates_and_a_ladle_changes_neither() -> None:
    found = sl.pot_states(
        cooked(
            read(), {"kind": "put in", "item": "water", "mass_g": 200}, {"kind": "held", "minutes": 30},
            {"kind": "taken out", "what": "served", "mass_g": 300},
        ),
        STEW,
    )  # fmt: skip
    before, wetter, boiled, served = (found.iloc[-n] for n in (4, 3, 2, 1))
    share = [row["starch_g"] / row["water_g"] for row in (before, wetter, boiled, served)]
    assert share[1] < share[0] and share[2] > share[1] and share[3] == pytest.approx(share[2])
    assert (
        wetter["sauce_g"] - before["sauce_g"] == pytest.approx(200) and wetter["dose_g_per_l"] < before["dose_g_per_l"]
    )
    assert served["dose_g_per_l"] == pytest.approx(boiled["dose_g_per_l"]) == pytest.approx(wetter["dose_g_per_l"]), (
        "nothing boiled off"
    )
    assert boiled["evaporated_g_sd"] > wetter["evaporated_g_sd"] and served["taken_out_g"] == 300


def test_a_strained_and_weighed_sauce_sets_the_liquid() -> None:
    """Liquid = sauce less thickener and melted fat, plus what has evaporated, in mL as its lines are; by hand."""
    late = [{"kind": "strained", "mass_g": 640}, {"kind": "put in", "line": 5}, read()]
    found = sl.pot_states(cooked(*late), STEW)
    strained, last = found[found["moment"].str.startswith("strained")].iloc[0], found.iloc[-1]
    assert strained["sauce_g"] == pytest.approx(640, abs=1e-9) and strained["sauce_g_sd"] == pytest.approx(0.02 * 640)
    fat = next(at.of("no_liquid") for at in states(cooked(*late), STEW) if at.moment and at.moment.kind == "strained")
    stock = STEW.ingredients[3]
    heavier_g = float(stock.mass_g or 0) - float(stock.volume_ml or 0)
    grams = 1000 * STEW.liquid_l + heavier_g
    liquid_l = (640 - fat + strained["evaporated_g"]) * STEW.liquid_l / grams
    assert last["dose_g_per_l"] == pytest.approx(30 / liquid_l) and last["dose_g_per_l_sd"] > 0
    held = inside(cooked(*late), STEW)
    assert (
        held is not None and held.liquid_l == pytest.approx(liquid_l) and held.water_g == pytest.approx(last["water_g"])
    )
    pot = cooked_pot(cooked(*late), {1: STEW}, None)
    assert pot.dose_g_per_l == pytest.approx(last["dose_g_per_l"]) and pot.counts, "the curve asks the same balance"
    assert found.iloc[-1]["sauce_g_sd"] < sl.pot_states(cooked(read()), STEW).iloc[-1]["sauce_g_sd"] / 5


def test_all_pieces_lifted_leave_the_sauce() -> None:
    story = [
        {"kind": "weighed", "mass_g": 3300, "tare_g": 1500},
        {"kind": "taken out", "what": "solids", "mass_g": 1000, "all_of_it": True},
    ]
    last = sl.pot_states(cooked(*story), STEW).iloc[-1]
    assert last["solids_g"] == pytest.approx(0, abs=1e-9) and last["sauce_g"] == pytest.approx(3300 - 1500 - 1000)
    assert last["sauce_g_sd"] == pytest.approx(3.0, rel=0.05), "as well as the scale knows the pot"


def test_two_weighings_need_no_tare_and_show_exactly_what_has_gone() -> None:
    story = [
        {"kind": "weighed", "mass_g": 4100},
        {"kind": "put in", "item": "water", "mass_g": 100},
        {"kind": "weighed", "mass_g": 3950},
    ]
    last = sl.pot_states(cooked(*story), STEW).iloc[-1]
    assert last["evaporated_g"] == pytest.approx(4100 + 100 - 3950) and last["evaporated_g_sd"] < 6
    known = sl.pot_states(cooked({"kind": "weighed", "mass_g": 3500, "tare_g": 1500, "pot": "big"}), STEW).iloc[-1]
    assert known["evaporated_g"] == pytest.approx(STEW.mass_g - 2000)


def test_two_masses_told_beside_moments_are_weighings_too() -> None:
    story = [
        read("before"),
        {"kind": "put in", "line": 5},
        {"kind": "taken out", "what": "served", "mass_g": 100},
        read(),
    ]
    batch = cooked(*story, pot_before_g=4000, pot_after_g=3750)
    found = inside(batch, STEW)
    assert found is not None and found.weighed and found.evaporated_g == pytest.approx(4000 - 100 - 3750)
    assert sl.pot_states(batch, STEW)["moment"].iloc[-2:].tolist() == ["weighed: 3750 g", "read: hot"]


def test_what_was_read_before_stands_before_the_thickener() -> None:
    found = sl.pot_states(cooked(read("before"), read()), STEW)
    first, last = (found[found["moment"] == f"read: {stage}"].iloc[0] for stage in ("before", "hot"))
    assert first["dose_g_per_l"] == 0 and first["starch_g"] == 0 < last["starch_g"]
    assert last["dose_g_per_l"] == pytest.approx(STEW.dose_g_per_l)
    short = Batch(title="x", version=1, cooked_on="2026-01-08", readings=[reading(0.1, stage="before"), reading(0.5)])
    assert sl.pot_states(short, STEW)["dose_g_per_l"].iloc[-1] == pytest.approx(STEW.dose_g_per_l)
    assert "starch_g" in found and len(cooked(read("before"), read()).readings) == 2, (
        "readings of moments are readings of the pot"
    )


def test_dry_goods_take_up_liquid_and_pieces_give_it() -> None:
    rice = Recipe(title="Rice", ingredients=["100 g rice [whole]", "1 kg water"], steps=["Simmer 12 minutes."])
    rice = rice.model_copy(
        update={"ingredients": (rice.ingredients[0].model_copy(update={"juice_g_per_g": -2}), rice.ingredients[1])}
    )
    last = states(Batch(title="Rice", version=1, cooked_on="2026-01-08"), rice)[-1]
    assert last.of("solids") == pytest.approx(300) and last.sum(SAUCE)[0] + last.of("evaporated") == pytest.approx(800)
    assert rice.liquid_l == pytest.approx(rice.poured_l - 0.2)


@pytest.mark.parametrize(
    ("moments", "said"),
    [
        ([{"kind": "taken out", "what": "served", "mass_g": 9000}], "9000 g of food was taken out of"),
        ([{"kind": "taken out", "what": "fat", "mass_g": 3000}], "3000 g of fat was taken out"),
        ([{"kind": "strained", "mass_g": 4000}], "A sauce of 4000 g came out of a pot that held"),
        ([{"kind": "weighed", "mass_g": 9000, "tare_g": 1500}], "g more than went into it"),
        ([{"kind": "put in", "line": 9}], "Line 9 was put in, but 'Shin of beef stew' has 6 lines"),
        (
            [{"kind": "put in", "line": 5}, read("before")],
            "stage 'before' comes after a thickener went in; move it above that",
        ),
        (
            [{"kind": "held", "minutes": 60}, {"kind": "taken out", "what": "fat", "mass_g": 500}],
            "500 g of fat was taken out of",
        ),
        ([{"kind": "put back", "mass_g": 100}], "100 g was put back, but 0 g was taken out"),
    ],
)
def test_a_story_that_cannot_be_is_told(moments: list[dict[str, Any]], said: str) -> None:
    with pytest.raises(BatchError, match="(?s)" + said.replace("(", r"\(")):
        sl.pot_states(cooked(*moments), STEW)


@pytest.mark.parametrize(
    ("moments", "said"),
    [
        ([{"kind": "strained", "mass_g": 0}], "0 g was strained"),
        ([{"kind": "strained", "volume_ml": 0}], "0 mL was strained: give what the scale showed"),
        ([{"kind": "strained"}], "strained needs grams or mL"),
        ([{"kind": "put back"}], "put back needs grams of what was lifted out"),
        ([{"kind": "taken out", "mass_g": 3}], "say what was taken out"),
        ([{"kind": "put in", "item": "water"}], "how much water was put in"),
        ([{"kind": "put in", "line": 2}, {"kind": "put in", "line": 2}], "line 2 is put in twice"),
        ([{"kind": "weighed", "mass_g": 900, "tare_g": 1500}], "nothing is in it"),
        (
            [{"kind": "held", "minutes": 5, "at": "12:40"}, {"kind": "held", "minutes": 5, "at": "12:10"}],
            "is at 12:10, before the one above",
        ),
        ([{"kind": "stirred"}], "kind"),
    ],
)
def test_a_moment_that_cannot_be_is_told(moments: list[dict[str, Any]], said: str) -> None:
    with pytest.raises(BatchError, match=said) as caught:
        cooked(*moments)
    assert "\n" not in str(caught.value)


def test_the_clock_starts_anew_after_a_night_in_the_cold() -> None:
    late, early = {"kind": "held", "minutes": 5, "at": "19:00"}, {"kind": "reheated", "minutes": 5, "at": "11:30"}
    batch = cooked(late, {"kind": "chilled"}, early)
    assert Batch.read(batch.model_dump(mode="json")) == batch and Moment(kind="held", minutes=5).text == "held: 5 min"


def test_midnight_is_no_disorder() -> None:
    late, early = {"kind": "held", "minutes": 15, "at": "23:50"}, {**read(), "at": "00:10"}
    assert [moment.text for moment in cooked(late, early).moments] == ["held: 15 min", "read: hot"]
    with pytest.raises(BatchError, match="is at 11:50, before the one above at 23:49"):
        cooked(late | {"at": "23:49"}, early | {"at": "11:50"})


def test_pieces_that_are_put_back_give_no_juice_again() -> None:
    lifted = [
        {"kind": "held", "minutes": 60},
        {"kind": "taken out", "what": "solids", "mass_g": 590},
        {"kind": "put in", "line": 5},
    ]
    before, after = (
        sl.pot_states(cooked(*lifted, *more), STEW).iloc[-1] for more in ([], [{"kind": "put back", "mass_g": 590}])
    )
    assert after["solids_g"] - before["solids_g"] == pytest.approx(590) and after["taken_out_g"] == pytest.approx(0)
    for name in ("dose_g_per_l", "sauce_g", "water_g", "put_in_g"):
        assert after[name] == pytest.approx(before[name]), name


def test_what_a_sieve_holds_back_went_in_and_is_no_steam() -> None:
    """Of a blended soup a quarter stays in the sieve: no gram of it was not put in, none boiled off, and its liquid is what was poured."""
    for lines in (
        ["450 g frozen peas", "720 g vegetable stock", "60 g spring onions"],
        ["3 cups frozen peas", "3 cups vegetable stock", "4 spring onions"],
    ):
        pea = Recipe(title="Pea soup", ingredients=lines, steps=["Simmer for 5 minutes.", "Blend and sieve."])
        before, after = (
            sl.pot_states(cooked({"kind": "held", "minutes": 3}, *more, recipe=pea), pea).iloc[-1]
            for more in ([], [{"kind": "strained", "mass_g": 880}])
        )
        assert after["sauce_g"] == pytest.approx(880) and after["put_in_g"] == pytest.approx(before["put_in_g"])
        assert after["evaporated_g"] == pytest.approx(before["evaporated_g"], abs=1)
        assert after["solids_g"] == pytest.approx(before["sauce_g"] - 880, abs=1)
        last = states(cooked({"kind": "held", "minutes": 3}, {"kind": "strained", "mass_g": 880}, recipe=pea), pea)[-1]
        assert last.of("liquid") / 1000 == pytest.approx(pea.liquid_l, rel=0.05)


def test_nothing_is_dosed_in_a_dough_at_any_moment_of_its_pot() -> None:
    """Its filling has starch and gives juice; neither is a dose."""
    galette = Recipe.from_text(DISHES["rhubarb_galette"], "uk")
    assert galette.kind == "dough" and galette.thickener_g > 0
    starch = next(n for n, line in enumerate(galette.ingredients, 1) if line.part == "thickener")
    found = sl.pot_states(
        cooked(
            {"kind": "put in", "line": starch, "mass_g": 9},
            {"kind": "weighed", "mass_g": 2000, "tare_g": 1000},
            {"kind": "held", "minutes": 40},
            {"kind": "weighed", "mass_g": 1900, "tare_g": 1000},
            recipe=galette,
        ),
        galette,
    )
    assert (found[["dose_g_per_l", "dose_g_per_l_sd"]] == 0).all(axis=None) and found["starch_g"].iloc[-1] > 0
