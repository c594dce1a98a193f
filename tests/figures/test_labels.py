"""No label of any figure lies on another, on a curve or on a mark, with no pot, one, three and forty, at both widths."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.text import Text

from figures.cases import every
from spoonline.figures.drawn import NARROW, WIDE

CASES = dict(every())
COUNTED = re.compile(r"(dose|tree|flow|cooling|dinner) \d+|dose far 5|surface top stars|session (pair|just).*")
SMALLEST_PT = 10.0
PLACES = {"figure": (610, WIDE), "narrow": (366, NARROW)}  # the least width of place that each is shown in [px]
SEEN = 0.43  # relative luminance below which a pixel is ink: all tints on one another are lighter, every colour of a mark is darker


def luminance(rgb: np.ndarray) -> np.ndarray:
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return linear @ (0.2126, 0.7152, 0.0722)


def contrast(one: np.ndarray, other: np.ndarray) -> float:
    low, high = sorted((float(luminance(one)), float(luminance(other))))
    return (high + 0.05) / (low + 0.05)


def in_the_dark(rgb: np.ndarray) -> np.ndarray:
    """What the dark theme's filter makes of a colour: invert(.93) hue-rotate(180deg), by the matrix of CSS Filter Effects."""
    light = 0.93 - 0.86 * rgb
    hue = np.array([[-0.574, 1.430, 0.144], [0.426, 0.430, 0.144], [0.426, 1.430, -0.856]])
    return np.clip(hue @ light, 0, 1)


def words_of(figure: Figure) -> list[Text]:
    """Each text that is drawn; labels of ticks outside their axis are kept by the library and never drawn."""
    ticks, drawn = set(), set()
    for axes in figure.axes:
        for axis, (low, high) in ((axes.xaxis, sorted(axes.get_xlim())), (axes.yaxis, sorted(axes.get_ylim()))):
            for tick in [*axis.get_major_ticks(), *axis.get_minor_ticks()]:
                ticks |= {tick.label1, tick.label2}
                if axes.axison and low - 1e-9 <= tick.get_loc() <= high + 1e-9:
                    drawn |= {tick.label1, tick.label2}
    found = [each for each in figure.findobj(Text) if each.get_visible() and each.get_text().strip()]
    return [each for each in found if each not in ticks or each in drawn]


def boxes_of(text: Text) -> list[np.ndarray]:
    """Left, bottom, right and top of a text in pixels; of one that is turned, of squares along its words."""
    box = Text.get_window_extent(text)
    angle = np.radians(text.get_rotation())
    if not angle:
        return [np.array((box.x0, box.y0, box.x1, box.y1))]
    text.set_rotation(0)
    flat = Text.get_window_extent(text)
    text.set_rotation(np.degrees(angle))
    along = np.linspace(-1, 1, 7)[:, None] * max(flat.width - flat.height, 0) / 2 * (np.cos(angle), np.sin(angle))
    middle, half = np.array((box.x0 + box.x1, box.y0 + box.y1)) / 2 + along, 0.35 * flat.height
    return list(np.hstack([middle - half, middle + half]))


def ink_of(figure: Figure, texts: list[Text]) -> np.ndarray:
    """Where the figure has ink when its words are taken away; rows from the bottom."""
    for each in texts:
        each.set_alpha(0)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    pixels = np.asarray(canvas.buffer_rgba())[::-1, :, :3] / 255
    for each in texts:
        each.set_alpha(None)
    return luminance(pixels) < SEEN


def faults_of(figure: Figure) -> list[str]:
    """What lies on what, and what is cut off."""
    figure.set_dpi(144)
    figure.draw_without_rendering()
    texts, faults = words_of(figure), []
    boxes = [(f"{number}: {text.get_text()}", boxes_of(text)) for number, text in enumerate(texts)]
    for (name, own), (other, theirs) in itertools.combinations(boxes, 2):
        if any(np.all(a[:2] + 1 < b[2:]) and np.all(b[:2] + 1 < a[2:]) for a in own for b in theirs):
            faults.append(f"{name!r} on {other!r}")
    ink = ink_of(figure, texts)
    height, width = ink.shape
    for name, own in boxes:
        if any(box[0] < -1 or box[1] < -1 or box[2] > width + 1 or box[3] > height + 1 for box in own):
            faults.append(f"{name!r} is cut off")
        corners = [np.maximum(np.round(box + np.array((2, 3, -2, -3))).astype(int), 0) for box in own]
        if any(ink[bottom:top, left:right].any() for left, bottom, right, top in corners):
            faults.append(f"{name!r} on a curve or a mark")
    return faults


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(
    "name", [each if COUNTED.fullmatch(each) else pytest.param(each, marks=pytest.mark.long) for each in CASES]
)
def test_no_label_lies_on_another_or_on_a_curve(name: str, place: str) -> None:
    figure = getattr(CASES[name](), place)
    assert faults_of(figure) == []
    pixels, inches = PLACES[place]
    assert figure.get_figwidth() == inches
    backs = (np.ones(3), in_the_dark(np.ones(3)))
    for text in words_of(figure):
        colour = np.array(to_rgb(text.get_color()))
        at_its_size = text.get_fontsize() * pixels / (96 * inches)
        assert at_its_size >= SMALLEST_PT - 0.05, (text.get_text(), at_its_size)
        assert contrast(colour, backs[0]) >= 4.5 and contrast(in_the_dark(colour), backs[1]) >= 4.5, text.get_text()


def test_the_measure_sees_a_label_on_a_label_and_on_a_curve() -> None:
    figure = Figure(figsize=(4, 3))
    axes = figure.add_subplot()
    axes.plot([0, 1], [0, 1], color="#0072b2", lw=2)
    axes.text(0.5, 0.5, "on the curve", ha="center", va="center")
    axes.text(0.2, 0.8, "one")
    axes.text(0.21, 0.81, "another")
    faults = " ".join(faults_of(figure))
    assert "on the curve' on a curve or a mark" in faults and "one' on " in faults and "cut off" not in faults
