"""A fluid's viscosity against shear rate."""

from collections.abc import Mapping

import numpy as np

from spoonline import flow
from spoonline.figures.drawn import BLUE, GREEN, INK, Drawn, Figure, head, plain_log
from spoonline.figures.labels import label
from spoonline.measures import Range

# Where a thickness is felt (common practice; the mouth's 50 1/s is a convention).
FELT = {"on the plate": (0.5, 2.0), "ladle": (10.0, 100.0), "mouth": (30.0, 80.0)}


def flow_figure(fluid: flow.Fluid, rates_per_s: Mapping[str, float], ranges: Mapping[float, Range]) -> Drawn:
    """Draw viscosity against shear rate, with the rate of each tool and where thickness is felt.

    Parameters
    ----------
    fluid : Fluid
    rates_per_s : mapping of str to float
        Tool to the shear rate it works at in this fluid [1/s].
    ranges : mapping of float to Range
        Shear rate [1/s] to the viscosity there with its range [Pa s]; a band is drawn where there are some.

    Returns
    -------
    Drawn
    """
    grid = np.geomspace(0.01, 1000, 200)
    values = np.asarray(fluid.viscosity(grid))
    tools = sorted(rates_per_s.items(), key=lambda item: item[1])
    floor = float(values.min()) / 8
    slow, fast = (float(fluid.viscosity(rate)) for rate in (1.0, 50.0))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        plain_log(axes.xaxis, 0.01, 1000.0, 6)
        plain_log(axes.yaxis, floor / 1.6, float(values.max()) * 3, 9)
        axes.plot(grid, values, color=BLUE, lw=2, label="this fluid")
        if ranges:
            at = sorted(ranges)
            _, low, high = zip(*(ranges[rate] for rate in at), strict=True)
            axes.fill_between(at, low, high, color=BLUE, alpha=0.2, lw=0, label="its range")
        for row, (name, ends) in enumerate(FELT.items()):
            height = floor * 1.9**row
            axes.plot(ends, [height, height], color=GREEN, lw=6, solid_capstyle="butt", label="where it is felt")
            label(axes, name, (ends[0] if row == 1 else ends[1], height))
        for name, rate in tools:
            value = float(fluid.viscosity(rate))
            axes.plot(rate, value, "o", color=INK, label="a tool reads here")
            label(axes, name, (rate, value))
        axes.set_xlabel("shear rate, 1/s")
        axes.set_title("viscosity, Pa s", loc="left")
        head(figure, f"{slow:.2g} Pa s at 1\u00a01/s, {fast:.2g} at 50\u00a01/s")

    listed = ", ".join(f"{name} at {rate:.2g} 1/s" for name, rate in tools)
    text = (
        f"Viscosity falls from {float(fluid.viscosity(0.1)):.2g} Pa s at 0.1 1/s to {float(fluid.viscosity(50)):.2g} Pa s at 50 1/s "
        f"(flow index {float(fluid.flow_index):.2g}). Tools read it at different rates: {listed}."
    )
    return Drawn(draw, text)
