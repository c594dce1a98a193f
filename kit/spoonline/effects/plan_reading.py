"""What the pots of a two-factor plan say of thickness: the answer in sentences, the surface, the next pot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import Delaunay

from spoonline.dose.next_batch import in_ten
from spoonline.dose.priors import Prior
from spoonline.effects.two_factor_plan import Factor, PlannedPot
from spoonline.effects.two_factors import Effects, Surface, fit_effects, fit_surface
from spoonline.measures.errors import BatchError
from spoonline.measures.ranges import Range
from spoonline.recipes import Target

WORTH = 0.25  # chance of the band below which a pot is not worth cooking for it


class PlanStep(NamedTuple):
    """A pot to cook next: its two settings, those coded, the chance of the band, its average pot [Pa s]."""

    first: float
    second: float
    coded: tuple[float, float]
    chance: float
    viscosity: Range


def lies_inside(pots: Sequence[PlannedPot], u: ArrayLike, v: ArrayLike) -> NDArray[np.bool_]:
    """Whether coded points lie among the pots (inside their outline); outside, a surface is extrapolated.

    Examples
    --------
    >>> from spoonline.effects.two_factor_plan import plan_pots
    >>> pots = plan_pots(Factor("corn starch", "g/L", 25, 36), Factor("simmering", "min", 2, 8))
    >>> lies_inside(pots, [0.9, 1.2], [0.9, 0.0]).tolist()
    [True, False]
    """
    outline = np.array(sorted({pot.coded for pot in pots}))
    u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
    # a hair wider, so that the pots of the outline themselves lie inside
    found = Delaunay(outline * (1 + 1e-9)).find_simplex(np.column_stack([u.ravel(), v.ravel()]))
    return np.asarray(found >= 0).reshape(u.shape)


@dataclass(frozen=True, eq=False)
class PlanReading:
    """Pots that were read, what each change did, and the surface of ln viscosity.

    Attributes
    ----------
    first, second : Factor
        What was changed.
    pots, numbers : tuple of PlannedPot, tuple of int
        Those that were read, and their numbers in the plan, from 1.
    effects : Effects
        Of corner and centre pots, on the ln scale.
    surface : Surface
        Of all pots: second order once star points were read, else a twisted plane.
    """

    first: Factor
    second: Factor
    pots: tuple[PlannedPot, ...]
    numbers: tuple[int, ...]
    effects: Effects
    surface: Surface

    @property
    def ratios(self) -> tuple[Range, ...]:
        """The effects as times as thick, with 90 % ranges.

        Either change from low to high; the first's factor at the second's high end over that at its low end; the middle
        over what the corners lead to expect.
        """
        rows = zip((1.0, 1.0, 2.0, -1.0), self.effects.effects, strict=False)
        times = (np.exp(power * np.array(effect)).tolist() for power, effect in rows)
        return tuple(Range(best, min(ends), max(ends)) for best, *ends in times)

    @property
    def days(self) -> Range | None:
        """Level of the second cooking day over the first, with its 90 % range; None with one day."""
        if "day 2" not in self.surface.names:
            return None
        row = np.array([name == "day 2" for name in self.surface.names], dtype=float)
        return Range(*(float(np.exp(each)) for each in self.surface.line.average(row)))

    @property
    def sentences(self) -> list[str]:
        """What was found, a sentence each; brackets hold 90 % ranges."""
        a, b = self.first, self.second
        one, two = (f"{x.name} from {x.low:g} to {x.high:g} {x.unit}: the pot comes out" for x in (a, b))
        rows = (
            (one, "times as thick", "it may do nothing"),
            (two, "times as thick", "it may do nothing"),
            (f"At {b.high:g} {b.unit} of {b.name}, that factor of {a.name} is", f"times the one at {b.low:g} {b.unit}",
             "one may not depend on the other"),
            ("The pot in the middle is", "times as thick as the corners lead one to expect", "the surface may be flat"),
        )  # fmt: skip
        found = []
        for (start, end, doubt), ratio in zip(rows, self.ratios, strict=False):
            found.append(f"{start[0].upper()}{start[1:]} {ratio:.2g} {end}{'' if _sure(ratio) else f'; {doubt}'}.")
        if self.days is not None:
            found.append(f"The second day came out {self.days:.2g} times as thick as the first.")
        spread, usual = 100 * np.sqrt(self.surface.line.noise_variance), 100 * Prior.batch_sd
        differ = f"Pots of one recipe are taken to differ by {spread:.0f} %: the usual {usual:.0f} %, corrected by what these pots show."
        return [*found, f"{differ} Brackets hold 90 % ranges."]

    def next_pot(self, target: Target) -> PlanStep:
        """Find the settings inside the plan whose next pot most likely lands in the band, on a day like these."""
        reach = np.abs([pot.coded for pot in self.pots]).max()
        u, v = (each.ravel() for each in np.meshgrid(*[np.linspace(-reach, reach, 113)] * 2))
        keep = lies_inside(self.pots, u, v)
        u, v = u[keep], v[keep]
        low, high = np.log((target.low_pa_s, target.high_pa_s))
        chances = self.surface.chance(u, v, float(low), float(high), block=None)
        at = int(np.argmax(chances))
        coded = float(u[at]), float(v[at])
        eta = Range(*(float(np.exp(each)) for each in self.surface.average(*coded, block=None)))
        settings = float(self.first.setting(coded[0])), float(self.second.setting(coded[1]))
        return PlanStep(*settings, coded, float(chances[at]), eta)

    def next_steps(self, target: Target) -> list[str]:
        """What to do next, in sentences."""
        out = []
        found, ratios, band = self.next_pot(target), self.ratios, float(target.band)
        if found.chance < WORTH:
            there = target.against_band(found.viscosity.best)
            again = f"Plan again with settings that come out {'thicker' if there == 'thinner than' else 'thinner'}."
            wider = "Repeat pots, or widen the band: pots of one recipe differ too much for it."
            out.append(wider if there == "inside" else again)
        if "u^2" in self.surface.names:  # star points were read, so the surface may bend
            look = "look for a pot that was read or weighed wrong before you use it."
            if self.surface.lack_of_fit is not None and self.surface.lack_of_fit[1] < 0.05:
                out.append(f"The surface fits these pots badly: {look}")
        else:
            bends = "The middle does not lie on the plane of the corners: cook the four star pots on another day before you trust the contours."
            flat = "These pots show no bend; star pots on another day would tell more."
            out.append(bends if len(ratios) > 3 and _sure(ratios[3]) else flat)
            for name, ratio in ((self.first.name, ratios[0]), (self.second.name, ratios[1])):
                little = f"Set {name} where it suits the kitchen: from low to high it does less than the band is wide."
                still = f"Whether {name} matters is still open ({ratio:.2g} times as thick)"
                if 1 / band < ratio.low and ratio.high < band:
                    out.append(little)
                elif not _sure(ratio):
                    out.append(f"{still}: repeat the plan on another day to tell.")
        if found.chance >= WORTH:
            out.append(f"Cook {self.setting_words(found)} and record it; repeat it before you write the card.")
        return out

    def setting_words(self, step: PlanStep) -> str:
        """Both settings of a pot, in words."""
        a, b = self.first, self.second
        return f"{step.first:.3g} {a.unit} of {a.name} and {step.second:.2g} {b.unit} of {b.name}"

    def answer(self, target: Target) -> str:
        """The next pot in one sentence."""
        found = self.next_pot(target)
        band = f"{target.low_pa_s:.2g} to {target.high_pa_s:.2g} Pa s"
        there, settings = f"{found.viscosity:.2g} Pa s (90 % range)", self.setting_words(found)
        share = in_ten(found.chance)
        if found.chance >= WORTH:
            return f"Cook the next pot with {settings}: {share} such pots land in the band of {band}; the average pot there has {there}."
        nearest = f"the nearest, {settings}, give {there} on average, and {share} such pots land in it"
        return f"No settings of this plan bring the pot into the band of {band} often enough: {nearest}."


def _sure(ratio: Range) -> bool:
    return ratio.low > 1 or ratio.high < 1


def read_plan(
    first: Factor, second: Factor, pots: Sequence[PlannedPot], viscosity_pa_s: Sequence[float | None]
) -> PlanReading:
    """Read what the pots of a plan show.

    Parameters
    ----------
    first, second, pots : Factor, Factor, sequence of PlannedPot
        What was changed, and the plan.
    viscosity_pa_s : sequence of float or None
        One viscosity a pot [Pa s]; None where it was not cooked or not read.

    Raises
    ------
    BatchError
        If a viscosity is not above 0, the numbers differ, or a corner was not read.

    Notes
    -----
    The pot-to-pot spread is pooled with what is usual in kitchens (``Prior.batch_sd``, worth ``batch_df`` pots).

    Examples
    --------
    >>> from spoonline.effects.two_factor_plan import plan_pots
    >>> a, b = Factor("corn starch", "g/L", 25, 36), Factor("simmering", "min", 2, 8)
    >>> pots = plan_pots(a, b)
    >>> found = read_plan(a, b, pots, [0.35 * (pot.first / 30) ** 3 for pot in pots])
    >>> f"{found.ratios[0].best:.3f}", found.sentences[1][-28:]
    ('2.986', 'as thick; it may do nothing.')
    """
    if len(pots) != len(viscosity_pa_s):
        raise BatchError(f"{len(pots)} pots and {len(viscosity_pa_s)} viscosities came; one for each pot is wanted.")
    for number, eta in enumerate(viscosity_pa_s, 1):
        if eta is not None and not (eta > 0 and np.isfinite(eta)):
            wanted = "a viscosity above 0 is wanted, or nothing if it was not read"
            raise BatchError(f"Pot {number}: {eta:g} Pa s came; {wanted}.")
    numbers = tuple(i for i, eta in enumerate(viscosity_pa_s, 1) if eta is not None)
    missing = [str(i) for i, pot in enumerate(pots, 1) if pot.kind == "corner" and i not in numbers]
    if missing:
        needs = "the answer needs all four corners"
        raise BatchError(f"Pot {', '.join(missing)} at a corner of the plan is not read yet; {needs}.")
    kept = tuple(pots[i - 1] for i in numbers)
    u, v = np.array([pot.coded for pot in kept]).T
    y, days = np.log([float(eta) for eta in viscosity_pa_s if eta is not None]), np.array([pot.day for pot in kept])
    plain, belief = np.array([pot.kind != "star" for pot in kept]), (Prior.batch_sd, Prior.batch_df)
    effects = fit_effects(u[plain], v[plain], y[plain], days[plain].tolist(), (first.name, second.name), *belief)
    try:
        surface = fit_surface(u, v, y, days.tolist(), True, *belief)
    except BatchError:  # no star points yet, or not enough of them
        surface = fit_surface(u, v, y, days.tolist(), False, *belief, interaction=True)
    return PlanReading(first, second, kept, numbers, effects, surface)


def invent_readings(pots: Sequence[PlannedPot], seed: int = 1) -> list[float]:
    """Invent a viscosity [Pa s] for each pot of corn starch [g/L] and simmering [min], to show what a plan gives.

    The third power of the dose, a slow loss with simmering that is largest at its ends, a second day 5 % thinner,
    and pots that differ by 8 %: invented, not measured.
    """
    dose, minutes, day = np.array([(pot.first, pot.second, pot.day) for pot in pots]).T
    time = np.log(minutes / 4)
    mean = np.log(0.35) + 3 * np.log(dose / 30) - 0.10 * time - 0.35 * time**2 - 0.05 * (day > 1)
    return [float(each) for each in np.exp(mean + 0.08 * np.random.default_rng(seed).normal(size=day.size))]
