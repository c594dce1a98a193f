"""Cooling, keeping and reheating: figures with their authority, the plan of a dinner, and the cautions that go beside them."""

from spoonline.keeping.cautions import ALLERGENS, COOLING, HOT_LIQUID, HOT_SUGAR, LOCAL_CODE, NOT_CLINICAL, PRESSURE
from spoonline.keeping.cautions import REHEATING, against_limits, beside, cautions_for, made_ahead
from spoonline.keeping.cooling import LOWER_BOUND, Forecast, Grid, deepest_cm, forecast, passed_at
from spoonline.keeping.cooling_log import CoolingLog, read_logger, read_readings, two_point, verdict
from spoonline.keeping.dinner import Dinner, DinnerDish, DinnerStage, FreeHours, read_dishes
from spoonline.keeping.hand_out import calendar, freezing, last_days, shopping_for, use_by
from spoonline.keeping.heat import PSI_PA, Food, boiling_c, food, food_of, ice_inside, ice_to_melt_kg, reheating_minutes
from spoonline.keeping.places import CODE, JURISDICTIONS, LIDS, MATERIALS, SURROUNDINGS, Container, CoolingRule
from spoonline.keeping.places import Surroundings, cooling_rules, studies
from spoonline.keeping.schedule import Plan, Task, plan
