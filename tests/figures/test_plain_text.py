"""What a person typed is never taken for mathematics by a figure."""

from __future__ import annotations

import spoonline as sl
from spoonline.figures import dose_figure, effect, tree_figure


def test_a_note_with_two_dollar_signs_is_drawn_as_it_was_typed(demo: sl.Logbook) -> None:
    recipe = sl.Recipe(title="Gravy", ingredients=["1 l stock", "50 g wheat flour"])
    for factor, note in ((1, ""), (2, r"costs $\frac{$ a litre"), (3, "from $4 to $5_5_5")):
        demo.save(recipe.scaled(factor), note)
    assert tree_figure(demo.all_versions("Gravy"), {}).png()[1:4] == b"PNG"


def test_no_tick_shows_the_marks_of_mathematics(demo: sl.Logbook) -> None:
    from matplotlib.text import Text

    for title in demo.titles():
        dish = demo.dish(title)
        assert (dish.curve is None) == (title == "Oat biscuits")
        drawn = (
            dose_figure(dish.curve, None, dish.next) if dish.curve else effect(dish.frame, "butter", "spread").figure()
        )
        drawn.png()
        assert not [each for each in drawn.figure.findobj(Text) if "$" in each.get_text()]
