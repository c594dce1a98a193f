"""What forced choices of a few tasters show, by exact counting, and what so many tasters would have found.

The binomial is scipy's. Ours, because scipy has none: Thurstone's d' (formulas from memory; they give the figures that
sensR's tests hold) and the numbers needed (the power of an exact test is a sawtooth, so it is searched, not solved).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from spoonline.measures.ranges import Range

FloatArray = NDArray[np.float64]
# risk of seeing what is not there; share of sessions that should find what is (both common practice)
ALPHA, FOUND = 0.05, 0.80
GUESS = {"pair": 1 / 2, "duo-trio": 1 / 2, "triangle": 1 / 3}
MOST_TASTERS = 3000


def exact_p(correct: int, n: int, guess: float, *, two_sided: bool = False) -> float:
    """Chance of so many right answers or more by guessing alone (two-sided: of a split at least as uneven).

    Examples
    --------
    >>> round(exact_p(10, 12, 1 / 2), 4)
    0.0193
    """
    from scipy.stats import binomtest

    return float(binomtest(correct, n, guess, "two-sided" if two_sided else "greater").pvalue)


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
    from scipy.stats import binom

    return binom.isf(alpha / 2 if two_sided else alpha, np.asarray(n, dtype=float), guess) + 1


def power(n: ArrayLike, right: float, guess: float, alpha: float = ALPHA, *, two_sided: bool = False) -> FloatArray:
    """Share of sessions of ``n`` tasters that come out significant when a share ``right`` of answers is right."""
    from scipy.stats import binom

    many = np.asarray(n)
    least = _critical(many, guess, alpha, two_sided)
    # the other tail is empty where not even all on one side would count
    other = binom.cdf(many - least, many, right) if two_sided else 0.0
    return np.asarray(binom.sf(least - 1, many, right) + other)


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
    from scipy.optimize import brentq

    if critical_correct(n, guess, two_sided=two_sided) is None:
        return None
    return float(brentq(lambda right: float(power(n, right, guess, two_sided=two_sided)) - FOUND, guess, 1.0))


def who_can_tell(right: float, guess: float) -> float:
    """Share of people who truly tell, when the others guess; never below 0."""
    return max(0.0, (right - guess) / (1 - guess))


def right_answers(correct: int, n: int, level: float = 0.90) -> Range:
    """Share of right answers with its exact (Clopper-Pearson) range."""
    from scipy.stats import binomtest

    ends = binomtest(correct, n).proportion_ci(level, "exact")
    return Range(correct / n, float(ends.low), float(ends.high))


def similar_p(correct: int, n: int, right: float) -> float:
    """Chance of so few right answers if a share ``right`` is right: small means that fewer can tell than that limit.

    Examples
    --------
    >>> round(similar_p(20, 75, 1 / 3 + 0.2 * 2 / 3), 9)
    0.000306144
    """
    from scipy.stats import binom

    return float(binom.cdf(correct, n, right))


def most_correct(n: int, right: float, beta: float = ALPHA) -> int | None:
    """Most right answers that still show that fewer can tell than the limit; None where not even none would."""
    from scipy.stats import binom

    most = int(binom.ppf(beta, n, right))
    most -= int(float(binom.cdf(most, n, right)) > beta)
    return most if most >= 0 else None


@lru_cache(maxsize=4096)
def chance_correct(d_prime: float, method: str) -> float:
    """Share of right answers at a distance d' (0 or more) between two samples, in units of the spread of one taster's impression.

    ``method`` is pair, duo-trio or triangle.

    Examples
    --------
    >>> round(chance_correct(1.0, "triangle"), 6), round(chance_correct(1.0, "pair"), 6)
    (0.418047, 0.76025)
    """
    from scipy.integrate import quad

    d = d_prime
    if method == "pair":
        return float(ndtr(d / math.sqrt(2)))
    if method == "duo-trio":
        two, six = float(ndtr(d / math.sqrt(2))), float(ndtr(d / math.sqrt(6)))
        return 1 - two - six + 2 * two * six
    far, root = d * math.sqrt(2 / 3), math.sqrt(3)

    def integrand(z: float) -> float:
        return float((ndtr(far - z * root) + ndtr(-far - z * root)) * math.exp(-z * z / 2))

    return float(2 / math.sqrt(2 * math.pi) * quad(integrand, 0, 10, epsabs=1e-11, limit=200)[0])


def distance(right: float, method: str) -> float:
    """d' at which a share ``right`` of answers is right; 0 at or below guessing, infinite where all are right.

    Examples
    --------
    >>> round(distance(0.5, "triangle"), 4)
    1.4663
    """
    from scipy.optimize import brentq

    if right <= GUESS[method]:
        return 0.0
    if right >= 1 - 1e-9:
        return math.inf
    return float(brentq(lambda d: chance_correct(d, method) - right, 0.0, 20.0, xtol=1e-9))


# A step told by 75 of 100 pairs: times 1.26 (Camacho et al. 2015, drinks of 10-100 mPa s, published) or times 1.0933 (J. Texture
# Stud. 48, 2017, 463, published); the two disagree, so both ends are said. Steps are taken to add up in ln viscosity (judged).
STEP_RATIOS = (1.0933, 1.26)
STEP_DISTANCE = float(math.sqrt(2) * ndtri(0.75))
FELT_POWER = 0.40  # perceived thickness in the mouth goes as viscosity to this power, 340-1300 mPa s (published)


def thicker_by(d_prime: float) -> tuple[float, float]:
    """Ratio of viscosities that lies a distance d' apart, by the two published steps (lower, upper).

    Examples
    --------
    >>> tuple(round(each, 2) for each in thicker_by(STEP_DISTANCE))
    (1.09, 1.26)
    """
    low, high = (ratio ** (d_prime / STEP_DISTANCE) for ratio in STEP_RATIOS)
    return low, high


def felt_as(ratio: float) -> float:
    """How many times as thick a ratio of viscosities is felt (viscosity to the power 0.40, published, 340-1300 mPa s)."""
    return float(ratio**FELT_POWER)
