"""What each figure answers in its title, marks at its edge, and says in words."""

from __future__ import annotations

import re
from contextvars import copy_context
from dataclasses import replace
from urllib.parse import unquote

import numpy as np
import pytest
from matplotlib.text import Annotation

from figures.cases import cooling, dinner, dish, dose, effects, fluid, ladder, session, tree
from spoonline.figures import dinner_figure, dose_figure, session_figure
from spoonline.figures.drawn import NARROW, WIDE, Drawn, fitted
from spoonline.measures.local import write_decimals_with


def title(drawn: Drawn, narrow: bool = False) -> str:
    return (drawn.narrow if narrow else drawn.figure).get_suptitle().replace("\n", " ")


def numbers(drawn: Drawn) -> set[str]:
    return {
        each.get_text() for each in drawn.figure.axes[0].texts if isinstance(each, Annotation) and each.get_visible()
    }


def legend(drawn: Drawn) -> list[str]:
    return [each.get_text() for each in drawn.figure.legends[0].get_texts()]


def test_the_answer_is_the_title() -> None:
    made = dish(3)
    assert made.next is not None
    answer = f"{made.next.dose_g_per_l:.1f} g/L: 8 of 10 pots land in the band"
    assert title(dose(made)) == title(dose(made), narrow=True) == answer
    assert title(dose(dish(3, aim=False))) == "How corn starch thickens this dish: no aim is set"
    assert title(tree(3, 3)) == "Version 3: 1 of 2 pots lie in the band"
    assert title(tree(0, 0)) == "No versions so far"
    assert title(fluid(3)).replace("\u00a0", " ") == "2.4 Pa s at 1 1/s, 0.27 at 50 1/s"
    assert title(cooling(40, "US model Food Code")) == "This pot misses stage 1 (US model Food Code)"
    assert (
        title(session_figure(session("pair", 2, 12)))
        == "Tasters can tell: 11 of 12 found version 2 thicker than version 1"
    )
    assert title(dinner_figure(dinner(3))).startswith("It fits: 9 stages and 8 probe checks on 2 days")


def test_few_pots_have_their_numbers_and_of_many_those_that_are_odd() -> None:
    assert numbers(dose(dish(11))) == {f"{each}" for each in range(1, 12)}
    many = dish(40)
    assert many.curve is not None
    odd = {f"{many.curve.curve.batch_numbers[at]}" for at in many.curve.curve.odd}
    assert numbers(dose(many)) == odd and len(odd) < 5


@pytest.mark.parametrize("pots", [5, 40])
def test_a_pot_far_off_stands_at_the_edge_and_is_spoken_of(pots: int) -> None:
    plain, far = dose(dish(pots)), dose(dish(pots, far=True))
    assert "beyond" not in plain.text and "beyond the axis" not in legend(plain)
    said = re.search(
        rf"Pot {pots} \([\d.]+ g/L, (\d+) Pa s, \d+ times the aim\) lies beyond the axes and stands at their edge",
        far.text,
    )
    assert said and "beyond the axis" in legend(far)
    low, high = far.figure.axes[0].get_ylim()
    assert high < float(said[1]) and high / low < 120, "its axis stays that of the band"
    assert any(each.startswith(f"{pots}: ") and f"{said[1]} Pa s" in each for each in numbers(far))
    assert "lies far off" in tree(3, 6, far=True).text


def test_a_figure_stays_with_its_unit_and_an_aim_is_drawn_before_any_pot() -> None:
    for inches in (1, 1.5, 2, 3):
        lines = fitted("version 1: 25 % too thin, 0.36 Pa s at 60 C", inches).splitlines()
        assert len(lines) > 1 and not any(re.match(r"(%|Pa|s|C)\b|%", line) for line in lines)
    low, high = effects(0).figure.axes[0].get_ylim()
    assert low < 6.3 and high > 6.7, "the band of the aim"


def test_a_dose_far_off_stands_at_the_edge_too() -> None:
    made = dish(5)
    assert made.curve is not None
    point = made.curve.pots[0]
    odd = replace(made.curve, pots=(replace(point, dose_g_per_l=330.0), *made.curve.pots[1:]))
    drawn = dose_figure(odd)
    assert drawn.figure.axes[0].get_xlim()[1] < 110 and f"Pot {point.batch.number} (330.0 g/L" in drawn.text


def test_readings_of_one_pot_are_joined() -> None:
    made = ladder()
    assert made.curve is not None
    (rungs,) = [pot.ladder for pot in made.curve.pots if len(pot.ladder) > 1]
    assert [dose for dose, _ in rungs] == sorted(dose for dose, _ in rungs) and len(rungs) == 3
    assert [viscosity for _, viscosity in rungs] == pytest.approx([0.4, 0.62, 0.95], rel=0.01)
    (line,) = [each for each in dose(made).figure.axes[0].lines if each.get_label() == "each reading"]
    assert np.allclose(line.get_xydata(), rungs)
    assert "each reading" not in legend(dose(dish(3)))


def test_versions_are_rows_with_right_angles_and_their_pots_over_the_band() -> None:
    drawn = tree(12, 40)
    rows, strip = drawn.figure.axes
    for line in rows.lines:
        steps = np.abs(np.diff(line.get_xydata(), axis=0))
        assert np.all(steps.min(axis=1) < 1e-9), "across or down, never aslant"
    assert len([each for each in rows.texts if each.get_text().startswith("5: 26.0 g/L")]) == 1
    marks = [each for each in strip.lines if len(each.get_xdata()) == 1]
    assert len(marks) == sum(len(each) for each in dish(40, 12).viscosities.values())
    assert legend(drawn)[0] == "target band" and rows.get_ylim() == strip.get_ylim()


def test_one_bar_a_sample_with_just_right_in_the_middle() -> None:
    drawn = session_figure(session("just right", 3, 40))
    (axes,) = drawn.figure.axes
    bars = [each.get_bbox() for each in axes.patches]
    assert len(bars) == 9 and len({round(each.y0, 6) for each in bars}) == 3
    for thin, right, thick in zip(bars[::3], bars[1::3], bars[2::3], strict=True):
        assert (
            right.x0 == pytest.approx(-right.x1)
            and thin.x1 == pytest.approx(right.x0)
            and thick.x0 == pytest.approx(right.x1)
        )
        assert thin.width + right.width + thick.width == pytest.approx(100)
    assert legend(drawn) == ["too thin", "just right", "too thick"]


def test_the_days_of_a_dinner_share_one_scale() -> None:
    made = dinner(3)
    (axes,) = dinner_figure(made).figure.axes
    starts = [task.start.hour + task.start.minute / 60 for task in made.tasks]
    bars = [
        each.get_x() for each in axes.patches if each.get_facecolor()[:3] == pytest.approx((0, 0.447, 0.698), abs=0.01)
    ]
    assert bars == pytest.approx(starts) and len({task.start.date() for task in made.tasks}) == 2


def test_the_place_chooses_the_width() -> None:
    page = dose(dish(3))._repr_html_()
    pictures = re.findall(r'<img class="sl-figure (sl-at-\w+)" src="data:image/svg\+xml,([^"]+)" alt="([^"]+)">', page)
    assert [name for name, *_ in pictures] == ["sl-at-wide", "sl-at-narrow"] and pictures[0][2] == pictures[1][2]
    for (_, svg, _), inches in zip(pictures, (WIDE, NARROW), strict=True):
        width = re.search(r'<svg [^>]*width="([\d.]+)pt"', unquote(svg))
        assert width and float(width[1]) == pytest.approx(72 * inches)
    assert re.search(r"@container \(max-width: 610px\) \{ \.sl-place > \.sl-at-wide \{ display: none", page)


def test_an_upright_line_lies_at_its_dose_in_both_widths() -> None:
    drawn = dose(dish(3))
    for narrow in (False, True):
        low, high = drawn.figure.axes[0].get_xlim()
        ends = [drawn.upright(x, narrow) for x in (low, high)]
        assert ends[0] is not None and ends[1] is not None and 0 < ends[0][0] < 0.25 and 0.75 < ends[1][0] < 1
        assert drawn.upright(1.01 * high, narrow) is None


def test_numbers_have_the_kitchens_decimal_mark() -> None:
    plain = dose(dish(1))
    limits = [each.get_ylim() for each in plain.figure.axes]

    def with_commas() -> Drawn:
        write_decimals_with(",")
        drawn = dose(dish(1))
        assert drawn.figure
        return drawn

    drawn = copy_context().run(with_commas)
    assert title(drawn).startswith("30,0 g/L") and [each.get_ylim() for each in drawn.figure.axes] == limits
    assert "1,5" in {each.get_text() for each in drawn.figure.axes[0].get_yticklabels()}


def test_of_many_pots_those_that_look_alike_are_drawn_at_once() -> None:
    axes = dose(dish(40)).figure.axes[0]
    marked = [line for line in axes.lines if line.get_label().startswith(("version", "beyond", "left out"))]
    assert len(marked) <= 5 and sum(len(line.get_xdata()) for line in marked) == 40
