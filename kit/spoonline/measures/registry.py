"""The kitchen's one registry of units, made when it is first needed: pint is slow to load."""

from pathlib import Path

import pint

# A bag, a link and a turn are the kitchen's own here, not the trades' that pint knows.
units: pint.UnitRegistry[float] = pint.UnitRegistry(on_redefinition="ignore", autoconvert_offset_to_baseunit=True)
units.load_definitions(Path(__file__).with_name("kitchen_units.txt"))
