"""Plans: kept in the logbook, cooked from, and read at what was really cooked; ranges that hold; next settings inside what was tried."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import spoonline as sl
from spoonline.effects import EffectReading, Factor, PlanReading, PotPlan, plan_pots, read_plan
from spoonline.pots.records import Weighed

BUTTER, OVEN = (
    Factor(name="butter", unit="g/100g flour", low=40, high=62.5),
    Factor(name="oven", unit="C", low=160, high=190),
)


def cooked(plan: PotPlan, law, seed: int = 1, noise: float = 0.0) -> pd.DataFrame:
    """A frame of all pots of a plan, day 2 a little wider, by a law of coded settings."""
    rng, rows = np.random.default_rng(seed), []
    for pot in plan.pots:
        coded = [float(each.coded(float(at))) for each, at in zip(plan.factors, pot.settings, strict=True)]
        value = np.exp(law(*coded) + 0.05 * (pot.day - 1) + noise * rng.normal())
        rows.append((plan.name, pot.number, "", pot.day, *map(float, pot.settings), float(value)))
    heads = ["plan", "plan_pot", "left_out", "cooked_on", *(each.column for each in plan.factors), plan.column]
    return pd.DataFrame(rows, columns=heads)


def test_ranges_of_plans_hold_what_was_put_in() -> None:
    plan = plan_pots("Biscuits", [BUTTER, OVEN], "spread", "cm", stars=True)
    truth = {"butter": 0.4, "oven": -0.1, "butter with oven": 0.12, "bend of butter": 0.0, "bend of oven": -0.05}
    held = []
    for seed in range(200):
        found = read_plan(
            plan, cooked(plan, lambda u, v: 1.9 + 0.2 * u - 0.05 * v + 0.03 * u * v - 0.05 * v * v, seed, 0.03)
        )
        assert isinstance(found, PlanReading)
        rows = found.table.set_index("change")
        held.append(
            [rows.loc[name, "low"] <= np.exp(effect) <= rows.loc[name, "high"] for name, effect in truth.items()]
        )
    share = np.mean(held)
    assert 0.86 < share < 0.94, share


def test_the_next_setting_is_the_best_inside_what_was_tried() -> None:
    plan = plan_pots("Biscuits", [BUTTER, OVEN], "spread", "cm")
    found = read_plan(plan, cooked(plan, lambda u, v: 1.9 + 0.2 * u - 0.05 * v, noise=0.02))
    aim = sl.Aim(outcome="spread", unit="cm", low="6.4", high="7")
    best = found.next_setting(aim)
    u, v = (float(each.coded(at)) for each, at in zip(plan.factors, best.settings, strict=True))
    assert bool(found.inside(u, v)) and not found.inside(1.3, 0.0)
    low, high = np.log(6.4), np.log(7)
    for pot in plan.pots:
        at = [float(each.coded(float(setting))) for each, setting in zip(plan.factors, pot.settings, strict=True)]
        assert found.line.chance_between(low, high, found._rows(*at)) <= best.chance + 1e-9
    assert best.average.low < best.average.best < best.average.high
    wide = found.next_setting(sl.Aim(outcome="spread", unit="cm", low=20))
    assert bool(found.inside(*(float(each.coded(at)) for each, at in zip(plan.factors, wide.settings, strict=True)))), (
        "never outside"
    )


def test_what_was_really_cooked_counts_and_a_plan_half_cooked_says_so() -> None:
    plan = plan_pots("Biscuits", [BUTTER, OVEN], "spread", "cm")
    frame = cooked(plan, lambda u, v: 1.9 + 0.2 * u)
    frame.loc[0, "butter_g_per_100g_flour"] *= 1.05
    frame.loc[0, "spread_cm"] = float(np.exp(1.9 + 0.2 * BUTTER.coded(frame.loc[0, "butter_g_per_100g_flour"])))
    found = read_plan(plan, frame)
    assert found.table["effect"].iloc[0] == pytest.approx(np.exp(0.4)), "no slip of a scale is taken for an effect"
    assert "it may do nothing" in found.text and "From 7 of 7 pots" in found.text
    with pytest.raises(sl.KitchenError, match="3 pots of this plan are read, too few"):
        read_plan(plan, frame[:3])
    with pytest.raises(sl.KitchenError, match="has spread yet; cook pot 1"):
        read_plan(plan, frame.assign(spread_cm=np.nan))


def test_a_misfit_is_named() -> None:
    plan = plan_pots("Biscuits", [BUTTER, OVEN], "spread", "cm", stars=True)
    frame = cooked(plan, lambda u, v: 1.9 + 0.2 * u, noise=0.005)
    corner = next(pot.number for pot in plan.pots if pot.settings[0] == 40)
    frame.loc[frame["plan_pot"] == corner, "spread_cm"] *= 1.5
    assert "The surface fits these pots badly" in read_plan(plan, frame).text


def test_a_plan_of_one_quantity_is_kept_and_its_pots_land_in_it(tmp_path: Path) -> None:
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    book.save(
        sl.Recipe(
            title="Biscuits", ingredients=["200 g wheat flour", "100 g butter"], steps=["Bake at 180 C for 12 minutes."]
        )
    )
    plan = book.keep(plan_pots("Biscuits", [BUTTER], "spread", "cm"))
    assert book.kept(PotPlan, "Biscuits") == [plan] and [pot.day for pot in plan.pots] == [1, 1, 1, 2, 2, 2]
    for pot in plan.pots:
        grams = 2 * float(pot.settings[0])
        weighed = [Weighed(line=2, item="butter", typed=f"{grams:g} g", mass_g=grams, sd_g=0.3)]
        spread = round(7 * (grams / 100) ** 0.6 * (1 + 0.01 * (-1) ** pot.number), 1)
        outcome = sl.Outcome(name="spread", unit="cm", values=[spread])
        book.record(sl.Batch(title="Biscuits", version=1, cooked_on=f"2026-01-1{pot.day}", weighed=weighed, outcomes=[outcome],
                             plan=plan.name, plan_pot=pot.number))  # fmt: skip
    book.record(
        sl.Batch(
            title="Biscuits",
            version=1,
            cooked_on="2026-01-13",
            outcomes=[sl.Outcome(name="spread", unit="cm", values=[12])],
        )
    )
    found = read_plan(book.kept(PotPlan)[0], book.batches("Biscuits"))
    assert isinstance(found, EffectReading) and len(found.points) == 6 and not found.cannot_tell
    assert found.predict(50)[0].best == pytest.approx(7, abs=0.15)
    book.close()
