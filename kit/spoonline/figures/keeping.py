"""What is kept, as figures: cooling over time with the stages as corners to stay below; a dinner as strips, a row a dish."""

import math
from datetime import datetime, time, timedelta

from spoonline.figures.drawn import BLUE, GREEN, INK, ORANGE, SOFT, VERMILION, Axes, Drawn, Figure, Rows, fitted, head
from spoonline.figures.labels import label
from spoonline.keeping import CoolingLog, CoolingRule, Forecast, Plan, Task, passed_at
from spoonline.keeping.places import said

HOUR, COOK = timedelta(hours=1), "the cook is there"
BAR, WAIT = 0.14, "#8fc1de"  # height of a bar [inch]; what waits is paler


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
    words = [planned.text] if planned is not None else []
    answer = words[0].partition(":")[0] if words else ""
    if log is not None:
        words.append(f"{len(log.points)} probe readings: {log.verdict} of {rule.jurisdiction}.")
        answer = "Not enough readings" if "not enough" in log.verdict else f"This pot {log.verdict}"

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        reach, top = rule.total_h * 1.6, rule.start_c + 6
        axes.axhline(rule.start_c, color=SOFT, lw=0.8, ls=":")
        axes.axhspan(-2, rule.stages[-1][0], color=GREEN, alpha=0.12, lw=0, label="cold enough")
        if planned is not None:
            zero = passed_at(planned.minutes, planned.centre_c, planned.rule.start_c) / 60
            hours = planned.minutes / 60 - zero
            axes.plot(hours, planned.centre_c, color=BLUE, lw=2, label="forecast, a lower bound")
            spread = "weakest to strongest heat transfer"
            axes.fill_between(hours, planned.quick_c, planned.slow_c, color=BLUE, alpha=0.2, lw=0, label=spread)
        if log is not None:
            hot = [minutes for minutes, celsius in log.points if celsius >= rule.start_c]
            zero = (hot[-1] if hot else log.points[0][0]) / 60
            xs, ys = [m / 60 - zero for m, _ in log.points], [c for _, c in log.points]
            axes.plot(xs, ys, color=INK, lw=1.5, marker="" if len(xs) > 40 else "o", zorder=5, label="probe")
            reach, top = max(reach, 1.05 * xs[-1]), max(top, min(max(ys) + 4, 100))
        axes.set(xlim=(-0.5, reach), ylim=(-2, top))
        axes.set_title("temperature, C", loc="left")
        axes.set_xlabel(f"hours after passing {rule.start_c:g} C (slowest point)")
        _stages(axes, rule)
        head(figure, f"{answer} ({rule.jurisdiction})")

    return Drawn(draw, "Temperature of the slowest point over time. " + " ".join(words))


def _stages(axes: Axes, rule: CoolingRule) -> None:
    """Each stage as a corner: by this hour, at or below this temperature."""
    before = 0.0
    for celsius, own in rule.stages:
        hours = before + own if rule.apart else own
        if math.isfinite(hours):
            words = "within another" if rule.apart and before else "by"
            path = ([before, hours, hours], [celsius, celsius, celsius - 4])
            axes.plot(*path, color=VERMILION, lw=1.2, ls="--", label="limit: stay below its corner")
            axes.plot([hours], [celsius], marker="v", color=VERMILION)
            label(axes, f"{celsius:g} C {words} {own:g} h", (hours, celsius))
        before = hours


def dinner_figure(plan: Plan) -> Drawn:
    """Draw a plan that fits: a row a task, all days over the same hours.

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
    said.refuse(not plan.fits, "no schedule")
    serve = plan.dinner.serve_at
    days = sorted({serve.date(), *(task.start.date() for task in plan.tasks)})
    free = [(plan.dinner.day(each.day), each.start, each.end) for each in plan.dinner.free]
    words = [plan.text, *(f"{each.start:%a %H:%M} to {each.end:%a %H:%M} {_said(each)}." for each in plan.tasks)]

    def draw(figure: Figure) -> None:
        axes, rows = figure.add_subplot(), Rows()
        width, seen = figure.get_figwidth() - 0.4, list[float]()
        for day in days:
            midnight = datetime.combine(day, time())
            rows.add(f"{day:%A %d %B}", 0.1)
            top = rows.down
            for task in (each for each in plan.tasks if each.start.date() == day):
                begin, hands, end = ((each - midnight) / HOUR for each in (task.start, task.hands_until, task.end))
                until = f", until {task.end:%a %H:%M}" if end > 24 else ""
                place = rows.add(fitted(f"{task.start:%H:%M} {_said(task)}{until}", width), BAR + 0.12) + BAR / 2
                axes.barh(place, hands - begin, left=begin, height=BAR, color=BLUE, lw=0, label="hands-on")
                axes.barh(place, end - hands, left=hands, height=BAR, color=WAIT, lw=0, label="waiting")
                seen += [begin, min(end, 24)]
            if day == serve.date():
                place, at = rows.add(f"{serve:%H:%M} served", BAR + 0.12) + BAR / 2, (serve - midnight) / HOUR
                axes.plot(at, place, "D", color=VERMILION, label="served")
                seen.append(at)
            for there in ([clock.hour + clock.minute / 60 for clock in each] for on, *each in free if on == day):
                axes.fill_between(there, top, rows.down, color=ORANGE, alpha=0.2, lw=0, zorder=0, label=COOK)
                seen += there
        axes.set_xlim(min(seen) - 0.25, max(seen) + 0.25)
        axes.locator_params(axis="x", nbins=int(1.3 * width), steps=(1, 2, 3, 6, 10), integer=True)
        axes.xaxis.set_major_formatter(lambda hour, _: f"{hour % 24:.0f}:00")
        head(figure, plan.text.partition(";")[0])
        rows.name(axes)

    return Drawn(draw, " ".join(words))


def _said(task: Task) -> str:
    tools = f" ({', '.join(task.stage.tools)})" if task.stage.tools else ""
    return f"{task.dish}: {task.stage.text}{tools}"
