"""Labels find a place where they lie on no curve, no mark and no other label."""

from itertools import product
from typing import Any

import numpy as np

# Tried in this order: near before far [points], beside before above [degrees].
RADII = (3, 7, 12, 18, 26, 34, 42, 50, 60, 70, 82, 95, 120, 150, 190)
ANGLES = (0, 180, 40, -40, 140, -140, 90, -90, 65, -65, 115, -115, 20, -20, 160, -160)
LEADER = 12  # a label as far as this has a line to its place
# What red, green and blue bring to a pixel's light, and the share of it that tints on one another keep and marks do not.
LIGHT, DARKEST_TINT = (0.21, 0.72, 0.07), 0.66
FREE, MARK, LABEL = 0, 1, 2
GAP = 3  # pixels round each label


def label(axes: Any, words: str, at: tuple[float, float]) -> None:
    """A label for a place in the data; where it stands is found when all is drawn, and where there is no room it is left out."""
    leader = {"arrowstyle": "-", "lw": 0.7, "shrinkA": 0, "shrinkB": 4}
    look = {"textcoords": "offset points", "ha": "center", "va": "center", "arrowprops": leader}
    axes.annotate(words, at, (0, 0), gid="label", in_layout=False, **look)


def settle(figure: Any) -> None:
    """Lay the figure out for good, then place its labels where the picture has no ink."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    labels = [each for axes in figure.axes for each in axes.texts if each.get_gid() == "label"]
    for each in labels:
        each.set_visible(False)
    canvas: Any = FigureCanvasAgg(figure)
    canvas.draw()
    figure.set_layout_engine("none")
    light = np.asarray(canvas.buffer_rgba())[::-1, :, :3] @ np.array(LIGHT)
    taken = np.where(light < 255 * DARKEST_TINT, MARK, FREE)
    for each in labels:
        _place(each, taken)


def _place(text: Any, taken: Any) -> None:
    """Put a label at the first place that is free, with a line to what it names where that is not beside it."""
    from matplotlib.text import Text

    text.set_visible(True)  # what is not visible has no size
    scale, frame = text.get_figure().dpi / 72, text.axes.get_window_extent()
    at, own = text.axes.transData.transform(text.xy), Text.get_window_extent(text)
    half, seen = np.array((own.width, own.height)) / 2, frame.padded(1).contains(*at)
    for radius, angle in product(RADII, np.radians(ANGLES)):
        middle = at + (np.cos(angle), np.sin(angle)) * (half + GAP + scale * radius)
        (left, low), (right, high) = ((middle + side * (half + GAP)).round().astype(int) for side in (-1, 1))
        inside = seen and frame.x0 <= left and frame.y0 <= low and right <= frame.x1 and high <= frame.y1
        leader = np.linspace(at, middle, 60 if radius >= LEADER else 0).astype(int)[:, ::-1].T
        if inside and not taken[low:high, left:right].any() and not np.any(taken[*leader] == LABEL):
            taken[*leader] = MARK
            taken[low:high, left:right] = LABEL
            text.set_position((middle - at) / scale)
            text.arrow_patch.set_visible(radius >= LEADER)
            return
    text.set_visible(False)
