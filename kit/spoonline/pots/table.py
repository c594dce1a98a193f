"""Pots and readings as frames: units in the column names, days as days, figures as figures."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from statistics import fmean, stdev
from typing import Any

from spoonline import flow
from spoonline.measures import DataFrame, frame_of, or_none, read_table, totals
from spoonline.pots.counted import CookedPot, cooked_pot, lost_as_usual
from spoonline.pots.evaporation import usual_loss
from spoonline.pots.records import Batch
from spoonline.pots.thickness import bring, bring_all, own_thickness, read_at
from spoonline.recipes import Recipe, Target, column_of, in_unit
from spoonline.recipes.nutrition import UNITS, summed

# The columns of the two tables in order, and what each holds.
COLUMNS = read_table("columns.csv", "pots")
KINDS = {row["name"]: row["kind"] for row in COLUMNS}
BATCHES, READINGS = ([row["name"] for row in COLUMNS if which in row["of"]] for which in ("batches", "readings"))

# Words of a step, and what its minutes and its temperature are called.
STEP_WORDS = read_table("step_words.csv", "pots")


def framed(rows: Iterable[dict[str, Any]], columns: list[str]) -> DataFrame:
    """Rows as a frame whose columns have their kinds, even where there is no row."""
    return frame_of(rows, *columns).astype({name: KINDS.get(name, "float64") for name in columns})


def pot_row(pot: CookedPot, target: Target | None) -> dict[str, Any]:
    """One pot as a row: viscosity [Pa s] with its 90 % range, and how it compares with the band of the target."""
    batch, thickness = pot.batch, pot.thickness
    own = ("title", "version", "cooked_on", "cook", "evaporated_g", "note")
    row: dict[str, Any] = {name: getattr(batch, name) for name in own}
    row |= {"batch": batch.number, "dose_g_per_l": pot.dose_g_per_l, "left_out": pot.left_out}
    stages = (f"{reading.stage} (left out)" if reading.set_apart else reading.stage for reading in batch.readings)
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


def put_in(cooked: Recipe) -> dict[tuple[str, str], float]:
    """What went into a pot by column and unit: lines per 100 g of the heaviest flour (a dough), per litre of liquid or per kg; then steps.

    >>> biscuit = Recipe(title="Biscuits", ingredients=["200 g plain flour", "90 g butter"], steps=["Bake at 180 C for 12 minutes."])
    >>> {column: value for (column, _), value in put_in(biscuit).items()}
    {'wheat_flour_g_per_100g_flour': 100.0, 'butter_g_per_100g_flour': 45.0, 'bake_min': 12.0, 'oven_c': 180.0}
    """
    weighed = [each for each in cooked.ingredients if each.mass_g is not None]
    named = [(each.fact_name or each.item, float(each.mass_g or 0)) for each in weighed]
    flour = max((mass for name, mass in named if "flour" in name), default=0.0)
    unit, base = ("g/L", cooked.liquid_l) if cooked.liquid_l > 0 else ("g/kg", cooked.mass_g / 1000)
    if cooked.kind == "dough" and flour:
        unit, base = "g/100g flour", flour / 100
    found = totals(((column_of(name, unit), unit), mass / base) for name, mass in named if base)
    for number, step in enumerate(cooked.steps, start=1):
        row = next((row for row in STEP_WORDS if re.search(row["words"], step.text, re.IGNORECASE)), None)
        for what, unit, value in (("minutes", "min", step.minutes), ("temperature", "C", step.temperature_c)):
            key = column_of(row[what] if row else f"step{number}", unit), unit
            if value is not None:  # a second step of the same kind goes by its number
                found[key if key not in found else (column_of(f"step{number}", unit), unit)] = float(value)
    return found


def varied(batch: Batch, own: Mapping[tuple[str, str], float]) -> dict[tuple[str, str], float]:
    """What was typed as varied, by column and unit; what ``own`` (lines and steps) has under the same name in another unit is converted to that.

    >>> from spoonline.pots import Quantity
    >>> pot = Batch(title="Biscuits", version=1, cooked_on="2026-01-08", quantities=[Quantity(name="oven", unit="F", value=356)])
    >>> varied(pot, {("oven_c", "C"): 170.0})
    {('oven_c', 'C'): 180.0}
    """
    found = dict[tuple[str, str], float]()
    for each in batch.quantities:
        key, value = (each.column, each.unit), float(each.value)
        for column, unit in own:
            if unit != each.unit and column == column_of(each.name, unit):
                there = or_none(in_unit, value, each.unit, unit)
                key, value = ((column, unit), there) if there is not None else (key, value)
        found[key] = value
    return found


def came_to(pot: CookedPot) -> dict[tuple[str, str], float]:
    """What one pot came to by column and unit: what follows from its masses and its lines, then what was measured or scored.

    Where several values were found the uncertainty of their mean stands under the name with ``_sd``. An outcome that does not count is none.
    """
    found, named = dict[tuple[str, str], float](), dict[tuple[str, str], list[float]]()
    if pot.recipe is None or pot.fault:
        return found
    batch, mass, inside = pot.batch, pot.recipe.mass_g, pot.inside
    weighed = batch.evaporated_g is not None or (inside is not None and inside.weighed)
    gone = (batch.evaporated_g or 0.0) / mass if weighed and mass else None
    loss = usual_loss(pot.recipe, gone)[0] if inside is None else inside.loss
    left = mass * (1 - loss)
    if weighed and left > 0:
        found["yield_g", "g"] = left
        found["yield_percent", "%"], found["evaporated_percent", "%"] = 100 * (1 - loss), 100 * loss
    for key, (total, missing) in summed(pot.recipe).items() if left > 0 else ():
        salt = key == "sodium"  # sodium times 2.5, as labels count salt
        column = ("salt_percent", "%") if salt else (f"{key}_{UNITS[key]}_per_100g", f"{UNITS[key]}/100g")
        found |= {} if missing else {column: (total * 2.5 / 1000 if salt else total) / left * 100}
    for each in batch.outcomes:
        if not each.left_out:
            named.setdefault((each.column, each.unit), []).extend(map(float, each.values))
    for (name, unit), values in named.items():
        found[name, unit] = fmean(values)
        found |= {(f"{name}_sd", unit): stdev(values) / len(values) ** 0.5} if len(values) > 1 else {}
    return found


def outcome_table(pots: Sequence[CookedPot], target: Callable[[CookedPot], Target | None]) -> DataFrame:
    """One row a pot: the columns of :func:`batch_table`, then every quantity that went in and every outcome, as floats.

    ``.attrs["quantities"]`` and ``.attrs["outcomes"]`` say which columns these are, each with its unit.
    """
    own = [put_in(pot.recipe) if pot.recipe else {} for pot in pots]
    went = [each | varied(pot.batch, each) for pot, each in zip(pots, own, strict=True)]
    came, rows = [came_to(pot) for pot in pots], [pot_row(pot, target(pot)) for pot in pots]
    quantities = {column: unit for row in went for column, unit in row}
    outcomes = {column: unit for row in came for column, unit in row}
    for pot, row, *more in zip(pots, rows, went, came, strict=True):
        row |= {column: value for each in more for (column, _), value in each.items()}
        row["left_out"] = pot.fault if pot.batch.outcomes else pot.left_out
        row["plan"], row["plan_pot"] = pot.batch.plan, pot.batch.plan_pot
    frame = framed(rows, list(dict.fromkeys([*BATCHES, "plan", "plan_pot", *quantities, *outcomes])))
    read = {"viscosity_pa_s": "Pa s"} if frame["viscosity_pa_s"].notna().any() else {}
    dosed = {"dose_g_per_l": "g/L"} if frame["dose_g_per_l"].gt(0).any() else {}
    frame.attrs["quantities"] = dosed | quantities
    frame.attrs["outcomes"] = read | {column: unit for column, unit in outcomes.items() if not column.endswith("_sd")}
    return frame


Versions = Mapping[tuple[str, int], Recipe]


def batch_table(batches: Sequence[Batch], recipes: Versions, *, outcomes: bool = False) -> DataFrame:
    """One row a batch, read at its own version's target; ``recipes`` holds each version by (title, number).

    One that was not weighed lost what the others of its dish did, as in :func:`cooked_pots`; pots of a dish stand together. With
    ``outcomes`` the columns of :func:`outcome_table` follow.
    """

    def cooked(batch: Batch, usual: float | None) -> CookedPot:
        version = recipes[batch.title, batch.version]
        return cooked_pot(batch, {batch.version: version}, version.target, usual=usual)

    dishes, made = dict[str, list[Batch]](), dict[tuple[str, int], list[Batch]]()
    for each in batches:
        dishes.setdefault(each.title, []).append(each)
        made.setdefault((each.title, each.version), []).append(each)
    for key, same in made.items():
        bring_all(same, recipes[key].target)
    pots = [pot for dish in dishes.values() for pot in lost_as_usual(dish, cooked)]

    def target(pot: CookedPot) -> Target | None:
        return recipes[pot.batch.title, pot.batch.version].target

    return outcome_table(pots, target) if outcomes else framed((pot_row(pot, target(pot)) for pot in pots), BATCHES)


def readings_table(batches: Sequence[Batch]) -> DataFrame:
    """One row a reading: what the tool showed, what that means at its own temperature and shear rate, and why it does not count."""
    bring((each for batch in batches for each in batch.readings), None, None)

    def row(batch: Batch, number: int) -> dict[str, Any]:
        reading = batch.readings[number]
        read = or_none(own_thickness, reading)
        own = dict(reading) | {"viscosity_pa_s": None, "shear_rate_per_s": None} | (read._asdict() if read else {})
        own |= {"title": batch.title, "batch": batch.number, "left_out": reading.set_apart}
        own |= {"version": batch.version, "cooked_on": batch.cooked_on, "unit": flow.unit_of(reading.tool)}
        own["settings"] = "; ".join(f"{name}={value}" for name, value in sorted(reading.settings.items()))
        own["values_in_the_tools_unit"] = "; ".join(map(str, reading.values))
        own["mean_in_the_tools_unit"] = reading.mean
        return {name: own[name] for name in READINGS}

    return framed((row(batch, number) for batch in batches for number in range(len(batch.readings))), READINGS)
