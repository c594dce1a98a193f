"""The surface over two changes as a figure: contours of the outcome, the pots, the aim, and the next pot."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from spoonline.effects import PlanReading
from spoonline.effects.plans import CORNERS
from spoonline.figures.drawn import BLUE, GREEN, INK, SOFT, VERMILION, Drawn, label, new_figure
from spoonline.recipes import Aim

ON_WHITE = {"facecolor": "white", "alpha": 0.75, "edgecolor": "none", "pad": 1}
EDGE = 0.84  # labels of lines keep this far inside the frame
FLAT = 0.01  # a surface that rises by less than 1 % has no lines worth drawing


def surface_figure(found: PlanReading, aim: Aim, note: str = "") -> Drawn:
    """Draw the contours of the outcome over the two changes of a plan, at the mean of its cooking days, and the next pot.

    Parameters
    ----------
    found : PlanReading
        The pots of the plan that were read, and the surface over their coded settings.
    aim : Aim
        What lies inside it is shaded.
    note : str, optional
        Stands in front of the title and of the description, such as "Invented data."

    Returns
    -------
    Drawn
    """
    plan, suggestion = found.plan, found.next_setting(aim)
    first, second = plan.factors
    reach = float(np.abs(found.coded).max()) + 0.35  # room for the marks beyond the outermost pots
    u, v = np.meshgrid(*[np.linspace(-reach, reach, 121)] * 2)
    height = np.asarray(found.average(u, v).best)
    with new_figure(8.0, 5.6) as figure:
        axes = figure.add_subplot()
        low, high = np.clip(aim.in_unit(plan.unit).ends, height.min() - 1, height.max() + 1)
        if low < high:
            axes.contourf(u, v, height, levels=[low, high], colors=[GREEN], alpha=0.22)
        lines = axes.contour(
            u,
            v,
            height,
            levels=_levels(height[np.maximum(np.abs(u), np.abs(v)) < EDGE * reach]),
            colors=BLUE,
            linewidths=1.4,
        )
        axes.clabel(lines, fmt=f"%.3g {plan.unit}", fontsize=10, colors=BLUE)
        axes.contourf(u, v, ~found.inside(u, v), levels=[0.5, 1.5], colors=["white"], alpha=0.55)
        axes.plot(*found.coded.T, "o", ms=8, color=INK, zorder=6, label="pots, numbered\nas planned")
        at: dict[tuple[float, ...], list[str]] = {}  # pots planned alike lie close to each other
        for number in found.numbers:
            planned = zip(plan.factors, plan.pots[number - 1].settings, strict=True)
            at.setdefault(tuple(float(each.coded(float(value))) for each, value in planned), []).append(str(number))
        for where, numbers in at.items():
            label(axes, ", ".join(numbers), where, (9, 7), fontsize=10, zorder=8, bbox=ON_WHITE)
        place = [float(each.coded(value)) for each, value in zip(plan.factors, suggestion.settings, strict=True)]
        axes.plot(*place, "X", ms=12, color=VERMILION, mec="white", zorder=7, label="next pot")
        for axis, factor in ((axes.xaxis, first), (axes.yaxis, second)):
            axis.set_ticks([-1, 0, 1], [f"{float(factor.setting(each)):.3g}" for each in (-1, 0, 1)])
        axes.set(
            xlim=(-reach, reach),
            ylim=(-reach, reach),
            xlabel=f"{first.name}, {first.unit}",
            ylabel=f"{second.name}, {second.unit}",
        )
        axes.fill([], [], color=GREEN, alpha=0.22, label=aim.text)
        axes.plot([], [], color=BLUE, lw=1.4, label=f"{plan.outcome} of the\naverage pot")
        axes.legend(loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False, labelspacing=0.9)
        title = f"Lines join settings of equal {plan.outcome}. In the pale part they are guessed."
        axes.set_title(f"{note} {title}".strip(), fontsize=10, color=SOFT)
    corners = []
    for corner in CORNERS:
        settings = plan.words([float(each.setting(end)) for each, end in zip(plan.factors, corner, strict=True)])
        corners.append(f"{float(found.average(*corner).best):.2g} {plan.unit} at {settings}")
    what = (
        f"{plan.outcome.capitalize()} over {first.name} (across) and {second.name} (up), from {len(found.numbers)} pots"
    )
    text = f"{what}. The average pot has {', '.join(corners)}."
    return Drawn(figure, f"{note} {text} {suggestion.text}".strip())


def _levels(height: NDArray[np.float64]) -> Any:
    """Round figures that the surface has, up to eight; none on a flat."""
    from matplotlib.ticker import MaxNLocator

    low, high = height.min(), height.max()
    levels = MaxNLocator(8).tick_values(low, high)
    return levels[(levels > low) & (levels < high)] if high - low > FLAT * abs(high) else []
