"""The fit of a dose curve: readings of pots in, weighted lines out, in closed form at a few well spread points.

A reading is ln viscosity = F(B, S) + the pot + its day + what its tool has in common + its own error; F joins the base B and the starch
part S = exp(a + b x) by a power sum. Base, join and pot-to-pot spread run over a fixed lattice that is moved to where the readings put them;
at each of its points the line (a, b) is normal, and every slip of one pot or two is summed over in closed form.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from spoonline.dose.checked import PotReadings
from spoonline.dose.mixture import FloatArray, Mixture, joined
from spoonline.dose.priors import JOIN_ENDS, Belief, Prior, of_cells

IntArray = NDArray[np.intp]
Four = tuple[FloatArray, FloatArray, FloatArray, FloatArray]

# Share of the variance from pot to pot that pots of one day have in common (judged: day sd 0.10 beside 0.12 within a day).
DAY_SHARE = 0.4
# One pot in 25 was weighed, cooked or read wrong (judged), and is then off by this much more (ln sd).
SLIP, SLIP_SD = 0.04, 0.6
# Two slips at once are thought of among so many of the likeliest, with these odds at least.
SUSPECTS, SUSPECTED = 5, 0.015
# Slips of less weight are left out of the full lattice.
SELDOM = 5e-4
# One starch in 12 is so unlike the handbooks' that its level is known 2.5 times less well (judged).
UNLIKE_SHARE, WIDER = 0.08, 2.5
# Points of the lattice: more where fewer did not find a place to stand; and so many times more where the starch is hidden in the base, so
# that its part needs points of its own.
POINTS, MORE = (64, 256, 1024), 4
# The lattice is moved until the points weigh at least this evenly, the first ones more so, and so often at most; it is drawn so much wider
# than what it finds.
EVEN_AT_ONCE = 0.6
EVEN, MOVES, WIDE = 0.3, 5, 1.3
# The lattice shrinks to this share of its variance in one move at most.
LEAST = 0.02
STEPS, MORE_STEPS = 2, 3  # of Gauss and Newton: from a near line, from a far one
# The starch is hidden where its share of a reading changes by so much between likely lines; its points stand so much further on the low
# side, and each is a bell as wide as this share of the likeliest one's.
HIDDEN, LOW_SIDE, BELL = 0.03, 1.5, 0.3
# Points that have a place of their own for the starch stand for so much less of the base.
NEAR_APART = 0.1


@lru_cache
def _lattice(points: int, sides: int) -> tuple[FloatArray, FloatArray]:
    """Normal scores of points (points, sides) that fill all sides evenly, a Kronecker sequence on the generalised golden ratio; and the
    log of the room that each stands for."""
    ratio = 2.0
    for _ in range(40):
        ratio = (1 + ratio) ** (1 / sides)
    at = np.arange(points) + 0.5
    steps = ratio ** -np.arange(1.0, sides)
    scores = np.asarray(ndtri(np.column_stack([at / points, (0.5 + np.outer(at, steps)) % 1.0])))
    return scores, (scores**2).sum(axis=1) / 2


Fitted = tuple[Mixture, FloatArray, FloatArray]


@dataclass(frozen=True, eq=False)
class _Points:
    """Points of the lattice (m,): ln base, join, ln pot-to-pot spread, and the log density of what was believed of them."""

    ln_base: FloatArray
    join: FloatArray
    ln_s: FloatArray
    log_prior: FloatArray


@dataclass(frozen=True, eq=False)
class _Slips:
    """Every slip c of one pot or two (2, c), with a usual and an unlike starch w, at each point m: log weight of the point (m,), share
    (m, w, c), covariance without slips, how far the line moves (m, w, f, c), what the slips add to the covariance, how the line leans for
    a thicker base; ``alone`` of each pot.
    """

    pots: IntArray
    log_weight: FloatArray
    share: FloatArray
    cov: FloatArray
    moved: FloatArray
    ends: tuple[FloatArray, FloatArray]
    stiff: tuple[FloatArray, FloatArray]
    lean: FloatArray
    alone: tuple[FloatArray, FloatArray]

    def lines(self, line: FloatArray, free: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean (m, 2) and covariance (m, 2, 2) of the line at each point, all slips together."""
        share = self.share[:, :, None]
        mean = (share * self.moved).sum(axis=(1, 3))
        parts = [(self.moved - mean[:, None, :, None]) * np.sqrt(share)]
        parts += [end * np.sqrt(share / stiff[:, :, None]) for end, stiff in zip(self.ends, self.stiff, strict=True)]
        flat = np.concatenate([np.swapaxes(each, 1, 2).reshape(*mean.shape, -1) for each in parts], axis=-1)
        cov = (self.share.sum(axis=2)[..., None, None] * self.cov).sum(axis=1) + flat @ np.swapaxes(flat, 1, 2)
        return line + mean @ free.T, free @ cov @ free.T


def fit_lines(
    read: PotReadings, x: FloatArray, x_sd: FloatArray, prior: Prior, level: Belief, base: Belief, tool_sd: FloatArray, shared_sd: float
) -> Fitted:  # fmt: skip
    """Fit a line at every point of the lattice: the mixture, and of each pot how far it lies from what the others say, in standard
    deviations and as a ratio.

    ``x`` is ln concentration of each reading (-inf: no starch yet), ``x_sd`` its spread by the dose; ``level`` is mean and spread of
    ln level at the conditions of the readings, ``base`` that of the ln base, as known beside the pots' own readings [ln Pa s];
    ``tool_sd`` the spread of what each tool has in common, for the scale asked on (0: that tool's own).
    """
    for points in POINTS:
        fitted = _fit_on(points, _Model(read, x, x_sd, prior, level, base, tool_sd), shared_sd)
        weight = fitted[0].weight
        if not x.size or EVEN * weight.size * float(weight @ weight) < 1:
            break
    return fitted


def _fit_on(points: int, model: "_Model", shared_sd: float) -> Fitted:
    """Fit a line at every point of a lattice of so many."""
    lattice, room = _lattice(points, 3)
    (centre, root), line, free = model.known(), np.tile(model.start, (points, 1)), np.eye(2)
    for move in range(MOVES):
        z = centre + lattice @ root.T
        at = model.points(z)
        line, cov = model.likeliest(at, line, free, STEPS if move else MORE_STEPS)
        slips = model.explained(at, line, free)
        weight = _shares(slips.log_weight + room)
        hidden = model.hidden(at, line, cov, weight)
        # where the starch is hidden, the lattice moves once at least
        wanted = (EVEN if move else 1.0 if hidden else EVEN_AT_ONCE) * points
        done = not model.x.size or wanted * float(weight @ weight) < 1
        if done and not hidden:
            break
        # where the next points lie, and a guess of their lines
        middle, centre = weight @ line, weight @ z
        away = z - centre
        spread = (weight * away.T) @ away + LEAST * root @ root.T
        slope = np.linalg.solve(spread, (weight * away.T) @ line)
        root = WIDE * np.linalg.cholesky(spread)
        if done:
            break
        line = middle + lattice @ root.T @ slope
        model.weigh_doses(at, line, weight)
    strays, drawn, bell = model.strays(slips), np.zeros(2), np.zeros((2, 2))
    if hidden:
        likely = slips.pots[:, weight @ slips.share.sum(axis=1) > SELDOM]
        lattice, room = _lattice(MORE * points, 4)
        z = centre + lattice[:, :3] @ root.T
        at = model.points(z)
        line, cov = model.likeliest(at, middle + (z - centre) @ slope, free, STEPS)
        line, drawn, bell, own_room = model.apart(line, cov, lattice[:, 3])
        free = model.across
        line, _ = model.likeliest(at, line, free, STEPS)
        slips = model.explained(at, line, free, likely)
        weight = _shares(slips.log_weight + room + own_room)
    line, cov = slips.lines(line, free)
    near = float(weight @ (at.ln_base - weight @ at.ln_base) ** 2) / weight.size * (NEAR_APART if hidden else 1.0)
    lines = (line - drawn, cov + bell, np.exp(2 * at.ln_s), at.ln_base, at.join, slips.lean @ free.T)
    return Mixture(weight, *lines, near, shared_sd**2), *strays


def _shares(log_weight: FloatArray) -> FloatArray:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


class _Model:
    """What was believed and what was read; ``turn`` makes readings of one spread independent of one another."""

    def __init__(
        self, read: PotReadings, x: FloatArray, x_sd: FloatArray, prior: Prior, level: Belief, base: Belief, tool_sd: FloatArray
    ) -> None:  # fmt: skip
        self.read, self.prior, self.base, self.x_sd, self.ln_eta = read, prior, base, x_sd, np.log(read.viscosity)
        self.start = np.array([level[0], prior.exponent])
        sd = np.array([[level[1], prior.exponent_sd]]) * [[1.0, 1.0], [WIDER, 1.0]]
        # a starch unlike the handbooks' is thought of where something was read
        self.pull = sd[: 1 + bool(x.size)] ** -2.0
        self.log_odds = np.log([1 - UNLIKE_SHARE, UNLIKE_SHARE])[: len(self.pull)] + np.log(self.pull).sum(axis=1) / 2
        self.dosed = np.isfinite(x)
        self.x = np.where(self.dosed, x, 0.0)
        middle = float(x[self.dosed].mean()) if self.dosed.any() else 0.0
        self.at, self.across = np.array([1.0, middle]), np.array([[-middle], [1.0]])
        self.same_pot = read.alike(read.pot)
        self.potted = (1 - DAY_SHARE) * self.same_pot + DAY_SHARE * read.alike(read.day)
        self.fixed = np.diag(read.own_sd**2) + read.alike(read.tool) * tool_sd[read.tool] ** 2
        edges = ndtr((np.array(JOIN_ENDS) - prior.join) / prior.join_sd)
        self.joins = float(edges[0]), float(edges[1] - edges[0])
        self._turned(prior.exponent * x_sd)

    def _turned(self, lever: FloatArray) -> None:
        """Take apart the covariance of the readings: what does not depend on the spread, doses that strayed by ``lever`` among it."""
        root = np.linalg.cholesky(self.fixed + np.outer(lever, lever) * self.same_pot)
        back = np.linalg.inv(root)
        self.parts, axes = np.linalg.eigh(back @ self.potted @ back.T)
        self.turn = back.T @ axes  # (n, n)
        self.log_fixed = 2 * float(np.log(np.diagonal(root)).sum())
        self.own = SLIP_SD * self.turn.T @ np.equal.outer(self.read.pot, np.arange(self.read.pots + 1))

    def weigh_doses(self, at: _Points, line: FloatArray, weight: FloatArray) -> None:
        """Let doses that strayed count by what they do at the middle of the lattice."""
        if self.x_sd.any():
            _, slopes = self.residual(line, at)
            self._turned(weight @ (slopes[..., 0] * line[:, 1:]) * self.x_sd)

    def known(self) -> tuple[FloatArray, FloatArray]:
        """Where the lattice is laid first: about what was believed, and the base about its own readings."""
        read, bare, (mean, sd) = self.read, ~self.dosed, self.base
        # the spread is not known yet: wide enough for pots that differ more than usual
        spread = np.hypot(read.own_sd[bare], 2 * self.prior.batch_sd)
        weight = sd**-2 + float((spread**-2).sum())
        middle = (mean / sd**2 + float((self.ln_eta[bare] / spread**2).sum())) / weight
        return np.array([(middle - mean) / sd, 0.0, 0.0]), np.diag([weight**-0.5 / sd, 1.0, 1.0])

    def points(self, z: FloatArray) -> _Points:
        """Base, join and spread at normal scores (m, 3) of what was believed."""
        prior, df = self.prior, self.prior.batch_df
        ln_base = self.base[0] + self.base[1] * z[:, 0]
        low, share = self.joins
        power = prior.join + prior.join_sd * ndtri(low + share * ndtr(z[:, 1]))
        away = z[:, 2] / np.sqrt(2 * df)
        log_prior = -(z[:, 0] ** 2 + z[:, 1] ** 2) / 2 - df * away - df / 2 * np.exp(-2 * away)
        return _Points(ln_base, 1 - of_cells(ln_base) * (1 - power), np.log(prior.batch_sd) + away, log_prior)

    def residual(self, line: FloatArray, at: _Points) -> tuple[FloatArray, FloatArray]:
        """What lines (m, 2) leave of the readings (m, n), and the slopes of those in (a, b) (m, n, 2)."""
        starch = np.where(self.dosed, line[:, :1] + line[:, 1:] * self.x, -np.inf)
        value, share = joined(starch, at.ln_base[:, None], at.join[:, None])
        return self.ln_eta - value, np.stack([share, share * self.x], axis=-1)

    def _sums(self, at: _Points, line: FloatArray, free: FloatArray) -> Four:
        """Residuals (m, n) and slopes in the line (m, f, n) and in the ln base (m, n), made independent, and the weight of each (m, n)."""
        left, slopes = self.residual(line, at)
        scale = 1 / (1 + np.exp(2 * at.ln_s)[:, None] * self.parts)
        m, f, n = len(line), free.shape[-1], self.x.size
        turned = np.swapaxes(slopes @ free, 1, 2).reshape(m * f, n) @ self.turn
        return left @ self.turn, turned.reshape(m, f, n), (1 - slopes[..., 0]) @ self.turn, scale

    def likeliest(self, at: _Points, line: FloatArray, free: FloatArray, steps: int) -> tuple[FloatArray, FloatArray]:
        """The likeliest line (m, 2) of each point without slips, as far as it is ``free``, from a guess; and its covariance (m, f, f)."""
        pull = self.pull[0, :, None] * free
        cov = np.linalg.inv(free.T @ pull)[None].repeat(len(line), axis=0)
        for _ in range(steps if self.x.size else 0):
            left, slopes, _, scale = self._sums(at, line, free)
            weighted = slopes * scale[:, None]
            cov = np.linalg.inv(weighted @ np.swapaxes(slopes, 1, 2) + free.T @ pull)
            gradient = (weighted @ left[..., None])[..., 0] - (line - self.start) @ pull
            line = line + np.clip((cov @ gradient[..., None])[..., 0], -4.0, 4.0) @ free.T
        return line, cov

    def hidden(self, at: _Points, line: FloatArray, cov: FloatArray, weight: FloatArray) -> bool:
        """Whether the base hides the starch, so that one bell for the line would be wrong."""
        middle, sd = line @ self.at, np.sqrt(cov @ self.at @ self.at)
        low, high = (joined(middle + side * sd, at.ln_base, at.join)[1] for side in (-2, 2))
        return float(weight @ (high - low)) > HIDDEN

    def apart(self, line: FloatArray, cov: FloatArray, score: FloatArray) -> Four:
        """Lines (m, 2) whose starch part lies at its own place each, how far they are to be drawn in, their bells, and the log of their room."""
        sd = np.sqrt(cov @ self.at @ self.at)
        along = (cov @ self.at) / sd[:, None]
        side = np.where(score < 0, LOW_SIDE, 1.0) * WIDE
        away = (side * score)[:, None] * along
        # bells on a lattice are wider than what they stand for: drawn together by as much
        drawn = (1 - np.sqrt(1 - BELL**2)) * away
        return line + away, drawn, BELL**2 * along[:, :, None] * along[:, None], np.log(sd * side)

    def explained(self, at: _Points, line: FloatArray, free: FloatArray, slipped: IntArray | None = None) -> _Slips:
        """How well each point explains the readings, with its line averaged over as far as it is ``free`` (2, f), for every slip.

        Everything follows from the fit without slips (Sherman, Morrison and Woodbury): a slip adds to the covariance of one pot.
        """
        left, slopes, rest, scale = self._sums(at, line, free)
        weighted, away = slopes * scale[:, None], line - self.start
        pull = self.pull[:, :, None]
        # (m, w, f, f), w: usual and unlike starch
        cov = np.linalg.inv((weighted @ np.swapaxes(slopes, 1, 2))[:, None] + free.T @ (pull * free))
        gradient = (weighted @ left[..., None])[:, None] - free.T @ (pull * away[:, None, :, None])
        step = cov @ gradient  # (m, w, f, 1)
        lean = -(cov[:, 0] @ (weighted @ rest[..., None]))[..., 0]
        squares = (scale * left**2).sum(axis=1)[:, None] + away**2 @ self.pull.T - (gradient * step).sum(axis=(2, 3))
        size = np.log1p(np.exp(2 * at.ln_s)[:, None] * self.parts).sum(axis=1)[:, None] + self.log_fixed
        log_fit = self.log_odds - (squares + size - np.log(np.linalg.det(cov))) / 2
        # of each pot (m, w, pots), and of none in the last place: what the fit leaves of it, and what a change of it does to the line
        slope = weighted @ self.own
        pulled = ((scale * left) @ self.own)[:, None] - (step * slope[:, None]).sum(axis=2)
        turned = cov @ slope[:, None]
        stiff = (scale @ self.own**2)[:, None] - (slope[:, None] * turned).sum(axis=2)
        best = int((log_fit[:, 0] + at.log_prior).argmax())
        alone = pulled[best, 0, :-1], stiff[best, 0, :-1]
        first, second = pots = self.slips(*alone) if slipped is None else slipped
        both = (scale @ (self.own[:, first] * self.own[:, second]))[:, None]
        both = (both - (slope[:, None, :, first] * turned[..., second]).sum(axis=2)) * (first != second)
        one, two = 1 + stiff[..., first], 1 + stiff[..., second]
        # what the second leaves once the first has slipped
        share = both / one
        left_over = two - both * share
        pull_one = pulled[..., first]
        pull_two = pulled[..., second] - share * pull_one
        odds = np.log(SLIP / (1 - SLIP)) * ((first < self.read.pots) + (second < self.read.pots) * 1.0)
        log_slip = odds + (pull_one**2 / one + pull_two**2 / left_over - np.log(one * left_over)) / 2
        log_each = (log_fit + at.log_prior[:, None])[..., None] + log_slip
        most = log_each.max(axis=(1, 2), keepdims=True)
        log_weight = most + np.log(np.exp(log_each - most).sum(axis=(1, 2), keepdims=True))
        ends = turned[..., first], turned[..., second] - share[:, :, None] * turned[..., first]
        moved = step - ends[0] * (pull_one / one)[:, :, None] - ends[1] * (pull_two / left_over)[:, :, None]
        share = np.exp(log_each - log_weight)
        return _Slips(pots, log_weight[:, 0, 0], share, cov, moved, ends, (one, left_over), lean, alone)

    def strays(self, slips: _Slips) -> tuple[FloatArray, FloatArray]:
        """How far each pot lies from what the others say, at the likeliest point: in standard deviations, and as a ratio."""
        pots = self.read.pots
        if pots < 2:
            return np.zeros(pots), np.ones(pots)
        pulled, stiff = slips.alone
        z, df = pulled / np.sqrt(stiff), self.prior.batch_df + pots
        # the spread itself was found with the pot among them: as Student's deletion residual
        return z * np.sqrt((df - 1) / np.maximum(df - z**2, 1.0)), np.exp(SLIP_SD * pulled / stiff)

    def slips(self, pulled: FloatArray, stiff: FloatArray) -> IntArray:
        """Which pots may have slipped, none, one or two at once: their numbers (2, c), that of no pot for none."""
        pots = self.read.pots
        none = np.array([pots])
        if pots < 3:
            return np.stack([none, none])
        odds = np.log(SLIP / (1 - SLIP)) + (pulled**2 / (1 + stiff) - np.log1p(stiff)) / 2
        likely = np.argsort(-odds)[: SUSPECTS * (pots > 3)]
        likely = likely[odds[likely] > np.log(SUSPECTED)]
        one, two = np.triu_indices(likely.size, 1)
        first = np.concatenate([none, np.arange(pots), likely[one]])
        return np.stack([first, np.concatenate([none, np.full(pots, pots), likely[two]])])
