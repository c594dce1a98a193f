"""What a batch came to, in a sentence; the pots of a dish as a table, with their photos."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd
from markupsafe import Markup

from spoonline.card import data_uri
from spoonline.effects.one import name_of
from spoonline.logbook import Logbook
from spoonline.measures.ranges import Range
from spoonline.pots import Batch, batch_thickness, conditions, mended
from spoonline.recipes import Recipe, Target
from spoonline.widgets.parts.fields import FORMS
from spoonline.widgets.parts.markup import columns_table, notes, tag
from spoonline.widgets.parts.tools import served_cold_c
from spoonline.widgets.parts.typed import said

POTS = FORMS["the pots so far"]["columns"]
MISSING = {"viscosity_pa_s": "not read", "evaporated_percent": "not weighed"}


def pots_html(frame: pd.DataFrame, columns: Sequence[str], caption: str) -> Markup:
    """Pots of a dish as a table, with some of the columns of ``dish.table``."""
    return columns_table([{name: _cell(row, name) for name in columns} for row in frame.to_dict("records")], caption)


def _cell(row: Mapping[Any, Any], column: str) -> object:
    value = row[column]
    if value != value:  # not a number: nobody measured it
        return MISSING.get(column, "")
    if column == "viscosity_pa_s":
        return Range(value, row["viscosity_low_pa_s"], row["viscosity_high_pa_s"])
    return f"{value:%Y-%m-%d}" if column == "cooked_on" else value


def told_at(recipe: Recipe) -> Target | None:
    """Where the pots of a dish are told: at its aim, without one as it is served if that is cold, else (None) at 60 C."""
    cold = served_cold_c(recipe)
    return recipe.target or (Target(viscosity_pa_s=1, temperature_c=cold) if cold else None)


def batch_sentence(batch: Batch, recipe: Recipe) -> str:
    """Version, dose and thickness of a pot."""
    cooked = batch.cooked(recipe)
    text = f"version {batch.version}"
    if cooked.kind != "dough":
        text += f": {cooked.dose_text if cooked.thickener_g else 'no thickener'}"
    aim, thickness = recipe.target, batch_thickness(batch, told_at(recipe))
    if thickness is not None:
        text += " at the end; read before the last change" if mended(batch, told_at(recipe)) else ""
        text += f", {thickness.text}, {', '.join(dict.fromkeys(reading.stage for reading in batch.readings))}"
    if thickness is not None and aim is not None:
        against = aim.against_band(thickness.viscosity_pa_s).capitalize()
        text += f". {against} the band {aim.low_pa_s:.2g}-{aim.high_pa_s:.2g} Pa s"
    text += "".join(f"; {each.name} {each.mean:.3g} {each.unit}" for each in batch.outcomes)
    return f"{text}."


def photos_html(book: Logbook, title: str, most: int = 6) -> Markup:
    """The last photos of a dish, each with its batch and what it shows."""
    photos = book.pictures(title)
    numbers = book.batch_numbers(title) if photos else {}
    photos = [each for each in photos if each.batch in numbers][-most:]
    made = Markup("")
    for each in photos:
        picture = tag("img", src=data_uri(each.media, book.picture_data(each)), alt=each.caption or "photo")
        words = f"batch {numbers[each.batch]}" + (f": {each.caption}" if each.caption else "")
        made += tag("figure", picture, tag("figcaption", words, class_="sl-note"))
    return made


def batches_html(book: Logbook, title: str) -> Markup:
    """The batches of a dish as a table."""
    dish = book.dish(title)
    told = told_at(dish.recipe)
    frame = dish.aiming(told).table
    if frame.empty:
        return notes(["No batch of this recipe yet."])
    # A pot that does not count says why, where the others say how they compare with the band.
    band = frame["band"].astype(str) if dish.aim else "no target set"
    frame = frame.assign(band=frame["left_out"].where(frame["left_out"] != "", band))
    if dish.recipe.kind == "dough":
        return _outcomes_html(dish.frame, title)
    celsius, rate = conditions(told)
    newer = dict.fromkeys(name for each in (*dish.batches, *dish.versions) for name in each.newer_fields)
    table = pots_html(frame, POTS, f"Batches of {title}; viscosity at {rate:g} 1/s and {celsius:g} C")
    return table + notes([*([said("newer", names=", ".join(newer))] if newer else []), *dish.rests_on])


def _outcomes_html(frame: pd.DataFrame, title: str) -> Markup:
    """The batches of a dish that nobody reads for thickness, with what was varied and what they came to."""
    varied = {each: unit for each, unit in frame.attrs["quantities"].items() if frame[each].nunique() > 1}
    found = varied | {each: unit for each, unit in frame.attrs["outcomes"].items() if "/" not in unit}
    heads = {each: f"{name_of(each, unit)}, {unit}" for each, unit in found.items()}
    table = frame[[*POTS[:3], *heads, "left_out", "note"]].assign(cooked_on=frame["cooked_on"].astype(str))
    formats = dict.fromkeys(heads.values(), ".3g")
    return columns_table(table.rename(columns=heads), f"Batches of {title}", formats)
