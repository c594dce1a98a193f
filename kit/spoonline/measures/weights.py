"""From an amount to grams with its spread; and the spread of one cook's own spoons. Knows no ingredients."""

import math
from collections.abc import Hashable, Iterable, Sequence
from typing import NamedTuple, TypeVar

from spoonline.measures.amounts import Amount
from spoonline.measures.errors import AmountError
from spoonline.measures.ranges import Range
from spoonline.measures.tables import read_table, refuse

Name = TypeVar("Name", bound=Hashable)
# How many times the level measure, and the relative standard uncertainty of the filling, by vessel and fill.
_ROWS = read_table("fills.csv", "measures")
_FILLED = {(row["vessel"], row["fill"]): (float(row["times"]), float(row["spread"])) for row in _ROWS}


class Weight(NamedTuple):
    """A mass [g] with its standard uncertainty [g] and what it rests on.

    >>> print(Weight(12.0, 1.2, "weighed"))
    12 g (10-14)
    """

    mass_g: float
    sd_g: float
    basis: str

    @property
    def relative_sd(self) -> float:
        """The uncertainty as a share of the mass; 0 for a mass of 0."""
        return self.sd_g / self.mass_g if self.mass_g > 0 else 0.0

    @property
    def range(self) -> Range:
        """The 90 % range [g], log-normal, so that it never goes below nothing."""
        spread = math.exp(1.6448536269514722 * math.sqrt(math.log1p(self.relative_sd**2)))
        return Range(self.mass_g, self.mass_g / spread, self.mass_g * spread)

    def __str__(self) -> str:
        """Write mass and 90 % range in grams."""
        low, high = self.range[1:]
        digits = 0 if self.mass_g >= 10 else 1
        return f"{self.mass_g:.{digits}f} g ({low:.{digits}f}-{high:.{digits}f})"


def totals(named: Iterable[tuple[Name, float]]) -> dict[Name, float]:
    """The sum for each name, in the order in which they come.

    >>> totals([("flour", 40.0), ("butter", 30.0), ("flour", 20.0)])
    {'flour': 60.0, 'butter': 30.0}
    """
    found: dict[Name, float] = {}
    for name, value in named:
        found[name] = found.get(name, 0.0) + value
    return found


def scale_sd_g(step_g: float = 1.0) -> float:
    """Give the standard uncertainty [g] of a digital scale with this step [g]: step / sqrt(12).

    Source: rectangular distribution; NIST TN 1297 section 4.6. Valid for one reading, zeroed, no drift.

    >>> round(scale_sd_g(1.0), 8)
    0.28867513
    """
    refuse(not step_g > 0, "step", came=step_g)
    return step_g / math.sqrt(12)


def weighed(mass_g: float, scale_step_g: float = 1.0) -> Weight:
    """Take a mass [g] from 0 up from a digital scale with this step [g]; its uncertainty is that of `scale_sd_g`.

    >>> weighed(52).mass_g
    52.0
    """
    refuse(not (mass_g >= 0 and math.isfinite(mass_g)), "no mass", came=mass_g)
    return Weight(float(mass_g), scale_sd_g(scale_step_g), f"weighed, scale step {scale_step_g:g} g")


def weigh(
    amount: Amount, *, g_per_ml: float | None = None, g_each: float | None = None, each_relative_sd: float = 0.25,
    liquid: bool = False,
) -> tuple[float, float]:  # fmt: skip
    """Turn an amount into grams and their standard uncertainty [g], by pure arithmetic; a range adds its own width / sqrt(12).

    Spoons and cups need the bulk density as spooned [g/mL], counts the mass of one piece [g] and its spread as a share; what
    pours cannot be heaped and fills a jug to 5 %. Raises `AmountError` if the amount has no size ("a pinch"), or the figure
    it needs is not given.

    Source of the spreads: judged from repeated-filling studies (levelled spoon 6 %, unknown spoon 5 %, cup of
    flour 13 % between cooks, jug 5 %); rounded and heaped have no source. Weigh yours: `spoon_from_weighings`.

    >>> mass, sd = weigh(Amount(1.0, None, "tbsp"), g_per_ml=128 / 236.5882365)
    >>> round(mass, 2), round(sd, 2)
    (8.0, 0.8)
    """
    measure, middle = amount.measure, amount.middle
    width = 0.0 if amount.high is None else (amount.high - amount.value) / middle / math.sqrt(12)
    if measure.kind in ("feel", "length"):
        said = f" (by convention {measure.size:.2f} mL, but hands differ by half)" if measure.size else ""
        fault = "is a length" if measure.kind == "length" else f"has no size{said}"
        raise AmountError(f"'{amount.text or amount}' {fault}; weigh it once and write the grams.", amount)
    if measure.kind == "mass":
        mass = middle * (measure.size or 0.0)
        return mass, math.hypot(mass * width, scale_sd_g())
    if measure.kind == "piece":
        if g_each is None:
            raise AmountError(f"One {measure.name or 'piece'} of it has no weight here; weigh it, write grams.", amount)
        count_sd = each_relative_sd / math.sqrt(max(middle, 1.0))
        return middle * g_each, middle * g_each * math.hypot(count_sd, width)
    if g_per_ml is None:
        raise AmountError(f"'{amount.text or amount}' needs a density that is not here; weigh it, write grams.", amount)
    volume_ml = middle * (measure.size or 0.0)
    spoon = measure.name in ("tsp", "dsp", "tbsp")
    filled = _FILLED.get(("liquid" if liquid else "spoon" if spoon else "cup", amount.fill or "level"))
    if filled is None:
        raise AmountError(f"A liquid cannot be {amount.fill}; write level spoons, ml or grams.", amount)
    factor, spread = filled
    if liquid:
        spread = math.hypot(spread, 0.078 if spoon else 0.05)
    mass = volume_ml * factor * g_per_ml
    return mass, mass * math.hypot(spread, width)


class Spoon(NamedTuple):
    """One cook's own spoonful, from weighings [g].

    ``mean_g`` and ``sd_g`` are arithmetic; ``range`` holds the geometric mean and the 90 % range of the next.
    """

    mean_g: float
    sd_g: float
    range: Range
    n: int

    def __str__(self) -> str:
        """Write the spoon as it stands on a card."""
        _, low, high = self.range
        return f"{self.mean_g:.0f} g; this cook's spoons run {low:.0f} to {high:.0f} g (90 %, {self.n} weighed)"


def spoon_from_weighings(grams: Sequence[float]) -> Spoon:
    """Find what one's own spoonful weighs and how far the next may lie.

    Parameters
    ----------
    grams : sequence of float
        Weighings of single spoonfuls [g], at least three, better five; none of 0 or less.

    Returns
    -------
    Spoon
        Mean, geometric mean and 90 % range of the next spoonful [g].

    Notes
    -----
    gm * exp(+- t(0.95, n-1) * s_l * sqrt(1 + 1/n)), s_l the SD of the logs. Source: log-normal prediction interval
    of one further observation, any statistics text. Valid for spoonfuls that one cook fills alike.

    Examples
    --------
    >>> [round(g, 4) for g in spoon_from_weighings([12, 15, 11, 14, 18]).range]
    [13.7916, 8.7913, 21.6358]
    """
    import numpy as np
    from scipy.special import stdtrit

    x = np.asarray(grams, dtype=float)
    refuse(x.ndim != 1 or x.size < 3, "few spoons", came=grams, count=x.size)
    refuse(not np.all((x > 0) & np.isfinite(x)), "empty spoon", came=grams)
    logs, n = np.log(x), x.size
    reach = float(stdtrit(n - 1, 0.95)) * float(np.std(logs, ddof=1)) * math.sqrt(1 + 1 / n)
    gm = float(np.exp(np.mean(logs)))
    around = Range(gm, gm * math.exp(-reach), gm * math.exp(reach))
    return Spoon(float(np.mean(x)), float(np.std(x, ddof=1)), around, n)
