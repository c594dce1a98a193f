"""Will it cool in time? A planning estimate for the slowest point of a pot or pan, against the limits of a chosen code."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from spoonline.keeping.heat import Food
from spoonline.keeping.places import USUAL_RULE, Container, CoolingRule, Surroundings, said, studies
from spoonline.measures import Range

Array = npt.NDArray[np.float64]
Films = tuple[float, float, float]  # heat transfer at the lower face, the upper face and the side [W/m2 K]


class Grid(NamedTuple):
    """A food cut into cells: upright planes across the depth, and rings (round) or planes (long) outward from the middle.

    ``depth_m`` and ``half_width_m`` in m; without a half width heat leaves through the two faces only.
    """

    depth_m: float
    half_width_m: float | None = None
    round: bool = True
    cells: int = 25  # odd, so that one lies in the middle

    def run(
        self, start: Array | float, ambient_c: float, seconds: Array, h: Films, conductivity: float, heat: float, top_c: float | None = None
    ) -> Array:  # fmt: skip
        """Let it cool from a start [C] under constant surroundings; temperatures [C] of shape (times, planes, rings).

        ``h``: heat transfer at the lower face, the upper face and the side [W/m2 K]; ``conductivity`` and ``heat``: of the food
        [W/m K] and per volume [J/m3 K]; ``top_c``: what the upper face sees, where that is another temperature [C].

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
        warmed = np.zeros_like(excess)
        if top_c is not None and h[1] > 0:
            d = self.depth_m / self.cells
            warmed[-1] = (top_c - ambient_c) / (1 / h[1] + d / (2 * conductivity)) / (d * heat)
        rest = -(vec_u.T @ (warmed * root) @ vec_o) / (lam_u[:, None] + lam_o[None, :]) if warmed.any() else 0.0
        return np.asarray(ambient_c + (vec_u @ (rest + decay * (modes - rest)) @ vec_o.T) / root)


def _matrix(edges: Array, h: tuple[float, float], conductivity: float, heat: float, ring: bool) -> tuple[Array, Array]:
    """The change of each cell by its neighbours, made symmetric; faces of the food join half a cell to the surroundings."""
    d = edges[1] - edges[0]
    volumes, areas = (np.diff(edges**2) / 2, edges) if ring else (np.diff(edges), np.ones(len(edges)))
    half = d / (2 * conductivity)
    low, high = (area / (1 / film + half) if film > 0 else 0.0 for film, area in zip(h, areas[[0, -1]], strict=True))
    joined = np.array([low, *(conductivity * areas[1:-1] / d), high])
    made: Array = -np.diag((joined[:-1] + joined[1:]) / volumes)
    off = joined[1:-1] / np.sqrt(volumes[:-1] * volumes[1:])
    return (made + np.diag(off, 1) + np.diag(off, -1)) / heat, volumes


HOURS = 96.0
DEEPEST_CM = 40.0
# After so many minutes it is looked at.
MINUTES = np.concatenate([np.arange(0, 12 * 60, 2.0), np.arange(12 * 60, HOURS * 60 + 1, 20.0)])
LOWER_BOUND = said("lower bound")
# From the food to the wall, of water 400 W/m2 K (memory, 200 to 1000), falling with the fourth root of viscosity as free convection
# does (memory); of what is stirred by hand the film between two strokes rules, hence the wide range (judged).
WATER_W_M2_K, WATER_PA_S, _SPREAD = 400.0, 0.001, {"best": 1.0, "low": 0.4, "high": 2.5}
THIN_PA_S = 0.05  # the foods of the published trials were thicker (judged)


def inside_w_m2_k(viscosity_pa_s: float) -> Range:
    """Heat transfer from a stirred food to its wall [W/m2 K] by its viscosity [Pa s]: from thin to thick it falls to a tenth.

    Examples
    --------
    >>> [f"{inside_w_m2_k(each):.2g}" for each in (0.001, 3.0)]
    ['400 (160-1000)', '54 (22-140)']
    """
    said.refuse(not 1e-4 <= viscosity_pa_s <= 1e4, "how thick", viscosity=viscosity_pa_s)
    best = WATER_W_M2_K * (viscosity_pa_s / WATER_PA_S) ** -0.25
    return Range(*(best * _SPREAD[end] for end in ("best", "low", "high")))


class Forecast(NamedTuple):
    """Temperature of the slowest point [C] over minutes from the start of cooling, at usual, strongest and weakest heat transfer.

    ``hours``: from passing the rule's start (a later stage that is counted apart: from the end of the first) to each stage [h];
    infinite where it never gets there within four days. ``tested``: the published trial that missed at such a depth and place.
    """

    minutes: Array
    centre_c: Array
    quick_c: Array
    slow_c: Array
    rule: CoolingRule
    hours: tuple[Range, ...]
    tested: str = ""

    @property
    def chance(self) -> str:
        """Whether it passes: "meets", "misses", or "may miss" where the range of the heat transfer or a published trial decides."""
        pairs = list(zip(self.hours, (limit for _, limit in self.rule.stages), strict=True))
        if all(took.high <= limit for took, limit in pairs):
            return "may miss" if self.tested else "meets"
        return "misses" if any(took.low > limit for took, limit in pairs) else "may miss"

    @property
    def text(self) -> str:
        """The answer in words, with units and ranges."""
        ends = [took.high if self.chance == "may miss" else took.low for took in self.hours]
        missed = [n for n, (end, (_, limit)) in enumerate(zip(ends, self.rule.stages, strict=True), 1) if end > limit]
        every = "both stages" if len(ends) > 1 else "the limit"
        which = every if len(missed) in (0, len(ends)) else f"stage {missed[0]}"
        head = {"meets": "would meet", "misses": "would miss", "may miss": "may miss"}[self.chance]
        pairs = zip(self.hours, self.rule.spans, strict=True)
        parts = [f"{begin:g} to {c:g} C in {_hours(took)} (limit {limit:g} h)" for took, (begin, c, limit) in pairs]
        trial = f" A published trial missed there: {self.tested}." if self.tested else ""
        return f"On this estimate it {head} {which}: {'; '.join(parts)}.{trial}"


def _hours(took: Range) -> str:
    best, low, high = (f"{each:.1f} h" if math.isfinite(each) else f"longer than {HOURS:g} h" for each in took)
    return best if low == high else f"{best} ({low.removesuffix(' h')} to {high})"


Phases = Sequence[tuple[Surroundings, float | None]]


def forecast(
    food: Food, container: Container, phases: Phases, *, start_c: float = 90.0,
    stirred_pa_s: float | None = None, rule: CoolingRule = USUAL_RULE,
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
    stirred_pa_s : float, optional
        Viscosity of what is stirred all the while, or so thin that it turns over by itself [Pa s]; without it the food stands still.
    rule : CoolingRule, optional
        The US model Food Code unless given.

    Raises
    ------
    RecipeError
        If there is no phase, a phase but the last has no time, or the start is not above the rule's.

    Notes
    -----
    Finite differences across the depth, and across the width where it is known; the top of a pan in a bath sees the room. Stirred: one
    temperature, tau = density c V / sum(h A). Properties constant at 30 C. The range is that of the heat transfer (memory), not of
    the model. Valid for food without air or ice in it. Where a published trial missed, it never says "meets".

    Examples
    --------
    >>> thick = Food(0.56, 1020, 3921.6)
    >>> rack = Surroundings("air", 3.0, Range(15, 15, 15))
    >>> print([f"{each.best:.2f}" for each in forecast(thick, Container(2.54), [(rack, None)], start_c=57.0).hours])
    ['1.20', '3.51']
    """
    said.refuse(not phases or any(minutes is None or not minutes > 0 for _, minutes in phases[:-1]), "no place")
    said.refuse(not rule.start_c <= start_c <= 110, "start", start=start_c, clock=rule.start_c)
    curves = [_curve(food, container, phases, end, start_c, MINUTES, stirred_pa_s) for end in ("best", "high", "low")]
    took = tuple(map(Range._make, zip(*(_took(MINUTES, curve, rule) for curve in curves), strict=True)))
    tested = _tested(container.depth_cm, phases[-1][0], stirred_pa_s)
    best, quick, slow = curves
    return Forecast(MINUTES, best, quick, slow, rule, took, tested)


def _took(minutes: Array, curve: Array, rule: CoolingRule) -> list[float]:
    """How long each stage took on a curve [h], infinite where it never got there."""
    passed = [passed_at(minutes, curve, c) / 60 for c in (rule.start_c, *(c for c, _ in rule.stages))]
    begins = passed[:-1] if rule.apart else [passed[0]] * len(rule.stages)
    return [end - begin if math.isfinite(end) else math.inf for begin, end in zip(begins, passed[1:], strict=True)]


def _tested(depth_cm: float, around: Surroundings, stirred_pa_s: float | None) -> str:
    """The published trial that missed at such a depth and place; none of a thin liquid that turns over, for none was tried."""
    if stirred_pa_s is not None and stirred_pa_s < THIN_PA_S:
        return ""
    for row in studies():
        there = any(each in around.name for each in row["place"].split(";") if each)
        if there and depth_cm >= float(row["depth_cm"]) and not row["outcome"].startswith("met"):
            return f"{row['food']}, {row['depth_cm']} cm, {row['method']} ({row['source']})"
    return ""


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
    food: Food, pot: Container, phases: Phases, end: str, start_c: float, minutes: Array, stirred_pa_s: float | None
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
        if stirred_pa_s is None:
            k, heat = food.conductivity_w_m_k, food.heat_j_m3_k
            field = grid.run(state, air, seconds, films, k, heat, around.top_c)
        else:
            tau_s, end_c = _lumped(food, pot, around, films, getattr(inside_w_m2_k(stirred_pa_s), end))
            field = end_c + (state - end_c) * np.exp(-seconds / tau_s)[:, None, None]
        pieces.append(field.max(axis=(1, 2))[: len(here)])
        state, begin = field[-1], until
    return np.concatenate(pieces)


def _lumped(food: Food, pot: Container, around: Surroundings, outside: Films, inside: float) -> tuple[float, float]:
    """Time constant [s] and end [C] of a stirred pot: heat held over loss, per m2 of base; the side counts by its perimeter."""
    bottom, top, side = (1 / (1 / each + 1 / inside) if each else 0.0 for each in outside)
    depth = pot.depth_cm / 100
    loss = bottom + top + side * sum(200 / span for span in pot.spans_cm) * depth
    warm = 0.0 if around.top_c is None else around.top_c - around.ambient_c
    return food.heat_j_m3_k * depth / loss, around.ambient_c + warm * top / loss


def deepest_cm(
    food: Food, container: Container, around: Surroundings, rule: CoolingRule, stirred_pa_s: float | None = None
) -> float | None:
    """Find the deepest layer [cm, to 1 mm] that would pass at the weakest heat transfer of its range.

    None if 0.5 cm would not, infinite if 40 cm would; never as deep as one that missed in a published trial there. The food starts
    at the rule's start; time grows with depth.
    """
    minutes = np.arange(0, 60 * sum(hours for _, hours in rule.stages) + 1, 5.0)

    def passes(depth_cm: float) -> bool:
        pot = replace(container, depth_cm=depth_cm)
        curve = _curve(food, pot, [(around, None)], "low", rule.start_c, minutes, stirred_pa_s)
        meets = all(took <= hours for took, (_, hours) in zip(_took(minutes, curve, rule), rule.stages, strict=True))
        return meets and not _tested(depth_cm, around, stirred_pa_s)

    low, high = 0.5, DEEPEST_CM
    if not passes(low):
        return None
    if passes(high):
        return math.inf
    while high - low > 0.1:
        middle = (low + high) / 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low
