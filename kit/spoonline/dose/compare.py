"""Two groups of pots: how much thicker one is, whether that many pots can tell, and how many could; and pots that stand out."""

import math
import statistics
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from spoonline.dose.priors import USUAL_DF, USUAL_SPREAD, said
from spoonline.measures import Range
from spoonline.pots import CookedPot, read_at, temperature_ratio
from spoonline.regression import difference_shown

# "The same" unless said otherwise: within a factor 1.25, about one step that most tasters notice (Weber fraction 0.26, read).
SAME_FACTOR = 1.25
# What pots of one version read differs by this where a kitchen has no history: pots, and readings by 10 % beside (judged).
READ_SPREAD = math.hypot(USUAL_SPREAD, 0.10)
# How many pots would show a difference is said of one that a cook could mind (ln).
WORTH_POTS = 0.02
# Share of the variance of what pots read that those of one day have in common (judged: days 0.10, pots 0.12, readings 0.10 and less).
DAY_SHARE = 0.25
ONE_DAY = " Each version was cooked on one day only: whether it is the recipe or the day, only more days can say."


@dataclass(frozen=True)
class Spread:
    """How far pots of one version differ: SD of ln viscosity, its degrees of freedom, and what it comes from."""

    ln_sd: float
    df: float
    basis: str

    @property
    def text(self) -> str:
        """In per cent, with the 95 % limits that so few pots leave, and the factor that two pots stay within."""
        low, high = (math.sqrt(self.df / float(scipy.stats.chi2.ppf(p, self.df))) * self.ln_sd for p in (0.975, 0.025))
        apart = math.exp(1.96 * math.sqrt(2) * self.ln_sd)
        return said("spread", sd=100 * self.ln_sd, low=100 * low, high=100 * high, basis=self.basis, factor=apart)


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
    detectable: float | None = None
    needed: int | None = None
    one_day: bool = False

    @property
    def text(self) -> str:
        """One of the four possible answers, or that there are too few pots; then what could have been shown."""
        a, b = self.pots
        if self.ratio is None:
            return said("too few to compare", a=a, b=b)
        ratio = f"the second is {self.ratio:.2f} times as thick (90 % range)"
        within, day = f"within a factor {self.same_factor:.3g}", ONE_DAY if self.one_day else ""
        if self.different:
            return f"A small difference: {ratio}, {within}.{day}" if self.same else f"Different: {ratio}.{day}"
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
        16 % that weighs like 6 pots (judged), so that two pots that happen to agree do not decide.

    Examples
    --------
    >>> spread = pooled_spread([[0.30, 0.33, 0.31], [0.45, 0.48]])
    >>> round(spread.df), round(spread.ln_sd, 3)
    (9, 0.134)
    """
    repeated = [np.array([math.log(value) for value in group]) for group in groups if len(group) > 1]
    total, df = sum(float(each.var() * each.size) for each in repeated), sum(each.size - 1 for each in repeated)
    usual = f"a usual {100 * READ_SPREAD:.0f} % that weighs like {USUAL_DF:.0f} pots"
    basis = "judged; no version was repeated yet"
    if repeated:
        pots, versions = df + len(repeated), len(repeated)
        basis = f"from {pots} repeated pots of {versions} versions, and {usual}"
    return Spread(math.sqrt((total + USUAL_DF * READ_SPREAD**2) / (df + USUAL_DF)), df + USUAL_DF, basis)


def compare_pots(
    first_pa_s: Sequence[float], second_pa_s: Sequence[float], *,
    days: tuple[Sequence[Hashable], Sequence[Hashable]] | None = None, spread: Spread | None = None,
    same_factor: float = SAME_FACTOR,
) -> Comparison:  # fmt: skip
    """Compare the viscosities of two groups of pots on the log scale (t of the kitchen's spread; equivalence by two one-sided tests).

    Parameters
    ----------
    first_pa_s, second_pa_s : sequence of float
        One viscosity a pot [Pa s], at the same temperature and shear rate.
    days : tuple of two sequences, optional
        The cooking day of each pot. Pots of one day have part of their spread in common, which goes out where both groups were cooked on it.
    spread : Spread, optional
        The kitchen's pooled pot-to-pot spread; that of these pots with the usual one unless given.
    same_factor : float, optional
        Ratios from 1/factor to factor are called the same.

    Raises
    ------
    BatchError
        If a viscosity is not above 0, or the factor not above 1.

    Notes
    -----
    Student's t with the pooled spread and its degrees of freedom; a day has a quarter of the variance in common (judged). The detectable ratio
    and the pots needed are ours: scipy has the noncentral t, and no solver for them (two-sided 5 %, power 0.8).

    Examples
    --------
    >>> compare_pots([0.30, 0.33, 0.31], [0.45, 0.48, 0.44]).text
    'Different: the second is 1.46 (1.21-1.76) times as thick (90 % range).'
    """
    for value in (*first_pa_s, *second_pa_s):
        said.refuse(not value > 0, "a viscosity", came=value)
    said.refuse(not (math.isfinite(same_factor) and same_factor > 1), "a factor", came=same_factor)
    pots = (len(first_pa_s), len(second_pa_s))
    if min(pots) < 2:
        return Comparison(pots, None, None, False, False)
    t, spread = scipy.stats.t, spread or pooled_spread([first_pa_s, second_pa_s])
    middle = float(np.mean(np.log(second_pa_s)) - np.mean(np.log(first_pa_s)))
    error, df = spread.ln_sd * contrast(pots, days), spread.df
    low, high = (middle + side * error * float(t.ppf(0.95, df)) for side in (-1, 1))
    limit, shown = math.log(same_factor), difference_shown(df)
    detectable = math.exp(shown * error)
    p_value = 2 * float(t.sf(abs(middle) / error, df))
    same_p = float(max(t.sf((middle + limit) / error, df), t.cdf((middle - limit) / error, df)))
    needed = max(math.ceil(2 * (shown * spread.ln_sd / middle) ** 2), 2) if abs(middle) > WORTH_POTS else None
    one_day = days is not None and all(len(set(each)) == 1 for each in days)
    ratio, different, same = Range(math.exp(middle), math.exp(low), math.exp(high)), p_value <= 0.05, same_p <= 0.05
    return Comparison(pots, ratio, p_value, different, same, same_p, same_factor, detectable, needed, one_day)


def contrast(pots: tuple[int, int], days: tuple[Sequence[Hashable], Sequence[Hashable]] | None) -> float:
    """Standard error of the difference of two means, in spreads: what a day has in common goes out where it holds pots of both."""
    on: dict[Hashable, float] = {}
    for side, count in enumerate(pots):
        for number in range(count):
            day = (side, number) if days is None else days[side][number]
            on[day] = on.get(day, 0.0) + (-1.0, 1.0)[side] / count
    apart = (1 - DAY_SHARE) * sum(1 / count for count in pots)
    return math.sqrt(apart + DAY_SHARE * sum(each**2 for each in on.values()))


# A pot this many standard deviations from the others of its version is named.
ODD_SDS = 2.5


@dataclass(frozen=True)
class OddPot:
    """One pot that stands out of its version: ratio to the others, how many standard deviations, and what the record shows."""

    pot: CookedPot
    ratio: float
    sds: float
    reasons: tuple[str, ...]

    @property
    def text(self) -> str:
        """One sentence."""
        times = f"{self.ratio:.2f} times thicker" if self.ratio > 1 else f"{1 / self.ratio:.2f} times thinner"
        why = "; ".join(self.reasons) or "the record shows no reason: look at its weights and its reading"
        return said("odd pot", batch=self.pot.batch, times=times, sds=abs(self.sds), why=why)


def odd_pots(pots: Iterable[CookedPot], spread: Spread) -> list[OddPot]:
    """Name the pots that lie more than 2.5 standard deviations from the others of their version; each still counts.

    Parameters
    ----------
    pots : iterable of CookedPot
        Pots of one dish; those that do not count are passed over.
    spread : Spread
        The kitchen's pot-to-pot spread.

    Returns
    -------
    list of OddPot
        With reasons from the record: more or less boiled away, read hot or cold, another amount put in, another tool.
    """
    found, read = [], [pot for pot in pots if pot.counts]
    for pot in read:
        others = [each for each in read if each.batch.version == pot.batch.version and each is not pot]
        if not others:
            continue
        off = math.log(pot.viscosity_pa_s) - statistics.fmean(math.log(each.viscosity_pa_s) for each in others)
        sds = off / (spread.ln_sd * math.sqrt(1 + 1 / len(others)))
        if abs(sds) > ODD_SDS:
            found.append(OddPot(pot, math.exp(off), sds, _reasons(pot, others, off > 0)))
    return found


def _reasons(pot: CookedPot, others: Sequence[CookedPot], thicker: bool) -> tuple[str, ...]:
    """What in the record points the way the pot strayed."""
    found = []
    here, *usual = map(_percent, (pot, *others))
    known = [each for each in usual if each]
    if here and known:
        middle = statistics.median(known)
        if (here > 1.03 * middle) == thicker and abs(here / middle - 1) > 0.03:
            lost, *losses = (each.batch.evaporated_g or 0.0 for each in (pot, *others))
            before = statistics.median(losses)
            what = f"{'more' if lost > before else 'less'} boiled away ({lost:.0f} g against {before:.0f} g)"
            found.append(what if abs(lost - before) > 30 else f"starch to water is {100 * (here / middle - 1):+.0f} %")
    readings, *usual_readings = (read_at(each.batch) for each in (pot, *others))
    own, *warm = (statistics.fmean(float(r.temperature_c) for r in each) for each in (readings, *usual_readings))
    rest = statistics.median(warm)
    # The usual allowance for temperature is made already; what is left can be a fifth of it either way.
    if abs(math.log(temperature_ratio(own, rest))) > 0.15 and (own < rest) == thicker:
        found.append(f"read at {own:.0f} C where the others were read at {rest:.0f} C")
    tools, usual_tools = {r.tool for r in readings}, {r.tool for each in usual_readings for r in each}
    if not tools & usual_tools:
        with_this, with_those = (" and ".join(sorted(each)) for each in (tools, usual_tools))
        found.append(f"read with the {with_this}, the others with the {with_those}")
    return tuple(dict.fromkeys([*found, *(flag for reading in readings for flag in reading.flags)]))


def _percent(pot: CookedPot) -> float:
    """Starch to starch and water [%]; 0 where the pot was not weighed or holds none."""
    return pot.inside.percent if pot.inside is not None and pot.batch.evaporated_g is not None else 0.0
