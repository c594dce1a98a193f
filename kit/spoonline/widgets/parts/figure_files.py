"""A figure on screen, to take along: as PNG, as SVG, and in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.widgets.parts.fields import appear, button
from spoonline.widgets.parts.markup import download, notes

if TYPE_CHECKING:
    from spoonline.figures.drawn import Drawn


class FigureBox(w.VBox):
    """Shows a figure, and gives its files when asked.

    Parameters
    ----------
    name : str
        Of the files, without ending.
    over : Widget, optional
        What moves over the picture, such as a mark at a slider's place. The slider then stands right below, and the panel gives
        ``along``, the files, a place of their own.
    """

    def __init__(self, name: str, over: w.Widget | None = None) -> None:
        self.name = name
        self._drawn: Drawn | None = None
        self.picture, self.files = w.HTML(), w.HTML()
        self.take = button("Get this figure as a file", self._give)
        self.along = w.VBox([self.take, self.files])
        plot = self.picture if over is None else w.VBox([self.picture, over]).add_class("sl-plot")
        super().__init__([plot, self.along] if over is None else [plot])
        self.show(None)

    @property
    def value(self) -> str:
        """The picture as markup; blank where there is none."""
        return str(self.picture.value)

    def show(self, drawn: Drawn | None) -> None:
        """Show a figure in place of the one before; None shows nothing."""
        self._drawn = drawn
        self.picture.value = "" if drawn is None else drawn._repr_html_()
        self.files.value = ""
        appear(self.take, drawn)

    def _give(self, _button: Any = None) -> None:
        if self._drawn is not None:
            png, svg, words = self._drawn.png(dpi=220), self._drawn.svg(), f"In words: {self._drawn.text}"
            self.files.value = (
                download(f"{self.name}.png", "image/png", png, "Download it as PNG, for a page or a slide")
                + download(f"{self.name}.svg", "image/svg+xml", svg, "Download it as SVG, sharp at any size")
                + notes([words])
            )
