"""What a dish should come to beside its thickness: an outcome, its unit, and the two ends it should lie between."""

import re
from typing import Any, Self

from pydantic import Field, model_validator

from spoonline.measures import AmountError, as_pint, as_said, or_none, told_as
from spoonline.recipes.base import MaybeNumber, Record, fault, said

# Units that only a cook's judgement, or a strip of paper, knows.
JUDGED = ("score", "pH")
# Dimensions of masses, lengths, times, viscosities and grams per litre, whose steps are ratios; all else has plain steps.
RATIOS = ("[mass]", "[length]", "[time]", "[mass] / [length] / [time]", "[mass] / [length] ** 3", "[length] ** 3")


UNIT, POWERS = re.compile(r"[\w%°/*^. -]{1,40}"), re.compile(r"\d{2}|\d\s*(?:\*\*|\^)")


def dimension_of(unit: str) -> str:
    """What a unit measures, in pint's words; blank for a score. An `AmountError` where the kitchen's registry has no such unit.

    >>> dimension_of("cm"), dimension_of("score"), dimension_of("%")
    ('[length]', '', 'dimensionless')
    """
    from spoonline.measures.registry import units

    if unit in JUDGED:
        return ""
    error = AmountError(said("no unit", came=as_said(unit)))
    # pint would work out any sum, however large
    if not UNIT.fullmatch(as_pint(unit)) or POWERS.search(as_pint(unit)):
        raise error
    with told_as(error, Exception):  # pint, and its reader of Python's own words, have many
        return str(units.parse_units(as_pint(unit)).dimensionality)


def in_unit(value: float, unit: str, wanted: str) -> float:
    """A figure in another unit of the same kind; an `AmountError` where that measures something else.

    >>> round(in_unit(356, "F", "C"), 6), in_unit(63, "mm", "cm")
    (180.0, 6.3)
    """
    from spoonline.measures.registry import units

    error = AmountError(f"{value:g} {unit} came; a figure in {wanted} is wanted.")
    with told_as(error, Exception):
        if not dimension_of(unit) or not dimension_of(wanted):
            raise error
        return round(float(units.Quantity(value, as_pint(unit)).m_as(as_pint(wanted))), 9)


def by_ratio(unit: str) -> bool:
    """Whether figures of this unit are compared by their ratio (masses, lengths, times, viscosities) or by their difference."""
    return unit.startswith("g/") or dimension_of(unit) in RATIOS


def column_of(name: str, unit: str) -> str:
    """The column of a table that holds it: lower-case words with the unit at the end.

    >>> column_of("carrot", "g/L"), column_of("Sweetness", "score"), column_of("salt", "%")
    ('carrot_g_per_l', 'sweetness_score', 'salt_percent')
    """
    words = f"{name} {unit.replace('%', 'percent').replace('/', ' per ')}".casefold()
    return re.sub(r"\W+", "_", words).strip("_")


class Aim(Record):
    """What one outcome of a dish should lie between; one end may be missing: at least, or at most.

    Examples
    --------
    >>> aim = Aim(outcome="spread", unit="cm", low=6.5, high=7.5)
    >>> aim.text, aim.against(7.9), aim.column
    ('spread 6.5 to 7.5 cm', 'above', 'spread_cm')
    """

    outcome: str = Field(min_length=1, max_length=60, description="what is measured or scored, such as spread")
    unit: str = Field(description="its unit, or score")
    low: MaybeNumber = Field(None, description="the least it may be, in that unit; none: at most")
    high: MaybeNumber = Field(None, description="the most it may be, in that unit; none: at least")

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, data: Any) -> Any:
        return dict(zip(cls.model_fields, data, strict=False)) if isinstance(data, (tuple, list)) else data

    @classmethod
    def of(cls, given: Any) -> Self:
        """An aim, or its four figures in order: outcome, unit, low, high."""
        return given if isinstance(given, cls) else cls(**dict(zip(cls.model_fields, given, strict=False)))

    def hold(self) -> None:
        """A known unit, an end or two, and the lower first."""
        dimension_of(self.unit)
        none, (low, high) = self.low is None and self.high is None, self.ends
        fault(none, f"{self.outcome} has neither a low nor a high end; give one of them, or both")
        fault(low >= high, f"{self.text} came; the lower end stands first")

    @property
    def column(self) -> str:
        """The column of ``book.batches(title)`` that it is held against."""
        return column_of(self.outcome, self.unit)

    @property
    def ends(self) -> tuple[float, float]:
        """Both ends, infinite where there is none."""
        low, high = self.low, self.high
        return (-float("inf") if low is None else float(low)), (float("inf") if high is None else float(high))

    @property
    def middle(self) -> float:
        """What to cook for: half-way between the ends (by ratio where the unit's steps are ratios), or the only end."""
        low, high = self.ends
        if self.low is None or self.high is None:
            return high if self.low is None else low
        return (low * high) ** 0.5 if by_ratio(self.unit) and low > 0 else (low + high) / 2

    @property
    def text(self) -> str:
        """In words."""
        if self.low is None or self.high is None:
            return f"{self.outcome} at {f'most {self.high}' if self.low is None else f'least {self.low}'} {self.unit}"
        return f"{self.outcome} {self.low} to {self.high} {self.unit}"

    def against(self, value: float) -> str:
        """Whether a figure in the aim's unit lies below, inside or above."""
        low, high = self.ends
        hair = 1e-9 * abs(value)  # a mean of 7.4, 7.5 and 6.4 is 7.1, which floats miss
        return "below" if value < low - hair else "above" if value > high + hair else "inside"

    def in_unit(self, unit: str) -> Self:
        """The same aim in another unit of the same kind; an `AmountError` where that measures something else."""
        if unit == self.unit:
            return self
        wanted = AmountError(f"{self.text} is aimed at, and {self.outcome} is in {unit}; give the aim in {unit}.")
        there = [end if end is None else or_none(in_unit, float(end), self.unit, unit) for end in (self.low, self.high)]
        if there.count(None) > (self.low, self.high).count(None):
            raise wanted
        return self.of((self.outcome, unit, *there))
