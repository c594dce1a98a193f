"""An estimated figure: the best guess and the two ends of its range."""

from __future__ import annotations

from typing import NamedTuple


class Range(NamedTuple):
    """A best estimate with the two ends of its range.

    Which range it is (90 % unless said) stands with the function that returns it. The unit is that of the function too.

    Examples
    --------
    >>> dose = Range(31.0, 28.2, 34.1)
    >>> dose.best, dose.low, dose.high
    (31.0, 28.2, 34.1)
    >>> print(f"{dose:.0f} g/L")
    31 (28-34) g/L
    """

    best: float
    low: float
    high: float

    def __format__(self, spec: str) -> str:
        """Write ``best (low-high)``, each end in the number format asked for."""
        number = spec or ".3g"
        return f"{self.best:{number}} ({self.low:{number}}-{self.high:{number}})"
