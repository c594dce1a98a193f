"""Cooling as a figure: temperature of the slowest point over time, the stages as corners to stay below, probe readings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from spoonline.figures.drawn import BLUE, GREEN, INK, SOFT, VERMILION, Drawn, label, new_figure
from spoonline.keeping import CoolingLog, CoolingRule, Forecast, passed_at

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def cooling_figure(planned: Forecast | None = None, log: CoolingLog | None = None) -> Drawn:
    """Draw a forecast, a log, or a log over its forecast, from the moment the rule's clock starts.

    Parameters
    ----------
    planned : Forecast, optional
    log : CoolingLog, optional

    Returns
    -------
    Drawn

    Raises
    ------
    ValueError
        If neither is given.
    """
    if planned is None and log is None:
        raise ValueError("Nothing came to draw; give a forecast or a log.")
    rule = log.rule if log is not None else planned.rule  # type: ignore[union-attr]  # one of the two is always given
    words = []
    with new_figure() as figure:
        axes = figure.add_subplot()
        reach = rule.total_h * 1.6
        top = rule.start_c + 6
        if planned is not None:
            zero = passed_at(planned.minutes, planned.centre_c, planned.rule.start_c) / 60
            hours = planned.minutes / 60 - zero
            axes.fill_between(hours, planned.quick_c, planned.slow_c, color=BLUE, alpha=0.2, lw=0)
            axes.plot(hours, planned.centre_c, color=BLUE, lw=2)
            legend = "blue: the forecast, a lower bound; light blue: weakest to strongest heat transfer"
            label(axes, legend, (0.99, 0.98), xycoords="axes fraction", ha="right", va="top", fontsize=9, color=BLUE)
            words.append(planned.text)
        if log is not None:
            hot = [minutes for minutes, celsius in log.points if celsius >= rule.start_c]
            zero = (hot[-1] if hot else log.points[0][0]) / 60
            xs, ys = [m / 60 - zero for m, _ in log.points], [c for _, c in log.points]
            dense = len(xs) > 40
            axes.plot(xs, ys, color=INK, lw=1.5, marker="" if dense else "o", ms=7, zorder=5)
            label(axes, "probe", (xs[0], ys[0]), (9, 3), color=INK)
            reach, top = max(reach, 1.05 * xs[-1]), max(top, min(max(ys) + 4, 100))
            words.append(f"{len(xs)} probe readings: {log.verdict} of {rule.jurisdiction}.")
        _stages(axes, rule)
        axes.set(xlim=(-0.5, reach), ylim=(-2, top), ylabel="temperature, C")
        axes.set_xlabel(f"hours after passing {rule.start_c:g} C at the slowest point")
        axes.set_title(f"Limits: {rule.jurisdiction}. Stay below the corners.", fontsize=10, color=SOFT)
    return Drawn(figure, "Temperature of the slowest point over time. " + " ".join(words))


def _stages(axes: Axes, rule: CoolingRule) -> None:
    """Each stage as a corner: by this hour, at or below this temperature."""
    axes.axhline(rule.start_c, color=SOFT, lw=0.8, ls=":")
    before = 0.0
    for number, (celsius, own) in enumerate(rule.stages, start=1):
        hours = before + own if rule.apart else own
        if math.isfinite(hours):
            words = "within another" if rule.apart and before else "by"
            axes.plot([before, hours, hours], [celsius, celsius, celsius - 4], color=VERMILION, lw=1.2, ls="--")
            axes.plot([hours], [celsius], marker="v", ms=9, color=VERMILION)
            label(axes, f"stage {number}: {celsius:g} C {words} {own:g} h", (hours, celsius), (8, 6), color=VERMILION)
        before = hours
    axes.axhspan(-2, rule.stages[-1][0], color=GREEN, alpha=0.08, lw=0)
