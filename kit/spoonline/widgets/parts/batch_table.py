"""What a batch came to, in a sentence; the batches of a dish as a table, with their photos."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

from spoonline.pots import Batch, batch_thickness
from spoonline.recipes import Recipe
from spoonline.widgets.parts.panel import escaped, table

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


def saved_sentence(batch: Batch, recipe: Recipe) -> str:
    """What was saved, in one sentence."""
    return f"Saved batch {batch.number} of {batch.title}, {batch_sentence(batch, recipe)}"


def batch_sentence(batch: Batch, recipe: Recipe) -> str:
    """Version, dose and thickness of a pot."""
    cooked = batch.cooked(recipe)
    parts = [f"version {batch.version}: {cooked.dose_g_per_l:.1f} g/L"]
    thickness = batch_thickness(batch, recipe.target)
    if thickness is not None:
        stages = ", ".join(dict.fromkeys(reading.stage for reading in batch.readings))
        parts.append(f", {thickness.text}, {stages}")
        if recipe.target is not None:
            aim = recipe.target
            place = aim.place(thickness.viscosity_pa_s)
            parts.append(f". {place.capitalize()} the band {aim.low_pa_s:.2g}-{aim.high_pa_s:.2g} Pa s")
    return "".join(parts) + "."


def photos_html(book: Logbook, title: str, most: int = 6) -> str:
    """The last photos of a dish, each with its batch and what it shows."""
    numbers = {batch.id: batch.number for batch in book.all_batches(title)}
    shown = [each for each in book.pictures(title) if each.batch in numbers][-most:]
    return "".join(
        f'<figure style="display:inline-block;margin:.4rem .8rem .4rem 0"><img style="max-height:9rem;max-width:14rem" '
        f'src="data:{each.media};base64,{base64.b64encode(book.picture_data(each)).decode()}" '
        f'alt="{escaped(each.caption or "photo")}"><figcaption class="sl-said">batch {numbers[each.batch]}'
        f"{': ' + escaped(each.caption) if each.caption else ''}</figcaption></figure>"
        for each in shown
    )


def batches_html(book: Logbook, title: str) -> str:
    """The batches of a dish as a table."""
    frame = book.batches(title)
    if frame.empty:
        return "<p class='sl-said'>No batch of this recipe yet.</p>"
    rows = []
    for row in frame.to_dict("records"):
        thick = (
            f"{row['viscosity_pa_s']:.2g} ({row['viscosity_low_pa_s']:.2g}-{row['viscosity_high_pa_s']:.2g})"
            if row["viscosity_pa_s"] == row["viscosity_pa_s"] and row["viscosity_pa_s"] is not None
            else "not read"
        )
        lost = row["evaporated_percent"]
        rows.append(
            [
                row["batch"], row["version"], row["cooked_on"], f"{row['dose_g_per_l']:.1f}",
                "not weighed" if lost is None or lost != lost else f"{lost:.1f}",
                row["stages"], row["tools"], thick, row["left_out"] or row["band"] or "", row["note"],
            ]
        )  # fmt: skip
    heads = [("Batch", True), ("Version", True), ("Cooked on", False), ("Dose, g/L", True), ("Evaporated, %", True), ("Stage", False),
             ("Tool", False), ("Viscosity, Pa s (90 % range)", True), ("Against the band", False), ("Note", False)]  # fmt: skip
    first = frame.iloc[0]
    caption = f"Batches of {title}"
    if first["shear_rate_per_s"] is not None and first["shear_rate_per_s"] == first["shear_rate_per_s"]:
        caption += f"; viscosity at {first['shear_rate_per_s']:g} 1/s and {first['temperature_c']:g} C"
    return table(heads, rows, caption)
