"""Does it find the dose in kitchens that follow no power law, and do its ranges hold?

The kitchens are those of ``tests/dose/rehearsal.py``. Beside the kit stand what a cook could do without
it: a straight line through the pots in logs, with no prior; and the printed white-sauce table. Run from the
repository: ``python tests/experiments/trials_rehearsal.py [kitchens]``. The first settings fill ``spoonline/dose/pots_needed.py``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from dose.rehearsal import Habits, Kitchen, invent_kitchen, rehearse
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.priors import prior_for

# Flour for thin, medium, thick and very thick white sauce: 1 to 4 US tbsp per cup = 33, 66, 99, 132 g/L
# (USDA Family Fare and others, +-15 %), as corn starch of equal strength (0.58).
PRINTED = 0.58 * np.array([33.0, 66.0, 99.0, 132.0])


def printed_dose(kitchen: Kitchen) -> float:
    """The printed dose whose thickness, in a middling kitchen, is nearest to what is wanted: the table read at its best."""
    middling = DoseCurve.fit([], [], prior_for("corn starch"), kitchen.base_pa_s)
    return float(PRINTED[np.abs(np.log(middling.viscosity(PRINTED).best / kitchen.target_pa_s)).argmin()])


def by_hand(kitchen: Kitchen, pots: int, rng: np.random.Generator) -> list[float]:
    """Doses believed right after 1, 2, ... pots: the first pot by the table, the second a third up or down, then the line in logs."""
    dose = printed_dose(kitchen)
    doses, readings, believed = [], [], []
    for n in range(1, pots + 1):
        seen, reading, _ = kitchen.cook(dose, rng)
        doses.append(seen)
        readings.append(reading)
        up = reading < kitchen.target_pa_s
        dose *= 4 / 3 if up else 3 / 4
        if n > 1:
            slope, level = np.polyfit(np.log(doses), np.log(readings), 1)
            if slope > 0.2:
                wanted = np.exp((np.log(kitchen.target_pa_s) - level) / slope)
                dose = float(np.clip(wanted, min(doses) / 2, max(doses) * 2))
        believed.append(dose)
    return believed


def shares(found: list[list[float]], right: list[float]) -> tuple[np.ndarray, np.ndarray]:
    off = np.abs(np.array(found) / np.array(right)[:, None] - 1)
    return np.mean(off <= 0.05, axis=0), np.mean(off <= 0.10, axis=0)


def line(name: str, values: np.ndarray) -> None:
    print(f"  {name:34s}", *(f"{100 * each:5.0f}" for each in values))


def main(kitchens: int, pots: int = 5) -> None:
    settings = {
        "base not read, 1-300 mPa s": Habits(),
        "base read to 20 %": Habits(base_read_sd=0.20),
        "thin base, 1-5 mPa s, not read": Habits(base_pa_s=(0.001, 0.005)),
    }
    for name, habits in settings.items():
        out = rehearse(kitchens, pots, habits=habits)
        print(f"{kitchens} kitchens, {name}; of 100, after 0-{pots} pots")
        line("kit: dose right within 5 %", out.within_5)
        line("kit: within 10 %", out.within_10)
        print("  kitchens right within 10 %:", *(round(kitchens * each) for each in out.within_10))
        line("kit: 90 % range of the dose holds", out.range_holds)
        line("kit: next pot lands in the band", out.lands)
        line("kit: chance stated for that", out.promised)
        line("kit: one pot in the band by then", out.landed_by_then)
        hand, table, right = [], [], []
        for number in range(kitchens):
            rng = np.random.default_rng([1, number])
            kitchen = invent_kitchen(rng, habits)
            right.append(kitchen.dose_g_per_l)
            hand.append(by_hand(kitchen, pots, rng))
            table.append([printed_dose(kitchen)])
        for words, found in ((f"line in logs, no prior, 1-{pots} pots", hand), ("printed white-sauce table", table)):
            within_5, within_10 = shares(found, right)
            line(f"{words}: 5 %", np.append(np.nan, within_5) if found is hand else within_5)
            line("  within 10 %", np.append(np.nan, within_10) if found is hand else within_10)
        print(f"  {out.text}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
