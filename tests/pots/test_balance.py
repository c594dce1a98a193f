"""The mass balance against what a scale shows: repeated weighings, several pots, ladles, late heat, masses below none, forecasts that end."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import spoonline as sl
from pots.pots import contents, inside, reading
from spoonline.measures.errors import BatchError
from spoonline.pots import Batch
from spoonline.pots.balance import ALL, AT, SAUCE, PotBalance, along, states
from spoonline.recipes import Recipe

WHITE = Recipe(
    title="White sauce", ingredients=["1000 g whole milk", "60 g plain flour", "60 g butter"], steps=["Simmer 20 minutes."]
)  # fmt: skip
STEW = Recipe(
    title="Stew", ingredients=["1 kg stewing beef", "500 g beef stock", "25 g corn starch"], steps=["Cover and simmer for 2 hours."]
)  # fmt: skip
SOUP = Recipe(title="Thin soup", ingredients=["1000 g water", "30 g corn starch"], steps=["Cook."])
HOT = {"kind": "held", "minutes": 0, "temperature_c": 95}


def batch(recipe: Recipe, *moments: dict[str, Any], **more: Any) -> Batch:
    return Batch(title=recipe.title, version=1, cooked_on="2026-01-08", moments=moments, **more)


def last(recipe: Recipe, *moments: dict[str, Any], **more: Any) -> Any:
    return sl.pot_states(batch(recipe, *moments, **more), recipe).iloc[-1]


def weighed(mass_g: float, **more: Any) -> dict[str, Any]:
    return {"kind": "weighed", "mass_g": mass_g, **more}


def strained(mass_g: float) -> dict[str, Any]:
    return {"kind": "strained", "mass_g": mass_g}


def served(mass_g: float) -> dict[str, Any]:
    return {"kind": "taken out", "what": "served", "mass_g": mass_g}


@pytest.mark.parametrize("tare", [{}, {"tare_g": 1000}])
@pytest.mark.parametrize("between", [[], [{"kind": "held", "minutes": 20, "temperature_c": 98}]])
def test_however_often_a_pot_is_weighed_what_has_gone_is_first_less_last(
    tare: dict[str, Any], between: list[dict[str, Any]]
) -> None:
    for masses in ((2120, 2090), (2120, 2090, 2060, 2030), range(2120, 1990, -10)):
        story = [each for mass in masses for each in (weighed(mass, **tare), *between)]
        found = last(WHITE, *story[: len(story) - len(between)])
        assert found["evaporated_g"] == pytest.approx(2120 - masses[-1]) and found["put_in_g"] == pytest.approx(1120)
        assert found["sauce_g"] == pytest.approx(masses[-1] - 1000)
        assert found["evaporated_g_sd"] == pytest.approx(3 * 2**0.5, rel=0.02), "two readings of one scale"
    beef = Recipe(title="Beef", ingredients=STEW.ingredients[:2], steps=STEW.steps)
    five = last(beef, *(weighed(mass, **tare) for mass in (2500, 2470, 2440, 2410, 2380)))
    assert (five["put_in_g"], five["evaporated_g"]) == pytest.approx((1500, 120))


def test_a_weighing_after_a_straining_leaves_the_sauce_as_strained() -> None:
    """The scale says how much has gone; that more has gone than was forecast means more juice, not less sauce."""
    found = last(STEW, weighed(2525), strained(700), weighed(2275))
    assert found["evaporated_g"] == pytest.approx(250) and found["sauce_g"] == pytest.approx(700, abs=14)
    assert last(STEW, weighed(2525), strained(700), weighed(2275), weighed(2245))["sauce_g"] == pytest.approx(
        found["sauce_g"] - 30
    )


def test_another_pot_has_another_tare() -> None:
    alone = last(SOUP)
    moved = last(SOUP, weighed(2030, pot="big"), weighed(1500, pot="small"))
    assert moved["evaporated_g"] == pytest.approx(alone["evaporated_g"]), "as forecast: no pot was weighed twice"
    held = inside(batch(SOUP, weighed(2030, pot="big"), weighed(1500, pot="small")), SOUP)
    assert held is not None and not held.weighed
    both = last(SOUP, *(weighed(m, pot=p) for m, p in ((2030, "big"), (2000, "big"), (1500, "small"), (1480, "small"))))
    assert both["evaporated_g"] == pytest.approx(50)
    unnamed = last(SOUP, weighed(2030, pot="big"), weighed(2000))
    assert unnamed["evaporated_g"] == pytest.approx(30), "the pot that was weighed last"
    assert last(SOUP, weighed(2030), weighed(2000, pot="big"))["evaporated_g"] == pytest.approx(30)
    tared = last(SOUP, weighed(2030, pot="big", tare_g=1000), weighed(1990))
    assert tared["evaporated_g"] == pytest.approx(40), "and its tare"


def test_heat_after_a_straining_or_a_reading_adds_to_the_cooking() -> None:
    cooked = last(STEW, strained(700))
    later = last(STEW, strained(700), {"kind": "held", "minutes": 2, "temperature_c": 98})
    assert cooked["evaporated_g"] > 100
    assert later["evaporated_g"] == pytest.approx(cooked["evaporated_g"] + 2 * 1.7)
    read = {"kind": "read", "reading": reading(0.5)}
    told = {"kind": "held", "minutes": 120, "temperature_c": 98}
    assert last(STEW, read, {**told, "minutes": 10})["evaporated_g"] == pytest.approx(204 + 17)
    assert last(STEW, told, read)["evaporated_g"] == pytest.approx(204), "the cooking itself, once"
    warm = last(STEW, {**told, "temperature_c": 65})
    assert warm["evaporated_g"] == pytest.approx(204 + 120 * 0.18), "kept warm, not cooked"
    assert last(STEW, {**told, "temperature_c": 0})["evaporated_g"] == pytest.approx(204), "cold is no cooking"


def test_no_mass_is_below_none() -> None:
    """Less fat than none within what is known of it is none; far below is a fault."""
    duck = Recipe(
        title="Duck", ingredients=["1 kg duck legs", "500 g chicken stock", "20 g corn starch"], steps=["Cover and simmer 1 hour."]
    )  # fmt: skip
    for mass in (450, 350):
        found = states(batch(duck, strained(mass)), duck)[-1]
        # what is missing stayed with the pieces, its share of the fat too
        assert 0 <= found.of("fat") < 0.5 * mass and found.sum(SAUCE)[0] == pytest.approx(mass, abs=1)
    assert np.linalg.eigvalsh(found.cov).min() > -1e-6
    gone = along(evaporated=1, taken_out=1)
    assert (ALL + gone) @ found.x == pytest.approx(found.of("put_in"), rel=1e-12)
    with pytest.raises(BatchError, match=r"A sauce of 10 g came out of a pot with \d+ g of it; check the masses"):
        last(SOUP, strained(10))
    for mass in range(50, 900, 50):
        try:
            rows = sl.pot_states(batch(duck, strained(mass), strained(0.6 * mass)), duck)
        except BatchError:
            continue
        named = rows[[name for name in rows if name.endswith("_g") or name == "dose_g_per_l"]]
        assert (named.drop(columns="evaporated_g") >= 0).all(axis=None), mass


def test_a_forecast_ends_where_the_water_does() -> None:
    """Nobody weighed these pots, so nobody can have made a mistake."""
    creamy = Recipe(
        title="Creamy", ingredients=["1 kg beef", "200 g double cream", "5 g corn starch"], steps=["Boil for 5 h."]
    )
    for recipe, story in (
        (creamy, []),
        (SOUP, [{"kind": "held", "minutes": 5000}]),
        (SOUP, [{"kind": "held", "minutes": 300}] * 5),
    ):
        found = states(batch(recipe, *story), recipe)[-1]
        assert found.of("water") > 0 and found.sum(along(evaporated=1))[1] <= found.of("put_in")
    cream = Recipe(title="Cream", ingredients=["900 g butter", "60 g water", "5 g corn starch"], steps=["Simmer."])
    assert contents(cream).water_g > 0
    with pytest.raises(BatchError, match=r"950 g evaporated of 100\d g of water; check the two masses"):
        states(batch(SOUP, weighed(3000, tare_g=None), weighed(2050)), SOUP)


def test_a_pot_that_is_served_to_the_end_is_no_fault() -> None:
    for ladles in ([968], [241] * 4, [500, 462]):
        found = states(batch(SOUP, *map(served, ladles)), SOUP)[-1]
        assert found.of("taken_out") == pytest.approx(sum(ladles), abs=1)
    assert found.dose_g_per_l == pytest.approx(SOUP.dose_g_per_l), "the last drop is as the first"
    empty = states(batch(SOUP, HOT, served(1030)), SOUP)[-1]
    assert np.isnan(empty.dose_g_per_l) and empty.sum(SAUCE)[0] == pytest.approx(0, abs=1e-9)
    assert last(SOUP, weighed(2030), weighed(1230))["evaporated_g"] == pytest.approx(800), "boiled down to a glaze"
    with pytest.raises(BatchError, match="930 g evaporated of"):
        last(SOUP, weighed(2030), weighed(1100))


def test_thickener_and_liquid_leave_with_the_ladle() -> None:
    """Half of 30 g in a litre is ladled out and half a litre of water put in: 15 g in a litre."""
    half = [HOT, served(515)]
    water, starch = (
        {"kind": "put in", "item": item, "mass_g": mass} for item, mass in (("water", 500), ("corn starch", 10))
    )
    assert last(SOUP, *half)["dose_g_per_l"] == pytest.approx(SOUP.dose_g_per_l)
    assert last(SOUP, *half, water)["dose_g_per_l"] == pytest.approx(SOUP.dose_g_per_l / 2, rel=2e-3)
    assert last(SOUP, *half, starch)["dose_g_per_l"] == pytest.approx(SOUP.dose_g_per_l * 25 / 15)
    assert last(SOUP, *half, water, strained(1015))["dose_g_per_l"] == pytest.approx(SOUP.dose_g_per_l / 2, rel=2e-3)
    boiled = {"kind": "held", "minutes": 20, "temperature_c": 98}
    late = last(SOUP, boiled, served(440), boiled, strained(290))
    assert late["dose_g_per_l"] == pytest.approx(SOUP.dose_g_per_l)
    left = states(batch(SOUP, boiled, served(440)), SOUP)[-1]
    assert left.of("boiled_off") == pytest.approx(75), "half of what boiled off left with the ladle"


def test_a_sauce_strained_as_forecast_keeps_its_dose() -> None:
    """A litre of milk weighs 1030 g, and sugar is no liquid."""
    for lines in (["1 l whole milk", "60 g plain flour"], ["1 l whole milk", "40 g corn starch", "100 g sugar"]):
        sauce = Recipe(title="Sauce", ingredients=lines)
        before = last(sauce)
        after = last(sauce, strained(round(before["sauce_g"], 1)))
        assert after["dose_g_per_l"] == pytest.approx(before["dose_g_per_l"], rel=1e-3)
    carrots = Recipe(
        title="Carrots", ingredients=["1 l whole milk", "500 g carrots [whole]", "30 g corn starch", "100 g butter"]
    )
    first, strain = (states(batch(carrots, HOT, *more), carrots)[-1] for more in ([], [strained(1080)]))
    # By hand: neither the 30 g of starch nor the 100 g of butter is liquid.
    flows = [each.sum(SAUCE)[0] - 130 + each.of("boiled_off") for each in (first, strain)]
    assert strain.of("liquid") == pytest.approx(first.of("liquid") * flows[1] / flows[0], rel=1e-5)
    thicker = last(sauce, strained(round(0.9 * before["sauce_g"], 1)))
    assert thicker["dose_g_per_l"] > before["dose_g_per_l"], "less came out than was forecast"


@pytest.mark.parametrize(
    ("item", "fact"),
    [
        ("2 tbsp butter", "butter"),
        ("100 g butter", "butter"),
        ("butter, melted", "butter"),
        ("100 ml double cream", "double cream"),
    ],
)
def test_the_grams_of_what_was_put_in_rule_whatever_stands_in_its_words(item: str, fact: str) -> None:
    found = last(SOUP, HOT, {"kind": "put in", "item": item, "mass_g": 30, "sd_g": 4})
    plain = last(SOUP, HOT, {"kind": "put in", "item": fact, "mass_g": 30, "sd_g": 4})
    assert found["put_in_g"] == pytest.approx(1060) and found["put_in_g_sd"] == pytest.approx(4, rel=0.02)
    assert found["fat_g"] == pytest.approx(plain["fat_g"]) and found["fat_g"] > 8


def test_a_sauce_may_weigh_a_little_more_than_its_pot_but_not_much() -> None:
    """Its film and its volume are good to 2 %."""
    found = last(SOUP, HOT, strained(1060))
    assert found["sauce_g"] == pytest.approx(1060) and found["solids_g"] == 0 == found["evaporated_g"]
    with pytest.raises(BatchError, match="A sauce of 1150 g came out of a pot that held 1030 g"):
        last(SOUP, HOT, strained(1150))


def test_wrong_fields_are_told_in_plain_words() -> None:
    for given, said in (
        ([HOT] * 501, "500 at most are taken, and 501 came."),
        (["abc"], "moments 1: the fields of a Moment are wanted, each with its name ('abc' came)."),
        ("abc", "moments: a list is wanted ('abc' came)."),
        ([weighed(-5)], "0 or more is wanted (-5 came)."),
        ([weighed(float("nan"))], "how much, g: nan came where a finite number is wanted."),
    ):
        with pytest.raises(BatchError) as caught:
            Batch(title="x", version=1, cooked_on="2026-01-08", moments=given)
        assert str(caught.value).endswith(said)


def test_what_is_below_none_by_chance_is_none_and_by_far_is_refused() -> None:
    """Melted fat good to 15 g: 40 g less than none is within four times that, and stays in the pieces; 70 g is not."""
    melts = along(fat=1, solids=-1)
    for fat, refused in ((-40, False), (-70, True)):
        pot = PotBalance()
        pot.x, pot.cov = along(water=1000, solids=500, fat=fat, put_in=1500 + fat), 15**2 * np.outer(melts, melts)
        if refused:
            with pytest.raises(BatchError, match="leaves 70 g less than no fat in the pot; check the masses"):
                pot._none_less()
        else:
            pot._none_less()
            assert (pot.x[AT["fat"]], pot.x[AT["solids"]]) == pytest.approx((0, 460))
