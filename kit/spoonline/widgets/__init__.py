"""The forms and panels that the notebooks show. They know screens; formulas and storage live in the rooms above."""

from spoonline.widgets.card_panel import CardPanel as CardPanel
from spoonline.widgets.compare_panel import ComparePanel as ComparePanel
from spoonline.widgets.dose_panel import DosePanel as DosePanel
from spoonline.widgets.flow_panel import FlowPanel as FlowPanel
from spoonline.widgets.import_panel import ImportPanel as ImportPanel
from spoonline.widgets.ingredients_panel import IngredientsPanel as IngredientsPanel
from spoonline.widgets.make_ahead_panel import MakeAheadPanel as MakeAheadPanel
from spoonline.widgets.parts.here import dish_here as dish_here
from spoonline.widgets.parts.here import open_here as open_here
from spoonline.widgets.plan_panel import PlanPanel as PlanPanel
from spoonline.widgets.start_panel import StartPanel as StartPanel
from spoonline.widgets.stove_panel import StovePanel as StovePanel
from spoonline.widgets.tasters_panel import TastersPanel as TastersPanel
