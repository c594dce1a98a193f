"""Two groups of pots: how much thicker one is, whether that many pots can tell, and how many could."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spoonline.dose.fit import DAY_SHARE
from spoonline.dose.priors import USUAL_DF, USUAL_SPREAD
from spoonline.measures.errors import BatchError
from spoonline.measures.ranges import Range
from spoonline.regression import difference_shown

FloatArray = NDArray[np.float64]
# "The same" unless said otherwise: within a factor 1.25, about one step that most tasters notice (Weber fraction 0.26, read).
SAME_FACTOR = 1.25
# Readings whose ln differ by less are one reading.
EQUAL = 1e-9
# How many pots would show a difference is said of one that a cook could mind (ln).
WORTH_POTS = 0.02
ONE_DAY = " Each version was cooked on one day only: a second day would say whether it was the day."


@dataclass(frozen=True)
class Spread:
    """How far pots of one version differ: SD of ln viscosity, its degrees of freedom, and what it comes from."""

    ln_sd: float
    df: float
    basis: str

    @property
    def text(self) -> str:
        """In per cent, with the 95 % limits that so few pots leave, and the factor that two pots stay within."""
        from scipy.stats import chi2

        low, high = (math.sqrt(self.df / float(chi2.ppf(p, self.df))) * self.ln_sd for p in (0.975, 0.025))
        apart = math.exp(1.96 * math.sqrt(2) * self.ln_sd)
        return (
            f"Pots of one version differ by about {100 * self.ln_sd:.0f} % (standard deviation, 95 % limits {100 * low:.0f} to "
            f"{100 * high:.0f} %; {self.basis}): two pots of one version lie within a factor {apart:.2f} in 95 of 100."
        )


@dataclass(frozen=True)
class Comparison:
    """The ratio of two groups of pots, with its 90 % range, and what may be said of it.

    Attributes
    ----------
    pots : tuple of int
        In each group.
    ratio, p_value : Range, float or None
        Second over first, 90 % range, and the two-sided p for no difference; None with too few pots.
    different, same : bool
        p <= 0.05; the 90 % range inside 1/factor to the factor.
    same_p : float or None
        The larger p of the two one-sided tests for being the same within the factor.
    same_factor : float
        Within what factor two viscosities are called the same.
    days : int
        Days on which both were cooked, where the comparison is paired by day; 0 where it is not.
    detectable, needed : float, int or None
        Ratio that so many pots would have shown in 8 of 10 such comparisons; pots of each version that would show the one found.
    one_day : bool
        Whether each version was cooked on one day only.
    """

    pots: tuple[int, int]
    ratio: Range | None
    p_value: float | None
    different: bool
    same: bool
    same_p: float | None = None
    same_factor: float = SAME_FACTOR
    days: int = 0
    detectable: float | None = None
    needed: int | None = None
    one_day: bool = False

    @property
    def text(self) -> str:
        """One of the four possible answers, or that there are too few pots; then what could have been shown."""
        a, b = self.pots
        if self.ratio is None:
            return f"Too few pots to compare ({a} and {b}); two of each are the least, three of each are wanted."
        how = f", paired over {self.days} days" if self.days else ""
        ratio = f"the second is {self.ratio:.2f} times as thick (90 % range{how})"
        within, day = f"within a factor {self.same_factor:.3g}", ONE_DAY if self.one_day else ""
        if self.different:
            return f"A real but small difference: {ratio}, {within}.{day}" if self.same else f"Different: {ratio}.{day}"
        could = f" {a} and {b} pots would show a factor {self.detectable or 1:.2f} in 8 of 10 comparisons."
        could = could if self.detectable else ""
        if self.same:
            return f"The same {within}: {ratio}.{could}{day}"
        more = f" A factor like the one found wants about {self.needed} pots of each." if self.needed else ""
        return f"Not enough pots to tell: {ratio}. That is not the same as no difference.{could}{more}{day}"


def pooled_spread(groups: Iterable[Sequence[float]]) -> Spread:
    """Pool the pot-to-pot spread over all versions that a cook ever repeated.

    Parameters
    ----------
    groups : iterable of sequence of float
        Viscosities [Pa s], one sequence a version; single pots say nothing and are passed over.

    Returns
    -------
    Spread
        s_p^2 = sum (n-1) s^2 / sum (n-1) on ln viscosity (repeatability limit 1.96 sqrt(2) s, ISO 5725), mixed with a usual
        14 % that weighs like 6 pots (judged), so that two pots that happen to agree do not decide.

    Examples
    --------
    >>> spread = pooled_spread([[0.30, 0.33, 0.31], [0.45, 0.48]])
    >>> round(spread.df), round(spread.ln_sd, 3)
    (9, 0.118)
    """
    repeated = [np.array([math.log(value) for value in group]) for group in groups if len(group) > 1]
    total, df = _squares(*repeated), sum(each.size - 1 for each in repeated)
    usual = f"a usual {100 * USUAL_SPREAD:.0f} % that weighs like {USUAL_DF:.0f} pots"
    basis = "judged; no version was repeated yet"
    if repeated:
        pots, versions = df + len(repeated), len(repeated)
        basis = f"from {pots} repeated pots of {versions} versions, and {usual}"
    return Spread(math.sqrt((total + USUAL_DF * USUAL_SPREAD**2) / (df + USUAL_DF)), df + USUAL_DF, basis)


def _squares(*groups: FloatArray) -> float:
    """Sum of squares within groups."""
    return sum(float(each.var() * each.size) for each in groups)


def compare_pots(
    first_pa_s: Sequence[float], second_pa_s: Sequence[float], *,
    days: tuple[Sequence[Hashable], Sequence[Hashable]] | None = None, spread: Spread | None = None,
    same_factor: float = SAME_FACTOR,
) -> Comparison:  # fmt: skip
    """Compare the viscosities of two groups of pots on the log scale (Welch; equivalence by two one-sided tests).

    Parameters
    ----------
    first_pa_s, second_pa_s : sequence of float
        One viscosity a pot [Pa s], at the same temperature and shear rate.
    days : tuple of two sequences, optional
        The cooking day of each pot. Pots of one day have part of their spread in common, which goes out where both groups were cooked on
        it; without a spread the day means are compared in pairs where there are three such days or more.
    spread : Spread, optional
        The kitchen's pooled pot-to-pot spread, which is then the error of the comparison; the spread of these pots unless given.
    same_factor : float, optional
        Ratios from 1/factor to factor are called the same.

    Raises
    ------
    BatchError
        If a viscosity is not above 0, or the factor not above 1.

    Notes
    -----
    With a spread, its t with its degrees of freedom; a day has 0.4 of its variance in common (judged). Without one, Welch's t on ln
    viscosity or the paired t on day means, by scipy; the usual 14 % with 6 degrees of freedom where all pots of a group read alike. The
    detectable ratio and the pots needed are ours: scipy has the noncentral t, and no solver for them (two-sided 5 %, power 0.8).

    Examples
    --------
    >>> compare_pots([0.30, 0.33, 0.31], [0.45, 0.48, 0.44]).text
    'Different: the second is 1.46 (1.34-1.58) times as thick (90 % range).'
    """
    for value in (*first_pa_s, *second_pa_s):
        if not value > 0:
            raise BatchError(f"A viscosity of {value} Pa s came; figures above 0 are wanted.")
    if not (math.isfinite(same_factor) and same_factor > 1):
        raise BatchError(f"A factor of {same_factor} came; a factor above 1 is wanted, such as 1.25.")
    pots = (len(first_pa_s), len(second_pa_s))
    if min(pots) < 2:
        return Comparison(pots, None, None, False, False)
    from scipy.stats import t, ttest_ind, ttest_rel

    a, b = np.log(first_pa_s), np.log(second_pa_s)
    means = [_day_means(*each) for each in zip((a, b), days, strict=True)] if days is not None else [{}, {}]
    paired = means[0].keys() == means[1].keys() and len(means[0]) >= 3
    if paired:
        before, after = (np.array([mean[day] for day in means[0]]) for mean in means)
        middle, apart = float(np.mean(after) - np.mean(before)), np.ptp(after - before)
    else:
        middle, apart = float(b.mean() - a.mean()), min(np.ptp(a), np.ptp(b))
    if spread is not None or apart < EQUAL:
        # A scale that reads two pots alike shows no spread of its own: the usual one then stands for it.
        paired, middle, spread = False, float(b.mean() - a.mean()), spread or pooled_spread([])
        error, df = spread.ln_sd * _contrast(pots, days), spread.df
        p_value = 2 * float(t.sf(abs(middle) / error, df))
        low, high = (middle + side * error * float(t.ppf(0.95, df)) for side in (-1, 1))
    else:
        result = ttest_rel(after, before) if paired else ttest_ind(b, a, equal_var=False)
        p_value, df = float(result.pvalue), float(result.df)
        low, high = (float(end) for end in result.confidence_interval(0.90))
        error = (high - middle) / float(t.ppf(0.95, df))
    limit = math.log(same_factor)
    same_p = float(max(t.sf((middle + limit) / error, df), t.cdf((middle - limit) / error, df)))
    ratio = Range(math.exp(middle), math.exp(low), math.exp(high))
    needed: float | None = None
    if spread is not None:
        shown = difference_shown(df)
        detectable: float | None = math.exp(shown * error)
        needed = 2 * (shown * spread.ln_sd / middle) ** 2 if abs(middle) > WORTH_POTS else None
    else:
        sd = math.sqrt(_squares(a, b) / (sum(pots) - 2))
        detectable = math.exp(detectable_in_sds(*pots) * sd) if sd > 0 else None
        needed = pots_needed_exactly(abs(middle) / sd) if sd > 0 and middle != 0 else None
    one_day = days is not None and all(len(set(each)) == 1 for each in days)
    return Comparison(
        pots, ratio, p_value, p_value <= 0.05, same_p <= 0.05, same_p, same_factor, len(means[0]) if paired else 0,
        detectable, None if needed is None else max(math.ceil(needed), 2), one_day,
    )  # fmt: skip


def _contrast(pots: tuple[int, int], days: tuple[Sequence[Hashable], Sequence[Hashable]] | None) -> float:
    """Standard error of the difference of two means, in spreads: what a day has in common goes out where it holds pots of both."""
    on: dict[Hashable, float] = {}
    for side, count in enumerate(pots):
        for number in range(count):
            day = (side, number) if days is None else days[side][number]
            on[day] = on.get(day, 0.0) + (-1.0, 1.0)[side] / count
    apart = (1 - DAY_SHARE) * sum(1 / count for count in pots)
    return math.sqrt(apart + DAY_SHARE * sum(each**2 for each in on.values()))


def _day_means(values: FloatArray, days: Sequence[Hashable]) -> dict[Hashable, float]:
    grouped: dict[Hashable, list[float]] = {}
    for value, day in zip(values, days, strict=True):
        grouped.setdefault(day, []).append(value)
    return {day: float(np.mean(each)) for day, each in grouped.items()}


def detectable_in_sds(first: int, second: int) -> float:
    """Difference [SDs] that a t test of this many pots shows in 8 of 10 (two-sided 5 %)."""
    return difference_shown(first + second - 2) * math.sqrt(1 / first + 1 / second)


def pots_needed_exactly(effect_sds: float) -> float | None:
    """Pots of each version that show a difference of so many SDs in 8 of 10, as tables of sample sizes give it; None past 200.

    Examples
    --------
    >>> round(pots_needed_exactly(1.0), 2), round(pots_needed_exactly(2.0), 2)
    (16.71, 5.09)
    """
    from scipy.optimize import brentq

    def short(n: float) -> float:
        return difference_shown(2 * n - 2) * math.sqrt(2 / n) - effect_sds

    return None if short(200) > 0 else 2.0 if short(2) <= 0 else float(brentq(short, 2, 200))
