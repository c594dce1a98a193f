"""A figure for the width of its place, with the sentence that says what it shows; and what all figures draw alike."""

import html
import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from spoonline.figures.labels import settle
from spoonline.measures.local import localised

# matplotlib is slow to load, so what it draws on is known to the type checker alone
if TYPE_CHECKING:
    from matplotlib.axes import Axes as Axes
    from matplotlib.figure import Figure as Figure
else:
    Axes = Figure = Any

# Okabe-Ito colours, told apart by colour-blind eyes; a shape or a label always goes with them. Text is ink, soft or blue: the others
# have too little contrast.
INK, SOFT = "#1b1b1b", "#5a5a5a"
BLUE, ORANGE, GREEN, VERMILION = "#0072b2", "#e69f00", "#009e73", "#d55e00"
SHAPES = ("o", "s", "^", "D", "v", "P", "X", "*")

WIDE, NARROW = 7.2, 4.2  # inch: the widths that figures are drawn for
FAR = 8.0  # an axis of thickness ends so many times beyond the band; a pot farther off stands at its edge
ROUND = 4.0  # inch: more than all that stands above and below the axes
LINE = 0.2  # inch: a line of text
PLAIN = " /:=;,()"  # what an address inside double quotes may hold as it is


@dataclass(frozen=True, repr=False)
class Drawn:
    """A figure and its text description; ``draw`` fills an empty figure, whose width is that of its place."""

    draw: Callable[[Figure], None]
    text: str

    @cached_property
    def figure(self) -> Figure:
        """The figure as it stands on a page."""
        return self._at(WIDE)

    @cached_property
    def narrow(self) -> Figure:
        """The figure as it stands on a telephone or in half a page."""
        return self._at(NARROW)

    def _at(self, width: float) -> Figure:
        from matplotlib.figure import Figure

        with style():
            figure = Figure(figsize=(width, ROUND), layout="constrained")
            self.draw(figure)
            _localise(figure)
            settle(figure)
        return figure

    def upright(self, x: float, narrow: bool = False) -> tuple[float, float, float] | None:
        """Where an upright line at ``x`` of the first axes lies: left, bottom and top as shares of the picture; None outside."""
        axes = (self.narrow if narrow else self.figure).axes[0]
        low, high = axes.get_xlim()
        place = axes.get_position()
        return (place.x0 + (x - low) / (high - low) * place.width, place.y0, place.y1) if low <= x <= high else None

    def png(self, dpi: int = 110) -> bytes:
        """The figure as PNG."""
        return _saved(lambda buffer: self.figure.savefig(buffer, format="png", dpi=dpi))

    def svg(self, narrow: bool = False) -> bytes:
        """The figure as SVG, without a date, so that equal figures are equal files."""
        from matplotlib.backends.backend_svg import FigureCanvasSVG

        # It is laid out for good, so it is drawn once: to be saved it would be drawn once more before, to find its layout.
        canvas: Any = FigureCanvasSVG(self.narrow if narrow else self.figure)
        return _saved(lambda buffer: canvas.print_svg(buffer, metadata={"Date": None}))

    def __repr__(self) -> str:
        return f"Drawn({self.text!r})"

    def _repr_html_(self) -> str:
        words, css = html.escape(self.text, quote=True), Path(__file__).with_name("place.css").read_text("utf-8")
        pictures = (
            f'<img class="sl-figure {name}" src="data:image/svg+xml,{quote(self.svg(narrow), PLAIN)}" alt="{words}">'
            for name, narrow in (("sl-at-wide", False), ("sl-at-narrow", True))
        )
        return f'<div class="sl-place"><style>{css}</style>{"".join(pictures)}</div>'


def style() -> Any:
    """The look of every figure, for the time of drawing only."""
    import matplotlib as mpl

    return mpl.rc_context(fname=str(Path(__file__).with_name("spoonline.mplstyle")))


def _saved(save: Callable[[io.BytesIO], Any]) -> bytes:
    buffer = io.BytesIO()
    with style():
        save(buffer)
    return buffer.getvalue()


def _localise(figure: Figure) -> None:
    """Write the figure's numbers in the kitchen's decimal mark."""
    if localised("0.5") == "0.5":
        return
    from matplotlib.text import Text
    from matplotlib.ticker import FixedFormatter, FixedLocator

    for axis in (axis for axes in figure.axes for axis in (axes.xaxis, axes.yaxis)):
        ticks = axis.get_majorticklocs().tolist()
        words = [localised(each) for each in axis.get_major_formatter().format_ticks(ticks)]
        axis.set_major_locator(FixedLocator(ticks))
        axis.set_major_formatter(FixedFormatter(words))
    for text in figure.findobj(Text):
        text.set_text(localised(text.get_text()))


def fitted(words: str, inches: float) -> str:
    """Words on as many lines as so wide a place needs; a figure stays with its unit."""
    whole = re.sub(r"(?<=\d) (?=%|(?:g|cm|mL|L|C|h|min|s|Pa)\b)|(?<=\bPa) (?=s\b)", "\u00a0", words)
    return fill(whole, max(int(12 * inches), 8)).replace("\u00a0", " ")


def head(figure: Figure, answer: str) -> None:
    """The answer as the title, and below the figure what its marks and tints mean: whatever has a name in one of its axes."""
    width, rows, title = figure.get_figwidth(), 0, fitted(answer, 0.76 * figure.get_figwidth())
    figure.suptitle(title, x=0.01, ha="left")
    each_of = [axes.get_legend_handles_labels() for axes in figure.axes]
    named = {name: handle for found in each_of for handle, name in zip(*found, strict=True)}
    if named:
        words = [fitted(name, width - 0.5) for name in named]
        columns = min(max(int(width / (0.55 + max(map(len, named)) / 11.5)), 1), len(named))
        figure.legend(named.values(), words, loc="outside lower left", ncols=columns)
        rows = -(-len(named) // columns)
    figure.set_figheight(0.55 * width**0.85 + 1.0 + LINE * (title.count("\n") + 1 + 1.25 * rows))


def plain_log(axis: Any, low: float, high: float, most: int) -> None:
    """A log axis from ``low`` to ``high`` that has plain numbers, at most so many if that can be."""
    from matplotlib.ticker import LogLocator, NullLocator

    axis.axes.set(**{f"{axis.axis_name}scale": "log", f"{axis.axis_name}lim": (low, high)})
    for within in ((1, 2, 5), (1, 3), (1,)):
        ticks = [each for each in LogLocator(subs=within).tick_values(low, high) if low <= each <= high]
        if len(ticks) <= most:
            break
    axis.set_ticks(ticks, [f"{each:.12g}" for each in ticks])
    axis.set_minor_locator(NullLocator())


def reach(band: tuple[float, float], seen: Sequence[float]) -> tuple[float, float]:
    """The ends of a log axis round a band and all that was seen, but for what lies far off: that would leave no room for the rest."""
    low, high = band
    return max(min([low / 3, *seen]) / 1.25, low / FAR), min(max([high * 3, *seen]) * 1.25, high * FAR)


Place = tuple[float, float]


def mark(axes: Any, pots: Sequence[Place], shape: str, name: str, **look: Any) -> list[Place | None]:
    """Mark pots that look alike; of each that is beyond the limits of the axes the place at their edge where it stands is returned."""
    (left, right), (low, high) = sorted(axes.get_xlim()), sorted(axes.get_ylim())
    found, edges = dict[str, list[Place]](), list[Place | None]()
    for x, y in pots:
        sides = {"v": y < low, "^": y > high, "<": x < left, ">": x > right}
        edge = next((each for each in sides if sides[each]), "")
        place = min(max(x, left), right), min(max(y, low), high)
        found.setdefault(edge, []).append(place)
        edges.append(place if edge else None)
    for edge, places in found.items():
        named = "beyond the axis" if edge else name
        axes.plot(*zip(*places, strict=True), edge or shape, label=named, clip_on=False, **look)
    return edges


class Rows:
    """Rows of a figure, each named above its mark: ``down`` counts the inches from the top of the axes, turned upside down."""

    def __init__(self) -> None:
        self.down = 0.0
        self.names: dict[float, str] = {}

    def add(self, words: str, below: float) -> float:
        """A row with its words and so many inches for its mark below them; returns where those begin."""
        at = self.down + LINE * (words.count("\n") + 1)
        self.names[at], self.down = words, at + below
        return at

    def name(self, axes: Any) -> None:
        """Write the names from the left edge on, and fit the figure to them; comes when all else is drawn."""
        axes.set_yticks(list(self.names), list(self.names.values()), ha="left", va="bottom", color=INK)
        axes.tick_params(axis="y", length=0, pad=-2)
        axes.spines["left"].set_visible(False)
        self.fit(axes)

    def fit(self, axes: Any) -> None:
        """Make the figure so tall that the rows fit into these axes."""
        axes.set_ylim(self.down, 0)
        figure = axes.get_figure()
        figure.set_figheight(self.down + ROUND)
        figure.draw_without_rendering()
        figure.set_figheight(figure.get_figheight() + self.down - axes.get_window_extent().height / figure.dpi)
