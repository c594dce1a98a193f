"""The dose curve of a dish: its recipe, its cooked batches, and what the next pot should hold."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spoonline import facts
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.next_batch import NextBatch
from spoonline.dose.priors import REFERENCE_C, REFERENCE_PER_S, Prior, prior_for, said
from spoonline.measures import Range, print_grams, takes_quantities
from spoonline.pots import STAGES, Batch, Pot, pot_of, thickness_at, usual_loss
from spoonline.pots.counted import BASE_ALONE, CookedPot, cooked_pots, weighed_loss
from spoonline.pots.thickness import Thickness, conditions, is_fresh, ln_range, shift_ln_sd, temperature_ratio
from spoonline.recipes import Ingredient, Recipe, Target


@dataclass(frozen=True)
class PotPoint:
    """One cooked pot on the curve.

    ``dose_g_per_l`` is the dose that gives this pot's starch-to-water ratio in the recipe as it stands now, so that pots that
    boiled away more, or held another liquid, lie where they belong; ``ladder`` are dose and viscosity [Pa s] at each reading on its way.
    """

    batch: Batch
    dose_g_per_l: float
    thickness: Thickness
    left_out: str = ""
    ladder: tuple[tuple[float, float], ...] = ()


# A base thins and thickens with the power of its solids (m = 3, sd 0.6, judged: mango and tomato 2.3 to 4.1, computed).
BASE_POWER = 3.0
# Flow index and activation energy of purees (computed and judged on read ranges: 0.19-0.41, 4-22 kJ/mol).
PUREE_INDEX, PUREE_KJ = 0.4, 11.0


@dataclass(frozen=True)
class DishCurve:
    """A dish's dose curve together with the pots it rests on.

    ``shares`` are the thickeners that are dosed as one, each with its share by mass; ``thickener`` is the largest of them. ``liquid_l`` is the
    liquid that they go into [L]: the recipe's forecast, or what strained sauces have shown it to be.
    """

    recipe: Recipe
    thickener: str
    shares: Mapping[str, float]
    curve: DoseCurve
    pots: tuple[PotPoint, ...]
    loss: float
    liquid_l: float

    @classmethod
    def fit(cls, recipe: Recipe, pots: Sequence[CookedPot], prior: Prior | None = None) -> DishCurve:
        """Fit the curve to the pots that count; see :func:`dish_curve`, which finds those."""
        thickener = recipe.main_thickener
        if thickener is None or recipe.liquid_l <= 0:
            raise said.error("a dough" if recipe.kind == "dough" else "no lines", title=recipe.title)
        shares = _dosed_as_one(recipe, thickener)
        belief = prior or prior_for(thickener if len(shares) == 1 else shares)
        loss, _ = usual_loss(recipe, weighed_loss(pots))
        water, points = pot_of(recipe, loss, shares), []
        for pot in pots:
            if (thickness := pot.thickness) is None or pot.inside is None:
                continue
            same = float(water.dose(pot.inside.percent, belief.strength))
            reason = pot.left_out or ("" if same > 0 else "its version has no thickener")
            ladder = _ladder(pot, water, belief.strength, recipe.target)
            way = tuple((dose, viscosity) for dose, viscosity, *_ in ladder if dose > 0)
            points.append(PotPoint(pot.batch, same, thickness, reason, way))
        counted = {point.batch.number for point in points if not point.left_out}
        used = [pot for pot in pots if pot.inside and (pot.batch.number in counted or pot.left_out == BASE_ALONE)]
        read = [(pot, ladder) for pot in used if (ladder := _ladder(pot, water, belief.strength, recipe.target))]
        used, ladders = [pot for pot, _ in read], [ladder for _, ladder in read]
        tools = {tool for ladder in ladders for *_, tool in ladder}
        degrees = [celsius for ladder in ladders for *_, celsius, _ in ladder]
        temperature_c, shear_rate_per_s = conditions(recipe.target)
        usual_c = float(np.median(degrees)) if degrees else temperature_c
        # a trace weighed on a coarse scale: its dose is not known, and the others still are
        rel_sd = [min(pot.inside.thickener_rel_sd, 1.0) if pot.inside else 0.0 for pot in used]
        curve = DoseCurve.fit_pots(
            [[(dose, viscosity) for dose, viscosity, *_ in ladder] for ladder in ladders], belief,
            [[math.hypot(own, shift_ln_sd(celsius, usual_c)) for _, _, own, celsius, _ in ladder] for ladder in ladders],
            base_pa_s=base_range(recipe, temperature_c, shear_rate_per_s),
            tool=[[tool for *_, tool in ladder] for ladder in ladders] if len(tools) > 1 else None,
            days=[pot.batch.cooked_on for pot in used], dose_rel_sd=rel_sd,
            shared_ln_sd=shift_ln_sd(usual_c, temperature_c), pot=water, temperature_c=temperature_c,
            shear_rate_per_s=shear_rate_per_s, batch_numbers=[pot.batch.number for pot in used],
        )  # fmt: skip
        return cls(recipe, thickener, shares, curve, tuple(points), loss, recipe.liquid_l * liquid_shown(pots))

    @property
    def target(self) -> Target | None:
        """The aim of the recipe, if it has one."""
        return self.recipe.target

    @property
    def dose_g_per_l(self) -> float:
        """The recipe's own dose of what is dosed [g/L]."""
        return sum(self.recipe.thickeners_g[name] for name in self.shares) / self.liquid_l

    @property
    def dosed(self) -> str:
        """What is dosed, in words: one thickener, or several as one."""
        return " and ".join(self.shares)

    @property
    def counted(self) -> tuple[PotPoint, ...]:
        """The pots that the curve rests on."""
        return tuple(pot for pot in self.pots if not pot.left_out)

    def next_batch(self) -> NextBatch:
        """Say what to cook next; see :meth:`DoseCurve.next_batch`.

        Raises
        ------
        BatchError
            If the recipe has no aim: no dose is better than another then.
        """
        if self.target is None:
            raise said.error("no aim", title=self.recipe.title)
        return self.curve.next_batch(float(self.target.viscosity_pa_s), band=float(self.target.band))

    def chance(self, dose_g_per_l: float, dose_rel_sd: float = 0.0) -> float | None:
        """Chance that the next pot lands in the band of the aim; None without an aim."""
        aim = self.target
        if aim is None:
            return None
        return float(self.curve.chance(dose_g_per_l, float(aim.viscosity_pa_s), float(aim.band), dose_rel_sd))

    def grams(self, dose_g_per_l: float) -> float:
        """Thickener for this recipe's liquid at a dose [g]."""
        return dose_g_per_l * self.liquid_l

    def spoons(self, dose_g_per_l: float, kitchen: str = "us") -> tuple[str, float | None]:
        """The dose in level spoons of a kitchen for this recipe, and the :meth:`chance` of a pot thickened with them."""
        masses = {name: share * self.grams(dose_g_per_l) for name, share in self.shares.items()}
        told = {name: str(facts.household(mass, name, kitchen, strict=False)) for name, mass in masses.items()}
        # what no spoon holds is weighed, and as finely as it is dosed
        fine = {name: print_grams(mass, fine=True) for name, mass in masses.items()}
        amounts = {name: fine[name] if each.endswith(" g") else each for name, each in told.items()}
        spooned = [facts.grams(amount, name, kitchen) for name, amount in amounts.items()]
        mass, sd = sum(each.mass_g for each in spooned), math.hypot(*(each.sd_g for each in spooned))
        words = [amount if len(amounts) == 1 else f"{amount} {name}" for name, amount in amounts.items()]
        return " and ".join(words), self.chance(mass / self.liquid_l, sd / mass)

    def with_dose(self, dose_g_per_l: float, instead: str | None = None) -> Recipe:
        """The recipe with what is dosed, or another thickener instead of it, set to this dose in grams; the method stays as written.

        The first line of each thickener takes all of it, further lines of it are dropped; another thickener takes one line.
        """
        lines = list(self.recipe.ingredients)
        thick = self.recipe.of_part("thickener")
        ours = {name: [line for line in thick if (line.fact_name or line.item) == name] for name in self.shares}
        for name, share in {self.thickener: 1.0}.items() if instead else self.shares.items():
            mass = share * self.grams(dose_g_per_l)
            # a gum is weighed on a finer scale
            grams, sd = (round(2 * mass) / 2, 0.289) if mass >= 5 else (round(mass, 1), 0.03)
            new = ours[name].pop(0)
            at = next(place for place, line in enumerate(lines) if line is new)
            if instead is not None:
                new = Ingredient.model_validate(f"{grams:g} g {instead}").model_copy(update={"group": new.group})
            lines[at] = new.reweighed(f"{grams:g} g", grams, sd)
        dropped = [line for each in ours.values() for line in each]
        kept = tuple(line for line in lines if not any(line is other for other in dropped))
        return self.recipe.model_copy(update={"ingredients": kept})

    def doses(self, points: int = 200) -> NDArray[np.float64]:
        """Doses worth drawing [g/L]: about those of the pots, but for what lies far off, and of what the aim (or the recipe) asks for."""
        usual = float(np.median([pot.dose_g_per_l for pot in self.counted] or [self.dose_g_per_l]))
        ends = [pot.dose_g_per_l for pot in self.pots if 1 / 3 < pot.dose_g_per_l / usual < 3] or [self.dose_g_per_l]
        if self.target is None:
            ends.append(self.dose_g_per_l)
        else:
            best, low, high = self.curve.dose_for(float(self.target.viscosity_pa_s))
            ends += [each for each in (best, min(high, 3 * best), max(low, best / 3)) if np.isfinite(each) and each > 0]
        return np.geomspace(0.6 * min(ends), 1.5 * max(ends), points)

    def __repr__(self) -> str:
        """Say only what it is."""
        return f"DishCurve({self.recipe.title!r}, {len(self.pots)} pots)"

    def _repr_html_(self) -> str:
        return self.curve._repr_html_()


def _dosed_as_one(recipe: Recipe, thickener: str) -> dict[str, float]:
    """The thickeners that are dosed as one, each with its share by mass: all starches of the recipe, or its gum alone."""
    starches = [name for name in recipe.thickeners_g if facts.thickener(name).law is None]
    together = {name: recipe.thickeners_g[name] for name in starches if recipe.thickeners_g[name] > 0}
    if thickener not in together:
        return {thickener: 1.0}
    return {name: mass / sum(together.values()) for name, mass in together.items()}


def liquid_shown(pots: Sequence[CookedPot]) -> float:
    """Liquid over what was forecast, as pots whose sauce was strained and weighed have shown it; 1 where none was."""
    strained = [pot for pot in pots if pot.counts and any(each.kind == "strained" for each in pot.batch.moments)]
    found = [pot.inside.liquid_l / pot.recipe.liquid_l for pot in strained if pot.inside and pot.recipe]
    return float(np.median(found)) if found else 1.0


Rung = tuple[float, float, float, float, str]


def _ladder(pot: CookedPot, water: Pot, strength: float, target: Target | None) -> list[Rung]:
    """Each fresh reading of a pot on its way: dose in the recipe as it stands [g/L], viscosity [Pa s], own error, temperature [C], tool.

    The base is brought to the solids that it has when the usual share has boiled away.
    """
    found = []
    for reading, inside in pot.read:
        stage = STAGES[reading.stage]
        if stage.thickened and not is_fresh(reading.stage, target):
            continue
        thickness, dose = thickness_at(reading, target), 0.0
        viscosity = thickness.viscosity_pa_s
        if stage.thickened:
            dose = float(water.dose(inside.percent, strength)) if inside.starch_g else 0.0
        if not dose:
            viscosity *= (inside.water_g / inside.liquid_l / water.water_g_per_l) ** BASE_POWER
        found.append((dose, viscosity, thickness.own_ln_sd, float(reading.temperature_c), reading.tool))
    return [each for at, each in enumerate(found) if all(each[0] >= before[0] for before in found[:at])]


def base_range(recipe: Recipe, temperature_c: float = 60.0, shear_rate_per_s: float = 50.0) -> Range | None:
    """What a blended soup has without starch before it was read, 90 % [Pa s]; None where nothing is blended: a thin liquid.

    B = 0.001 + (sum of w eta1^(1/3))^3 over what is blended, w the share of its cooked flesh in the whole and eta1 what that flesh alone
    reads (the table of juices; at 60 C and 50 1/s): judged, good to a factor 2.5 (ln sd 0.9). Purees: 11 kJ/mol, flow index 0.4, sd 0.1.

    >>> soup = Recipe(title="Soup", ingredients=["500 g carrots", "500 ml vegetable stock"], steps=["Simmer, then blend."])
    >>> print(f"{base_range(soup):.2g} Pa s")
    0.15 (0.034-0.65) Pa s
    """
    flesh = 0.0
    for line, fate in zip(recipe.ingredients, recipe.fates, strict=True):
        if fate.fate == "blended" and line.mass_g:
            row = facts.juice(line.fact_name or "vegetable") or facts.juice("vegetable")
            if row and row.puree_eta1_pa_s:
                swollen = 1 - min(row.juice_g_per_g, 0.0)
                flesh += fate.fate_share * float(line.mass_g) * swollen * row.puree_eta1_pa_s ** (1 / BASE_POWER)
    if not flesh:
        return None
    rate = math.log(shear_rate_per_s / REFERENCE_PER_S)
    best = 0.001 + (flesh / recipe.mass_g) ** BASE_POWER * math.exp((PUREE_INDEX - 1) * rate)
    return ln_range(best * temperature_ratio(REFERENCE_C, temperature_c, PUREE_KJ), math.hypot(0.9, 0.1 * rate))


@takes_quantities
def dish_curve(recipe: Recipe, batches: Sequence[Batch], recipes: Mapping[int, Recipe]) -> DishCurve:
    """Fit the dose curve of a dish to its cooked batches.

    Parameters
    ----------
    recipe : Recipe
        The version that the next pot will follow; its target sets temperature, shear rate and band (60 C and 1 1/s without one).
    batches : sequence of Batch
        Pots of any version of the dish; :func:`spoonline.pots.cooked_pot` says which of them count.
    recipes : mapping of int to Recipe
        The versions that were cooked, by number.

    Raises
    ------
    BatchError
        If the recipe has no thickener or no liquid.

    Examples
    --------
    >>> soup = Recipe(title="Parsnip soup", ingredients=["1.5 l vegetable stock", "42 g corn starch"])
    >>> dish_curve(soup, [], {1: soup}).curve
    DoseCurve('corn starch', 0 batches)
    """
    return DishCurve.fit(recipe, cooked_pots(batches, recipes, recipe.target))
