"""Simulated stews against the forecast: does the 90 % range of liquid hold, and the sauce at the end of the pot?

    python tests/experiments/stews.py [stews] [seed]

True juices are drawn from the spreads of the table itself, evaporation from half of its figure either way, so this shows that the sums
are right, not that the table is.
"""

from __future__ import annotations

import sys

import numpy as np

from spoonline.facts import juice
from spoonline.pots import Batch
from spoonline.pots.balance import SAUCE, states
from spoonline.pots.evaporation import forecast
from spoonline.recipes import Recipe

MEATS = ("beef chuck", "beef shin", "lamb shoulder", "diced lamb", "pork shoulder", "chicken thigh", "rabbit")
GREENS = ("carrot", "onion", "celery", "parsnip", "mushrooms", "red pepper", "leek", "canned tomatoes")
METHODS = ("Cover and simmer for {} min.", "Cover and cook in the oven for {} min.", "Cook under pressure for {} min.")


def main(stews: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    held = sauces = 0
    widths = []
    for _ in range(stews):
        masses = {str(rng.choice(MEATS)): rng.integers(400, 2000)}
        masses |= {str(name): rng.integers(50, 500) for name in rng.choice(GREENS, rng.integers(1, 5), replace=False)}
        stock = int(rng.integers(100, 1200))
        step = str(rng.choice(METHODS)).format(rng.integers(30, 150))
        lines = [f"{mass} g {name}" for name, mass in masses.items()] + [f"{stock} g water"]
        stew = Recipe(title="Stew", ingredients=lines, steps=[step])
        rows = {name: juice(name, "pressure" if "pressure" in step else "stewed") for name in masses}
        given = {
            name: mass * rng.normal(row.juice_g_per_g, row.sd)
            for (name, mass), row in zip(masses.items(), rows.values(), strict=True)
            if row
        }
        true_l = float(stew.poured_l) + sum(given.values()) / 1000
        best, low, high = stew.liquid
        held += low <= true_l <= high
        widths.append((high - low) / best)
        lost, sd = forecast(stew)
        fat = sum(
            mass * row.fat_g_per_g * rng.normal(1, 0.5)
            for (_, mass), row in zip(masses.items(), rows.values(), strict=True)
            if row
        )
        true_g = stock + sum(given.values()) + fat - rng.normal(lost, sd)
        mean, spread = states(Batch(title="Stew", version=1, cooked_on="2026-01-08"), stew)[-1].sum(SAUCE)
        sauces += abs(true_g - mean) <= 1.645 * spread
    print(f"{stews} stews: liquid in its 90 % range {100 * held / stews:.1f} %, median width {100 * np.median(widths):.0f} %; "
          f"sauce at the end {100 * sauces / stews:.1f} %")  # fmt: skip


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*[*given, *(200, 20260108)[len(given) :]])
