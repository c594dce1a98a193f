"""Any quantity against any outcome: one at a time, plans of pots of one or two, surfaces, and two groups of pots compared."""

from spoonline.effects.compare import OutcomeDifference, compare_outcomes
from spoonline.effects.one import EffectReading, NextSetting, name_of, read_effect
from spoonline.effects.plans import CORNERS, Factor, FloatArray, PlannedPot, PotPlan, plan_pots, weigh, weighed_out
from spoonline.effects.two import PlanReading, read_plan
