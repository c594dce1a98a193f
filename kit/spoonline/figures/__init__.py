"""Matplotlib figures, each with a text description. One style for all."""

from spoonline.figures.dose import dose_figure
from spoonline.figures.drawn import Drawn
from spoonline.figures.flow import flow_figure, sketch

__all__ = ["Drawn", "dose_figure", "flow_figure", "sketch"]
