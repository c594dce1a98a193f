"""How the ingredient table stands against USDA SR28, whether each row adds up, and grams to household and back.

python tests/experiments/facts_figures.py [masses]
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from statistics import median

import numpy as np

from spoonline.facts import grams, household, ingredients
from spoonline.measures.errors import KitchenError

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))


def against_usda() -> None:
    from witness.test_usda_tables import FIELDS, ON_PURPOSE, REVISED, ours, read

    table = {row["ndb_no"]: row for row in read("sr28_composition.csv")}
    off = []
    for name, number in ours().items():
        for field, column in FIELDS.items():
            here, there = getattr(ingredients()[name], field), table[number][column]
            if here is not None and there != "":
                off.append((abs(here - float(there)) / max(abs(float(there)), 1.0), name, field))
    worst = max(off)
    print(f"composition: {len(off)} figures of {len(ours())} rows; median {100 * median(e for e, *_ in off):.2g} %, "
          f"worst {100 * worst[0]:.2g} % ({worst[1]}, {worst[2]}: four digits are kept)")  # fmt: skip
    print("differ on purpose:", *(f"\n  {name}, {field}: {why}" for (name, field), why in ON_PURPOSE.items()))
    others = Counter(row.source.partition(' "')[0] if "Legacy" in row.source else row.kind
                     for row in ingredients().values() if row.name not in ours())  # fmt: skip
    print(
        f"{others.total()} rows are not in the extract: "
        + ", ".join(f"{count} {what}" for what, count in others.items())
    )
    again = {row["name"] for row in read("usda_abbreviated.csv")} - set(ours())
    print(
        f"{len(again)} of them stand against an earlier release; {len(again & REVISED)} of these were taken anew since"
    )
    silent = [row for row in ingredients().values() if "judged: " in row.source]
    print(f"{len(silent)} rows judge a size or measure that USDA is silent on; "
          f"{sum(len(row.pieces) for row in ingredients().values())} pieces in all")  # fmt: skip


def sums() -> None:
    off = []
    for row in ingredients().values():
        parts = [row.water_g, row.protein_g, row.fat_g, row.carbohydrate_g, row.ash_g]
        if all(part is not None for part in parts):
            off.append((abs(sum(part or 0 for part in parts) + (row.alcohol_g or 0) - 100), row.name))
    far = ", ".join(f"{name} {error:.2g} g" for error, name in sorted(off, reverse=True) if error > 1) or "none"
    print(f"sum rule: {len(off)} rows, median {median(e for e, _ in off):.1g} g off 100 g; more than 1 g off: {far}")


def there_and_back(how_many: int) -> None:
    masses = np.geomspace(1, 2000, how_many)
    count, apart, worst, none = 0, 0.0, (0.0, "", 0.0, ""), set()
    for name in ingredients():
        for system in ("us", "metric", "uk", "au"):
            for mass in masses:
                try:
                    found = household(float(mass), name, system)
                    back = grams(str(found), name, system).mass_g
                except KitchenError:
                    none.add(name)
                    continue
                true = 100 * (back / mass - 1)
                count += 1
                apart = max(apart, abs(true - found.error_percent))
                worst = max(worst, (abs(true), name, float(mass), system))
    print(f"there and back: {count} of 1 g to 2 kg, worst error {worst[0]:.3g} % ({worst[1]}, {worst[2]:.3g} g, {worst[3]}); "
          f"printed and true error never more than {apart:.1g} percentage points apart; {len(none)} rows refuse some")  # fmt: skip


if __name__ == "__main__":
    against_usda()
    sums()
    there_and_back(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
