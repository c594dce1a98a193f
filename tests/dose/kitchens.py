"""Invented kitchens whose law is not the curve's own, clear and thick, in which its whole search is played through.

A kitchen's starch bends by the dose, which no straight line in logs does; a thick base joins it by a power of its own; pots differ, days
differ, a reading has an error of its own and one that its tool always makes. A clear kitchen cooks the suggested dose and reads it once; a
thick one reads its base and then 0.6, 0.8 and 1.0 of the suggested dose in one pot.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from spoonline.dose import kitchen_prior
from spoonline.dose.dose_curve import DoseCurve
from spoonline.measures.ranges import Range
from spoonline.pots.water import Pot

POT = Pot(940.0)
BAND = 1.2
LEVELS = (0.5, 0.8, 0.9, 0.95)


@dataclass(frozen=True)
class Kitchen:
    """One invented kitchen."""

    level: float
    slope: float
    base: float
    join: float
    bend: float
    pot_sd: float
    day_sd: float
    own: float
    offset: float
    dose: float

    def average(self, dose: float) -> float:
        """True viscosity of the average pot [Pa s]."""
        if not dose:
            return self.base
        x = np.log(float(POT.percent(dose)) / 3.0)
        # a smooth bend of the slope by the dose, which no straight line in logs has
        starch = self.level * (3 / 4) ** self.slope * np.exp(self.slope * x + self.bend * x**2)
        return float((self.base**self.join + starch**self.join) ** (1 / self.join))

    def cook(self, doses: list[float], day: float, rng: np.random.Generator) -> list[float]:
        """What the tool shows of one pot at each dose so far [Pa s on the tool's scale]."""
        pot = day + self.pot_sd * rng.normal() + self.offset
        read = [self.average(dose) * float(np.exp(pot + self.own * rng.normal())) for dose in doses]
        for at in range(1, len(read)):  # what the form refuses is read again
            while np.log(max(read[:at]) / read[at]) > 2.9 * 1.41 * self.own:
                read[at] = self.average(doses[at]) * float(np.exp(pot + self.own * rng.normal()))
        return read

    def lands(self, dose: float, target: float) -> float:
        """True chance that a pot on a new day lies within the band of the target."""
        from scipy.special import ndtr

        off, sd = np.log(self.average(dose) / target), np.hypot(self.pot_sd, self.day_sd)
        return float(ndtr((np.log(BAND) - off) / sd) - ndtr((-np.log(BAND) - off) / sd))


def invent(rng: np.random.Generator, thick: bool, off: float = 1.0) -> Kitchen:
    """Draw a kitchen; ``off`` puts its level beside what handbooks say."""
    kitchen = Kitchen(
        level=0.2 * off * float(np.exp(0.5 * rng.normal())), slope=float(np.clip(3 + 0.4 * rng.normal(), 1.8, 4.5)),
        base=float(np.exp(rng.uniform(*np.log([0.03, 0.25] if thick else [0.0008, 0.005])))),
        join=float(np.clip(0.65 + 0.2 * rng.normal(), 0.34, 1.1)) if thick else 1.0, bend=float(rng.uniform(-0.3, 0.3)),
        pot_sd=float(rng.uniform(0.06, 0.18)), day_sd=float(rng.uniform(0.0, 0.10)), own=float(rng.uniform(0.05, 0.15)),
        offset=float(rng.uniform(0.08, 0.25) * rng.normal()),
        dose=float(np.exp(rng.uniform(*np.log([25.0, 60.0])))),
    )  # fmt: skip
    if not thick:
        return kitchen
    # a soup that is thick already is wanted so many times thicker
    target, doses = kitchen.base * float(np.exp(rng.uniform(*np.log([1.5, 6.0])))), np.geomspace(1.0, 200.0, 2000)
    return replace(kitchen, dose=float(np.interp(target, [kitchen.average(each) for each in doses], doses)))


def search(
    number: int, thick: bool, pots: int, off: float = 1.0, true_scale: bool = False, *, told: bool = False
) -> Any:
    """Answers of one kitchen after 0, 1, ... pots: right within 5 and 10 %, ranges that hold, chance said and happened.

    With ``told`` the kitchen, its pots, base and aim beside them.
    """
    rng = np.random.default_rng([number, thick, round(10 * off)])
    kitchen = invent(rng, thick, off)
    right, target = kitchen.dose, kitchen.average(kitchen.dose)
    # an aim from elsewhere is in true Pa s; one's own was read with the same tool
    aim = target if true_scale else target * float(np.exp(kitchen.offset))
    tool = "spatula" if true_scale else None
    cooked: list[list[tuple[float, float]]] = []
    rows = []
    # a thick base is read before anything is dosed
    base = kitchen.cook([0.0], kitchen.day_sd * rng.normal(), rng)[0] if thick else None
    for turn in range(pots + 1):
        known = base if base is not None and not cooked else None
        curve = fit(cooked, kitchen.own, known, tool)
        asked = aim * (TIMES if tool else 1.0)
        found, advice = curve.dose_for(asked), curve.next_batch(asked, BAND)
        dose = max(advice.dose_g_per_l, 1.0)
        off_by = abs(np.log(max(found.best, 0.01) / right))
        rows.append(
            [
                off_by < np.log(1.05),
                off_by < np.log(1.1),
                *holds(curve, asked, right),
                kitchen.lands(dose, target),
                advice.chance,
            ]
        )
        if turn < pots:
            steps = [0.0, 0.6 * dose, 0.8 * dose, dose] if thick else [dose]
            read = kitchen.cook(steps, kitchen.day_sd * rng.normal(), rng)
            cooked.append(list(zip(steps, read, strict=True)))
    return (rows, kitchen, cooked, base, aim) if told else rows


# Against true viscosity the spatula is told of, at the rate where what its readings share is what the kitchens draw it from: 0.18 against
# 0.08 to 0.25. Viscosities are then so much higher than at 50 1/s (flow index 0.5).
TRUE_RATE = 3.0
TIMES = (50 / TRUE_RATE) ** 0.5


def fit(
    cooked: list[list[tuple[float, float]]],
    own: float,
    base: float | None,
    tool: str | None,
    prior: Any = "corn starch",
) -> DoseCurve:
    """The curve as a screen makes it: viscosities at 50 1/s and 60 C."""
    known = None if base is None else Range(base, base * np.exp(-1.645 * 0.2), base * np.exp(1.645 * 0.2))
    times, rate = (TIMES, TRUE_RATE) if tool else (1.0, 50.0)
    scaled = [[(dose, times * eta) for dose, eta in pot] for pot in cooked]
    range_ = known if known is None else Range(*(times * each for each in known))
    return DoseCurve.fit_pots(
        scaled, prior, own, base_pa_s=range_, tool=tool, pot=POT, days=list(range(len(cooked))), shear_rate_per_s=rate
    )


def holds(curve: DoseCurve, aim: float, right: float) -> list[bool]:
    """Whether the ranges of the dose at 50, 80, 90 and 95 % hold the right one."""
    from spoonline.dose.dose_curve import SCAN_DOSES
    from spoonline.dose.priors import ln_concentration

    scan = ln_concentration(SCAN_DOSES, curve.prior, curve.pot)
    x = float(ln_concentration(np.array([right]), curve.prior, curve.pot)[0])
    ends = [0.5 + side * level / 2 for level in LEVELS for side in (-1, 1)]
    at = curve.mixture.reaching(float(np.log(aim)), ends, scan)
    return [bool(low <= x <= high) for low, high in zip(at[::2], at[1::2], strict=True)]


def learned_dish(number: int) -> tuple[Kitchen, float, Any, np.random.Generator]:
    """A kitchen's fifth dish, the aim of it, and what four dishes of three pots have taught."""
    rng = np.random.default_rng([number, 77])
    kitchen, curves = invent(rng, False), []
    for turn in range(5):
        dish = replace(
            kitchen, level=kitchen.level * float(np.exp(0.2 * rng.normal())), slope=kitchen.slope + 0.15 * rng.normal(),
            base=float(np.exp(rng.uniform(*np.log([0.0008, 0.005])))), bend=float(rng.uniform(-0.3, 0.3)),
            dose=float(np.exp(rng.uniform(*np.log([25.0, 60.0])))),
        )  # fmt: skip
        aim, cooked = dish.average(dish.dose) * float(np.exp(dish.offset)), list[list[tuple[float, float]]]()
        for _ in range(3 if turn < 4 else 0):
            dose = fit(cooked, dish.own, None, None).next_batch(aim, BAND).dose_g_per_l
            cooked.append([(dose, dish.cook([dose], dish.day_sd * rng.normal(), rng)[0])])
        curves.append(fit(cooked, dish.own, None, None))
    return dish, aim, kitchen_prior(curves[:4], "corn starch"), rng


def fifth_dish(number: int) -> list[bool]:
    """A kitchen's fifth dish before any pot: within 10 % with what four taught, whether that range holds, and within 10 % by the tables."""
    dish, aim, prior, _ = learned_dish(number)
    learned, plain = (fit([], dish.own, None, None, each).dose_for(aim) for each in (prior, "corn starch"))
    right = [abs(np.log(each.best / dish.dose)) < np.log(1.1) for each in (learned, plain)]
    return [right[0], learned.low <= dish.dose <= learned.high, right[1]]


def pots_until_tested(number: int, thick: bool, fifth: bool = False, most: int = 15) -> int:
    """How many pots of a kitchen, each on its own day at the suggested dose, until a dose is tested; ``most`` where none was by then."""
    if fifth:
        kitchen, aim, prior, rng = learned_dish(number)
    else:
        rng, prior = np.random.default_rng([number, thick, 5]), "corn starch"
        kitchen = invent(rng, thick)
        aim = kitchen.average(kitchen.dose) * float(np.exp(kitchen.offset))
    base = kitchen.cook([0.0], kitchen.day_sd * rng.normal(), rng)[0] if thick else None
    cooked: list[list[tuple[float, float]]] = []
    while len(cooked) < most:
        advice = fit(cooked, kitchen.own, None if cooked else base, None, prior).next_batch(aim, BAND)
        if advice.tested:
            break
        dose = max(advice.dose_g_per_l, 1.0)
        steps = [0.0, 0.6 * dose, 0.8 * dose, dose] if thick else [dose]
        read = kitchen.cook(steps, kitchen.day_sd * rng.normal(), rng)
        cooked.append(list(zip(steps, read, strict=True)))
    return len(cooked)


def pots_at_the_right_dose(number: int, thick: bool, most: int = 15) -> int:
    """The same for a kitchen that knew its dose from the first pot on: what no curve can better."""
    rng, inside = np.random.default_rng([number, thick, 5]), list[bool]()
    kitchen = invent(rng, thick)
    aim = kitchen.average(kitchen.dose) * float(np.exp(kitchen.offset))
    while len(inside) < most and sum(inside[-4:]) < 3:
        read = kitchen.cook([kitchen.dose], kitchen.day_sd * rng.normal(), rng)[0]
        inside.append(abs(np.log(read / aim)) <= np.log(BAND))
    return len(inside)
