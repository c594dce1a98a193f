"""Two things changed at once: which pots to cook on which day.

Corners and centre points on one day, star points on the next, after Box and Wilson 1951 (memory). Pots of one cooking day are
a block: days differ more than most changes do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoonline.measures.errors import BatchError

FloatArray = NDArray[np.float64]
CORNERS: list[tuple[float, float]] = [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)]
STAR = 1.414  # rotatable for two factors, as printed in the handbooks
STARS: list[tuple[float, float]] = [(STAR, 0.0), (-STAR, 0.0), (0.0, STAR), (0.0, -STAR)]


@dataclass(frozen=True)
class Factor:
    """Something that is changed on purpose between a low and a high setting, in its ``unit``; the corners of a plan.

    ``by_ratio`` takes steps of equal ratio (doses, times) instead of equal difference (temperatures).

    Examples
    --------
    >>> dose = Factor("corn starch", "g/L", 25.0, 36.0)
    >>> round(float(dose.setting(0.0)), 6), round(float(dose.setting(1.0)), 6)
    (30.0, 36.0)
    """

    name: str
    unit: str
    low: float
    high: float
    by_ratio: bool = True

    def __post_init__(self) -> None:
        """Refuse settings that span nothing."""
        if not (np.isfinite(self.high) and self.low < self.high and (self.low > 0 or not self.by_ratio)):
            raise BatchError(
                f"{self.name}: settings {self.low:g} and {self.high:g} {self.unit} came; a low one"
                f"{' above 0' if self.by_ratio else ''} and a higher one are wanted."
            )

    def setting(self, coded: ArrayLike) -> FloatArray:
        """Map -1 (low) ... 1 (high) to settings."""
        share = (np.asarray(coded, dtype=float) + 1) / 2
        even = self.low + (self.high - self.low) * share
        return np.asarray(self.low * (self.high / self.low) ** share if self.by_ratio else even)


@dataclass(frozen=True)
class PlannedPot:
    """One pot of a plan: its cooking day (from 1), its two settings, and those coded."""

    day: int
    first: float
    second: float
    coded: tuple[float, float]

    @property
    def kind(self) -> str:
        """Where it lies in the plan: corner, middle or star."""
        if self.coded in CORNERS:
            return "corner"
        return "middle" if self.coded == (0.0, 0.0) else "star"


def plan_pots(first: Factor, second: Factor, centres: int = 3, stars: bool = False, seed: int = 1) -> list[PlannedPot]:
    """Plan four corners and some centre pots for one day; with ``stars`` a second day that shows curvature.

    Parameters
    ----------
    first, second : Factor
        What is changed.
    centres : int, optional
        Pots in the middle on each day; they show how far pots of one recipe differ.
    stars : bool, optional
        Add a day of star points, at 1.414 steps from the middle.
    seed : int, optional
        Fixes the random order within each day.

    Raises
    ------
    BatchError
        If the number of centre pots is negative, or a star point would lie below 0.

    Examples
    --------
    >>> pots = plan_pots(Factor("corn starch", "g/L", 25, 36), Factor("simmering", "min", 2, 8))
    >>> len(pots), sorted({round(pot.first, 1) for pot in pots})
    (7, [25.0, 30.0, 36.0])
    """
    if centres < 0:
        raise BatchError(f"{centres} centre pots came; 0 or more are wanted (3 show the spread from pot to pot).")
    rng = np.random.default_rng(seed)
    pots = []
    for day, points in enumerate([CORNERS, STARS] if stars else [CORNERS], start=1):
        coded = [*points, *[(0.0, 0.0)] * centres]
        for i in rng.permutation(len(coded)):
            u, v = coded[i]
            pots.append(PlannedPot(day, float(first.setting(u)), float(second.setting(v)), (u, v)))
    for factor, low in ((first, min(pot.first for pot in pots)), (second, min(pot.second for pot in pots))):
        if low < 0 <= factor.low:
            raise BatchError(
                f"{factor.name}: a star point would lie at {low:.3g} {factor.unit}; raise the low setting or choose steps of equal ratio."
            )
    return pots
