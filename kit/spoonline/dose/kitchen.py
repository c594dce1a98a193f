"""What a kitchen has learned of a starch over its dishes: partial pooling of what their readings say of level and slope."""

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from spoonline.dose.checked import listed
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.mixture import pooled
from spoonline.dose.priors import KITCHEN, Prior, ln_concentration, prior_for, said
from spoonline.measures import takes_quantities
from spoonline.pots.thickness import T90

# How far dishes of one kitchen differ with one starch (ln of level; slope), by acid, sugar, fat and how long it boils: judged, and
# learned from the dishes themselves on this grid.
DISH_SDS, USUAL_DISH_SD, SLOPE_SD = np.array([0.05, 0.10, 0.16, 0.24, 0.36]), 0.15, 0.15
# Another box of the same starch works so much better or worse (ln, judged: starches of the trade differ by some 15 %).
NEW_BOX_SD = 0.15
MOST_DISHES = 20


@takes_quantities
def kitchen_prior(curves: Iterable[DoseCurve], thickener: str, *, new_box: bool = False) -> Prior:
    """Say what is believed of a starch for the next dish, after what this kitchen's earlier dishes read.

    Parameters
    ----------
    curves : iterable of DoseCurve
        Curves of earlier dishes with pots, each fitted to its own readings; the latest 20 count.
    thickener : str
        The starch; curves of another are refused.
    new_box : bool, optional
        Whether a new box of it was opened since, which widens what is believed.

    Returns
    -------
    Prior
        At the conditions of the latest curve; as the tables say where no curve has a pot.

    Raises
    ------
    BatchError
        If a curve is of another thickener.

    Notes
    -----
    Each curve's prior is taken out of its posterior, so that the tables count once and the readings of a dish once (normal, closed
    form). Dishes stray from the kitchen's own level by an amount that is learned on a small grid, about 0.15 (ln, judged), and from its
    slope by 0.15.

    Examples
    --------
    >>> dishes = [DoseCurve.fit([25, 35], [0.05 * k, 0.13 * k]) for k in (0.9, 1.0, 1.1)]
    >>> prior = kitchen_prior(dishes, "corn starch")
    >>> round(prior.level_ln_sd, 2), prior.source
    (0.23, '3 dishes of this kitchen, and the tables')
    """
    table, found = prior_for(thickener), listed(curves, "curves")
    for curve in found:
        said.refuse(not isinstance(curve, DoseCurve), "no curve", came=curve)
        own = curve.prior.thickener
        said.refuse(own != table.thickener, "another starch", own=own, asked=table.thickener)
    found = [curve for curve in found if curve.doses.size][-MOST_DISHES:]
    if not found:
        return table
    at_c, at_per_s = found[-1].temperature_c, found[-1].shear_rate_per_s
    mean_level, level_sd = table.level(at_c, at_per_s)
    start, wide = np.array([mean_level, table.exponent]), np.diag([level_sd, table.exponent_sd]) ** 2
    told = [_told(curve, table, at_c, at_per_s) for curve in found]
    evidences, means, covariances = [], [], []
    for sd in DISH_SDS:
        apart = np.diag([min(sd, 0.9 * level_sd), min(SLOPE_SD, 0.9 * table.exponent_sd)]) ** 2
        own = np.linalg.inv(wide - apart)
        precision, pull = own.copy(), own @ start
        # half a normal density for the spread, on a grid of even steps in its logarithm
        evidence = np.log(sd) - ((sd / USUAL_DISH_SD) ** 2 + start @ own @ start) / 2
        for weight, drawn in told:
            # what a dish says of the kitchen, its own straying averaged over
            shrunk = np.linalg.inv(np.eye(2) + weight @ apart)
            precision, pull = precision + shrunk @ weight, pull + shrunk @ drawn
            evidence += (drawn @ apart @ shrunk @ drawn + np.linalg.slogdet(shrunk)[1]) / 2
        cov = np.linalg.inv(precision)
        evidences.append(evidence + (pull @ cov @ pull + np.linalg.slogdet(cov)[1] + np.linalg.slogdet(own)[1]) / 2)
        means.append(cov @ pull)
        covariances.append(cov + apart)
    share = np.exp(np.array(evidences) - max(evidences))
    middle, spread = pooled(share / share.sum(), np.array(means), np.array(covariances))
    # level and slope hang together; at the concentration that was read they do not
    x = -spread[0, 1] / spread[1, 1]
    box = middle[1] * NEW_BOX_SD if new_box else 0.0
    usual, df = table.batch_df * table.batch_sd**2, table.batch_df
    squares = usual
    for curve in found:
        pots = max(curve.doses.size - 1, 0)  # one pot says nothing of how pots differ
        believed = (table.batch_df + pots) / float(curve.mixture.weight @ (1 / curve.mixture.noise))
        squares += max(believed - usual, 0.0) * bool(pots)
        df += pots
    dishes = f"{len(found)} {'dish' if len(found) == 1 else 'dishes'}"
    return replace(
        table, level_pa_s=float(np.exp(middle[0] + x * middle[1])), exponent=float(middle[1]), exponent_sd=math.sqrt(spread[1, 1]),
        level_ln_sd=math.hypot(math.sqrt(spread[0, 0] - spread[0, 1] ** 2 / spread[1, 1]), box), strength_ln_sd=0.0,
        reference_percent=float(table.reference_percent * np.exp(x)), reference_c=at_c, reference_per_s=at_per_s,
        batch_sd=math.sqrt(squares / df), batch_df=float(df), source=f"{dishes}{KITCHEN}",
    )  # fmt: skip


def _told(curve: DoseCurve, table: Prior, at_c: float, at_per_s: float) -> tuple[np.ndarray, np.ndarray]:
    """What the readings of a dish alone say of (level, slope) at these conditions: precision (2, 2), and that times the mean."""
    mean, cov = curve.mixture.summary()
    level, sd = curve.prior.level(curve.temperature_c, curve.shear_rate_per_s)
    # apart for the starch part at the doses that were read and for the slope: what is surer than before was read, the rest was not
    read = np.array([[1.0, float(np.mean(ln_concentration(curve.doses, curve.prior, curve.pot)))], [0.0, 1.0]])
    after, before = np.diag(read @ cov @ read.T), np.diag(read @ np.diag([sd, curve.prior.exponent_sd]) ** 2 @ read.T)
    told = np.maximum(1 / after - 1 / before, 0.0)
    pulled = np.where(told > 0, (read @ mean) / after - (read @ [level, curve.prior.exponent]) / before, 0.0)
    weight, drawn = (read.T * told) @ read, read.T @ pulled
    # from the reference of the curve's own prior to that of the tables
    turn = np.array([[1.0, -math.log(table.reference_percent / curve.prior.reference_percent)], [0.0, 1.0]])
    weight, drawn = turn.T @ weight @ turn, turn.T @ drawn
    exact = replace(table, level_ln_sd=0.0, strength_ln_sd=0.0, reference_c=at_c, reference_per_s=at_per_s)
    shift, unsure = exact.level(curve.temperature_c, curve.shear_rate_per_s)
    drawn = drawn - weight @ [shift - math.log(table.level_pa_s), 0.0]
    # readings at other conditions say less, by what moving them there is unsure
    less = np.linalg.inv(np.eye(2) + weight @ np.diag([unsure**2, 0.0]))
    return less @ weight, less @ drawn


def learned_text(prior: Prior, thickener: str) -> str:
    """How this kitchen's starch has run against the tables, in one sentence; blank where the tables alone speak."""
    table = prior_for(thickener)
    if prior.source == table.source:
        return ""
    dishes = prior.source.partition(" of ")[0]
    x = math.log(prior.reference_percent / table.reference_percent)
    believed = table.level(prior.reference_c, prior.reference_per_s)[0] + x * table.exponent
    ratio = (math.log(prior.level_pa_s) - believed) / prior.exponent
    wide = T90 * prior.level_ln_sd / prior.exponent
    best, low, high = (100 * math.expm1(ratio + side * wide) for side in (0, -1, 1))
    way = "stronger" if best > 0 else "weaker"
    how = "as the tables say" if abs(best) < 1 else f"{abs(best):.0f} % {way} than the tables"
    return f"Your {thickener} has run {how} in {dishes} (for the next one {low:+.0f} to {high:+.0f} %, 90 % range)."
