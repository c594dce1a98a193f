"""Matplotlib figures, each with a text description. One style for all."""

from spoonline.figures.dose import dose_figure
from spoonline.figures.drawn import Drawn
from spoonline.figures.effect import Effect, effect
from spoonline.figures.flow import flow_figure
from spoonline.figures.keeping import cooling_figure, dinner_figure
from spoonline.figures.surface import surface_figure
from spoonline.figures.tasters import session_figure
from spoonline.figures.versions import tree_figure
