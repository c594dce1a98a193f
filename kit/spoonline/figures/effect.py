"""One quantity against one outcome as a figure, and the public reading that draws itself."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from spoonline.effects import EffectReading, read_effect
from spoonline.figures.drawn import BLUE, GREEN, INK, SHAPES, Drawn, Figure, head
from spoonline.measures import DataFrame, takes_quantities
from spoonline.recipes import Aim

BESIDE = 0.25  # share of what was tried that is drawn on either side, as extrapolated


class Effect(EffectReading):
    """An :class:`spoonline.effects.EffectReading` that draws itself."""

    def figure(self, note: str = "") -> Drawn:
        """The pots, the average and the next pot with their 90 % ranges, the aim; dashed where it is extrapolated."""
        (what, unit), (name, out) = self.quantity, self.outcome

        def draw(figure: Figure) -> None:
            from matplotlib.ticker import MaxNLocator

            axes = figure.add_subplot()
            if self.line is not None:
                low, high = self.tried
                x = np.linspace(low - BESIDE * (high - low), high + BESIDE * (high - low), 161)
                x = x[x > 0] if self.scales[0] else x
                (average, single), inside = self.predict(x), self.inside(x)
                axes.fill_between(x, single.low, single.high, color=BLUE, alpha=0.12, lw=0, label="90 % of next pots")
                axes.fill_between(x, average.low, average.high, color=BLUE, alpha=0.3, lw=0, label="its 90 % range")
                axes.plot(x, average.best, color=BLUE, lw=1.5, ls=(0, (4, 3)), label="guessed, outside what was tried")
                axes.plot(x[inside], np.asarray(average.best)[inside], color=BLUE, lw=2, label="average pot")
            for number, (day, pots) in enumerate(self.points.groupby("day", sort=True)):
                shape = SHAPES[number % len(SHAPES)]
                axes.errorbar(pots["x"], pots["y"], 1.645 * pots["sd"], fmt=shape, color=INK, ms=7, label=f"{day}")
            if self.aim is not None:
                if self.points.empty:  # the aim alone: nothing else says where it lies
                    held = [end for end in self.aim.ends if np.isfinite(end) and end > 0]
                    axes.set_ylim(0, 1.5 * max(held, default=1.0))
                bottom, top = np.clip(self.aim.ends, *axes.get_ylim())
                axes.axhspan(bottom, top, color=GREEN, alpha=0.2, lw=0, zorder=0, label=self.aim.text)
            for axis, ends in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim())):
                axis.set_ticks([each for each in MaxNLocator(6).tick_values(*ends) if ends[0] <= each <= ends[1]])
            axes.set_xlabel(f"{what}, {unit}".strip(", "))
            axes.set_title(f"{name}, {out}".strip(", "), loc="left")
            head(figure, f"{note} {self._answer}".strip())

        return Drawn(draw, f"{note} {name.capitalize()} against {what}. {self.text}".strip())

    @property
    def _answer(self) -> str:
        """What the figure answers, in a few words."""
        (what, unit), name, best = self.quantity, self.outcome[0], self.best()
        if best is not None and self.aim is not None:
            return f"{best.best:.3g} {unit} of {what}: the average pot has {self.aim.text}"
        does = "cannot tell yet what it does" if self.cannot_tell else "it makes a difference"
        return f"{name.capitalize()} by {what}: {does}"

    def _repr_html_(self) -> str:
        return super()._repr_html_() + self.figure()._repr_html_()


@takes_quantities
def effect(
    frame: DataFrame, quantity: str, outcome: str, *, aim: Aim | Sequence[Any] | None = None, scale: str | None = None
) -> Effect:
    """Read what one quantity does to one outcome, and draw it.

    Parameters
    ----------
    frame : DataFrame
        One row a pot, such as ``book.batches(title)``. Pots with a reason in ``left_out`` do not count; ``cooked_on`` is the day, and a
        column of the outcome's name with ``_sd`` the uncertainty of what was read.
    quantity, outcome : str
        Columns, or their names without the unit.
    aim : Aim or (outcome, unit, low, high), optional
        What the outcome should lie between.
    scale : {"ratio", "plain"}, optional
        How outcomes are compared; by their unit unless given.

    Returns
    -------
    Effect
        A :class:`spoonline.effects.EffectReading` with ``.figure()``.

    Examples
    --------
    >>> import pandas as pd
    >>> pots = pd.DataFrame({"carrot_g_per_l": [150, 150, 200, 250, 250], "sweetness_score": [4.1, 4.4, 5.2, 6.4, 6.0]})
    >>> found = effect(pots, "carrot", "sweetness")
    >>> print(f"{found.best(5.0):.3g} g/L of carrot")
    189 (176-200) g/L of carrot
    """
    return Effect(**vars(read_effect(frame, quantity, outcome, aim=aim, scale=scale)))
