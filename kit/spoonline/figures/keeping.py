"""What is kept, as figures: cooling over time with the stages as corners to stay below; a dinner as strips, a row a dish."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from textwrap import shorten
from typing import TYPE_CHECKING

from spoonline.figures.drawn import BLUE, GREEN, INK, ORANGE, SOFT, UPRIGHT, VERMILION, Drawn, label, new_figure
from spoonline.keeping import CoolingLog, CoolingRule, Forecast, Plan, passed_at
from spoonline.measures.errors import RecipeError

if TYPE_CHECKING:
    from matplotlib.axes import Axes

EDGE = timedelta(minutes=15)  # room on either side of a day


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


def dinner_figure(plan: Plan) -> Drawn:
    """Draw a plan that fits.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Drawn

    Raises
    ------
    RecipeError
        If the plan does not fit.
    """
    from matplotlib.dates import DateFormatter

    if not plan.fits:
        raise RecipeError("This dinner has no schedule to draw; change what does not fit, and plan it again.")
    clock = DateFormatter("%H:%M")  # type: ignore[no-untyped-call]  # matplotlib has no types here
    serve, words = plan.dinner.serve_at, [plan.text]
    days = sorted({serve.date(), *(task.start.date() for task in plan.tasks)})
    by_day = [[task for task in plan.tasks if task.start.date() == day] for day in days]
    heights = [max(len(tasks), 1) + 0.9 for tasks in by_day]
    with new_figure(10.0, 0.9 + 0.5 * sum(heights)) as figure:
        panes = figure.subplots(len(days), 1, height_ratios=heights, squeeze=False)[:, 0]
        for pane, day, tasks in zip(panes, days, by_day, strict=True):
            free = [
                (datetime.combine(day, each.start), datetime.combine(day, each.end))
                for each in plan.dinner.free if plan.dinner.day(each.day) == day
            ]  # fmt: skip
            seen = [*free, *((task.start, task.end) for task in tasks)]
            if day == serve.date():
                seen.append((serve, serve))
            low, high = min(start for start, _ in seen) - EDGE, max(end for _, end in seen) + EDGE
            for start, end in free:
                pane.axvspan(start, end, color=ORANGE, alpha=0.12, lw=0)
            for row, task in enumerate(tasks):
                pane.barh(row, task.end - task.start, left=task.start, height=0.4, color=BLUE, alpha=0.25, lw=0)
                pane.barh(row, task.hands_until - task.start, left=task.start, height=0.4, color=BLUE, lw=0)
                tools = f" ({', '.join(task.stage.tools)})" if task.stage.tools else ""
                late = task.start - low > (high - low) / 2
                label(
                    pane, f"{task.start:%H:%M} {task.stage.text[:48]}{tools}", (task.end if late else task.start, row - 0.2), (0, 1),
                    fontsize=8.5, va="bottom", ha="right" if late else "left", color=INK,
                )  # fmt: skip
                words.append(f"{task.start:%a %H:%M} to {task.end:%a %H:%M} {task.dish}: {task.stage.text}{tools}.")
            if day == serve.date():
                pane.axvline(serve, color=VERMILION, lw=1.5, ls="--")
                label(pane, "serve", (serve, 0), (4, 2), xycoords=UPRIGHT, color=VERMILION)
            pane.set(xlim=(low, high), ylim=(max(len(tasks), 1) - 0.5, -0.8))
            pane.set_yticks(range(len(tasks)), [shorten(task.dish, 28, placeholder="...") for task in tasks])
            pane.set_title(f"{day:%A %d %B}", fontsize=10, color=SOFT)
            pane.xaxis.set_major_formatter(clock)
            pane.tick_params(axis="y", length=0)
        panes[-1].set_xlabel("dark: hands-on; light: waiting; tinted: the cook is in the kitchen")
    return Drawn(figure, " ".join(words))
