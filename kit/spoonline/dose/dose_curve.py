"""How thick a dish becomes for a dose of thickener, from no batch at all to many."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from spoonline.dose.checked import base_of, check_aim, listed, positive, readings_of, relative_errors
from spoonline.dose.fit import fit_lines
from spoonline.dose.mixture import Mixture, interpolated
from spoonline.dose.next_batch import NextBatch, suggest, who_says
from spoonline.dose.priors import FloatArray, Prior, ln_concentration, prior_for, said
from spoonline.flow.fluid import plain as one_or_many
from spoonline.measures import DataFrame, Range, frame_html, frame_of, takes_quantities
from spoonline.pots import Pot, tool_ln_sd

RANGE = (0.5, 0.05, 0.95)  # best, low, high: a 90 % range
NEAR = (0.6, 1.6)  # times the least and the most dose tried: outside it the line is extrapolated
ODD_SD = 2.5
# More readings than this tell hardly more of a dish, and take long: of a long history the last pots count.
MOST_READINGS = 60
LOW_SIDE = 0.25
NO_DOSE = 1e-6  # [g/L], in whose stead none at all may be asked for
SCAN_DOSES = np.geomspace(0.05, 2000.0, 48)


@dataclass(frozen=True, eq=False, repr=False)
class DoseCurve:
    """Thickness against dose for one dish, with all that is uncertain about it; made by :meth:`fit` or :meth:`fit_pots`.

    The model is viscosity = (B^p + S^p)^(1/p), with B the base, S = E (c/c_ref)^b the starch part and c the dry starch (as maize
    starch) in per cent of starch and water; base, join p and pot-to-pot spread are averaged over.

    Attributes
    ----------
    doses, viscosities, dose_rel_sd : ndarray, shape (n,)
        Each pot with thickener as it was read last [g/L], [Pa s], and the relative standard error of its dose.
    prior : Prior
        Beliefs before the first batch.
    pot : Pot
        The pot that doses are counted for.
    bases_read : int
        How often the liquid without thickener was read, in a pot or beside it.
    temperature_c, shear_rate_per_s : float
        Conditions of the viscosities [C], [1/s].
    mixture : Mixture
        The fit.
    batch_numbers : tuple of int
        What each pot is called.
    days : tuple
        The day of each pot.
    surprises : tuple of (float, float)
        How far each pot lies from what the others say: in standard deviations, and a ratio.
    """

    doses: FloatArray
    viscosities: FloatArray
    dose_rel_sd: FloatArray
    prior: Prior
    pot: Pot
    bases_read: int
    temperature_c: float
    shear_rate_per_s: float
    mixture: Mixture
    batch_numbers: tuple[int, ...]
    days: tuple[Hashable, ...] = ()
    surprises: tuple[tuple[float, float], ...] = ()

    @classmethod
    @takes_quantities
    def fit(
        cls, dose_g_per_l: ArrayLike, viscosity_pa_s: ArrayLike, thickener: str | Prior | Mapping[str, float] = "corn starch",
        base_pa_s: float | Range | None = None, relative_error: ArrayLike | None = None, *, dose_rel_sd: ArrayLike | None = None,
        tool: str | Sequence[str] | None = None, days: Sequence[Hashable] | None = None,
        pot: Pot | None = None, temperature_c: float = 60.0, shear_rate_per_s: float = 50.0,
        batch_numbers: Sequence[int] | None = None,
    ) -> DoseCurve:  # fmt: skip
        """Fit the curve to 0, 1, 2 or more test batches, each read once.

        Parameters
        ----------
        dose_g_per_l, viscosity_pa_s : array_like, shape (n,)
            Thickener of each batch per litre of liquid [g/L], 0 to 500, and its thickness [Pa s]; 0 g/L is the base of that pot. Several
            readings of one pot go into :meth:`fit_pots`.
        thickener : str, Prior or dict of str to float, optional
            A thickener that the facts know, beliefs of one's own, or several starches dosed as one with their shares by mass.
        base_pa_s : float or Range, optional
            Viscosity of the liquid without thickener [Pa s]: a reading, taken as right to 15 % with its pot, or a 90 % range.
            Missing: a thin liquid, from clear stock to cream.
        relative_error, dose_rel_sd : float or array_like, optional
            Relative standard error of each reading's own, and of each dose (a spoon; a scale's is small).
        tool : str or sequence of str, optional
            What each pot was read with, where tools differ or the aim came from elsewhere: what all readings of one tool have in
            common is then unsure too. Missing: aim and readings are on one tool's scale.
        days : sequence, optional
            The day each pot was cooked; pots of one day have part of their spread in common. Missing: each on its own.
        pot : Pot, optional
            Water and other starch per litre of liquid; plain water if missing.
        temperature_c, shear_rate_per_s : float, optional
            Conditions that the viscosities hold at [C], [1/s].
        batch_numbers : sequence of int, optional
            What the batches are called where one is named; 1, 2, 3 unless given.

        Returns
        -------
        DoseCurve

        Raises
        ------
        BatchError
            If the lists differ in length, a figure cannot be, or the base is far thicker than a pot with thickener.
        ItemError
            If the thickener is unknown.

        Notes
        -----
        Valid near the doses tried: a straight line in logs between closely packed granules and thin liquid. Independent normal
        priors on level and slope, scaled-inverse-chi2 on the pot-to-pot spread, a power sum for a thick base (p 0.65, sd 0.20,
        judged). One pot in 25 may have slipped (judged), so that an odd one counts for less. Of more than 60 readings the last count.

        Examples
        --------
        >>> curve = DoseCurve.fit([20, 30, 40], [0.12, 0.40, 0.90])
        >>> print(f"{curve.dose_for(0.5):.0f} g/L")
        33 (31-35) g/L
        """
        dose = positive(dose_g_per_l, "dose", "g/L", or_none=True)
        viscosity = positive(viscosity_pa_s, "viscosity", "Pa s")
        said.refuse(dose.shape != viscosity.shape, "unlike lists", doses=dose.size, viscosities=viscosity.size)
        error = relative_errors(relative_error, dose.size, "reading")
        return cls.fit_pots(
            [[each] for each in zip(dose, viscosity, strict=True)], thickener, [[each] for each in error], base_pa_s=base_pa_s,
            tool=tool if tool is None or isinstance(tool, str) else [[each] for each in listed(tool, "tools")], days=days,
            dose_rel_sd=dose_rel_sd, pot=pot, temperature_c=temperature_c, shear_rate_per_s=shear_rate_per_s,
            batch_numbers=batch_numbers,
        )  # fmt: skip

    @classmethod
    @takes_quantities
    def fit_pots(
        cls, pots: Sequence[Sequence[tuple[float, float]]], thickener: str | Prior | Mapping[str, float] = "corn starch",
        relative_error: Any = None, *, base_pa_s: float | Range | None = None, tool: Any = None,
        days: Sequence[Hashable] | None = None, dose_rel_sd: ArrayLike | None = None, shared_ln_sd: float = 0.0,
        pot: Pot | None = None, temperature_c: float = 60.0, shear_rate_per_s: float = 50.0,
        batch_numbers: Sequence[int] | None = None,
    ) -> DoseCurve:  # fmt: skip
        """Fit the curve to pots that were read once or several times on their way: without thickener, and as it was added.

        Parameters
        ----------
        pots : list of list of (float, float)
            One list a pot of (thickener put in so far per litre of liquid [g/L], viscosity [Pa s]) in the order read; 0 g/L is the
            base of that pot.
        relative_error : float or list of list of float, optional
            Relative standard error of a reading's own: one, or a list like ``pots``.
        tool : str or list of list of str, optional
            The tool of all readings, or a list like ``pots``; see :meth:`fit`, as for the other parameters.
        shared_ln_sd : float, optional
            What else all readings have in common against the aim, ln: a temperature that the aim is not at.
        base_pa_s, temperature_c, shear_rate_per_s, thickener, days, dose_rel_sd, pot, batch_numbers
            As for :meth:`fit`, in [Pa s], [C] and [1/s]; ``dose_rel_sd`` and ``days`` one a pot.

        Returns
        -------
        DoseCurve

        Raises
        ------
        BatchError
            As :meth:`fit`; if doses of a pot fall, or its readings do by more than three standard deviations.

        Notes
        -----
        Readings of one pot share that pot's part of the spread: they teach slope and base, not the kitchen's level.

        Examples
        --------
        A blended soup, read before and after 4 and 8 g of corn starch a litre:

        >>> curve = DoseCurve.fit_pots([[(0, 0.15), (4, 0.19), (8, 0.25)]], relative_error=0.1)
        >>> print(f"{curve.dose_for(0.4):.0f} g/L")
        20 (14-35) g/L
        """
        prior, pot = prior_for(thickener), Pot() if pot is None else pot
        said.refuse(not isinstance(pot, Pot), "no pot", came=pot)
        pots = pots if isinstance(pots, Sequence) else [()]  # refused below, in a sentence
        called = tuple(range(1, len(pots) + 1) if batch_numbers is None else listed(batch_numbers, "batch numbers"))
        read = readings_of(pots, relative_error, tool, days, dose_rel_sd, called).last(MOST_READINGS)
        positive([temperature_c], "temperature", "C", or_none=True), positive([shear_rate_per_s], "shear rate", "1/s")
        there = temperature_c <= 100 and shear_rate_per_s < 1e6
        said.refuse(not there, "conditions", celsius=temperature_c, rate=shear_rate_per_s)
        base = base_of(base_pa_s, prior, read, called)
        x = ln_concentration(read.dose, prior, pot)
        x_sd = read.dose_rel_sd * pot.leverage(np.maximum(read.dose, 1e-9), prior.strength)
        shared = [tool_ln_sd(name, shear_rate_per_s) for name in read.tools]
        alone = len(shared) == 1
        mixture, strays, ratios = fit_lines(
            read, x, x_sd, prior, prior.level(temperature_c, shear_rate_per_s), base, np.zeros(1) if alone else np.array([*shared, 0.0]),
            math.hypot(float(relative_errors(shared_ln_sd, 1, "readings together")[0]), *shared[: int(alone)]),
        )  # fmt: skip
        called = called[len(called) - read.pots :]
        last = np.flatnonzero(np.diff(read.pot, append=-1))
        dosed = last[read.dose[last] > 0]
        which = read.pot[dosed]
        return cls(
            read.dose[dosed], read.viscosity[dosed], read.dose_rel_sd[dosed], prior, pot,
            int((read.dose == 0).sum()) + isinstance(base_pa_s, (int, float)), temperature_c, shear_rate_per_s, mixture,
            tuple(called[number] for number in which), tuple(read.day[dosed].tolist()),
            tuple(zip(strays[which].tolist(), ratios[which].tolist(), strict=True)),
        )  # fmt: skip

    @takes_quantities
    def viscosity(self, dose_g_per_l: ArrayLike) -> Range:
        """Viscosity of the average batch [Pa s] at a dose [g/L], 90 % range; arrays give a Range of arrays."""
        return self._band(dose_g_per_l, False)

    @takes_quantities
    def batch(self, dose_g_per_l: ArrayLike) -> Range:
        """Viscosity of the next single batch [Pa s] at a dose [g/L], 90 % range; arrays give a Range of arrays."""
        return self._band(dose_g_per_l, True)

    def _band(self, dose_g_per_l: ArrayLike, single: bool) -> Range:
        dose = np.maximum(positive(dose_g_per_l, "dose", "g/L", flat=False, or_none=True), NO_DOSE)
        x = ln_concentration(dose, self.prior, self.pot).ravel()
        # quantiles are smooth in x: a drawn curve is computed at 17 points and interpolated
        through = interpolated if x.size > 64 and np.ptp(x) > 0 else lambda f, x: f(x)
        found, order = through(lambda at: self.mixture.quantiles(at, RANGE, single), x), np.argsort(x)
        found[:, order] = np.maximum.accumulate(found[:, order], axis=1)  # more never makes thinner
        return Range(*map(one_or_many, np.exp(found).reshape(3, *dose.shape)))

    @takes_quantities
    def dose_for(self, target_pa_s: ArrayLike) -> Range:
        """Dose [g/L] at which the average batch has the target viscosity [Pa s], 90 % range; arrays as above.

        An end is 0 where no thickener may be needed at all, infinite where the slope is not established.
        """
        target = positive(target_pa_s, "target", "Pa s", flat=False)
        return Range(*map(one_or_many, self._reaching(target.ravel(), RANGE).T.reshape(3, *target.shape)))

    def _reaching(self, targets_pa_s: FloatArray, chances: Sequence[float]) -> FloatArray:
        """Doses [g/L] (targets, chances) at which the average batch is as thick as each target by each chance; 0 or infinite off the scan."""
        scan = ln_concentration(SCAN_DOSES, self.prior, self.pot)
        found = [self.mixture.reaching(math.log(each), chances, scan) for each in targets_pa_s]
        x = np.array(found).reshape(-1, len(chances))
        with np.errstate(over="ignore"):
            percent = self.prior.reference_percent * np.exp(x)
        dose = self.pot.dose(np.minimum(percent, 99.0), self.prior.strength)
        return np.asarray(np.where(np.isfinite(x), dose, np.exp(x)))

    @takes_quantities
    def chance(
        self, dose_g_per_l: ArrayLike, target_pa_s: float, band: float = 1.2, dose_rel_sd: ArrayLike = 0.0
    ) -> Any:
        """Chance (0 to 1) that the next pot itself, apart from its reading, lies inside the band.

        Parameters
        ----------
        dose_g_per_l : array_like
            Dose aimed at [g/L].
        target_pa_s, band : float
            Viscosity wanted [Pa s], and the factor above 1 of the band: from target / band to target * band.
        dose_rel_sd : array_like, optional
            Relative scatter of the dose when it is spooned; 0 when it is weighed.
        """
        check_aim(target_pa_s, band)
        dose = np.maximum(positive(dose_g_per_l, "dose", "g/L", flat=False, or_none=True), NO_DOSE)
        errors = dose_rel_sd if np.ndim(dose_rel_sd) < 2 else np.ravel(dose_rel_sd)
        scatter = relative_errors(errors, dose.size, "dose") * self.pot.leverage(dose.ravel(), self.prior.strength)
        lines = self.mixture.lines(ln_concentration(dose, self.prior, self.pot).ravel(), scatter)
        centre, width = np.full(dose.size, math.log(target_pa_s)), math.log(band)
        below_high, below_low = (self.mixture.below(centre + side * width, lines, True) for side in (1, -1))
        inside = below_high - below_low
        return inside.reshape(dose.shape) if dose.ndim else float(inside[0])

    def low_dose(self, target_pa_s: float) -> float:
        """The dose [g/L] for a target [Pa s] that is too little in three cases of four: to begin with what cannot be taken out again."""
        return float(self._reaching(np.array([target_pa_s]), (LOW_SIDE,))[0, 0])

    def base_chance(self, target_pa_s: float, band: float) -> float:
        """Chance that a pot without thickener lies inside the band (a factor) about a target [Pa s]."""
        mixture, width = self.mixture, math.log(band)
        sd = np.sqrt(mixture.noise + mixture.shared)
        away = math.log(target_pa_s) - mixture.ln_base
        return float((ndtr((away + width) / sd) - ndtr((away - width) / sd)) @ mixture.weight)

    @takes_quantities
    def next_batch(self, target_pa_s: float, band: float = 1.2) -> NextBatch:
        """Say what to cook next so that a pot lands between target / band and target * band [Pa s]."""
        check_aim(target_pa_s, band)
        return suggest(self, float(target_pa_s), float(band))

    @property
    def exponent(self) -> Range:
        """Slope of ln viscosity (less base) against ln concentration, 90 % range."""
        mean, covariance = self.mixture.summary()
        half = float(ndtri(0.95) * np.sqrt(covariance[1, 1]))
        return Range(*(float(mean[1]) + k * half for k in (0, -1, 1)))

    @property
    def spread(self) -> float:
        """Pot-to-pot spread of ln viscosity, the geometric mean of what is believed now."""
        return float(np.exp(self.mixture.weight @ np.log(self.mixture.noise) / 2))

    @cached_property
    def odd(self) -> dict[int, tuple[float, float]]:
        """Batches (from 0) more than 2.5 sd from what the others say: in standard deviations, and a ratio."""
        found = dict(enumerate(self.surprises)) if self.doses.size > 2 else {}
        return {i: each for i, each in found.items() if abs(each[0]) > ODD_SD}

    @cached_property
    def flags(self) -> tuple[str, ...]:
        """What a reader should know before trusting the curve, one sentence each."""
        prior, mixture, n = self.prior, self.mixture, self.doses.size
        found = []
        if n == 0:
            found.append(said("no batch", who=who_says(prior), thickener=prior.thickener))
        _, covariance = mixture.summary()
        x = float(np.mean(ln_concentration(self.doses, prior, self.pot))) if n else 0.0
        left = np.sqrt(covariance[0, 0] + 2 * x * covariance[0, 1] + x * x * covariance[1, 1])
        first = np.hypot(prior.level(self.temperature_c, self.shear_rate_per_s)[1], x * prior.exponent_sd)
        if left > 0.5 * first:
            found.append(said("strength", thickener=prior.thickener, factor=np.exp(1.645 * left)))
        share = float(mixture.weight @ ndtr((0.2 - mixture.mean[:, 1]) / np.sqrt(mixture.covariance[:, 1, 1])))
        if share > 0.01:
            found.append(said("slope", percent=100 * share, thickener=prior.thickener))
        elif n >= 2 and (ratio := self.doses.max() / self.doses.min()) < 1.5:
            alike = "All pots had about one dose" if ratio < 1.05 else f"The doses lie within a factor {ratio:.2g}"
            found.append(said("steepness", alike=alike, thickener=prior.thickener))
        if n and not self.bases_read:
            most = float(mixture.bases(0.95))
            if most > 0.25 * self.viscosities.min():
                found.append(said("base not read", most=most))
        for i, (z, ratio) in self.odd.items():
            times = f"{ratio:.2g} times thicker" if ratio > 1 else f"{1 / ratio:.2g} times thinner"
            batch = {"number": self.batch_numbers[i], "dose": self.doses[i], "viscosity": self.viscosities[i]}
            found.append(said("odd batch", **batch, times=times, sds=abs(z)))
        return tuple(found)

    @takes_quantities
    def is_near(self, dose_g_per_l: float) -> bool:
        """Whether a dose [g/L] lies within 0.6 to 1.6 times the doses tried."""
        return bool(self.doses.size and NEAR[0] * self.doses.min() <= dose_g_per_l <= NEAR[1] * self.doses.max())

    def table(self, dose_g_per_l: ArrayLike | None = None) -> DataFrame:
        """The average pot and the next single pot at some doses [g/L], 90 % ranges; at those of the batches, with their readings, unless given.

        Columns: (batch, read_pa_s,) dose_g_per_l, viscosity_pa_s, average_low_pa_s, average_high_pa_s, next_low_pa_s, next_high_pa_s.

        Examples
        --------
        >>> DoseCurve.fit([20, 30, 40], [0.12, 0.40, 0.90]).table([25, 35]).round(2).iloc[:, :4]
           dose_g_per_l  viscosity_pa_s  average_low_pa_s  average_high_pa_s
        0          25.0            0.23              0.20               0.27
        1          35.0            0.60              0.49               0.70
        """
        dose = self.doses if dose_g_per_l is None else positive(dose_g_per_l, "dose", "g/L")
        average, single = self.viscosity(dose), self.batch(dose)
        columns: dict[str, Any] = {
            "dose_g_per_l": dose, "viscosity_pa_s": average.best, "average_low_pa_s": average.low,
            "average_high_pa_s": average.high, "next_low_pa_s": single.low, "next_high_pa_s": single.high,
        }  # fmt: skip
        if dose_g_per_l is None:
            columns = {"batch": list(self.batch_numbers), "read_pa_s": self.viscosities} | columns
        return frame_of(zip(*columns.values(), strict=True), *columns)

    def _repr_html_(self) -> str:
        batches = f"{self.doses.size} {'batch' if self.doses.size == 1 else 'batches'}"
        best, low, high = (100 * (1.1**each - 1) for each in self.exponent)
        head = said("headline", of=self, batches=batches, best=best, low=low, high=high, spread=100 * self.spread)
        return frame_html(self.table(), head, self.flags)

    def __repr__(self) -> str:
        """Say only what it is."""
        return f"DoseCurve({self.prior.thickener!r}, {self.doses.size} batches)"
