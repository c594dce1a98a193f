"""Cooling, keeping and reheating: figures with their authority, the plan of a dinner, and the cautions that go beside them."""

from spoonline.keeping.cautions import (
    ALLERGENS,
    COOLING,
    HOT_LIQUID,
    HOT_SUGAR,
    LOCAL_CODE,
    NOT_CLINICAL,
    PRESSURE,
    REHEATING,
    against_limits,
    beside,
    cautions_for,
    made_ahead,
)  # fmt: skip
from spoonline.keeping.cooling import LOWER_BOUND, Forecast, Grid, deepest_cm, forecast, passed_at
from spoonline.keeping.cooling_log import (
    CoolingLog,
    ProbeReading,
    TwoPoint,
    read_logger,
    read_readings,
    two_point,
    verdict,
)
from spoonline.keeping.dates import LastDays, UseBy, freezing, last_days
from spoonline.keeping.dinner import Dinner, DinnerDish, DinnerStage, FreeHours, Plan, Task, plan, read_dishes
from spoonline.keeping.hand_out import calendar, shopping_for, use_by
from spoonline.keeping.heat import PSI_PA, Food, boiling_c, food, food_of, ice_inside, ice_to_melt_kg, reheating_minutes
from spoonline.keeping.places import (
    CODE,
    JURISDICTIONS,
    LIDS,
    MATERIALS,
    SURROUNDINGS,
    Container,
    CoolingRule,
    Jurisdiction,
    Surroundings,
    cooling_rules,
    studies,
)  # fmt: skip

__all__ = [
    "ALLERGENS", "CODE", "COOLING", "HOT_LIQUID", "HOT_SUGAR", "JURISDICTIONS", "LIDS", "LOCAL_CODE", "LOWER_BOUND", "MATERIALS",
    "NOT_CLINICAL", "PRESSURE", "PSI_PA", "REHEATING", "SURROUNDINGS", "Container", "CoolingLog", "CoolingRule", "Dinner", "DinnerDish",
    "DinnerStage", "Food", "Forecast", "FreeHours", "Grid", "Jurisdiction", "LastDays", "Plan", "ProbeReading", "Surroundings", "Task",
    "TwoPoint", "UseBy", "against_limits", "beside", "boiling_c", "calendar", "cautions_for", "cooling_rules", "deepest_cm", "food",
    "food_of", "forecast", "freezing", "ice_inside", "ice_to_melt_kg", "last_days", "made_ahead", "passed_at", "plan", "read_dishes",
    "read_logger", "read_readings", "reheating_minutes", "shopping_for", "studies", "two_point", "use_by", "verdict",
]  # fmt: skip
