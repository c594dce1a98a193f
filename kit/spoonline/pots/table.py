"""Batches as a table: one row a batch, units in the column names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from spoonline.pots.contents import contents
from spoonline.pots.records import Batch
from spoonline.pots.thickness import batch_thickness
from spoonline.recipes import Recipe

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = [
    "title", "batch", "version", "cooked_on", "cook", "dose_g_per_l", "evaporated_g", "evaporated_percent", "stages", "tools",
    "viscosity_pa_s", "viscosity_low_pa_s", "viscosity_high_pa_s", "temperature_c", "shear_rate_per_s", "band", "left_out", "note",
]  # fmt: skip


def batch_row(batch: Batch, recipe: Recipe) -> dict[str, Any]:
    """One batch as a row: viscosity [Pa s] with its 90 % range at the recipe's target conditions (60 C, 1 1/s without one)."""
    cooked = batch.cooked(recipe)
    thickness = batch_thickness(batch, recipe.target)
    row: dict[str, Any] = dict.fromkeys(COLUMNS)
    same = ("title", "version", "cooked_on", "cook", "evaporated_g", "left_out", "note")
    row |= {name: getattr(batch, name) for name in same}
    row |= {
        "batch": batch.number,
        "dose_g_per_l": cooked.dose_g_per_l,
        "stages": ", ".join(dict.fromkeys(reading.stage for reading in batch.readings)),
        "tools": ", ".join(dict.fromkeys(reading.tool for reading in batch.readings)),
    }
    if batch.evaporated_g is not None and cooked.liquid_l > 0:
        row["evaporated_percent"] = 100 * contents(cooked, batch.evaporated_g).loss
    if thickness is not None:
        best, low, high = thickness.range
        row |= {
            "viscosity_pa_s": best,
            "viscosity_low_pa_s": low,
            "viscosity_high_pa_s": high,
            "temperature_c": thickness.temperature_c,
            "shear_rate_per_s": thickness.shear_rate_per_s,
            "band": f"{recipe.target.place(thickness.viscosity_pa_s)} the band" if recipe.target else "no target set",
        }
    return row


def batch_table(batches: Sequence[Batch], recipes: Mapping[tuple[str, int], Recipe]) -> pd.DataFrame:
    """One row a batch, with the columns of ``COLUMNS``; ``recipes`` holds each version by (title, number)."""
    import pandas as pd

    return pd.DataFrame([batch_row(each, recipes[each.title, each.version]) for each in batches], columns=COLUMNS)


def tested(batches: Sequence[Batch], recipe: Recipe, version: int) -> tuple[int, int]:
    """How many batches of this version were read, and how many of those lay inside the band; those left out do not count."""
    if recipe.target is None:
        return 0, 0
    found = [batch_thickness(each, recipe.target) for each in batches if each.version == version and not each.left_out]
    read = [each for each in found if each is not None]
    return len(read), sum(recipe.target.place(each.viscosity_pa_s) == "inside" for each in read)
