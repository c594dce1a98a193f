"""Many readings worked out at once are each alone to the last digit, and nothing that was worked out goes along into a changed record."""

from __future__ import annotations

import random
from contextlib import suppress

import pytest

import spoonline as sl
from spoonline import flow
from spoonline.measures import ReadingError
from spoonline.pots import Reading
from spoonline.pots.thickness import Thickness, bring, brought_to, own_thickness

CONDITIONS = ((None, None), (1.0, 60.0), (50.0, 65.0))


def drawn(tool: str, count: int = 40) -> list[Reading]:
    """Readings of a tool at its usual sizes, as far as it can give them."""
    draw, found = random.Random(tool), list[Reading]()
    for n in range(count):
        value, settings = 10 ** draw.uniform(-1, 1.7), flow.usual_settings(tool)
        with suppress(ReadingError):
            values = [value, 1.02 * value][: 1 + n % 2]
            made = Reading(tool=tool, settings=settings, values=values, temperature_c=draw.choice((20, 60, 85)))
            own_thickness(made)
            found.append(made)
    return found


@pytest.mark.parametrize("tool", flow.TOOLS)
def test_many_readings_at_once_are_each_alone_to_the_last_digit(tool: str) -> None:
    alone = drawn(tool)
    together = [each.model_copy() for each in alone]
    assert len(alone) > 3
    for rate, celsius in CONDITIONS:
        bring(together, rate, celsius)
        assert [each.brought[rate, celsius, 0.1] for each in together] == [
            brought_to(each, rate, celsius) for each in alone
        ]


def test_one_that_cannot_be_read_stops_none_of_the_others() -> None:
    good = drawn("ring")
    # a radius inside its own ring, which nobody could type
    bad = Reading.read(good[0].model_dump() | {"values": ["3.4"]})
    bring([*good[:2], bad, *good[2:]], 1.0, 60.0)
    assert all(isinstance(each.brought[1.0, 60.0, 0.1], Thickness) for each in good) and not bad.brought
    with pytest.raises(ReadingError, match="ring"):
        brought_to(bad, 1.0, 60.0)


def test_what_was_worked_out_stays_behind_where_a_record_changes() -> None:
    gravy = sl.Recipe(title="Gravy", ingredients=["1 l stock", "60 g wheat flour"])
    assert (gravy.liquid_l, gravy.kind, len(gravy.fates)) == (1.0, "poured", 2)
    more = gravy.model_copy(update={"ingredients": (*gravy.ingredients, *gravy.ingredients)})
    assert (more.liquid_l, len(more.fates)) == (2.0, 4)
    assert gravy.changed(ingredients=["2 l stock"]).liquid_l == 2.0
    assert gravy == sl.Recipe(title="Gravy", ingredients=["1 l stock", "60 g wheat flour"])
    assert gravy.model_dump() == more.model_copy(update={"ingredients": gravy.ingredients}).model_dump()
    reading = drawn("spatula")[0]
    thick = brought_to(reading, 1.0, 60.0).viscosity_pa_s
    warmer = reading.model_copy(update={"temperature_c": 40, "values": (2 * reading.values[0],)})
    assert warmer.mean != reading.mean and brought_to(warmer, 1.0, 60.0).viscosity_pa_s != thick
