"""Two groups of pots: how much thicker one is, and whether that many pots can tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from spoonline.measures.ranges import Range

# "The same" unless said otherwise: within a factor 1.25, about one step that most tasters notice (Weber fraction 0.26, read).
SAME_FACTOR = 1.25


@dataclass(frozen=True)
class Comparison:
    """The ratio of two groups of pots, with its 90 % range, and what may be said of it."""

    pots: tuple[int, int]
    ratio: Range | None
    p_value: float | None
    different: bool
    same: bool

    @property
    def text(self) -> str:
        """One of the four possible answers, or that there are too few pots."""
        a, b = self.pots
        if self.ratio is None:
            return (
                f"Too few pots to compare ({a} and {b}); two of each are the least, three of each are wanted."
            )
        shown = f"{self.ratio:.2f} times as thick (90 % range)"
        if self.different and self.same:
            return f"A real but small difference: the second is {shown}, within a factor {SAME_FACTOR}."
        if self.different:
            return f"Different: the second is {shown}."
        if self.same:
            return f"The same within a factor {SAME_FACTOR}: the second is {shown}."
        return f"Not enough pots to tell: the second is {shown}. That is not the same as no difference."


def compare_pots(first_pa_s: Sequence[float], second_pa_s: Sequence[float]) -> Comparison:
    """Compare the viscosities of two groups of pots on the log scale (Welch; equivalence by two one-sided tests).

    Parameters
    ----------
    first_pa_s, second_pa_s : sequence of float
        One viscosity a pot [Pa s], at the same temperature and shear rate.

    Returns
    -------
    Comparison
        ``ratio`` is second over first with its 90 % range; None with fewer than two pots in a group. Different: two-sided
        p <= 0.05. Same: the 90 % range lies inside 1/1.25 to 1.25.

    Examples
    --------
    >>> compare_pots([0.30, 0.33, 0.31], [0.45, 0.48, 0.44]).text
    'Different: the second is 1.46 (1.34-1.58) times as thick (90 % range).'
    """
    pots = (len(first_pa_s), len(second_pa_s))
    if min(pots) < 2:
        return Comparison(pots, None, None, False, False)
    from scipy.stats import ttest_ind

    a, b = [math.log(value) for value in first_pa_s], [math.log(value) for value in second_pa_s]
    result = ttest_ind(b, a, equal_var=False)
    inside = result.confidence_interval(0.90)
    middle = sum(b) / len(b) - sum(a) / len(a)
    ratio = Range(math.exp(middle), math.exp(inside.low), math.exp(inside.high))
    same = ratio.low > 1 / SAME_FACTOR and ratio.high < SAME_FACTOR
    return Comparison(pots, ratio, float(result.pvalue), bool(result.pvalue <= 0.05), same)
