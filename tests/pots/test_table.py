"""Records as frames: typed columns, units in the names, one row a batch and one a reading."""

from __future__ import annotations

import pandas as pd
import pytest

import spoonline as sl
from pots.pots import SOUP, pot, reading
from spoonline.pots import batch_table, own_thickness, readings_table
from spoonline.pots.counted import cooked_pots
from spoonline.recipes import Recipe, Version

FIGURES = (
    "evaporated_g",
    "evaporated_percent",
    "dose_g_per_l",
    "viscosity_pa_s",
    "viscosity_low_pa_s",
    "temperature_c",
)


def test_batches_have_typed_columns(demo: sl.Logbook) -> None:
    frame = demo.batches()
    assert frame["cooked_on"].dtype.kind == "M" and (frame["cooked_on"].dt.year == 2026).all()
    assert (
        all(frame[name].dtype == float for name in FIGURES)
        and frame["batch"].dtype == frame["version"].dtype == "int64"
    )
    assert isinstance(frame["band"].dtype, pd.CategoricalDtype) and isinstance(
        frame["title"].dtype, pd.CategoricalDtype
    )
    assert len(frame) == len(demo.all_batches()) == 32


def test_pots_of_one_dish_have_every_quantity_and_outcome(demo: sl.Logbook) -> None:
    """Figures by hand from what went in: 8 g of salt and a stock's own, grams over the liquid, four biscuits measured."""
    soup = demo.batches("Roast parsnip and pear soup")
    assert list(soup.columns)[: len(demo.batches().columns)] == list(demo.batches().columns)
    went, came = soup.attrs["quantities"], soup.attrs["outcomes"]
    assert went["parsnip_g_per_l"] == "g/L" and went["simmer_min"] == "min" and went["oven_c"] == "C"
    assert came["viscosity_pa_s"] == "Pa s" and came["salt_percent"] == "%" and came["yield_g"] == "g"
    first = soup.iloc[0]
    assert first["parsnip_g_per_l"] == pytest.approx(500 / 1.5, rel=2e-3) and first["simmer_min"] == 12
    assert first["yield_percent"] + first["evaporated_percent"] == pytest.approx(100)
    salt_g = first["salt_percent"] / 100 * first["yield_g"]
    assert 8 < salt_g < 20, "more than the salt that was added"
    left_out = soup[soup["left_out"] == "boiled away a fifth"]
    assert len(left_out) == 1 and left_out[["yield_g", "salt_percent"]].isna().all(axis=None)
    biscuits = demo.batches("Oat biscuits")
    last = demo.all_batches("Oat biscuits")[-1]
    assert biscuits["butter_g_per_100g_flour"].iloc[-1] == pytest.approx(118 / 1.5)
    assert biscuits["spread_cm"].iloc[-1] == pytest.approx(last.outcomes[0].mean)
    assert biscuits["spread_cm_sd"].iloc[-1] == pytest.approx(last.outcomes[0].sd)
    assert (biscuits["left_out"] == "").all() and biscuits["plan_pot"].tolist() == [1, 2, 3, 4, 5, 6, 0, 0, 0]
    assert "spread_cm" not in demo.batches(), "without a title there are the columns of all dishes only"


def test_a_measured_outcome_stands_for_the_one_worked_out() -> None:
    recipe = Recipe(title="Brine", ingredients=["1 l water", "10 g salt"])
    salt = {"name": "salt", "unit": "%", "values": ["1.2", "1.3"]}
    haze = {"name": "haze", "unit": "score", "values": [3], "left_out": "spilt"}
    stirred = [{"name": "stirring", "unit": "min", "value": 3}]
    pots = [
        sl.Batch(title="Brine", version=1, cooked_on="2026-01-08", outcomes=outcomes, quantities=stirred)
        for outcomes in ([], [salt, haze])
    ]
    table = batch_table(pots, {("Brine", 1): recipe}, outcomes=True)
    assert table["salt_percent"].tolist() == pytest.approx([100 * 10 * 0.98 / (1007 * 0.94), 1.25], rel=0.03)
    assert "haze_score" not in table and table["stirring_min"].tolist() == [3, 3]


def test_a_pot_has_one_dose_in_every_table() -> None:
    """A pot that was not weighed lost what the others of its dish did, in its table as in its curve."""
    stew = Recipe(
        title="Stew", ingredients=["1 kg stewing beef", "500 g beef stock", "25 g corn starch"], steps=["Cover and simmer for 2 hours."]
    )  # fmt: skip
    other = SOUP.model_copy(update={"title": "Other"})
    pots = [
        pot(1, 1.0, title="Stew", pot_before_g=3000, pot_after_g=2700),
        pot(2, title="Stew", moments=[{"kind": "strained", "mass_g": 700}, {"kind": "read", "reading": reading(1.0)}]),
        pot(1, 1.0, title="Other"),
    ]
    rows = batch_table(pots, {("Stew", 1): stew, ("Other", 1): other})
    counted = cooked_pots(pots[:2], {1: stew}, stew.target)
    assert rows["dose_g_per_l"].tolist()[:2] == [each.dose_g_per_l for each in counted]
    usual = counted[0].inside.loss if counted[0].inside else 0.0
    assert usual == pytest.approx(300 / 1525)
    assert sl.pot_states(pots[1], stew, usual)["dose_g_per_l"].iloc[-1] == pytest.approx(rows["dose_g_per_l"][1])
    alone = batch_table(pots[1:2], {("Stew", 1): stew})
    assert alone["dose_g_per_l"][0] != pytest.approx(rows["dose_g_per_l"][1], rel=1e-3), (
        "the other pot says what is usual"
    )


def test_an_unread_pot_has_gaps_and_says_why_it_does_not_count() -> None:
    (row,) = batch_table([pot(1)], {(SOUP.title, 1): SOUP}).to_dict("records")
    assert row["left_out"] == "not read hot or served" and row["dose_g_per_l"] == pytest.approx(30)
    assert all(row[name] != row[name] for name in ("viscosity_pa_s", "evaporated_g", "evaporated_percent", "band"))


def test_readings_have_one_row_each_and_typed_columns(demo: sl.Logbook) -> None:
    frame = demo.readings()
    assert len(frame) == sum(len(batch.readings) for batch in demo.all_batches())
    assert frame["cooked_on"].dtype.kind == "M" and isinstance(frame["stage"].dtype, pd.CategoricalDtype)
    assert set(demo.readings("Mushroom gravy")["title"]) == {"Mushroom gravy"}
    batch = pot(3, 1.2, reading(2.0, 55, "ring", "served", left_out="a lump"))
    first, second = readings_table([batch]).to_dict("records")
    assert (first["tool"], second["tool"], second["stage"], second["left_out"]) == (
        "spatula",
        "ring",
        "served",
        "a lump",
    )
    assert first["unit"] == "g per wet side" and second["unit"] == "cm"
    assert first["mean_in_the_tools_unit"] == pytest.approx(float(batch.readings[0].values[0]))
    for row, read in zip((first, second), batch.readings, strict=True):
        own = own_thickness(read)
        assert (row["viscosity_pa_s"], row["temperature_c"], row["shear_rate_per_s"]) == (
            own.viscosity_pa_s, own.temperature_c, own.shear_rate_per_s,
        )  # fmt: skip


def test_frames_without_a_row_keep_their_columns() -> None:
    assert readings_table([])["cooked_on"].dtype.kind == "M" and batch_table([], {})["viscosity_pa_s"].dtype == float


def test_records_show_themselves_and_no_text_is_markup() -> None:
    title = "<b>$x$ soup</b>"
    recipe = SOUP.model_copy(update={"title": title})
    version = Version(title=title, number=1, id="0" * 64, saved_at="2026-01-08T00:00:00Z", recipe=recipe, note="<i>")
    batch = pot(1, 1.0, title=title, note="<i>", pot_before_g=2000, pot_after_g=1900)
    for record, held in ((recipe, "30.0 g/L"), (version, "version 1 (&lt;i&gt;)"), (batch, "100 g evaporated")):
        page = record._repr_html_()
        assert held in page and "<b>" not in page and "<i>" not in page and "&lt;b&gt;$x$ soup" in page
        assert "tex2jax_ignore" in page, "no dollar sign starts a formula"
    assert "vegetable stock" in recipe._repr_html_() and "spatula" in batch._repr_html_()
