"""The plan of a dinner as a chart: a strip a day, a row a dish, hands dark and waiting light."""

from __future__ import annotations

from datetime import datetime, timedelta
from textwrap import shorten

from spoonline.figures.drawn import BLUE, INK, ORANGE, SOFT, UPRIGHT, VERMILION, Drawn, label, new_figure
from spoonline.keeping import Plan
from spoonline.measures.errors import RecipeError

EDGE = timedelta(minutes=15)


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
