"""One quantity against one outcome: points, a line or a bend, with the range of the average and of the next pot.

A straight line, bent where the pots carry it, by least squares; steps are ratios for masses, lengths, times and viscosities, else
differences. Pots of one day have part of their spread in common; what tasters differ by weighs a pot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtr, stdtrit

from spoonline.dose.compare import DAY_SHARE
from spoonline.dose.next_batch import in_ten
from spoonline.effects.plans import FloatArray, said
from spoonline.measures import BatchError, Range, frame_html, frame_of, or_none, plain, takes_quantities, unit_in
from spoonline.recipes import Aim, by_ratio, column_of
from spoonline.regression import Line, difference_shown, fit_line

if TYPE_CHECKING:
    import pandas as pd
    from pint import Quantity

# Two-sided p below which a quantity is said to do something, and below which a line is bent; settings this much apart are two.
TOLD, BENT, APART = 0.08, 0.02, 0.01
LEAST, LEAST_BENT = 3, 6  # pots of a line and of a bend
# Simulated under another law than the line's own (6,000 trials): of three pots that setting's range holds in 69 of 100.
FEW = " (from three pots this range holds in 7 of 10)"
AS_LIKELY = 0.02  # chances this near the best are as good
MOST_MORE = 60  # pots beyond which more of the same is no advice


class NextSetting(NamedTuple):
    """A pot to cook next: its settings, the chance that it meets the aim, what the average pot there comes to, and that in words."""

    settings: tuple[float, ...]
    chance: float
    average: Range
    text: str

    @classmethod
    def told(cls, settings: tuple[float, ...], chance: float, average: Range, words: str, aim: Aim) -> NextSetting:
        """With its sentence, from the settings in ``words`` and the aim in the outcome's unit."""
        text = said("next setting", words=words, pots=in_ten(chance), aim=aim, average=average)
        return cls(settings, chance, average, text)


@dataclass(frozen=True, eq=False)
class EffectReading:
    """What the pots say of one quantity and one outcome.

    Attributes
    ----------
    quantity, outcome : tuple of str
        Name and unit.
    points : DataFrame
        One row a pot: x, y, sd (of its readings, 0 where unknown), day.
    scales : tuple of bool
        Whether steps of the quantity and of the outcome are ratios.
    line : Line or None
        Of the outcome over the coded quantity (-1 to 1 over what was tried), straight or bent; None with too few pots.
    aim : Aim or None
        What the outcome should lie between, in its unit.
    """

    quantity: tuple[str, str]
    outcome: tuple[str, str]
    points: pd.DataFrame
    scales: tuple[bool, bool]
    line: Line | None
    aim: Aim | None = None

    @property
    def tried(self) -> tuple[float, float]:
        """The lowest and the highest setting that was cooked."""
        return float(self.points["x"].min()), float(self.points["x"].max())

    def inside(self, x: ArrayLike) -> NDArray[np.bool_]:
        """Whether settings lie inside what was tried; outside, everything is extrapolated."""
        low, high = self.tried
        hair = 1e-9 * max(abs(low), abs(high))  # an end itself comes back from its logarithm a hair beyond
        return np.asarray((np.asarray(x) >= low - hair) & (np.asarray(x) <= high + hair))

    @property
    def _middle(self) -> tuple[float, float]:
        """The middle of what was tried and half its width, on the scale of the line."""
        low, high = (float(each) for each in scaled(np.array(self.tried), self.scales[0]))
        return (low + high) / 2, (high - low) / 2

    def _settings(self, coded: ArrayLike) -> FloatArray:
        middle, half = self._middle
        at = middle + half * np.asarray(coded)
        return np.exp(at) if self.scales[0] else at

    def _rows(self, x: ArrayLike) -> FloatArray:
        middle, half = self._middle
        return _powers((scaled(np.asarray(x, dtype=float), self.scales[0]) - middle) / half, self._line.mean.size)

    @property
    def _line(self) -> Line:
        if self.line is None:
            raise BatchError(self.text)
        return self.line

    def predict(self, x: ArrayLike) -> tuple[Range, Range]:
        """The average pot and the next single pot (on a day of its own) at settings, both with 90 % ranges; arrays for arrays."""
        line, rows = self._line, self._rows(x)
        average, single = (as_range(self.scales[1], *line.average(rows, more)) for more in (0.0, 1.0))
        return average, single

    @property
    def cannot_tell(self) -> bool:
        """Whether these pots leave open that the quantity does nothing."""
        line = self.line
        if line is None:
            return True
        errors = np.sqrt(line.noise_variance * np.diag(line.shape)[1:])
        p = 2 * stdtr(line.noise_df, -np.abs(line.mean[1:]) / np.maximum(errors, 1e-300))
        return not (p[0] <= TOLD or (p.size > 1 and p[1] <= BENT))

    @property
    def pots_more(self) -> int | None:
        """How many pots more, spread like these, would in 8 of 10 cases show a slope like the one found; None if told, or too many."""
        line, count = self.line, len(self.points)
        if line is None or not self.cannot_tell:
            return None
        error = (line.noise_variance * line.shape[1, 1] * count) ** 0.5
        for pots in range(count + 1, count + MOST_MORE + 1):
            if abs(line.mean[1]) >= difference_shown(pots - 2) * error / pots**0.5:
                return pots - count
        return None

    @takes_quantities
    def best(self, target: float | Aim | Sequence[Any] | Quantity[float] | None = None) -> Range | None:
        """The setting at which the average pot meets a target, with its 90 % range (Fieller's); None where these pots cannot say.

        A target is a figure in the outcome's unit, a pint quantity, or an :class:`Aim`; the aim of the reading unless given.
        """
        aim, line, (name, unit) = self.aim if target is None else target, self.line, self.outcome
        if aim is None or self.cannot_tell or line is None:
            return None
        an_aim = isinstance(aim, (Aim, tuple, list))
        want = scaled_end(self._aim(aim).middle if an_aim else float(plain(aim, unit, name)), self.scales[1])
        if np.isinf(want):
            return None
        off = Polynomial(line.mean) - want
        sizes = np.arange(line.mean.size)
        spread = Polynomial(np.bincount((sizes[:, None] + sizes).ravel(), line.shape.ravel()))
        band = off**2 - float(stdtrit(line.noise_df, 0.95)) ** 2 * line.noise_variance * spread
        best = min(_real(off), key=abs, default=None)
        ends = _real(band)
        if best is None or not (any(end < best for end in ends) and any(end > best for end in ends)):
            return None
        coded = (best, max(end for end in ends if end < best), min(end for end in ends if end > best))
        return Range(*map(float, self._settings(coded)))

    def _aim(self, aim: Any) -> Aim:
        """An aim, or its four figures, in the unit of the outcome."""
        return Aim.of(aim).in_unit(self.outcome[1])

    def chance(self, x: ArrayLike, aim: Aim | None = None) -> FloatArray:
        """Chance that the next pot at settings meets an aim; the aim of the reading unless given."""
        aim = aim or self.aim
        if aim is None:
            raise said.error("no aim")
        low, high = (scaled_end(each, self.scales[1]) for each in self._aim(aim).ends)
        return self._line.chance_between(low, high, self._rows(x))

    def next_setting(self, aim: Aim | None = None, beyond: float = 0.0) -> NextSetting | None:
        """The setting whose next pot most likely meets the aim, inside what was tried or a share of that ``beyond``; None if unknown."""
        aim = aim or self.aim
        if aim is None or self.cannot_tell:
            return None
        aim = self._aim(aim)
        coded = np.linspace(-1 - 2 * beyond, 1 + 2 * beyond, 401)
        x = self._settings(coded)
        chances = self.chance(x, aim)
        # an aim with one end has no best: the one nearest the middle that is as good
        least = chances.max() - (AS_LIKELY if None in (aim.low, aim.high) else 0.0)
        good = np.flatnonzero(chances >= least)
        best = int(good[np.argmin(np.abs(coded[good]))])
        at = float(x[best])
        name, unit = self.quantity
        words = f"{at:.3g} {unit} of {name}{'' if self.inside(at) else ' (extrapolated beyond what was tried)'}"
        return NextSetting.told((at,), float(chances[best]), self.predict(at)[0], words, aim)

    @cached_property
    def table(self) -> pd.DataFrame:
        """Nine settings over what was tried: the average and the next pot with their 90 % ranges; the points where there is no line."""
        if self.line is None:
            return self.points
        x = self._settings(np.linspace(-1, 1, 9))
        average, single = self.predict(x)
        heads = [column_of(*self.quantity), "average", "average_low", "average_high", "next_low", "next_high"]
        return frame_of(np.column_stack([x, *average, *single[1:]]), *heads)

    @cached_property
    def text(self) -> str:
        """What was found, in sentences; brackets hold 90 % ranges."""
        (what, unit), (name, out), y = self.quantity, self.outcome, self.points["y"]
        count, (low, high) = len(self.points), self.tried if len(self.points) else (0.0, 0.0)
        known = {"what": what, "unit": unit, "name": name, "out": out, "count": count, "low": low, "high": high}
        if not count:
            return said("no pot", **known)
        if count == 1:
            return said("one pot", **known, y=y.iloc[0])
        if _one_value(self.points["x"]):
            return said("one setting", **known)
        if y.nunique() == 1 and count >= LEAST:
            return said("one outcome", **known, y=y.iloc[0])
        if self.line is None:
            ends = self.points.sort_values("x")["y"]
            return said("two pots", **known, called=name.capitalize(), first=ends.iloc[0], last=ends.iloc[-1])
        one, other = (self.predict(end)[0] for end in (low, high))
        days = self.points["day"].nunique()
        parts = [said("goes", **known, one=one, other=other, days=f"{days} day{'' if days == 1 else 's'}")]
        if self.cannot_tell:
            like = f"{self.pots_more} more pot{'' if self.pots_more == 1 else 's'} like these"
            more = like if self.pots_more else "more pots of a wider range"
            return f"{parts[0]} {said('cannot tell', **known, more=more)}"
        parts += ["The line bends."] if self._line.mean.size > 2 else []
        if self.aim is not None and (best := self.best()) is not None:
            outside = "" if self.inside(best.best) else ", outside what was tried (extrapolated)"
            aim, few = self.aim.text[0].upper() + self.aim.text[1:], FEW if count == LEAST else ""
            parts.append(said("aim wants", **known, aim=aim, best=best, outside=outside + few))
        return " ".join(parts)

    def _repr_html_(self) -> str:
        return frame_html(self.table, self.text)


def read_effect(
    frame: pd.DataFrame, quantity: str, outcome: str, *, aim: Aim | Sequence[Any] | None = None, scale: str | None = None
) -> EffectReading:  # fmt: skip
    """Read what one quantity does to one outcome; what is given is that of :func:`spoonline.effect`, which draws it too.

    Returns
    -------
    EffectReading

    Raises
    ------
    BatchError
        If there is no such column, if a name stands for several, or if words stand where figures are wanted.

    Examples
    --------
    >>> import pandas as pd
    >>> pots = pd.DataFrame({"butter_g_per_100g_flour": [40, 45, 50, 55], "spread_cm": [6.0, 6.3, 6.9, 7.1]})
    >>> found = read_effect(pots, "butter", "spread", aim=("spread", "cm", 6.4, 6.8))
    >>> found.cannot_tell, f"{found.best():.2g}"
    (False, '48 (46-50)')
    """
    import pandas as pd

    said.refuse(scale not in (None, "ratio", "plain"), "scale", came=scale)
    (x_name, x_unit, x), (y_name, y_unit, y) = (_column(frame, each) for each in (quantity, outcome))
    row = pd.Series(range(1, len(frame) + 1), frame.index)
    own = numbers(frame, f"{y.name}_sd").fillna(0.0) if f"{y.name}_sd" in frame else 0.0 * row
    counts = frame.get("left_out", row.map(lambda _: "")).fillna("").eq("")
    told = {"batch": frame.get("batch", row), "day": frame.get("cooked_on", row).astype(str), "x": x, "y": y, "sd": own}
    points = pd.DataFrame(told)[x.notna() & y.notna() & counts].reset_index(drop=True)
    ratio_y = scale == "ratio" if scale else bool(or_none(by_ratio, y_unit))
    above = bool((points["y"] > 0).all())
    said.refuse(scale == "ratio" and not above, "no ratio", name=y_name, came=points["y"].min(), unit=y_unit)
    ratio_y = ratio_y and above
    ratio_x = ratio_y and bool(or_none(by_ratio, x_unit)) and bool((points["x"] > 0).all())
    read = EffectReading((x_name, x_unit), (y_name, y_unit), points, (ratio_x, ratio_y), None)
    read = replace(read, aim=None if aim is None else read._aim(aim))
    if len(points) < LEAST or _one_value(points["x"]) or points["y"].nunique() == 1:
        return read
    return replace(read, line=_fitted(points, ratio_x, ratio_y))


def _fitted(points: pd.DataFrame, ratio_x: bool, ratio_y: bool) -> Line:
    """The line through the pots, bent where six or more of three settings carry a bend."""
    x, y = (scaled(points[name].to_numpy(float), ratio) for name, ratio in (("x", ratio_x), ("y", ratio_y)))
    own = points["sd"].to_numpy(float) / (points["y"].to_numpy(float) if ratio_y else 1.0)
    own = np.sqrt((own**2 + np.mean(own**2)) / 2)  # a few values tell their own scatter badly: half is that of all pots
    coded, day = (2 * x - x.min() - x.max()) / (x.max() - x.min()), points["day"].to_numpy()
    rounded = rounding(points["y"]) / (points["y"].mean() if ratio_y else 1.0)
    line = _line_of(_powers(coded, 2), y, day, own, rounded)
    if y.size < LEAST_BENT or np.unique(coded.round(1)).size < 3:
        return line
    bent = _line_of(_powers(coded, 3), y, day, own, rounded)
    t = abs(bent.mean[2]) / (bent.noise_variance * bent.shape[2, 2]) ** 0.5
    return bent if 2 * stdtr(bent.noise_df, -t) <= BENT else line


def _line_of(design: FloatArray, y: FloatArray, day: NDArray[Any], own: FloatArray, rounded: float) -> Line:
    """Least squares where pots of one day are alike and each has its own reading error: both go into the weights, twice round."""
    alike = np.where(day[:, None] == day, DAY_SHARE, 0.0) + (1 - DAY_SHARE) * np.eye(y.size)
    # one value tells no error of its own: it was read as well as the others
    own = np.where(own > 0, own, float(np.sqrt(np.mean(own[own > 0] ** 2))) if own.any() else 0.0)
    read, shape = float(np.mean(own**2)), alike
    for _ in range(3 if read else 1):
        half = np.linalg.inv(np.linalg.cholesky(shape))
        line = fit_line(half @ design, half @ y)
        # pots cannot differ less than what they were read to, nor than the last figure that was written down
        total = max(line.noise_variance, read / 2 + rounded**2 / 12)
        shape = (max(total - read, 0.0) * alike + np.diag(own**2)) / total if read else alike
    return replace(line, noise_variance=total)


def _powers(coded: FloatArray, count: int) -> FloatArray:
    return np.asarray(coded)[..., None] ** np.arange(count)


def scaled(values: FloatArray, ratio: bool) -> FloatArray:
    """Figures on the scale that a line is straight on: their ln where steps are ratios."""
    return np.log(values) if ratio else values


def as_range(ratio: bool, *ends: FloatArray) -> Range:
    """A range on the scale of the line as figures of the outcome; arrays for arrays."""
    shown = (np.exp(each) if ratio else each for each in ends)
    return Range(*(float(each) if np.ndim(each) == 0 else each for each in shown))  # type: ignore[arg-type]  # arrays for arrays


def scaled_end(value: float, ratio: bool) -> float:
    """An end of an aim on the scale of the line; what is below none has no ratio."""
    return value if not ratio else float(np.log(value)) if value > 0 else -np.inf


def _real(polynomial: Polynomial) -> list[float]:
    return [float(each.real) for each in polynomial.trim().roots() if abs(each.imag) < 1e-9]


def _one_value(x: pd.Series[Any]) -> bool:
    return bool(x.max() - x.min() <= APART * x.abs().max())


def rounding(y: pd.Series[Any]) -> float:
    """The step of the last place that any of the figures is written to."""
    return float(10.0 ** -max(len(f"{value:.6g}".partition(".")[2]) for value in y))


def name_of(column: str, unit: str) -> str:
    """What a column holds, in words, without its unit.

    >>> name_of("butter_g_per_100g_flour", "g/100g flour"), name_of("sweetness_score", "score")
    ('butter', 'sweetness')
    """
    return column.removesuffix(f"_{column_of('', unit)}").replace("_", " ") if unit else column


def _column(frame: pd.DataFrame, asked: str) -> tuple[str, str, pd.Series[Any]]:
    """Name, unit and figures of a column, asked for by itself or without its unit."""
    told = frame.attrs.get("quantities", {}) | frame.attrs.get("outcomes", {})
    columns = [str(each) for each in frame.columns if not str(each).endswith("_sd")]
    units = {each: told.get(each) or _unit_at_end(each) for each in columns}
    names = {each: name_of(each, unit) for each, unit in units.items()}
    found = [asked] if asked in names else [each for each in columns if names[each] == asked.casefold()]
    known = ", ".join(each for each in columns if units[each]) or "none yet"
    said.refuse(not found, "no column", came=asked, known=known)
    there = " and in ".join(units[each] for each in found)
    said.refuse(len(found) > 1, "several columns", came=asked, there=there, found=" or ".join(found))
    return names[found[0]], units[found[0]], numbers(frame, found[0])


def numbers(frame: pd.DataFrame, column: str) -> pd.Series[Any]:
    """The figures of a column; a `BatchError` where words, or what is no finite figure, stand among them."""
    import pandas as pd

    values = pd.to_numeric(frame[column], errors="coerce").astype(float)
    blank = frame[column].isna() | frame[column].astype(str).str.strip().eq("")
    words = frame[column][~blank & ~np.isfinite(values)]
    if len(words):
        raise said.error("words", column=column, came=words.iloc[0], row=words.index[0])
    return values


def _unit_at_end(column: str) -> str:
    for end, unit in (("score", "score"), ("percent", "%"), ("g_per_100g_flour", "g/100g flour"), ("g_per_kg", "g/kg")):
        if column.endswith(f"_{end}"):
            return unit
    return unit_in(column)
