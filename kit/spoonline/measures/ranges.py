"""An estimated figure: the best guess and the two ends of its range."""

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
    >>> f"{Range(2.0, 1.71, 14.2):.2g}"
    '2.0 (1.7-14)'
    >>> f"{Range(117.0, 84.2, 163.0):.2g}"
    '120 (84-160)'
    """

    best: float
    low: float
    high: float

    def __format__(self, spec: str) -> str:
        """Write ``best (low-high)``, each end in the number format asked for."""
        number = spec or ".3g"
        if number.endswith("g") and "#" not in number:
            number = f"#{number}"  # keeps the digits that are known: 2.0, not 2
        best, low, high = (_plain(f"{value:{number}}") for value in self)
        return f"{best} ({low}-{high})"


def in_digits(value: float, digits: int) -> str:
    """A figure in so many digits as a cook reads it.

    >>> in_digits(101.4, 2), in_digits(12172.0, 4), in_digits(0.29, 2)
    ('100', '12170', '0.29')
    """
    return _plain(f"{value:.{digits}g}")


def _plain(shown: str) -> str:
    """A cook reads 120, not 1.2e+02; figures below a ten-thousandth keep their power."""
    return f"{float(shown):.0f}" if "e+" in shown else shown.rstrip(".")
