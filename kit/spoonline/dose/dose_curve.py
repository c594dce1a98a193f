"""How thick a dish becomes for a dose of thickener, from no batch at all to many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from spoonline.dose import curve_text
from spoonline.dose.checked import check_aim, positive, relative_errors
from spoonline.dose.mixture import Mixture, fit_mixture, interpolated
from spoonline.dose.next_batch import NextBatch, suggest
from spoonline.dose.priors import Prior, ln_concentration, prior_for, water_pa_s
from spoonline.measures.doors import takes_quantities
from spoonline.measures.errors import BatchError
from spoonline.measures.frames import frame_html
from spoonline.measures.ranges import Range
from spoonline.pots.water import Pot

if TYPE_CHECKING:
    import pandas as pd

FloatArray = NDArray[np.float64]

RANGE = (0.5, 0.05, 0.95)  # best, low, high: a 90 % range
MOST_G_PER_L = 500.0
NEAR = (0.6, 1.6)  # times the least and the most dose tried: outside it the line is extrapolated
ODD_SD = 2.5
SCAN_DOSES = np.geomspace(0.05, 2000.0, 48)


@dataclass(frozen=True, eq=False, repr=False)
class DoseCurve:
    """Thickness against dose for one dish, with all that is uncertain about it; made by :meth:`fit`.

    The model is viscosity = base + E (c/c_ref)^b with c the dry starch (as maize starch) in per cent of starch and water; the
    pot-to-pot spread and, where it was not measured, the base are averaged over.

    Attributes
    ----------
    doses, viscosities, reading_ln_sd, dose_rel_sd : ndarray, shape (n,)
        The batches [g/L], [Pa s], and the relative standard errors of readings and doses.
    prior : Prior
        Beliefs before the first batch.
    pot : Pot
        The pot that doses are counted for.
    base_pa_s : float or None
        Viscosity without thickener, where it was measured [Pa s].
    temperature_c, shear_rate_per_s : float
        Conditions of the viscosities [C], [1/s].
    mixture : Mixture
        The fit.
    batch_numbers : tuple of int
        What each batch is called.
    """

    doses: FloatArray
    viscosities: FloatArray
    reading_ln_sd: FloatArray
    dose_rel_sd: FloatArray
    prior: Prior
    pot: Pot
    base_pa_s: float | None
    temperature_c: float
    shear_rate_per_s: float
    mixture: Mixture
    batch_numbers: tuple[int, ...]

    @classmethod
    @takes_quantities
    def fit(
        cls, dose_g_per_l: ArrayLike, viscosity_pa_s: ArrayLike, thickener: str | Prior = "corn starch",
        base_pa_s: float | None = None, relative_error: ArrayLike | None = None, *, dose_rel_sd: ArrayLike | None = None,
        pot: Pot | None = None, temperature_c: float = 60.0, shear_rate_per_s: float = 50.0,
        batch_numbers: Sequence[int] | None = None,
    ) -> DoseCurve:  # fmt: skip
        """Fit the curve to 0, 1, 2 or more test batches.

        Parameters
        ----------
        dose_g_per_l, viscosity_pa_s : array_like, shape (n,)
            Thickener of each batch per litre of liquid [g/L], above 0 and up to 500, and its thickness [Pa s]; several readings of one pot
            are one batch, averaged.
        thickener : str or Prior, optional
            A thickener that the facts know, or beliefs of one's own.
        base_pa_s : float, optional
            Viscosity of the liquid without thickener [Pa s]. Missing: unknown, from clear stock to a puree.
        relative_error, dose_rel_sd : float or array_like, optional
            Relative standard error of each reading, and of each dose (a spoon; a scale's is small).
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
            If the lists differ in length, a figure is no positive number, or a reading is no thicker than the base.
        ItemError
            If the thickener is unknown.

        Notes
        -----
        Valid near the doses tried: a straight line in logs between closely packed granules and thin liquid. Independent normal
        priors on level and slope, scaled-inverse-chi2 on the pot-to-pot spread. Reading error enters at first order.

        Examples
        --------
        >>> curve = DoseCurve.fit([20, 30, 40], [0.12, 0.40, 0.90])
        >>> print(f"{curve.dose_for(0.5):.0f} g/L")
        33 (31-37) g/L
        """
        dose, viscosity = positive(dose_g_per_l, "dose", "g/L"), positive(viscosity_pa_s, "viscosity", "Pa s")
        if dose.shape != viscosity.shape:
            raise BatchError(f"{dose.size} doses and {viscosity.size} viscosities came; give one of each per batch.")
        called = tuple(range(1, dose.size + 1) if batch_numbers is None else batch_numbers)
        if dose.size and dose.max() > MOST_G_PER_L:
            raise BatchError(
                f"Batch {called[int(dose.argmax())]} has a dose of {dose.max():g} g/L; up to {MOST_G_PER_L:g} g per "
                "litre of liquid is wanted, so check the unit and the liquid."
            )
        prior, pot = prior_for(thickener), pot or Pot()
        if base_pa_s is not None:
            base_pa_s = float(positive([base_pa_s], "base", "Pa s")[0])
            if dose.size and viscosity.min() <= base_pa_s:
                raise BatchError(
                    f"Batch {called[int(viscosity.argmin())]} reads {viscosity.min():.3g} Pa s, no more than the base "
                    f"({base_pa_s:.3g} Pa s): read it again, read the base again, or leave the base out."
                )
        if not (0 < temperature_c <= 100 and 0 < shear_rate_per_s < 1e6):
            raise BatchError(
                f"{temperature_c} C and {shear_rate_per_s} 1/s came; 0-100 C and a rate above 0 are wanted."
            )
        reading, weighing = (
            relative_errors(relative_error, dose.size, "reading"),
            relative_errors(dose_rel_sd, dose.size, "dose"),
        )
        x, x_sd = ln_concentration(dose, prior, pot), weighing * pot.leverage(dose, prior.strength)
        level, water = prior.level(temperature_c, shear_rate_per_s), water_pa_s(temperature_c)
        mixture = fit_mixture(x, viscosity, reading, x_sd, prior, level, water, base_pa_s)
        conditions = (base_pa_s, temperature_c, shear_rate_per_s)
        return cls(dose, viscosity, reading, weighing, prior, pot, *conditions, mixture, called)

    def without(self, batch: int) -> DoseCurve:
        """Return the curve fitted without one batch (counted from 0)."""
        figures = (self.doses, self.viscosities, self.reading_ln_sd, self.dose_rel_sd)
        dose, viscosity, reading, weighing = (np.delete(each, batch) for each in figures)
        return DoseCurve.fit(
            dose, viscosity, self.prior, self.base_pa_s, reading, dose_rel_sd=weighing, pot=self.pot,
            temperature_c=self.temperature_c, shear_rate_per_s=self.shear_rate_per_s,
            batch_numbers=np.delete(self.batch_numbers, batch).tolist(),
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
        dose = positive(dose_g_per_l, "dose", "g/L", dimensions=None)
        x = ln_concentration(dose, self.prior, self.pot).ravel()
        # quantiles are smooth in x: a drawn curve is computed at 25 points and interpolated (to about 1e-5 where the base was
        # read, 5e-3 at worst where it was not)
        through = interpolated if x.size > 64 and np.ptp(x) > 0 else lambda f, x: f(x)
        return _range(np.exp(through(lambda at: self.mixture.quantiles(at, RANGE, single), x)).reshape(3, *dose.shape))

    @takes_quantities
    def dose_for(self, target_pa_s: ArrayLike) -> Range:
        """Dose [g/L] at which the average batch has the target viscosity [Pa s], 90 % range; arrays as above.

        An end is 0 where no thickener may be needed at all, infinite where the slope is not established.
        """
        target = positive(target_pa_s, "target", "Pa s", dimensions=None)
        scan = ln_concentration(SCAN_DOSES, self.prior, self.pot)
        x = np.array([self.mixture.reaching(each, RANGE, scan) for each in target.ravel()])
        with np.errstate(over="ignore"):
            percent = self.prior.reference_percent * np.exp(x)
        dose = np.where(np.isfinite(x), self.pot.dose(np.minimum(percent, 99.0), self.prior.strength), np.exp(x))
        return _range(dose.T.reshape(3, *target.shape))

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
        dose = positive(dose_g_per_l, "dose", "g/L", dimensions=None)
        scatter = np.asarray(dose_rel_sd, dtype=float) * self.pot.leverage(dose, self.prior.strength)
        lines = self.mixture.lines(ln_concentration(dose, self.prior, self.pot).ravel(), True, scatter.ravel())
        centre, width = np.log(target_pa_s), np.log(band)
        inside = self.mixture.below(centre + width, lines) - self.mixture.below(centre - width, lines)
        return inside.reshape(dose.shape) if dose.ndim else float(inside[0])

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

    def surprise(self, batch: int) -> tuple[float, float]:
        """How far one batch (from 0) lies from what the others say: in standard deviations, and a ratio."""
        rest = self.without(batch)
        x = ln_concentration(self.doses[[batch]], self.prior, self.pot)
        lines = rest.mixture.lines(x, True, self.dose_rel_sd[batch])
        over = np.maximum(self.viscosities[batch] - rest.mixture.base, 1e-12) / self.viscosities[batch]
        lines = lines[0], np.hypot(lines[1], self.reading_ln_sd[batch] / np.maximum(over, 0.1))
        below = float(rest.mixture.below(np.log(self.viscosities[batch]), lines)[0])
        expected = rest.mixture.quantiles(x, (0.5,))[0, 0]
        return float(ndtri(np.clip(below, 1e-12, 1 - 1e-12))), float(self.viscosities[batch] / np.exp(expected))

    @cached_property
    def odd(self) -> dict[int, tuple[float, float]]:
        """Batches (from 0) more than 2.5 sd from what the others say, each with its :meth:`surprise`."""
        found = {i: self.surprise(i) for i in range(self.doses.size)} if self.doses.size > 2 else {}
        return {i: each for i, each in found.items() if abs(each[0]) > ODD_SD}

    @cached_property
    def flags(self) -> tuple[str, ...]:
        """What a reader should know before trusting the curve, one sentence each."""
        return curve_text.flags(self)

    @takes_quantities
    def is_near(self, dose_g_per_l: float) -> bool:
        """Whether a dose [g/L] lies within 0.6 to 1.6 times the doses tried."""
        return bool(self.doses.size and NEAR[0] * self.doses.min() <= dose_g_per_l <= NEAR[1] * self.doses.max())

    def table(self, dose_g_per_l: ArrayLike | None = None) -> pd.DataFrame:
        """The average pot and the next single pot at some doses [g/L], 90 % ranges; at those of the batches, with their readings, unless given.

        Columns: (batch, read_pa_s,) dose_g_per_l, viscosity_pa_s, average_low_pa_s, average_high_pa_s, next_low_pa_s, next_high_pa_s.

        Examples
        --------
        >>> DoseCurve.fit([20, 30, 40], [0.12, 0.40, 0.90]).table([25, 35]).round(2).iloc[:, :4]
           dose_g_per_l  viscosity_pa_s  average_low_pa_s  average_high_pa_s
        0          25.0            0.22              0.18               0.27
        1          35.0            0.57              0.43               0.69
        """
        import pandas as pd

        dose = self.doses if dose_g_per_l is None else positive(dose_g_per_l, "dose", "g/L")
        average, single = self.viscosity(dose), self.batch(dose)
        columns: dict[str, Any] = {
            "dose_g_per_l": dose, "viscosity_pa_s": average.best, "average_low_pa_s": average.low,
            "average_high_pa_s": average.high, "next_low_pa_s": single.low, "next_high_pa_s": single.high,
        }  # fmt: skip
        if dose_g_per_l is None:
            columns = {"batch": list(self.batch_numbers), "read_pa_s": self.viscosities} | columns
        return pd.DataFrame(columns)

    def _repr_html_(self) -> str:
        return frame_html(self.table(), curve_text.headline(self), self.flags)

    def __repr__(self) -> str:
        """Say only what it is."""
        return f"DoseCurve({self.prior.thickener!r}, {self.doses.size} batches)"


def _range(rows: FloatArray) -> Range:
    best, low, high = rows if rows.ndim > 1 else (float(row) for row in rows)
    return Range(best, low, high)
