"""Would three pots of each version say that two versions differ: when they are one, and when they are not?

    python tests/experiments/trials_compare.py [pairs]

Pots of one version differ by 15 % (ln sd); the viscosity of each is read to 10 %.
"""

from __future__ import annotations

import sys

import numpy as np

from spoonline.dose.compare import compare_pots


def shares(
    ratio: float, pairs: int, pots: int = 3, spread: float = 0.15, reading: float = 0.10, seed: int = 1
) -> dict[str, float]:
    """Share of pairs of versions that are called different, the same, both and neither."""
    rng = np.random.default_rng([seed, int(1000 * ratio), pots])
    sd = float(np.hypot(spread, reading))
    count = {"different": 0, "same": 0, "both": 0, "neither": 0}
    for _ in range(pairs):
        found = compare_pots(
            np.exp(sd * rng.normal(size=pots)).tolist(), (ratio * np.exp(sd * rng.normal(size=pots))).tolist()
        )
        key = (
            "both"
            if found.different and found.same
            else "different"
            if found.different
            else "same"
            if found.same
            else "neither"
        )
        count[key] += 1
    return {key: value / pairs for key, value in count.items()}


if __name__ == "__main__":
    pairs = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    for pots in (3, 5):
        for ratio in (1.0, 1.1, 1.5, 2.0):
            found = shares(ratio, pairs, pots)
            print(
                f"{pots} + {pots} pots, truly x{ratio:g}, {pairs} pairs: "
                + ", ".join(f"{key} {100 * value:.1f} %" for key, value in found.items())
            )
