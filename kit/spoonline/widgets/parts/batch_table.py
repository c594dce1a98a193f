"""What a batch came to, in a sentence; the batches of a dish as a table, with their photos."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

import pandas as pd
from markupsafe import Markup

from spoonline.measures.ranges import Range
from spoonline.pots import Batch, batch_thickness
from spoonline.recipes import Recipe
from spoonline.widgets.parts.panel import frame_table, notes, tag

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


VISCOSITY = "Viscosity, Pa s (90 % range)"


def saved_sentence(batch: Batch, recipe: Recipe) -> str:
    """What was saved, in one sentence."""
    return f"{'Corrected' if batch.replaces else 'Saved'} batch {batch.number} of {batch.title}, {batch_sentence(batch, recipe)}"


def batch_sentence(batch: Batch, recipe: Recipe) -> str:
    """Version, dose and thickness of a pot."""
    cooked = batch.cooked(recipe)
    text = f"version {batch.version}: {cooked.dose_g_per_l:.1f} g/L"
    thickness, aim = batch_thickness(batch, recipe.target), recipe.target
    if thickness is not None:
        stages = ", ".join(dict.fromkeys(reading.stage for reading in batch.readings))
        text += f", {thickness.text}, {stages}"
        if aim is not None:
            where = aim.place(thickness.viscosity_pa_s).capitalize()
            text += f". {where} the band {aim.low_pa_s:.2g}-{aim.high_pa_s:.2g} Pa s"
    return text + "."


def photos_html(book: Logbook, title: str, most: int = 6) -> Markup:
    """The last photos of a dish, each with its batch and what it shows."""
    numbers = book.batch_numbers(title)
    photos = [each for each in book.pictures(title) if each.batch in numbers][-most:]
    made = Markup("")
    for each in photos:
        data = base64.b64encode(book.picture_data(each)).decode()
        picture = tag("img", src=f"data:{each.media};base64,{data}", alt=each.caption or "photo")
        words = f"batch {numbers[each.batch]}" + (f": {each.caption}" if each.caption else "")
        made += tag("figure", picture, tag("figcaption", words, class_="sl-said"))
    return made


def batches_html(book: Logbook, title: str) -> Markup:
    """The batches of a dish as a table."""
    frame = book.batches(title)
    if frame.empty:
        return notes(["No batch of this recipe yet."])
    table = frame[["batch", "version", "cooked_on", "dose_g_per_l", "evaporated_percent", "stages", "tools"]]
    table = table.set_axis(
        ["Batch", "Version", "Cooked on", "Dose, g/L", "Evaporated, %", "Stage", "Tool"], axis=1
    ).astype(object)
    thick = frame[["viscosity_pa_s", "viscosity_low_pa_s", "viscosity_high_pa_s"]].itertuples(index=False)
    table[VISCOSITY] = ["not read" if pd.isna(each[0]) else Range(*map(float, each)) for each in thick]
    table["Evaporated, %"] = table["Evaporated, %"].where(frame["evaporated_percent"].notna(), "not weighed")
    table["Against the band"] = frame["left_out"].where(frame["left_out"] != "", frame["band"])
    table["Note"] = frame["note"]
    first, caption = frame.iloc[0], f"Batches of {title}"
    if not pd.isna(first.shear_rate_per_s):
        caption += f"; viscosity at {first.shear_rate_per_s:g} 1/s and {first.temperature_c:g} C"
    return frame_table(table, caption, {"Dose, g/L": ".1f", "Evaporated, %": ".1f", VISCOSITY: ".2g"})
