"""A figure on screen, to take along: as PNG, as SVG, and in words."""

from typing import Any

import ipywidgets as w

from spoonline.figures.drawn import Drawn
from spoonline.widgets.parts.fields import appear, button
from spoonline.widgets.parts.markup import download, notes, tag


class FigureBox(w.VBox):
    """Shows a figure, and gives its files when asked.

    Parameters
    ----------
    name : str
        Of the files, without ending.
    marked : bool, optional
        Whether a line moves over the picture, such as one at a slider's place. The slider then stands right below, and the panel
        gives ``along``, the files, a place of their own.
    """

    def __init__(self, name: str, *, marked: bool = False) -> None:
        self.name = name
        self._drawn: Drawn | None = None
        self.picture, self.files, self.over = w.HTML(), w.HTML(), w.HTML().add_class("sl-mark")
        self.take = button("Get this figure as a file", self._give)
        self.along = w.VBox([self.take, self.files])
        plot = w.VBox([self.picture, self.over]).add_class("sl-plot")
        super().__init__([plot] if marked else [plot, self.along])
        self.show(None)

    def mark(self, x: float, text: str) -> None:
        """Put the line at ``x``, with a word beside it; where that lies outside there is none."""
        marks = []
        for name, narrow in (("sl-at-wide", False), ("sl-at-narrow", True)):
            line = self._drawn.upright(x, narrow) if self._drawn is not None else None
            if line is not None:
                left, bottom, top = (100 * each for each in line)
                css = f"sl-line {name}{' sl-far' if left > 75 else ''}"
                where = f"left:{left:.3f}%;bottom:{bottom:.2f}%;height:{top - bottom:.2f}%"
                marks.append(tag("div", tag("span", text), class_=css, style=where, aria_hidden="true"))
        self.over.value = tag("div", *marks, class_="sl-place sl-over") if marks else ""

    @property
    def value(self) -> str:
        """The picture as markup; blank where there is none."""
        return str(self.picture.value)

    def show(self, drawn: Drawn | None) -> None:
        """Show a figure in place of the one before; None shows nothing."""
        self._drawn = drawn
        self.picture.value = "" if drawn is None else drawn._repr_html_()
        self.files.value = self.over.value = ""
        appear(self.take, drawn)

    def _give(self, _button: Any = None) -> None:
        if self._drawn is not None:
            png, svg, words = self._drawn.png(dpi=220), self._drawn.svg(), notes([f"In words: {self._drawn.text}"])
            page = download(f"{self.name}.png", "image/png", png, "Download it as PNG, for a page or a slide")
            sharp = download(f"{self.name}.svg", "image/svg+xml", svg, "Download it as SVG, sharp at any size")
            self.files.value = page + sharp + words
