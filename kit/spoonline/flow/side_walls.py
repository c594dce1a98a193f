"""What the side walls of a trough hold back: how much later its front arrives than between no walls.

``trough.csv`` beside this file holds it by depth of the lock over width, stretch and flow index; ``tests/flow/side_walls.py`` makes it
again.
"""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from spoonline.flow.fluid import FloatArray
from spoonline.flow.spreading import INDICES

TROUGH = Path(__file__).with_name("trough.csv")
LOCK_DEPTHS = (0.2, 1.0)  # h0/W of the table, least and most
STRETCHES = (1.03, 6.0)  # X of the table


@functools.cache
def _table() -> Any:
    """n/depth ln(delay) over lock depth, stretch and n."""
    from scipy.interpolate import RegularGridInterpolator

    rows = np.loadtxt(TROUGH, delimiter=",", skiprows=1)
    depth, stretch, index = np.unique(rows[:, 0]), np.unique(rows[:, 1]), np.array(INDICES)
    values = (np.log(rows[:, 2:]) * index / rows[:, :1]).reshape(depth.size, stretch.size, index.size)
    axes = depth, np.log(stretch) ** 0.5, index
    # An end that rounds to just beyond the table is drawn on to.
    return RegularGridInterpolator(axes, values, "cubic", bounds_error=False, fill_value=None)


def delay(stretch: ArrayLike, n: ArrayLike, lock_depth: float) -> FloatArray:
    """How many times later the front of a trough arrives than without side walls.

    ``stretch``: front over lock length, both from the back wall, 1 to 6; ``lock_depth``: depth over width, h0/W, 0.2 to 1.

    Examples
    --------
    >>> float(delay(2.0, 1.0, 0.76)) > float(delay(4.0, 1.0, 0.76)) > 1
    True
    """
    grown = np.log(np.clip(np.asarray(stretch, dtype=float), *STRETCHES)) ** 0.5
    index = np.asarray(n, dtype=float)
    return np.asarray(np.exp(_table()((lock_depth, grown, index)) * lock_depth / index))
