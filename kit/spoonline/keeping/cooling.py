"""Will it cool in time? A planning estimate for the slowest point of a pot or pan, against the limits of a chosen code."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt

from spoonline.keeping.heat import Food
from spoonline.keeping.places import Container, CoolingRule, Surroundings, usual_rule
from spoonline.measures.errors import RecipeError
from spoonline.measures.ranges import Range

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Grid:
    """A food cut into cells: upright planes across the depth, and rings (round) or planes (long) outward from the middle.

    ``depth_m`` and ``half_width_m`` in m; without a half width heat leaves through the two faces only.
    """

    depth_m: float
    half_width_m: float | None = None
    round: bool = True
    cells: int = 25  # odd, so that one lies in the middle

    def run(
        self, start: Array | float, ambient_c: float, seconds: Array, h: tuple[float, float, float], conductivity: float, heat: float
    ) -> Array:  # fmt: skip
        """Let it cool from a start [C] under constant surroundings; temperatures [C] of shape (times, planes, rings).

        ``h``: heat transfer at the lower face, the upper face and the side [W/m2 K]; ``conductivity`` and ``heat``: of the food
        [W/m K] and per volume [J/m3 K].

        Notes
        -----
        Central differences on equal cells; in time exact, because the two directions part: the exponential of their sum is the
        product of their exponentials.
        """
        up, _ = _matrix(np.linspace(0, self.depth_m, self.cells + 1), h[:2], conductivity, heat, ring=False)
        out, width = np.zeros((1, 1)), np.ones(1)
        if self.half_width_m is not None:
            edges = np.linspace(0, self.half_width_m, self.cells + 1)
            out, width = _matrix(edges, (0.0, h[2]), conductivity, heat, ring=self.round)
        excess = np.broadcast_to(np.asarray(start, float), (len(up), len(out))) - ambient_c
        root = np.sqrt(width)
        lam_u, vec_u = np.linalg.eigh(up)
        lam_o, vec_o = np.linalg.eigh(out)
        modes = vec_u.T @ (excess * root) @ vec_o
        decay = np.exp(np.multiply.outer(seconds, lam_u[:, None] + lam_o[None, :]))
        found: Array = ambient_c + (vec_u @ (decay * modes) @ vec_o.T) / root
        return found


def _matrix(
    edges: Array, h: tuple[float, float], conductivity: float, heat: float, *, ring: bool
) -> tuple[Array, Array]:
    """The change of each cell by its neighbours, made symmetric; faces of the food join half a cell to the surroundings."""
    d = edges[1] - edges[0]
    volumes, areas = (np.diff(edges**2) / 2, edges) if ring else (np.diff(edges), np.ones(len(edges)))
    films = [
        area / (1 / film + d / (2 * conductivity)) if film > 0 else 0.0
        for film, area in zip(h, areas[[0, -1]], strict=True)
    ]
    joined = np.concatenate([films[:1], conductivity * areas[1:-1] / d, films[1:]])
    made: Array = -np.diag((joined[:-1] + joined[1:]) / volumes)
    off = joined[1:-1] / np.sqrt(volumes[:-1] * volumes[1:])
    return (made + np.diag(off, 1) + np.diag(off, -1)) / heat, volumes


HOURS = 96.0
LOWER_BOUND = (
    "A planning estimate for the slowest point, and a lower bound: published pots cooled more slowly than such a model, or missed "
    "a limit that it met. It is no record: log a probe reading at the centre at 2 h and at 6 h."
)
INSIDE_W_M2_K = 400.0  # from a stirred or thin liquid to the wall (memory, 200 to 1000)


@dataclass(frozen=True)
class Forecast:
    """Temperature of the slowest point [C] over minutes from the start of cooling, at usual, strongest and weakest heat transfer.

    ``hours``: from passing the rule's start to each stage [h]; infinite where it never gets there within four days.
    """

    minutes: Array
    centre_c: Array
    quick_c: Array
    slow_c: Array
    rule: CoolingRule
    hours: tuple[Range, ...]

    @property
    def chance(self) -> str:
        """Whether it passes: "meets", "misses", or "may miss" where the range of the heat transfer decides."""
        pairs = list(zip(self.hours, (limit for _, limit in self.rule.stages), strict=True))
        if all(took.high <= limit for took, limit in pairs):
            return "meets"
        return "misses" if any(took.low > limit for took, limit in pairs) else "may miss"

    @property
    def text(self) -> str:
        """The answer in words, with units and ranges."""
        stages = list(zip(self.hours, self.rule.stages, strict=True))
        ends = [took.high if self.chance == "may miss" else took.low for took in self.hours]
        missed = [n for n, (end, (_, limit)) in enumerate(zip(ends, self.rule.stages, strict=True), 1) if end > limit]
        every = "both stages" if len(ends) > 1 else "the limit"
        which = every if len(missed) in (0, len(ends)) else f"stage {missed[0]}"
        head = {"meets": "would meet", "misses": "would miss", "may miss": "may miss"}[self.chance]
        parts = [
            f"{self.rule.start_c:g} to {c:g} C in {_hours(took)} (limit {limit:g} h)" for took, (c, limit) in stages
        ]
        return f"On this estimate it {head} {which}: {'; '.join(parts)}."


def _hours(took: Range) -> str:
    best, low, high = (f"{each:.1f}" if math.isfinite(each) else "more than 96" for each in took)
    return f"{best} h ({low} to {high} h)"


Phase = tuple[Surroundings, float | None]


def forecast(
    food: Food, container: Container, phases: Sequence[Phase], *, start_c: float = 90.0, stirred: bool = False,
    rule: CoolingRule | None = None,
) -> Forecast:  # fmt: skip
    """Forecast how a food cools.

    Parameters
    ----------
    food, container : Food, Container
        What cools, and how it stands.
    phases : sequence of (Surroundings, float or None)
        Where it stands, and for how many minutes; the last one for as long as it takes (None).
    start_c : float
        Temperature when it is set to cool [C], the same throughout.
    stirred : bool
        True for a thin liquid that turns over by itself, or a pot that is stirred all the while.
    rule : CoolingRule, optional
        The US model Food Code unless given.

    Raises
    ------
    RecipeError
        If there is no phase, a phase but the last has no time, or the start is not above the rule's.

    Notes
    -----
    Finite differences across the depth, and across the width where it is known. Stirred: one temperature,
    tau = density c V / sum(h A). Properties constant at 30 C. The range is that of the heat transfer (memory), not
    of the model. Valid for food without air or ice in it.

    Examples
    --------
    >>> thick = Food(0.56, 1020, 3921.6)
    >>> rack = Surroundings("air", 3.0, Range(15, 15, 15))
    >>> print([f"{each.best:.2f}" for each in forecast(thick, Container(2.54), [(rack, None)], start_c=57.0).hours])
    ['1.20', '3.51']
    """
    rule = rule or usual_rule()
    if not phases or any(minutes is None or not minutes > 0 for _, minutes in phases[:-1]):
        raise RecipeError("A place to cool is wanted, and minutes above 0 for each but the last.")
    if not rule.start_c <= start_c <= 110:
        raise RecipeError(
            f"A start at {start_c:g} C came; {rule.start_c:g} to 110 C is wanted, for the clock starts at {rule.start_c:g} C."
        )
    minutes = _times()
    centre, quick, slow = curves = [
        _curve(food, container, phases, end, start_c, minutes, stirred) for end in ("best", "high", "low")
    ]
    since = [passed_at(minutes, curve, rule.start_c) for curve in curves]
    took = tuple(
        Range(*((passed_at(minutes, curve, c) - begin) / 60 for curve, begin in zip(curves, since, strict=True)))
        for c, _ in rule.stages
    )
    return Forecast(minutes, centre, quick, slow, rule, took)


@cache
def _times() -> Array:
    return np.concatenate([np.arange(0, 12 * 60, 2.0), np.arange(12 * 60, HOURS * 60 + 1, 20.0)])


def passed_at(minutes: Array, curve: Array, limit_c: float) -> float:
    """The last time the slowest point passes a temperature on its way down, between two times by a straight line."""
    above = np.flatnonzero(curve > limit_c)
    if len(above) == 0:
        return 0.0
    last = int(above[-1])
    if last == len(curve) - 1:
        return math.inf
    share = (curve[last] - limit_c) / (curve[last] - curve[last + 1])
    return float(minutes[last] + share * (minutes[last + 1] - minutes[last]))


def _curve(
    food: Food, pot: Container, phases: Sequence[Phase], end: str, start_c: float, minutes: Array, stirred: bool
) -> Array:
    """The slowest point at one end of the range of the heat transfer [C]."""
    # The long way out of a long pan hardly helps; leaving it out errs to the slow side.
    half = min(pot.spans_cm) / 200 if pot.spans_cm else None
    # A slab costs next to nothing; in two directions fewer cells do, to 0.3 % of the time.
    grid = Grid(pot.depth_cm / 100, half, pot.diameter_cm is not None, 25 if half else 65)
    state = np.full((1, 1), start_c)
    pieces, begin = [], 0.0
    for number, (around, lasting) in enumerate(phases, start=1):
        until = math.inf if lasting is None or number == len(phases) else begin + lasting
        here = minutes[(minutes >= begin) & (minutes < until)]
        seconds = 60 * ((here if math.isinf(until) else np.append(here, until)) - begin)
        films, air = pot.films(around, getattr(around.h, end)), around.ambient_c
        if stirred:
            field = air + (state - air) * np.exp(-seconds / _tau_s(food, pot, films))[:, None, None]
        else:
            field = grid.run(state, air, seconds, films, food.conductivity_w_m_k, food.heat_j_m3_k)
        pieces.append(field.max(axis=(1, 2))[: len(here)])
        state, begin = field[-1], until
    return np.concatenate(pieces)


def _tau_s(food: Food, pot: Container, outside: tuple[float, float, float]) -> float:
    """Time constant of a stirred pot: heat held over loss, per m2 of base; the side counts by its perimeter."""
    bottom, top, side = (1 / (1 / each + 1 / INSIDE_W_M2_K) if each else 0.0 for each in outside)
    depth = pot.depth_cm / 100
    return food.heat_j_m3_k * depth / (bottom + top + side * sum(200 / span for span in pot.spans_cm) * depth)


def deepest_cm(
    food: Food, container: Container, around: Surroundings, rule: CoolingRule, stirred: bool = False
) -> float | None:
    """Find the deepest layer [cm, to 1 mm] that would pass at the weakest heat transfer of its range; None if 0.5 cm would not.

    The food starts at the rule's start; time grows with depth.
    """
    due = 60 * np.array([hours for _, hours in rule.stages])

    def passes(depth_cm: float) -> bool:
        pot = replace(container, depth_cm=depth_cm)
        reached = _curve(food, pot, [(around, None)], "low", rule.start_c, due, stirred)
        return all(celsius <= limit_c for celsius, (limit_c, _) in zip(reached, rule.stages, strict=True))

    low, high = 0.5, 40.0
    if not passes(low):
        return None
    if passes(high):
        return high
    while high - low > 0.1:
        middle = (low + high) / 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low
