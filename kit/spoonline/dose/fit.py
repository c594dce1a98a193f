"""The fit of a dose curve: readings of pots in, weighted lines out, in closed form on a small grid.

A reading is ln viscosity = F(B, S) + the pot + its day + what its tool has in common + its own error; F joins the base B and the starch
part S = exp(a + b x) by a power sum. Base, join p and pot-to-pot spread stand on small grids; the line (a, b) is normal in each cell, found
by Gauss-Newton steps. An odd pot is let off: the fits with and without a slip are weighed by how well they explain the readings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoonline.dose.mixture import Mixture, joined
from spoonline.dose.priors import Prior, base_grid, join_grid

FloatArray = NDArray[Any]  # of floats; numpy types what linalg gives more loosely
IntArray = NDArray[np.intp]
Belief = tuple[float, float]  # mean and spread of the ln of a viscosity [ln Pa s]

# Share of the variance from pot to pot that pots of one day have in common (judged: day sd 0.10 beside 0.12 within a day).
DAY_SHARE = 0.4
# One pot in 25 was weighed, cooked or read wrong (judged), and is then off by this much more (ln sd).
SLIP, SLIP_SD = 0.04, 0.6
# A pot this many standard deviations from what the others say is asked whether it slipped; so many are let off at most.
DOUBTED, MOST_SLIPS = 2.0, 3
# One starch in 12 is so unlike the handbooks' that its level is known 2.5 times less well (judged); asked where the pots say so.
UNLIKE_SHARE, WIDER, UNLIKE = 0.08, 2.5, 1.4
# A base e^5 times thinner than every reading is as good as none; and how near lines of one base are gathered, in spreads.
THIN, GATHER = 5.0, 0.4
DROPPED = 1e-3  # total weight of the cells that are left out of the answers
STEPS = 5  # of Gauss and Newton
WIDE = np.linspace(-4.0, 5.0, 13)  # where the spread is looked for, in its prior's own spreads
SPREADS = np.linspace(-2.1, 3.9, 5)
LEAST = 9.0  # log weight below the likeliest cell's of those that are not looked at closely
# Where the starch has this share of a reading even if there is little of it, the line is straight and one bell does.
STRAIGHT = 0.95
# Grid of the starch part where it is hidden in the base, and width of a bell on it, in spreads of the likeliest bell.
GRID, BELL = np.linspace(-5.4, 3.4, 12), 0.55


@dataclass(frozen=True, eq=False)
class Readings:
    """All readings of all pots, one row each (n,): ln concentration (-inf: no starch yet), ln viscosity, own error, spread of x by the
    dose; ``pot``, ``day`` and ``tool`` number the pots, days and tools from 0.
    """

    x: FloatArray
    ln_eta: FloatArray
    own_sd: FloatArray
    x_sd: FloatArray
    pot: IntArray
    day: IntArray
    tool: IntArray

    @property
    def pots(self) -> int:
        """How many pots."""
        return int(self.pot.max()) + 1 if self.pot.size else 0

    def alike(self, which: IntArray) -> FloatArray:
        """(n, n): 1 where two readings share the pot, day or tool."""
        return np.equal.outer(which, which).astype(float)


@dataclass(frozen=True, eq=False)
class _Cells:
    """The lines of all cells (m,): log weight with all constants, line, covariance; and how far each pot strays from the rest."""

    log_weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    noise: FloatArray
    ln_base: FloatArray
    join: FloatArray
    strays: FloatArray
    ratios: FloatArray


@dataclass(frozen=True, eq=False)
class Fitted:
    """The mixture, and of each pot how far it lies from what the others say: in standard deviations, and as a ratio."""

    mixture: Mixture
    strays: FloatArray
    ratios: FloatArray


def fit_lines(
    read: Readings, prior: Prior, level: Belief, base: Belief, tool_sd: FloatArray, shared_sd: float = 0.0
) -> Fitted:
    """Fit every cell of the grid, with up to three pots let off as slips, and a starch that is unlike what is believed of it.

    ``level`` is mean and spread of ln level at the conditions of the readings, ``base`` that of the ln base, as known beside the pots' own
    readings [ln Pa s]; ``tool_sd`` the spread of what each tool has in common, for
    the scale asked on (0: that tool's own).
    """
    first = found = _cells(read, prior, level, base, tool_sd, ())
    kept, log_odds, slipped = [found], [0.0], tuple[int, ...]()
    while read.pots > 2 and len(slipped) < min(MOST_SLIPS, read.pots - 2):
        away = np.abs(found.strays)
        away[list(slipped)] = 0.0
        if away.max() < DOUBTED:
            break
        slipped = (*slipped, int(away.argmax()))
        found = _cells(read, prior, level, base, tool_sd, slipped)
        kept.append(found)
        log_odds.append(len(slipped) * np.log(SLIP / (1 - SLIP)))
    found_level = np.average(first.mean[:, 0], weights=np.exp(first.log_weight - first.log_weight.max()))
    if abs(found_level - level[0]) > UNLIKE * level[1]:
        kept.append(_cells(read, prior, (level[0], WIDER * level[1]), base, tool_sd, slipped))
        # a wider bell is so much lower
        log_odds.append(log_odds[-1] + np.log(UNLIKE_SHARE / (1 - UNLIKE_SHARE) / WIDER))
    log_weight = np.concatenate([each.log_weight + odds for each, odds in zip(kept, log_odds, strict=True)])
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    order = np.argsort(weight)
    keep = np.sort(order[np.cumsum(weight[order]) > DROPPED])
    names = ("mean", "covariance", "noise", "ln_base", "join")
    parts = [np.concatenate([getattr(each, name) for each in kept])[keep] for name in names]
    lines = _gathered(read, weight[keep] / weight[keep].sum(), *parts)
    return Fitted(Mixture(*lines, shared_sd**2), first.strays, first.ratios)


def _gathered(
    read: Readings, weight: FloatArray, mean: FloatArray, covariance: FloatArray, noise: FloatArray, ln_base: FloatArray, join: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:  # fmt: skip
    """Lines that nearly coincide as one, with the same mean and covariance: of one base and join (thin bases are all one), in the lower
    or the upper half of the spreads, and with the same starch part to less than half its spread.
    """
    dosed = read.x[np.isfinite(read.x)]
    g = mean[:, 0] + mean[:, 1] * (float(dosed.mean()) if dosed.size else 0.0)
    middle = float(weight @ g)
    sd = float(np.sqrt(weight @ (g - middle) ** 2)) + 1e-9
    thin = ln_base < (float(read.ln_eta.min()) - THIN if read.pots else -np.inf)
    order = np.argsort(noise)
    upper = noise > noise[order][np.searchsorted(np.cumsum(weight[order]), 0.5)]
    starch = np.round((g - middle) / (GATHER * sd))
    keys = np.stack([np.where(thin, -99.0, ln_base), np.where(thin, 0.0, join), upper, starch])
    which = np.unique(keys, axis=1, return_inverse=True)[1].ravel()
    total = np.bincount(which, weight)

    def mixed(values: FloatArray) -> FloatArray:
        return np.bincount(which, weight * values) / total

    line = np.stack([mixed(mean[:, 0]), mixed(mean[:, 1])], axis=-1)
    away = mean - line[which]
    wide = covariance + away[:, :, None] * away[:, None]
    a, ab, b = (mixed(wide[:, i, j]) for i, j in ((0, 0), (0, 1), (1, 1)))
    return total, line, np.moveaxis(np.array([[a, ab], [ab, b]]), -1, 0), mixed(noise), mixed(ln_base), mixed(join)


def _cells(
    read: Readings, prior: Prior, level: Belief, base: Belief, tool_sd: FloatArray, slipped: tuple[int, ...]
) -> _Cells:
    same_pot = read.alike(read.pot)
    potted = (1 - DAY_SHARE) * same_pot + DAY_SHARE * read.alike(read.day)
    let_off = SLIP_SD**2 * same_pot * np.isin(read.pot, slipped)
    fixed = np.diag(read.own_sd**2) + let_off + read.alike(read.tool) * tool_sd[read.tool] ** 2
    start, pull = np.array([level[0], prior.exponent]), np.array([level[1], prior.exponent_sd]) ** -2.0
    ln_base, join, log_weight = _bases(read, prior, base)
    # once at a wide spread: the likeliest base, what share of each reading is starch, and the spread that the pots show
    usual = (2 * prior.batch_sd) ** 2 * potted + fixed + (prior.exponent * read.x_sd) ** 2 * same_pot
    rough = _Lines(read, start, pull, usual[None])
    found = rough.found(ln_base, join)
    first = log_weight + rough.evidence(found, ln_base, join)[0][0]
    best = int(first.argmax())
    _, slopes = rough.residual(found[:, best], ln_base[best], join[best])
    lever = slopes[0, :, 0] * prior.exponent * read.x_sd
    fixed = fixed + np.outer(lever, lever) * same_pot

    def spreads(at: FloatArray, bases: FloatArray, joins: FloatArray) -> tuple[_Lines, FloatArray, FloatArray]:
        """Lines at these ln of spreads (s,) and bases (k,), and the log evidence (s, k) with the prior of the spread."""
        lines = _Lines(read, start, pull, np.exp(2 * at)[:, None, None] * potted + fixed)
        here, away = lines.found(bases, joins), at - np.log(prior.batch_sd)
        told = -prior.batch_df * away - prior.batch_df / 2 * np.exp(-2 * away)
        return lines, here, told[:, None] + lines.evidence(here, bases, joins)[0]

    # five spreads stand for all, about where the pots put them
    wide = np.log(prior.batch_sd) + WIDE / np.sqrt(2 * prior.batch_df)
    likely = spreads(wide, ln_base[[best]], join[[best]])[2][:, 0]
    weight = np.exp(likely - likely.max())
    middle = float(weight @ wide / weight.sum())
    sd = max(float(np.sqrt(weight @ (wide - middle) ** 2 / weight.sum())), 0.02)
    some = first > first.max() - LEAST
    ln_base, join, at = ln_base[some], join[some], middle + sd * SPREADS
    lines, here, evidence = spreads(at, ln_base, join)
    log_weight = log_weight[some] + evidence + np.log(sd * (SPREADS[1] - SPREADS[0]))
    s, k = np.unravel_index(int(log_weight.argmax()), log_weight.shape)
    strays, ratios = lines.strays(here[s, k], ln_base[k], join[k], int(s), prior)
    return _Cells(*lines.split(here, ln_base, join, log_weight, np.exp(2 * at)), strays, ratios)


def _bases(read: Readings, prior: Prior, base: Belief) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Bases and joins of the cells (k,) with their log weight; the join matters only for a base that is not thin."""
    bare = ~np.isfinite(read.x)
    # the spread is not known yet: wide enough for pots that differ more than usual
    spread = np.hypot(read.own_sd, 1.4 * max(prior.batch_sd, float(np.std(read.ln_eta[bare])) if bare.any() else 0.0))
    top = float(np.min((read.ln_eta + 4 * spread)[~bare], initial=np.inf))
    ln_base, log_weight = base_grid(*base, read.ln_eta[bare], spread[bare], top)
    join, share = join_grid(prior, ln_base)
    which, of = np.nonzero(share)
    return ln_base[which], join[which, of], log_weight[which] + np.log(share[which, of])


class _Lines:
    """The line (a, b) for each covariance matrix of the readings (s, n, n), in cells of base and join (k,).

    ``start`` and ``pull`` are the prior's mean and precision.
    """

    def __init__(self, read: Readings, start: FloatArray, pull: FloatArray, cov: FloatArray) -> None:
        self.read, self.start, self.pull, self.cov = read, start, pull, cov
        self.inverse = np.linalg.inv(cov) if read.x.size else cov
        self.scale = np.linalg.slogdet(cov)[1] if read.x.size else np.zeros(len(cov))
        self.dosed = np.isfinite(read.x)
        self.x = np.where(self.dosed, read.x, 0.0)

    def residual(self, line: FloatArray, ln_base: ArrayLike, join: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """What lines (..., 2) leave of the readings (..., n), and the slopes of those in (a, b) (..., n, 2)."""
        ln_base, join = (np.asarray(each, dtype=float)[..., None] for each in (ln_base, join))
        starch = np.where(self.dosed, line[..., :1] + line[..., 1:] * self.x, -np.inf)
        value, share = joined(starch, ln_base, join)
        return self.read.ln_eta - value, np.stack([share, share * self.x], axis=-1)

    def _through(self, rows: FloatArray) -> FloatArray:
        """Rows (s, ..., n) through the inverse of their covariance matrix."""
        flat = rows.reshape(len(rows), math.prod(rows.shape[1:-1]), rows.shape[-1])
        return np.asarray((flat @ self.inverse).reshape(rows.shape))

    def _normal(
        self, line: FloatArray, ln_base: ArrayLike, join: ArrayLike
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Hessian (..., 2, 2), gradient (..., 2) and sum of squares (...) at lines (s, ..., 2), by Gauss and Newton."""
        left, slopes = self.residual(line, ln_base, join)
        away, pulled = line - self.start, self._through(left)
        hessian = self._through(np.swapaxes(slopes, -1, -2)) @ slopes + np.diag(self.pull)
        gradient = (pulled[..., None, :] @ slopes)[..., 0, :] - self.pull * away
        return hessian, gradient, (left * pulled).sum(axis=-1) + (away**2 * self.pull).sum(axis=-1)

    def found(self, ln_base: FloatArray, join: FloatArray) -> FloatArray:
        """The likeliest lines (s, k, 2)."""
        line = np.broadcast_to(self.start, (len(self.cov), ln_base.size, 2)).copy()
        for _ in range(STEPS if self.read.x.size else 0):
            hessian, gradient, _ = self._normal(line, ln_base, join)
            line = line + np.clip(np.linalg.solve(hessian, gradient[..., None])[..., 0], -4.0, 4.0)
        return line

    def evidence(self, line: FloatArray, ln_base: FloatArray, join: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Log of how well each cell explains the readings (s, k), its line averaged over; and the line's precision (s, k, 2, 2)."""
        hessian, _, squares = self._normal(line, ln_base, join)
        return -(squares + self.scale[:, None] + np.linalg.slogdet(hessian)[1]) / 2, hessian

    def split(
        self, line: FloatArray, ln_base: FloatArray, join: FloatArray, log_weight: FloatArray, noise: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:  # fmt: skip
        """Log weight, line, covariance, noise, base and join of all cells, where the starch is hidden in the base as several bells.

        There the readings bound the starch from above only, and one bell would be wrong: the starch part at the middle of the readings
        runs over a grid, each with its own likeliest slope.
        """
        log_fit, hessian = self.evidence(line, ln_base, join)
        shape, x = np.linalg.inv(hessian), self.x[self.dosed]
        h = np.array([1.0, float(x.mean()) if x.size else 0.0])
        sd = np.sqrt(shape @ h @ h)
        least = (line[..., :1] + line[..., 1:] * (x if x.size else np.zeros(1)) - 2 * sd[..., None]).min(axis=(0, -1))
        likely = log_weight.max(axis=0) > log_weight.max() - LEAST
        bent = (joined(least, ln_base, join)[1] < STRAIGHT) & likely & bool(x.size)
        noises, bases, joins = (np.broadcast_to(each, log_weight.shape) for each in (noise[:, None], ln_base, join))
        kept = [each[:, ~bent].reshape(-1, *each.shape[2:]) for each in (log_weight, line, shape, noises, bases, joins)]
        if bent.any():
            sd, shape = sd[:, bent, None], shape[:, bent]
            # the likeliest change of the line for one spread of the starch
            along = (shape @ h)[:, :, None] / sd[..., None]
            across, of = np.array([-h[1], 1.0]), (ln_base[bent, None], join[bent, None])
            at = line[:, bent, None] + GRID[:, None] * along
            for _ in range(2):
                hessian, gradient, _ = self._normal(at, *of)
                at = at + ((gradient @ across) / (hessian @ across @ across))[..., None] * across
            hessian, _, squares = self._normal(at, *of)
            stiff = hessian @ across @ across
            # the cell's own evidence holds the same constants
            step = np.log((GRID[1] - GRID[0]) * sd) - np.log(2 * np.pi) / 2 - self.scale[:, None, None] / 2
            part = (log_weight - log_fit)[:, bent, None] - (squares + np.log(stiff)) / 2 + step
            # bells on a grid are wider than what they stand for: drawn together about their middle
            share = np.exp(part - part.max(axis=-1, keepdims=True))
            share /= share.sum(axis=-1, keepdims=True)
            middle = (share * GRID).sum(axis=-1, keepdims=True)
            spread = np.sqrt((share * (GRID - middle) ** 2).sum(axis=-1, keepdims=True))
            bell = np.minimum(BELL, 0.5 * spread)
            draw = np.sqrt(1 - (bell / np.maximum(spread, 1e-9)) ** 2) - 1
            at = at + (draw * (GRID - middle))[..., None] * along
            wide = (bell**2)[..., None, None] * along[..., None] * along[..., None, :]
            wide = wide + np.outer(across, across) / stiff[..., None, None]
            same = (np.broadcast_to(each[:, bent, None], part.shape) for each in (noises, bases, joins))
            bells = zip(kept, (part, at, wide, *same), strict=True)
            kept = [np.concatenate([a, b.reshape(-1, *b.shape[3:])]) for a, b in bells]
        return tuple(kept)  # type: ignore[return-value]  # six arrays

    def strays(
        self, line: FloatArray, ln_base: float, join: float, spread: int, prior: Prior
    ) -> tuple[FloatArray, FloatArray]:
        """How far each pot lies from what the others say, in one cell: in standard deviations, and as a ratio.

        The inverse of the covariance that the unknown line leaves among the readings holds all leave-one-out answers at once.
        """
        pots = self.read.pots
        if pots < 2:
            return np.zeros(pots), np.ones(pots)
        residual, slopes = self.residual(line, ln_base, join)
        precision = np.linalg.inv(self.cov[spread] + (slopes / self.pull) @ slopes.T)
        pulled = precision @ (residual + slopes @ (line - self.start))
        own = np.equal.outer(np.arange(pots), self.read.pot).astype(float)
        total, size = own @ pulled, ((own @ precision) * own).sum(axis=1)
        z, df = total / np.sqrt(size), prior.batch_df + pots
        # the spread itself was found with the pot among them: as Student's deletion residual
        return z * np.sqrt((df - 1) / np.maximum(df - z**2, 1.0)), np.exp(total / size)
