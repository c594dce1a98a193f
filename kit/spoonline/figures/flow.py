"""A fluid's viscosity against shear rate."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from spoonline import flow
from spoonline.figures.drawn import BLUE, GREEN, INK, SOFT, Drawn, label, new_figure
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
    with new_figure(8.0, 4.4) as figure:
        axes = figure.add_subplot()
        if ranges:
            at = sorted(ranges)
            _, low, high = zip(*(ranges[rate] for rate in at), strict=True)
            axes.fill_between(at, low, high, color=BLUE, alpha=0.2, lw=0)
        axes.loglog(grid, values, color=BLUE, lw=2)
        floor = float(values.min()) / 6
        for row, (name, (start, end)) in enumerate(FELT.items()):
            height = floor * 1.6**row
            axes.plot([start, end], [height, height], color=GREEN, lw=6, solid_capstyle="butt")
            label(axes, name, (end, height), (5, 0), va="center", color=GREEN, fontsize=9)
        for order, (name, rate) in enumerate(tools):
            value, leader = float(fluid.viscosity(rate)), {"arrowstyle": "-", "color": SOFT}
            axes.plot(rate, value, "o", color=INK, ms=7)
            label(axes, name, (rate, value), (0, 14 + 16 * (order % 2)), ha="center", fontsize=10, arrowprops=leader)
        axes.set(xlim=(0.01, 1000), ylim=(floor / 1.6, float(values.max()) * 3))
        axes.set(xlabel="shear rate, 1/s", ylabel="viscosity, Pa s")
        for axis in (axes.xaxis, axes.yaxis):
            axis.set_major_formatter("{x:g}")
    listed = ", ".join(f"{name} at {rate:.2g} 1/s" for name, rate in tools)
    text = (
        f"Viscosity falls from {float(fluid.viscosity(0.1)):.2g} Pa s at 0.1 1/s to {float(fluid.viscosity(50)):.2g} Pa s at 50 1/s "
        f"(flow index {float(fluid.flow_index):.2g}). Tools read it at different rates: {listed}."
    )
    return Drawn(figure, text)
