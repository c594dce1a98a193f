"""1,000 invented fluids read with ring and spatula, 1 mm and 0.1 g of noise: do the 95 % ranges hold the truth?

Run from the repository: ``python tests/experiments/flow_synthetic_kitchen.py [fluids] [seed]``. Wanted: 93 to 97 % held.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from flow.kitchen import synthetic_kitchen

if __name__ == "__main__":
    fluids = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for name, value in synthetic_kitchen(fluids, int(sys.argv[2]) if len(sys.argv) > 2 else 1).items():
        print(f"{name:28s} {value:.3f}")
