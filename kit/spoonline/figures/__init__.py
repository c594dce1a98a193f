"""Matplotlib figures, each with a text description. One style for all."""

from spoonline.figures.dose import dose_figure
from spoonline.figures.drawn import Drawn
from spoonline.figures.flow import flow_figure
from spoonline.figures.keeping import cooling_figure, dinner_figure
from spoonline.figures.surface import stationary_words, surface_figure
from spoonline.figures.tasters import session_figure
from spoonline.figures.versions import tree_figure

__all__ = [
    "Drawn", "cooling_figure", "dinner_figure", "dose_figure", "flow_figure", "session_figure", "stationary_words",
    "surface_figure", "tree_figure",
]  # fmt: skip
