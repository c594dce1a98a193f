"""Pictures of flow: a fluid's viscosity against shear rate, and a sketch of each test."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from spoonline import flow
from spoonline.figures.drawn import BLUE, GREEN, INK, ORANGE, SOFT, VERMILION, Drawn, label, new_figure, style

# Where a thickness is felt (common practice; the mouth's 50 1/s is a convention).
FELT = {"on the plate": (0.5, 2.0), "ladle": (10.0, 100.0), "mouth": (30.0, 80.0)}


def flow_figure(
    fluid: flow.Fluid, rates_per_s: Mapping[str, float], ranges: Mapping[float, tuple[float, float]] | None = None
) -> Drawn:
    """Draw viscosity against shear rate, with the rate of each tool and where thickness is felt.

    Parameters
    ----------
    fluid : Fluid
    rates_per_s : mapping of str to float
        Tool to the shear rate it works at in this fluid [1/s].
    ranges : mapping of float to (float, float), optional
        Shear rate [1/s] to the low and high end of the viscosity there [Pa s].

    Returns
    -------
    Drawn
    """
    grid = np.geomspace(0.01, 1000, 200)
    values = np.asarray(fluid.viscosity(grid))
    tools = sorted(rates_per_s.items(), key=lambda item: item[1])
    with style():
        figure = new_figure(8.0, 4.4)
        axes = figure.add_subplot()
        if ranges:
            at = np.array(sorted(ranges))
            low, high = (np.array([ranges[rate][side] for rate in at]) for side in (0, 1))
            axes.fill_between(at, low, high, color=BLUE, alpha=0.2, lw=0)
        axes.loglog(grid, values, color=BLUE, lw=2)
        floor = float(values.min()) / 6
        for place, (name, (start, end)) in enumerate(FELT.items()):
            height = floor * 1.6**place
            axes.plot([start, end], [height, height], color=GREEN, lw=6, solid_capstyle="butt")
            label(axes, name, (end, height), (5, 0), va="center", color=GREEN, fontsize=9)
        for order, (name, rate) in enumerate(tools):
            value, leader = float(fluid.viscosity(rate)), {"arrowstyle": "-", "color": SOFT}
            axes.plot(rate, value, "o", color=INK, ms=7)
            label(axes, name, (rate, value), (0, 14 + 16 * (order % 2)), ha="center", fontsize=10, arrowprops=leader)
        axes.set(
            xlim=(0.01, 1000),
            ylim=(floor / 1.6, float(values.max()) * 3),
            xlabel="shear rate, 1/s",
            ylabel="viscosity, Pa s",
        )
        for axis in (axes.xaxis, axes.yaxis):
            axis.set_major_formatter("{x:g}")
    told = ", ".join(f"{name} at {rate:.2g} 1/s" for name, rate in tools)
    text = (
        f"Viscosity falls from {float(fluid.viscosity(0.1)):.2g} Pa s at 0.1 1/s to {float(fluid.viscosity(50)):.2g} Pa s at 50 1/s "
        f"(flow index {float(fluid.flow_index):.2g}). Tools read it at different rates: {told}."
    )
    return Drawn(figure, text)


def sketch(tool: str) -> Drawn:
    """A side view of one test, with the figure to read marked.

    Parameters
    ----------
    tool : str
        ring, spatula, trough, syringe or flow cup.

    Returns
    -------
    Drawn
    """
    with style():
        figure = new_figure(6.0, 2.8)
        axes = figure.add_subplot()
        axes.set_axis_off()
        axes.set_aspect("equal")
        text = _SKETCHES[tool](axes)
        axes.margins(0.08)
    return Drawn(figure, text)


def _span(
    axes: Any, start: tuple[float, float], end: tuple[float, float], label: str, place: tuple[float, float]
) -> None:
    tick = "|" if start[1] == end[1] else "_"
    axes.plot([start[0], end[0]], [start[1], end[1]], color=VERMILION, lw=1.5, marker=tick, ms=10)
    axes.text(*place, label, color=VERMILION, ha="center", va="center", fontsize=13)


def _line(axes: Any, *points: tuple[float, float]) -> None:
    axes.plot([x for x, _ in points], [y for _, y in points], color=INK, lw=2)


def _ring(axes: Any) -> str:
    x = np.linspace(-8, 8, 100)
    axes.fill_between(x, 0, 0.9 * (1 - (x / 8) ** 2) ** 0.4, color=ORANGE, alpha=0.5, lw=0)
    _line(axes, (-10, 0), (10, 0))
    for side in (-3.5, 3.5):
        _line(axes, (side, 2.0), (side, 4.0))
    axes.annotate("", (0, 4.6), (0, 2.2), arrowprops={"arrowstyle": "->", "color": SOFT})
    axes.text(4.2, 3.0, "ring, lifted", color=SOFT, fontsize=10)
    _span(axes, (0, -0.8), (8, -0.8), "radius, cm", (4, -1.6))
    return "Side view: the ring is lifted from a level plate, and the radius of the puddle is measured from its middle."


def _spatula(axes: Any) -> str:
    axes.fill_betweenx([0, 8], -0.2, [0.9, 0.2], color=ORANGE, alpha=0.5, lw=0)
    axes.fill_betweenx([0, 8], [-1.3, -0.6], -0.4, color=ORANGE, alpha=0.5, lw=0)
    axes.fill_betweenx([0, 11], -0.4, -0.2, color=INK, lw=0)
    _span(axes, (2.4, 0), (2.4, 8), "wet length, cm", (6.2, 4))
    axes.text(-5.5, 2, "film:\nweigh it", color=VERMILION, ha="center", fontsize=10)
    return "Side view: the spatula hangs upright, a film on each face, thicker toward its lower edge; what it holds is weighed."


def _trough(axes: Any) -> str:
    axes.fill_between([0, 5, 12, 15], 0, [2.4, 2.2, 1.4, 0], color=ORANGE, alpha=0.5, lw=0)
    _line(axes, (0, 4), (0, 0), (25, 0))
    _line(axes, (5, 3.2), (5, 5.2))
    axes.text(5.5, 4.2, "gate, opened", color=SOFT, fontsize=10)
    _span(axes, (5, -0.9), (15, -0.9), "distance from the gate, cm", (10, -2.2))
    return "Side view: the gate of the trough is opened, and the distance of the front from the gate is read."


def _syringe(axes: Any) -> str:
    axes.fill_betweenx([0, 3.6], -1, 1, color=ORANGE, alpha=0.5, lw=0)
    _line(axes, (-1, 8), (-1, 0), (-0.25, -0.4), (-0.25, -1.6))
    _line(axes, (1, 8), (1, 0), (0.25, -0.4), (0.25, -1.6))
    _span(axes, (2, 0), (2, 3.6), "left, mL", (4.6, 1.8))
    return "Side view: an upright syringe without plunger runs for ten seconds, and what is left in it is read."


def _cup(axes: Any) -> str:
    axes.fill_between([-3, -0.3, 0.3, 3], [2, 0, 0, 2], 5, color=ORANGE, alpha=0.5, lw=0)
    _line(axes, (-3, 5.4), (-3, 2), (-0.3, 0))
    _line(axes, (3, 5.4), (3, 2), (0.3, 0))
    axes.plot([0, 0, 0], [-0.6, -1.6, -2.8], "o", color=ORANGE, ms=5)
    axes.text(4.2, -1.4, "time until the\nstream breaks, s", color=VERMILION, fontsize=10)
    return "Side view: a cup with a hole runs out, and the time until the stream breaks is taken."


_SKETCHES = {"ring": _ring, "spatula": _spatula, "trough": _trough, "syringe": _syringe, "flow cup": _cup}
