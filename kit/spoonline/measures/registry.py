"""The kitchen's one registry of units, made when it is first needed: pint is slow to load."""

from pathlib import Path

import pint

from spoonline.measures.errors import AmountError


def _no_comma(text: str) -> str:
    """Refuse what pint would read as 15: the comma of 1,5."""
    if "," in text:
        raise AmountError(f"{text!r} came; write the figure with a point, such as {text.replace(',', '.')!r}.")
    return text


# A bag, a link and a turn are the kitchen's own here, not the trades' that pint knows.
units: pint.UnitRegistry[float] = pint.UnitRegistry(
    on_redefinition="ignore", autoconvert_offset_to_baseunit=True, preprocessors=[_no_comma]
)
units.load_definitions(Path(__file__).with_name("kitchen_units.txt"))
