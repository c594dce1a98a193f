"""What a batch came to, in a sentence; the pots of a dish as a table, with their photos."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from spoonline.measures.ranges import Range
from spoonline.pots import Batch, batch_thickness
from spoonline.pots.thickness import conditions
from spoonline.recipes import Recipe
from spoonline.widgets.parts.panel import escaped, table

if TYPE_CHECKING:
    import pandas as pd

    from spoonline.logbook import Logbook

# Column of a frame of pots, its heading, and whether it holds figures.
HEADINGS = {
    "batch": ("Batch", True), "version": ("Version", True), "cooked_on": ("Cooked on", False), "dose_g_per_l": ("Dose, g/L", True),
    "evaporated_percent": ("Evaporated, %", True), "curve_dose_g_per_l": ("Dose on the curve, g/L", True), "stages": ("Stage", False),
    "tools": ("Tool", False), "viscosity_pa_s": ("Viscosity, Pa s (90 % range)", True), "band": ("Against the band", False),
    "left_out": ("Left out because", False), "note": ("Note", False),
}  # fmt: skip
MISSING = {"viscosity_pa_s": "not read", "evaporated_percent": "not weighed"}


def pots_html(frame: pd.DataFrame, columns: Sequence[str], caption: str) -> str:
    """Pots of a dish as a table, with some of the columns of ``dish.table``."""
    rows = [[_cell(row, column) for column in columns] for row in frame.to_dict("records")]
    return table([HEADINGS[column] for column in columns], rows, caption)


def _cell(row: Mapping[Any, Any], column: str) -> object:
    value = row[column]
    if value != value:  # not a number: nobody measured it
        return MISSING.get(column, "")
    if column == "viscosity_pa_s":
        return f"{Range(value, row['viscosity_low_pa_s'], row['viscosity_high_pa_s']):.2g}"
    if column == "cooked_on":
        return f"{value:%Y-%m-%d}"
    return f"{value:.1f}" if isinstance(value, float) else value


def saved_sentence(batch: Batch, recipe: Recipe) -> str:
    """What was saved, in one sentence."""
    return f"Saved batch {batch.number} of {batch.title}, {batch_sentence(batch, recipe)}"


def batch_sentence(batch: Batch, recipe: Recipe) -> str:
    """Version, dose and thickness of a pot."""
    text = f"version {batch.version}: {batch.cooked(recipe).dose_g_per_l:.1f} g/L"
    aim, thickness = recipe.target, batch_thickness(batch, recipe.target)
    if thickness is not None:
        text += f", {thickness.text}, {', '.join(dict.fromkeys(reading.stage for reading in batch.readings))}"
        if aim is not None:
            against = aim.against_band(thickness.viscosity_pa_s).capitalize()
            text += f". {against} the band {aim.low_pa_s:.2g}-{aim.high_pa_s:.2g} Pa s"
    return f"{text}."


def photos_html(book: Logbook, title: str, most: int = 6) -> str:
    """The last photos of a dish, each with its batch and what it shows."""
    numbers = {batch.id: batch.number for batch in book.all_batches(title)}
    last = [each for each in book.pictures(title) if each.batch in numbers][-most:]
    return "".join(
        f'<figure style="display:inline-block;margin:.4rem .8rem .4rem 0"><img style="max-height:9rem;max-width:14rem" '
        f'src="data:{each.media};base64,{base64.b64encode(book.picture_data(each)).decode()}" '
        f'alt="{escaped(each.caption or "photo")}"><figcaption class="sl-said">batch {numbers[each.batch]}'
        f"{': ' + escaped(each.caption) if each.caption else ''}</figcaption></figure>"
        for each in last
    )


def batches_html(book: Logbook, title: str) -> str:
    """The batches of a dish as a table."""
    dish = book.dish(title)
    frame = dish.table
    if frame.empty:
        return "<p class='sl-said'>No batch of this recipe yet.</p>"
    # A pot that does not count says why, where the others say how they compare with the band.
    frame = frame.assign(band=frame["band"].astype(str).where(frame["left_out"] == "", frame["left_out"]))
    celsius, rate = conditions(dish.aim)
    columns = (
        "batch",
        "version",
        "cooked_on",
        "dose_g_per_l",
        "evaporated_percent",
        "stages",
        "tools",
        "viscosity_pa_s",
        "band",
        "note",
    )
    return pots_html(frame, columns, f"Batches of {title}; viscosity at {rate:g} 1/s and {celsius:g} C")
