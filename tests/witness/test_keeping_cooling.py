"""Cooling against textbook coefficients, worked chart examples, the Food Code and published measurements."""

from __future__ import annotations

import csv
import math
from datetime import date

import numpy as np
import pytest

from keeping.series import cylinder, cylinder_roots, slab, slab_roots
from spoonline.keeping import (
    SURROUNDINGS,
    Container,
    Food,
    Grid,
    Surroundings,
    cooling_rules,
    forecast,
    last_days,
    read_readings,
    studies,
    two_point,
    verdict,
)
from spoonline.measures.ranges import Range
from witness.test_usda_tables import HELD

pytestmark = pytest.mark.kind("published")

CODE = cooling_rules()["US model Food Code"]
THICK = Food(0.56, 1000.0, 4000.0)  # diffusivity 1.40e-7


def middle(
    grid: Grid, seconds: float, h: tuple[float, float, float], conductivity: float = 1.0, heat: float = 1.0
) -> float:
    """Excess temperature of the slowest point, as a share of that at the start."""
    return float(grid.run(1.0, 0.0, np.array([seconds]), h, conductivity, heat).max())


def air(h: float, celsius: float) -> Surroundings:
    return Surroundings("air", celsius, Range(h, h, h))


def one_term(biot: float, shape: str) -> tuple[float, float]:
    """First root and its weight at the middle, from spoonline's own series of one term at a late time."""
    late = np.array([3.0])
    if shape == "slab":
        z = slab_roots(0.0, biot)[0]
        return z, float(slab(late, 0.0, biot, np.array([0.0]), 1)[0, 0] * math.exp(z**2 * 3))
    z = cylinder_roots(biot)[0]
    return z, float(cylinder(late, biot, 1)[0] * math.exp(z**2 * 3))


# A heat-transfer text's Table 4-2 (read): root and coefficient
@pytest.mark.parametrize(
    ("biot", "shape", "root", "weight"), [(1, "slab", 0.8603, 1.1191), (1, "cylinder", 1.2558, 1.2071),
                                          (10, "slab", 1.4289, 1.2620), (10, "cylinder", 2.1795, 1.5677)],
)  # fmt: skip
def test_one_term_textbook(biot: float, shape: str, root: float, weight: float) -> None:
    found = one_term(biot, shape)
    assert found == (pytest.approx(root, abs=5e-5), pytest.approx(weight, abs=1e-4))


@pytest.mark.kind("computed")
def test_one_term_whole_table() -> None:
    with (HELD / "heat_one_term.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            for shape in ("slab", "cylinder"):
                root, weight = one_term(float(row["Bi"]), shape)
                assert root == pytest.approx(float(row[f"{shape}_zeta"]), abs=6e-5)
                assert weight == pytest.approx(float(row[f"{shape}_A"]), abs=6e-5)


@pytest.mark.kind("computed")
def test_fixed_surface_limit() -> None:
    # Worked out from the series of Carslaw and Jaeger.
    # Fixed surface temperature, centre of a slab at Fo 0.2 (half thickness): 0.7723; axis of a cylinder: 0.5015
    assert slab(np.array([0.2]), 0.0, 1e6, np.array([0.0]))[0, 0] == pytest.approx(0.7723, abs=2e-4)
    assert cylinder(np.array([0.2]), 1e6)[0] == pytest.approx(0.5015, abs=2e-4)
    # the kit's own grid: the cells show in the fourth digit
    wide, long = Grid(2.0), Grid(1.0, 1.0)
    assert middle(wide, 0.2, (1e6, 1e6, 0.0)) == pytest.approx(0.7723, abs=2e-3)
    assert middle(long, 0.2, (0.0, 0.0, 1e6)) == pytest.approx(0.5015, abs=2e-3)


@pytest.mark.kind("memory")
def test_plate_by_heisler_chart() -> None:
    # Large brass plate 4 cm thick from 20 C in an oven at 500 C, h 120, k 110, alpha 33.9e-6, 7 min: surface 282 C (a worked
    # example of one-term and Heisler charts in heat-transfer texts; memory). 1/Bi = 45.8, Fo = 35.6.
    plate = Grid(0.04).run(20.0, 500.0, np.array([420.0]), (120.0, 120.0, 0.0), 110.0, 110 / 33.9e-6)
    assert plate[0, 0, 0] == pytest.approx(282, abs=3)


@pytest.mark.kind("memory")
def test_short_cylinder_by_product() -> None:
    # Short brass cylinder, 10 cm across, 12 cm high, 120 C into air at 25 C, h 60, k 110, alpha 33.9e-6, 15 min: theta of the
    # plane 0.8, of the cylinder 0.5, product 0.4, centre 63 C read from charts (a worked example of such texts; memory).
    brass = {"conductivity": 110.0, "heat": 110 / 33.9e-6}
    plane = middle(Grid(0.12), 900.0, (60.0, 60.0, 0.0), **brass)
    axis = middle(Grid(1.0, 0.05), 900.0, (0.0, 0.0, 60.0), **brass)
    assert plane == pytest.approx(0.8, abs=0.04)
    assert axis == pytest.approx(0.5, abs=0.03)
    both = middle(Grid(0.12, 0.05), 900.0, (60.0, 60.0, 60.0), **brass)
    assert both == pytest.approx(plane * axis, rel=1e-9)
    assert 25 + 95 * both == pytest.approx(63, abs=2.5)


# Computed by another hand with one term, k 0.56, alpha 1.40e-7, both faces, 3 C: depth cm, h, hours to 21 and to 5 C (F52 first)
@pytest.mark.parametrize(
    ("depth", "h", "to_21", "to_5", "off"),
    [(2.54, 15, 1.20, 3.51, 0.02), (2.5, 8, 2.1, 6.1, 0.06), (2.5, 25, 0.8, 2.2, 0.06), (2.5, 60, 0.4, 1.2, 0.06),
     (5.1, 8, 4.6, 13.3, 0.1), (5.1, 25, 1.9, 5.4, 0.1), (5.1, 60, 1.2, 3.3, 0.1), (7.6, 15, 4.7, 13, 0.5), (7.6, 60, 2.3, 6.3, 0.1),
     (10.2, 25, 5.3, 14, 0.5)],
)  # fmt: skip
@pytest.mark.kind("computed")
def test_cooling_table(depth: float, h: float, to_21: float, to_5: float, off: float) -> None:
    took = forecast(THICK, Container(depth), [(air(h, 3.0), None)], start_c=57.0).hours
    assert took[0].best == pytest.approx(to_21, abs=off)
    assert took[1].best == pytest.approx(to_5, abs=off)


@pytest.mark.kind("computed")
def test_lumped_limits() -> None:
    # F45: 2/ln(54/18) = 6/ln(54/2) = 1.8205 h with 3 C air; F46: 6/ln(53/1) = 1.5112 h with 4 C; never with 5 C
    # One temperature throughout: the time constant goes with the depth, so the deepest pot that meets has the largest.
    def chance(depth_cm: float, celsius: float) -> str:
        pot = Container(depth_cm, on_rack=False)
        return forecast(THICK, pot, [(air(50.0, celsius), None)], start_c=57.0, stirred_pa_s=0.001).chance

    # heat held over heat lost through the top, at the weakest and the strongest transfer from water to a wall (160 to 1000 W/m2 K)
    slow, quick = (4.0e6 * 0.01 * (1 / 50 + 1 / inside) / 3600 for inside in (160, 1000))
    for celsius, tau_h in ((3.0, 1.8205), (4.0, 1.5112)):
        assert chance(0.995 * tau_h / slow, celsius) == "meets"
        assert chance(1.005 * tau_h / slow, celsius) == "may miss"
        assert chance(0.995 * tau_h / quick, celsius) == "may miss"
        assert chance(1.005 * tau_h / quick, celsius) == "misses"
    assert chance(5.0, 5.0) == "misses"


def test_verdict_and_dates_of_the_code() -> None:
    # F38: 57 C at 0 h, 21 C at 1.9 h, 5 C at 5.9 h under 3-501.14; F41: prepared 2024-10-01, day 7 is 2024-10-07 (Minn. R. 4626.0400)
    readings = [(float(each.minutes), float(each.temperature_c)) for each in read_readings("0 57\n114 21\n354 5")]
    assert verdict(readings, CODE) == "meets both stages"
    retail = next(each for each in last_days(date(2024, 10, 1)).limits if each.days == 7)
    assert retail.last == date(2024, 10, 7)
    assert last_days(date(2024, 10, 1)).last == date(2024, 10, 3)


@pytest.mark.kind("computed")
def test_two_point_rate() -> None:
    # F43: 135 to 70 F in 2 h with 37 F: 0.236 log10/h (form of Hedeen, Schaffner and Brown 2022; number computed)
    c = [(each - 32) / 1.8 for each in (135, 70, 37)]
    assert two_point((0, c[0]), (120, c[1]), c[2]).rate_log10_per_h == pytest.approx(0.236, abs=0.001)


def test_time_goes_with_size_squared() -> None:
    # F56: Dickerson and Read: time ~ dimension squared where conduction limits (fixed surface temperature)
    fixed = air(5e4, 0.5)
    one, two = (forecast(THICK, Container(depth), [(fixed, None)], start_c=57.0).hours[1].best for depth in (3.0, 6.0))
    assert two / one == pytest.approx(4.0, abs=0.03)


def test_fourteen_gallon_stew_is_slower_than_the_model() -> None:
    # F54: Dickerson and Read: 14 gal of beef stew 115 to 50 F took 84 h; short-cylinder models give 37 to 70 h
    size = (4 * 14 * 3.785412e-3 / math.pi) ** (1 / 3)
    hours = np.linspace(0.5, 200, 2000)
    pot, took = Grid(size, size / 2), []
    for h, celsius in ((5, 7), (5, 2), (10, 7), (10, 2)):
        field = pot.run((115 - 32) / 1.8, celsius, 3600 * hours, (h, h, h), THICK.conductivity_w_m_k, THICK.heat_j_m3_k)
        took.append(float(np.interp(-10.0, -field.max(axis=(1, 2)), hours)))
    assert max(took) < 84, "the model is a lower bound"
    # 37 to 70 h: the same short-cylinder model worked out by another hand
    assert min(took) == pytest.approx(37, abs=1.5)
    assert max(took) == pytest.approx(70, abs=1.5)


@pytest.mark.kind("memory")
def test_eight_gallons_of_white_sauce() -> None:
    # A classic of catering texts: 8 gallons of hot white sauce in one pot in a fridge stay between 60 and 120 F for a day or more
    # (memory). The forecast must not call such a pot anything but a miss, by hours.
    size = (4 * 8 * 3.785412e-3 / math.pi) ** (1 / 3) * 100
    found = forecast(THICK, Container(size, diameter_cm=size), [(SURROUNDINGS["fridge with a fan"], None)])
    assert found.chance == "misses"
    start, end = (
        float(np.interp(-each, -found.centre_c, found.minutes)) / 60 for each in ((120 - 32) / 1.8, (60 - 32) / 1.8)
    )
    assert end - start > 12


STUDIES = [(row, number) for number, row in enumerate(studies()) if row["depth_cm"]]


@pytest.mark.parametrize(("row", "number"), STUDIES)
@pytest.mark.parametrize("stirred", [None, 0.3, 3.0])
@pytest.mark.parametrize("lid", ["open", "loosely covered"])
def test_against_each_study(row: dict[str, str], number: int, stirred: float | None, lid: str) -> None:
    # Roberts et al. 2013 and Olds and Sneed 2005 (abstracts, read), Dickerson and Read (abstract, read): a row each of the table.
    depth, met = float(row["depth_cm"]), row["outcome"].startswith("met")
    freezer = Surroundings("walk-in freezer", -18.0, SURROUNDINGS["fridge with a fan"].h)
    places = [
        each
        for each in (*SURROUNDINGS.values(), freezer)
        if any(word in each.name for word in row["place"].split(";") if word)
    ]
    wide = depth if "gallon" in row["method"] else None
    for place in places:
        assert (
            forecast(THICK, Container(depth, wide, lid=lid), [(place, None)], stirred_pa_s=stirred).chance != "meets"
        ), place.name
        if lid == "open" or stirred:
            continue
        after = [(SURROUNDINGS["counter"], 15.0), (place, None)]
        assert forecast(THICK, Container(depth, wide, lid=lid), after, stirred_pa_s=stirred).chance != "meets", (
            place.name
        )
    assert bool(places) != met
    if met:
        there = freezer if "freezer" in row["method"] else SURROUNDINGS["blast chiller"]
        assert forecast(THICK, Container(depth, lid="loosely covered"), [(there, None)]).chance != "misses"


@pytest.mark.kind("own")
def test_the_physics_alone_misses_where_pans_in_a_bath_missed() -> None:
    # The same water under a name that no trial has: an open 5 cm layer takes 1.9 h to 21 C, and its top never gets to 5 C.
    bath = SURROUNDINGS["ice bath, water stirred"]
    for depth in (5.1, 6.4, 7.6):
        found = forecast(THICK, Container(depth), [(Surroundings("water", 0.5, bath.h, 20.0), None)])
        assert found.chance == "misses" and found.tested == "" and "longer than 96 h" in found.text
    layer = forecast(THICK, Container(5.0), [(bath, None)])
    assert layer.hours[0].best == pytest.approx(1.9, abs=0.05) and math.isinf(layer.hours[1].low)


@pytest.mark.kind("practice")
def test_stirred_and_thick_is_not_stirred_and_thin() -> None:
    # 15 L as deep as wide in a stirred ice bath: thin as stock well within the hour, thick as a stew a range that reaches past the limits.
    pot, bath = Container(26.7, diameter_cm=26.7), [(SURROUNDINGS["ice bath, water stirred"], None)]
    thin, thick = (forecast(THICK, pot, bath, stirred_pa_s=each) for each in (0.002, 3.0))
    assert thin.chance == "meets" and thin.tested == ""
    assert thick.chance == "may miss" and "3-gallon" not in thin.text and "trial missed" in thick.text
    assert thick.hours[0].high > 2 and thick.hours[1].high > 6 and thick.hours[0].best > 2 * thin.hours[0].best


def rows_by_hand(depth: float, films: tuple[float, float], celsius: tuple[float, float], seconds: float) -> np.ndarray:
    """A slab in 60 layers by explicit small steps, each face with its own film and its own temperature."""
    k, heat, cells = THICK.conductivity_w_m_k, THICK.heat_j_m3_k, 60
    d = depth / cells
    step = 0.4 * d * d * heat / k
    count = math.ceil(seconds / step)
    step, field = seconds / count, np.full(cells, 57.0)
    for _ in range(count):
        flow = np.diff(field) * k / d
        low, high = (
            (at - end) / (1 / h + d / (2 * k)) for at, end, h in zip(celsius, field[[0, -1]], films, strict=True)
        )
        field = field + step / (heat * d) * np.diff(np.concatenate([[-low], flow, [high]]))
    return field


@pytest.mark.kind("computed")
def test_a_room_warm_top_by_finite_differences() -> None:
    rng = np.random.default_rng(5)
    for _ in range(8):
        depth, hours = float(rng.uniform(0.02, 0.08)), float(rng.uniform(0.5, 8))
        films, room = (float(rng.uniform(50, 400)), float(rng.uniform(4, 12))), float(rng.uniform(15, 25))
        own = rows_by_hand(depth, films, (0.5, room), 3600 * hours)
        kit = Grid(depth, cells=61).run(
            57.0, 0.5, np.array([3600 * hours]), (*films, 0.0), THICK.conductivity_w_m_k, THICK.heat_j_m3_k, room
        )
        assert kit.max() == pytest.approx(own.max(), abs=0.05)


@pytest.mark.kind("computed")
def test_a_room_warm_top_of_a_round_pot_comes_to_rest() -> None:
    # At rest the heat that comes in through the top leaves through bottom and side.
    bath = SURROUNDINGS["ice bath, not stirred"]
    films, grid = Container(10).films(bath, bath.h.best), Grid(0.10, 0.12)
    field = grid.run(57.0, 1.0, np.array([1e7]), films, THICK.conductivity_w_m_k, THICK.heat_j_m3_k, 20.0)[0]
    d, k = 0.10 / grid.cells, THICK.conductivity_w_m_k
    edges = np.linspace(0, 0.12, grid.cells + 1)
    rings, half = np.diff(edges**2) / 2, edges[1] / 2
    inward = (20.0 - field[-1]) @ rings / (1 / films[1] + d / (2 * k))
    outward = (field[0] - 1.0) @ rings / (1 / films[0] + d / (2 * k))
    outward += (field[:, -1] - 1.0).sum() * d * 0.12 / (1 / films[2] + half / k)
    assert inward == pytest.approx(outward, rel=1e-6) and field.max() > 5


def test_a_study_is_cited_for_what_it_tried() -> None:
    """Methods as the abstracts list them: Roberts et al. had pans in a walk-in refrigerator, a freezer, an ice bath inside the refrigerator.

    Olds and Sneed had a walk-in refrigerator, a blast chiller and a chill stick, and no ice bath.
    """
    tried = {
        "Roberts": {"walk-in refrigerator", "walk-in freezer", "ice bath inside a walk-in refrigerator"},
        "Olds": {"walk-in refrigerator", "blast chiller"},
    }
    for who, methods in tried.items():
        rows = [row for row in studies() if row["source"].startswith(who)]
        assert {row["method"] for row in rows if "pot" not in row["method"]} == methods
        assert [row["method"] for row in rows if row["outcome"].startswith("met")] == [
            {"Roberts": "walk-in freezer", "Olds": "blast chiller"}[who]
        ]
    assert not any("ice bath" in row["place"] for row in studies() if row["source"].startswith("Olds"))
