"""Two groups of pots by every outcome that both have: the difference, and whether so many pots on so many days can carry it."""

from typing import NamedTuple

import numpy as np
from scipy.special import stdtr, stdtrit

from spoonline.dose.compare import ONE_DAY, contrast
from spoonline.effects.one import name_of, numbers, scaled
from spoonline.effects.plans import said
from spoonline.measures import DataFrame, Range, or_none
from spoonline.recipes.aims import by_ratio


class OutcomeDifference(NamedTuple):
    """One outcome of two groups of pots: how many of each, the second's mean over (``ratio``) or less the first's with its 90 % range.

    ``difference`` is None with fewer than two pots of each; ``different`` means that the pots carry it (two-sided p of 0.05 or less).
    """

    outcome: str
    unit: str
    pots: tuple[int, int]
    means: tuple[float, float]
    ratio: bool
    difference: Range | None
    different: bool
    one_day: bool

    @property
    def text(self) -> str:
        """In a sentence."""
        first, second = (f"{each:.3g}" for each in self.means)
        if self.difference is None:
            few = said("few" if min(self.pots) < 2 else "alike", pots=self.pots)
            return f"{self.outcome.capitalize()} {first} and {second} {self.unit}: {few}."
        by = f"{self.difference} times" if self.ratio else f"{self.difference} {self.unit} more"
        verdict = "different" if self.different else "these pots cannot tell"
        return f"{self.outcome.capitalize()} {first} to {second} {self.unit}: {by} (90 % range), {verdict}.{ONE_DAY if self.one_day else ''}"


def compare_outcomes(old_pots: DataFrame, new_pots: DataFrame) -> tuple[OutcomeDifference, ...]:
    """Compare two groups of pots by every outcome that was measured or scored in both.

    Parameters
    ----------
    old_pots, new_pots : DataFrame
        Rows of ``book.batches(title)``, such as those of two versions; rows with a reason in ``left_out`` do not count.

    Returns
    -------
    tuple of OutcomeDifference

    Notes
    -----
    Student's t of these pots' own spread; pots of one day have a quarter of their variance in common (judged), as in ``compare_pots``.
    """
    said.refuse("outcomes" not in old_pots.attrs, "no outcomes")
    units: dict[str, str] = old_pots.attrs["outcomes"]
    groups = [each[each["left_out"].fillna("").eq("")] for each in (old_pots, new_pots)]
    shared = [name for name in units if all(name in each and each[name].notna().any() for each in groups)]
    return tuple(_compared(name, units[name], groups[0], groups[1]) for name in shared)


def _compared(column: str, unit: str, old: DataFrame, new: DataFrame) -> OutcomeDifference:
    kept = [each[each[column].notna()] for each in (old, new)]
    values = [numbers(each, column).to_numpy() for each in kept]
    days = [each["cooked_on"].tolist() for each in kept]
    pots, means = (len(values[0]), len(values[1])), (float(values[0].mean()), float(values[1].mean()))
    ratio = bool(or_none(by_ratio, unit)) and all((each > 0).all() for each in values)
    one_day = all(len(set(each)) == 1 for each in days)
    y = [scaled(each, ratio) for each in values]
    df = sum(pots) - 2
    # a day that holds pots of both goes out; what pots of one group and one day differ by is only their own share
    spread = (sum(float(np.sum((each - each.mean()) ** 2)) for each in y) / max(df, 1)) ** 0.5
    if min(pots) < 2 or spread == 0:
        return OutcomeDifference(name_of(column, unit), unit, pots, means, ratio, None, False, one_day)
    error, found = spread * contrast(pots, (days[0], days[1])), float(y[1].mean() - y[0].mean())
    ends = (found + side * error * float(stdtrit(df, 0.95)) for side in (0, -1, 1))
    shown = Range(*(float(np.exp(each)) if ratio else each for each in ends))
    different = bool(2 * stdtr(df, -abs(found) / error) <= 0.05)
    return OutcomeDifference(name_of(column, unit), unit, pots, means, ratio, shown, different, one_day)
