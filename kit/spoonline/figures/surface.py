"""The surface over two changes as a figure: contours in Pa s, the pots, the band, and where the surface is level."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from spoonline.dose.next_batch import in_ten
from spoonline.effects.plan_reading import PlanReading, PlanStep, lies_inside
from spoonline.effects.two_factor_plan import CORNERS
from spoonline.effects.two_factors import Surface
from spoonline.figures.drawn import BLUE, GREEN, INK, SOFT, VERMILION, Drawn, fitted, head
from spoonline.figures.labels import label
from spoonline.measures.errors import BatchError
from spoonline.recipes import Target

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SHAPE_OF = {"corner": "s", "middle": "o", "star": "^"}
ROOM = 0.15  # coded steps that the label of a line needs to each side
EDGE = 0.88  # labels of lines keep this far inside the frame
NAMES = {"maximum": "a top (maximum)", "minimum": "a hollow (minimum)", "saddle": "a saddle"}
FLAT = 0.01  # a surface that rises by less than 1 % has no lines worth drawing
NEAR = 3.0  # coded steps beyond which a stationary point has nothing to do with the plan


def surface_figure(found: PlanReading, target: Target, note: str = "") -> Drawn:
    """Draw the contours of viscosity over the two changes of a plan, at the mean of its cooking days, and the next pot.

    Parameters
    ----------
    found : PlanReading
        The pots of the plan that were read, and the surface of ln viscosity over their coded settings.
    target : Target
        Its band is shaded.
    note : str, optional
        Stands in front of the title and of the description, such as "Invented data."

    Returns
    -------
    Drawn
    """
    surface, first, second, pots = found.surface, found.first, found.second, found.pots
    suggestion = found.next_pot(target)
    points: dict[tuple[float, float], list[int]] = {}
    for pot, number in zip(pots, found.numbers, strict=True):
        points.setdefault(pot.coded, []).append(number)
    # room for the marks beyond the outermost pots
    reach = max(abs(each) for point in points for each in point) + 0.35
    u, v = np.meshgrid(*[np.linspace(-reach, reach, 121)] * 2)
    eta = np.exp(surface.average(u, v, block=None).best)
    outer = sorted(points.keys() - {(0.0, 0.0)}, key=lambda each: np.arctan2(each[1], each[0]))
    ring, stationary = np.array([*outer, outer[0]]), _stationary(surface)

    def draw(figure: Figure) -> None:
        axes, wide = figure.add_subplot(), figure.get_figwidth() > 5
        axes.contourf(u, v, eta, levels=[target.low_pa_s, target.high_pa_s], colors=[GREEN], alpha=0.22)
        levels = _levels(eta[np.maximum(np.abs(u), np.abs(v)) < EDGE * reach], 6 if wide else 4)
        lines = axes.contour(u, v, eta, levels=levels, colors=BLUE, linewidths=1.4)
        axes.contourf(u, v, ~lies_inside(pots, u, v), levels=[0.5, 1.5], colors=["white"], alpha=0.55)
        axes.set(xlim=(-reach, reach), ylim=(-reach, reach))
        for axis, factor, which in ((axes.xaxis, first, 0), (axes.yaxis, second, 1)):
            coded = sorted({point[which] for point in points})
            axis.set_ticks(coded, [f"{float(factor.setting(each)):.3g}" for each in coded])
        axes.set_xlabel(f"{first.name}, {first.unit}")
        axes.set_title(f"{second.name}, {second.unit}", loc="left")
        axes.plot(*ring.T, color=SOFT, lw=1, ls=(0, (4, 3)), label="outside: guessed")
        for kind, shape in SHAPE_OF.items():
            here = np.array([pot.coded for pot in pots if pot.kind == kind])
            if here.size:
                axes.plot(*here.T, shape, color=INK, zorder=6, label=f"{kind} pots")
        axes.plot(*suggestion.coded, "X", ms=12, color=VERMILION, mec="white", zorder=7, label="next pot")
        axes.fill([], [], color=GREEN, alpha=0.22, label="target band")
        axes.plot([], [], color=BLUE, lw=1.4, label="average pot, Pa s")
        outline = [np.interp(np.linspace(0, len(outer), 60), range(len(outer) + 1), each) for each in ring.T]
        marks = [*points, *zip(*outline, strict=True), *([stationary] if stationary else []), suggestion.coded]
        _label_lines(axes, lines, marks, reach)
        if stationary is not None and max(map(abs, stationary)) <= reach:
            (name, sure), inside = surface.kind, bool(lies_inside(pots, *stationary))
            named = f"{name}{'' if sure else '?'}{'' if inside else ', outside'}"
            fill = VERMILION if inside else "white"
            axes.plot(*stationary, "P", ms=12, color=VERMILION, mfc=fill, zorder=7, label=named)
        for point, numbers in points.items():
            label(axes, fitted(", ".join(map(str, numbers)), 0.9), point)
        head(figure, f"{note} {answer}".strip())

    answer = f"{found.setting_words(suggestion)}: {in_ten(suggestion.chance)} pots land in the band"
    return Drawn(draw, f"{note} {_described(found, target, suggestion)}".strip())


def _stationary(surface: Surface) -> tuple[float, float] | None:
    """Where the surface is level, if that is anywhere near the plan."""
    with suppress(BatchError):  # it is level nowhere
        found = surface.stationary
        return found if np.hypot(*found) <= NEAR else None
    return None


def _levels(eta: NDArray[np.float64], most: int) -> Any:
    """Round viscosities that the surface has [Pa s], at most so many; none on a flat."""
    from matplotlib.ticker import MaxNLocator

    low, high = eta.min(), eta.max()
    levels = MaxNLocator(most).tick_values(low, high)
    return levels[(levels > low) & (levels < high)] if high > (1 + FLAT) * low else []


def _label_lines(axes: Any, lines: Any, taken: Sequence[tuple[float, float]], reach: float) -> None:
    """Write the viscosity on each line, where it is farthest from marks and other labels and not at the edge."""
    crowd: list[Any] = [np.array(each) for each in taken]
    spots = []
    for parts in lines.allsegs:
        points = np.concatenate([*parts, np.empty((0, 2))])
        points = points[np.max(np.abs(points), axis=1) < EDGE * reach] if points.size else points
        away = np.min(np.linalg.norm(points[:, None] - np.array(crowd)[None], axis=2), axis=1)
        if away.max(initial=0.0) > ROOM:
            crowd.append(points[int(np.argmax(away))])
            spots.append(crowd[-1])
    axes.clabel(lines, fmt="%.3g", fontsize=11.5, colors=BLUE, manual=spots)


def _described(found: PlanReading, target: Target, suggestion: PlanStep) -> str:
    """What the figure shows, in sentences for those who do not see it."""
    first, second, surface = found.first, found.second, found.surface
    corners = []
    for u, v in CORNERS:
        mean = np.exp(surface.average(u, v, block=None).best)
        at = f"{first.setting(u):.3g} {first.unit} and {second.setting(v):.3g} {second.unit}"
        corners.append(f"{mean:.2g} Pa s at {at}")
    return (
        f"Viscosity over {first.name} ({first.unit}, across) and {second.name} ({second.unit}, up), from {len(found.pots)} pots. "
        f"The average pot has {', '.join(corners)}. The shaded band is {target.low_pa_s:.2g} to {target.high_pa_s:.2g} Pa s. "
        f"{stationary_words(found)} The next pot is suggested at {suggestion.first:.3g} {first.unit} and "
        f"{suggestion.second:.2g} {second.unit}."
    )


def stationary_words(found: PlanReading) -> str:
    """Where the surface is level, what it is there, and whether that lies among the pots."""
    level = _stationary(found.surface)
    if level is None:
        return "The surface has no top, hollow or saddle near this plan."
    name, sure = found.surface.kind
    where = "inside the plan" if lies_inside(found.pots, *level) else "outside the plan, so it is an extrapolation"
    doubt = "" if sure else "; these pots do not establish which it is"
    first, second = found.first, found.second
    at = f"{first.setting(level[0]):.3g} {first.unit} and {second.setting(level[1]):.2g} {second.unit}"
    return f"The surface has {NAMES[name]} at {at}, {where}{doubt}."
