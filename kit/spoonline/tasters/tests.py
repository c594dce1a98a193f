"""What choices, rankings and points of a few tasters show, and what so many tasters would have found.

The binomial, Friedman's statistic and Student's distributions are scipy's. Ours, because scipy has none or stops short: Thurstone's d'
(formulas from memory; they give the figures that sensR's tests hold), the numbers needed (the power of an exact test is a sawtooth, so
it is searched, not solved), exact distributions of Friedman's statistic (scipy has its chi-square limit) and of Page's (scipy has its p
but no critical number, which the power needs), ranges of means that do not vanish where all answers agree, and the mean drop of
just-about-right answers.
"""

import math
from functools import lru_cache
from itertools import permutations
from typing import Any, NamedTuple

import numpy as np
import scipy
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr, ncfdtr, ndtr, ndtri, stdtr, stdtrit

from spoonline.measures import Range
from spoonline.regression import FloatArray, difference_shown
from spoonline.tasters.session import said

# risk of seeing what is not there; share of sessions that should find what is (both common practice)
ALPHA, FOUND = 0.05, 0.80
GUESS = {"pair": 1 / 2, "duo-trio": 1 / 2, "triangle": 1 / 3}
MOST_TASTERS = 3000
POINTS_SD = 1 / math.sqrt(12)  # answers come in whole points, so no spread is smaller than that of rounding


def exact_p(correct: int, n: int, guess: float, *, two_sided: bool = False) -> float:
    """Chance of so many right answers or more by guessing alone (two-sided: of a split at least as uneven).

    Examples
    --------
    >>> round(exact_p(10, 12, 1 / 2), 4)
    0.0193
    """
    return float(scipy.stats.binomtest(correct, n, guess, "two-sided" if two_sided else "greater").pvalue)


def critical_correct(n: int, guess: float, alpha: float = ALPHA, *, two_sided: bool = False) -> int | None:
    """Fewest right answers that guessing gives at most ``alpha`` of the time; None where not even all right are enough.

    Examples
    --------
    >>> critical_correct(12, 1 / 3), critical_correct(4, 1 / 2)
    (8, None)
    """
    found = int(_critical(n, guess, alpha, two_sided))
    return found if found <= n else None


def _critical(n: ArrayLike, guess: float, alpha: float, two_sided: bool) -> Any:
    return scipy.stats.binom.isf(alpha / 2 if two_sided else alpha, np.asarray(n, dtype=float), guess) + 1


def power(n: ArrayLike, right: float, guess: float, alpha: float = ALPHA, *, two_sided: bool = False) -> FloatArray:
    """Share of sessions of ``n`` tasters that come out significant when a share ``right`` of answers is right."""
    many = np.asarray(n)
    least = _critical(many, guess, alpha, two_sided)
    # the other tail is empty where not even all on one side would count
    other = scipy.stats.binom.cdf(many - least, many, right) if two_sided else 0.0
    return np.asarray(scipy.stats.binom.sf(least - 1, many, right) + other)


def tasters_needed(right: float, guess: float, *, two_sided: bool = False) -> int | None:
    """Fewest tasters whose session comes out significant in 8 of 10 cases; None beyond 3000. A few more can do a little worse.

    Examples
    --------
    >>> tasters_needed(0.75, GUESS["duo-trio"])
    23
    """
    many = np.arange(1, MOST_TASTERS + 1)
    enough = np.flatnonzero(power(many, right, guess, two_sided=two_sided) >= FOUND)
    return int(many[enough[0]]) if enough.size else None


def right_found(n: int, guess: float, *, two_sided: bool = False) -> float | None:
    """Share of right answers that ``n`` tasters find in 8 of 10 sessions; None if no result can be significant."""
    if critical_correct(n, guess, two_sided=two_sided) is None:
        return None
    found = scipy.optimize.brentq(lambda right: float(power(n, right, guess, two_sided=two_sided)) - FOUND, guess, 1.0)
    return float(found)


def who_can_tell(right: float, guess: float) -> float:
    """Share of people who truly tell, when the others guess; never below 0."""
    return max(0.0, (right - guess) / (1 - guess))


def right_answers(correct: int, n: int, level: float = 0.90) -> Range:
    """Share of right answers with its exact (Clopper-Pearson) range."""
    ends = scipy.stats.binomtest(correct, n).proportion_ci(level, "exact")
    return Range(correct / n, float(ends.low), float(ends.high))


def similar_p(correct: int, n: int, right: float) -> float:
    """Chance of so few right answers if a share ``right`` is right: small means that fewer can tell than that limit.

    Examples
    --------
    >>> round(similar_p(20, 75, 1 / 3 + 0.2 * 2 / 3), 9)
    0.000306144
    """
    return float(bdtr(correct, n, right))


def most_correct(n: int, right: float, beta: float = ALPHA) -> int | None:
    """Most right answers that still show that fewer can tell than the limit; None where not even none would."""
    enough = np.flatnonzero(bdtr(np.arange(n + 1), n, right) <= beta)
    return int(enough[-1]) if enough.size else None


def chance_correct(d_prime: float, method: str) -> float:
    """Share of right answers at a distance d' (0 or more) between two samples, in units of the spread of one taster's impression.

    ``method`` is pair, duo-trio or triangle.

    Examples
    --------
    >>> round(chance_correct(1.0, "triangle"), 6), round(chance_correct(1.0, "pair"), 6)
    (0.418047, 0.76025)
    """
    two, six = float(ndtr(d_prime / math.sqrt(2))), float(ndtr(d_prime / math.sqrt(6)))
    if method == "pair":
        return two
    # a triangle's answer is right where a noncentral F of 1 and 1 degrees of freedom is above 3
    return 1 - two - six + 2 * two * six if method == "duo-trio" else float(1 - ncfdtr(1, 1, 2 / 3 * d_prime**2, 3.0))


def distance(right: float, method: str) -> float:
    """d' at which a share ``right`` of answers is right; 0 at or below guessing, infinite where all are right.

    Examples
    --------
    >>> round(distance(0.5, "triangle"), 4)
    1.4663
    """
    if right <= GUESS[method]:
        return 0.0
    if right >= 1 - 1e-9:
        return math.inf
    return float(scipy.optimize.brentq(lambda d: chance_correct(d, method) - right, 0.0, 20.0, xtol=1e-9))


# A step told by 75 of 100 pairs: times 1.26 (Camacho et al. 2015, drinks of 10-100 mPa s, published) or times 1.0933 (J. Texture
# Stud. 48, 2017, 463, published); the two disagree, so both ends are said. Steps are taken to add up in ln viscosity (judged).
STEP_RATIOS = (1.0933, 1.26)
STEP_DISTANCE = float(math.sqrt(2) * ndtri(0.75))
# Thickness in the mouth goes as viscosity to a power between these (published: Christensen 1979, abstract; and at 340-1300 mPa s).
FELT_POWERS = (0.29, 0.40)


def thicker_by(d_prime: float) -> tuple[float, float]:
    """Ratio of viscosities that lies a distance d' apart, by the two published steps (lower, upper).

    Examples
    --------
    >>> tuple(round(each, 2) for each in thicker_by(STEP_DISTANCE))
    (1.09, 1.26)
    """
    low, high = (ratio ** (d_prime / STEP_DISTANCE) for ratio in STEP_RATIOS)
    return low, high


def felt_as(low: float, high: float) -> tuple[float, float]:
    """How many times as thick ratios of viscosities above 1 are felt at the least and at the most: two published powers disagree."""
    return low ** FELT_POWERS[0], high ** FELT_POWERS[1]


class Ranked(NamedTuple):
    """Rank sums, the statistic, its p, and the least difference of two rank sums that counts (5 %, one pair at a time)."""

    sums: tuple[float, ...]
    statistic: float
    p_value: float
    least_difference: float


def rank_friedman(ranks: ArrayLike) -> Ranked:
    """Do tasters rank the samples differently at all? Friedman's test, ties corrected; exact p for few tasters.

    ``ranks`` has a row a taster and a column for each of three samples or more, 1 = first; ties share their mean rank.
    """
    table = np.asarray(ranks, dtype=float)
    tasters, samples = table.shape
    sums = table.sum(axis=0)
    least = 1.96 * math.sqrt(tasters * samples * (samples + 1) / 6)
    statistic, p = (0.0, 1.0) if np.all(table == table[:, :1]) else scipy.stats.friedmanchisquare(*table.T)
    if _countable(tasters, samples):
        squares, chance = _square_sums(np.rint(2 * table).astype(np.int64))
        p = min(chance[squares >= np.sum((2 * sums) ** 2) - 0.5].sum(), 1.0)
    return Ranked(tuple(sums.tolist()), float(statistic), float(p), least)


@lru_cache(maxsize=64)
def friedman_limit(tasters: int, samples: int) -> float:
    """Least untied Friedman statistic that is significant; exact for few tasters, else chi-square."""
    if not _countable(tasters, samples):
        return float(scipy.stats.chi2.isf(ALPHA, samples - 1))
    squares, chance = _square_sums(np.tile(2 * np.arange(1, samples + 1), (tasters, 1)))
    order = np.argsort(-squares)
    enough = squares[order][np.cumsum(chance[order]) <= ALPHA * (1 + 1e-9)]
    least = float(enough.min()) / 4 if enough.size else math.inf
    return float(_friedman(least, tasters, samples))


def _friedman(squares: Any, tasters: int, samples: int) -> Any:
    """Friedman's statistic of untied ranks from the sum of squared rank sums."""
    return 12 / (tasters * samples * (samples + 1)) * squares - 3 * tasters * (samples + 1)


def _countable(tasters: int, samples: int) -> bool:
    """Whether every outcome can be counted within a blink."""
    return (samples <= 4 and tasters <= 12) or (samples == 5 and tasters <= 9)


def _square_sums(doubled: NDArray[np.int64]) -> tuple[FloatArray, FloatArray]:
    """Every sum of squared rank sums (ranks doubled) that shuffled rows can give, and its chance."""
    columns = doubled.shape[1]
    order = np.array(list(permutations(range(columns))))
    places = int(doubled.sum() + 1) ** np.arange(columns)
    states: NDArray[np.int64] = np.sort(doubled[:1], axis=1)
    chance: FloatArray = np.ones(1)
    for row in doubled[1:]:
        steps, times = np.unique(row[order], axis=0, return_counts=True)
        # which sample is which does not matter, so states that differ only in order are one state
        grown = np.sort((states[:, None] + steps[None]).reshape(-1, columns), axis=1)
        _, first, back = np.unique(grown @ places, return_index=True, return_inverse=True)
        chance = np.bincount(back.ravel(), np.outer(chance, times / times.sum()).ravel()).astype(float)
        states = grown[first]
    squares, back = np.unique((states**2).sum(axis=1), return_inverse=True)
    return squares.astype(float), np.bincount(back.ravel(), chance).astype(float)


def rank_page(ranks: ArrayLike) -> tuple[float, float]:
    """Page's L and its exact p, for columns that stand in the order expected beforehand; ties count against the order.

    Examples
    --------
    >>> rank_page([[1, 2, 3]] * 3)[0]
    42.0
    """
    table = np.asarray(ranks, dtype=float)
    value = float(table.sum(axis=0) @ np.arange(1, table.shape[1] + 1))
    chance = _page_chances(*table.shape)
    return value, float(chance[math.floor(value + 1e-9) :].sum())


def page_limit(tasters: int, samples: int) -> int | None:
    """Least L that is significant by its exact p; None where there is none."""
    tail = np.cumsum(_page_chances(tasters, samples)[::-1])[::-1]
    enough = np.flatnonzero(tail <= ALPHA)
    most = tasters * sum(each * each for each in range(1, samples + 1))
    return int(enough[0]) if enough.size and enough[0] <= most else None


@lru_cache(maxsize=64)
def _page_chances(tasters: int, samples: int) -> FloatArray:
    weights = np.arange(1, samples + 1)
    one = np.bincount(np.array(list(permutations(weights))) @ weights) / math.factorial(samples)
    chance = np.ones(1)
    for _ in range(tasters):
        chance = np.convolve(chance, one)
    return chance


def ranking_distance(tasters: int, samples: int, *, ordered: bool) -> float | None:
    """d' between the two ends of an evenly stepped series that is found in 8 of 10 sessions; None if never.

    By 2000 invented sessions with a fixed draw, so the figure is good to about 0.05.
    """
    limit = page_limit(tasters, samples) if ordered else friedman_limit(tasters, samples)
    if limit is None or limit == math.inf:
        return None
    noise = np.random.default_rng(1).normal(size=(2000, tasters, samples))
    steps, place = np.linspace(0, 1, samples), np.arange(1, samples + 1)

    def share(d: float) -> float:
        sums = (np.argsort(np.argsort(noise + d * steps, axis=2), axis=2) + 1).sum(axis=1)
        value = sums @ place if ordered else _friedman((sums**2).sum(axis=1), tasters, samples)
        return float(np.mean(value >= limit - 1e-9))

    return (
        None if share(15.0) < FOUND else float(scipy.optimize.brentq(lambda d: share(d) - FOUND, 0.0, 15.0, xtol=0.01))
    )


def mean_points(points: ArrayLike, level: float = 0.90) -> Range | None:
    """Mean of points with Student's range; None with fewer than two. Also for the differences of pairs."""
    each = np.asarray(points, dtype=float)
    if each.size < 2:
        return None
    half = float(stdtrit(each.size - 1, (1 + level) / 2)) * _mean_sd(each)
    return Range(*(float(each.mean()) + k * half for k in (0, -1, 1)))


def paired_p(differences: ArrayLike) -> float:
    """Two-sided p of a mean difference within tasters (Student); 1 with fewer than two."""
    gap = np.asarray(differences, dtype=float)
    return 1.0 if gap.size < 2 else float(2 * stdtr(gap.size - 1, -abs(gap.mean()) / _mean_sd(gap)))


def _mean_sd(points: FloatArray) -> float:
    return max(float(points.std(ddof=1)), POINTS_SD) / math.sqrt(points.size)


def points_found(n: float, sd: float, *, two_groups: bool = False, alpha: float = ALPHA) -> float | None:
    """Difference in points that ``n`` pairs, or ``n`` in each of two groups, find in 8 of 10 sessions (two-sided)."""
    groups = 2 if two_groups else 1
    df = groups * (n - 1)
    return None if df < 1 else difference_shown(df, alpha, FOUND) * sd * math.sqrt(groups / n)


class Drop(NamedTuple):
    """One side of just-about-right: how many, what share, their mean liking, how far it lies below that of the rest."""

    n: int
    share: float
    mean: float
    drop: float
    within: Range | None

    @property
    def weighted(self) -> float:
        """The drop times the share [points]."""
        return self.drop * self.share


def mean_drops(liking: ArrayLike, just: ArrayLike) -> tuple[Drop, Drop]:
    """Mean drop in liking of those who found it not enough (``just`` below 3), and too much, against those who found it just right.

    ``within`` (Welch, 90 %) stands only where both groups have five or more (house rule). A BatchError says that nobody found it just
    right, since then there is nothing to drop from.
    """
    points, side = np.asarray(liking, dtype=float), np.asarray(just, dtype=float)
    right = points[side == 3]
    said.refuse(not right.size, "no drop")

    def one_side(group: FloatArray) -> Drop:
        mean = float(group.mean()) if group.size else math.nan
        drop = float(right.mean()) - mean
        within = None
        if min(group.size, right.size) >= 5:
            # ours, as scipy's range is undefined where a group of whole points agrees fully
            a, b = _mean_sd(right) ** 2, _mean_sd(group) ** 2
            df = (a + b) ** 2 / (a**2 / (right.size - 1) + b**2 / (group.size - 1))
            half = float(stdtrit(df, 0.95)) * math.sqrt(a + b)
            within = Range(drop, drop - half, drop + half)
        return Drop(int(group.size), group.size / points.size, mean, drop, within)

    return one_side(points[side < 3]), one_side(points[side > 3])
