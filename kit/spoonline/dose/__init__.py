"""The dose curve of a dish from its pots, what to cook next, stages, swaps, comparing pots and odd pots."""

from spoonline.dose.aims import LEAST_BAND, MOST_BAND, aim_as, aim_of, everyday
from spoonline.dose.compare import Comparison, OddPot, Spread, compare_pots, odd_pots, pooled_spread
from spoonline.dose.dish_curve import DishCurve, PotPoint, dish_curve
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.kitchen import kitchen_prior, learned_text
from spoonline.dose.mend import Remedy, mend
from spoonline.dose.next_batch import NextBatch, in_ten
from spoonline.dose.pot_now import PotNow, pot_now
from spoonline.dose.stages import reheating, stage_ratio, through_stages
from spoonline.dose.swap import Swap, swap
