"""Does the curve find the dose in kitchens whose law is not its own, clear and thick, and do its ranges and chances hold?

    python tests/experiments/dose_kitchens.py [kitchens]

A kitchen's starch bends (granules packing closely below a dose, rigid ones above it), or is a power, by lot; a thick base joins it by a power of
its own; pots differ, days differ, a reading has an error of its own and one that its tool always makes. A clear kitchen cooks the suggested
dose and reads it once; a thick one reads its base and then 0.6, 0.8 and 1.0 of the suggested dose in one pot. Scored on the cook's own
scale and against true viscosity; beside it a line in logs by hand, the printed table, and a reference that knows the spreads the kitchens
are drawn from (particles).
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace

import numpy as np

from spoonline.dose.dose_curve import DoseCurve
from spoonline.measures.ranges import Range
from spoonline.pots.water import Pot

POT = Pot(940.0)
BAND = 1.2
# Flour for thin to very thick white sauce, 33 to 132 g/L (USDA Family Fare and others), as corn starch of equal strength.
PRINTED = 0.58 * np.array([33.0, 66.0, 99.0, 132.0])
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
            while np.log(read[at - 1] / read[at]) > 2.9 * np.hypot(1.41 * self.own, 0.05):
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


def search(number: int, thick: bool, pots: int, off: float, true_scale: bool) -> list[list[float]]:
    """Answers of one kitchen after 0, 1, ... pots: right within 5 and 10 %, ranges that hold, chance said and happened."""
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
        found, advice = curve.dose_for(aim), curve.next_batch(aim, BAND)
        dose = max(advice.dose_g_per_l, 1.0)
        off_by = abs(np.log(max(found.best, 0.01) / right))
        rows.append(
            [
                off_by < np.log(1.05),
                off_by < np.log(1.1),
                *holds(curve, aim, right),
                kitchen.lands(dose, target),
                advice.chance,
            ]
        )
        if turn < pots:
            steps = [0.0, 0.6 * dose, 0.8 * dose, dose] if thick else [dose]
            read = kitchen.cook(steps, kitchen.day_sd * rng.normal(), rng)
            cooked.append(list(zip(steps, read, strict=True)))
    return rows


def fit(cooked: list[list[tuple[float, float]]], own: float, base: float | None, tool: str | None) -> DoseCurve:
    """The curve as a screen makes it: viscosities at 50 1/s and 60 C."""
    known = None if base is None else Range(base, base * np.exp(-1.645 * 0.2), base * np.exp(1.645 * 0.2))
    return DoseCurve.fit_pots(
        cooked, "corn starch", own, base_pa_s=known, tool=tool, pot=POT, days=list(range(len(cooked)))
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


def line(words: str, values: np.ndarray) -> None:
    print(f"  {words:44s}", *(f"{100 * each:5.0f}" for each in values))


def main(kitchens: int, pots: int = 5) -> None:
    for thick, off, true_scale in (
        (False, 1, False),
        (True, 1, False),
        (False, 1, True),
        (True, 1, True),
        (False, 0.4, False),
        (False, 2.5, False),
    ):
        found = np.array([search(number, thick, pots, off, true_scale) for number in range(kitchens)], dtype=float)
        mean = found.mean(axis=0).T
        scale = "true viscosity" if true_scale else "own scale"
        print(
            f"{kitchens} {'thick' if thick else 'clear'} kitchens, level x{off:g}, {scale}; of 100, after 0-{pots} pots"
        )
        line("dose right within 5 %", mean[0])
        line("within 10 %", mean[1])
        for level, row in zip(LEVELS, mean[2:6], strict=True):
            line(f"{100 * level:.0f} % range of the dose holds", row)
        line("a pot at the suggested dose lands", mean[6])
        line("chance stated for that", mean[7])
        said, happened = found[:, 1:, 7].ravel(), found[:, 1:, 6].ravel()
        for low, high in ((0, 0.4), (0.4, 0.6), (0.6, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 1.01)):
            some = (said >= low) & (said < high)
            if some.sum() > 20:
                print(
                    f"    said {100 * said[some].mean():.0f}, happened {100 * happened[some].mean():.0f} ({some.sum()} times)"
                )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
