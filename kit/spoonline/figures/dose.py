"""The dose curve as a figure: dose across, thickness up, the pots, the two ranges, the band and the suggestion."""

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from spoonline.dose import DishCurve, NextBatch, PotPoint, in_ten
from spoonline.dose.priors import FloatArray
from spoonline.figures import drawn
from spoonline.figures.drawn import BLUE, GREEN, INK, SHAPES, SOFT, VERMILION, Axes, Drawn, Figure, head, mark
from spoonline.figures.labels import label
from spoonline.flow import unit_of
from spoonline.measures.printing import print_dose
from spoonline.pots import Reading, all_shown_as, own_tool

# Readings that an axis is marked with, in any tool's unit, and how close two of them may stand as shares of its length.
NICE = [each * ten for ten in (0.1, 1.0, 10.0, 100.0) for each in (1, 1.5, 2, 3, 4, 5, 6, 8)]
CLOSE = 0.09
MANY_POTS = 12  # from so many on only those that are odd have their number, and none its range


def dose_figure(dish: DishCurve, dose_g_per_l: float | None = None, suggestion: NextBatch | None = None) -> Drawn:
    """Draw the dose curve of a dish.

    Parameters
    ----------
    dish : DishCurve
    dose_g_per_l : float, optional
        A dose to mark [g/L].
    suggestion : NextBatch, optional
        The next pot, marked with a drop line.

    Returns
    -------
    Drawn
    """
    grid = dish.doses() if dose_g_per_l is None else np.unique(np.append(dish.doses(), dose_g_per_l))
    average, single, target = dish.curve.viscosity(grid), dish.curve.batch(grid), dish.target
    band = (target.low_pa_s, target.high_pa_s) if target else (np.min(average.best), np.max(average.best))
    low, high = drawn.reach(band, [end for pot in dish.pots for end in pot.thickness.range])
    reading, seen = _tool_scale(dish, low, high)

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        axes.set(xlim=(grid[0], grid[-1]), ylim=(low, high), yscale="log")
        axes.set_xlabel(f"{dish.thickener}, g/L, at {_conditions(dish)}")
        if target:
            axes.axhspan(*band, color=GREEN, alpha=0.2, lw=0, label="target band")
        axes.plot(grid, average.best, color=BLUE, lw=2, label="average pot")
        axes.fill_between(grid, average.low, average.high, color=BLUE, alpha=0.3, lw=0, label="its 90 % range")
        axes.fill_between(grid, single.low, single.high, color=BLUE, alpha=0.12, lw=0, label="90 % of next pots")
        if suggestion is not None:
            axes.axvline(suggestion.dose_g_per_l, color=VERMILION, lw=1.5, ls="--", label="next pot")
        if dose_g_per_l is not None:
            axes.axvline(dose_g_per_l, color=INK, lw=1, label=f"{print_dose(dose_g_per_l)} g/L")
        _draw_pots(axes, dish)
        pascal = _tool_axis(axes, reading, seen)
        drawn.plain_log(pascal.yaxis, low, high, 9)
        pascal.set_title("Pa s", loc="left" if pascal is axes else "right")
        head(figure, _answer(dish, suggestion))

    far = [pot for pot in dish.pots if not (grid[0] <= pot.dose_g_per_l <= grid[-1] and low <= _best(pot) <= high)]
    return Drawn(draw, describe(dish, suggestion, far))


def _best(pot: PotPoint) -> float:
    return pot.thickness.viscosity_pa_s


def _draw_pots(axes: Axes, dish: DishCurve) -> None:
    """The pots, each by the shape of its version, and their numbers; of many only those that are odd or far off."""
    versions = sorted({pot.batch.version for pot in dish.pots})
    odd = {dish.curve.batch_numbers[at] for at in dish.curve.odd}
    many = len(dish.pots) >= MANY_POTS
    pots = sorted(dish.pots, key=lambda pot: (bool(pot.left_out), pot.batch.version, pot.batch.number))
    for (left_out, version), same in groupby(pots, lambda pot: (bool(pot.left_out), pot.batch.version)):
        shape = SHAPES[versions.index(version) % len(SHAPES)]
        name = f"version {version}" if len(versions) > 1 else "pot"
        name, colour, fill = ("left out", SOFT, "white") if left_out else (name, INK, INK)
        held = list(same)
        places = [(pot.dose_g_per_l, _best(pot)) for pot in held]
        edges = mark(axes, places, shape, name, color=colour, mfc=fill, zorder=5)
        for pot, edge in zip(held, edges, strict=True):
            best, low, high = pot.thickness.range
            if edge is not None:
                label(axes, f"{pot.batch.number}: {print_dose(pot.dose_g_per_l)} g/L, {best:.2g} Pa s", edge)
                continue
            if not many:
                axes.plot([pot.dose_g_per_l] * 2, [low, high], color=colour, lw=1)
            if len(pot.ladder) > 1:
                axes.plot(*zip(*pot.ladder, strict=True), ".-", color=colour, lw=1, ms=6, label="each reading")
            if not many or pot.batch.number in odd:
                label(axes, f"{pot.batch.number}", (pot.dose_g_per_l, best))


def _tool_scale(dish: DishCurve, low: float, high: float) -> tuple[Reading, FloatArray]:
    """A reading of the kitchen's own tool, and viscosities [Pa s] beside what it would show of them (2, n)."""
    reading = own_tool([pot.batch for pot in dish.pots], dish.target)
    viscosity = np.geomspace(low, high, 60)
    shown = all_shown_as(reading, viscosity, dish.target)
    return reading, np.array([viscosity, shown])[:, ~np.isnan(shown)]


def _tool_axis(axes: Axes, reading: Reading, seen: FloatArray) -> Axes:
    """The axis for Pa s: on the right, where the kitchen's own tool can stand on the left; else the only one."""
    from matplotlib.ticker import MaxNLocator, NullLocator

    (low, high), (viscosity, shown) = axes.get_ylim(), seen
    if shown.size < 10:
        return axes
    order, ends = np.argsort(shown), (shown.min(), shown.max())
    nice = NICE if ends[1] > 3 * ends[0] else MaxNLocator(7).tick_values(*ends)
    places = np.interp(nice, shown[order], np.log(viscosity[order]))
    kept: list[tuple[float, float]] = []
    for each, place in zip(nice, places, strict=True):
        near = kept and abs(place - kept[-1][1]) < CLOSE * np.log(high / low)
        if ends[0] <= each <= ends[1] and not near:
            kept.append((each, place))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.set_yticks([np.exp(place) for _, place in kept], [f"{each:g}" for each, _ in kept])
    axes.set_title(f"{reading.tool}, {unit_of(reading.tool)}", loc="left")
    return axes.twinx()


def _conditions(dish: DishCurve) -> str:
    return f"{dish.curve.shear_rate_per_s:g} 1/s and {dish.curve.temperature_c:g} C"


def _answer(dish: DishCurve, suggestion: NextBatch | None) -> str:
    """What the figure answers, in a few words."""
    if suggestion is not None and suggestion.dose_g_per_l > 0:
        return f"{print_dose(suggestion.dose_g_per_l)} g/L: {in_ten(suggestion.chance)} pots land in the band"
    if dish.target is None:
        return f"How {dish.thickener} thickens this dish: no aim is set"
    if suggestion is not None:
        return f"Thick enough without {dish.thickener}"
    needed = dish.curve.dose_for(float(dish.target.viscosity_pa_s)).best
    return f"{print_dose(needed)} g/L: the average pot meets the aim"


def describe(dish: DishCurve, suggestion: NextBatch | None = None, far: Sequence[PotPoint] = ()) -> str:
    """What the figure shows, in sentences for those who do not see it; ``far`` are the pots that stand at its edge."""
    count = f"{len(dish.counted)} {'pot' if len(dish.counted) == 1 else 'pots'}"
    parts = [f"Dose curve of {dish.recipe.title}: viscosity against grams of {dish.thickener} per litre, from {count}."]
    target = dish.target
    if target is None:
        parts.append(f"No aim is set; it is drawn at {_conditions(dish)}.")
    else:
        parts.append(f"The band is {target.low_pa_s:.2g} to {target.high_pa_s:.2g} Pa s at {_conditions(dish)}.")
        needed = dish.curve.dose_for(float(target.viscosity_pa_s))
        if np.isfinite(needed.high):
            ends = f"(90 % range {needed.low:.1f} to {needed.high:.1f})"
            parts.append(f"The average pot meets the target at {needed.best:.1f} g/L {ends}.")
    if target and suggestion:
        parts.append(f"The next pot is suggested at {print_dose(suggestion.dose_g_per_l)} g/L.")
    for pot in far:
        at = f"{print_dose(pot.dose_g_per_l)} g/L, {_best(pot):.2g} Pa s"
        times = f", {_best(pot) / float(target.viscosity_pa_s):.2g} times the aim" if target else ""
        parts.append(f"Pot {pot.batch.number} ({at}{times}) lies beyond the axes and stands at their edge.")
    return " ".join(parts)
