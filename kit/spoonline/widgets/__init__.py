"""The forms and panels that the notebooks show. They know screens; formulas and storage live in the rooms above."""

from spoonline.widgets.batch_form import BatchForm
from spoonline.widgets.card_panel import CardPanel
from spoonline.widgets.compare_panel import ComparePanel
from spoonline.widgets.dose_panel import DosePanel
from spoonline.widgets.flow_panel import FlowPanel
from spoonline.widgets.import_panel import ImportPanel
from spoonline.widgets.ingredients_panel import IngredientsPanel
from spoonline.widgets.make_ahead_panel import MakeAheadPanel
from spoonline.widgets.parts.here import dish_here, open_here
from spoonline.widgets.plan_panel import PlanPanel
from spoonline.widgets.start_panel import StartPanel
from spoonline.widgets.tasters_panel import TastersPanel

__all__ = [
    "BatchForm",
    "CardPanel",
    "ComparePanel",
    "DosePanel",
    "FlowPanel",
    "ImportPanel",
    "IngredientsPanel",
    "MakeAheadPanel",
    "PlanPanel",
    "StartPanel",
    "TastersPanel",
    "dish_here",
    "open_here",
]
