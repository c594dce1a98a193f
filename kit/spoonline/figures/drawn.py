"""A finished figure with the sentence that says what it shows."""

from __future__ import annotations

import base64
import html
import io
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spoonline.measures.local import localised

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# Okabe-Ito colours, told apart by colour-blind eyes; a shape or a label always goes with them.
INK, SOFT = "#1b1b1b", "#5a5a5a"
BLUE, ORANGE, GREEN, VERMILION = "#0072b2", "#e69f00", "#009e73", "#d55e00"
SHAPES = ("o", "s", "^", "D", "v", "P", "X", "*")

UPRIGHT = ("data", "axes fraction")  # a place over the x axis, as a share of the height


def style() -> AbstractContextManager[None]:
    """The look of every figure, for the time of drawing only."""
    import matplotlib as mpl

    return mpl.rc_context(fname=str(Path(__file__).with_name("spoonline.mplstyle")))


@contextmanager
def new_figure(width: float = 8.0, height: float = 4.6) -> Iterator[Figure]:
    """A figure that pyplot does not keep [inch], laid out so that no label is cut, to be drawn in the look of all."""
    from matplotlib.figure import Figure

    with style():
        yield Figure(figsize=(width, height), layout="constrained")


def label(axes: Any, text: str, at: Any, shift: tuple[float, float] = (0, 0), **look: Any) -> None:
    """Write beside a place: ``shift`` points away from it."""
    axes.annotate(text, at, shift, **{"xycoords": "data", "textcoords": "offset points", **look})


@dataclass(frozen=True)
class Drawn:
    """A figure and its text description."""

    figure: Figure
    text: str

    def __post_init__(self) -> None:
        """Write the figure's numbers in the kitchen's decimal mark."""
        if localised("0.5") == "0.5":
            return
        from matplotlib.text import Text
        from matplotlib.ticker import FixedFormatter, FixedLocator

        for axis in (axis for axes in self.figure.axes for axis in (axes.xaxis, axes.yaxis)):
            ticks = axis.get_majorticklocs().tolist()
            words = [localised(each) for each in axis.get_major_formatter().format_ticks(ticks)]
            axis.set_major_locator(FixedLocator(ticks))
            axis.set_major_formatter(FixedFormatter(words))
        for text in self.figure.findobj(Text):
            text.set_text(localised(text.get_text()))

    def upright(self, x: float) -> tuple[float, float, float] | None:
        """Where an upright line at ``x`` of the first axes lies: left, bottom and top as shares of the picture; None outside."""
        axes = self.figure.axes[0]
        low, high = axes.get_xlim()
        if not low <= x <= high:
            return None
        if self.figure.get_layout_engine() is not None:
            self.figure.draw_without_rendering()
            # Where things stand is now known and stays, so that nothing is laid out again for the picture.
            self.figure.set_layout_engine("none")
        place = axes.get_position()
        return place.x0 + (x - low) / (high - low) * place.width, place.y0, place.y1

    def png(self, dpi: int = 110) -> bytes:
        """The figure as PNG."""
        return self._saved("png", dpi=dpi)

    def svg(self) -> bytes:
        """The figure as SVG, without a date, so that equal figures are equal files."""
        return self._saved("svg", metadata={"Date": None})

    def _saved(self, form: str, **options: Any) -> bytes:
        buffer = io.BytesIO()
        with style():
            self.figure.savefig(buffer, format=form, **options)
        return buffer.getvalue()

    def _repr_html_(self) -> str:
        data = base64.b64encode(self.png()).decode()
        return f'<img class="sl-figure" style="max-width:100%" src="data:image/png;base64,{data}" alt="{html.escape(self.text, quote=True)}">'
