"""One registry, pint quantities at the doors, and the decimal mark of each kitchen."""

from __future__ import annotations

import subprocess
import sys
import threading
from contextvars import copy_context

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import spoonline as sl
from spoonline.facts import read_line
from spoonline.measures import AmountError, number, parse_amount, plain, round_volume, unit, unit_in, written
from spoonline.measures.local import write_decimals_with
from spoonline.measures.units import GROUPS, SPELLINGS, _read

Q = sl.units.Quantity


def test_the_registry_knows_every_kitchen() -> None:
    assert sl.units("1 cup_au").to("ml").magnitude == pytest.approx(250)
    assert sl.units("3 tbsp").to("ml").magnitude == pytest.approx(3 * 14.78676478125)
    assert sl.units("1 pint_uk").to("l").magnitude == pytest.approx(0.56826125)
    assert str(sl.units("2 tins").units) == "can", "not a tera-inch"
    assert str(sl.units("1 pinch").units) == "pinch", "not a pico-inch"
    with pytest.raises(pint.DimensionalityError):
        sl.units("1 handful").to("g")


def test_registry_and_grammar_read_one_file() -> None:
    for own, group in GROUPS.items():
        name = own.removesuffix(f"_{group}").replace("_", " ")
        found = unit(name, group if group in ("us", "label", "metric", "uk", "au") else "us")
        if found.size is not None:
            inside = {"mass": "g", "length": "cm"}.get(found.kind, "ml")
            assert Q(1.0, own).to(inside).magnitude == pytest.approx(found.size, rel=1e-14)
    for spelling, name in SPELLINGS.items():
        if name in ("tbsp", "tsp", "cup", "pint", "gill", "quart", "gallon", "handful", "can", "leaf"):
            assert sl.units.get_name(spelling.replace(" ", "_")), spelling


def test_a_new_measure_is_one_row() -> None:
    spellings, groups = _read("@group uk\n    noggin_uk = pint_uk / 4 = _ = noggins = small_gill  # memory\n@end\n")
    assert spellings == {"noggin": "noggin", "noggins": "noggin", "small gill": "noggin"} and groups == {
        "noggin_uk": "uk"
    }


def test_importing_the_kit_makes_no_registry() -> None:
    code = "import sys, spoonline, spoonline.recipes; print('pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize("grams", [0.3, 12.0, 31.7, 480.0, 2500.0])
def test_a_quantity_and_a_float_give_the_same(grams: float) -> None:
    for given_as in (Q(grams, "g"), Q(grams / 1000, "kg"), Q(grams / 453.59237, "lb")):
        assert sl.household(given_as, "corn starch").text == sl.household(grams, "corn starch").text
        assert sl.grams(given_as, "corn starch").mass_g == pytest.approx(grams)


def test_a_kitchens_own_spoon_keeps_its_spread() -> None:
    assert sl.grams(sl.units("3 tbsp_au"), "corn starch") == sl.grams("3 tbsp", "corn starch", "au")
    assert sl.grams(sl.units("2 cup_us"), "wheat flour") == sl.grams("2 cups", "wheat flour")
    assert sl.grams(sl.units("0.5 l"), "water") == sl.grams("500 ml", "water")
    assert sl.grams(sl.units("1 can"), "canned chickpeas").mass_g == sl.grams("1 can", "canned chickpeas").mass_g
    another = pint.UnitRegistry()
    assert sl.grams(another.Quantity(2, "kg"), "water").mass_g == 2000


@pytest.mark.parametrize(
    "door",
    [
        lambda: (sl.Ring(Q(35, "mm"), 2.0, Q(1 / 6, "min")), sl.Ring(3.5, 2.0, 10.0)),
        lambda: (sl.Ring(3.5, 2.0, 10.0).fluid(Q(68, "mm")), sl.Ring(3.5, 2.0, 10.0).fluid(6.8)),
        lambda: (sl.Slump(2.5, 4.0).yield_stress_pa(Q(64.7, "mm"), Q(1.05, "g/ml")), sl.Slump(2.5, 4.0).yield_stress_pa(6.47)),
        lambda: (sl.Fluid(Q(5, "Pa * s**0.5"), 0.5, Q(1.05, "kg/l")), sl.Fluid(5.0, 0.5)),
        lambda: (sl.Fluid(5.0, 0.5).viscosity(Q(3000, "1/min")), sl.Fluid(5.0, 0.5).viscosity(50)),
        lambda: (sl.Target(viscosity_pa_s=1, temperature_c=Q(140, "degF")), sl.Target(viscosity_pa_s=1, temperature_c=60)),
        lambda: (sl.Target(viscosity_pa_s=Q(400, "mPa s")), sl.Target(viscosity_pa_s=0.4)),
        lambda: (sl.Pan(name="pot", tare_g=Q(2.15, "kg"), diameter_cm=Q(28, "cm")), sl.Pan(name="pot", tare_g=2150, diameter_cm=28)),
        lambda: (sl.OwnTrim(item="parsnip", whole_g=Q(0.8, "kg"), trimmed_g=660), sl.OwnTrim(item="parsnip", whole_g=800, trimmed_g=660)),
    ],
)  # fmt: skip
def test_every_door_takes_a_quantity(door) -> None:
    with_quantity, with_float = door()
    if isinstance(with_quantity, float):
        assert with_quantity == pytest.approx(with_float)
    elif isinstance(with_quantity, (sl.Ring, sl.Fluid)):
        assert np.allclose(list(vars(with_quantity).values()), list(vars(with_float).values()))
    else:
        assert with_quantity == with_float


def test_records_curves_and_scaling_take_quantities() -> None:
    size = {"length_cm": Q(80, "mm"), "width_cm": 10, "seconds": Q(10, "s")}
    reading = sl.Reading(tool="spatula", settings=size, values=[Q(1900, "mg"), 2.1], temperature_c=Q(140, "degF"))
    assert reading.mean == pytest.approx(2.0) and reading.temperature_c == 60 and reading.settings["length_cm"] == 8
    spoon = sl.OwnSpoon(item="corn starch", measure="1 heaped tbsp", masses_g=Q([12, 15, 11], "g"))
    assert spoon.spoon.mean_g == pytest.approx(38 / 3)
    plain_curve = sl.DoseCurve.fit([20, 30, 40], [0.12, 0.40, 0.90])
    curve = sl.DoseCurve.fit(Q([2, 3, 4], "g/dl"), [Q(120, "mPa s"), Q(400, "mPa s"), Q(0.9, "Pa s")])
    assert curve.dose_for(Q(500, "mPa s")) == pytest.approx(plain_curve.dose_for(0.5))
    soup = sl.Recipe(title="Soup", ingredients=["1 l vegetable stock", "28 g corn starch"])
    assert soup.scaled(liquid_l=Q(4, "pint_uk")).liquid_l == pytest.approx(4 * 0.56826125, rel=1e-4)
    assert "there" in sl.shopping_list(soup, in_store={"corn starch": Q(1, "oz")}).text


@pytest.mark.parametrize(
    ("door", "words"),
    [
        (lambda: sl.household(Q(12, "ml"), "corn starch"), "mass_g came as 12 milliliter; a figure in g is wanted"),
        (lambda: sl.Ring(Q(3, "g"), 2, 10), "radius_cm came as 3 gram; a figure in cm"),
        (lambda: sl.Ring(3.5, 2, 10).fluid(Q(6, "g")), "reading came as 6 gram; a figure in cm"),
        (lambda: sl.Pan(name="pot", tare_g=Q(2, "l")), "tare_g came as 2 liter; a figure in g"),
        (lambda: sl.DoseCurve.fit(Q([20], "g"), [0.1]), r"dose_g_per_l came as \[20\] gram; a figure in g/L"),
        (lambda: sl.DoseCurve.fit([20], [0.1], relative_error=Q(1, "g")), "relative_error came as 1 gram; a figure without a unit"),
        (lambda: sl.grams(Q(3, "cm"), "water"), "amount came as 3 centimeter"),
        (lambda: sl.grams(Q(-3, "g"), "water"), "from 0 up"),
    ],
)  # fmt: skip
def test_a_quantity_of_another_kind_gets_one_sentence(door, words: str) -> None:
    with pytest.raises(ValueError, match=words) as caught:
        door()
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 250


def test_the_fix_that_is_shown_works() -> None:
    with pytest.raises(AmountError) as caught:
        plain(Q(1, "cm"), "kg/m3", "density")
    shown = str(caught.value).partition("sl.units('")[2].partition("'")[0]
    assert plain(sl.units(shown), "kg/m3") == 3


def test_names_say_their_units() -> None:
    assert unit_in("spread_percent") == unit_in("n") == unit_in("s") == unit_in("tools") == ""
    assert (unit_in("was_minutes"), unit_in("masses_g"), unit_in("viscosity_pa_s_high")) == ("min", "g", "Pa s")


@pytest.mark.parametrize(
    "text", ["1.250 g", "10.000 g", "1,250 g", "1,250 ml", "2 x 1.250 g tins", "1.250-1.500 g", "1.250 cl"]
)
def test_a_figure_that_could_be_thousands_is_asked_both_ways(text: str) -> None:
    with pytest.raises(AmountError, match="thousands or decimals") as caught:
        parse_amount(text)
    both = [parse_amount(part.strip(" .")) for part in str(caught.value).partition("Write ")[2].split(", or ")]
    assert both[0].value == pytest.approx(1000 * both[1].value), "each way it shows can be typed"
    line = read_line(f"{text} flour")
    assert line.mass is None and "thousands or decimals" in line.notes[0]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.125 l", 0.125), ("1,250.5 g", 1250.5), ("1.250,5 g", 1250.5), ("1,250,000 mg", 1.25e6), ("1250 g", 1250), ("1.25 g", 1.25),
        ("1.250 kg", 1.25), ("1,250 kg", 1.25), ("1.500 l", 1.5), ("1.125 cups", 1.125), ("1,125 tbsp", 1.125), ("1.125 oz", 1.125),
        ("1.2500 g", 1.25), ("1.125", 1.125), ("1.125 cm", 1.125),
    ],
)  # fmt: skip
def test_a_figure_with_one_sensible_reading_is_read(text: str, value: float) -> None:
    assert parse_amount(text).value == value


@settings(deadline=None)  # the first one makes the registry
@given(st.floats(0.001, 99999), st.sampled_from(["g", "ml", "kg", "cup", ""]))
def test_what_the_kit_writes_reads_back(value: float, name: str) -> None:
    assert parse_amount(f"{written(value)} {name}".strip()).value == pytest.approx(value, rel=1e-5)


def test_a_reading_does_not_outlive_the_decimal_mark() -> None:
    def kitchen(mark: str) -> list[object]:
        write_decimals_with(mark)
        with_grams = read_line("1,250 g flour")
        return [with_grams.mass and with_grams.mass.mass_g, parse_amount("1,5 l").value]

    for _ in range(2):  # the second time round everything is cached
        assert copy_context().run(kitchen, ".") == [None, 1.5]
        assert copy_context().run(kitchen, ",") == [1.25, 1.5]
    assert parse_amount("1,250 g", decimal=",").value == 1.25
    with pytest.raises(AmountError):
        parse_amount("1,250 g")
    with pytest.raises(AmountError, match="thousands"):
        parse_amount("1.250 g", decimal=",")
    with pytest.raises(AmountError, match="thousands"):
        number("1.250", decimal=",")


def test_two_kitchens_in_two_threads_do_not_mix() -> None:
    found: dict[str, list[object]] = {".": [], ",": []}
    both = threading.Barrier(2)

    def cook(mark: str) -> None:
        write_decimals_with(mark)
        for n in range(100, 120):
            both.wait(5)
            mass = read_line(f"1,{n} g flour").mass
            found[mark].append(mass and round(mass.mass_g, 3))

    threads = [threading.Thread(target=cook, args=(mark,)) for mark in found]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert found == {".": [None] * 20, ",": [round(1 + n / 1000, 3) for n in range(100, 120)]}


def test_rounding_takes_its_sizes_from_the_registry() -> None:
    for system in ("us", "metric", "uk", "au"):
        size = Q(1.0, f"tbsp_{system}").to("ml").magnitude
        assert round_volume(size, system).text == "1 tbsp"
