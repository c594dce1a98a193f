"""Cooling, keeping and reheating: figures with their authority, the plan of a dinner, and the cautions that go beside them."""

from spoonline.keeping.cautions import (
    ALLERGENS,
    COOLING,
    HOT_LIQUID,
    HOT_SUGAR,
    KEEPING,
    LOCAL_CODE,
    MADE_AHEAD,
    NOT_CLINICAL,
    PRESSURE,
    REHEATING,
    TASTING,
    YOLK,
    cautions_for,
)
from spoonline.keeping.conduction import Grid, cylinder, cylinder_roots, slab, slab_roots
from spoonline.keeping.cooling import LOWER_BOUND, Forecast, deepest_cm, forecast, largest_tau_h
from spoonline.keeping.cooling_log import CoolingLog, TwoPoint, two_point, verdict
from spoonline.keeping.dates import Keeping, UseBy, freezing, keeping
from spoonline.keeping.dinner import Dinner, DinnerDish, DinnerStage, FreeHours, read_dishes
from spoonline.keeping.hand_out import calendar, checklist, shopping_for, use_by
from spoonline.keeping.heat import Food, food, food_of, ice_inside, ice_to_melt_kg
from spoonline.keeping.places import (
    CODE,
    LIDS,
    MATERIALS,
    SURROUNDINGS,
    Container,
    CoolingRule,
    Surroundings,
    cooling_rules,
    studies,
)
from spoonline.keeping.plan import Plan, Task, plan
from spoonline.keeping.probe import ProbeReading, read_logger, read_readings
from spoonline.keeping.water import (
    PSI_PA,
    boiled_off_g_per_min,
    boiling_c,
    latent_heat_kj_per_kg,
    reduced_share,
    reheating_minutes,
)

__all__ = [
    "ALLERGENS", "CODE", "COOLING", "HOT_LIQUID", "HOT_SUGAR", "KEEPING", "LIDS", "LOCAL_CODE", "LOWER_BOUND", "MADE_AHEAD", "MATERIALS",
    "NOT_CLINICAL", "PRESSURE", "PSI_PA", "REHEATING", "SURROUNDINGS", "TASTING", "YOLK",
    "Container", "CoolingLog", "CoolingRule", "Dinner", "DinnerDish", "DinnerStage", "Food", "Forecast", "FreeHours", "Grid", "Keeping",
    "Plan", "ProbeReading", "Surroundings", "Task", "TwoPoint", "UseBy",
    "boiled_off_g_per_min", "boiling_c", "calendar", "cautions_for", "checklist", "cooling_rules", "cylinder", "cylinder_roots",
    "deepest_cm", "food", "food_of", "forecast", "freezing", "ice_inside", "ice_to_melt_kg", "keeping", "largest_tau_h",
    "latent_heat_kj_per_kg", "plan", "read_dishes", "read_logger", "read_readings", "reduced_share", "reheating_minutes",
    "shopping_for", "slab", "slab_roots", "studies", "two_point", "use_by", "verdict",
]  # fmt: skip
