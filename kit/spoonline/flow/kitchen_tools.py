"""The tools of a kitchen by name, and which suits what one expects; a new tool is a file beside this one with its class, and nothing else."""

from dataclasses import fields
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from typing import NamedTuple

from spoonline.flow.fluid import Fluid, said
from spoonline.flow.instrument import TOOLS, Instrument
from spoonline.measures import ItemError, Range, ReadingError, one_of, read_table, takes_quantities

_ROWS = map(dict.values, read_table("expected.csv", "flow"))
EXPECTED = {name: Fluid(*map(float, figures[:3])) for name, *figures in _ROWS}
_UNSURE = 2.0  # what one expects is known to a factor of about 2
_USELESS_PERCENT = 150.0


class Advice(NamedTuple):
    """A test that suits what is expected, and the doubts about it.

    ``reading`` is what to expect, in the tool's unit, for twice and half the consistency at the ends; ``spread_percent`` the 95 %
    spread, up, of the viscosity from one reading by hand, at the test's own shear rate [1/s].
    """

    tool: Instrument
    reading: Range
    shear_rate_per_s: float
    spread_percent: float
    doubts: tuple[str, ...] = ()


@takes_quantities
def which_test(expected: str | Fluid) -> tuple[Advice, ...]:
    """Tests that suit a thickness, the surest first.

    Parameters
    ----------
    expected : str or Fluid
        One of ``EXPECTED`` ("thin soup", "cream soup", "gravy", "coating sauce", "filling"), or a fluid.

    Returns
    -------
    tuple of Advice
        Tests that read what is expected without doubt, first those that also read its double and its half; where there are
        none, the three surest with their doubts.

    Raises
    ------
    ItemError, ReadingError
        If there is no such thickness; if no tool here suits that fluid.

    Examples
    --------
    >>> which_test("gravy")[0].tool.name
    'spatula'
    """
    if isinstance(expected, str) and expected not in EXPECTED:
        raise ItemError(said("no such thickness", came=expected, known=", ".join(EXPECTED)), list(EXPECTED))
    fluid = EXPECTED[expected] if isinstance(expected, str) else expected
    k, n, rho = float(fluid.consistency_pa_sn), float(fluid.flow_index), float(fluid.density_kg_m3)
    found = []
    for tool in (kind(**{**kind.fixed, **each}) for kind in TOOLS.values() for each in kind.tries):
        try:
            readings = [float(tool.reading(Fluid(k * f, n, rho))) for f in (1.0, _UNSURE, 1 / _UNSURE)]
            band = tool.interval(readings[0], tool.resolution, flow_index=n, density_kg_m3=rho)
        except ReadingError:
            continue
        spread = 100 * (float(band.high / band.best) - 1)
        if spread > _USELESS_PERCENT:
            continue
        doubts = tuple(dict.fromkeys(flag for each in readings for flag in tool.flags(each)))
        rate = float(tool.shear_rate(fluid))
        found.append(Advice(tool, Range(readings[0], min(readings), max(readings)), rate, spread, doubts))
    said.refuse(not found, "no test", k=k, n=n)
    ranked = sorted(found, key=lambda each: (bool(each.doubts), each.spread_percent))
    # One doubt at the double or the half is no reason to leave a test out; a doubt at what is expected is.
    sound = [each for each in ranked if not each.tool.flags(each.reading.best)]
    return tuple(sound or ranked[:3])


def tool(name: str) -> type[Instrument]:
    """The tool of this name; ItemError if there is none."""
    return one_of(TOOLS, name, "tool")


def instrument(name: str, **settings: float) -> Instrument:
    """A tool with these settings, as kitchens use it; ReadingError if one is missing, unknown or not above 0.

    Examples
    --------
    >>> instrument("spatula", length_cm=8, width_cm=10, seconds=10).name
    'spatula'
    """
    kind = tool(name)
    wanted, came = (", ".join(sorted(each)) or "no size" for each in (kind.labels(), settings))
    said.refuse(wanted != came, "sizes", tool=name, wanted=wanted, came=came)
    return kind(**settings, **kind.fixed)


def usual(name: str) -> Instrument:
    """A tool with its usual settings."""
    return instrument(name, **usual_settings(name))


def usual_settings(name: str) -> dict[str, float]:
    """The usual settings of a tool, by name."""
    return {each.name: float(each.default) for each in fields(tool(name)) if each.metadata}  # type: ignore[arg-type]  # every size has a usual value


def unit_of(name: str) -> str:
    """The unit of a tool's readings."""
    return tool(name).unit


for _each in iter_modules([str(Path(__file__).parent)]):
    import_module(f"spoonline.flow.{_each.name}")
