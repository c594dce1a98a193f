"""The dose curve as a figure: dose across, thickness up, the pots, the two ranges, the band and the suggestion."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from spoonline.dose import DishCurve, NextBatch
from spoonline.figures.drawn import BLUE, GREEN, INK, SHAPES, SOFT, UPRIGHT, VERMILION, Drawn, label, new_figure
from spoonline.flow import unit_of
from spoonline.pots.thickness import own_tool, shown_as

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Readings that an axis is marked with, in any tool's unit.
NICE = [each * ten for ten in (0.1, 1.0, 10.0, 100.0) for each in (1, 1.5, 2, 3, 4, 5, 6, 8)]


def dose_figure(dish: DishCurve, dose_g_per_l: float | None = None, suggestion: NextBatch | None = None) -> Drawn:
    """Draw the dose curve of a dish.

    Parameters
    ----------
    dish : DishCurve
    dose_g_per_l : float, optional
        A dose to mark [g/L], such as the one on the slider.
    suggestion : NextBatch, optional
        The next pot, marked with a drop line.

    Returns
    -------
    Drawn
    """
    from matplotlib.ticker import LogLocator, NullFormatter

    grid = dish.doses()
    if dose_g_per_l is not None:
        grid = np.unique(np.append(grid, np.clip(dose_g_per_l, grid[0], grid[-1])))
    average, single = dish.curve.viscosity(grid), dish.curve.batch(grid)
    target = dish.target
    # The height shown follows the band, or the curve itself where no aim is set.
    low, high = (target.low_pa_s, target.high_pa_s) if target else (np.min(average.best), np.max(average.best))
    with new_figure() as figure:
        axes = figure.add_subplot()
        if target:
            axes.axhspan(low, high, color=GREEN, alpha=0.18, lw=0)
        axes.fill_between(grid, single.low, single.high, color=BLUE, alpha=0.12, lw=0)
        axes.fill_between(grid, average.low, average.high, color=BLUE, alpha=0.25, lw=0)
        axes.plot(grid, average.best, color=BLUE, lw=2)
        versions = sorted({pot.batch.version for pot in dish.pots})
        for pot in dish.pots:
            best, low, high = pot.thickness.range
            shape = SHAPES[versions.index(pot.batch.version) % len(SHAPES)]
            axes.errorbar(
                pot.dose_g_per_l, best, yerr=[[best - low], [high - best]], fmt=shape, ms=8, lw=1,
                mfc="white" if pot.left_out else INK, color=SOFT if pot.left_out else INK, zorder=5,
            )  # fmt: skip
        if suggestion is not None:
            at = suggestion.dose_g_per_l
            axes.axvline(at, color=VERMILION, lw=1.5, ls="--")
            label(axes, f"next pot {at:.1f} g/L", (at, 0.99), (4, 0), va="top", color=VERMILION, xycoords=UPRIGHT)
        if dose_g_per_l is not None:
            axes.axvline(dose_g_per_l, color=INK, lw=1)
            label(axes, f"dose {dose_g_per_l:g} g/L", (dose_g_per_l, 0.02), (4, 0), va="bottom", xycoords=UPRIGHT)
        axes.set_yscale("log")
        axes.set_xlim(grid[0], grid[-1])
        seen = [value for pot in dish.pots for value in (pot.thickness.range.low, pot.thickness.range.high)]
        axes.set_ylim(min([low / 3, *seen]) * 0.8, max([high * 3, *seen]) * 1.25)
        _number(axes, dish)
        axes.set_xlabel(f"{dish.thickener}, g per litre of liquid")
        labels = [(float(target.viscosity_pa_s), "target band", GREEN)] if target else []
        low, high = axes.get_ylim()
        last = float(np.clip(np.asarray(average.best)[-1], 1.15 * low, high / 1.15))
        for y, words, colour in (*labels, (last, "average pot", BLUE)):
            label(
                axes, words, (1, y), (-4, 0), xycoords=("axes fraction", "data"), color=colour, va="center", ha="right"
            )
        pascal = _tool_axis(axes, dish)
        pascal.yaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
        pascal.yaxis.set_major_formatter("{x:g}")
        pascal.yaxis.set_minor_formatter(NullFormatter())
        pascal.set_ylabel(f"viscosity, Pa s\n(at {_conditions(dish)})")
        bands = "Dark band: where the average pot lies. Light band: where the next pot lands (9 of 10)."
        axes.set_title(bands, fontsize=10, color=SOFT)
    return Drawn(figure, describe(dish, suggestion))


def _tool_axis(axes: Axes, dish: DishCurve) -> Axes:
    """The axis for Pa s: on the right, where the kitchen's own tool can stand on the left; else the only one."""
    from matplotlib.ticker import FixedFormatter, FixedLocator, MaxNLocator, NullLocator

    low, high = axes.get_ylim()
    reading = own_tool([pot.batch for pot in dish.pots], dish.target)
    seen = [(each, shown_as(reading, float(each), dish.target)) for each in np.geomspace(low, high, 60)]
    viscosity, shown = np.array([pair for pair in seen if pair[1] is not None]).reshape(-1, 2).T
    if shown.size < 10:
        return axes
    order = np.argsort(shown)
    nice = NICE if shown.max() > 3 * shown.min() else MaxNLocator(7).tick_values(shown.min(), shown.max())
    ticks = [each for each in nice if shown.min() <= each <= shown.max()]
    places = np.exp(np.interp(ticks, shown[order], np.log(viscosity[order])))
    axes.yaxis.set_major_locator(FixedLocator(places.tolist()))
    axes.yaxis.set_major_formatter(FixedFormatter([f"{each:g}" for each in ticks]))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.set_ylabel(f"{reading.tool} shows, {unit_of(reading.tool)}\n(at {float(reading.temperature_c):g} C)")
    pascal = axes.twinx()
    pascal.set_yscale("log")
    pascal.set_ylim(low, high)
    return pascal


def _number(axes: Axes, dish: DishCurve) -> None:
    """Number the pots beside their marks; marks that lie on one another share one label, on the emptier side."""
    transform = axes.transData + axes.transAxes.inverted()
    pots = sorted(dish.pots, key=lambda pot: pot.batch.number)
    places = [(pot.dose_g_per_l, pot.thickness.viscosity_pa_s) for pot in pots]
    points = transform.transform(np.array(places).reshape(-1, 2))
    named = np.zeros(len(pots), dtype=bool)
    while not named.all():
        here = ~named & np.all(np.abs(points - points[named.argmin()]) < (0.018, 0.05), axis=1)
        named |= here
        x, y = points[here].mean(axis=0)
        right, up = (points[~here] - (x, y)).T
        left = right[(np.abs(up) < 0.06) & (np.abs(right) < 0.08)].sum() > 0
        words = ", ".join(str(pots[at].batch.number) for at in np.flatnonzero(here))
        label(
            axes, words, (x, y), (-8 if left else 8, -4), xycoords="axes fraction", fontsize=10,
            ha="right" if left else "left", zorder=6, bbox={"boxstyle": "square,pad=0.05", "fc": "white", "ec": "none", "alpha": 0.6},
        )  # fmt: skip


def _conditions(dish: DishCurve) -> str:
    return f"{dish.curve.shear_rate_per_s:g} 1/s and {dish.curve.temperature_c:g} C"


def describe(dish: DishCurve, suggestion: NextBatch | None = None) -> str:
    """What the figure shows, in sentences for those who do not see it."""
    parts = [
        f"Dose curve of {dish.recipe.title}: viscosity against grams of {dish.thickener} per litre, from "
        f"{len(dish.counted)} {'pot' if len(dish.counted) == 1 else 'pots'}."
    ]
    target = dish.target
    if target is None:
        return f"{parts[0]} No aim is set; it is drawn at {_conditions(dish)}."
    needed = dish.curve.dose_for(float(target.viscosity_pa_s))
    parts.append(f"The band is {target.low_pa_s:.2g} to {target.high_pa_s:.2g} Pa s at {_conditions(dish)}.")
    if np.isfinite(needed.high):
        ends = f"(90 % range {needed.low:.1f} to {needed.high:.1f})"
        parts.append(f"The average pot meets the target at {needed.best:.1f} g/L {ends}.")
    if suggestion is not None:
        parts.append(f"The next pot is suggested at {suggestion.dose_g_per_l:.1f} g/L.")
    return " ".join(parts)
