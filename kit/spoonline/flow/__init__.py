"""A fluid, and the kitchen tests that read it. Knows nothing of food, recipes or files."""

from spoonline.flow.combine import MeasuredFluid, fluid_from
from spoonline.flow.flow_cup import CUPS, FlowCup
from spoonline.flow.fluid import Fluid, G
from spoonline.flow.instrument import TOOLS, Instrument
from spoonline.flow.kitchen_tools import EXPECTED, instrument, tool, unit_of, usual, usual_settings, which_test
from spoonline.flow.mat import NOT_CLINICAL, mat
from spoonline.flow.ring import Ring
from spoonline.flow.slump import Slump
from spoonline.flow.spatula import Spatula
from spoonline.flow.syringe import Syringe
from spoonline.flow.trough import Trough
