"""Two changes at once as a map: lines of equal outcome over both, the pots, the aim and the next pot."""

from typing import Any

import numpy as np

from spoonline.effects import CORNERS, FloatArray, PlanReading
from spoonline.figures.drawn import BLUE, GREEN, INK, VERMILION, Drawn, Figure, fitted, head
from spoonline.figures.labels import label
from spoonline.recipes import Aim

ROOM = 0.15  # coded steps that the label of a line needs to each side
NARROW_ROOM = 5.0  # and so many times more on a narrow figure
EDGE = 0.84  # labels of lines keep this far inside the frame
FLAT = 0.01  # a surface that rises by less than 1 % has no lines worth drawing


def surface_figure(found: PlanReading, aim: Aim, note: str = "") -> Drawn:
    """Draw the contours of the outcome over the two changes of a plan, at the mean of its cooking days, and the next pot.

    Parameters
    ----------
    found : PlanReading
    aim : Aim
        What is aimed at: its ends are a tint.
    note : str, optional
        Said before everything else, such as that the data are invented.

    Returns
    -------
    Drawn
    """
    plan, suggestion = found.plan, found.next_setting(aim)
    first, second = plan.factors
    reach = float(np.abs(found.coded).max()) + 0.35  # room for the marks beyond the outermost pots
    u, v = np.meshgrid(*[np.linspace(-reach, reach, 121)] * 2)
    height = np.asarray(found.average(u, v).best)
    place = tuple(float(each.coded(value)) for each, value in zip(plan.factors, suggestion.settings, strict=True))
    pots: dict[tuple[float, ...], list[str]] = {}  # pots planned alike lie close to each other
    for number in found.numbers:
        planned = zip(plan.factors, plan.pots[number - 1].settings, strict=True)
        pots.setdefault(tuple(float(each.coded(float(value))) for each, value in planned), []).append(str(number))

    def draw(figure: Figure) -> None:
        axes, wide = figure.add_subplot(), figure.get_figwidth() > 5
        low, high = np.clip(aim.in_unit(plan.unit).ends, height.min() - 1, height.max() + 1)
        if low < high:
            axes.contourf(u, v, height, levels=[low, high], colors=[GREEN], alpha=0.22)
        levels = _levels(height[np.maximum(np.abs(u), np.abs(v)) < EDGE * reach], 6 if wide else 4)
        lines = axes.contour(u, v, height, levels=levels, colors=BLUE, linewidths=1.4)
        axes.contourf(u, v, ~found.inside(u, v), levels=[0.5, 1.5], colors=["white"], alpha=0.55)
        axes.set(xlim=(-reach, reach), ylim=(-reach, reach), xlabel=f"{first.name}, {first.unit}")
        axes.set_title(f"{second.name}, {second.unit}", loc="left")
        for axis, factor in ((axes.xaxis, first), (axes.yaxis, second)):
            axis.set_ticks([-1, 0, 1], [f"{float(factor.setting(each)):.3g}" for each in (-1, 0, 1)])
        axes.plot(*found.coded.T, "o", color=INK, zorder=6, label="pots, numbered as planned")
        axes.plot(*place, "X", ms=12, color=VERMILION, mec="white", zorder=7, label="next pot")
        axes.fill([], [], color=GREEN, alpha=0.22, label=aim.text)
        axes.plot([], [], color=BLUE, lw=1.4, label=f"average pot, {plan.unit}; pale: guessed")
        _label_lines(axes, lines, np.array([*found.coded, place]), reach, 1.0 if wide else NARROW_ROOM)
        for where, numbers in pots.items():
            label(axes, fitted(", ".join(numbers), 0.9), (where[0], where[1]))
        head(figure, f"{note} {suggestion.text}".strip())

    corners = []
    for corner in CORNERS:
        settings = plan.words([float(each.setting(end)) for each, end in zip(plan.factors, corner, strict=True)])
        corners.append(f"{float(found.average(*corner).best):.2g} {plan.unit} at {settings}")
    over = f"{plan.outcome.capitalize()} over {first.name} (across) and {second.name} (up)"
    text = f"{over}, from {len(found.numbers)} pots. The average pot has {', '.join(corners)}."
    return Drawn(draw, f"{note} {text} {suggestion.text}".strip())


def _levels(height: FloatArray, most: int) -> Any:
    """Round figures that the surface has, at most so many; none on a flat."""
    from matplotlib.ticker import MaxNLocator

    low, high = height.min(), height.max()
    levels = MaxNLocator(most).tick_values(low, high)
    return levels[(levels > low) & (levels < high)] if high - low > FLAT * abs(high) else []


def _label_lines(axes: Any, lines: Any, taken: FloatArray, reach: float, times: float) -> None:
    """Write the figure on each line, where it is farthest from marks and other labels and not at the edge."""
    crowd, spots = [*taken], []
    for parts in lines.allsegs:
        points = np.concatenate([*parts, np.empty((0, 2))])
        points = points[np.max(np.abs(points), axis=1) < EDGE * reach / times**0.25] if points.size else points
        away = np.min(np.linalg.norm(points[:, None] - np.array(crowd)[None], axis=2), axis=1)
        if away.max(initial=0.0) > ROOM * times:
            crowd.append(points[int(np.argmax(away))])
            spots.append(crowd[-1])
    axes.clabel(lines, fmt="%.3g", fontsize=11.5, colors=BLUE, manual=spots)
