"""Does the curve find the dose in kitchens whose law is not its own, and do its ranges and chances hold?

    python tests/experiments/dose_kitchens.py [kitchens] [first]

The kitchens are those of ``tests/dose/kitchens.py``. Scored on the cook's own scale and against true viscosity; beside it what a cook could do
without the curve (a line in logs by hand, the printed table), brute force that knows the spreads the kitchens are drawn from, and the curve of
release 0.1.0 (each pot's last reading, and the base) on the same pots. The first setting fills ``RIGHT`` of ``spoonline/dose/next_batch.py``.

Kitchens 0 to 499 were looked at while the fit was built; those from 10,000 on are kept unseen (``first``).
"""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import tarfile
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from dose import oracle
from dose.kitchens import LEVELS, POT, fifth_dish, pots_at_the_right_dose, pots_until_tested, search
from spoonline.dose.priors import Prior

# Flour for thin to very thick white sauce, 33 to 132 g/L (USDA Family Fare and others), as corn starch of equal strength.
PRINTED = 0.58 * np.array([33.0, 66.0, 99.0, 132.0])
SETTINGS = (
    (False, 1, False),
    (True, 1, False),
    (False, 1, True),
    (True, 1, True),
    (False, 0.4, False),
    (False, 2.5, False),
)

# The last commit of release 0.1.0, and what is asked of its curve: the doses it finds after 0, 1, ... pots.
RELEASED = "9a4bf8df^"
ASK_RELEASED = """
import json, sys
from spoonline.dose.dose_curve import DoseCurve
from spoonline.pots.water import Pot

def dose(pots, own, base, aim):
    for known in (base, None):  # a reading below the base was refused
        try:
            doses, read = [pot[-1][0] for pot in pots], [pot[-1][1] for pot in pots]
            return DoseCurve.fit(doses, read, base_pa_s=known, relative_error=own, pot=Pot(940.0)).dose_for(aim).best
        except ValueError:
            pass
    return 0.01

json.dump([[dose(pots[:n], *rest) for n in range(len(pots) + 1)] for pots, *rest in json.load(sys.stdin)], sys.stdout)
"""


def line(words: str, values: np.ndarray) -> None:
    print(f"  {words:44s}", *(f"{100 * each:5.0f}" for each in values))


def reference(number: int, thick: bool) -> list[bool]:
    """Whether brute force that knows how kitchens are drawn is right within 10 %, after each pot that the curve had cooked."""
    _, kitchen, cooked, base, aim = search(number, thick, 3, 1.0, False, told=True)
    level = float(np.hypot(0.5, 0.17))
    knows = Prior(
        "corn starch",
        level_ln_sd=level,
        exponent=3.0,
        exponent_sd=0.4,
        batch_sd=0.135,
        batch_df=8.0,
        base_pa_s=0.002,
        base_ln_sd=0.55,
    )
    found = []
    for count in range(len(cooked) + 1):
        known = (float(np.log(base)), 0.2) if base and not count else (float(np.log(0.09)), 0.6) if thick else None
        case = oracle.Case(cooked[:count], known, kitchen.own, 0.0, POT, aim, list(range(count)))
        dose = oracle.dose_quantiles(oracle.cloud(case, knows, 2**14), aim, knows, POT, [0.5])[0]
        found.append(abs(np.log(max(dose, 0.01) / kitchen.dose)) < np.log(1.1))
    return found


def released(some: range, thick: bool) -> np.ndarray | None:
    """Whether the curve of release 0.1.0 is right within 10 %, on the same pots; None where the history is missing."""
    repository = Path(__file__).resolve().parents[2]
    packed = subprocess.run(["git", "archive", RELEASED, "kit"], cwd=repository, capture_output=True, check=False)
    if packed.returncode:
        return None
    found = [search(number, thick, 3, told=True) for number in some]
    asked = [(cooked, kitchen.own, base, aim) for _, kitchen, cooked, base, aim in found]
    with tempfile.TemporaryDirectory() as folder:
        with tarfile.open(fileobj=io.BytesIO(packed.stdout)) as files:
            files.extractall(folder, filter="data")
        environment = os.environ | {"PYTHONPATH": str(Path(folder) / "kit")}
        said = subprocess.run(
            [sys.executable, "-c", ASK_RELEASED], input=json.dumps(asked), env=environment, capture_output=True, text=True, check=True
        )  # fmt: skip
    right = np.array([kitchen.dose for _, kitchen, *_ in found])
    return np.abs(np.log(np.maximum(json.loads(said.stdout), 0.01) / right[:, None])) < np.log(1.1)


def by_hand(number: int) -> list[bool]:
    """Within 10 % by the printed table, then by a line in logs through two and three pots a third apart."""
    _, kitchen, _, _, aim = search(number, False, 0, 1.0, False, told=True)
    rng = np.random.default_rng([number, 99])
    middling = 0.2 * (np.array([POT.percent(each) for each in PRINTED]) / 4) ** 3
    dose, doses, readings = float(PRINTED[np.abs(np.log(middling / aim)).argmin()]), [], []
    found = [abs(np.log(dose / kitchen.dose)) < np.log(1.1)]
    for turn in range(3):
        doses.append(dose)
        readings.append(kitchen.cook([dose], kitchen.day_sd * rng.normal(), rng)[0])
        dose *= 4 / 3 if readings[-1] < aim else 3 / 4
        if turn:
            slope, level = np.polyfit(np.log(doses), np.log(readings), 1)
            if slope > 0.2:
                dose = float(np.clip(np.exp((np.log(aim) - level) / slope), min(doses) / 2, max(doses) * 2))
        found.append(abs(np.log(dose / kitchen.dose)) < np.log(1.1))
    return found


def main(kitchens: int, first: int = 0, pots: int = 5) -> None:
    numbers = range(first, first + kitchens)
    with ProcessPoolExecutor() as pool:
        for thick, off, true_scale in SETTINGS:
            one = partial(search, thick=thick, pots=pots, off=off, true_scale=true_scale)
            found = np.array(list(pool.map(one, numbers, chunksize=10)), dtype=float)
            mean = found.mean(axis=0).T
            scale, kind = "true viscosity" if true_scale else "own scale", "thick" if thick else "clear"
            print(f"{kitchens} {kind} kitchens from {first} on, level x{off:g}, {scale}; of 100, after 0-{pots} pots")
            line("dose right within 5 %", mean[0])
            line("within 10 %", mean[1])
            for level, row in zip(LEVELS, mean[2:6], strict=True):
                line(f"{100 * level:.0f} % range of the dose holds", row)
            line("a pot at the suggested dose lands", mean[6])
            line("chance stated for that", mean[7])
            if off == 1 and not true_scale:
                print("  right within 10 %, kitchens:", *(int(each) for each in kitchens * mean[1] + 0.5))
            said, happened = found[:, 1:, 7].ravel(), found[:, 1:, 6].ravel()
            for low, high in ((0, 0.4), (0.4, 0.6), (0.6, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 1.01)):
                some = (said >= low) & (said < high)
                if some.sum() > 20:
                    print(
                        f"    said {100 * said[some].mean():.0f}, happened {100 * happened[some].mean():.0f} ({some.sum()} times)"
                    )
        for thick in (False, True):
            some = list(pool.map(partial(reference, thick=thick), numbers[:150], chunksize=5))
            kind = "thick" if thick else "clear"
            line(f"brute force on {len(some)} of the {kind}: within 10 %", np.mean(some, axis=0))
            before = released(numbers[:150], thick)
            if before is None:
                print("  release 0.1.0: not measured, its commit is not in this copy's history")
            else:
                line(f"release 0.1.0 on {len(before)} of the {kind}: within 10 %", before.mean(axis=0))
        line("by hand, table and 1-3 pots: within 10 %", np.mean(list(pool.map(by_hand, numbers)), axis=0))
        some = numbers[:300]
        for words, until in (
            ("clear", partial(pots_until_tested, thick=False)),
            ("thick", partial(pots_until_tested, thick=True)),
            ("a fifth dish", partial(pots_until_tested, thick=False, fifth=True)),
            ("clear, the right dose from the first pot on", partial(pots_at_the_right_dose, thick=False)),
            ("thick, the right dose from the first pot on", partial(pots_at_the_right_dose, thick=True)),
        ):
            count = np.array(list(pool.map(until, some, chunksize=5)))
            mean, median, late = count.mean(), np.median(count), 100 * np.mean(count >= 15)
            print(f"  pots until tested, {words}: mean {mean:.1f}, median {median:.0f}; not by 15: {late:.0f} of 100")
        learned = np.mean(list(pool.map(fifth_dish, some, chunksize=10)), axis=0)
        line("a fifth dish, no pot: learned, range holds, table", learned)


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*(given or [500]))
