"""The plan of a dinner as a chart: a strip a day, a row a dish, hands dark and waiting light."""

from __future__ import annotations

from datetime import date

from spoonline.figures.drawn import BLUE, INK, ORANGE, SOFT, VERMILION, Drawn, new_figure, style
from spoonline.keeping import Plan, Task
from spoonline.measures.errors import RecipeError


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
    if not plan.fits:
        raise RecipeError("This dinner has no schedule to draw; change what does not fit, and plan it again.")
    days: dict[date, list[Task]] = {}
    for task in plan.tasks:
        days.setdefault(task.start.date(), []).append(task)
    days.setdefault(plan.dinner.serve_at.date(), [])
    said = [plan.text]
    with style():
        heights = [max(len(tasks), 1) + 0.9 for tasks in days.values()]
        figure = new_figure(10.0, 0.9 + 0.5 * sum(heights))
        panes = figure.subplots(len(days), 1, height_ratios=heights, squeeze=False)[:, 0]
        for pane, (day, tasks) in zip(panes, days.items(), strict=True):
            today = day == plan.dinner.serve_at.date()
            free = [each for each in plan.dinner.free if plan.dinner.day(each.day) == day]
            starts = [_hour(task.start.hour, task.start.minute) for task in tasks] + [
                _hour(e.start.hour, e.start.minute) for e in free
            ]
            ends = [_length(task.start, task.end) + _hour(task.start.hour, task.start.minute) for task in tasks]
            ends += [_hour(e.end.hour, e.end.minute) for e in free]
            for each in free:
                pane.axvspan(
                    _hour(each.start.hour, each.start.minute),
                    _hour(each.end.hour, each.end.minute),
                    color=ORANGE,
                    alpha=0.12,
                    lw=0,
                )
            serve = _hour(plan.dinner.serve_at.hour, plan.dinner.serve_at.minute)
            if today:
                starts, ends = [*starts, serve - 1], [*ends, serve + 0.5]
            low, high = min(starts) - 0.25, max(ends) + 0.25
            high = max(high, low + 4)
            for row, task in enumerate(tasks):
                x, hands = _hour(task.start.hour, task.start.minute), _length(task.start, task.hands_until)
                whole = _length(task.start, task.end)
                pane.barh(row, whole, left=x, height=0.4, color=BLUE, alpha=0.25, lw=0)
                pane.barh(row, hands, left=x, height=0.4, color=BLUE, lw=0)
                with_tools = f" ({', '.join(task.stage.tools)})" if task.stage.tools else ""
                late = x - low > 0.5 * (high - low)
                pane.annotate(
                    f"{task.start:%H:%M} {task.stage.text[:48]}{with_tools}", (x + whole if late else x, row - 0.2), (0, 1),
                    textcoords="offset points", fontsize=8.5, va="bottom", ha="right" if late else "left", color=INK,
                )  # fmt: skip
                said.append(f"{task.start:%a %H:%M} to {task.end:%a %H:%M} {task.dish}: {task.stage.text}{with_tools}.")
            if today:
                pane.axvline(serve, color=VERMILION, lw=1.5, ls="--")
                pane.annotate(
                    "serve",
                    (serve, 0),
                    (4, 2),
                    xycoords=("data", "axes fraction"),
                    textcoords="offset points",
                    color=VERMILION,
                )
            pane.set_xlim(low, high)
            pane.set_ylim(max(len(tasks), 1) - 0.5, -0.8)
            titles = [task.dish if len(task.dish) < 28 else f"{task.dish[:26]}..." for task in tasks]
            pane.set_yticks(range(len(tasks)), titles)
            pane.set_title(f"{day:%A %d %B}", fontsize=10, color=SOFT)
            pane.xaxis.set_major_locator(_locator(high - low))
            pane.xaxis.set_major_formatter(_clock)
            pane.tick_params(axis="y", length=0)
        panes[-1].set_xlabel("dark: hands; light: it waits by itself; tinted: the cook is there")
    return Drawn(figure, " ".join(said))


def _locator(span_h: float) -> object:
    from matplotlib.ticker import MultipleLocator

    return MultipleLocator(1 if span_h <= 12 else 2 if span_h <= 24 else 6)


def _clock(hours: float, _place: int | None = None) -> str:
    return f"{int(hours) % 24}:{round(60 * (hours % 1)):02d}"


def _hour(hour: int, minute: int) -> float:
    return hour + minute / 60


def _length(start: object, end: object) -> float:
    return float((end - start).total_seconds()) / 3600  # type: ignore[operator]
