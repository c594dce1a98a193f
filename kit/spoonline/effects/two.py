"""Reading the pots of a plan: of one quantity as an effect, of two as what each did, both together, and a surface.

Least squares with cooking days as blocks, as in Myers, Montgomery and Anderson-Cook, Response Surface Methodology, 2009.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import Delaunay
from scipy.special import fdtrc

from spoonline.dose.priors import Prior
from spoonline.effects import one
from spoonline.effects.one import EffectReading, NextSetting, as_range, numbers, read_effect, scaled, scaled_end
from spoonline.effects.plans import FloatArray, PotPlan, said
from spoonline.measures import DataFrame, Range, frame_of
from spoonline.recipes import Aim, by_ratio
from spoonline.regression import Line, fit_line

# Terms beyond level, days and both slopes, the most that pots may show first; a bend is that of both together (corners less centre).
TERMS = (("uv", "u^2", "v^2"), ("uv", "bend"), ("uv",), ())
MISFIT = 0.05  # p below which a surface is said to fit badly


@dataclass(frozen=True, eq=False)
class PlanReading:
    """What the pots of a plan of two quantities say.

    Attributes
    ----------
    plan : PotPlan
    coded : ndarray
        One row a pot that was cooked and read: both settings as really cooked, -1 (low) to 1 (high).
    numbers : tuple of int
        Which pots of the plan these are.
    ratio : bool
        Whether the outcome's steps are ratios.
    terms : tuple of str
        Of the coefficients of ``line``: level of the first day, other days less the first, u, v, and any of uv, u^2, v^2, bend.
    line : Line
    lack_of_fit : tuple of float, or None
        F ratio and p of what the surface leaves over what repeated pots differ by; None without repeated pots.
    """

    plan: PotPlan
    coded: FloatArray
    numbers: tuple[int, ...]
    ratio: bool
    terms: tuple[str, ...]
    line: Line
    lack_of_fit: tuple[float, float] | None

    def _rows(self, u: ArrayLike, v: ArrayLike) -> FloatArray:
        """Rows of the design at coded settings, at the mean of the days."""
        columns = _columns(np.asarray(u, dtype=float), np.asarray(v, dtype=float))
        days = sum(term.startswith("day") for term in self.terms) + 1
        level = np.ones_like(columns["u"])
        return np.stack([columns.get(term, level if term == "level" else level / days) for term in self.terms], axis=-1)

    def average(self, u: ArrayLike, v: ArrayLike) -> Range:
        """The average pot at coded settings with its 90 % range, at the mean of the days; arrays for arrays."""
        return as_range(self.ratio, *self.line.average(self._rows(u, v)))

    def inside(self, u: ArrayLike, v: ArrayLike) -> NDArray[np.bool_]:
        """Whether coded settings lie inside the outline of the pots; outside, the surface is extrapolated."""
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        # a hair wider, so that the pots of the outline themselves lie inside
        found = Delaunay(self.coded * (1 + 1e-9)).find_simplex(np.column_stack([u.ravel(), v.ravel()]))
        return np.asarray(found >= 0).reshape(u.shape)

    @cached_property
    def table(self) -> DataFrame:
        """What each change did from low to high, with its 90 % range, F ratio and p: as times (ratios) or in the outcome's unit."""
        first, second = (each.name for each in self.plan.factors)
        names = {"u": first, "v": second, "uv": f"{first} with {second}", "bend": "bend"}
        names |= {"u^2": f"bend of {first}", "v^2": f"bend of {second}"}
        steps, rows = {"u": 2.0, "v": 2.0, "uv": 4.0 if self.ratio else 2.0}, []
        for at, term in enumerate(self.terms):
            if term in names:
                row = steps.get(term, 1.0) * np.eye(len(self.terms))[at]
                f_ratio = float(self.line.mean[at] ** 2 / self.line.noise_variance / self.line.shape[at, at])
                effect = as_range(self.ratio, *self.line.average(row))
                rows.append((names[term], *effect, f_ratio, float(fdtrc(1, self.line.noise_df, f_ratio))))
        return frame_of(rows, "change", "effect", "low", "high", "f_ratio", "p")

    @property
    def sentences(self) -> list[str]:
        """What was found, a sentence each; brackets hold 90 % ranges."""
        nothing, unit = (1.0, "times") if self.ratio else (0.0, f"{self.plan.unit} more")
        comes = f"{self.plan.outcome} comes to"
        spans = {each.name: f" from {each.low} to {each.high} {each.unit}: {comes}" for each in self.plan.factors}
        found = []
        for name, best, low, high, *_ in self.table.itertuples(index=False):
            start = f"{name.capitalize()}{spans.get(name, ':')}"
            doubt = "; it may do nothing" if low <= nothing <= high else ""
            found.append(f"{start} {Range(best, low, high)} {unit}{doubt}.")
        if self.lack_of_fit is not None and self.lack_of_fit[1] < MISFIT:
            found.append(said("misfit"))
        return [*found, said("rests on", read=len(self.numbers), planned=len(self.plan.pots))]

    @property
    def text(self) -> str:
        """The sentences in one."""
        return " ".join(self.sentences)

    def next_setting(self, aim: Aim) -> NextSetting:
        """Find the settings inside what was tried whose next pot most likely meets an aim, on a day like these."""
        aim = aim.in_unit(self.plan.unit)
        reach = np.abs(self.coded).max()
        u, v = (each.ravel() for each in np.meshgrid(*[np.linspace(-reach, reach, 113)] * 2))
        u, v = np.array([u, v])[:, self.inside(u, v)]
        low, high = (scaled_end(each, self.ratio) for each in aim.ends)
        chances = self.line.chance_between(low, high, self._rows(u, v))
        at = int(np.argmax(chances))
        first, second = self.plan.factors
        settings = float(first.setting(u[at])), float(second.setting(v[at]))
        words, average = self.plan.words(settings), self.average(u[at], v[at])
        return NextSetting.told(settings, float(chances[at]), average, words, aim)


def read_plan(plan: PotPlan, frame: DataFrame) -> EffectReading | PlanReading:
    """Read what the pots of a plan show, at the settings that were really cooked.

    Parameters
    ----------
    plan : PotPlan
    frame : DataFrame
        ``book.batches(title)``: its pots that were cooked from this plan are taken.

    Returns
    -------
    EffectReading or PlanReading
        Of one quantity, or of two.

    Raises
    ------
    BatchError
        If too few pots were cooked and read.
    """
    said.refuse("plan" not in frame, "no plans")
    rows = frame[(frame["plan"] == plan.name) & (frame["plan_pot"] > 0) & frame["left_out"].fillna("").eq("")].copy()
    if plan.column not in rows or not rows[plan.column].notna().any():
        raise said.error("no pot of the plan", of=plan, first=plan.words(plan.pots[0].settings))
    told = {pot.number: pot.settings for pot in plan.pots}
    for place, each in enumerate(plan.factors):
        planned = rows["plan_pot"].map({number: float(settings[place]) for number, settings in told.items()})
        rows[each.column] = rows[each.column].fillna(planned) if each.column in rows else planned
    if len(plan.factors) == 1:
        return read_effect(rows, plan.factors[0].column, plan.column)
    y = numbers(rows, plan.column)
    rows = rows[y.notna()]
    coded = np.column_stack([each.coded(numbers(rows, each.column)) for each in plan.factors])
    values = y.dropna().to_numpy()
    ratio = by_ratio(plan.unit) and bool((values > 0).all())
    # pots cannot differ less than what they were read to, nor than the last figure that was written down
    own = rows.get(f"{plan.column}_sd", 0.0 * y).reindex(rows.index).fillna(0.0).to_numpy(float)
    size = values if ratio else np.ones(1)
    least = float(np.mean((own / size) ** 2)) / 2 + (one.rounding(y.dropna()) / size.mean()) ** 2 / 12
    days = rows["cooked_on"].astype(str).tolist()
    terms, line, misfit = fit_surface(coded, scaled(values, ratio), days, known=plan.unit == "Pa s", least=least)
    return PlanReading(plan, coded, tuple(rows["plan_pot"]), ratio, terms, line, misfit)


def fit_surface(
    coded: FloatArray, y: FloatArray, days: Sequence[Any], *, known: bool = False, least: float = 0.0, most: Sequence[Sequence[str]] = TERMS
) -> tuple[tuple[str, ...], Line, tuple[float, float] | None]:  # fmt: skip
    """Fit the surface with the most terms that the pots can show, days as blocks; its terms, its line and its lack of fit.

    ``known``: the spread of pots is pooled with what is usual in kitchens (``Prior.batch_sd``), as is known of viscosities. ``least``: their
    variance is this at least.
    """
    later = list(enumerate(dict.fromkeys(days), start=1))[1:]
    blocks = {f"day {place}": np.array([float(each == day) for each in days]) for place, day in later}

    def design(at: FloatArray, extra: Sequence[str]) -> FloatArray:
        columns = _columns(*at.T)
        return np.column_stack([np.ones(y.size), *blocks.values(), *(columns[each] for each in ("u", "v", *extra))])

    for extra in most:  # as planned: what a scale shows apart by chance shows no bend
        rows = design(coded.round(1), extra)
        ranks = [np.linalg.matrix_rank(each) for each in (rows, design(coded, extra))]
        if min(ranks) == rows.shape[1] and y.size - rows.shape[1] + known > 0:
            line = fit_line(design(coded, extra), y, *((Prior.batch_sd, Prior.batch_df) if known else ()))
            line = replace(line, noise_variance=max(line.noise_variance, least))
            residuals = float(np.sum((y - design(coded, extra) @ line.mean) ** 2))
            return ("level", *blocks, "u", "v", *extra), line, _lack_of_fit(rows, y, residuals)
    raise said.error("too few to tell", came=y.size)


def _columns(u: FloatArray, v: FloatArray) -> dict[str, FloatArray]:
    return {"u": u, "v": v, "uv": u * v, "u^2": u * u, "v^2": v * v, "bend": (u * u + v * v) / 2}


def _lack_of_fit(design: FloatArray, y: FloatArray, residual_ss: float) -> tuple[float, float] | None:
    """Compare what the surface leaves with what repeated pots of one day differ by."""
    _, group, counts = np.unique(design.round(9), axis=0, return_inverse=True, return_counts=True)
    group = group.ravel()
    pure = float(np.sum((y - (np.bincount(group, y) / counts)[group]) ** 2))
    df_pure, df_lack = y.size - counts.size, counts.size - design.shape[1]
    if df_pure < 1 or df_lack < 1 or pure <= 0:
        return None
    ratio = (residual_ss - pure) / df_lack / (pure / df_pure)
    return ratio, float(fdtrc(df_lack, df_pure, max(ratio, 0.0)))
