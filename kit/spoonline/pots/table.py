"""Pots and readings as frames: units in the column names, days as days, figures as figures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from spoonline import flow
from spoonline.pots.counted import CookedPot, cooked_pot, lost_as_usual
from spoonline.pots.records import Batch
from spoonline.pots.thickness import own_thickness, read_at
from spoonline.recipes import Recipe, Target

if TYPE_CHECKING:
    import pandas as pd

# What a column holds where it is not a word or a figure.
KINDS = {
    "title": "category", "cook": "category", "stage": "category", "tool": "category", "unit": "category", "band": "category",
    "batch": "int64", "version": "int64", "cooked_on": "datetime64[s]",
}  # fmt: skip
WORDS = ("stages", "tools", "shown", "settings", "values_in_the_tools_unit", "left_out", "note")
BATCHES = [
    "title", "batch", "version", "cooked_on", "cook", "dose_g_per_l", "evaporated_g", "evaporated_percent", "stages", "tools", "shown",
    "viscosity_pa_s", "viscosity_low_pa_s", "viscosity_high_pa_s", "temperature_c", "shear_rate_per_s", "band", "left_out", "note",
]  # fmt: skip
READINGS = [
    "title", "batch", "version", "cooked_on", "stage", "tool", "settings", "values_in_the_tools_unit", "mean_in_the_tools_unit", "unit",
    "viscosity_pa_s", "temperature_c", "shear_rate_per_s", "left_out", "note",
]  # fmt: skip


def framed(rows: Iterable[dict[str, Any]], columns: list[str]) -> pd.DataFrame:
    """Rows as a frame whose columns have their kinds, even where there is no row."""
    import pandas as pd

    kinds = {name: KINDS.get(name, "str" if name in WORDS else "float64") for name in columns}
    made: pd.DataFrame = pd.DataFrame(list(rows), columns=columns).astype(kinds)
    return made


def pot_row(pot: CookedPot, target: Target | None) -> dict[str, Any]:
    """One pot as a row: viscosity [Pa s] with its 90 % range, and how it compares with the band of the target."""
    batch, thickness = pot.batch, pot.thickness
    row: dict[str, Any] = {
        name: getattr(batch, name) for name in ("title", "version", "cooked_on", "cook", "evaporated_g", "note")
    }
    row |= {"batch": batch.number, "dose_g_per_l": pot.dose_g_per_l, "left_out": pot.left_out}
    stages = (f"{reading.stage} (left out)" if reading.left_out else reading.stage for reading in batch.readings)
    row["stages"] = ", ".join(dict.fromkeys(stages))
    row["tools"] = ", ".join(dict.fromkeys(reading.tool for reading in batch.readings))
    read = read_at(batch, target=target)[-1:]
    row["shown"] = "".join(f"{each.mean:.3g} {flow.unit_of(each.tool)} ({each.tool})" for each in read)
    if pot.inside is not None and pot.inside.weighed:
        row["evaporated_percent"] = 100 * pot.inside.loss
        row["evaporated_g"] = pot.inside.evaporated_g if batch.evaporated_g is None else batch.evaporated_g
    if thickness is not None:
        row |= zip(("viscosity_pa_s", "viscosity_low_pa_s", "viscosity_high_pa_s"), thickness.range, strict=True)
        row |= {"temperature_c": thickness.temperature_c, "shear_rate_per_s": thickness.shear_rate_per_s}
        row["band"] = f"{target.against_band(pot.viscosity_pa_s)} the band" if target else "no target set"
    return row


def batch_table(batches: Sequence[Batch], recipes: Mapping[tuple[str, int], Recipe]) -> pd.DataFrame:
    """One row a batch, read at its own version's target; ``recipes`` holds each version by (title, number).

    One that was not weighed lost what the others of its dish did, as in :func:`cooked_pots`; pots of a dish stand together.
    """

    def cooked(batch: Batch, usual: float | None) -> CookedPot:
        version = recipes[batch.title, batch.version]
        return cooked_pot(batch, {batch.version: version}, version.target, usual=usual)

    dishes: dict[str, list[Batch]] = {}
    for batch in batches:
        dishes.setdefault(batch.title, []).append(batch)
    pots = (pot for dish in dishes.values() for pot in lost_as_usual(dish, cooked))
    return framed((pot_row(pot, recipes[pot.batch.title, pot.batch.version].target) for pot in pots), BATCHES)


def readings_table(batches: Iterable[Batch]) -> pd.DataFrame:
    """One row a reading: what the tool showed, and what that means at its own temperature and shear rate."""

    def row(batch: Batch, number: int) -> dict[str, Any]:
        reading = batch.readings[number]
        found = own_thickness(reading)
        same = {name: getattr(reading, name) for name in ("stage", "tool", "left_out", "note")}
        return same | {
            "title": batch.title, "batch": batch.number, "version": batch.version, "cooked_on": batch.cooked_on,
            "settings": "; ".join(f"{name}={value}" for name, value in sorted(reading.settings.items())),
            "values_in_the_tools_unit": "; ".join(map(str, reading.values)), "mean_in_the_tools_unit": reading.mean,
            "unit": flow.unit_of(reading.tool), "viscosity_pa_s": found.viscosity_pa_s,
            "temperature_c": found.temperature_c, "shear_rate_per_s": found.shear_rate_per_s,
        }  # fmt: skip

    return framed((row(batch, number) for batch in batches for number in range(len(batch.readings))), READINGS)
