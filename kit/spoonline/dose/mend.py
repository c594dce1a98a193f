"""What to do with the pot on the stove now: what brings it to its aim, by this pot's own readings and masses.

The dish's curve is conditioned on what this pot read: its lines by how well they explain it, its level, and the error of its water. A remedy
is a direction in the masses of the pot's balance, so that nothing is created. Starch works through the water that is then there, a
blended base through its share of the sauce to the third power, fat as drops.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from spoonline import facts
from spoonline.dose.checked import check_aim
from spoonline.dose.dish_curve import BASE_POWER, DishCurve
from spoonline.dose.dose_curve import RANGE, DoseCurve
from spoonline.dose.fit import SLIP, SLIP_SD, Four
from spoonline.dose.mixture import joined
from spoonline.dose.priors import FloatArray, Prior, of_cells, said
from spoonline.dose.stages import POT_LN_SD, stage_ratio, stage_ratio_of
from spoonline.measures import BatchError, Range, takes_quantities
from spoonline.pots import STAGES, Batch, Moment, Pot, Reading, cooked_pot_of, usual_loss
from spoonline.pots.balance import ALL, BLENDED, SAUCE, STEAM, PotState, along, per_gram, states
from spoonline.pots.thickness import SERVED_COLD_C, brought_to, is_fresh, shown_text, temperature_ratio, tool_ln_sd
from spoonline.recipes import WORDS, Fate, Ingredient, Recipe, Target, is_starchy

# Spread of the power with which a puree thickens by its share of the sauce (computed, purees_and_stews 1b).
BASE_POWER_SD = 0.6
# Flesh blended alone at 60 C and 50 1/s [Pa s]: most vegetables, and potato and its like; spread (ln), and flow index (judged, 1c).
FLESH_PA_S, STARCHY_PA_S, FLESH_LN_SD, FLESH_INDEX = 0.8, 4.0, 0.8, 0.3
# Drops thicken by (1 - their share of the volume)^-2.5 (computed, 6c).
DROPS_POWER, FAT_G_PER_ML = 2.5, 0.91
# What a tool's figure does not hold of one reading (stirring, skin, cooling); and how straight a pot's line is: a change of its thickness
# strays by so much of itself. Both on ln viscosity (judged).
READ_LN_SD, BENDS = 0.07, 0.15
# Cold water to slake a gram of starch in [g]; starch and water of a stiff paste, as maize starch [%]; of the water the most that is boiled
# off, and of a sauce the most that is stirred in (judged).
SLAKED_IN, STIFF_PERCENT, MOST_BOILED, MOST_STIRRED = 2.0, float(Pot().percent(135.0)), 0.5, 2.0
# Rather too little than too much, as what went in does not come out again: 6 in 10 pots fall a little short.
SHORT = 0.6
WIDE = 1.25  # half the range above this factor: do half, read again
DROPPED = 1e-3  # weight of the lines that are left out
COLDER_C = 3.0  # a reading this far from the aim's temperature is said
LOOKED_AT = np.array([along(water=1), along(starch=1, other_starch=1), along(fat=1), along(taken_out=1), SAUCE, ALL])


@dataclass(frozen=True)
class Remedy:
    """One thing to do with a pot now.

    Attributes
    ----------
    do : str
        "slaked starch", "flour in soft butter", "gum sprinkled in", "boil down", "blend vegetables", "stir in liquid" or "read again".
    amount : float
        How much, in ``unit``: dry starch, flour (with as much butter), water boiled off, vegetables, liquid; 0 to read again.
    unit : str
        Grams.
    text : str
        What to do, with its range, and what becomes of the pot.
    thickness : Range
        The thickness that it gives [Pa s], 90 % range, at the curve's conditions.
    sauce_g : float
        The sauce then [g].
    salt_ratio : float
        Salt in a gram of sauce, then over now: what goes in counts as unsalted, a blended piece as salted like the sauce.
    needed : Range
        The amount, and between which two it is enough with 5 and with 95 % certainty [g].
    moments : tuple of Moment
        What the pot's story then holds.
    """

    do: str
    amount: float
    unit: str
    text: str
    thickness: Range
    sauce_g: float
    salt_ratio: float
    needed: Range
    moments: tuple[Moment, ...] = ()


class _Way(NamedTuple):
    """What a gram of a remedy does to the pot; the most of it [g]; whether it thickens; what a gram of it blends; what goes in with it [g]."""

    do: str
    how: str
    name: str
    each: FloatArray
    most_g: float
    thickens: bool = True
    blends: float = 0.0
    also: tuple[tuple[str, float], ...] = ()

    def moments(self, grams: float) -> tuple[Moment, ...]:
        """What a pot's story then holds."""
        if kind := {"boil": "boiled off", "blend": "blended"}.get(self.how):
            return (Moment.model_validate({"kind": kind, "mass_g": grams}),)
        lines = ((self.name, 1.0), *self.also)
        return tuple(Moment(kind="put in", item=item, mass_g=share * grams) for item, share in lines)


class _Flesh(NamedTuple):
    """What a pot's base is of [g]: puree, or, if none, all that it began with; whether it is puree; vegetables that are whole, without their
    juice [g], and how thick those are blended [Pa s].
    """

    base_g: float
    pureed: bool
    whole_g: float
    alone_pa_s: float


class _Seen(NamedTuple):
    """What masses do to a thickness: ln of concentration over the reference, of what the base's share and drops do; water [g]; and the
    viscosity of flesh that was blended into a sauce without puree [Pa s].
    """

    ln_percent: float
    ln_share: float
    ln_drops: float
    water_g: float
    blended_pa_s: float

    @classmethod
    def of(cls, x: FloatArray, flesh: _Flesh, reference_percent: float, blended_g: float = 0.0) -> _Seen:
        """See the masses of a pot, of which some vegetables were blended only now."""
        water, dry, fat, gone, sauce, whole = (float(each) for each in LOOKED_AT @ x)
        ln_percent = math.log(100 * dry / (dry + water) / reference_percent) if dry > 0 else -math.inf
        drops = fat / FAT_G_PER_ML
        ln_drops = -DROPS_POWER * math.log(1 - drops / (drops + sauce - fat))
        share = (flesh.base_g * whole / (whole + gone) + flesh.pureed * blended_g) / sauce
        alone = 0.0 if flesh.pureed else flesh.alone_pa_s * (blended_g / sauce) ** BASE_POWER
        return cls(ln_percent, BASE_POWER * math.log(share), ln_drops, water, alone)


@dataclass(frozen=True, eq=False)
class _ThisPot:
    """Lines of a curve (k,) for one pot: weight; mean and covariance of level, slope, the pot's own part of ln viscosity and the error of
    its water [g]; base and join. ``usual`` is the pot that the curve is for, ``read`` this pot when it was read last.
    """

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    ln_base: FloatArray
    join: FloatArray
    shared: float
    flesh: _Flesh
    reference_percent: float
    usual: _Seen
    read: _Seen

    def part(self, at: _Seen, mean: FloatArray) -> Four:
        """Of ln viscosity by every line: value, slopes in the four unknowns (k, 4), share of the base in it, and ln of the base."""
        ln_base, join = self.ln_base + at.ln_share - self.usual.ln_share, self.join
        if at.blended_pa_s:
            ln_base = np.logaddexp(ln_base, math.log(at.blended_pa_s))
            join = np.minimum(join, 1 - of_cells(ln_base) * (1 - Prior.join))
        bare = math.isinf(at.ln_percent)
        x = (0.0 if bare else at.ln_percent) - mean[:, 3] / at.water_g
        value, share = joined(np.where(bare, -np.inf, mean[:, 0] + mean[:, 1] * x), ln_base, join)
        slopes = np.stack([share, share * x, np.ones_like(x), -share * mean[:, 1] / at.water_g], axis=-1)
        return value + mean[:, 2] + at.ln_drops - self.usual.ln_drops, slopes, 1 - share, ln_base

    def given(self, seen: list[_Seen], ln_read: FloatArray, error: FloatArray) -> _ThisPot:
        """What is believed after readings with this covariance of their errors, by Gauss and Newton steps in every line."""
        mean = self.mean
        for _ in range(4):
            found = [self.part(at, mean) for at in seen]
            slopes = np.stack([each[1] for each in found], axis=1)
            left = ln_read - np.stack([each[0] for each in found], axis=1)
            left = left + (slopes @ (mean - self.mean)[..., None])[..., 0]
            pulled = slopes @ self.covariance
            size = pulled @ np.swapaxes(slopes, 1, 2) + error
            solved = np.linalg.solve(size, left[..., None])
            mean = self.mean + (np.swapaxes(pulled, 1, 2) @ solved)[..., 0]
        explained = (left * solved[..., 0]).sum(axis=-1) + np.linalg.slogdet(size)[1]
        covariance = self.covariance - np.swapaxes(pulled, 1, 2) @ np.linalg.solve(size, pulled)
        weight = self.weight * np.exp((explained.min() - explained) / 2)
        order = np.argsort(weight)
        keep = order[np.cumsum(weight[order]) > DROPPED * weight.sum()]
        base, join = self.ln_base[keep], self.join[keep]
        kept = weight[keep] / weight[keep].sum(), mean[keep], covariance[keep], base, join
        return replace(self, **dict(zip(("weight", "mean", "covariance", "ln_base", "join"), kept, strict=True)))

    @cached_property
    def when_read(self) -> FloatArray:
        """Mean of ln viscosity by every line when the pot was read last."""
        return self.part(self.read, self.mean)[0]

    def lines(self, x: FloatArray, blended_g: float = 0.0) -> tuple[FloatArray, FloatArray]:
        """Mean and spread of ln viscosity by every line for these masses."""
        at = _Seen.of(x, self.flesh, self.reference_percent, blended_g)
        value, slopes, of_base, ln_base = self.part(at, self.mean)
        variance = np.einsum("ki,kij,kj->k", slopes, self.covariance, slopes) + self.shared
        variance += (BENDS * (value - self.when_read)) ** 2
        variance += (of_base * (at.ln_share - self.read.ln_share) * BASE_POWER_SD / BASE_POWER) ** 2
        variance += (of_base * at.blended_pa_s * np.exp(-ln_base) * FLESH_LN_SD) ** 2
        return value, np.sqrt(np.maximum(variance, 1e-12))

    def thinner(self, ln_value: float, lines: tuple[FloatArray, FloatArray]) -> float:
        """Chance that the pot is thinner than this."""
        return float(ndtr((ln_value - lines[0]) / lines[1]) @ self.weight)

    def thickness(self, x: FloatArray, blended_g: float = 0.0) -> Range:
        """Thickness for these masses [Pa s], 90 % range."""
        value, sd = lines = self.lines(x, blended_g)
        ends = float((value - 6 * sd).min()), float((value + 6 * sd).max())
        return Range(*(math.exp(brentq(lambda at, c=c: self.thinner(at, lines) - c, *ends, rtol=1e-6)) for c in RANGE))

    def amount(self, way: _Way, x: FloatArray, ln_target: float, chance: float) -> float | None:
        """So much of a remedy [g] that the pot then is thinner than the target by this chance; None where the most of it does not do."""

        def over(grams: float) -> float:
            return self.thinner(ln_target, self.lines(x + grams * way.each, grams * way.blends)) - chance

        if (over(0.0) > 0) != way.thickens:
            return 0.0
        return None if (over(way.most_g) > 0) == way.thickens else float(brentq(over, 0.0, way.most_g, rtol=1e-6))


@takes_quantities
def mend(
    batch: Batch, recipe: Recipe, curve: DoseCurve | DishCurve | None, target_pa_s: float, band: float = 1.2, *,
    boil_g_per_min: float | None = None, tool: str | None = None,
) -> list[Remedy]:  # fmt: skip
    """Say what brings the pot that is on the stove now to its aim.

    Parameters
    ----------
    batch : Batch
        The pot so far, with a reading; what was put in, taken out, weighed and read says what is in it now.
    recipe : Recipe
        The version that is cooked.
    curve : DoseCurve, DishCurve or None
        Of the dish, from its other pots; None for a dish without a thickener.
    target_pa_s, band : float
        Thickness wanted at the curve's conditions, without a curve those of the recipe's aim [Pa s], and the factor of its band.
    boil_g_per_min : float, optional
        What this pan boils off [g/min]; without it boiling down is told in grams only.
    tool : str, optional
        The tool that the aim was read with; the pot's own unless given.

    Returns
    -------
    list of Remedy
        Empty inside the band. Else what this dish allows: starch of its own kind, flour in soft butter, blending some of its vegetables,
        boiling down, or liquid; "read again" where only its last reading lies outside, or too little is known of what went in since.

    Raises
    ------
    BatchError
        If the pot was not read, or read chilled last; if its story cannot be; if nothing here brings it to the aim.

    Notes
    -----
    A remedy stops a little short: 6 in 10 pots are then on their old side of the aim still. Fresh readings count together, those of a pot
    that was chilled and reheated only with one another. Valid as far as the curve is.

    Examples
    --------
    >>> from spoonline.pots import Reading
    >>> soup = Recipe(title="Clear soup", ingredients=["1 l vegetable stock", "38 g corn starch"])
    >>> size = {"length_cm": 8, "width_cm": 10, "seconds": 10}
    >>> pot = Batch(title="Clear soup", version=1, cooked_on="2026-01-08",
    ...             readings=[Reading(tool="spatula", settings=size, values=[3.6], temperature_c=60)])
    >>> for each in mend(pot, soup, DoseCurve.fit([], []), 0.4):
    ...     print(each.do, each.amount, f"{each.thickness:.2g}", f"{each.salt_ratio:.2f}")
    slaked starch 10.0 0.39 (0.29-0.51) 0.97
    boil down 160.0 0.38 (0.30-0.49) 1.19
    """
    check_aim(target_pa_s, band)
    said.refuse(boil_g_per_min is not None and not boil_g_per_min > 0, "boils off", came=boil_g_per_min)
    dish = curve if isinstance(curve, DishCurve) else None
    # a dish without a thickener has no curve: it is seen at the conditions that its aim was told for
    wanted = recipe.target or Target(viscosity_pa_s=target_pa_s, shear_rate_per_s=50)
    celsius, rate = float(wanted.temperature_c), float(wanted.shear_rate_per_s)
    bare = DoseCurve.fit([], [], temperature_c=celsius, shear_rate_per_s=rate)
    fit = curve.curve if isinstance(curve, DishCurve) else curve or bare
    # what only the steps foretell is as unsure as the balance takes it to be
    loss = usual_loss(recipe, None)[0] if dish is None else dish.loss
    story = states(batch, recipe, None if loss == usual_loss(recipe, None)[0] else loss)
    at_fit = {"temperature_c": fit.temperature_c, "shear_rate_per_s": fit.shear_rate_per_s}
    aim = Target(viscosity_pa_s=target_pa_s, band=band, **at_fit)
    reads, x, ln_target = _readings(story, aim), story[-1].x, math.log(target_pa_s)
    pot, raw, notes = _believed(fit, dish, batch, recipe, reads, loss, tool, is_fresh(reads[-1][1].stage, aim))
    now, unread = pot.thickness(x), not np.array_equal(x, reads[-1][0].x)
    off = math.log(now.best) - ln_target
    if abs(off if unread else math.log(raw) - ln_target) <= math.log(band):
        return []
    ways = _ways(recipe, x, pot.flesh, fit.temperature_c < SERVED_COLD_C)
    ways = [each for each in ways if each.most_g > 0 and each.thickens == (off < 0)]
    asked = [(way, pot.amount(way, x, ln_target, SHORT if way.thickens else 1 - SHORT)) for way in ways]
    if (not unread and abs(off) < math.log(band) / 3) or any(grams == 0 for _, grams in asked):
        text = said("read again", raw=raw, now=now)
        return [Remedy("read again", 0.0, "g", text, now, float(SAUCE @ x), 1.0, Range(0.0, 0.0, 0.0))]
    if any(WORDS["pressure"].search(step.text) for step in recipe.steps):
        notes.append(said("pressure"))
    if not STAGES[reads[-1][1].stage].thickened and (due := _still_to_go_in(batch, recipe)):
        notes.append(said("still to go in", due=due))
    at = _Seen.of(x, pot.flesh, pot.reference_percent)
    bases = pot.part(at, pot.mean)[3] + pot.mean[:, 2]
    # said only where it is likely: the pots of a dish without a read base leave it wide open
    thin = said("thin", bare=math.exp(bases @ pot.weight)) if (bases > ln_target) @ pot.weight > max(RANGE) else ""
    notes.append(thin)
    found = list[Remedy]()
    for way, grams in asked:
        if grams is not None:
            note = "" if found else " ".join(filter(None, notes))
            found.append(_remedy(pot, way, x, aim, reads[-1][1], _rounded(grams), boil_g_per_min, note))
    if not found:
        means = "thickener, boiling down or blending" if off < 0 else "liquid"
        raise BatchError(f"{thin} {said('no means', means=means, now=now, target=target_pa_s)}".lstrip())
    return found


def _readings(story: list[PotState], aim: Target) -> list[tuple[PotState, Reading]]:
    """The readings that tell how thick the pot is now, each with the pot as it then was; the stage of the last one rules."""
    read = [(at, at.moment.reading) for at in story if at.moment and at.moment.reading]
    read = [(at, reading) for at, reading in read if not reading.set_apart]
    said.refuse(not read, "not read yet")
    name, stage = read[-1][1].stage, STAGES[read[-1][1].stage]
    said.refuse(stage.temperature_c is not None and not is_fresh(name, aim), "read cold", stage=name)
    alike = {each for each, kind in STAGES.items() if is_fresh(each, aim) or not kind.thickened}
    return [(at, reading) for at, reading in read if reading.stage in (alike if name in alike else {name})]


def _still_to_go_in(batch: Batch, recipe: Recipe) -> str:
    """The thickener of a pot that was read before it: what no moment put in."""
    told = {each.line for each in batch.moments if each.kind == "put in"}
    own = enumerate(batch.cooked(recipe).ingredients[: len(recipe.ingredients)], start=1)
    due = [line for n, line in own if line.part == "thickener" and line.mass_g and n not in told]
    return " and ".join(f"{float(line.mass_g or 0):g} g of {line.item}" for line in due)


def _believed(
    fit: DoseCurve, dish: DishCurve | None, batch: Batch, recipe: Recipe, reads: list[tuple[PotState, Reading]], loss: float, tool: str | None,
    fresh: bool,
) -> tuple[_ThisPot, float, list[str]]:  # fmt: skip
    """What is believed of this pot after its readings, what the last one says alone [Pa s], and what is to be said of it."""
    rate, celsius, mixture, (state, last) = fit.shear_rate_per_s, fit.temperature_c, fit.mixture, reads[-1]
    lines = batch.cooked(recipe).ingredients[: len(recipe.ingredients)]  # without what went in beside the recipe
    reference, flesh = fit.prior.reference_percent, _flesh(recipe.model_copy(update={"ingredients": lines}), rate)
    usual = _Seen.of(cooked_pot_of(recipe, loss * recipe.mass_g).x, _flesh(recipe, rate), reference)
    found = [brought_to(reading, rate, celsius, 0.0) for _, reading in reads]
    ln_read, own = np.log([each.viscosity_pa_s for each in found]), np.array([each.ln_sd for each in found])
    tools = np.array([reading.tool for _, reading in reads])
    other = [0.0 if name == (tool or last.tool) else tool_ln_sd(name, rate) for name in tools]
    error = np.diag(own**2 + READ_LN_SD**2 + (BENDS * (ln_read - ln_read[-1])) ** 2)
    error += np.equal.outer(tools, tools) * np.square(other)
    usually, spread = 0.0, 0.0
    if STAGES[last.stage].thickened and not fresh:
        name = recipe.main_thickener
        ratio = stage_ratio_of(dish, last.stage) if dish else stage_ratio(name or "corn starch", last.stage)
        usually, spread = ratio.ln_mean, math.hypot(ratio.ln_sd, POT_LN_SD)
    (water, water_sd), (starch, starch_sd) = state.sum(along(water=1)), state.sum(along(starch=1))
    mean, covariance = np.zeros((mixture.weight.size, 4)), np.zeros((mixture.weight.size, 4, 4))
    mean[:, :2], mean[:, 2], covariance[:, :2, :2] = mixture.mean, usually, mixture.covariance
    covariance[:, 2, 2] = mixture.noise + SLIP * SLIP_SD**2 + spread**2
    covariance[:, 3, 3] = water_sd**2 + (water * starch_sd / max(starch, 1e-9)) ** 2 * (starch > 0)
    seen = [_Seen.of(at.x, flesh, reference) for at, _ in reads]
    prior = _ThisPot(
        mixture.weight, mean, covariance, mixture.ln_base, mixture.join, mixture.shared, flesh, reference, usual, seen[-1]
    )  # fmt: skip
    notes, raw, read_c = list(found[-1].flags), found[-1].viscosity_pa_s, float(last.temperature_c)
    if abs(read_c - celsius) > COLDER_C:
        then = raw / temperature_ratio(read_c, celsius)
        notes.append(said("read colder", then=then, read_c=read_c, aim_c=celsius, raw=raw))
    return prior.given(seen, ln_read, error), raw, notes


def _flesh(recipe: Recipe, shear_rate_per_s: float) -> _Flesh:
    """Vegetables and purees of a recipe."""
    puree = other = whole = starchy = 0.0
    for line, fate in zip(recipe.ingredients, recipe.fates, strict=True):
        grams, flesh = float(line.mass_g or 0), line.part in ("vegetable", "fruit")
        puree += grams * fate.fate_share * (fate.fate == "blended" or (fate.fate == "melts" and flesh))
        other += grams
        share = 1.0 if fate.fate == "whole" else 1 - fate.fate_share
        left = grams * share * flesh * (1 - max(fate.juice_g_per_g or 0.0, 0.0))
        whole += left
        starchy += left * is_starchy(line)
    alone = FLESH_PA_S * (STARCHY_PA_S / FLESH_PA_S) ** (starchy / whole if whole else 0.0)
    return _Flesh(puree or other, puree > 0, whole, alone * (shear_rate_per_s / 50) ** (FLESH_INDEX - 1))


def _ways(recipe: Recipe, x: FloatArray, flesh: _Flesh, cold: bool) -> list[_Way]:
    """What this dish allows; one that is eaten cold is not heated again."""
    name, found = recipe.main_thickener, list[_Way]()
    how = facts.thickener(name).way if name else ""
    stiff = along(starch=1, other_starch=1, water=-STIFF_PERCENT / (100 - STIFF_PERCENT))
    pours = along(put_in=1, water=1, water_put_in=1, liquid=1)

    def dosed(do: str, how: str, name: str, *also: tuple[str, float, FloatArray]) -> _Way:
        line = Ingredient(amount="100 g", item=name, part="thickener", mass_g=100)
        each = per_gram(line, Fate("thickens"))[0] + sum(share * beside for _, share, beside in also)
        most_g, beside = max(-float(stiff @ x), 0.0) / float(stiff @ each), tuple(each[:2] for each in also)
        return _Way(do, how, name, each, most_g, also=beside)

    if name and how == "sprinkle":
        found.append(dosed("gum sprinkled in", how, name))
    elif name and how != "whisk":
        slaked = {"late": "late", "rub": "flour"}.get(how, "slake")
        found.append(dosed("slaked starch", slaked, name, ("water", SLAKED_IN, pours)))
    if how in ("rub", "whisk"):
        butter = per_gram(Ingredient.model_validate("100 g butter"), Fate("melts"))[0]
        flour = name if name and how == "rub" else "wheat flour"
        found.append(dosed("flour in soft butter", "rub", flour, ("butter", 1.0, butter)))
    solids = float(along(solids=1) @ x)
    found.append(_Way("blend vegetables", "blend", "", BLENDED, min(flesh.whole_g, solids), blends=1.0))
    if not cold:
        found.append(_Way("boil down", "boil", "", STEAM, MOST_BOILED * float(along(water=1) @ x)))
    own = [line for line in recipe.of_part("liquid") if line.item == recipe.main_liquid]
    liquid = per_gram(own[0], Fate("pours"))[0] if own else pours
    stirred = MOST_STIRRED * float(SAUCE @ x)
    how, name = "cold" if cold else "stir", recipe.main_liquid or "water"
    return [*found, _Way("stir in liquid", how, name, liquid, stirred, thickens=False)]


def _remedy(
    pot: _ThisPot, way: _Way, x: FloatArray, aim: Target, read: Reading, grams: float, boil_g_per_min: float | None, note: str
) -> Remedy:  # fmt: skip
    """So much of a remedy in figures and words."""
    ends = [pot.amount(way, x, math.log(float(aim.viscosity_pa_s)), chance) for chance in RANGE[1:]]
    least, most = sorted(_rounded(way.most_g if each is None else each) for each in ends)
    needed = Range(grams, min(least, grams), max(most, grams))
    then, blended = x + grams * way.each, grams * way.blends
    thickness, sauce = pot.thickness(then, blended), float(SAUCE @ then)
    salt, share = (float(SAUCE @ x) + blended) / sauce, float(ALL @ then) / float(ALL @ x)
    amount = f"{grams:g} g ({needed.low:g} to {needed.high:g})"
    if way.how == "boil" and boil_g_per_min is not None:
        amount += f", about {grams / boil_g_per_min:.0f} minutes as this pan was weighed"
    shown = shown_text(read, thickness, aim)
    shown = f"it then shows {shown} at {read.temperature_c} C, " if shown else ""
    becomes = said("becomes", shown=shown, thickness=thickness, sauce=sauce, salt=salt, share=share)
    then_do = said("half first" if thickness.high > WIDE**2 * thickness.low else "all of it")
    text = f"{note} {said(way.how, amount=amount, name=way.name)}: {becomes} {then_do}".strip()
    text += said("taste") if way.how in ("slake", "flour", "late", "rub") else ""
    return Remedy(way.do, grams, "g", text, thickness, sauce, salt, needed, way.moments(grams))


def _rounded(grams: float) -> float:
    """Grams as a kitchen weighs them, to about 3 %."""
    steps = ((200.0, 10.0), (50.0, 5.0), (20.0, 1.0), (5.0, 0.5), (1.0, 0.1), (0.0, 0.01))
    step = next(step for least, step in steps if grams >= least)
    return round(round(grams / step) * step, 2)
