"""There and back: 10,000 random fluids per instrument over its whole window; print the worst relative error of each.

Run from the repository: ``python tests/experiments/flow_round_trips.py [fluids] [sizes]`` (sizes: how many random tools of each kind).
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from flow.kitchen import worst_round_trip

if __name__ == "__main__":
    fluids = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    worst: dict[str, float] = {}
    for seed in range(int(sys.argv[2]) if len(sys.argv) > 2 else 10):
        for name, value in worst_round_trip(fluids, seed).items():
            worst[name] = max(worst.get(name, 0.0), value)
    for name, value in worst.items():
        print(f"{name:18s} {value:.1e}")
